"""Stretches of rows in which something is so: found, timed between samples, and joined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.time_functions import SLACK, Floats, Mask

Rows = NDArray[np.intp]


@dataclass(frozen=True)
class Stretches:
    """Runs of rows ``first`` to ``last`` (both inside), and the times between which they last, s."""

    first: Rows
    last: Rows
    begins: Floats
    ends: Floats

    def __len__(self) -> int:
        return len(self.first)

    def lasting(self, seconds: float) -> Stretches:
        """Return those that last so long at least."""
        if seconds <= 0:
            return self
        return self._where(self.ends - self.begins >= seconds - SLACK)

    def within(self, span: Span) -> Stretches:
        """Return those whose rows are all in a span."""
        return self._where((self.first >= span.first) & (self.last <= span.last))

    def _where(self, chosen: Mask) -> Stretches:
        return Stretches(self.first[chosen], self.last[chosen], self.begins[chosen], self.ends[chosen])


NONE = Stretches(np.array([], np.intp), np.array([], np.intp), np.array([]), np.array([]))


def stretches(mask: Mask, time: Floats, breaks: Rows, margin: Floats | None = None) -> Stretches:
    """Return the runs of rows where a mask is true; none goes on over a break.

    ``margin`` is by how much a limit is passed, positive where the mask is true. Where the row beside a run
    has one that is not positive, the run begins or ends between the two, where the straight line through them
    is nought.
    """
    if not mask.any():
        return NONE
    edges = np.flatnonzero(mask[1:] != mask[:-1]) + 1
    cuts = breaks[mask[breaks] & mask[breaks - 1]] if len(breaks) else breaks
    first = edges[mask[edges]]
    last = edges[~mask[edges]] - 1
    if mask[0]:
        first = np.concatenate(([0], first))
    if mask[-1]:
        last = np.append(last, len(mask) - 1)
    if len(cuts):
        first = np.sort(np.concatenate((first, cuts)))
        last = np.sort(np.concatenate((last, cuts - 1)))
    begins, ends = time[first], time[last]
    if margin is not None:
        begins = _crossing(first, first - 1, time, margin, breaks)
        ends = _crossing(last, last + 1, time, margin, breaks)
    return Stretches(first, last, begins, ends)


def _crossing(inside: Rows, outside: Rows, time: Floats, margin: Floats, breaks: Rows) -> Floats:
    """Return when the margin is nought between the row inside a run and the one beside it."""
    beside = np.clip(outside, 0, len(time) - 1)
    joined = beside == outside
    if len(breaks):
        joined &= ~np.isin(np.maximum(inside, outside), breaks)
    with np.errstate(all="ignore"):
        share = margin[inside] / (margin[inside] - margin[beside])
        there = time[inside] + share * (time[beside] - time[inside])
    usable = joined & (margin[beside] <= 0) & np.isfinite(there)
    return np.where(usable, there, time[inside])


@dataclass(frozen=True, slots=True)
class Span:
    """Stretches that count as one: rows ``first`` to ``last`` and the time they take."""

    first: int
    last: int
    begins: float
    ends: float


def merged(found: Sequence[Stretches], gap: float) -> list[Span]:
    """Return stretches in the order of time, those that overlap or are closer than ``gap`` seconds as one."""
    spans = sorted(
        (float(begins), float(ends), int(first), int(last))
        for one in found
        for first, last, begins, ends in zip(one.first, one.last, one.begins, one.ends, strict=True)
    )
    joined: list[Span] = []
    for begins, ends, first, last in spans:
        before = joined[-1] if joined else None
        if before is not None and begins - before.ends < max(gap, SLACK):
            joined[-1] = Span(
                min(before.first, first), max(before.last, last), before.begins, max(before.ends, ends)
            )
        else:
            joined.append(Span(first, last, begins, ends))
    return joined
