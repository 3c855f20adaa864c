"""Tables of measured or published values over one to three axes, read by linear interpolation only."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class OutsideTable(ValueError):
    """A table was asked outside its data."""

    def __init__(self, table: str, axis: str, value: float, low: float, high: float, unit: str) -> None:
        self.table, self.axis, self.value, self.low, self.high, self.unit = (
            table,
            axis,
            value,
            low,
            high,
            unit,
        )
        super().__init__(
            f"table {table}, axis {axis}: {value:.6g} is outside {low:.6g} to {high:.6g} {unit}".rstrip()
            + ". Extend the table or change the condition."
        )


class AxisPoints:
    """Values along one axis of many tables: where they lie is found once for each set of points an axis has.

    Stands for an array wherever a table is read. Worth it where several tables are read at the same values.
    """

    __slots__ = ("_places", "values")

    def __init__(self, values: ArrayLike) -> None:
        self.values: Floats = np.asarray(values, dtype=np.float64)
        self._places: dict[bytes, tuple[Any, Any]] = {}

    def place(self, table: Table, number: int) -> tuple[Any, Any]:
        """Return the cell of each value along an axis of a table, and how far into it; raises
        ``OutsideTable``."""
        key = table.axis_keys[number]
        found = self._places.get(key)
        if found is None:
            found = self._places[key] = table.place(number, self.values)
        return found


TablePoint = ArrayLike | AxisPoints


@dataclass(frozen=True, repr=False)
class Table:
    """Values on a rectangular grid.

    ``axes`` are strictly increasing, in SI; ``values`` has one dimension an axis. ``names`` and ``units``
    describe the axes for messages and drawings only.
    """

    name: str
    axes: tuple[Floats, ...]
    values: Floats
    names: tuple[str, ...]
    units: tuple[str, ...]
    unit: str = ""
    source: str = ""
    _flat: Floats = field(init=False, repr=False, compare=False)
    _strides: tuple[int, ...] = field(init=False, repr=False, compare=False)
    _ends: tuple[tuple[float, float], ...] = field(init=False, repr=False, compare=False)
    _steps: tuple[list[float], ...] = field(init=False, repr=False, compare=False)
    _inner: tuple[Floats, ...] = field(init=False, repr=False, compare=False)
    _widths: tuple[Floats, ...] = field(init=False, repr=False, compare=False)
    _corners: tuple[Floats, ...] = field(init=False, repr=False, compare=False)
    """Of a table of two axes: the values from each corner of the first cell on, so that one index serves."""
    axis_keys: tuple[bytes, ...] = field(init=False, repr=False, compare=False)
    """Of each axis what is the same in every table with the same points along it."""

    def __post_init__(self) -> None:
        shape = tuple(len(axis) for axis in self.axes)
        if self.values.shape != shape:
            raise ValueError(
                f"table {self.name}: values have shape {self.values.shape}, the axes say {shape}"
            )
        for name, axis in zip(self.names, self.axes, strict=True):
            if len(axis) < 1 or not np.all(np.diff(axis) > 0):
                raise ValueError(
                    f"table {self.name}: axis {name} must increase strictly, got {axis.tolist()}"
                )
        if not np.all(np.isfinite(self.values)):
            raise ValueError(f"table {self.name}: a value is missing or not finite")
        object.__setattr__(self, "_flat", np.ascontiguousarray(self.values).ravel())
        strides = [int(np.prod(shape[number + 1 :], dtype=np.intp)) for number in range(len(shape))]
        object.__setattr__(self, "_strides", tuple(strides))
        object.__setattr__(self, "_ends", tuple((float(axis[0]), float(axis[-1])) for axis in self.axes))
        object.__setattr__(self, "_steps", tuple([float(step) for step in axis] for axis in self.axes))
        object.__setattr__(self, "_inner", tuple(axis[1:-1] for axis in self.axes))
        object.__setattr__(self, "_widths", tuple(axis[1:] - axis[:-1] for axis in self.axes))
        object.__setattr__(self, "axis_keys", tuple(axis.tobytes() for axis in self.axes))
        starts = (0, 1, strides[0], strides[0] + 1) if len(shape) == 2 and min(shape) > 1 else ()
        object.__setattr__(self, "_corners", tuple(self._flat[start:] for start in starts))

    def __repr__(self) -> str:
        axes = ", ".join(f"{name} {len(axis)}" for name, axis in zip(self.names, self.axes, strict=True))
        return f"Table({self.name}: {axes})"

    def __call__(self, *points: TablePoint) -> Floats:
        """Return the linear interpolation at ``points`` (one array an axis; they broadcast).

        Raises ``OutsideTable`` if any point lies outside; rounding error of 1e-9 of the range is forgiven.
        """
        if len(points) != len(self.axes):
            raise TypeError(f"table {self.name} has {len(self.axes)} axes, {len(points)} values were given")
        placed = [
            point.place(self, number) if isinstance(point, AxisPoints) else self.place(number, point)
            for number, point in enumerate(points)
        ]
        if self._corners:  # by far the most frequent: without recursion
            (row, across), (column, along) = placed
            corners: Any = self._corners
            near, beside, up, beyond = corners
            place: Any = row * self._strides[0] + column
            low: Any = near.take(place)
            high: Any = up.take(place)
            low = low + (beside.take(place) - low) * along
            high = high + (beyond.take(place) - high) * along
            return np.asarray(low + (high - low) * across)
        if len(placed) == 1 and len(self.axes[0]) > 1:
            ((cell, along),) = placed
            flat: Any = self._flat
            start: Any = flat.take(cell)
            return np.asarray(start + (flat.take(cell + 1) - start) * along)
        index: Any = 0
        for (cell, _), stride in zip(placed, self._strides, strict=True):
            index = index + cell * stride
        return np.asarray(self._fold(index, placed, 0), dtype=np.float64)

    def lines(self, point: TablePoint) -> Floats:
        """Return the values at every point of the first axis, (k, ...), and at ``point`` of the second.

        Of a table of two axes; the same as asking for the points of the first axis themselves. Raises
        ``OutsideTable`` as a call does.
        """
        cell, along = point.place(self, 1) if isinstance(point, AxisPoints) else self.place(1, point)
        values: Any = self.values
        low: Any = values.take(cell, axis=1)
        if len(self.axes[1]) == 1:
            return np.asarray(low)
        return np.asarray(low + (values.take(cell + 1, axis=1) - low) * along)

    def _fold(self, index: Any, placed: list[tuple[Any, Any]], axis: int) -> Any:
        if axis == len(placed):
            flat: Any = self._flat
            return flat.take(index)
        _, weight = placed[axis]
        low = self._fold(index, placed, axis + 1)
        if len(self.axes[axis]) == 1:
            return low + 0.0 * weight
        high = self._fold(index + self._strides[axis], placed, axis + 1)
        return low + (high - low) * weight

    def place(self, number: int, at: ArrayLike) -> tuple[Any, Any]:
        """Return the cell of each point along an axis, and how far into it; raises ``OutsideTable``."""
        axis = self.axes[number]
        low, high = self._ends[number]
        slack = 1e-9 * (high - low) + 1e-12
        point = np.asarray(at, dtype=np.float64)
        if point.ndim == 0:
            value = float(point)
            if not low - slack <= value <= high + slack:
                raise OutsideTable(self.name, self.names[number], value, low, high, self.units[number])
            if len(axis) == 1:
                return 0, 0.0
            cell = min(max(bisect_right(self._steps[number], value) - 1, 0), len(axis) - 2)
            base = self._steps[number][cell]
            return cell, (value - base) / (self._steps[number][cell + 1] - base)
        # Where the least and the greatest stand is found in a quarter of the time that a reduction takes.
        if point.size and not (
            point.item(point.argmin()) >= low - slack and point.item(point.argmax()) <= high + slack
        ):
            bad = point[~((point >= low - slack) & (point <= high + slack))].ravel()
            name, unit = self.names[number], self.units[number]
            raise OutsideTable(self.name, name, float(bad[0]), low, high, unit)
        if len(axis) == 1:
            return np.zeros(point.shape, dtype=np.intp), np.zeros(point.shape)
        cells = self._inner[number].searchsorted(point, side="right")
        return cells, (point - axis.take(cells)) / self._widths[number].take(cells)

    def range_of(self, axis: str) -> tuple[float, float]:
        """Return the first and last value of the named axis, SI."""
        grid = self.axes[self.names.index(axis)]
        return float(grid[0]), float(grid[-1])


def make_table(
    name: str,
    axes: dict[str, Sequence[float] | Floats],
    values: ArrayLike,
    *,
    units: Sequence[str] | None = None,
    unit: str = "",
    source: str = "",
) -> Table:
    """Return a table from SI axes and values, for code that has no file (samplers, fits, tests)."""
    return Table(
        name,
        tuple(np.asarray(axis, dtype=np.float64) for axis in axes.values()),
        np.asarray(values, dtype=np.float64),
        tuple(axes),
        tuple(units or [""] * len(axes)),
        unit,
        source,
    )
