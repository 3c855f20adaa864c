"""The flight log and the fuel ladder as tables on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

from sortiewright.commands.output import System, wrapped

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.sortie import FlownRoute, FuelPlan, Kind, RouteRow

NAMES = 23
"""Columns of what a row is called."""


def route_lines(flown: FlownRoute, units: System) -> list[Text]:
    """Return the flight log: a line a row, its numbers at its end."""
    from sortiewright.sortie import Kind, convert

    speed, distance, mass = (convert(0.0, kind, units)[1] for kind in (Kind.CAS, Kind.DISTANCE, Kind.MASS))
    heads = ("level", "hdg", "CAS", "GS", "dist", "time", "at", "fuel", "left")
    signs = ("", "mag", speed, speed, distance, "min", "UTC", mass, mass)
    rows = [(_name(row), _cells(row, flown.sea_level, units)) for row in flown.rows]
    lines = _table("Flight log", heads, signs, rows)
    if not flown.complete:
        lines += wrapped("The route is not flown to its end.", style="yellow")
    return lines


def fuel_lines(fuel: FuelPlan, flown: FlownRoute, units: System) -> list[Text]:
    """Return the ladder: fuel planned at each point, the least to get home, what is over."""
    from rich.text import Text

    from sortiewright.sortie import Kind, convert

    mass = convert(0.0, Kind.MASS, units)[1]
    rows: list[tuple[str, Sequence[str]]] = []
    notes: list[str] = []
    for step in fuel.ladder:
        row = flown.rows[step.row]
        over = None if step.least is None else step.planned - step.least
        cells = (
            _number(step.planned, Kind.MASS, units, "down"),
            _number(step.least, Kind.MASS, units, "up"),
            _number(over, Kind.MASS, units, "down"),
            _number(step.balance.share_of_chord, Kind.PERCENT_MAC, units),
        )
        rows.append((_name(row), cells))
        notes += [f"{_name(row)}: {remark}" for remark in step.remarks]
    lines = _table("Fuel ladder", ("planned", "least", "over", "%MAC"), (mass, mass, mass, ""), rows)
    for note in notes:
        lines += wrapped(note, indent=4, hanging=2, style="dim")
    if len(fuel.bingo_distance):
        ways = [
            (_number(float(far), Kind.DISTANCE, units), _number(float(kg), Kind.MASS, units, "up"))
            for far, kg in zip(fuel.bingo_distance, fuel.bingo_fuel, strict=True)
        ]
        sign = convert(0.0, Kind.DISTANCE, units)[1]
        start = "" if fuel.farthest is None else f", as from {fuel.farthest.name}"
        lines += [Text(), Text(f"Bingo by distance from the fix{start}", style="bold")]
        for head, place in ((sign, 0), (mass, 1)):
            line = f"  {head:<6}" + "".join(f"{way[place]:>7}" for way in ways)
            lines.append(Text(line, style="dim" if place == 0 else ""))
    return lines


def _name(row: RouteRow) -> str:
    """Return what a row is called: its leg's number, and where it ends or what is done."""
    from sortiewright.sortie import row_place

    leg = f"{row.leg + 1:>2} " if row.leg >= 0 else ""
    return f"{leg}{row_place(row) if row.leg >= 0 and row.distance > 0.0 else row.title}"


def _cells(row: RouteRow, sea_level: float, units: System) -> tuple[str, ...]:
    from sortiewright.sortie import Kind, clock, level_text

    moving = row.part not in ("start_and_taxi", "run_up", "approach")
    minutes, seconds = divmod(round(row.time), 60)
    return (
        level_text(row.end_altitude, sea_level, units) if moving else "",
        _number(row.magnetic_heading_deg, Kind.COURSE, units),
        _number(row.cas, Kind.CAS, units) if moving else "",
        _number(row.ground_speed, Kind.GROUND_SPEED, units),
        _number(row.distance, Kind.DISTANCE, units) if row.distance > 0.0 else "",
        f"{minutes}:{seconds:02d}",
        clock(row.at),
        _number(row.fuel - row.fuel_on, Kind.MASS, units),
        _number(row.fuel_aboard, Kind.MASS, units, "down"),
    )


def _number(value: float | None, kind: Kind, units: System, rounding: str = "nearest") -> str:
    from sortiewright.sortie import show

    if value is None or not isfinite(value):
        return ""
    way = "up" if rounding == "up" else "down" if rounding == "down" else "nearest"
    return show(value, kind, units, rounding=way).number


def _table(
    title: str, heads: Sequence[str], signs: Sequence[str], rows: Sequence[tuple[str, Sequence[str]]]
) -> list[Text]:
    """Return a table of numbers, each column as wide as its widest cell."""
    from rich.text import Text

    widths = [
        max(len(head), len(sign), *(len(cells[place]) for _, cells in rows)) if rows else len(head)
        for place, (head, sign) in enumerate(zip(heads, signs, strict=True))
    ]

    def line(name: str, cells: Sequence[str], style: str = "") -> Text:
        told = "".join(f" {cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        return Text(f"{name:<{NAMES}}{told}", style=style)

    head = line(title, heads)
    head.stylize("bold", 0, NAMES)
    body = [line(f"  {name}"[:NAMES], cells) for name, cells in rows]
    return [head, line("", signs, "dim"), *body]
