"""What an aircraft can do at its mass today: ceilings, best climb, farthest range, longest endurance.

One grid of excess power and one of level flight serve them all. ``climb_ceiling`` and ``best_cruise`` find
the same on grids of their own, closer and slower: a test holds the two against each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import (
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    impact_pressure,
    standard_pressure,
)
from sortiewright.pack import Pack, Table
from sortiewright.performance.ceiling import COMBAT_RATE, SERVICE_RATE, speed_limit
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightSetup,
    LevelFlight,
    flight_point,
    power_setting,
    steady_level_flight,
)

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

HEIGHT_STEP, MACH_STEP = 750.0, 0.05
CLOSER = np.linspace(-1.0, 1.0, 7)
"""Of a cell, both ways from the best point of the level grid: a second look."""
LEAST_MACH = 0.1
COARSE, CLOSE = 1, 3
"""Iterations of level flight: which point is best hardly depends on how well thrust's lift is known."""


@dataclass(frozen=True, slots=True)
class BestLevel:
    """The best point of level flight, (n,): pressure altitude m, Mach, true airspeed m/s, fuel flow kg/s.

    ``value`` is m/kg through the air, or s/kg; NaN where there is no level flight.
    """

    pressure_altitude: Floats
    mach: Floats
    tas: Floats
    fuel_flow: Floats
    value: Floats

    def take(self, rows: slice) -> BestLevel:
        """Return these rows."""
        where = self.pressure_altitude[rows], self.mach[rows], self.tas[rows]
        return BestLevel(*where, self.fuel_flow[rows], self.value[rows])


@dataclass(frozen=True, slots=True)
class FlightSummary:
    """Best rate of climb m/s and its Mach number, both (n, h), over pressure altitude (h,), m; what follows.

    Ceilings are m, (n,): ``inf`` where the rate is still there at the top of the tables, NaN where it is at
    no height.
    """

    altitude: Floats
    best_rate: Floats
    best_mach: Floats
    service_ceiling: Floats
    combat_ceiling: Floats
    range: BestLevel
    endurance: BestLevel

    def take(self, rows: slice) -> FlightSummary:
        """Return these rows."""
        return FlightSummary(
            self.altitude,
            self.best_rate[rows],
            self.best_mach[rows],
            self.service_ceiling[rows],
            self.combat_ceiling[rows],
            self.range.take(rows),
            self.endurance.take(rows),
        )


def flight_summary(pack: Pack, setup: FlightSetup, cases: FlightCases, power: str) -> FlightSummary:
    """Return ceilings, best climb and best level flight at a power setting, at the mass of each case.

    Speeds are kept to the pack's own limits. Ceilings lie on straight lines in cells of 750 m and
    0.05 Mach, within 40 m of ``climb_ceiling``; the best points are the best of a grid of 250 m and 0.017
    Mach, within 0.5 % of what ``best_cruise`` finds.

    Raises
    ------
    OutsideTable
        For a mass or a temperature that a table does not reach.
    ValueError
        For a power setting that the pack has not.
    """
    setting = power_setting(pack, power)
    heights, numbers = _axes(pack, setup, setting.thrust)
    grid = heights[None, :, None], numbers[None, None, :]
    point = flight_point(
        pack,
        setup,
        cases,
        power,
        mass=cases.mass[:, None, None],
        pressure_altitude=grid[0],
        mach=grid[1],
        load_factor=1.0,
    )
    slow_enough = _is_slow_enough(pack, *grid)
    rate = np.where(slow_enough & np.isfinite(point.energy_rate), point.energy_rate, -np.inf)
    best = np.argmax(rate, axis=2)
    best_rate = np.take_along_axis(rate, best[..., None], axis=2)[..., 0]
    return FlightSummary(
        heights,
        best_rate,
        _peak(numbers, rate, best),
        _ceiling(heights, best_rate, SERVICE_RATE),
        _ceiling(heights, best_rate, COMBAT_RATE),
        *_best_levels(pack, setup, cases, power, *_where_level(heights, numbers, rate)),
    )


def _axes(pack: Pack, setup: FlightSetup, thrust: Table) -> tuple[Floats, Floats]:
    """Return heights and Mach numbers of the grid: what the tables and the speed limit allow."""
    low, top = thrust.range_of("pressure_altitude")
    slow, quick = thrust.range_of("mach")
    tables = setup.configuration.lift, setup.configuration.drag
    quick = min([quick, *(table.range_of("mach")[1] for table in tables)])
    if pack.limits.maximum_mach is not None:
        quick = min(quick, pack.limits.maximum_mach.value)
    bottom = max(low, 0.0)
    heights = np.linspace(bottom, top, max(2, round((top - bottom) / HEIGHT_STEP) + 1))
    slow = max(LEAST_MACH, slow)
    return heights, np.linspace(slow, quick, max(2, round((quick - slow) / MACH_STEP) + 1))


