"""Columns that are worked out for the rows that are asked for only, and conditions on them.

Of a recording of hours most signals matter for some seconds about a takeoff or a landing. Smoothed, scaled or
joined over all of it, each would be another copy of a channel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sortiewright.recording.hysteresis import Column, Floats, Truths, Where, median_of_three

_BLOCK = 1 << 14  # rows at once, so that what is worked out stays in the processor's cache


@dataclass(frozen=True, slots=True)
class Lowered:
    """A column less a constant."""

    values: Column
    by: float

    def __getitem__(self, rows: Any) -> Any:
        """Return the values of a row, of several, or of a slice."""
        return self.values[rows] - self.by


@dataclass(frozen=True, slots=True)
class Share:
    """How far a column has come from ``low`` on, as a share of ``span``."""

    values: Column
    low: float
    span: float

    def __getitem__(self, rows: Any) -> Any:
        """Return the values of a row, of several, or of a slice."""
        return (self.values[rows] - self.low) / self.span


@dataclass(frozen=True, slots=True)
class Greatest:
    """The greatest of several columns, row by row."""

    columns: tuple[Column, ...]

    def __getitem__(self, rows: Any) -> Any:
        """Return the values of a row, of several, or of a slice."""
        found = self.columns[0][rows]
        for one in self.columns[1:]:
            found = np.maximum(found, one[rows])
        return found


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Each sample as the median of itself and its neighbours: see ``median_of_three``."""

    values: Floats

    def __getitem__(self, rows: Any) -> Any:
        """Return the values of a row, of several, or of a slice."""
        if not isinstance(rows, slice):
            before, after = np.maximum(rows - 1, 0), np.minimum(rows + 1, len(self.values) - 1)
            one, here, other = self.values[before], self.values[rows], self.values[after]
            return np.maximum(np.minimum(one, here), np.minimum(np.maximum(one, here), other))
        begin, end, _ = rows.indices(len(self.values))
        lead = max(begin - 1, 0)
        return median_of_three(self.values[lead : max(end, begin) + 1])[begin - lead : max(end, begin) - lead]


def greatest(columns: list[Column]) -> Column | None:
    """Return the greatest of columns, row by row; None where there is none."""
    if len(columns) > 1:
        return Greatest(tuple(columns))
    return columns[0] if columns else None


def above(column: Column, level: float) -> Where:
    """Return where a column is above a level."""
    return lambda rows: column[rows] > level


def at_least(column: Column, level: float) -> Where:
    """Return where a column is at a level or above."""
    return lambda rows: column[rows] >= level


def below(column: Column, level: float) -> Where:
    """Return where a column is below a level."""
    return lambda rows: column[rows] < level


def at_most(column: Column, level: float) -> Where:
    """Return where a column is at a level or below."""
    return lambda rows: column[rows] <= level


def contrary(mask: Truths) -> Where:
    """Return where a mask is false."""
    return lambda rows: ~mask[rows]


def mask_of(where: Where, begin: int, end: int) -> Truths:
    """Return a condition on rows ``begin`` to ``end`` (exclusive) as a mask of them."""
    if not callable(where):
        return where[begin:end]
    mask = np.empty(end - begin, np.bool_)
    for first in range(begin, end, _BLOCK):
        last = min(first + _BLOCK, end)
        mask[first - begin : last - begin] = where(slice(first, last))
    return mask


def most(column: Column, rows: int) -> float:
    """Return the greatest value of a column of so many rows."""
    return max(float(column[first : first + _BLOCK].max()) for first in range(0, rows, _BLOCK))
