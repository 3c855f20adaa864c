"""What a pack says of masses, tanks, stations and stores, and of the envelope. SI once loaded."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sortiewright.pack.quantities import (
    Density,
    Length,
    Mass,
    MassFlow,
    Number,
    PositiveMass,
    Speed,
)
from sortiewright.pack.schema_base import Model


class Seat(Model):
    """A crew seat and its occupant's default mass with kit."""

    title: str
    arm: Length
    standard_mass: Mass


class Tank(Model):
    """A fuel tank that is part of the aircraft."""

    title: str = ""
    capacity: PositiveMass
    arm: Length
    arm_empty: Length | None = None
    """Arm of the last fuel in the tank, where it differs; the arm moves linearly between the two."""
    side_arm: Length = 0.0
    unusable: Mass = 0.0


class Station(Model):
    """A place that carries stores."""

    title: str = ""
    arm: Length
    side_arm: Length
    maximum_load: PositiveMass
    carries: tuple[str, ...]
    fixed_mass: Mass = 0.0
    """Pylon or rack always mounted and not in the basic mass."""


class Store(Model):
    """Something hung on a station. A tank has ``fuel_capacity``."""

    title: str
    mass: Mass
    drag_index: Annotated[float, Field(ge=0)]
    remains_mass: Mass = 0.0
    """Rack or pylon left after release or jettison, part of ``mass``."""
    remains_drag_index: Annotated[float, Field(ge=0)] = 0.0
    fuel_capacity: Mass = 0.0
    fuel_unusable: Mass = 0.0
    fuel_arm_offset: Length = 0.0
    kind: Literal["tank", "practice", "weapon", "pod", "rack", "missile"] = "weapon"
    maximum_cas: Speed | None = None
    maximum_mach: Number | None = None
    maximum_load_factor: Number | None = None
    maximum_load_factor_rolling: Number | None = None
    minimum_load_factor: Number | None = None
    jettisonable: bool = True


class EnvelopePoint(Model):
    """A corner of the centre of gravity envelope: share of mean chord (``22.5 %MAC``) against mass."""

    mass: Mass
    centre_of_gravity: Annotated[Number, Field(ge=-1, le=2)]


class MassAndBalance(Model):
    """Masses, arms and the envelope."""

    basic_mass: PositiveMass
    basic_arm: Length
    gear_retraction_arm_change: Length = 0.0
    """Shift of the whole aircraft's balance on retraction, as mass moment over basic mass."""
    seats: dict[str, Seat]
    tanks: dict[str, Tank]
    fuel_density: Density
    feed_order: tuple[tuple[str, ...], ...]
    """Groups in the order they empty; a group's members empty together. ``external`` names all store
    tanks."""
    stations: dict[str, Station]
    envelope: tuple[EnvelopePoint, ...]
    envelope_gear_up: tuple[EnvelopePoint, ...] | None = None
    maximum_ramp_mass: PositiveMass
    maximum_takeoff_mass: PositiveMass
    maximum_landing_mass: PositiveMass
    taxi_fuel_flow: MassFlow | None = None
    """All engines together, idle and taxi."""
