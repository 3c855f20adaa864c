"""Tables of measured or published values over one to three axes, read by linear interpolation only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class OutsideTable(ValueError):
    """A table was asked outside its data."""

    def __init__(self, table: str, axis: str, value: float, low: float, high: float, unit: str) -> None:
        self.table, self.axis, self.value, self.low, self.high, self.unit = table, axis, value, low, high, unit
        super().__init__(
            f"table {table}, axis {axis}: {value:.6g} is outside {low:.6g} to {high:.6g} {unit}".rstrip()
            + ". Extend the table or change the condition."
        )


@dataclass(frozen=True)
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

    def __post_init__(self) -> None:
        shape = tuple(len(axis) for axis in self.axes)
        if self.values.shape != shape:
            raise ValueError(f"table {self.name}: values have shape {self.values.shape}, the axes say {shape}")
        for name, axis in zip(self.names, self.axes, strict=True):
            if len(axis) < 1 or not np.all(np.diff(axis) > 0):
                raise ValueError(f"table {self.name}: axis {name} must increase strictly, got {axis.tolist()}")
        if not np.all(np.isfinite(self.values)):
            raise ValueError(f"table {self.name}: a value is missing or not finite")
        object.__setattr__(self, "_flat", np.ascontiguousarray(self.values).ravel())

    def __call__(self, *points: ArrayLike) -> Floats:
        """Return the linear interpolation at ``points`` (one array an axis; they broadcast).

        Raises ``OutsideTable`` if any point lies outside; rounding error of 1e-9 of the range is forgiven.
        """
        total: Floats | None = None
        corners: list[tuple[NDArray[np.intp] | int, Floats | float]] = [(0, 1.0)]
        stride = self._flat.size
        for axis, name, unit, point in zip(self.axes, self.names, self.units, points, strict=True):
            stride //= len(axis)
            low, weight = self._place(axis, name, unit, np.asarray(point, dtype=np.float64))
            if len(axis) == 1:
                continue
            step = low * stride
            corners = [(i + step, w * (1.0 - weight)) for i, w in corners] + [
                (i + (step + stride), w * weight) for i, w in corners
            ]
        for index, weight in corners:
            part = self._flat[index] * weight
            total = part if total is None else total + part
        shape = np.broadcast_shapes(*(np.shape(point) for point in points))
        result = np.asarray(total, dtype=np.float64)
        return result if result.shape == shape else np.broadcast_to(result, shape)

    def _place(self, axis: Floats, name: str, unit: str, point: Floats) -> tuple[NDArray[np.intp], Floats]:
        slack = 1e-9 * (axis[-1] - axis[0]) + 1e-12
        low, high = axis[0], axis[-1]
        smallest, largest = point.min(initial=np.inf), point.max(initial=-np.inf)
        if not (smallest >= low - slack and largest <= high + slack):
            bad = point[~((point >= low - slack) & (point <= high + slack))].ravel()
            raise OutsideTable(self.name, name, float(bad[0]), float(low), float(high), unit)
        if len(axis) == 1:
            return np.zeros(point.shape, dtype=np.intp), np.zeros(point.shape)
        cell = np.searchsorted(axis, point, side="right") - 1
        cell = np.minimum(np.maximum(cell, 0), len(axis) - 2)
        base = axis[cell]
        return cell, (point - base) / (axis[cell + 1] - base)

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
