"""A pack's rules held against a flight while it is flown.

All rows so far are judged again every few seconds: judging an hour takes a fraction of a second, and so the
live judgement is the debrief's own.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from sortiewright.link import ColumnHistory

if TYPE_CHECKING:
    from sortiewright.pack import LoadedPack
    from sortiewright.recording import Flight, Recording
    from sortiewright.sortie import Plan

EVERY = 2.0  # s
MOST_SHARE = 10.0  # judging waits this many times as long as the last one took
GAP = 1.0  # s without rows over which nothing is told
FEWEST = 60  # rows


class LiveJudge:
    """Give ``history`` the rows; ask for ``new_findings`` when it ``is_due``. One thread at a time."""

    def __init__(self, pack: LoadedPack, plan: Plan) -> None:
        """Raises ``InputError`` for rules that cannot be used."""
        from sortiewright.recording import load_rules, phase_limits_of

        self.history = ColumnHistory()
        self.rules = load_rules(pack)
        self.plan = plan
        self.limits = phase_limits_of(pack.pack)
        self._due = 0.0
        self._told: set[tuple[str, int]] = set()

    def is_due(self, now: float) -> bool:
        """Return whether to judge again."""
        return now >= self._due and self.history.rows >= FEWEST

    def new_findings(self, now: float, *, last: bool = False) -> list[tuple[str, dict[str, Any]]]:
        """Return the findings that are new and settled, as text and as data; with ``last`` all that are new.

        Settled is what ended before the phase that is flown now: what looks like a fast taxi may turn out to
        be a takeoff.
        """
        begun = time.monotonic()
        found = list(self._new(last=last))
        self._due = now + max(EVERY, MOST_SHARE * (time.monotonic() - begun))
        return found

    def _new(self, *, last: bool) -> Iterator[tuple[str, dict[str, Any]]]:
        from sortiewright.recording import flights_of, judge

        if self.history.rows < FEWEST:
            return
        recording = self._recording()
        flights = flights_of(recording, self.limits)
        for flight in flights:
            settled = np.inf if last or flight is not flights[-1] else _begin_of_last_phase(flight)
            for finding in judge(recording, flight, self.rules, self.plan)[0]:
                key = finding.rule, round(finding.begins)
                if finding.ends <= settled and key not in self._told:
                    self._told.add(key)
                    yield finding.text, asdict(finding)

    def _recording(self) -> Recording:
        from sortiewright.recording import Recording

        columns = self.history.columns()
        clock = columns.pop("time")
        breaks = np.flatnonzero(np.diff(clock) > GAP) + 1
        return Recording("live", clock, columns, breaks)


def _begin_of_last_phase(flight: Flight) -> float:
    return flight.phases[-1].begins if flight.phases else -np.inf
