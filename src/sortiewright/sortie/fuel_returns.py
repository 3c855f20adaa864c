"""Ways home as the plan tells them: what each takes, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sortiewright.performance import WayHome
from sortiewright.sortie.fuel_ways import Aircraft, Destination
from sortiewright.sortie.route_flown import PlacedPoint, ReturnFuel


@dataclass(frozen=True, slots=True)
class AskedWay:
    """One way home that is asked for: where it stands in the batch, and what is said of it."""

    place: int
    start: PlacedPoint
    to: Destination
    aircraft: Aircraft
    name: str


def return_fuel_of(
    way: AskedWay,
    found: WayHome | None,
    place: int,
    distance: float,
    remark: str,
    most: dict[str, float],
) -> ReturnFuel:
    """Return a way home as the plan tells it; what could not be computed is NaN, with the problem.

    ``place`` is where it stands in ``found``. ``most`` kg is what the tanks it draws from hold, by profile,
    under an empty name for all others.
    """
    parts = ("altitude", "mach", "first_fuel", "cruise_fuel", "descent_fuel", "bingo", "time")
    if found is None:
        values, problem = dict.fromkeys(parts, float("nan")), "outside the tables of the pack"
    else:
        values, problem = {name: float(getattr(found, name)[place]) for name in parts}, ""
        if not np.isfinite(values["bingo"]):
            problem = "no height at which level flight can be held"
        elif values["bingo"] > most.get(way.name, most[""]):
            problem = "more than the tanks hold"
    return ReturnFuel(
        way.start,
        way.to.point,
        distance,
        values["altitude"],
        values["mach"],
        values["first_fuel"],
        values["cruise_fuel"],
        values["descent_fuel"],
        way.to.fuel,
        values["bingo"] + way.aircraft.unusable,
        values["time"],
        way.name,
        problem,
        "" if problem else remark,
        way.aircraft.unusable,
    )


def with_missed_approach(way: ReturnFuel, fuel: float) -> ReturnFuel:
    """Return a way that begins with a go-around, whose allowance, kg, counts as climb."""
    if fuel <= 0.0:
        return way
    return replace(
        way,
        climb_fuel=way.climb_fuel + fuel,
        bingo=way.bingo + fuel,
        remark="" if way.problem else "with a missed approach",
    )
