"""The best climb by energy height: at each energy, the height and Mach number that gain it soonest.

An idealised bound, not a flyable climb: height and speed change into each other at no cost in time, lift
carries the weight exactly, thrust lies along the path. A real climb is some 10 to 20 percent slower.

Bryson, Desai and Hoffman, Energy-State Approximation in Performance Optimization of Supersonic Aircraft,
Journal of Aircraft 6 (1969): the method.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, cas_from_mach, speed_of_sound, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.ceiling import mach_grid, speed_limit
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightSetup,
    energy_height,
    flight_point,
    height_of,
    power_setting,
)

Floats = NDArray[np.float64]
Objective = Literal["time", "fuel"]

ENERGY_CELLS = 160
HEIGHT_POINTS = 121
SWEEPS = 3  # mass falls along the climb and shifts the optimum a little: each leaves a hundredth
LEAST_MACH = 0.15


@dataclass(frozen=True, slots=True)
class EnergyClimb:
    """The best climb of each case, (n, k), energy height rising: an idealised bound.

    ``energy_height`` m, ``pressure_altitude`` m and ``mach`` at the middle of each step of energy; ``time`` s
    and ``fuel`` kg until then. ``total_time`` s, ``total_fuel`` kg, (n,): NaN where some energy cannot be
    gained inside the limits.
    """

    energy_height: Floats
    pressure_altitude: Floats
    mach: Floats
    time: Floats
    fuel: Floats
    total_time: Floats
    total_fuel: Floats


def energy_climb(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    *,
    altitude: float,
    mach: float,
    to_altitude: float,
    to_mach: float,
    objective: Objective = "time",
    lowest: float | None = None,
    highest: float | None = None,
    maximum_mach: float | None = None,
    maximum_cas: float | None = None,
    energy_cells: int = ENERGY_CELLS,
    height_points: int = HEIGHT_POINTS,
) -> EnergyClimb:
    """Return the climb from one state to another that takes the least time, or the least fuel.

    Parameters
    ----------
    altitude, mach, to_altitude, to_mach
        Pressure altitude, m, and Mach number at start and end.
    lowest, highest : m
        Pressure altitudes that the path keeps within: those of start and end where not given.
    maximum_mach, maximum_cas
        The pack's limits where not given; m/s.

    Raises
    ------
    ValueError
        If the end has no more energy than the start.
    OutsideTable
        Where a table does not reach the heights asked for.
    """
    low = min(altitude, to_altitude) if lowest is None else lowest
    high = max(altitude, to_altitude) if highest is None else highest
    top = float(mach_grid(pack, setup, power_setting(pack, power).thrust, maximum_mach)[-1])
    limits = _Limits(np.linspace(low, high, height_points), top, speed_limit(pack, maximum_cas))
    parts = [
        _one_case(
            pack,
            setup,
            cases.take(slice(row, row + 1)),
            power,
            (altitude, mach, to_altitude, to_mach),
            objective,
            limits,
            energy_cells,
        )
        for row in range(cases.count)
    ]
    columns = [np.stack(values) for values in zip(*parts, strict=True)]
    return EnergyClimb(*columns)


@dataclass(frozen=True, slots=True)
class _Limits:
    heights: Floats
    maximum_mach: float
    maximum_cas: float


def _one_case(
    pack: Pack,
    setup: FlightSetup,
    case: FlightCases,
    power: str,
    ends: tuple[float, float, float, float],
    objective: Objective,
    limits: _Limits,
    cells: int,
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats]:
    warm = float(case.isa_deviation[0])
    first, last = _energy(ends[0], ends[1], warm), _energy(ends[2], ends[3], warm)
    if last <= first:
        raise ValueError(
            f"the climb must end with more energy than it begins with: energy height {first:,.0f} m at the "
            f"start, {last:,.0f} m at the end"
        )
    step = (last - first) / cells
    middle: Floats = first + step * (np.arange(cells, dtype=np.float64) + 0.5)
    heights, number, allowed = _candidates(middle, limits, warm)
    burnt = np.zeros(cells)
    rows: NDArray[np.intp] = np.arange(cells, dtype=np.intp)
    time = burn = burnt
    altitude, best_mach = burnt, burnt
    for _ in range(SWEEPS):
        point = flight_point(
            pack,
            setup,
            case,
            power,
            mass=(case.mass[0] - burnt)[None, :, None],
            pressure_altitude=heights[None],
            mach=number[None],
            thrust_lifts=False,
        )
        rate, flow = point.energy_rate[0], point.fuel_flow[0]
        gain = rate if objective == "time" else rate / flow
        gain = np.where(allowed & np.isfinite(gain) & (rate > 0.0), gain, -np.inf)
        best = np.argmax(gain, axis=1)
        possible = np.isfinite(gain[rows, best])
        altitude, best_mach = heights[rows, best], number[rows, best]
        time = np.where(possible, step / np.where(possible, rate[rows, best], 1.0), np.nan)
        burn = time * flow[rows, best]
        burnt = np.nan_to_num(np.cumsum(burn) - 0.5 * burn)
    so_far, used = np.cumsum(time), np.cumsum(burn)
    return (
        middle,
        np.where(np.isfinite(time), altitude, np.nan),
        np.where(np.isfinite(time), best_mach, np.nan),
        so_far - 0.5 * time,
        used - 0.5 * burn,
        so_far[-1],
        used[-1],
    )


def _candidates(energy: Floats, limits: _Limits, warm: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return heights, Mach numbers and whether they are allowed, (energies, heights).

    A Mach number outside the limits is replaced by one inside, so that no table is asked outside its data,
    and marked as not allowed.
    """
    heights = np.broadcast_to(limits.heights, (len(energy), len(limits.heights)))
    air = standard_air(limits.heights, warm)
    square = 2.0 * STANDARD_GRAVITY * (energy[:, None] - height_of(limits.heights, warm))
    number = np.sqrt(np.maximum(square, 0.0)) / air.speed_of_sound
    allowed = (number >= LEAST_MACH) & (number <= limits.maximum_mach)
    inside = np.clip(number, LEAST_MACH, limits.maximum_mach)
    allowed &= cas_from_mach(inside, air.pressure) <= limits.maximum_cas
    return heights, inside, allowed


def _energy(altitude: float, mach: float, warm: float) -> float:
    sound = speed_of_sound(standard_air(altitude, warm).temperature)
    return float(energy_height(height_of(altitude, warm), mach * sound))
