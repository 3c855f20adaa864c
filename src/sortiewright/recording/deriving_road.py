"""One way of working a channel out, and rates of change that stop at breaks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sortiewright.recording.recording import Floats, Recording


@dataclass(frozen=True, slots=True)
class Road:
    """A channel, what it is worked out from, and how. Of several roads to a channel the first is taken."""

    channel: str
    needs: tuple[str, ...]
    basis: str
    compute: Callable[[Recording], Floats]
    unless: tuple[str, ...] = ()
    """Not taken where one of these is there."""


def rate_of_change(
    recording: Recording, values: Floats, *, over: float, period: float | None = None
) -> Floats:
    """Return the rate of change of values in their unit a second: central differences ``over`` s wide.

    Nothing is differentiated across a break: beside one the difference is one-sided. With a ``period`` (360
    or 2 pi) the shorter way round is taken. NaN where it cannot be told.
    """
    time = recording.time
    count = len(time)
    step = float(np.median(np.diff(time[:5000])))
    half = max(1, round(0.5 * over / step)) if step > 0.0 else 1
    rows = np.arange(count)
    before, after = np.maximum(rows - half, 0), np.minimum(rows + half, count - 1)
    if len(recording.breaks):
        edges = np.concatenate([[0], recording.breaks, [count]])
        segment = np.searchsorted(recording.breaks, rows, side="right")
        before = np.maximum(before, edges[segment])
        after = np.minimum(after, edges[segment + 1] - 1)
    change = values[after] - values[before]
    if period is not None:
        change = (change + period / 2) % period - period / 2
    took = time[after] - time[before]
    return np.divide(change, took, out=np.full(count, np.nan), where=took > 0.0)


def grain(values: Floats) -> float:
    """Return the step in which a column's values come: its resolution; 0 where it is too fine to tell."""
    changes = np.abs(np.diff(values[:200_000]))
    changes = changes[(changes > 0.0) & np.isfinite(changes)]
    return float(np.quantile(changes, 0.01)) if len(changes) else 0.0
