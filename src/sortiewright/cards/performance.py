"""The performance card: turn, excess power and V-n diagrams at today's weight and load."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.chart_excess_power import excess_power_chart
from sortiewright.cards.chart_frame import ASPECT, at_power
from sortiewright.cards.chart_turn import turn_chart
from sortiewright.cards.chart_vn import load_factor_chart
from sortiewright.cards.reading import Reading
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import Kind, level_text, show

FIGURES = (
    "corner_speed",
    "instantaneous_turn_rate",
    "instantaneous_radius",
    "sustained_turn_rate",
    "sustained_radius",
    "sustained_load_factor",
    "load_factor_limit",
    "excess_power",
)
ABOVE_FIGURES = 0.58
"""Height over width of the last chart, so that the figures find room on its page."""
CHARTS = (
    ("Rate of turn", turn_chart),
    ("Specific excess power", excess_power_chart),
    ("Load factor and speed", load_factor_chart),
)


def performance_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the performance card shows; the plan has numbers of turning."""
    flight, route = reading.plan.flight, reading.plan.route
    assert flight is not None
    found = flight.manoeuvres
    charts: list[dict[str, Any]] = []
    for title, draw in CHARTS if found is not None else ():
        assert found is not None
        drawing, words = draw(
            found,
            system=reading.system,
            width=sheet.width,
            text_size=sheet.sizes["note"],
            aspect=ABOVE_FIGURES if draw is load_factor_chart else _aspect(sheet),
        )
        charts.append(drawing.data(words) | {"title": title})
    row = flight.turning
    level = level_text(row.end_altitude, route.sea_level if route else 0.0, reading.system)
    mass = reading.text(row.balance.mass, Kind.MASS)
    power = found.power_title if found is not None else flight.turn_power
    where = f"{level}, Mach {show(row.mach, Kind.MACH).number}, {mass}, {at_power(power)}"
    return {
        "where": printable(where),
        "figures": reading.rows("flight", FIGURES),
        "charts": charts,
        "problem": printable(flight.problems.get("manoeuvres", "")),
    }


def _aspect(sheet: Sheet) -> float:
    """Return height over width of a chart, so that two fit a page."""
    two = (sheet.height - 2.0 * sheet.sizes["item"] - 4.2 * sheet.sizes["heading"]) / 2.0
    return min(ASPECT, two / sheet.width)
