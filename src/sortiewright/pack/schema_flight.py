"""How the book says the aircraft is climbed, cruised and let down, and which fuel is kept back."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sortiewright.pack.quantities import Angle, Fraction, Length, Mass, Number, PositiveMass, Speed, Time
from sortiewright.pack.schema_base import Model

MachNumber = Annotated[Number, Field(gt=0, lt=5)]


class ClimbTechnique(Model):
    """Level acceleration to ``cas`` or ``mach``, the lower of both, held from there on."""

    power: str
    cas: Speed
    mach: MachNumber | None = None
    upper_power: str | None = None
    """Setting above the altitude where ``cas`` is ``mach``; ``power`` where absent."""


class CruiseTechnique(Model):
    """What a leg is flown at that says nothing itself. ``mach`` None: farthest range."""

    mach: MachNumber | None = None
    power: str | None = None
    """Highest setting allowed in level flight, military where absent."""
    holding_bank: Angle = 0.0
    """Mean bank of an orbit; what the extra lift costs is charged."""


class DescentTechnique(Model):
    """Constant ``mach``, then constant ``cas``. ``power`` None: idle. ``speedbrake`` is its share out."""

    cas: Speed
    mach: MachNumber | None = None
    power: str | None = None
    speedbrake: Fraction = 0.0


class FuelTechnique(Model):
    """Fuel by allowance where it is not flown out, and what must be left. Masses of fuel in kg.

    ``normal_recovery`` is meant to be left at the recovery fix, ``minimum`` and ``emergency`` are what is
    declared at. ``gauge_tolerance`` is added to a bingo, as the gauges may read that much too high.
    """

    run_up: Mass = 0.0
    approach: Mass = 0.0
    """From the recovery fix to touchdown."""
    approach_time: Time = 0.0
    """How long that takes."""
    missed_approach: Mass = 0.0
    """From a go-around to the departure for the alternate, at the field."""
    normal_recovery: PositiveMass
    minimum: PositiveMass
    emergency: PositiveMass
    gauge_tolerance: Mass = 0.0
    joker_time: Time = 0.0
    """One more exercise, at ``joker_power``."""
    joker_power: str | None = None
    """Setting of that exercise; military where absent."""
    joker_altitude: Length | None = None
    """Pressure altitude of that exercise; that of the farthest point where absent."""
    regroup: Mass = 0.0
    return_mach: MachNumber | None = None
    """Mach number of the return that bingo is for; farthest range where absent."""
