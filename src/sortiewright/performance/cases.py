"""The conditions of a batch: loading, air, wind and runway, flattened to one axis of cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY, Air

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cases:
    """One row a case. Every array has shape (n,); ``shape`` is what the caller broadcast to.

    ``mass`` kg, constant through a run: fuel burnt in a takeoff (under 1 %) is neglected, on the safe side.
    ``balance_arm`` m aft of datum. ``headwind`` m/s along the runway, tailwind negative. ``slope`` rad,
    uphill positive. ``runway_condition_reading`` sets braking friction; ``standing_water`` true where tyres
    may hydroplane. The three factors multiply all thrust, drag and wheel friction: 1 but for what-ifs,
    uncertainty and calibration.
    """

    shape: tuple[int, ...]
    mass: Floats
    balance_arm: Floats
    drag_index: Floats
    pressure: Floats
    temperature: Floats
    headwind: Floats
    slope: Floats
    runway_condition_reading: Floats
    standing_water: NDArray[np.bool_]
    density: Floats
    speed_of_sound: Floats
    pressure_altitude: Floats
    isa_deviation: Floats
    thrust_factor: Floats
    drag_factor: Floats
    friction_factor: Floats

    @property
    def weight(self) -> Floats:
        """Weight, N."""
        return self.mass * STANDARD_GRAVITY

    @property
    def count(self) -> int:
        """How many cases."""
        return len(self.mass)

    def take(self, rows: NDArray[np.intp] | slice) -> Cases:
        """Return these rows as a batch of one axis."""
        arrays = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return Cases(shape=(len(arrays["mass"]),), **arrays)

    def repeated(self, times: int) -> Cases:
        """Return each case ``times`` over, next to one another."""
        arrays = {name: np.repeat(getattr(self, name), times) for name in _ARRAYS}
        return Cases(shape=(self.count * times,), **arrays)

    def shaped(self, values: Floats) -> Floats:
        """Return per-case values in the shape the caller broadcast to."""
        return values.reshape(self.shape)

    def with_reading(self, runway_condition_reading: ArrayLike, standing_water: ArrayLike = False) -> Cases:
        """Return the same cases on another runway surface."""
        reading = np.broadcast_to(np.asarray(runway_condition_reading, dtype=np.float64), self.mass.shape)
        water = np.broadcast_to(np.asarray(standing_water, dtype=np.bool_), self.mass.shape)
        return replace(self, runway_condition_reading=reading, standing_water=water)

    @property
    def air(self) -> Air:
        """The air at the runway."""
        return Air(self.pressure, self.temperature)


_ARRAYS = (
    "mass",
    "balance_arm",
    "drag_index",
    "pressure",
    "temperature",
    "headwind",
    "slope",
    "runway_condition_reading",
    "standing_water",
    "density",
    "speed_of_sound",
    "pressure_altitude",
    "isa_deviation",
    "thrust_factor",
    "drag_factor",
    "friction_factor",
)


def joined(batches: Sequence[Cases]) -> Cases:
    """Return the rows of several batches as one batch of one axis."""
    arrays = {name: np.concatenate([getattr(batch, name) for batch in batches]) for name in _ARRAYS}
    return Cases(shape=(len(arrays["mass"]),), **arrays)


def make_cases(
    mass: ArrayLike,
    balance_arm: ArrayLike,
    air: Air,
    *,
    drag_index: ArrayLike = 0.0,
    headwind: ArrayLike = 0.0,
    slope: ArrayLike = 0.0,
    runway_condition_reading: ArrayLike = 23.0,
    standing_water: ArrayLike = False,
    thrust_factor: ArrayLike = 1.0,
    drag_factor: ArrayLike = 1.0,
    friction_factor: ArrayLike = 1.0,
) -> Cases:
    """Return the batch that these arguments broadcast to.

    Raises ``ValueError`` for a mass that is not positive or any value that is not finite.
    """
    named = {
        "mass": mass,
        "balance_arm": balance_arm,
        "drag_index": drag_index,
        "pressure": air.pressure,
        "temperature": air.temperature,
        "headwind": headwind,
        "slope": slope,
        "runway_condition_reading": runway_condition_reading,
        "thrust_factor": thrust_factor,
        "drag_factor": drag_factor,
        "friction_factor": friction_factor,
    }
    arrays = np.broadcast_arrays(
        *(np.asarray(value, dtype=np.float64) for value in named.values()),
        np.asarray(standing_water, np.bool_),
    )
    shape = arrays[0].shape
    flat = {name: np.ascontiguousarray(a).reshape(-1) for name, a in zip(named, arrays, strict=False)}
    for name, values in flat.items():
        if not np.all(np.isfinite(values)):
            raise ValueError(f"{name} must be finite, got {values[~np.isfinite(values)][0]}")
    if (bad := flat["mass"] <= 0).any():
        raise ValueError(f"mass must be positive, got {flat['mass'][bad][0]:g} kg")
    here = Air(flat["pressure"], flat["temperature"])
    return Cases(
        shape=shape,
        **flat,
        standing_water=np.ascontiguousarray(arrays[-1]).reshape(-1),
        density=np.asarray(here.density),
        speed_of_sound=np.asarray(here.speed_of_sound),
        pressure_altitude=np.asarray(here.pressure_altitude),
        isa_deviation=np.asarray(here.isa_deviation),
    )
