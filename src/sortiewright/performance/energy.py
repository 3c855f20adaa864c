"""Brakes and tyres: energy per stop, its zone, heat left, and the rated speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import EnergyZone, Pack

Floats = NDArray[np.float64]


def kinetic_energy_per_wheel(mass: ArrayLike, ground_speed: ArrayLike, braked_wheels: int) -> Floats:
    """Return m V^2 / 2 over the braked wheels, J: the bound with no credit for drag or chute.

    In trade units 0.0443 W V^2 / N ft.lbf with W lb and V kt (14 CFR 25.735(f), from memory).
    """
    return 0.5 * np.asarray(mass, dtype=np.float64) * np.asarray(ground_speed) ** 2 / braked_wheels


def energy_zone(pack: Pack, energy: float) -> EnergyZone | None:
    """Return the zone a stop of ``energy`` J in all brakes falls into, or None where the pack has none."""
    reached = [zone for zone in pack.wheels.energy_zones if energy >= zone.above]
    return max(reached, key=lambda zone: zone.above) if reached else None


def heat_left(energy: ArrayLike, time: ArrayLike, time_constant: float) -> Floats:
    """Return the brake heat left after ``time`` s: E exp(-t/tau); tau of 20 to 40 min is common practice, no
    source."""
    return np.asarray(energy, dtype=np.float64) * np.exp(-np.asarray(time) / time_constant)


def maximum_braking_speed(
    pack: Pack, mass: ArrayLike, energy_limit: float, kinetic_share: ArrayLike = 1.0
) -> Floats:
    """Return the ground speed, m/s, from which a full stop puts ``energy_limit`` J into all brakes.

    ``kinetic_share`` is the brakes' part of the kinetic energy, as found by a computed stop; 1 gives no
    credit.
    """
    return np.sqrt(2.0 * energy_limit / (np.asarray(mass, dtype=np.float64) * np.asarray(kinetic_share)))
