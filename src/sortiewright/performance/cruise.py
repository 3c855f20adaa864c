"""Cruise and loiter: where a mass of fuel goes farthest or lasts longest, and what a leg burns.

Straight and level, part power between idle and the highest setting allowed (``steady_level_flight``). Wind
counts in distance over the ground only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import cas_from_mach, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.ceiling import mach_grid, speed_limit
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightSetup,
    LevelFlight,
    power_setting,
    steady_level_flight,
)

Floats = NDArray[np.float64]
Aim = Literal["range", "ground_range", "endurance"]

HEIGHT_STEP = 500.0  # m
LEG_STEPS = 1  # of fourth-order Runge-Kutta: 1e-5 of the fuel where a leg burns a fifth of the mass
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True, slots=True)
class CruisePoint:
    """The best point found, (n,): pressure altitude m, Mach number, true airspeed m/s, fuel flow kg/s.

    ``value`` is what was sought: m/kg through the air or over the ground, or s/kg. NaN where no point can be
    flown. ``at_edge`` tells that the best lies at the edge of the heights looked at: more may lie beyond.
    """

    pressure_altitude: Floats
    mach: Floats
    tas: Floats
    fuel_flow: Floats
    value: Floats
    at_edge: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class CruiseLeg:
    """A leg at one altitude and Mach number, (n,): time s, fuel kg, distances m. NaN where it cannot be
    held."""

    time: Floats
    fuel: Floats
    air_distance: Floats
    ground_distance: Floats


def best_cruise(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    aim: Aim = "range",
    *,
    power: str | None = None,
    altitude: ArrayLike | None = None,
    mach: ArrayLike | None = None,
    lowest: float = 0.0,
    highest: float | None = None,
    maximum_mach: float | None = None,
    maximum_cas: float | None = None,
) -> CruisePoint:
    """Return the altitude and Mach number of farthest range or longest endurance at each case's mass.

    ``altitude`` m or ``mach`` fix one of the two, a number or (n,). ``power`` is the highest setting allowed,
    military where None; speed limits are the pack's unless given. Found on a grid of 500 m and 0.02 Mach,
    then by the parabola through the best point and its neighbours.

    Raises
    ------
    OutsideTable
        Where a table does not reach the heights asked for.
    """
    setting = power_setting(pack, power or pack.engine.military)
    top = setting.thrust.range_of("pressure_altitude")[1] if highest is None else highest
    heights = _axis(cases, altitude, np.append(np.arange(lowest, top - 1e-6, HEIGHT_STEP), top))
    speeds = _axis(cases, mach, mach_grid(pack, setup, setting.thrust, maximum_mach))
    limit = speed_limit(pack, maximum_cas)

    def value(level: LevelFlight) -> Floats:
        if aim == "endurance":
            return level.specific_endurance
        return level.specific_range if aim == "range" else level.specific_range_over_ground

    g, m = heights.shape[1], speeds.shape[1]
    grid_h = np.repeat(heights, m, axis=1)
    grid_m = np.tile(speeds, (1, g))
    slow_enough = cas_from_mach(grid_m, standard_air(grid_h).pressure) <= limit
    sought = value(_level(pack, setup, cases, grid_h, grid_m, power))
    sought = np.where(slow_enough & np.isfinite(sought), sought, -np.inf).reshape(-1, g, m)
    best = np.argmax(sought.reshape(len(sought), -1), axis=1)
    row, column = best // m, best % m
    number = _peak(speeds, np.take_along_axis(sought, row[:, None, None], axis=1)[:, 0], column)
    height = _peak(heights, np.take_along_axis(sought, column[:, None, None], axis=2)[:, :, 0], row)
    # The parabola may step over an edge of what can be flown: then the grid's own point stands.
    rows: NDArray[np.intp] = np.arange(len(best), dtype=np.intp)
    tried = np.stack([height, heights[rows, row]], axis=1)
    at = np.stack([number, speeds[rows, column]], axis=1)
    level = _level(pack, setup, cases, tried, at, power)
    gain = np.nan_to_num(value(level), nan=-np.inf)
    choice = np.argmax(gain, axis=1)[:, None]

    def chosen(values: Floats) -> Floats:
        one = np.take_along_axis(values, choice, axis=1)[:, 0]
        return np.where(np.isfinite(gain.max(axis=1)), one, np.nan)

    edge = (altitude is None) & ((row == 0) | (row == g - 1))
    return CruisePoint(
        chosen(tried), chosen(at), chosen(level.tas), chosen(level.fuel_flow), chosen(gain), edge
    )


def cruise_distance(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    distance: ArrayLike,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    power: str | None = None,
) -> CruiseLeg:
    """Return what a leg of ``distance`` m over the ground burns, mass falling on the way.

    Constant altitude m and Mach number, each a number or (n,). NaN where the ground speed is not above zero.
    """
    way = np.broadcast_to(np.asarray(distance, dtype=np.float64), cases.mass.shape)

    def burning(mass: Floats) -> tuple[Floats, Floats]:
        level = _level(pack, setup, cases, altitude, mach, power, mass)
        ground = np.where(level.tas > level.headwind, level.tas - level.headwind, np.nan)
        return level.fuel_flow / ground, ground

    mass, step = cases.mass, way / LEG_STEPS
    ground = way
    for _ in range(LEG_STEPS):
        first, ground = burning(mass)
        second, _ = burning(_left(mass - 0.5 * step * first))
        third, _ = burning(_left(mass - 0.5 * step * second))
        fourth, _ = burning(_left(mass - step * third))
        mass = mass - step / 6.0 * (first + 2.0 * second + 2.0 * third + fourth)
    time = np.where(np.isfinite(mass), way / ground, np.nan)
    flown = np.where(np.isfinite(time), way, np.nan)
    return CruiseLeg(time, cases.mass - mass, flown + time * cases.headwind, flown)


def cruise_fuel(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    fuel: ArrayLike,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    power: str | None = None,
) -> CruiseLeg:
    """Return how long and how far ``fuel`` kg lasts: dt = dm/(fuel flow), by four Gauss nodes over mass.

    Constant altitude m and Mach number, each a number or (n,). Raises ``ValueError`` for more fuel than mass.
    """
    burnt = np.broadcast_to(np.asarray(fuel, dtype=np.float64), cases.mass.shape)
    if (over := burnt >= cases.mass).any():
        raise ValueError(f"{burnt[over][0]:g} kg of fuel in an aircraft of {cases.mass[over][0]:g} kg")
    mass = cases.mass[:, None] - burnt[:, None] * 0.5 * (_NODES + 1.0)
    level = _level(pack, setup, cases, _column(altitude), _column(mach), power, mass)
    weights = 0.5 * burnt[:, None] * _WEIGHTS
    time = np.sum(weights / level.fuel_flow, axis=1)
    return CruiseLeg(
        time,
        np.where(np.isfinite(time), burnt, np.nan),
        np.sum(weights * level.specific_range, axis=1),
        np.sum(weights * level.specific_range_over_ground, axis=1),
    )


def _level(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    altitude: ArrayLike,
    mach: ArrayLike,
    power: str | None,
    mass: Floats | None = None,
) -> LevelFlight:
    if mass is None:
        mass = cases.mass[:, None] if np.ndim(altitude) == 2 else cases.mass
    return steady_level_flight(
        pack, setup, cases, mass=mass, pressure_altitude=altitude, mach=mach, power=power
    )


def _axis(cases: FlightCases, given: ArrayLike | None, grid: Floats) -> Floats:
    """Return the points to look at for each case, (n, g): the grid, or the one value given."""
    if given is None:
        return np.tile(grid, (cases.count, 1))
    return np.broadcast_to(np.asarray(given, dtype=np.float64), cases.mass.shape)[:, None]


def _column(values: ArrayLike) -> Floats:
    array = np.asarray(values, dtype=np.float64)
    return array[:, None] if array.ndim else array


def _left(mass: Floats) -> Floats:
    """Return a mass that can be computed with: a leg that burns more than there is must not run on."""
    return np.where(mass > 0.0, mass, np.nan)


def _peak(axis: Floats, values: Floats, best: NDArray[np.intp]) -> Floats:
    """Return where the parabola through the best of ``values`` (n, g) and its neighbours is highest."""
    rows: NDArray[np.intp] = np.arange(len(best), dtype=np.intp)
    if axis.shape[1] < 3:
        return axis[rows, best]
    inner = np.clip(best, 1, axis.shape[1] - 2)
    x = [axis[rows, inner + shift] for shift in (-1, 0, 1)]
    y = [values[rows, inner + shift] for shift in (-1, 0, 1)]
    with np.errstate(invalid="ignore", divide="ignore"):
        before, after = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
        curve = (after - before) / (x[2] - x[0])
        top = 0.5 * (x[0] + x[1]) - before / (2.0 * curve)
    fits = np.isfinite(top) & (curve < 0.0) & (top >= x[0]) & (top <= x[2])
    return np.where(fits, top, axis[rows, best])
