"""Rows in the order of time: sorted, without repeats, and where the clock was set back or left out time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.reading_table import RawTable
from sortiewright.recording.recording import Defect, Floats

_GAP_STEPS = 4.5
"""Usual steps without a sample that make a gap: one or two lost samples are not worth a break."""
_MOST_LISTED = 50
"""Defects of one kind that are listed one by one; the others are counted."""


@dataclass(frozen=True)
class Order:
    """Which rows of a table are kept, in what order, and their times."""

    rows: NDArray[np.intp] | None
    """None: all of them as they are."""
    time: Floats
    """s, strictly increasing."""
    breaks: NDArray[np.intp]
    defects: tuple[Defect, ...]


def in_order(table: RawTable, seconds: Floats, time_column: str) -> Order:
    """Return the order in which a table's rows are to be read, and what was wrong with it."""
    rows: NDArray[np.intp] | None = None
    time = seconds
    defects: list[Defect] = []
    jumps: list[float] = []
    with np.errstate(invalid="ignore"):
        is_fine = bool((np.diff(time) > 0.0).all()) and bool(np.isfinite(time).all())
    if not is_fine:
        rows = np.flatnonzero(np.isfinite(time))
        if lost := len(time) - len(rows):
            defects.append(_whole(time, "missing", lost, f"{lost} rows have no time and are left out"))
        time = time[rows]
        time, moved = _without_set_backs(table, time, rows, time_column)
        for at, by in moved:
            said = f"the clock goes back {by:.2f} s after {at:.2f} s; what follows is taken as going on"
            defects.append(Defect("time_jump", "", at, at, said))
            jumps.append(at)
        rows, time, sorting = _sorted(table, time, rows, time_column)
        defects += sorting
    gap_rows, gaps = _gaps(time)
    after_jump = np.searchsorted(time, np.array(jumps), side="right") if jumps else np.zeros(0, np.intp)
    breaks = np.unique(np.concatenate([gap_rows, after_jump[after_jump < len(time)]])).astype(np.intp)
    return Order(rows, time, breaks, (*defects, *gaps, *_rate_changes(time, breaks)))


def usual_step(time: Floats) -> float:
    """Return the step between most samples, s."""
    return float(np.median(np.diff(time))) if len(time) > 1 else 0.0


def _whole(time: Floats, kind: str, count: int, text: str) -> Defect:
    finite = time[np.isfinite(time)]
    begin, end = (float(finite.min()), float(finite.max())) if len(finite) else (0.0, 0.0)
    return Defect(kind, "", begin, end, text, count)  # pyright: ignore[reportArgumentType]


def _without_set_backs(
    table: RawTable, time: Floats, rows: NDArray[np.intp], time_column: str
) -> tuple[Floats, list[tuple[float, float]]]:
    """Return times in which a clock that was set back goes on instead, and where by how much it was.

    A simulation that was loaded again runs through the same times twice. Rows that came late, or a block
    that was written in the wrong place, fall between others of earlier times, and are left for sorting.
    """
    backward = np.flatnonzero(np.diff(time) < 0.0) + 1
    if not 0 < len(backward) <= 1000:
        return time, []
    moved: list[tuple[float, float]] = []
    shifted = time.copy()
    step = float(np.median(np.abs(np.diff(time))))
    for begin in map(int, backward):
        before = shifted[:begin]
        last = float(before.max())
        later = shifted[begin:]
        past = np.flatnonzero(later > last)
        end = int(past[0]) if len(past) else len(later)
        if end < 10:
            continue  # a few late rows
        block = later[:end]
        overlaps = np.count_nonzero((before > block[0]) & (before < block.max()))
        if overlaps < 3 or _is_repeat(table, rows, begin, end, before, block, time_column):
            continue
        by = last - float(later[0])
        shifted[begin:] += by + step
        moved.append((last, by))
    return shifted, moved


def _is_repeat(
    table: RawTable,
    rows: NDArray[np.intp],
    begin: int,
    count: int,
    before: Floats,
    block: Floats,
    time_column: str,
) -> bool:
    """Return whether a block's rows stood in the table before, value for value."""
    order = np.argsort(before, kind="stable")
    found = order[np.minimum(np.searchsorted(before[order], block), len(before) - 1)]
    if not np.array_equal(before[found], block):
        return False
    return bool(_same_values(table, rows[found], rows[begin : begin + count], time_column).all())


