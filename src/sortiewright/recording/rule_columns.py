"""Every column that rules speak of on one flight: channels, limits, figures of the plan, derived values.

Each is worked out when a rule first asks for it, once, over the rows of the whole flight.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions import Choices, Columns, Expression, Truth, Type
from sortiewright.pack import CHANNELS, Table
from sortiewright.recording.judging_names import event_said, none_of
from sortiewright.recording.moments import Flight
from sortiewright.recording.place import AlongRunway
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_derived import DERIVED, HAPPENED, NOT_RECORDED, RUNWAY
from sortiewright.recording.rule_limits import PackNumber
from sortiewright.recording.time_functions import EVENT, SLOPE, UNBROKEN_SINCE, Floats, slope_reach
from sortiewright.sortie import Kind, Plan, find_figure

PLANNED = "planned_"


@dataclass(eq=False)
class FlightValues(Mapping[Any, Any]):
    """The values of one flight by name, as expressions look them up; None for what is not there."""

    recording: Recording
    flight: Flight
    numbers: Mapping[str, PackNumber]
    plan: Plan | None = None
    runway: AlongRunway | None = None
    _made: dict[Any, Any] = field(default_factory=dict[Any, Any], repr=False)

    @property
    def rows(self) -> int:
        """Number of samples of the flight."""
        return self.flight.end - self.flight.begin

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
            return slope_reach(self["time"], self[UNBROKEN_SINCE])
        if (column := self.recording.columns.get(fact)) is not None:
            return self.cut(column)
        if fact in self.numbers:
            return self._pack_number(self.numbers[fact])
        if fact in DERIVED:
            return DERIVED[fact].make(self)
        if fact.startswith(PLANNED):
            return self._planned(fact.removeprefix(PLANNED))
        return None

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
        return np.array([event.time for event in self.flight.events if event.name == name], np.float64)

    def _latest_event(self, name: str) -> Floats:
        moments = self.events(name)
        time: Floats = self["time"]
        places = np.searchsorted(moments, time, side="right")
        return np.concatenate(([np.nan], moments))[places]

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
        return not bool(np.isnan(array).all())
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

    One that looks back in time is evaluated over the whole flight, any other over the rows asked for.
    ``shared`` names the texts that several rules hold: each is evaluated once for the same rows.
    """

    def __init__(
        self,
        values: FlightValues,
        shared: frozenset[str],
        whole: SharedColumns | None = None,
        begin: int = 0,
        end: int = 0,
    ) -> None:
        super().__init__(values, values.rows if whole is None else end - begin)
        self.flight_values = values
        self._shared = shared
        self._whole = whole
        self._begin, self._end = begin, end
        self._known: dict[tuple[str, Type], Any] = {}
        self._parts: dict[tuple[int, int], SharedColumns] = {}

    def part(self, begin: int, end: int) -> SharedColumns:
        """Return the columns of some rows of the flight."""
        if (begin, end) == (0, self.rows):
            return self
        if (begin, end) not in self._parts:
            self._parts[begin, end] = SharedColumns(self.flight_values, self._shared, self, begin, end)
        return self._parts[begin, end]

    def read(self, fact: Any, of: Type) -> Any:
        """Return a column, as its type has it."""
        if self._whole is None:
            return super().read(fact, of)
        return _cut(self._whole.read(fact, of), self._begin, self._end)

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
            value = _cut(self._whole._evaluated(expression, True, how), self._begin, self._end)
        else:
            value = how(expression, self, self.rows)
        # Over the whole flight what looks back is kept: the parts of it are asked for one by one.
        if expression.text in self._shared or (looks_back and self._whole is None):
            self._known[key] = value
        return value


def _cut(value: Any, begin: int, end: int) -> Any:
    if isinstance(value, Truth):
        return Truth(value.yes[begin:end], value.no[begin:end])
    if isinstance(value, Choices):
        return Choices(value.codes[begin:end], value.words)
    return value if isinstance(value, str) else value[begin:end]
