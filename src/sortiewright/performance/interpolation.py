"""Roots on computed curves: where a monotonic curve over a grid passes a value."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.intp]


def first_crossing(values: Floats) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the cell (n,) in which ``values`` (n, g) first go from negative to nought or above, and whether
    any does.

    NaN counts as not yet crossed. A first value at or above nought is no crossing.
    """
    above = values >= 0.0
    crossing = above[:, 1:] & (values[:, :-1] < 0.0)
    return np.argmax(crossing, axis=1), np.asarray(crossing.any(axis=1), dtype=np.bool_)


def window(cell: Cells, size: int, count: int, bends: tuple[int, ...] = (), aside: int = 0) -> Cells:
    """Return the first of ``size`` neighbouring points of ``count`` around each cell.

    ``bends`` are indices of points at which the curve bends or the spacing changes: all of them lie between
    two neighbouring ones. ``aside`` moves the window by that many points, as far as they allow.
    """
    edges = np.array([0, *bends, count - 1], dtype=np.intp)
    stretch = np.minimum(edges[1:-1].searchsorted(cell, side="right"), len(edges) - 2)
    first = aside + (cell - (size - 2) // 2 if size < 5 else cell - 2)
    return np.minimum(np.maximum(first, edges[stretch]), edges[stretch + 1] + 1 - size)


def value_at(grid: Floats, curve: Floats, cell: Cells, target: Floats, bends: tuple[int, ...] = ()) -> Floats:
    """Return ``grid`` where ``curve`` equals ``target``, by inverse cubic interpolation on four points.

    ``grid``, ``curve`` (n, g), g >= 4; the curve must be strictly monotonic around ``cell``. ``bends`` are as
    in ``window``. Falls back to a straight line where one of the four is
    not finite or the cubic leaves its cell.
    """
    n, g = grid.shape
    rows: NDArray[np.intp] = np.arange(n, dtype=np.intp)
    first = window(cell, 4, g, bends)
    take = first[:, None] + np.arange(4)
    x, y = grid[rows[:, None], take], curve[rows[:, None], take]
    x0, x1 = grid[rows, cell], grid[rows, cell + 1]
    y0, y1 = curve[rows, cell], curve[rows, cell + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        straight = x0 + (x1 - x0) * (target - y0) / (y1 - y0)
        total = np.zeros(n)
        for i in range(4):
            term = x[:, i]
            for j in range(4):
                if j != i:
                    term = term * (target - y[:, j]) / (y[:, i] - y[:, j])
            total = total + term
    inside = np.isfinite(total) & (total >= np.minimum(x0, x1)) & (total <= np.maximum(x0, x1))
    return np.where(inside, total, straight)


def curve_at(grid: Floats, curve: Floats, at: Floats, bends: tuple[int, ...] = ()) -> Floats:
    """Return ``curve`` (n, g) at ``at`` (n,) on an increasing ``grid`` (n, g), by the same local cubic."""
    cell = np.minimum(np.maximum((grid <= at[:, None]).sum(axis=1) - 1, 0), grid.shape[1] - 2)
    return value_at(curve, grid, cell, at, bends)


FALSE_POSITION_ITERATIONS = 10


def false_position(
    function: Callable[[Floats], Floats],
    low: Floats,
    high: Floats,
    iterations: int = FALSE_POSITION_ITERATIONS,
) -> Floats:
    """Return the root of a rising function between ``low`` (negative there) and ``high``, (n,).

    False position with the Illinois weighting (Dowell and Jarratt, BIT 11, 1971), a fixed number of steps so
    that a case does not depend on its neighbours. Where there is no sign change the result is an end.
    """
    at_low, at_high = function(low), function(high)
    root, kept = high, np.zeros_like(low)
    for _ in range(iterations):
        span = at_high - at_low
        part = np.minimum(np.maximum(-at_low / np.where(span == 0.0, 1.0, span), 0.0), 1.0)
        root = low + part * (high - low)
        value = function(root)
        over = value > 0.0
        # An end that stays a second time running counts half, or the other would creep.
        at_low, at_high = (
            np.where(over, np.where(kept < 0.0, 0.5 * at_low, at_low), value),
            np.where(over, value, np.where(kept > 0.0, 0.5 * at_high, at_high)),
        )
        low, high, kept = np.where(over, low, root), np.where(over, root, high), np.where(over, -1.0, 1.0)
    return root


def on_line(at: float, x: Floats, y: Floats) -> float:
    """Return ``y`` at one value of an increasing ``x`` by straight lines; NaN outside."""
    return float(np.interp(at, x, y, left=np.nan, right=np.nan))
