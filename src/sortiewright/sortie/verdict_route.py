"""The route held against the day: what stops it, what spoils it, and the fuel it needs."""

from __future__ import annotations

from collections.abc import Iterator

from sortiewright.sortie.figures import Kind, Reason, Verdict
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.route_flown import FuelPlan, RouteFault
from sortiewright.sortie.units import show

NO_GO, CAUTION = Verdict.NO_GO, Verdict.CAUTION
OTHER_FUEL = 136.07771  # kg, 300 lb: more than a planned landing fuel may differ without a word


def route_reasons(numbers: Numbers) -> Iterator[Reason]:
    """Yield every fault of route and fuel as a reason, and what else speaks against the fuel."""
    route = numbers.route
    if route is None:
        return
    if route.flown is None:
        yield Reason(NO_GO, f"Route not computed: {route.problem}", "route_length")
        return
    for fault in route.flown.faults:
        yield _reason(fault, "route_length")
    if route.fuel is None:
        if route.problem:
            yield Reason(CAUTION, f"Fuel for the way home not computed: {route.problem}", "bingo")
        return
    told = {fault.text for fault in route.flown.faults}
    for fault in route.fuel.faults:
        if fault.text not in told:
            yield _reason(fault, "bingo")
    yield from _ways_home(route.fuel)


def _reason(fault: RouteFault, figure: str) -> Reason:
    hint = f". {fault.hint}" if fault.hint else ""
    return Reason(NO_GO if fault.severity == "no-go" else CAUTION, f"{fault.text}{hint}", figure)


def _ways_home(fuel: FuelPlan) -> Iterator[Reason]:
    """Yield each way home from the farthest point, with something broken, for which there is no fuel."""
    there = next(
        (
            step.planned
            for step in fuel.ladder
            if fuel.farthest is not None and step.least is not None and step.title == fuel.farthest.name
        ),
        None,
    )
    for one in fuel.returns[1:]:
        if there is not None and one.bingo == one.bingo and one.bingo > there + 0.05:
            asked, have = show(one.bingo, Kind.MASS).text, show(there, Kind.MASS, rounding="down").text
            how = one.profile.replace("_", " ")
            text = f"From {one.start.name} the way home with {how} takes {asked}, {have} are planned there"
            yield Reason(CAUTION, text, f"bingo_{one.profile}", there, one.bingo, Kind.MASS)


def route_remarks(numbers: Numbers) -> Iterator[str]:
    """Yield what a crew should know of how the route's numbers came about."""
    route = numbers.route
    if route is None or route.flown is None:
        return
    for row in route.flown.rows:
        for remark in row.remarks:
            yield f"Route: {remark}"
    given = numbers.sortie.load.landing_fuel
    if given is not None and route.flown.complete:
        left = route.flown.rows[-1].fuel_aboard
        if abs(left - given) > OTHER_FUEL:
            have, said = show(left, Kind.MASS).text, show(given, Kind.MASS).text
            yield f"The route lands with {have}, load.landing_fuel says {said}: the landing is for that"
