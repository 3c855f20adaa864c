"""Two-level switches, runs and crossings over samples, whole arrays at a time.

Durations are measured on a clock from which pauses and gaps are taken out (``clock_of``), and nothing is
interpolated across them: ``joined`` says of each row whether it continues the row before.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Truths: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.intp]


def joined_rows(rows: int, breaks: ArrayLike) -> Truths:
    """Return whether each row continues the one before; the first does not."""
    joined = np.ones(rows, dtype=np.bool_)
    joined[np.asarray(breaks, dtype=np.intp)] = False
    joined[:1] = False
    return joined


def clock_of(time: Floats, joined: Truths) -> Floats:
    """Return time without the gaps at breaks, s, from nought: durations on it do not count pauses."""
    steps = np.diff(time, prepend=time[:1])
    steps[~joined] = 0.0
    return np.cumsum(steps)


def switched(values: Floats, *, above: float, below: float, initially: bool = False) -> Truths:
    """Return a state that turns on above one level and off below a lower one; NaN leaves it as it is."""
    if below > above:
        raise ValueError(f"the level to turn off, {below:g}, lies above that to turn on, {above:g}")
    on = values > above
    decided = on | (values < below)
    last = np.where(decided, np.arange(len(values)), -1)
    np.maximum.accumulate(last, out=last)
    return np.where(last >= 0, on[last], initially)


def runs(mask: Truths) -> tuple[Rows, Rows]:
    """Return the begins and (exclusive) ends of the stretches in which a mask is true."""
    edges = np.diff(mask.astype(np.int8), prepend=0, append=0)
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def durations(clock: Floats, begins: Rows, ends: Rows) -> Floats:
    """Return how long runs last, s: to the first sample after them, or to the last there is."""
    return clock[np.minimum(ends, len(clock) - 1)] - clock[begins]


def without_short(
    mask: Truths, clock: Floats, *, least_true: float = 0.0, least_false: float = 0.0
) -> Truths:
    """Return a mask without false stretches under one time, then without true ones under another.

    Stretches at either end of the recording are kept, as nobody knows how long they lasted.
    """
    result = mask
    for least, of in ((least_false, False), (least_true, True)):
        if least <= 0.0:
            continue
        begins, ends = runs(result == of)
        inner = (begins > 0) & (ends < len(mask))
        short = inner & (durations(clock, begins, ends) < least)
        if short.any():
            result = result.copy()
            for begin, end in zip(begins[short].tolist(), ends[short].tolist(), strict=True):
                result[begin:end] = not of
    return result


def median_of_three(values: Floats) -> Floats:
    """Return each sample as the median of itself and its neighbours: a lone spike goes, an edge stays.

    What only rises or only falls is unchanged; so are the first and the last sample.
    """
    if len(values) < 3:
        return values
    before, here, after = values[:-2], values[1:-1], values[2:]
    result = values.copy()
    result[1:-1] = np.maximum(np.minimum(before, here), np.minimum(np.maximum(before, here), after))
    return result


def filled(values: Floats, time: Floats) -> Floats | None:
    """Return values with missing ones interpolated between their neighbours; None where there is no value."""
    missing = np.isnan(values)
    if not missing.any():
        return values
    there = ~missing
    if not there.any():
        return None
    result = values.copy()
    result[missing] = np.interp(time[missing], time[there], values[there])
    return result


def held_truths(values: Floats) -> Truths | None:
    """Return a truth channel with missing samples as the last known; None where there is no value."""
    there = ~np.isnan(values)
    if there.all():
        return values > 0.5
    if not there.any():
        return None
    last = np.where(there, np.arange(len(values)), int(np.argmax(there)))
    np.maximum.accumulate(last, out=last)
    return values[last] > 0.5


def first_row(mask: Truths, begin: int, end: int) -> int | None:
    """Return the first row from ``begin`` to before ``end`` in which a mask is true."""
    part = mask[max(begin, 0) : end]
    found = int(part.argmax()) if part.size else 0
    return max(begin, 0) + found if part.size and part[found] else None


def last_row(mask: Truths, begin: int, end: int) -> int | None:
    """Return the last row from ``begin`` to before ``end`` in which a mask is true."""
    begin = max(begin, 0)
    part = mask[begin:end][::-1]
    found = int(part.argmax()) if part.size else 0
    return begin + part.size - 1 - found if part.size and part[found] else None


def crossing(time: Floats, values: Floats, row: int, level: float, joined: Truths) -> float:
    """Return when a value passes a level between a row and the next, s, on a straight line.

    Across a break, or where the two values do not lie on either side: the time of the next row, the
    first at which the new state was seen.
    """
    after = min(row + 1, len(time) - 1)
    step = values[after] - values[row]
    if after == row or not joined[after] or not np.isfinite(step) or step == 0.0:
        return float(time[after])
    share = (level - values[row]) / step
    if not 0.0 <= share <= 1.0:
        return float(time[after])
    return float(time[row] + share * (time[after] - time[row]))


def between(time: Floats, row: int, joined: Truths) -> float:
    """Return the middle between a row and the next, s: a truth changed somewhere between them."""
    after = min(row + 1, len(time) - 1)
    return float(0.5 * (time[row] + time[after])) if joined[after] else float(time[after])
