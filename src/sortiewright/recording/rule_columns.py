"""Every column that rules speak of on one flight: channels, limits, figures of the plan, derived values.

Each is worked out when a rule first asks for it, over the rows that the rule looks at: of a long flight most
rules look at a few minutes, and one that looks back at as much more as it reaches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions import Choices, ChoiceType, Columns, Expression, Truth, Type
from sortiewright.pack import CHANNELS, Table
from sortiewright.recording.judging_names import event_said, none_of
from sortiewright.recording.moments import Flight
from sortiewright.recording.place import AlongRunway
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_derived import DERIVED, HAPPENED, NOT_RECORDED, RUNWAY, WHOLE, Derived
from sortiewright.recording.rule_limits import PackNumber
from sortiewright.recording.time_functions import (
    EVENT,
    HALF_SPAN,
    SLACK,
    SLOPE,
    UNBROKEN_SINCE,
    Floats,
    Reach,
    even_reach,
    reach_of,
    slope_reach,
)
from sortiewright.sortie import Kind, Plan, find_figure

PLANNED = "planned_"
EVEN = "even_reach"
"""What no text can name: see ``even_reach``."""
_SHARE_OF_WHOLE = 0.5
"""Rows of a flight from which on an expression is evaluated on all of it, and kept."""


@dataclass(eq=False)
class FlightValues(Mapping[Any, Any]):
    """The values of one flight by name, as expressions look them up; None for what is not there."""

    recording: Recording
    flight: Flight
    numbers: Mapping[str, PackNumber]
    plan: Plan | None = None
    runway: AlongRunway | None = None
    whole: FlightValues | None = field(default=None, repr=False)
    """The flight of which these are some rows; None for a whole flight."""
    _made: dict[Any, Any] = field(default_factory=dict[Any, Any], repr=False)
    _reasons: dict[Any, str] = field(default_factory=dict[Any, str], repr=False)

    @property
    def rows(self) -> int:
        """Number of samples of the flight."""
        return self.flight.end - self.flight.begin

    def part(self, begin: int, end: int) -> FlightValues:
        """Return the values of some rows, counted from the first of these."""
        first = self.flight.begin
        flight = self.flight
        rows = Flight(first + begin, first + end, flight.phases, flight.events, flight.labels, flight.notes)
        whole = self if self.whole is None else self.whole
        return FlightValues(self.recording, rows, self.numbers, self.plan, self.runway, whole)

    def reached(self, reach: Reach, begin: int, end: int) -> tuple[int, int]:
        """Return the rows of the whole flight that an expression on some of them needs."""
        time: Floats = self["time"]
        moment = float(time[begin])
        for _ in reach.events:
            moment -= reach.seconds
            earlier = (self.events(name) for name in reach.events)
            moment = min([moment, *(float(one[one <= moment].max(initial=-np.inf)) for one in earlier)])
            # What is known at an event in a gap is known since the sample before the gap.
            moment = float(time[max(int(np.searchsorted(time, moment, side="right")) - 1, 0)])
        spare = reach.rates * HALF_SPAN + 10 * SLACK
        first = int(np.searchsorted(time, moment - reach.seconds - spare)) - reach.rates - 2
        last = int(np.searchsorted(time, float(time[end - 1]) + spare)) + reach.rates + 2
        return max(first, 0), min(last, self.rows)

    def cut(self, column: NDArray[Any]) -> NDArray[Any]:
        """Return the flight's part of a column of the recording."""
        return column[self.flight.begin : self.flight.end]

    def breaks(self) -> NDArray[np.intp]:
        """Return the rows of the flight before which samples do not go on from those before."""
        rows = np.asarray(self.recording.breaks, dtype=np.intp) - self.flight.begin
        return rows[(rows > 0) & (rows < self.rows)]

    def __getitem__(self, fact: Any) -> Any:
        if fact not in self._made:
            self._made[fact] = self._make(fact)
        return self._made[fact]

    def get(self, fact: Any, default: Any = None) -> Any:
        """Return the value of a name or call; the default for what is not there."""
        found = self[fact]
        return default if found is None else found

    def __iter__(self) -> Iterator[Any]:
        return iter(self._made)

    def __len__(self) -> int:
        return len(self._made)

    def number(self, name: str) -> Floats | None:
        """Return a column of numbers, or None where there is none."""
        found = self[name]
        if found is None or np.ndim(found) == 0:
            return None if found is None else np.full(self.rows, float(found))
        return np.asarray(found, dtype=np.float64)

    def _make(self, fact: Any) -> Any:
        if isinstance(fact, tuple):
            return self._call(cast("tuple[str, ...]", fact))
        if fact == "time":
            return self.cut(self.recording.time)
        if fact == UNBROKEN_SINCE:
            return self._unbroken_since()
        if fact == SLOPE:
            return slope_reach(self["time"], self[UNBROKEN_SINCE], (self.whole or self)[EVEN])
        if fact == EVEN:
            return even_reach(self["time"], self[UNBROKEN_SINCE])
        if (column := self.recording.columns.get(fact)) is not None:
            return self.cut(column)
        if fact in self.numbers:
            return self._pack_number(self.numbers[fact])
        if fact in DERIVED:
            return self._derived(fact, DERIVED[fact])
        if fact.startswith(PLANNED):
            return self._planned(fact.removeprefix(PLANNED))
        return None

    def _derived(self, fact: str, derived: Derived) -> Any:
        whole = self.whole
        if whole is None or (derived.reach == 0.0 and fact not in whole._made):
            return derived.make(self)
        begin = self.flight.begin - whole.flight.begin
        if derived.reach == WHOLE or fact in whole._made:
            made, first = whole[fact], 0
        else:
            first, last = whole.reached(Reach(0.0, 1, ()), begin, begin + self.rows)
            made = derived.make(whole.part(first, last))
        return made if made is None else made[begin - first : begin - first + self.rows]

    def _call(self, fact: tuple[str, ...]) -> Any:
        if fact[0] == EVENT:
            return self._latest_event(fact[1])
        # The fuel of a tank: the reader keeps calls under the key that expressions look up.
        column: Any = self.recording.columns.get(fact)  # type: ignore[call-overload]
        column = self.recording.columns.get("_".join(fact)) if column is None else column
        return None if column is None else self.cut(column)

    def _unbroken_since(self) -> Floats:
        starts = np.concatenate(([0], self.breaks()))
        lengths = np.diff(np.append(starts, self.rows))
        time: Floats = self["time"]
        return np.repeat(time[starts], lengths) if self.rows else time

    def events(self, name: str) -> Floats:
        """Return the times of an event, s, in order."""
        key = EVENT, name, "all"
        if key not in self._made:
            times = [event.time for event in self.flight.events if event.name == name]
            self._made[key] = np.array(times, np.float64)
        return self._made[key]

    def _latest_event(self, name: str) -> Floats:
        moments = self.events(name)
        time: Floats = self["time"]
        starts = np.searchsorted(time, moments)
        lengths = np.diff(np.concatenate(([0], starts, [len(time)])))
        return np.repeat(np.concatenate(([np.nan], moments)), lengths)

    def _planned(self, name: str) -> float | None:
        figure = find_figure(self.plan, name) if self.plan is not None else None
        if figure is None or figure.value is None:
            return None
        return math.radians(figure.value) if figure.kind == Kind.COURSE else figure.value

    def _pack_number(self, number: PackNumber) -> Any:
        if not isinstance(number.value, Table):
            return number.value
        at = self[number.over]
        return None if at is None else read_inside(number.value, at)

    def why_missing(self, fact: Any) -> str:
        """Return in words why a value is not known anywhere on this flight; empty where it is known."""
        if fact not in self._reasons:
            self._reasons[fact] = self._why_missing(fact)
        return self._reasons[fact]

    def _why_missing(self, fact: Any) -> str:
        if isinstance(fact, tuple):
            name = " ".join(str(part) for part in cast("tuple[Any, ...]", fact))
            return "" if _has_values(self[fact]) else f"the recording has no {said(name)}"
        if fact in ("time", UNBROKEN_SINCE) or _has_values(self[fact]):
            return ""
        if fact in CHANNELS:
            return f"the recording has no {fact.replace('_', ' ')}"
        if fact.startswith(PLANNED):
            return self._why_unplanned(fact.removeprefix(PLANNED))
        if fact in self.numbers:
            return self.why_missing(self.numbers[fact].over) or f"{said(fact)} is not given for this flight"
        needs = DERIVED[fact].needs
        reasons = [reason for need in needs if (reason := self._why_without(need))]
        return reasons[0] if reasons else f"{said(fact)} cannot be told"

    def _why_without(self, need: str) -> str:
        if need == RUNWAY and self.runway is not None:
            return ""
        if need.startswith(HAPPENED):
            name = need.removeprefix(HAPPENED)
            return "" if len(self.events(name)) else none_of([event_said(name)])
        return NOT_RECORDED[need] if need in NOT_RECORDED else self.why_missing(need)

    def _why_unplanned(self, name: str) -> str:
        if self.plan is None:
            return "no plan was given"
        figure = find_figure(self.plan, name)
        if figure is None:
            return f"the plan has no {said(name)}"
        return f"the plan has no value for {said(name)}" + (f": {figure.problem}" if figure.problem else "")


