"""The best climb by trajectory optimisation: the whole equations of motion, with the angle of attack free.

What the energy climb leaves out is in: turning the path takes time, lift carries what the path asks for, a
dive gains its speed as it goes. It takes a second or two where the energy climb takes a tenth, and begins
from it.

Bryson, Desai and Hoffman, Energy-State Approximation in Performance Optimization of Supersonic Aircraft,
Journal of Aircraft 6 (1969), compare both. Betts, Practical Methods for Optimal Control Using Nonlinear
Programming, SIAM 2001: the method.
"""

from __future__ import annotations

import time as clock
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import standard_air
from sortiewright.pack import Pack
from sortiewright.performance.best_climb import EnergyClimb, Objective, energy_climb
from sortiewright.performance.ceiling import mach_grid, speed_limit
from sortiewright.performance.climb_path import FlownPath
from sortiewright.performance.level_flight import FlightCases, FlightSetup, power_setting
from sortiewright.performance.optimal_climb_flown import fly_load_factors
from sortiewright.performance.optimal_climb_model import HEIGHT_SCALE, ClimbBounds, climb_model
from sortiewright.performance.optimal_climb_transcription import (
    ClimbEnds,
    ClimbNodes,
    Solution,
    optimal_nodes,
)

Floats = NDArray[np.float64]

STAGES = ((15, 6.0), (30, 3.0), (60, 1.0))
"""Segments and smoothing of each solution, which the next begins from."""

SLOWER = (1.17, 1.5, 2.5)  # than the energy climb: what the first guess takes, and further tries
MOST_ITERATIONS = 200
ASTRAY = 1.01  # of the cost of a stage: no less smoothing makes a climb dearer
BY_BENDING = 0.7  # of the segments shared out by the bends of the path, the rest by time
GUESS_POINTS, GUESS_MEAN = 200, 15  # the energy climb's jumps are spread over as many of these points


class NoOptimum(ValueError):
    """No best climb was found, in words for the one who asked for it."""


@dataclass(frozen=True, slots=True)
class OptimalClimb:
    """The best climb of one case, (k,) each, time rising from 0 at the start.

    ``time`` s, ``pressure_altitude`` m, ``mach``, ``tas`` m/s, ``path_angle`` and ``angle_of_attack`` rad,
    ``load_factor``, ``mass`` kg. ``flown`` is the flight of these load factors on the pack's own tables:
    where it ends says what smoothing and segments are worth. ``seconds`` is what the solution took, without
    ``energy``, the bound it began from, and without ``flown``.
    """

    time: Floats
    pressure_altitude: Floats
    mach: Floats
    tas: Floats
    path_angle: Floats
    angle_of_attack: Floats
    load_factor: Floats
    mass: Floats
    flown: FlownPath
    energy: EnergyClimb
    seconds: float
    iterations: int

    @property
    def total_time(self) -> float:
        """Time of the whole climb, s."""
        return float(self.time[-1])

    @property
    def total_fuel(self) -> float:
        """Fuel of the whole climb, kg."""
        return float(self.mass[0] - self.mass[-1])

    @property
    def altitude_missed(self) -> float:
        """Pressure altitude at the end of the flight on the tables less that asked for, m."""
        return float(self.flown.pressure_altitude[0, -1] - self.pressure_altitude[-1])

    @property
    def mach_missed(self) -> float:
        """Mach number at the end of the flight on the tables less that asked for."""
        return float(self.flown.mach[0, -1] - self.mach[-1])


