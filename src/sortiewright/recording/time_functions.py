"""Functions of time for conditions on a recording: how long, how fast, when, since.

All look back from each row: ``held(c, s(2))`` is true where c has been true for the last two seconds. A
window that reaches before the first sample, or over a break (a gap, a pause, a jump), is not whole: what the
samples in it do not settle is then unknown. On samples these are the past operators of signal temporal logic
(Maler and Nickovic 2004, doi 10.1007/978-3-540-30206-3_12): held is historically, within is once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions import (
    PLAIN,
    TRUTH,
    ChoiceType,
    Columns,
    Expression,
    Function,
    NumberType,
    SameNumber,
    Truth,
    Type,
)
from sortiewright.recording.moments import EventName

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

SECONDS = NumberType("s")
UNBROKEN_SINCE = "unbroken_since"
"""Column that no text can name: when the stretch of samples began that a row belongs to, s."""
EVENT = "event"
"""First part of the key of a column: ``("event", "lift_off")`` is the time of the latest one, s."""
EVENTS = ChoiceType(get_args(EventName), "events")

SLACK = 1e-6  # s; clocks written in decimals differ by less than this from what they mean
SLOPE = "slope_reach"
"""Column that no text can name: see ``slope_reach``."""
HALF_SPAN = 0.25  # s; a rate is the slope over twice this, so that the steps of a coarse column do not show
_EVEN = 0.01  # steps of a clock that differ by less, as a share of one, count as even
_LOOKED_UP = 1024  # rows at once
_PACK = 1 << 20  # rows; above any reach of a quarter of a second
_WINDOWS = frozenset({"held", "within", "change", "highest", "lowest"})
_OF_TIME = frozenset({"time", UNBROKEN_SINCE})
_RATES = {"m": "m/s", "rad": "rad/s", "kg": "kg/s", "": ""}
_HALF_CIRCLE, _CIRCLE = 180.0, 360.0  # deg


def latest(mask: Mask, time: Floats) -> Floats:
    """Return for each row the time of the latest row, itself included, where a mask is true; -inf before."""
    return np.maximum.accumulate(np.where(mask, time, -np.inf))


def rows_at(time: Floats, moments: Floats, *, after: bool = False) -> NDArray[np.intp]:
    """Return ``numpy.searchsorted`` of moments that rise from row to row as time does.

    Part by part, each in the short stretch of time that it can only be in.
    """
    side: Literal["left", "right"] = "right" if after else "left"
    found = np.empty(len(moments), np.intp)
    for begin in range(0, len(moments), _LOOKED_UP):
        part = moments[begin : begin + _LOOKED_UP]
        first, last = np.searchsorted(time, part[[0, -1]], side=side)
        found[begin : begin + len(part)] = first + np.searchsorted(time[first:last], part, side=side)
    return found


def number_at(numbers: Floats, time: Floats, unbroken: Floats, moment: float) -> float:
    """Return a column's value at a moment: between samples on a straight line, but never over a break.

    NaN before the first sample and where a neighbour is unknown. Of two compass readings on either side of
    north it takes the nearer in time.
    """
    row = int(np.searchsorted(time, moment, side="right")) - 1
    if row < 0:
        return float(numbers[0]) if len(time) and time[0] - moment < SLACK else float("nan")
    last = row + 1 >= len(time)
    if last or time[row] == moment or unbroken[row + 1] > time[row]:
        return float(numbers[row])
    share = float((moment - time[row]) / (time[row + 1] - time[row]))
    before, after = float(numbers[row]), float(numbers[row + 1])
    if abs(after - before) > _HALF_CIRCLE and 0 <= min(before, after) <= max(before, after) <= _CIRCLE:
        return before if share < 0.5 else after
    return before + share * (after - before)


def _clock(columns: Columns) -> tuple[Floats, Floats]:
    return columns.read("time", SECONDS), columns.read(UNBROKEN_SINCE, SECONDS)


def _window(seconds: Floats, columns: Columns) -> tuple[Floats, Floats, Mask]:
    """Return the time, where each row's window begins, and whether all of it was recorded without a break."""
    time, unbroken = _clock(columns)
    begin = time - seconds - SLACK
    return time, np.maximum(begin, unbroken), unbroken <= begin + 2 * SLACK


