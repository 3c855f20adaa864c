"""The fuel of the route in figures: what is left, bingo and joker, what a fault costs, how far one can go."""

from __future__ import annotations

from datetime import timedelta
from math import isfinite

from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.route_flown import FlownRoute, FuelPlan, LadderStep, ReturnFuel
from sortiewright.sortie.route_text import clock, row_place

BACKWARDS = "computed backwards from the fuel to be left at the fix: descent, cruise, climb"
PROFILES = {
    "both_engines": "as planned",
    "one_engine": "one engine out",
    "gear_down": "gear down",
    "trapped_external": "external fuel trapped",
}
"""What each way home is called."""


def fuel_section(numbers: Numbers) -> Section | None:
    """Return the route's fuel in figures, None where there is no route, or nothing of it."""
    route = numbers.route
    if route is None or route.flown is None:
        return None
    if route.fuel is None:
        why = route.problem or "not computed"
        return Section("fuel", "Fuel", (Figure("bingo", "Bingo", None, Kind.MASS, problem=why),))
    return Section("fuel", "Fuel", tuple(_figures(route.fuel, route.flown)))


def worst_step(fuel: FuelPlan) -> LadderStep | None:
    """Return the step of the ladder with the least over what it takes home from there."""
    airborne = [step for step in fuel.ladder if step.least is not None]
    return min(airborne, key=lambda step: step.planned - (step.least or 0.0), default=None)


def return_from_farthest(fuel: FuelPlan, profile: str) -> ReturnFuel | None:
    """Return the way home of a profile, None where the plan has none."""
    return next((one for one in fuel.returns if one.profile == profile), None)


def _figures(fuel: FuelPlan, flown: FlownRoute) -> list[Figure]:
    where = "" if fuel.farthest is None else f" at {fuel.farthest.name}"
    figures = [
        _mass("fuel_at_fix", "Fuel at the recovery fix", fuel.at_fix, "fuel flow of each row"),
        _mass("route_landing_fuel", "Fuel at touchdown", fuel.landing_fuel, "less the approach's allowance"),
        _mass("bingo", f"Bingo{where}", fuel.bingo, BACKWARDS),
        _mass("joker", "Joker", fuel.joker, "bingo, one more exercise, regrouping"),
    ]
    for one in fuel.returns[1:]:
        title = f"Bingo{where}, {PROFILES.get(one.profile, one.profile.replace('_', ' '))}"
        name = f"bingo_{one.profile}"
        if isfinite(one.bingo):
            cautions = tuple(text for text in (one.problem, one.remark) if text)
            figures.append(Figure(name, title, one.bingo, Kind.MASS, BACKWARDS, cautions=cautions))
        else:
            figures.append(Figure(name, title, None, Kind.MASS, problem=one.problem or "not computed"))
    if fuel.alternate is not None:
        other = fuel.alternate
        figures.append(
            _mass(
                "alternate_fuel",
                f"Alternate {other.to.name}, to leave with",
                other.bingo if isfinite(other.bingo) else None,
                BACKWARDS,
                other.problem or "not computed",
            )
        )
    figures += [
        Figure("minimum_fuel", "Minimum fuel", fuel.minimum, Kind.MASS, "pack technique"),
        Figure("emergency_fuel", "Emergency fuel", fuel.emergency, Kind.MASS, "pack technique"),
    ]
    if (worst := worst_step(fuel)) is not None:
        row = flown.rows[worst.row]
        over = worst.planned - (worst.least or 0.0)
        title = f"Least over bingo, at {row_place(row)}"
        figures.append(Figure("ladder_margin", title, over, Kind.MASS, "planned less bingo from there"))
    figures += _reach(fuel, flown)
    return figures


def _reach(fuel: FuelPlan, flown: FlownRoute) -> list[Figure]:
    figures: list[Figure] = []
    if fuel.returns:
        title = f"Farthest from home, {fuel.returns[0].start.name}"
        figures.append(Figure("farthest_point", title, fuel.returns[0].distance, Kind.DISTANCE, "geodesic"))
    if fuel.radius is not None:
        method = "straight out and back at the level of the way home, climb and descent in it"
        figures.append(Figure("radius", "Radius out and back", fuel.radius, Kind.DISTANCE, method))
    if fuel.last_return_elapsed is not None and fuel.last_return is not None:
        end = fuel.ladder[-1].elapsed if fuel.ladder else 0.0
        always = fuel.last_return_elapsed >= min(end, _fix_elapsed(flown)) - 1.0
        when = _moment(flown, fuel.last_return_elapsed)
        text = "from all of the route" if always else f"until {when}Z"
        method = "planned fuel against bingo to home or alternate along the route"
        figures.append(Figure("last_return", "Return possible", None, Kind.TIME, method, text=text))
    elif fuel.ladder:
        figures.append(Figure("last_return", "Return possible", None, Kind.TIME, text="from no point of it"))
    return figures


def _fix_elapsed(flown: FlownRoute) -> float:
    rows = flown.rows
    return max(row.elapsed for row in rows if row.part != "approach" or len(rows) == 1)


def _moment(flown: FlownRoute, elapsed: float) -> str:
    first = flown.rows[0]
    return clock(first.at + timedelta(seconds=elapsed - first.elapsed))


def _mass(name: str, title: str, value: float | None, method: str, problem: str = "") -> Figure:
    why = problem or "the route is not flown to its end"
    return Figure(name, title, value, Kind.MASS, method, problem="" if value is not None else why)
