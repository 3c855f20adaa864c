"""The latest value of each channel, for as long as it is fresh."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from sortiewright.link.channel_values import Value

STALE = 2.0  # s after which a value is no longer one


class Latest(NamedTuple):
    """A value, its time on the feed's clock, and when it arrived on ours; s."""

    value: Value
    time: float
    arrived: float


@dataclass(slots=True)
class LiveState:
    """What the aircraft is doing. Times called ``now`` and ``arrived`` are of one steady clock, s.

    A value that is older than ``stale`` is missing: nothing may be confirmed by a feed that has stopped.
    """

    stale: float = STALE
    latest: dict[str, Latest] = field(default_factory=dict[str, Latest])

    def take(self, values: Mapping[str, Value], time: float, arrived: float) -> None:
        """Keep the values of one moment; one that came out of order does not undo a later one."""
        for channel, value in values.items():
            known = self.latest.get(channel)
            if known is None or time >= known.time:
                self.latest[channel] = Latest(value, time, arrived)

    def forget(self) -> None:
        """Drop everything: another flight has begun."""
        self.latest.clear()

    def age(self, channel: str, now: float) -> float:
        """Return the s since a channel's value arrived; ``inf`` where it never did."""
        known = self.latest.get(channel)
        return math.inf if known is None else max(now - known.arrived, 0.0)

    def value(self, channel: str, now: float) -> Value:
        """Return a channel's value; None where it is missing or stale."""
        return self.latest[channel].value if self.age(channel, now) <= self.stale else None

    def number(self, channel: str, now: float) -> float | None:
        """Return a channel's value where it is a number."""
        found = self.value(channel, now)
        return None if isinstance(found, bool | str) else found

    def values(self, now: float) -> dict[str, Value]:
        """Return every channel that has a fresh value."""
        return {
            channel: known.value
            for channel, known in self.latest.items()
            if known.value is not None and now - known.arrived <= self.stale
        }

    def is_live(self, now: float) -> bool:
        """Return whether anything arrived lately."""
        return any(now - known.arrived <= self.stale for known in self.latest.values())