def _held(arguments: Sequence[Any], columns: Columns) -> Truth:
    condition, seconds = arguments
    time, begin, whole = _window(seconds, columns)
    broken = latest(condition.no, time) >= begin
    doubtful = latest(~condition.yes, time) >= begin
    return Truth(whole & ~doubtful, broken)


def _within(arguments: Sequence[Any], columns: Columns) -> Truth:
    condition, seconds = arguments
    time, begin, whole = _window(seconds, columns)
    found = latest(condition.yes, time) >= begin
    possible = latest(~condition.no, time) >= begin
    return Truth(found, whole & ~possible)


def _rate(arguments: Sequence[Any], columns: Columns) -> Floats:
    return slope(arguments[0], columns.read(SLOPE, SECONDS), columns.read("time", SECONDS))


def slope(numbers: Floats, reach: Floats, time: Floats) -> Floats:
    """Return how fast numbers change, a second, over the rows that ``slope_reach`` packs."""
    before, after = slope_rows(reach)
    with np.errstate(all="ignore"):
        span = time[after] - time[before]
        return (numbers[after] - numbers[before]) / np.where(span > 0, span, np.nan)


def slope_rows(reach: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the two rows between which each row's slope is taken."""
    packed = reach.astype(np.int64)
    rows = np.arange(len(reach))
    return rows - packed // _PACK, rows + packed % _PACK


def even_reach(time: Floats, unbroken: Floats) -> int | None:
    """Return how many rows ``HALF_SPAN`` is on a clock with even steps; None where they are not even."""
    steps = np.diff(time)[np.diff(unbroken) == 0]
    if len(steps) and steps.max() - steps.min() < _EVEN * steps.min():
        return int((HALF_SPAN + SLACK) / steps.mean())
    return None


def slope_reach(time: Floats, unbroken: Floats, even: int | None) -> Floats:
    """Return how many rows each row's slope reaches back and forward, packed into one number.

    ``HALF_SPAN`` on either side, or at least the neighbours, within its unbroken stretch. One number, so that
    it can be a column like any other, made once for all rates. ``even`` is what ``even_reach`` says of the
    whole flight.
    """
    count = len(time)
    rows = np.arange(count)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(unbroken)) + 1))
    lengths = np.diff(np.append(starts, count))
    first, last = np.repeat(starts, lengths), np.repeat(starts + lengths - 1, lengths)
    if even is not None:
        before, after = rows - even, rows + even
    else:
        before = rows_at(time, time - HALF_SPAN - SLACK)
        after = rows_at(time, time + HALF_SPAN + SLACK, after=True) - 1
    before = np.maximum(np.minimum(before, rows - 1), first)
    after = np.minimum(np.maximum(after, rows + 1), last)
    back, forward = (np.minimum(one, _PACK - 1) for one in (rows - before, after - rows))
    return (back * _PACK + forward).astype(np.float64)


def _rate_type(types: Sequence[Type]) -> Type:
    of = types[0]
    assert isinstance(of, NumberType)
    if of.unit not in _RATES:
        raise ValueError(f"takes no rate of {of}. Write change(x, s(1)): the change over one second")
    return NumberType(_RATES[of.unit])


def _change(arguments: Sequence[Any], columns: Columns) -> Floats:
    numbers, seconds = arguments
    time, _, whole = _window(seconds, columns)
    then = np.asarray(np.interp(time - seconds, time, numbers), np.float64)
    return np.where(whole, numbers - then, np.nan)


def _highest(arguments: Sequence[Any], columns: Columns) -> Floats:
    return _extreme(arguments[0], arguments[1], columns)


def _lowest(arguments: Sequence[Any], columns: Columns) -> Floats:
    return -_extreme(-arguments[0], arguments[1], columns)


