"""Two-level switches, runs and crossings over samples, whole arrays at a time.

Durations are measured on a clock from which pauses and gaps are taken out (``clock_of``), and nothing is
interpolated across them: ``joined`` says of each row whether it continues the row before.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Truths: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.intp]
Where: TypeAlias = Truths | Callable[[slice], Truths]
"""A mask, or what works it out for some rows: of a long recording only those that are looked at."""


class Column(Protocol):
    """A channel, or what works one out for the rows that are asked for: see ``signal_columns``."""

    def __getitem__(self, rows: Any, /) -> Any:
        """Return the values of a row, of several, or of a slice."""
        ...


_BLOCK = 1 << 14  # rows at once, so that what is worked out stays in the processor's cache
_SEARCHED = 1 << 10  # rows with which a search begins: most ends are near


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
    # Between the runs above and those below nothing changes, so the begins of both are all that counts.
    turns_on, turns_off = runs(values > above)[0], runs(values < below)[0]
    turns = np.concatenate(([0], turns_on, turns_off))
    states = np.repeat([initially, True, False], [1, len(turns_on), len(turns_off)])
    order = np.argsort(turns, kind="stable")
    return np.repeat(states[order], np.diff(turns[order], append=len(values)))


def runs(mask: Truths) -> tuple[Rows, Rows]:
    """Return the begins and (exclusive) ends of the stretches in which a mask is true."""
    if not len(mask):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    edges = np.flatnonzero(mask[1:] != mask[:-1]) + 1
    edges = np.concatenate(([0] if mask[0] else [], edges, [len(mask)] if mask[-1] else []))
    edges = edges.astype(np.intp)
    return edges[0::2], edges[1::2]


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
    result = np.empty_like(values)
    result[[0, -1]] = values[[0, -1]]
    # In parts that stay in the processor's cache.
    for begin in range(1, len(values) - 1, _BLOCK):
        end = min(begin + _BLOCK, len(values) - 1)
        before, here, after = values[begin - 1 : end - 1], values[begin:end], values[begin + 1 : end + 1]
        low = np.minimum(before, here)
        high = np.maximum(before, here)
        np.minimum(high, after, out=high)
        np.maximum(low, high, out=result[begin:end])
    return result


def unwrapped(angles: Floats, period: float) -> Floats:
    """Return angles without the jumps where they begin anew: what ``numpy.unwrap`` does, in one pass."""
    turned = np.flatnonzero(np.abs(np.diff(angles)) >= period / 2)
    if not len(turned):
        return angles
    steps = angles[turned + 1] - angles[turned]
    shorter = (steps + period / 2) % period - period / 2
    shorter[(shorter == -period / 2) & (steps > 0)] = period / 2
    offsets = np.concatenate(([0.0], np.cumsum(shorter - steps)))
    return angles + np.repeat(offsets, np.diff(turned + 1, prepend=0, append=len(angles)))


def filled(values: Floats, time: Floats) -> Floats | None:
    """Return values with missing ones interpolated between their neighbours; None where there is no value."""
    if len(values) and not np.isnan(values.min()):
        return values
    missing = np.isnan(values)
    there = ~missing
    if not there.any():
        return None
    result = values.copy()
    result[missing] = np.interp(time[missing], time[there], values[there])
    return result


def held_truths(values: Floats) -> Truths | None:
    """Return a truth channel with missing samples as the last known; None where there is no value."""
    if len(values) and not np.isnan(values.min()):
        return values > 0.5
    there = ~np.isnan(values)
    if not there.any():
        return None
    last = np.where(there, np.arange(len(values)), int(np.argmax(there)))
    np.maximum.accumulate(last, out=last)
    return values[last] > 0.5


def first_row(mask: Where, begin: int, end: int) -> int | None:
    """Return the first row from ``begin`` to before ``end`` in which a mask is true."""
    first, length = max(begin, 0), _SEARCHED
    while first < end:
        part = _part(mask, first, min(first + length, end))
        found = int(part.argmax()) if part.size else 0
        if part.size and part[found]:
            return first + found
        first, length = first + length, min(2 * length, _BLOCK)
    return None


def last_row(mask: Where, begin: int, end: int) -> int | None:
    """Return the last row from ``begin`` to before ``end`` in which a mask is true."""
    begin, last, length = max(begin, 0), end, _SEARCHED
    while last > begin:
        first = max(last - length, begin)
        part = _part(mask, first, last)[::-1]
        found = int(part.argmax()) if part.size else 0
        if part.size and part[found]:
            return first + part.size - 1 - found
        last, length = first, min(2 * length, _BLOCK)
    return None


def _part(mask: Where, begin: int, end: int) -> Truths:
    rows = slice(begin, end)
    return mask(rows) if callable(mask) else mask[rows]


def crossing(time: Floats, values: Column, row: int, level: float, joined: Truths) -> float:
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
