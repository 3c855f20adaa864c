"""One flight's samples on canonical channels, and what is odd about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
DefectKind = Literal[
    "gap",
    "repeated",
    "out_of_order",
    "frozen",
    "spike",
    "rate_change",
    "paused",
    "time_jump",
    "accelerated",
    "missing",
    "outside_range",
    "unit_doubt",
    "truncated",
]


@dataclass(frozen=True, slots=True)
class Defect:
    """Something a reader must know of the samples: nothing is smoothed over silently."""

    kind: DefectKind
    channel: str
    """Empty: all channels."""
    begin: float
    end: float
    """s on the recording's own clock."""
    text: str
    count: int = 1


@dataclass(frozen=True)
class Recording:
    """Samples in the order of time. Numbers are SI floats with NaN where missing; truths 0, 1 or NaN; choices
    text.

    ``time`` is strictly increasing, s. ``breaks`` are the rows before which samples do not continue those
    before (a gap, a pause, a jump): nothing is interpolated or differentiated across them.
    """

    name: str
    time: Floats
    columns: Mapping[str, NDArray[Any]] = field(repr=False)
    breaks: NDArray[np.intp]
    started: datetime | None = None
    derived: Mapping[str, str] = field(default_factory=dict[str, str])
    """By channel: from what it was worked out, where the file did not carry it."""
    unmapped: tuple[str, ...] = ()
    """Columns of the file that no channel took."""
    defects: tuple[Defect, ...] = ()
    source_columns: Mapping[str, str] = field(default_factory=dict[str, str])
    """By channel: the file's column."""

    @property
    def rows(self) -> int:
        """Number of samples."""
        return len(self.time)

    def has(self, channel: str) -> bool:
        """Return whether a channel is there with at least one value."""
        return channel in self.columns

    def number(self, channel: str) -> Floats:
        """Return a channel as floats; all NaN where the recording lacks it."""
        found = self.columns.get(channel)
        return np.full(self.rows, np.nan) if found is None else np.asarray(found, dtype=np.float64)
