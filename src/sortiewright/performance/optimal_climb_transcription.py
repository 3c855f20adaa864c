"""A climb as a finite problem: Legendre-Gauss-Radau collocation, solved by an interior point method.

The time of the climb is cut into segments; in each, the states are polynomials that obey the equations of
motion at the Radau points, the last of which is the segment's end (Hairer and Wanner, Solving Ordinary
Differential Equations II, section IV.5: Radau IIA). Angle of attack is free at each of these points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance.best_climb import Objective
from sortiewright.performance.optimal_climb_model import (
    HEIGHT_SCALE,
    ClimbBounds,
    ClimbModel,
    optimiser_library,
)

Floats = NDArray[np.float64]

POINTS = 3  # a segment: the states at its end are of fifth order
TIME_SCALE = 100.0  # s: the optimiser's unit of time
TOLERANCE = 1e-6
SURE_OF_GUESS, UNSURE_OF_GUESS = 0.01, 0.1  # of the barrier at first: lower stays nearer
STEEPEST = np.radians(85.0)
MOST_TIME = 7_200.0  # s
LEAST_MASS = 0.2  # of that at the start


@dataclass(frozen=True, slots=True)
class ClimbEnds:
    """Pressure altitude m, Mach and path angle rad at start and end. Mass at the start is the unit."""

    altitude: tuple[float, float]
    mach: tuple[float, float]
    path_angle: tuple[float, float]


@dataclass(frozen=True, slots=True)
class ClimbNodes:
    """A climb at its collocation points, time rising: (k,) each, the first is the start.

    ``states`` is (4, k) in the optimiser's units; ``angle_of_attack`` rad and ``load_factor`` at the start
    repeat the first point's. ``time`` s.
    """

    time: Floats
    states: Floats
    angle_of_attack: Floats
    load_factor: Floats


@dataclass(frozen=True, slots=True)
class Solution:
    """What the optimiser came to: ``words`` is its own name for how it ended.

    ``cost`` is the time, s, or the fuel as a share of the mass at the start.
    """

    nodes: ClimbNodes
    cost: float
    converged: bool
    words: str
    iterations: int


def optimal_nodes(
    model: ClimbModel,
    bounds: ClimbBounds,
    ends: ClimbEnds,
    guess: ClimbNodes,
    objective: Objective,
    edges: Floats,
    *,
    most_iterations: int,
    guess_is_near: bool,
) -> Solution:
    """Return the climb of least time or fuel.

    ``edges`` are those of the segments as shares of the whole time, from 0 to 1; ``guess`` may have any
    nodes. Where it is near the solution already, less is done to keep away from the limits at first.
    """
    ca = optimiser_library()
    shares = node_shares(edges)
    k = len(shares) - 1
    problem, low, high = _problem(ca, model, bounds, edges, objective)
    options = _quiet_options(most_iterations, SURE_OF_GUESS if guess_is_near else UNSURE_OF_GUESS)
    solver = ca.nlpsol("climb", "ipopt", problem, options)
    box_low, box_high = _box(bounds, ends, k)
    first = np.clip(_first(guess, shares), box_low, box_high)
    found = solver(x0=first, lbx=box_low, ubx=box_high, lbg=low, ubg=high)
    stats = solver.stats()
    z = np.asarray(found["x"], dtype=np.float64).ravel()
    states, angles = z[: 4 * (k + 1)].reshape(k + 1, 4).T, z[4 * (k + 1) : -1]
    load = np.asarray(model.rates.map(k)(states[:, 1:], angles[None])[1], dtype=np.float64).ravel()
    nodes = ClimbNodes(z[-1] * TIME_SCALE * shares, states, np.r_[angles[0], angles], np.r_[load[0], load])
    cost = float(nodes.time[-1]) if objective == "time" else float(1.0 - states[3, -1])
    return Solution(
        nodes, cost, bool(stats["success"]), str(stats["return_status"]), int(stats["iter_count"])
    )


def _problem(
    ca: Any, model: ClimbModel, bounds: ClimbBounds, edges: Floats, objective: Objective
) -> tuple[dict[str, Any], Floats, Floats]:
    """Return the problem in the library's words, and what its constraints lie between."""
    k = POINTS * (len(edges) - 1)
    x, u, t = ca.MX.sym("x", 4, k + 1), ca.MX.sym("u", 1, k), ca.MX.sym("t")
    rates, loads = model.rates.map(k)(x[:, 1:], u)
    # An equation a state and point: by how much the slope of the polynomial misses the rate. The matrices
    # must be sparse, or the optimiser takes every equation to depend on every state.
    widths = ca.diag(ca.DM(np.repeat(np.diff(edges), POINTS)))
    slopes = ca.sparsify(ca.DM(_slopes(edges)))
    parts: list[Any] = [ca.vec(ca.mtimes(x, slopes) - t * TIME_SCALE * ca.mtimes(rates, widths))]
    low, high = [np.zeros(4 * k)], [np.zeros(4 * k)]
    if np.isfinite(bounds.load_factor).any():
        parts.append(ca.vec(loads))
        low.append(np.full(k, bounds.load_factor[0]))
        high.append(np.full(k, bounds.load_factor[1]))
    if model.highest_mach is not None:
        parts.append(ca.vec(model.highest_mach.map(k)(x[0, 1:]) - x[1, 1:]))
        low.append(np.zeros(k))
        high.append(np.full(k, np.inf))
    cost = t if objective == "time" else 100.0 * (1.0 - x[3, -1])
    problem = {"x": ca.vertcat(ca.vec(x), ca.vec(u), t), "f": cost, "g": ca.vertcat(*parts)}
    return problem, np.concatenate(low), np.concatenate(high)


