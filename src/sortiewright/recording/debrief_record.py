"""A debrief: what was found and measured in each flight of a recording, and how it compares with its plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sortiewright.recording.debrief_runway import RunwayLine
from sortiewright.recording.findings import Finding, Judged, Measured
from sortiewright.recording.moments import Flight
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import Rules

if TYPE_CHECKING:
    from sortiewright.pack import LoadedPack
    from sortiewright.recording.comparison_landing import LandingComparison
    from sortiewright.recording.comparison_rejected import RejectedComparison
    from sortiewright.recording.comparison_takeoff import TakeoffComparison
    from sortiewright.sortie import Plan, System

_WORST_FIRST: dict[Severity, int] = {"high": 0, "medium": 1, "low": 2}


@dataclass(frozen=True)
class FlightDebrief:
    """One flight of a recording, debriefed."""

    flight: Flight
    findings: tuple[Finding, ...] = ()
    """Worst first."""
    judged: tuple[Judged, ...] = ()
    measured: tuple[Measured, ...] = ()
    takeoffs: tuple[TakeoffComparison, ...] = ()
    rejected: tuple[RejectedComparison, ...] = ()
    landings: tuple[LandingComparison, ...] = ()
    not_compared: tuple[str, ...] = ()
    """Why a takeoff or landing was not held against the plan, a sentence each."""
    planned_with: tuple[str, ...] = ()
    """With what the plan was made where that is not as the sortie says, a sentence each."""
    runway: RunwayLine | None = None
    notes: tuple[str, ...] = ()

    @property
    def went_well(self) -> tuple[str, ...]:
        """Return what deserves to be said of the rules that were held, each once."""
        return tuple(dict.fromkeys(one.praise for one in self.judged if one.outcome == "held" and one.praise))

    def count(self, outcome: str) -> int:
        """Return how many rules came out ``broken``, ``held`` or ``not_evaluated``."""
        return sum(one.outcome == outcome for one in self.judged)


@dataclass(frozen=True)
class Debrief:
    """A recording, debriefed. ``plan`` is None without a sortie, ``pack`` where nothing names one."""

    recording: Recording
    flights: tuple[FlightDebrief, ...]
    plan: Plan | None = None
    pack: LoadedPack | None = None
    rules: Rules | None = None
    notes: tuple[str, ...] = field(default=())
    """What was not done, and what to give so that it is."""
    units: System = "trade"
    """Of everything that its reports say; its values are SI."""

    def findings(self) -> Iterator[tuple[int, Finding]]:
        """Yield every finding with the place of its flight, worst first."""
        every = [(at, one) for at, flight in enumerate(self.flights) for one in flight.findings]
        yield from sorted(every, key=lambda pair: _badness(pair[1]))


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return findings by severity; among equals, by how far the limit was passed, then by time."""
    return tuple(sorted(findings, key=_badness))


def _badness(finding: Finding) -> tuple[int, float, float]:
    return _WORST_FIRST[finding.severity], -_excess(finding), finding.begins


def _excess(finding: Finding) -> float:
    """Return by what share of the limit it was passed; 0 where there is no such number."""
    if finding.value is None or not finding.limit:
        return 0.0
    return abs(finding.value / finding.limit - 1.0)
