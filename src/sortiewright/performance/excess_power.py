"""Specific excess power over Mach number and altitude, with what bounds it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import (
    HEAT_CAPACITY_RATIO,
    HIGHEST_PRESSURE_ALTITUDE,
    LOWEST_PRESSURE_ALTITUDE,
    STANDARD_GRAVITY,
    mach_from_cas,
    pressure_altitude,
    standard_pressure,
)
from sortiewright.pack import Pack, PowerSetting
from sortiewright.performance.forces import thrust_per_engine
from sortiewright.performance.level_flight import FlightCases, FlightSetup, flight_point, power_setting
from sortiewright.performance.limited_turns import INSIDE
from sortiewright.performance.turn_limits import (
    column,
    greatest_lift,
    is_too_fast,
    lift_load_factor,
    mach_ends,
    manoeuvre_limits,
)

Floats = NDArray[np.float64]

MACH_POINTS, ALTITUDE_POINTS = 42, 26
EDGE_POINTS = 120
LEAST_MACH = 0.1
LOWEST_DRAWN = 0.0  # m


class GridMark(IntEnum):
    """What bounds a grid point; where several do, the last of them."""

    ALLOWED = 0
    BEYOND_LIFT = 1
    BEYOND_LOAD_FACTOR = 2
    BEYOND_SPEED = 3
    OUTSIDE_TABLES = 4


@dataclass(frozen=True, slots=True)
class ExcessPowerGrid:
    """Specific excess power m/s over pressure altitude (h,), m, and Mach number (m,), at a load factor.

    ``energy_rate`` (n, h, m) is NaN where ``mark`` (a ``GridMark``) is not ALLOWED. ``continued`` runs on
    through marked points, for lines to be drawn up to a limit and not to the last point before it: beyond the
    lift limit it holds the angle of attack there, beyond a speed limit it is what the tables say. NaN outside
    the tables there too.

    Each limit is a line: at ``lift_mach`` (l,) the wing gives ``load_factor`` up to ``lift_altitude`` (n, l),
    m; ``top_mach`` (n, h) is the speed limit, or the end of the tables where ``is_at_limit`` is false.
    """

    mach: Floats
    altitude: Floats
    load_factor: float
    power: str
    energy_rate: Floats
    continued: Floats
    mark: NDArray[np.int8]
    lift_mach: Floats
    lift_altitude: Floats
    top_mach: Floats
    is_at_limit: NDArray[np.bool_]


def excess_power_grid(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    *,
    load_factor: float = 1.0,
    mach: ArrayLike | None = None,
    altitude: ArrayLike | None = None,
    stores: Collection[str] = (),
) -> ExcessPowerGrid:
    """Return specific excess power at a setting over a grid, which is what the tables cover unless given.

    A grid that is given may reach beyond the tables: those points are marked, never extrapolated.

    Parameters
    ----------
    load_factor : g
        Not below nought; 1 is straight flight, more is a level turn.
    mach, altitude
        Rising values, (m,) and (h,); altitude is pressure altitude, m.

    Raises
    ------
    OutsideTable
        For a temperature, or a mass, that a table does not reach.
    ValueError
        For a power setting that the pack has not, a negative load factor, or a grid that does not rise.
    """
    if not (np.isfinite(load_factor) and load_factor >= 0.0):
        raise ValueError(f"load factor must be 0 or more, got {load_factor:g}")
    setting = power_setting(pack, power)
    engine = setting.thrust, setting.fuel_flow
    slow, quick = mach_ends(setup, *engine)
    floor, top = (
        pick(table.range_of("pressure_altitude")[end] for table in engine)
        for end, pick in ((0, max), (1, min))
    )
    limits = manoeuvre_limits(pack, setup, cases, stores)
    fastest = min(quick, limits.maximum_mach)
    numbers = _axis("Mach", mach, max(slow, min(LEAST_MACH, fastest)), fastest, MACH_POINTS)
    heights = _axis("altitude", altitude, max(floor, min(LOWEST_DRAWN, top)), top, ALTITUDE_POINTS)
    across = (numbers >= slow) & (numbers <= quick)
    up = (heights >= floor) & (heights <= top)

    shape = (cases.count, len(heights), len(numbers))
    rate, mark = np.full(shape, np.nan), np.full(shape, GridMark.OUTSIDE_TABLES, dtype=np.int8)
    some = np.ix_(np.ones(cases.count, dtype=np.bool_), up, across)
    inner, level = numbers[across][None, None, :], heights[up][None, :, None]
    if inner.size and level.size:
        coefficient = greatest_lift(pack, setup, inner).coefficient
        lift = lift_load_factor(pack, cases, coefficient, pressure_altitude=level, mach=inner)
        is_below = _lowest_load_factor(pack, setup, cases, setting, level, inner) >= load_factor
        held = np.where(is_below, lift * INSIDE, np.minimum(load_factor, lift * INSIDE))
        point = flight_point(
            pack,
            setup,
            cases,
            power,
            mass=cases.mass[:, None, None],
            pressure_altitude=level,
            mach=inner,
            load_factor=held,
        )
        inside = np.where(lift < load_factor, GridMark.BEYOND_LIFT, GridMark.ALLOWED)
        inside = np.where((limits.positive < load_factor)[:, None, None], GridMark.BEYOND_LOAD_FACTOR, inside)
        inside = np.where(is_too_fast(limits, level, inner), GridMark.BEYOND_SPEED, inside)
        mark[some] = np.where(is_below, GridMark.OUTSIDE_TABLES, inside)
        rate[some] = np.where(is_below, np.nan, point.energy_rate)
    edge = np.linspace(float(numbers[0]), float(numbers[-1]), EDGE_POINTS)
    top_mach, is_at_limit = _speed_edge(limits.maximum_mach, limits.maximum_cas, heights, quick)
    return ExcessPowerGrid(
        numbers,
        heights,
        float(load_factor),
        power,
        np.where(mark == GridMark.ALLOWED, rate, np.nan),
        rate,
        mark,
        edge,
        lift_altitude(pack, setup, cases, edge, load_factor),
        np.broadcast_to(top_mach, shape[:2]),
        np.broadcast_to(is_at_limit, shape[:2]),
    )


def lift_altitude(
    pack: Pack, setup: FlightSetup, cases: FlightCases, mach: Floats, load_factor: float
) -> Floats:
    """Return the pressure altitude, m, (n, l), up to which the wing alone gives a load factor.

    NaN for a Mach number that the lift tables do not reach; held to the heights the atmosphere has.
    """
    low, high = mach_ends(setup)
    able = (mach >= low) & (mach <= high) & (mach > 0.0)
    numbers = np.where(able, mach, high)
    lift = greatest_lift(pack, setup, numbers).coefficient
    # Lift at 1 Pa of static pressure; the pressure that is needed follows.
    unit = 0.5 * HEAT_CAPACITY_RATIO * numbers**2 * pack.airframe.wing_area * np.maximum(lift, 1e-12)
    needed = max(load_factor, 1e-12) * cases.mass[:, None] * STANDARD_GRAVITY / unit[None, :]
    thin, dense = (
        float(standard_pressure(end)) for end in (HIGHEST_PRESSURE_ALTITUDE, LOWEST_PRESSURE_ALTITUDE)
    )
    return np.where(able, pressure_altitude(np.clip(needed, thin, dense)), np.nan)


def _lowest_load_factor(
    pack: Pack, setup: FlightSetup, cases: FlightCases, setting: PowerSetting, altitude: Floats, mach: Floats
) -> Floats:
    """Return what wing and thrust carry at the lowest angle of attack of the lift table, g.

    A smaller load factor asks for an angle that the tables do not reach.
    """
    table = setup.configuration.lift
    lowest = float(table.axes[0][0])
    wing = lift_load_factor(pack, cases, table(lowest, mach), pressure_altitude=altitude, mach=mach)
    up = np.sin(lowest + pack.airframe.thrust_inclination)
    if up <= 0.0:
        return wing
    each = thrust_per_engine(setting, mach, altitude, column(cases.isa_deviation, wing))
    live = (pack.engine.count - setup.failed_engines) * column(cases.thrust_factor, wing)
    return wing + live * each * up / column(cases.mass * STANDARD_GRAVITY, wing)


def _speed_edge(
    maximum_mach: float, maximum_cas: float, heights: Floats, table_end: float
) -> tuple[Floats, NDArray[np.bool_]]:
    limit = np.full(heights.shape, maximum_mach)
    if np.isfinite(maximum_cas):
        limit = np.minimum(limit, mach_from_cas(maximum_cas, standard_pressure(heights)))
    return np.minimum(limit, table_end), limit <= table_end


def _axis(name: str, given: ArrayLike | None, low: float, high: float, count: int) -> Floats:
    """Return the axis that was asked for, or even steps over what there is."""
    if given is None:
        return np.linspace(low, high, count)
    axis = np.atleast_1d(np.asarray(given, dtype=np.float64))
    if axis.ndim != 1 or not np.isfinite(axis).all() or not (np.diff(axis) > 0.0).all():
        raise ValueError(f"{name} of the grid must be finite and rise from value to value")
    return axis
