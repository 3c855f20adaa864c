"""How far one can go straight out and back, and be at the fix with the fuel that is to be left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import Pack
from sortiewright.performance.return_cases import AirAbove, HomePower, HomeProfiles, Indices
from sortiewright.performance.return_climb import height_table
from sortiewright.performance.return_parts import Craft, level_lines, time_left

Floats = NDArray[np.float64]

CELL_HEIGHT = 600.0  # m
MASS_SWEEPS = 2


@dataclass(frozen=True, slots=True)
class OutAndBack:
    """Levels a way out and back is tried at, (j,), of one aircraft: its profile, mass kg and pressure
    altitude m at the start; levels m and Mach numbers, headwind and crosswind m/s there on the way out, and
    what the descent from each takes, kg and m.
    """

    profile: HomeProfiles
    mass: float
    start_altitude: float
    altitude: Floats
    mach: Floats
    headwind: Floats
    crosswind: Floats
    descent_fuel: Floats
    descent_distance: Floats


def out_and_back(pack: Pack, way: OutAndBack, air: AirAbove, power: HomePower) -> tuple[float, float]:
    """Return the greatest distance, m, and the level it is flown at, m; NaN where there is none.

    Climb from the start, at climb speed already; out and back at one level and Mach number with the same
    stores; descent. Time in level flight out and back together is that which the fuel between top of climb
    and top of descent lasts; it is divided so that both ways are as long. The climb is taken in
    still air at its mean mass: the distance is good to about 1 %.

    Raises ``OutsideTable`` where a table of the pack does not reach.
    """
    craft, profile = Craft(pack, power.speedbrake), way.profile.limited()
    between = way.start_altitude, max(float(way.altitude.max()), way.start_altitude + 1.0)
    up = height_table(
        craft,
        profile,
        air,
        power.climb,
        (profile.climb_cas, profile.climb_mach),
        between,
        least=0.9 * np.array([way.mass]),
        span=0.1 * np.array([way.mass]),
        cell_height=CELL_HEIGHT,
    )
    climb_fuel = climb_way = np.zeros(len(way.altitude))
    for _ in range(MASS_SWEEPS):
        middle = way.mass - 0.5 * float(np.nan_to_num(climb_fuel).max())
        _, fuel, distance = up.sums(np.array([middle]))
        climb_fuel, climb_way = (
            _rise(up.edges[0], line[0], way.start_altitude, way.altitude) for line in (fuel, distance)
        )
    left = way.mass - climb_fuel - float(profile.mass_at_fix[0])
    able: Indices = np.flatnonzero(np.isfinite(left) & (left > way.descent_fuel))
    if not len(able):
        return np.nan, np.nan
    many = profile.take(np.zeros(len(able), dtype=np.intp))
    lines = level_lines(craft, many, air, power.level, way.altitude[able], way.mach[able], left[able])
    lasting = time_left(lines, left[able], left[able]) - time_left(lines, left[able], way.descent_fuel[able])
    tas = way.mach[able] * air.sound(way.altitude[able])
    along = np.sqrt(np.maximum(tas**2 - way.crosswind[able] ** 2, 0.0))
    out, back = along - way.headwind[able], along + way.headwind[able]
    outward = (way.descent_distance[able] - climb_way[able] + back * lasting) / (out + back)
    distance = np.where((outward >= 0.0) & (outward <= lasting), climb_way[able] + out * outward, np.nan)
    if not np.isfinite(distance).any():
        return np.nan, np.nan
    best = int(np.nanargmax(distance))
    return float(distance[best]), float(way.altitude[able][best])


def _rise(edges: Floats, line: Floats, low: float, high: Floats) -> Floats:
    return np.asarray(np.interp(high, edges, line)) - np.asarray(np.interp(low, edges, line))
