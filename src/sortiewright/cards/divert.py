"""The divert card: bingo and joker, the way home with something broken, the alternate, bingo by distance."""

from __future__ import annotations

import math
from typing import Any

from sortiewright.cards.chart_fuel import fuel_chart
from sortiewright.cards.reading import Reading, Row, row
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import PROFILES, Kind, ReturnFuel, level_text, show

CHART_ASPECT = 0.8
"""Of the fuel chart: as high as the page has room for, as its names climb above the line."""
BELOW = ("minimum_fuel", "emergency_fuel")
FIGURES = ("fuel_at_fix", "ladder_margin", "farthest_point", "radius", "last_return")


def divert_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the divert card shows; the plan has a route and its fuel."""
    plan = reading.plan
    fuel, flown = plan.fuel, plan.route
    assert fuel is not None
    assert flown is not None
    drawing, words = fuel_chart(
        fuel,
        flown,
        system=reading.system,
        width=sheet.width,
        text_size=sheet.sizes["note"],
        aspect=CHART_ASPECT,
    )
    ways = [_way(reading, one, flown.sea_level) for one in fuel.returns]
    if fuel.alternate is not None:
        ways.append(
            _way(reading, fuel.alternate, flown.sea_level, title=f"Alternate {fuel.alternate.to.name}")
        )
    return {
        "bingo": reading.row("fuel", "bingo", title="Bingo", required=True),
        "joker": reading.row("fuel", "joker", title="Joker", required=True),
        "below": reading.rows("fuel", BELOW),
        "ways": ways,
        "from": printable("" if fuel.farthest is None else fuel.farthest.name),
        "no_alternate": fuel.alternate is None,
        "table": _table(reading),
        "figures": reading.rows("fuel", FIGURES),
        "chart": drawing.data(words),
    }


def _way(reading: Reading, one: ReturnFuel, sea_level: float, title: str = "") -> Row:
    """Return one way home: the fuel to leave with, and how it is flown."""
    name = title or PROFILES.get(one.profile, one.profile.replace("_", " "))
    known = math.isfinite(one.bingo)
    notes: list[str] = []
    if known:
        level = level_text(one.altitude, sea_level, reading.system)
        notes = [
            f"{level}, Mach {show(one.mach, Kind.MACH).number}",
            reading.text(one.distance, Kind.DISTANCE),
            f"{show(one.time, Kind.TIME).text}",
            f"leaves {reading.text(one.recovery_fuel, Kind.MASS)}",
        ]
    notes += [text for text in (one.problem, one.remark) if text]
    shown = show(one.bingo if known else None, Kind.MASS, reading.system, rounding="up")
    return row(name[:1].upper() + name[1:], shown, note=", ".join(notes), state="ok" if known else "missing")


def _table(reading: Reading) -> list[list[str]]:
    """Return distance and bingo, as text, in rows of the table."""
    fuel = reading.plan.fuel
    assert fuel is not None
    return [
        [
            printable(show(float(far), Kind.DISTANCE, reading.system).text),
            printable(show(float(kg), Kind.MASS, reading.system, rounding="up").text),
        ]
        for far, kg in zip(fuel.bingo_distance, fuel.bingo_fuel, strict=True)
        if math.isfinite(float(kg))
    ]