def _quiet_options(most_iterations: int, barrier: float) -> dict[str, Any]:
    return {
        "print_time": False,
        "show_eval_warnings": False,
        "ipopt": {
            "print_level": 0,
            "sb": "yes",
            "tol": TOLERANCE,
            "max_iter": most_iterations,
            "mu_init": barrier,
        },
    }


def node_shares(edges: Floats) -> Floats:
    """Return where the nodes lie, as shares of the whole time: the start, and the Radau points (k + 1,)."""
    inside = edges[:-1, None] + np.diff(edges)[:, None] * radau_points()
    return np.r_[edges[0], inside.ravel()]


def radau_points() -> Floats:
    """Return the Radau points of a segment from 0 to 1, its end among them."""
    # Roots of the derivative d^(s-1)/dx^(s-1) of x^(s-1) (x-1)^s.
    poly = np.polynomial.Polynomial([0.0, 1.0]) ** (POINTS - 1)
    poly = poly * np.polynomial.Polynomial([-1.0, 1.0]) ** POINTS
    roots: Floats = np.real(poly.deriv(POINTS - 1).roots()).astype(np.float64)
    return np.sort(roots)


def _slopes(edges: Floats) -> Floats:
    """Return the matrix (k + 1, k) that takes states at nodes to their slopes over the share of each segment
    at the Radau points."""
    at = np.r_[0.0, radau_points()]
    slope = np.zeros((POINTS + 1, POINTS))
    for row in range(POINTS + 1):
        others = np.delete(at, row)
        basis = np.polynomial.Polynomial.fromroots(others)
        slope[row] = (basis.deriv()(at[1:])) / basis(at[row])
    count = len(edges) - 1
    whole = np.zeros((count * POINTS + 1, count * POINTS))
    for one in range(count):
        first = one * POINTS
        whole[first : first + POINTS + 1, first : first + POINTS] = slope
    return whole


def _box(bounds: ClimbBounds, ends: ClimbEnds, k: int) -> tuple[Floats, Floats]:
    low, high = np.empty((4, k + 1)), np.empty((4, k + 1))
    low[0], high[0] = bounds.altitude[0] / HEIGHT_SCALE, bounds.altitude[1] / HEIGHT_SCALE
    low[1], high[1] = bounds.mach
    low[2], high[2] = -STEEPEST, STEEPEST
    low[3], high[3] = LEAST_MASS, 1.0
    for row, pair in enumerate((np.array(ends.altitude) / HEIGHT_SCALE, ends.mach, ends.path_angle)):
        for column, value in zip((0, -1), pair, strict=True):
            low[row, column] = high[row, column] = value
    low[3, 0] = high[3, 0] = 1.0
    angles = (np.full(k, bound) for bound in bounds.angle_of_attack)
    times = 1.0 / TIME_SCALE, MOST_TIME / TIME_SCALE
    boxes = [
        np.r_[state.ravel(order="F"), angle, time]
        for state, angle, time in zip((low, high), angles, times, strict=True)
    ]
    return boxes[0], boxes[1]


def _first(guess: ClimbNodes, shares: Floats) -> Floats:
    at = guess.time / guess.time[-1]
    states = np.empty((4, len(shares)))
    for row, values in enumerate(guess.states):
        states[row] = np.interp(shares, at, values)
    angles = np.interp(shares[1:], at, guess.angle_of_attack)
    return np.r_[states.ravel(order="F"), angles, guess.time[-1] / TIME_SCALE]
