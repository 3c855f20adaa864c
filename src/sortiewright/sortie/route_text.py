"""Words for heights, times and places of a route, as logs, cards and charts show them."""

from __future__ import annotations

from datetime import datetime

from sortiewright.sortie.figures import Kind
from sortiewright.sortie.route_flown import FlownRoute, RouteRow
from sortiewright.sortie.units import FOOT, System, show

_ROUND = 0.02
"""Hundreds of feet by which a height may miss a round one."""

PARTS = {
    "start_and_taxi": "start, taxi",
    "run_up": "run-up",
    "takeoff": "takeoff",
    "climb": "climb",
    "cruise": "level",
    "descent": "descent",
    "orbit": "orbit",
    "refuel": "refuel",
    "release": "release",
    "task": "task",
    "turn": "turn",
    "approach": "approach",
}
"""What each part of a route is called in a log."""

ON_THE_WAY = frozenset({"top of climb", "end of climb", "start of descent", "end of descent", "climb speed"})


def level_text(altitude: float, sea_level: float = 0.0, system: System = "trade") -> str:
    """Return a pressure altitude, m, as a crew sets it: a flight level where it is one, else on the QNH.

    ``sea_level`` m is the pressure altitude of the altimeter's zero.
    """
    level, height = altitude / (100.0 * FOOT), (altitude - sea_level) / (100.0 * FOOT)
    is_level = abs(level - round(level)) < _ROUND
    if is_level and (abs(sea_level) < 1.0 or abs(height - round(height)) > _ROUND) and level >= 30.0:
        return f"FL{round(level):03d}"
    return show(altitude - sea_level, Kind.HEIGHT, system, step=100.0 if system == "trade" else 50.0).text


def clock(moment: datetime, *, seconds: bool = True) -> str:
    """Return a time of day, UTC: to the second, or to the nearest minute."""
    if seconds:
        return f"{moment:%H:%M:%S}"
    whole = round(moment.timestamp() / 60.0) * 60.0
    return f"{datetime.fromtimestamp(whole, moment.tzinfo):%H:%M}"


def row_place(row: RouteRow) -> str:
    """Return where a row ends, in a few words: the point, or what is reached on the way to it."""
    return row.end.name[:1].upper() + row.end.name[1:] if row.end.name in ON_THE_WAY else row.end.name


def legs_of(flown: FlownRoute) -> list[list[RouteRow]]:
    """Return the rows leg by leg: those before the first leg, each leg's, the approach's."""
    groups: list[list[RouteRow]] = []
    key: tuple[int, bool] | None = None
    for row in flown.rows:
        mine = (row.leg, row.part == "approach")
        if mine != key:
            groups.append([])
            key = mine
        groups[-1].append(row)
    return groups
