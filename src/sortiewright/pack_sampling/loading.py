"""What the aircraft weighs empty, its crew, and its tanks, from the model's own mass balance."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sortiewright.pack_sampling.flight_model import FlightModel
from sortiewright.pack_sampling.model_description import ModelDescription

CREW_WORDS = ("pilot", "crew", "passenger", "instructor", "student", "seat")


@dataclass(frozen=True)
class SampledSeat:
    """A seat: the model's name for who sits there, lb, inches."""

    name: str
    weight: float
    x: float


@dataclass(frozen=True)
class SampledTank:
    """A tank: lb, inches."""

    name: str
    capacity: float
    unusable: float
    x: float
    y: float


@dataclass(frozen=True)
class SampledLoad:
    """Masses in lb, positions in inches of the model's axes."""

    empty_weight: float
    empty_x: float
    seats: tuple[SampledSeat, ...]
    has_crew: bool
    tanks: tuple[SampledTank, ...]
    fuel_density: float
    """lb/gal"""
    in_empty: tuple[str, ...]
    """Point masses counted with the empty weight, by name."""


def read_load(model: FlightModel, description: ModelDescription) -> SampledLoad:
    """Return the masses of a model as loaded; its own controls and engines do not matter.

    The empty weight's place is not a property of the library: it is what is left of the whole balance when
    fuel and point masses are taken out.
    """
    model.run(0.0)
    weight, balance = model.read("inertia/weight-lbs"), model.read("inertia/cg-x-in")
    tanks: list[SampledTank] = []
    fuel_moment = fuel = 0.0
    density = DEFAULT_DENSITY
    for i, one in enumerate(description.tanks):
        name = f"propulsion/tank[{i}]" if i else "propulsion/tank"
        contents, x = model.read(f"{name}/contents-lbs"), model.read(f"{name}/x-position")
        density = model.read(f"{name}/density-lbs_per_gal") or density
        unusable = model.read(f"{name}/unusable-volume-gal") * density
        fuel, fuel_moment = fuel + contents, fuel_moment + contents * x
        if one.capacity > 0.0:
            tanks.append(
                SampledTank(f"tank_{i + 1}", one.capacity, unusable, x, model.read(f"{name}/y-position"))
            )
    masses = description.point_masses
    point_weight = sum(one.weight for one in masses)
    # What neither fuel nor a point mass explains, gas cells say, stays with the empty weight.
    rest = weight - fuel - point_weight
    empty_x = (weight * balance - fuel_moment - sum(one.weight * one.x for one in masses)) / rest
    crew = [one for one in masses if any(word in one.name.casefold() for word in CREW_WORDS)]
    other = [one for one in masses if one not in crew and one.weight > 0.0]
    whole = rest + sum(one.weight for one in other)
    whole_x = (rest * empty_x + sum(one.weight * one.x for one in other)) / whole
    seats = [SampledSeat(_key(one.name), one.weight, one.x) for one in crew]
    if not seats:
        eye = model.read("metrics/eyepoint-x-in") if model.has("metrics/eyepoint-x-in") else empty_x
        seats = [SampledSeat("pilot", 0.0, eye)]
    return SampledLoad(
        empty_weight=whole,
        empty_x=whole_x,
        seats=tuple(seats),
        has_crew=bool(crew),
        tanks=tuple(tanks),
        fuel_density=density,
        in_empty=tuple(one.name for one in other),
    )


DEFAULT_DENSITY = 6.6  # lb/gal, the library's own where a model gives none


def with_seats(load: SampledLoad, count: int) -> SampledLoad:
    """Return a load with this many seats of no mass, where the model has no crew of its own.

    Raises ``ValueError`` where it has: its own seats are kept.
    """
    if load.has_crew:
        raise ValueError(f"names its own crew: {', '.join(seat.name for seat in load.seats)}")
    place = load.seats[0].x
    names = ("pilot",) if count == 1 else SEATS
    return replace(load, seats=tuple(SampledSeat(name, 0.0, place) for name in names))


SEATS = ("front", "rear")


def _key(name: str) -> str:
    """Return a name as a pack writes keys."""
    return "_".join("".join(c if c.isalnum() else " " for c in name.casefold()).split()) or "seat"
