"""Ceilings: the pressure altitude up to which a rate of climb is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_mach, mach_from_cas, standard_air
from sortiewright.pack import OutsideTable, Pack, Table
from sortiewright.performance.level_flight import FlightCases, FlightSetup, flight_point, power_setting

Floats = NDArray[np.float64]

FOOT_A_MINUTE = 0.3048 / 60.0
SERVICE_RATE = 100.0 * FOOT_A_MINUTE  # m/s, of the service ceiling; common practice
COMBAT_RATE = 500.0 * FOOT_A_MINUTE  # m/s, of the combat ceiling; common practice

HEIGHT_STEP = 500.0  # m, of the first look over heights
FINER = 25  # parts into which the cell found is cut
MACH_STEP = 0.02


@dataclass(frozen=True, slots=True)
class Ceiling:
    """Pressure altitude m and the Mach number to hold there, (n,); NaN where no height gives the rate."""

    pressure_altitude: Floats
    mach: Floats


def climb_ceiling(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    least_rate: float = SERVICE_RATE,
    *,
    cas: float | None = None,
    mach: float | None = None,
    lowest: float = 0.0,
    maximum_mach: float | None = None,
    maximum_cas: float | None = None,
) -> Ceiling:
    """Return the highest altitude with ``least_rate`` m/s of steady climb left, at the mass of each case.

    At the best Mach number there, or along a schedule: constant ``cas`` m/s, constant ``mach``, or the lower
    of both. Speed limits are the pack's unless given. ``lowest`` m is where the search begins.

    Raises
    ------
    OutsideTable
        Where the rate is still there at the top of the thrust table: the ceiling is not in the data.
    """
    table = power_setting(pack, power).thrust
    top = table.range_of("pressure_altitude")[1]
    heights = np.append(np.arange(lowest, top, HEIGHT_STEP), top)
    if cas is None and mach is None:
        speeds = mach_grid(pack, setup, table, maximum_mach)
    else:
        speeds = np.array([np.inf if mach is None else mach])
    limit = speed_limit(pack, maximum_cas) if cas is None else np.inf
    coarse = np.tile(heights, (cases.count, 1))
    best, _ = _best_rate(pack, setup, cases, power, coarse, speeds, cas, limit)
    enough = best >= least_rate
    last = len(heights) - 1 - np.argmax(enough[:, ::-1], axis=1)
    some = np.asarray(enough.any(axis=1))
    if (some & (last == len(heights) - 1)).any():
        bottom = float(table.axes[1][0])
        raise OutsideTable(table.name, "pressure_altitude", top + HEIGHT_STEP, bottom, top, table.units[1])
    low = heights[last]
    high = heights[np.minimum(last + 1, len(heights) - 1)]
    fine = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, FINER + 1)
    rate, number = _best_rate(pack, setup, cases, power, fine, speeds, cas, limit)
    return _crossing(fine, rate - least_rate, number, some)


def mach_grid(pack: Pack, setup: FlightSetup, thrust: Table, maximum_mach: float | None = None) -> Floats:
    """Return Mach numbers from 0.1 to the lowest of limit and tables."""
    limit = pack.limits.maximum_mach
    tables = (thrust, setup.configuration.lift, setup.configuration.drag)
    ends = [table.range_of("mach")[1] for table in tables]
    if maximum_mach is not None:
        ends.append(maximum_mach)
    elif limit is not None:
        ends.append(limit.value)
    least = max(0.1, thrust.range_of("mach")[0])
    return np.append(np.arange(least, min(ends) - 1e-9, MACH_STEP), min(ends))


def speed_limit(pack: Pack, maximum_cas: float | None = None) -> float:
    """Return the highest calibrated airspeed, m/s: as given, else the pack's, else none."""
    if maximum_cas is not None:
        return maximum_cas
    return pack.limits.maximum_cas.value if pack.limits.maximum_cas is not None else np.inf


def _best_rate(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    heights: Floats,
    speeds: Floats,
    cas: float | None,
    maximum_cas: float,
) -> tuple[Floats, Floats]:
    """Return the best rate of climb over ``speeds`` at heights (n, g), and its Mach number; both (n, g)."""
    n, g = heights.shape
    altitude = np.repeat(heights, len(speeds), axis=1)
    number = np.tile(speeds, (n, g))
    pressure = standard_air(altitude).pressure
    if cas is not None:
        number = np.minimum(number, mach_from_cas(cas, pressure))
    point = flight_point(
        pack, setup, cases, power, mass=cases.mass[:, None], pressure_altitude=altitude, mach=number
    )
    rate = np.where(np.isfinite(point.energy_rate), point.energy_rate, -np.inf)
    rate = np.where(cas_from_mach(number, pressure) <= maximum_cas * (1.0 + 1e-9), rate, -np.inf)
    each = rate.reshape(n, g, -1)
    best = np.argmax(each, axis=2)[..., None]
    chosen = np.take_along_axis(number.reshape(each.shape), best, axis=2)[..., 0]
    return np.take_along_axis(each, best, axis=2)[..., 0], chosen


def _crossing(heights: Floats, excess: Floats, number: Floats, some: NDArray[np.bool_]) -> Ceiling:
    """Return where ``excess`` last falls through nought, straight inside its cell."""
    g = heights.shape[1]
    last = np.minimum(g - 1 - np.argmax((excess >= 0.0)[:, ::-1], axis=1), g - 2)
    rows: NDArray[np.intp] = np.arange(len(heights), dtype=np.intp)
    above, below = excess[rows, last], excess[rows, last + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        part = np.where(np.isfinite(below) & (above > below), above / (above - below), 0.0)
    altitude = heights[rows, last] + part * (heights[rows, last + 1] - heights[rows, last])
    return Ceiling(np.where(some, altitude, np.nan), np.where(some, number[rows, last], np.nan))