def _extreme(numbers: Floats, seconds: Floats, columns: Columns) -> Floats:
    """Return the greatest of each row's window by doubling: the greatest of the last 1, 2, 4, ... rows."""
    time, begin, _ = _window(seconds, columns)
    rows = np.arange(len(time))
    first = np.minimum(rows_at(time, begin), rows)
    length = rows - first + 1
    level = np.frexp(length)[1] - 1  # the largest power of two that fits
    result = np.array(numbers, np.float64)
    greatest = result.copy()
    for power in range(1, int(level.max(initial=0)) + 1):
        half = 1 << (power - 1)
        greatest = np.concatenate((greatest[:half], np.maximum(greatest[half:], greatest[:-half])))
        here = np.flatnonzero(level == power)
        # The window is covered by two runs of this length: one that ends here, one that begins where it does.
        result[here] = np.maximum(greatest[here], greatest[first[here] + (1 << power) - 1])
    return result


def _at(arguments: Sequence[Any], columns: Columns) -> Floats:
    name, numbers = arguments
    time, unbroken = _clock(columns)
    moments: Floats = columns.read((EVENT, name), SECONDS)
    result = np.full(len(time), np.nan)
    begin = int(np.searchsorted(~np.isnan(moments), True))  # before its first event it has no time
    while begin < len(time):
        moment = float(moments[begin])
        # Only from here on are they in order: the rows before the first event have none.
        end = begin + int(np.searchsorted(moments[begin:], moment, side="right"))
        result[begin:end] = number_at(numbers, time, unbroken, moment)
        begin = end
    return result


def _since(arguments: Sequence[Any], columns: Columns) -> Floats:
    return columns.read("time", SECONDS) - columns.read((EVENT, arguments[0]), SECONDS)


def _count(arguments: Sequence[Any], columns: Columns) -> Floats:
    counted = np.zeros(len(arguments[0]))
    for one in arguments:
        counted += one.yes
        if not (known := np.logical_or(one.yes, one.no)).all():
            counted[~known] = np.nan
    return counted


TIME_FUNCTIONS: dict[str, Function] = {
    "held": Function((TRUTH, SECONDS), TRUTH, _held, reads=_OF_TIME),
    "within": Function((TRUTH, SECONDS), TRUTH, _within, reads=_OF_TIME),
    "rate": Function((SameNumber(temperatures=False),), _rate_type, _rate, reads=_OF_TIME),
    "change": Function((SameNumber(temperatures=False), SECONDS), SameNumber(), _change, reads=_OF_TIME),
    "highest": Function((SameNumber(), SECONDS), SameNumber(), _highest, reads=_OF_TIME),
    "lowest": Function((SameNumber(), SECONDS), SameNumber(), _lowest, reads=_OF_TIME),
    "at": Function((EVENTS, SameNumber()), SameNumber(), _at, reads=_OF_TIME),
    "since": Function((EVENTS,), SECONDS, _since, reads=_OF_TIME),
    "count": Function((TRUTH,), PLAIN, _count, repeats=True),
}
"""What rules may call beside the functions of every expression."""


@dataclass(frozen=True, slots=True)
class Reach:
    """Which other rows an expression needs for the value of one."""

    seconds: float
    """Before the row."""
    rates: int
    """So often ``HALF_SPAN``, or one row, on either side."""
    events: tuple[str, ...]
    """Back to the latest of these."""


def reach_of(expression: Expression) -> Reach | None:
    """Return how far an expression reaches; None where that is not told by its text.

    Windows inside windows add up, so all that it has are added.
    """
    seconds, rates = 0.0, 0
    events: list[str] = []
    for name, constants in expression.calls():
        if name in _WINDOWS:
            if not isinstance(constants[1], float):
                return None
            seconds += max(constants[1], 0.0)
        rates += name == "rate"
        if name == "at":
            events.append(str(constants[0]))
    return Reach(seconds, rates, tuple(events))


def looks_back(facts: frozenset[Any]) -> bool:
    """Return whether an expression that depends on these facts needs earlier rows than its own."""
    return bool(facts & _OF_TIME)