def optimised_climb(
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
    angles_of_attack: tuple[float, float] | None = None,
    load_factors: tuple[float, float] | None = (0.0, 2.5),
) -> OptimalClimb:
    """Return the climb of the first case, level to level, that takes the least time or the least fuel.

    All the way at one power setting.

    Parameters
    ----------
    altitude, mach, to_altitude, to_mach
        Pressure altitude, m, and Mach number at start and end.
    lowest, highest : m
        Pressure altitudes that the path keeps within: those of start and end where not given.
    maximum_mach, maximum_cas
        The pack's limits where not given; m/s.
    angles_of_attack : rad
        Lowest and highest; the table's, the pack's limit and the most lift bound them in any case.
    load_factors
        Lowest and highest, of push-over and pull-up; None leaves them to the angle of attack.

    Raises
    ------
    NoOptimum
        Where the optimiser finds none; in words.
    InputError
        Where its library, an extra, is not installed.
    OutsideTable
        Where a table does not reach the heights asked for.
    ValueError
        If the end has no more energy than the start, or with an engine out.

    Notes
    -----
    Nothing says that a best climb is the only one: a solution is the best among its neighbours.
    """
    case = cases.take(slice(0, 1))
    span = (min(altitude, to_altitude), max(altitude, to_altitude))
    low = span[0] if lowest is None else lowest
    high = span[1] if highest is None else highest
    energy = energy_climb(
        pack,
        setup,
        case,
        power,
        altitude=altitude,
        mach=mach,
        to_altitude=to_altitude,
        to_mach=to_mach,
        objective=objective,
        lowest=low,
        highest=high,
        maximum_mach=maximum_mach,
        maximum_cas=maximum_cas,
    )
    if not np.isfinite(energy.total_time[0]):
        raise NoOptimum(_out_of_reach(energy))
    numbers = mach_grid(pack, setup, power_setting(pack, power).thrust, maximum_mach)
    bounds = ClimbBounds(
        (low, high),
        (float(numbers[0]), float(numbers[-1])),
        _angles(pack, setup, numbers, angles_of_attack),
        (-np.inf, np.inf) if load_factors is None else load_factors,
        speed_limit(pack, maximum_cas),
    )
    ends = ClimbEnds((altitude, to_altitude), (mach, to_mach), (0.0, 0.0))
    begin = clock.perf_counter()
    solution = _solved(pack, setup, case, power, bounds, ends, energy, objective)
    seconds = clock.perf_counter() - begin
    nodes = solution.nodes
    height, number = nodes.states[0] * HEIGHT_SCALE, nodes.states[1]
    sound = standard_air(height, float(case.isa_deviation[0])).speed_of_sound
    return OptimalClimb(
        nodes.time,
        height,
        number,
        number * sound,
        nodes.states[2],
        nodes.angle_of_attack,
        nodes.load_factor,
        nodes.states[3] * float(case.mass[0]),
        fly_load_factors(pack, setup, case, power, nodes, bounds),
        energy,
        seconds,
        solution.iterations,
    )


def _solved(
    pack: Pack,
    setup: FlightSetup,
    case: FlightCases,
    power: str,
    bounds: ClimbBounds,
    ends: ClimbEnds,
    energy: EnergyClimb,
    objective: Objective,
) -> Solution:
    """Return the solution of the last stage.

    Each begins from the one before it. A stage that ends with more than the stage before has gone astray, to
    one of the worse climbs that no neighbour improves on, and the next first guess is tried.
    """
    models = [climb_model(pack, setup, case, power, bounds, smoothing) for _, smoothing in STAGES]
    failed: Solution | None = None
    for slower in SLOWER:
        found: Solution | None = None
        iterations = 0
        guess = _first_guess(energy, ends, float(case.mass[0]), slower)
        for (count, _), model in zip(STAGES, models, strict=True):
            solution = optimal_nodes(
                model,
                bounds,
                ends,
                guess,
                objective,
                _edges(guess, count),
                most_iterations=MOST_ITERATIONS,
                guess_is_near=found is not None,
            )
            iterations += solution.iterations
            astray = found is not None and solution.cost > ASTRAY * found.cost
            if astray or not solution.converged:
                failed, found = solution, None
                break
            found, guess = solution, solution.nodes
        if found is not None:
            return replace(found, iterations=iterations)
    raise NoOptimum(_not_found(failed, bounds, ends))


