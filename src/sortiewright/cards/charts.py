"""Every chart that can be drawn of a plan, by name."""

from __future__ import annotations

from typing import Any, Literal

from sortiewright.cards.balance import envelope
from sortiewright.cards.card_set import CardError, too_wide
from sortiewright.cards.chart_climb import climb_chart
from sortiewright.cards.chart_excess_power import excess_power_chart
from sortiewright.cards.chart_frame import TEXT_SIZE, WIDTH
from sortiewright.cards.chart_fuel import fuel_chart
from sortiewright.cards.chart_profile import profile_chart
from sortiewright.cards.chart_route import route_chart
from sortiewright.cards.chart_turn import turn_chart
from sortiewright.cards.chart_vn import load_factor_chart
from sortiewright.cards.failure_chart import failure_chart
from sortiewright.cards.reading import Reading
from sortiewright.cards.runway import landing_strip, takeoff_strip
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.sheet import Sheet
from sortiewright.performance import ManoeuvreNumbers
from sortiewright.sortie import Plan, System

ChartName = Literal[
    "route",
    "profile",
    "fuel",
    "climb",
    "turn",
    "energy",
    "load-factor",
    "runway",
    "stop-or-go",
    "landing",
    "balance",
]

CHARTS: dict[ChartName, str] = {
    "route": "the route from above, to scale, with the heights along it",
    "profile": "the heights along the route",
    "fuel": "fuel over time, with bingo and minimum fuel",
    "climb": "altitude over time, distance and fuel",
    "turn": "rate of turn over Mach number",
    "energy": "specific excess power over Mach number and altitude",
    "load-factor": "the V-n diagram with the limits of what hangs",
    "runway": "the takeoff runway with every point on it",
    "stop-or-go": "stop and go distances over the speed of an engine failure",
    "landing": "the landing runway with today's touchdown and stop",
    "balance": "the envelope of the centre of gravity with the burn",
}
"""What each chart shows."""
NEEDS_ROUTE = frozenset({"route", "profile", "fuel", "climb"})
TURNING = frozenset({"turn", "energy", "load-factor"})
ROOM = 340.0
"""Points of height for the chart of stop and go."""


def chart_of(
    plan: Plan,
    name: ChartName,
    *,
    system: System = "trade",
    scheme: SchemeName = "day",
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    manoeuvres: ManoeuvreNumbers | None = None,
) -> dict[str, Any]:
    """Return a chart of a plan as the drawing's data, for ``write_chart`` and the templates.

    ``manoeuvres`` stand in for the plan's own in the charts of turning.

    Raises
    ------
    CardError
        For an unknown name, a plan that lacks what the chart shows, or a label wider than its chart.
    """
    if name not in CHARTS:
        raise CardError(f"chart {name!r} is unknown. Choose from {', '.join(CHARTS)}.")
    if name in TURNING:
        numbers = manoeuvres or (plan.flight.manoeuvres if plan.flight is not None else None)
        if numbers is None:
            why = "" if plan.flight is None else plan.flight.problems.get("manoeuvres", "")
            raise CardError(f"There are no turn numbers to draw: {why or 'the sortie has no route'}.")
        draw = {"turn": turn_chart, "energy": excess_power_chart, "load-factor": load_factor_chart}[name]
        drawing, words = draw(numbers, system=system, width=width, text_size=text_size)
        return drawing.data(words)
    try:
        data = (
            _of_route(plan, name, system, width, text_size)
            if name in NEEDS_ROUTE
            else _of_runway(plan, name, system, scheme)
        )
    except OverflowError as overflow:
        raise too_wide(str(overflow)) from None
    if data is None:
        raise CardError(f"The plan has nothing to draw for the chart {name!r}.")
    return data


def _of_route(plan: Plan, name: str, system: System, width: float, text_size: float) -> dict[str, Any]:
    flown, fuel, flight = plan.route, plan.fuel, plan.flight
    if flown is None or flight is None or not flown.rows:
        raise CardError(f"The chart {name!r} needs a route in the sortie that can be flown.")
    if name == "fuel":
        if fuel is None:
            raise CardError("The plan has no fuel for the way home to draw.")
        drawing, words = fuel_chart(fuel, flown, system=system, width=width, text_size=text_size)
    elif name == "climb":
        try:
            drawing, words = climb_chart(flight, system=system, width=width, text_size=text_size)
        except ValueError as error:
            raise CardError(f"There is no climb to draw: {error}.") from None
    else:
        draw = route_chart if name == "route" else profile_chart
        drawing, words = draw(flown, system=system, width=width, text_size=text_size)
    return drawing.data(words)


def _of_runway(plan: Plan, name: str, system: System, scheme: SchemeName) -> dict[str, Any] | None:
    """Return a chart of the runway cards, as large as on a kneeboard sheet."""
    sheet = Sheet("a5", scheme)
    reading = Reading(plan, system)
    if name == "runway":
        return takeoff_strip(reading, sheet)
    if name == "landing":
        return landing_strip(reading, sheet)
    if name == "balance":
        return envelope(reading, sheet)
    return failure_chart(reading, sheet, ROOM)