def _ceiling(heights: Floats, best_rate: Floats, least: float) -> Floats:
    """Return the height at which the rate last falls through ``least``, straight inside a cell, (n,)."""
    enough = best_rate >= least
    last = len(heights) - 1 - np.argmax(enough[:, ::-1], axis=1)
    rows: Places = np.arange(len(best_rate), dtype=np.intp)
    after = np.minimum(last + 1, len(heights) - 1)
    above, below = best_rate[rows, last] - least, best_rate[rows, after] - least
    with np.errstate(invalid="ignore", divide="ignore"):
        part = np.where(np.isfinite(below) & (above > below), above / (above - below), 0.0)
    height = heights[last] + part * (heights[after] - heights[last])
    height = np.where(last == len(heights) - 1, np.inf, height)
    return np.where(enough.any(axis=1), height, np.nan)


def _is_slow_enough(pack: Pack, altitude: Floats, mach: Floats) -> NDArray[np.bool_]:
    """Return where the pack's limits of speed are kept."""
    fastest = speed_limit(pack)
    if not np.isfinite(fastest):
        return np.ones(np.broadcast_shapes(altitude.shape, mach.shape), dtype=np.bool_)
    # Impact pressure is what a calibrated airspeed shows: no airspeed need be worked out.
    felt = impact_pressure(fastest * (1.0 + 1e-9) / SEA_LEVEL_SPEED_OF_SOUND, SEA_LEVEL_PRESSURE)
    return np.asarray(impact_pressure(mach, standard_pressure(altitude)) <= felt)


def _where_level(heights: Floats, numbers: Floats, rate: Floats) -> tuple[Floats, Floats]:
    """Return the axes cut to where excess power is left, and a cell more: no level flight lies beyond."""
    most: Floats = rate.max(axis=0)
    up, across = np.flatnonzero(most.max(axis=1) >= 0.0), np.flatnonzero(most.max(axis=0) >= 0.0)
    if not len(up):
        return heights[:2], numbers[:2]
    low, high = max(up[0] - 1, 0), up[-1] + 2
    slow, fast = max(across[0] - 1, 0), across[-1] + 2
    return heights[low:high], numbers[slow:fast]


def _best_levels(
    pack: Pack, setup: FlightSetup, cases: FlightCases, power: str, heights: Floats, numbers: Floats
) -> tuple[BestLevel, BestLevel]:
    """Return farthest range and longest endurance: a coarse look, then a closer one round each best point."""
    coarse = _sought(pack, setup, cases, power, heights[None, :, None], numbers[None, None, :], COARSE)
    rows: Places = np.arange(cases.count, dtype=np.intp)
    # Both aims side by side, so that the second look is one batch: (n, 2 aims, heights, Mach numbers).
    centre_height: list[Floats] = []
    centre_mach: list[Floats] = []
    for values in coarse[:2]:
        best = np.argmax(values.reshape(cases.count, -1), axis=1)
        centre_height.append(heights[best // len(numbers)])
        centre_mach.append(numbers[best % len(numbers)])
    height = np.stack(centre_height, axis=1)[:, :, None, None] + CLOSER[:, None] * (heights[1] - heights[0])
    mach = np.stack(centre_mach, axis=1)[:, :, None, None] + CLOSER * (numbers[1] - numbers[0])
    height, mach = np.clip(height, heights[0], heights[-1]), np.clip(mach, numbers[0], numbers[-1])
    far, long, level = _sought(pack, setup, cases, power, height, mach, CLOSE)
    found: list[BestLevel] = []
    for aim, gain in enumerate((far, long)):
        values = gain[:, aim].reshape(cases.count, -1)
        best = np.argmax(values, axis=1)
        held = np.isfinite(values[rows, best])
        shape = (cases.count, len(CLOSER), len(CLOSER))
        at_height, at_mach, tas, flow = (
            np.where(held, np.broadcast_to(one[:, aim], shape).reshape(cases.count, -1)[rows, best], np.nan)
            for one in (height, mach, level.tas, level.fuel_flow)
        )
        most = np.where(held, values[rows, best], np.nan)
        found.append(BestLevel(at_height, at_mach, tas, flow, most))
    return found[0], found[1]


def _sought(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    altitude: Floats,
    mach: Floats,
    iterations: int,
) -> tuple[Floats, Floats, LevelFlight]:
    """Return specific range and endurance, minus infinity where there is no level flight, and that flight."""
    mass = cases.mass.reshape((-1,) + (1,) * (altitude.ndim - 1))
    level = steady_level_flight(
        pack,
        setup,
        cases,
        mass=mass,
        pressure_altitude=altitude,
        mach=mach,
        power=power,
        iterations=iterations,
    )
    slow_enough = _is_slow_enough(pack, altitude, mach)
    far, long = (
        np.where(slow_enough & np.isfinite(value), value, -np.inf)
        for value in (level.specific_range, level.specific_endurance)
    )
    return far, long, level


def _peak(axis: Floats, values: Floats, best: Places) -> Floats:
    """Return where the parabola through the best value and its neighbours on an even axis has its top."""
    inside = (best > 0) & (best < len(axis) - 1)
    place = np.clip(best, 1, len(axis) - 2)[..., None]
    before, at, after = (np.take_along_axis(values, place + step, axis=-1)[..., 0] for step in (-1, 0, 1))
    with np.errstate(invalid="ignore", divide="ignore"):
        shift = 0.5 * (before - after) / (before - 2.0 * at + after)
    good = inside & np.isfinite(shift) & (np.abs(shift) <= 1.0)
    return axis[best] + np.where(good, np.where(np.isfinite(shift), shift, 0.0), 0.0) * (axis[1] - axis[0])
