"""What a debrief found: judged rules, and values measured. SI throughout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Outcome = Literal["broken", "held", "not_evaluated"]


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule was broken over a stretch of time."""

    rule: str
    title: str
    severity: Literal["low", "medium", "high"]
    begins: float
    ends: float
    peak_at: float
    """s on the recording's clock."""
    phase: str
    value: float | None
    """The worst, SI; None for a plain condition."""
    limit: float | None
    """Of the severity reached."""
    unit: str
    """SI unit of both."""
    text: str
    """What happened, in a sentence with numbers in the trade's units."""
    advice: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """A rule and how it came out on this flight."""

    rule: str
    title: str
    outcome: Outcome
    because: str = ""
    """Of one not evaluated: the channel that is missing, the phase that never came."""
    praise: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value noted of this flight."""

    name: str
    title: str
    value: float | None
    kind: str
    time: float | None
    planned: float | None = None
    problem: str = ""
