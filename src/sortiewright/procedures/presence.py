"""Signs of life of devices that share a log file: each keeps a small file beside it fresh.

A process that is killed says nothing, so the others must notice that its sign has stopped. Signs are kept out
of the log, which holds only what the crew did. Only their changes count: two machines' clocks may differ.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterable
from pathlib import Path

PERIOD = 2.0
"""Seconds between signs."""
PATIENCE = 7.0
"""Seconds without a sign after which a seat counts as gone."""


class Presence:
    """Gives the signs of some seats and watches for those of others. Faults of the disk are no sign."""

    def __init__(self, log: Path, seats: Iterable[str], clock: Callable[[], float] = time.monotonic) -> None:
        self._log, self._seats, self._clock = log, tuple(seats), clock
        self._given = -PERIOD
        self._seen: dict[str, tuple[int, float]] = {}

    def give(self) -> None:
        """Give a sign if the last one is old enough."""
        if self._clock() - self._given < PERIOD:
            return
        self._given = self._clock()
        for seat in self._seats:
            with contextlib.suppress(OSError):
                self._file(seat).write_text(f"{time.time_ns()}\n", "utf-8")

    def is_silent(self, seat: str) -> bool:
        """Return whether a seat's sign has not changed for as long as patience lasts."""
        try:
            sign = hash(self._file(seat).read_bytes())
        except OSError:
            sign = 0
        known, since = self._seen.get(seat, (None, 0.0))
        if sign != known:
            self._seen[seat] = (sign, self._clock())
            return False
        return self._clock() - since > PATIENCE

    def stop(self) -> None:
        """Take the signs away."""
        for seat in self._seats:
            with contextlib.suppress(OSError):
                self._file(seat).unlink(missing_ok=True)

    def _file(self, seat: str) -> Path:
        return self._log.with_name(f"{self._log.name}-{seat}")
