"""Fuel and people of the plan put aboard a flight model, so that it weighs what was planned."""

from __future__ import annotations

from collections.abc import Mapping

from sortiewright.flying.briefing import Load
from sortiewright.pack_sampling import POUND, FlightModel, ModelDescription, indexed, model_fault

NEAR = 0.002  # of the weight
MOST_FUEL_CHANGE = 0.02
"""Of the weight: what fuel may make up for without a word."""


def load_as_planned(model: FlightModel, description: ModelDescription, load: Load) -> list[str]:
    """Set fuel and crew, and return what is not as planned.

    Tanks that the pack names as a sampled pack does are filled one by one; else all to the same share. What
    then lacks to the planned mass, or is over, goes into the fuel. ``InputError`` where the tanks cannot
    make the model weigh what is planned: it is another aircraft.
    """
    capacity = [one.capacity for one in description.tanks]
    fuel = _by_tank(load.fuel, capacity)
    _seat(model, description, load.crew)
    _fill(model, fuel)
    lacking = load.mass / POUND - _weight(model)
    if abs(lacking) > NEAR * load.mass / POUND:
        fuel = _moved(fuel, capacity, lacking)
        _fill(model, fuel)
    weight = _weight(model)
    still = load.mass / POUND - weight
    if abs(still) > MOST_FUEL_CHANGE * load.mass / POUND:
        dry = weight - sum(fuel)
        raise model_fault(
            model.name,
            f"weighs {dry:,.0f} to {dry + sum(capacity):,.0f} lb with its tanks empty and full, "
            f"and the plan's takeoff weight is {load.mass / POUND:,.0f} lb",
            "Fly the model that the pack was made from",
        )
    if abs(lacking) > MOST_FUEL_CHANGE * load.mass / POUND:
        return [f"Fuel differs from the plan's by {lacking:+,.0f} lb, so that the weight is the planned one"]
    return []


def _by_tank(fuel: Mapping[str, float], capacity: list[float]) -> list[float]:
    """Return the contents of the model's tanks, lb."""
    named = {f"tank_{i + 1}": i for i in range(len(capacity))}
    contents = [0.0] * len(capacity)
    if set(fuel) <= set(named):
        for name, mass in fuel.items():
            contents[named[name]] = min(mass / POUND, capacity[named[name]])
        return contents
    share = min(sum(fuel.values()) / POUND / max(sum(capacity), 1.0), 1.0)
    return [share * one for one in capacity]


def _moved(fuel: list[float], capacity: list[float], change: float) -> list[float]:
    """Return fuel changed by an amount, spread over the room that there is, or over the fuel."""
    room = [full - now for full, now in zip(capacity, fuel, strict=True)] if change > 0.0 else fuel
    whole = sum(room)
    if whole <= 0.0:
        return fuel
    share = min(max(change / whole, -1.0), 1.0)
    return [now + share * one for now, one in zip(fuel, room, strict=True)]


def _fill(model: FlightModel, fuel: list[float]) -> None:
    for i, contents in enumerate(fuel):
        model.write(f"{indexed('propulsion/tank', i)}/contents-lbs", contents)
    model.run(0.0)


def _seat(model: FlightModel, description: ModelDescription, crew: Mapping[str, float]) -> None:
    """Give point masses named for people the planned weight, where a pack's seats are those."""
    seats = {_key(one.name): i for i, one in enumerate(description.point_masses)}
    for name, mass in crew.items():
        if name in seats:
            model.write_where_it_is(f"inertia/{indexed('pointmass-weight-lbs', seats[name])}", mass / POUND)


def _key(name: str) -> str:
    return "_".join("".join(c if c.isalnum() else " " for c in name.casefold()).split())


def _weight(model: FlightModel) -> float:
    return model.read("inertia/weight-lbs")
