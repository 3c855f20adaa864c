"""A feed's clock and numbering: one time that only goes forward, what was lost, and what came twice."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import Literal

BACKWARD = 5.0  # s that reordering on a network does not reach: the sender began again
FORWARD = 10.0  # s ahead of our own clock, more than an accelerated simulation leaps: it was moved in time
HOUR = 3600.0
REMEMBERED = 4096  # sequence numbers
LEAP = 100_000  # sequence numbers that are not lost in one go: the numbering is another


@dataclass(slots=True)
class FeedClock:
    """Turns a sender's times into s since the feed began.

    A clock that jumps back, or far ahead, goes on from here by as much as passed on ours.
    """

    offset: float | None = None
    newest: float = 0.0
    arrived: float = 0.0
    _hour_part: float | None = None
    _hours: int = 0
    _hour_arrived: float = 0.0

    def advance(self, sent: float, now: float, *, begins_anew: bool = False) -> tuple[float, bool]:
        """Return the time of a message, and whether the clock began anew with it."""
        if self.offset is None:
            self.offset, self.newest, self.arrived = -sent, 0.0, now
            return 0.0, False
        time, passed = sent + self.offset, max(now - self.arrived, 0.0)
        jumped = begins_anew or time < self.newest - BACKWARD or time > self.newest + passed + FORWARD
        if jumped:
            time = self.newest + max(passed, 1e-3)
            self.offset = time - sent
        if time > self.newest:
            self.newest, self.arrived = time, now
        return time, jumped

    def of_hour(self, seconds: float, now: float) -> float:
        """Return a time without the jump back at each full hour, from the seconds past the hour.

        Hours that pass without a message are told by our own clock. A sender that leaves its timestamps at
        zero is timed by arrival.
        """
        if seconds == 0.0 and self._hour_part in (None, 0.0):
            self._hour_part = 0.0
            return now
        if self._hour_part is not None:
            passed = max(now - self._hour_arrived, 0.0)
            self._hours += round((self._hour_part + passed - seconds) / HOUR)
        self._hour_part, self._hour_arrived = seconds, now
        return self._hours * HOUR + seconds


@dataclass(slots=True)
class SequenceWatch:
    """Which sequence numbers have come. Remembers the last few thousand."""

    first: int | None = None
    newest: int = -1
    distinct: int = 0
    before: int = 0
    """Missing of numberings that have ended."""
    _seen: set[int] = field(default_factory=set[int])
    _order: deque[int] = field(default_factory=deque[int])

    def begin(self) -> None:
        """Begin a numbering: the next number is its first."""
        self.before = self.missing
        self.first, self.newest, self.distinct = None, -1, 0
        self._seen.clear()
        self._order.clear()

    def note(self, sequence: int) -> Literal["next", "earlier", "again", "anew"]:
        """Keep a number, and return what it is: later than all, earlier than one that came, or a repeat."""
        if sequence in self._seen:
            return "again"
        anew = self.first is not None and not self.newest - REMEMBERED < sequence < self.newest + LEAP
        if anew:
            self.begin()
        if self.first is None:
            self.first = sequence
        earlier = sequence < self.newest
        self.first, self.newest = min(self.first, sequence), max(self.newest, sequence)
        self.distinct += 1
        self._seen.add(sequence)
        self._order.append(sequence)
        if len(self._order) > REMEMBERED:
            self._seen.discard(self._order.popleft())
        return "anew" if anew else "earlier" if earlier else "next"

    @property
    def missing(self) -> int:
        """Numbers that have not come, of this numbering and those before it."""
        if self.first is None:
            return self.before
        return self.before + max(self.newest - self.first + 1 - self.distinct, 0)