def _first_guess(energy: EnergyClimb, ends: ClimbEnds, mass: float, slower: float) -> ClimbNodes:
    """Return the energy climb, its jumps spread out, as if it took ``slower`` times as long."""
    time = slower * _with_ends(0.0, energy.time[0], energy.total_time[0])
    burnt = slower * _with_ends(0.0, energy.fuel[0], energy.total_fuel[0]) / mass
    rows = (
        _with_ends(ends.altitude[0], energy.pressure_altitude[0], ends.altitude[1]) / HEIGHT_SCALE,
        _with_ends(ends.mach[0], energy.mach[0], ends.mach[1]),
        1.0 - burnt,
    )
    at: Floats = np.linspace(0.0, float(time[-1]), GUESS_POINTS)
    mean = np.full(GUESS_MEAN, 1.0 / GUESS_MEAN)
    height, number, left = (
        np.convolve(np.pad(np.interp(at, time, row), GUESS_MEAN // 2, mode="edge"), mean, "valid")
        for row in rows
    )
    level = np.zeros(GUESS_POINTS)
    return ClimbNodes(at, np.stack([height, number, level, left]), level + np.radians(2.0), level + 1.0)


def _with_ends(first: float, middle: Floats, last: float) -> Floats:
    return np.concatenate([[first], middle, [last]])


def _edges(nodes: ClimbNodes, count: int) -> Floats:
    """Return the edges of ``count`` segments as shares of the time, denser where the path bends."""
    share = nodes.time / nodes.time[-1]
    bent = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(nodes.states[2])))])
    part = BY_BENDING if bent[-1] > 0.0 else 0.0
    measure = (1.0 - part) * share + part * bent / max(bent[-1], 1e-12)
    wanted: Floats = np.linspace(0.0, 1.0, count + 1)
    edges = np.array(np.interp(wanted, measure, share), dtype=np.float64)
    edges[0], edges[-1] = 0.0, 1.0
    return edges


def _angles(
    pack: Pack, setup: FlightSetup, numbers: Floats, asked: tuple[float, float] | None
) -> tuple[float, float]:
    """Return the lowest and highest angle of attack, rad.

    Half a step inside the table, whose end a flight with a little more or less lift would pass; and below the
    most lift at every Mach number.
    """
    table = setup.configuration.lift
    axis = table.axes[0]
    inside = (table.axes[1] >= numbers[0]) & (table.axes[1] <= numbers[-1])
    peaks = axis[np.argmax(table.values, axis=0)]
    highest = [
        float(np.min(peaks[inside] if inside.any() else peaks)),
        float(1.5 * axis[-2] - 0.5 * axis[-3]),
    ]
    names = {id(one): name for name, one in pack.aero.configurations.items()}
    limit = pack.limits.angle_of_attack.get(names.get(id(setup.configuration), ""))
    if limit is not None:
        highest.append(limit)
    lowest = float(0.5 * (axis[0] + axis[1]))
    if asked is None:
        return lowest, min(highest)
    return max(lowest, asked[0]), min(*highest, asked[1])


def _out_of_reach(energy: EnergyClimb) -> str:
    stuck = float(energy.energy_height[0, np.argmax(~np.isfinite(energy.time[0]))])
    return (
        f"this power does not climb there inside the limits: at an energy height of {stuck:,.0f} m "
        "no height and Mach number has excess power. Ask for less, or for more power."
    )


def _not_found(last: Solution | None, bounds: ClimbBounds, ends: ClimbEnds) -> str:
    why = "" if last is None else f" ({last.words.replace('_', ' ').lower()})"
    low, high = bounds.load_factor
    return (
        f"the optimiser found no climb to {ends.altitude[1]:,.0f} m and Mach {ends.mach[1]:.2f}, ending "
        f"level, within load factors of {low:g} to {high:g}{why}. Ask for a lower altitude or Mach number, "
        "wider load factors, or take the energy climb."
    )
