"""What channels say of each other: which unit a column must be in, and whether a map has one wrong.

Each relation compares a channel with what others say it should be, and gives the ratio of the two. Where a
unit was mistaken, the ratio is that of two units: 0.3048 for metres read as feet. A wind, a slope or a
position error moves it by a few percent to a few tens of percent; how much each may be off is said beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.recording import Floats

_BLOCK = 100
"""Samples that stay together where a recording is long."""
LEAST = 8
"""Samples that a relation needs."""


@dataclass(frozen=True, slots=True)
class Samples:
    """Channels about once a second, in blocks of a hundred where a recording is long."""

    time: Floats
    joined: NDArray[np.bool_]
    """Of each sample: whether it goes on from the one before it."""
    columns: Mapping[str, Floats]

    def replaced(self, name: str, values: Floats) -> Samples:
        """Return the same samples with another channel or other values of one."""
        return Samples(self.time, self.joined, {**self.columns, name: values})


@dataclass(frozen=True, slots=True)
class Agreement:
    """How many times as large a channel is as others say. Negative: it is counted the other way round."""

    ratio: float
    likeness: float
    """Correlation of the two, or 1 where only their size is compared."""


@dataclass(frozen=True, slots=True)
class Relation:
    """One relation between channels. ``names[0]`` is the one that is compared with what the rest says."""

    names: tuple[str, ...]
    text: str
    """What is compared: "altitude changes as vertical speed says"."""
    evaluate: Callable[[Samples], Agreement | None]
    within: float
    """Factor by which the two may differ where all is well."""

    def holds(self, agreement: Agreement) -> bool:
        """Return whether an agreement is as it should be."""
        if np.isinf(self.within):
            return agreement.ratio > 0.0
        return 1.0 / self.within <= agreement.ratio <= self.within

    def misfit(self, agreement: Agreement | None) -> float:
        """Return how far off it is: 0 to 0.25 within what is usual, then quickly to 1."""
        if agreement is None:
            return 0.0
        if agreement.ratio <= 0.0 or np.isinf(self.within):
            return 0.0 if agreement.ratio > 0.0 else 1.0
        off = abs(np.log(agreement.ratio)) / np.log(self.within)
        return float(0.25 * off if off <= 1.0 else min(1.0, 0.5 + 0.25 * off))


def sampled(time: Floats, breaks: NDArray[np.intp], columns: Mapping[str, Any], most: int = 4000) -> Samples:
    """Return number channels about once a second, at most so many samples, in the channels' own units."""
    step = float(np.median(np.diff(time[:5000])))
    stride = max(1, round(1.0 / step)) if step > 0.0 else 1
    rows = np.arange(0, len(time), stride)
    if len(rows) > most:
        starts = np.linspace(0, len(rows) - _BLOCK, most // _BLOCK).astype(np.intp)
        rows = rows[(starts[:, None] + np.arange(_BLOCK)).ravel()]
    taken = time[rows]
    segment = np.searchsorted(breaks, rows, side="right")
    steps = np.diff(taken, prepend=taken[:1])
    joined = (np.diff(segment, prepend=-1) == 0) & (steps > 0.0) & (steps < 3.0 * max(1.0, stride * step))
    return Samples(taken, joined, {name: np.asarray(values)[rows] for name, values in columns.items()})


def size_ratio(value: Floats, said: Floats, mask: NDArray[np.bool_]) -> Agreement | None:
    """Compare two positive quantities by the middle of their ratio."""
    with np.errstate(all="ignore"):
        ratio = value / said
        use = mask & np.isfinite(ratio)
    return None if use.sum() < LEAST else Agreement(float(np.median(ratio[use])), 1.0)


def slope_ratio(value: Floats, said: Floats, mask: NDArray[np.bool_], least: float) -> Agreement | None:
    """Compare two quantities that go through nought by the line through it, if they are alike enough."""
    with np.errstate(all="ignore"):
        use = mask & np.isfinite(value) & np.isfinite(said)
    if use.sum() < LEAST:
        return None
    x, y = said[use], value[use]
    xx, yy, xy = float(x @ x), float(y @ y), float(x @ y)
    if xx <= 0.0 or yy <= 0.0:
        return None
    likeness = xy / np.sqrt(xx * yy)
    # The geometric mean slope: noise on either side does not flatten it.
    return Agreement(float(np.sign(xy) * np.sqrt(yy / xx)), likeness) if abs(likeness) >= least else None


def changes(samples: Samples, name: str) -> Floats:
    """Return by how much a channel changed since the sample before."""
    values = samples.columns[name]
    change = np.diff(values, prepend=values[:1])
    if name.endswith("_deg"):
        change = (change + 180.0) % 360.0 - 180.0
    elif name == "bank":
        change = (change + np.pi) % (2 * np.pi) - np.pi
    return np.where(samples.joined, change, np.nan)


def means(samples: Samples, name: str) -> Floats:
    """Return the mean of a channel since the sample before, times the time since then."""
    values = samples.columns[name]
    before = np.concatenate([values[:1], values[:-1]])
    steps = np.diff(samples.time, prepend=samples.time[:1])
    return np.where(samples.joined, 0.5 * (values + before) * steps, np.nan)


def everywhere(samples: Samples) -> NDArray[np.bool_]:
    """Return a mask that takes every sample."""
    return np.ones(len(samples.time), bool)


def fast(samples: Samples, name: str) -> NDArray[np.bool_]:
    """Return where a speed is above a third of its greatest: whatever its unit, the aircraft then flies."""
    values = samples.columns[name]
    finite = values[np.isfinite(values)]
    top = float(np.quantile(finite, 0.98)) if len(finite) else 0.0
    with np.errstate(invalid="ignore"):
        return (values > top / 3.0) if top > 0.0 else np.zeros(len(values), bool)
