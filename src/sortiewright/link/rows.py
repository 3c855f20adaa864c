"""Rows from updates: one a moment, in the order of time, though messages came split or out of order."""

from __future__ import annotations

from typing import NamedTuple

from sortiewright.link.channel_values import Value
from sortiewright.link.intake import Update
from sortiewright.link.live_state import STALE

SETTLED = 0.25  # s that a moment is held for its other messages, and for those that come late


class Row(NamedTuple):
    """Every channel known at one moment; ``time`` s since the feed began."""

    time: float
    values: dict[str, Value]


class RowAssembler:
    """Collects the values of each moment. A value that is not sent anew stands for two seconds."""

    def __init__(self, settled: float = SETTLED) -> None:
        self.settled = settled
        self.late = 0
        """Updates that came after their moment had been given out; their values are lost to the rows."""
        self._pending: dict[float, tuple[dict[str, Value], float]] = {}
        self._given = -1e300
        self._standing: dict[str, tuple[Value, float]] = {}
        self._done: list[Row] = []

    def add(self, update: Update) -> None:
        """Take the values of one message."""
        if update.begins_anew:
            self._done += self._rows(max(self._pending, default=self._given))
            self._standing.clear()
        if update.time <= self._given:
            self.late += 1
            return
        if (known := self._pending.get(update.time)) is None:
            self._pending[update.time] = dict(update.values), update.arrived
        else:
            known[0].update(update.values)

    def ready(self, now: float) -> list[Row]:
        """Return the rows that are complete by now, and drop them here."""
        old = [time for time, (_, arrived) in self._pending.items() if arrived <= now - self.settled]
        done, self._done = self._done, []
        return done + self._rows(max(old)) if old else done

    def rest(self) -> list[Row]:
        """Return all rows that are left."""
        done, self._done = self._done, []
        return done + self._rows(max(self._pending, default=self._given))

    def _rows(self, until: float) -> list[Row]:
        made: list[Row] = []
        for time in sorted(time for time in self._pending if time <= until):
            values, _ = self._pending.pop(time)
            self._standing |= {name: (value, time) for name, value in values.items()}
            standing = {name: value for name, (value, at) in self._standing.items() if time - at <= STALE}
            made.append(Row(time, standing))
            self._given = time
        return made
