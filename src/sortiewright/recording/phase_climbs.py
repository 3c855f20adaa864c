"""Climb, level flight and descent, by the trend of height over tens of seconds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import Floats, runs, switched
from sortiewright.recording.signal_columns import above, mask_of

_GRID = 1.0  # s: trends need no more
LEVEL, CLIMB, DESCENT = 0, 1, -1


def trends(signals: Signals, begin: int, end: int, vertical_speed: Floats | None) -> NDArray[np.int8] | None:
    """Return of each row whether it belongs to a climb (1), a descent (-1) or level flight (0).

    None where neither height nor vertical speed is recorded.
    """
    limits, clock = signals.limits, signals.clock[begin:end]
    height = signals.wheels.above_sea if signals.wheels.above_sea is not None else signals.wheels.height
    if end - begin < 2 or (height is None and vertical_speed is None):
        return None
    grid = np.arange(clock[0], clock[-1] + _GRID, _GRID)
    rows = np.minimum(np.searchsorted(clock, grid), len(clock) - 1)
    if height is not None:
        path = height[begin:end][rows]
    else:
        assert vertical_speed is not None
        steps = np.diff(clock, prepend=clock[0])
        path = np.cumsum(np.nan_to_num(vertical_speed[begin:end]) * steps)[rows]
    half = max(round(0.5 * limits.trend_time / _GRID), 1)
    at = np.arange(len(grid))
    before, after = np.maximum(at - half, 0), np.minimum(at + half, len(grid) - 1)
    rate = (path[after] - path[before]) / np.maximum((after - before) * _GRID, _GRID)
    up = switched(rate, above=limits.climb_rate, below=limits.level_rate)
    down = switched(-rate, above=limits.climb_rate, below=limits.level_rate)
    state = up.astype(np.int8) - down.astype(np.int8)
    return _without_short(state, limits.least_trend_time / _GRID)[
        np.minimum(((clock - clock[0]) / _GRID).astype(np.intp), len(grid) - 1)
    ]


def _without_short(state: NDArray[np.int8], least: float) -> NDArray[np.int8]:
    """Return trends in which a short one, the shortest first, has become what lies around it.

    Between two of a kind it joins them; else each neighbour takes its half.
    """
    state = state.copy()
    while True:
        changes = np.flatnonzero(np.diff(state)) + 1
        begins, ends = np.concatenate(([0], changes)), np.append(changes, len(state))
        lengths = ends - begins
        lengths[[0, -1]] += int(least)  # cut off by lift-off and landing, not short
        if len(begins) < 3 or lengths.min() >= least:
            return state
        index = int(lengths.argmin())
        first, last = int(begins[index]), int(ends[index])
        middle = (first + last) // 2
        state[first:middle] = state[first - 1]
        state[middle:last] = state[last]


def manoeuvring(signals: Signals, begin: int, end: int) -> NDArray[np.bool_] | None:
    """Return where the aircraft turns or pulls hard, short pauses included; None where nothing tells."""
    limits, clock = signals.limits, signals.clock
    parts: list[NDArray[np.bool_]] = []
    if signals.bank is not None:
        bank = signals.bank
        parts.append(mask_of(lambda rows: np.abs(bank[rows]) > limits.manoeuvre_bank, begin, end))
    if signals.load is not None:
        parts.append(mask_of(above(signals.load, limits.manoeuvre_load), begin, end))
    if not parts:
        return None
    hard = np.logical_or.reduce(parts)
    begins, ends = runs(hard)
    for first, last in zip(ends[:-1].tolist(), begins[1:].tolist(), strict=True):
        if clock[begin + last] - clock[begin + first] < limits.manoeuvre_gap:
            hard[first:last] = True
    return hard
