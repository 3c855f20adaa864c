"""Which seats have a device on the run: pages that are open at this desk, and terminals on the same log."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from sortiewright.desk.event_stream import Viewer
from sortiewright.procedures import Presence, RunState

PATIENCE = 7.0
"""Seconds without a page after which a seat counts as gone; between two pages it is away for one at most."""

Own = Callable[..., tuple[str, ...]]


class SeatWatch:
    """Says which seats came and which went. ``both``: visitors whose device answers for both seats."""

    def __init__(
        self,
        log: Path | None = None,
        seats: Sequence[str] = (),
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.both: set[str] = set()
        self._clock = clock
        # A sign for each seat by itself: they come and go by themselves.
        self._signs = {} if log is None else {seat: Presence(log, [seat], clock) for seat in seats}
        self._elsewhere = None if log is None else Presence(log, (), clock)
        self._heard = dict.fromkeys(seats, clock())
        self._ours: set[str] = set()

    def present(self, viewers: Mapping[str, Viewer], own: Own) -> set[str]:
        """Return the seats that have a page open at this desk."""
        found: set[str] = set()
        for visitor, viewer in viewers.items():
            found.update(own(viewer.seat, both=visitor in self.both))
        return found

    def changes(self, state: RunState, here: set[str]) -> list[tuple[str, bool]]:
        """Return each seat whose connection is not as the run has it, and if it came. Touches the disk."""
        now = self._clock()
        connected = {one.seat for one in state.connections if one.connected}
        changed: list[tuple[str, bool]] = []
        for seat, sign in self._signs.items():
            if seat in here:
                self._heard[seat] = now
                self._ours.add(seat)
                sign.give()
                if seat not in connected:
                    changed.append((seat, True))
            elif now - self._heard[seat] > PATIENCE:
                if seat in self._ours:
                    self._ours.discard(seat)
                    sign.stop()
                if seat in connected and self._elsewhere is not None and self._elsewhere.is_silent(seat):
                    changed.append((seat, False))
        return changed

    def stop(self) -> None:
        """Take the signs of our seats away."""
        for seat in self._ours:
            self._signs[seat].stop()
        self._ours.clear()