def said(name: str) -> str:
    """Return a name as words."""
    return name.replace("_", " ")


def _has_values(value: Any) -> bool:
    if value is None:
        return False
    array = np.asarray(value)
    if array.dtype.kind in "fc":
        # Most columns have a value soon.
        return not np.isnan(array.flat[:1000]).all() or not bool(np.isnan(array).all())
    return array.size > 0


def read_inside(table: Table, at: Any) -> Floats | float:
    """Return a table of one axis where it has data, and NaN outside: nothing is extrapolated."""
    low, high = table.range_of(table.names[0])
    points = np.atleast_1d(np.asarray(at, np.float64))
    inside = (points >= low) & (points <= high)
    read = np.full(points.shape, np.nan)
    if inside.any():
        read[inside] = table(points[inside])
    return read if np.ndim(at) else float(read[0])


class SharedColumns(Columns):
    """The columns of a flight, or of some of its rows, and what expressions on them come to.

    ``shared`` names the texts that several rules hold: each is evaluated once for the same rows.
    """

    def __init__(
        self,
        values: FlightValues,
        shared: frozenset[str],
        whole: SharedColumns | None = None,
        begin: int = 0,
    ) -> None:
        super().__init__(values, values.rows)
        self.flight_values = values
        self._shared = shared
        self._whole = whole
        self._begin, self._end = begin, begin + values.rows
        self._known: dict[tuple[str, Type], Any] = {}
        self._parts: dict[tuple[int, int], SharedColumns] = {}
        self._reaches: dict[str, Reach | None] = {}

    def part(self, begin: int, end: int) -> SharedColumns:
        """Return the columns of some rows of the flight."""
        if (begin, end) == (0, self.rows):
            return self
        if (begin, end) not in self._parts:
            self._parts[begin, end] = self._lone_part(begin, end)
        return self._parts[begin, end]

    def _lone_part(self, begin: int, end: int) -> SharedColumns:
        return SharedColumns(self.flight_values.part(begin, end), self._shared, self, begin)

    def value(self, fact: Any, of: Type) -> Any:
        """Return a column, as its type has it, or the one value that it has throughout."""
        whole = self._whole
        # Words take long to compare, so that is done once for the flight.
        if whole is not None and ((fact, of) in whole._read or isinstance(of, ChoiceType)):
            return _cut(whole.value(fact, of), self._begin, self._end)
        return super().value(fact, of)

    def truths(self, expression: Expression, looks_back: bool = False) -> Truth:
        """Return where a condition is true and where it is false."""
        return self._evaluated(expression, looks_back, Expression.truths)

    def numbers(self, expression: Expression, looks_back: bool = False) -> Floats:
        """Return a number's column; of one value it is a view without strides."""
        return self._evaluated(expression, looks_back, Expression.numbers)

    def _evaluated(self, expression: Expression, looks_back: bool, how: Any) -> Any:
        key = (expression.text, expression.type)
        if key in self._known:
            return self._known[key]
        if looks_back and self._whole is not None:
            value = self._whole._reaching_back(expression, self._begin, self._end, how)
        else:
            value = how(expression, self, self.rows)
        if expression.text in self._shared or (looks_back and self._whole is None):
            self._known[key] = value
        return value

    def _reaching_back(self, expression: Expression, begin: int, end: int, how: Any) -> Any:
        """Return what an expression comes to on some rows, evaluated on all the rows that they depend on."""
        text = expression.text
        if text not in self._reaches:
            self._reaches[text] = reach_of(expression)
        reach = self._reaches[text]
        if reach is not None and (text, expression.type) not in self._known:
            first, last = self.flight_values.reached(reach, begin, end)
            if last - first < _SHARE_OF_WHOLE * self.flight_values.rows:
                value = how(expression, self._lone_part(first, last), last - first)
                return _cut(value, begin - first, end - first)
        return _cut(self._evaluated(expression, True, how), begin, end)


def _cut(value: Any, begin: int, end: int) -> Any:
    if isinstance(value, Truth):
        return Truth(_cut(value.yes, begin, end), _cut(value.no, begin, end))
    if isinstance(value, Choices):
        return Choices(_cut(value.codes, begin, end), value.words)
    return value[begin:end] if np.ndim(value) else value