def _same_values(
    table: RawTable, one: NDArray[np.intp], other: NDArray[np.intp], time_column: str
) -> NDArray[np.bool_]:
    same = np.ones(len(one), bool)
    for name in table.names:
        if name != time_column and table.is_number(name):
            values = table.numbers(name)
            a, b = values[one], values[other]
            same &= (a == b) | (np.isnan(a) & np.isnan(b))
    return same


def _sorted(
    table: RawTable, time: Floats, rows: NDArray[np.intp], time_column: str
) -> tuple[NDArray[np.intp], Floats, list[Defect]]:
    defects: list[Defect] = []
    late = int(np.count_nonzero(time < np.maximum.accumulate(time))) if len(time) else 0
    order = np.argsort(time, kind="stable")
    if late:
        where = time[time < np.maximum.accumulate(time)]
        said = f"{late} row{'s' if late > 1 else ''} out of the order of time, sorted"
        defects.append(Defect("out_of_order", "", float(where.min()), float(where.max()), said, late))
    time, rows = time[order], rows[order]
    again = np.flatnonzero(np.diff(time) <= 0.0) + 1
    if len(again):
        first = again - 1
        alike = int(_same_values(table, rows[first], rows[again], time_column).sum())
        said = f"{len(again)} rows at a time that was there already, left out"
        if other := len(again) - alike:
            said += f"; {other} of them with other values than the first"
        begin, end = float(time[again[0]]), float(time[again[-1]])
        defects.append(Defect("repeated", "", begin, end, said, len(again)))
        keep = np.ones(len(time), bool)
        keep[again] = False
        time, rows = time[keep], rows[keep]
    return rows, time, defects


def _gaps(time: Floats) -> tuple[NDArray[np.intp], list[Defect]]:
    """Return the rows after gaps, and each gap: steps much longer than those around."""
    steps = np.diff(time)
    if len(steps) < 3:
        return np.zeros(0, np.intp), []
    step = float(np.median(steps))
    long = np.flatnonzero(steps > _GAP_STEPS * step)
    if not len(long):
        return long, []
    # Where the rate changed, a long step is the usual one of its neighbourhood and no gap.
    usual = np.array([np.median(steps[max(0, at - 5) : at + 6]) for at in long[:5000]])
    is_gap = steps[long[:5000]] > _GAP_STEPS * usual
    rows = (long[:5000])[is_gap]
    found = [
        Defect("gap", "", float(time[at]), float(time[at + 1]), f"{steps[at]:.2f} s without a sample")
        for at in rows[:_MOST_LISTED]
    ]
    if (rest := len(rows) - _MOST_LISTED) > 0:
        begin, end = float(time[rows[_MOST_LISTED]]), float(time[rows[-1] + 1])
        found.append(Defect("gap", "", begin, end, f"{rest} more gaps", rest))
    return rows + 1, found


def _rate_changes(time: Floats, breaks: NDArray[np.intp]) -> list[Defect]:
    """Return where the samples' rate changes for good: windows of a few seconds with another usual step."""
    width = 40
    count = (len(time) - 1) // width
    if count < 3:
        return []
    steps = np.diff(time)[: count * width].reshape(count, width)
    # The middle of each window by a cheap road: its mean, where no step in it is odd.
    typical = np.median(steps, axis=1) if np.ptp(steps) > 0.2 * float(steps[0, 0]) else steps.mean(axis=1)
    ratio = typical[1:] / typical[:-1]
    found: list[Defect] = []
    level = typical[0]
    for at in np.flatnonzero((ratio > 1.3) | (ratio < 1 / 1.3)) + 1:
        settled = float(np.median(typical[at : at + 3]))
        if not 1 / 1.3 < settled / level < 1.3 and len(found) < _MOST_LISTED:
            begin = float(time[at * width])
            text = f"samples come {1 / settled:.3g} a second from here, {1 / level:.3g} before"
            found.append(Defect("rate_change", "", begin, begin, text))
            level = settled
    return found
