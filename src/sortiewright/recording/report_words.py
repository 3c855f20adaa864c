"""What a debrief's reports say and how: moments, values in the trade's units, severities."""

from __future__ import annotations

import math
from collections.abc import Iterable

from sortiewright.recording.debrief_record import Debrief
from sortiewright.recording.findings import Finding, Judged, Measured
from sortiewright.recording.judging_names import EVENTS_SAID, PHASES_SAID
from sortiewright.recording.judging_words import in_unit, unit_said
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import Rules
from sortiewright.sortie import MINUS, THIN_SPACE, Kind, show

SEVERITY_WORDS: dict[Severity, str] = {
    "high": "Look at this first",
    "medium": "Worth practice",
    "low": "Minor",
}
"""How much a finding matters, said to the crew that is to learn from it."""


def clock(seconds: float | None) -> str:
    """Return a moment of the recording's clock to a tenth of a second: ``2:12.2``, ``1:02:12.2``."""
    if seconds is None or not math.isfinite(seconds):
        return ""
    tenths = round(abs(seconds) * 10)
    sign = "−" if seconds < 0 and tenths else ""
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    head = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    return f"{sign}{head}:{rest // 10:02d}.{rest % 10}"


def headline(debrief: Debrief) -> str:
    """Return in a sentence what came out."""
    counts = dict.fromkeys(SEVERITY_WORDS, 0)
    for _, finding in debrief.findings():
        counts[finding.severity] += 1
    total = sum(counts.values())
    held = sum(flight.count("held") for flight in debrief.flights)
    if debrief.rules is None:
        return "Phases and events only: no rules were at hand to judge by."
    went = f"{_counted(held, 'rule was', 'rules were')} held."
    if not total:
        return f"Nothing to do better was found. {went}"
    first = f", {counts['high']} to look at first" if counts["high"] else ""
    return f"{_counted(total, 'thing', 'things')} to do better{first}. {went}"


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def finding_numbers(finding: Finding, rules: Rules | None) -> tuple[str, str]:
    """Return value and limit of a finding as its text says them; empty where it has none."""
    if finding.value is None:
        return "", ""
    checked = None if rules is None else rules.rules.get(finding.rule)
    texts: tuple[str, ...] = ()
    if checked is not None:
        texts = (
            *(one.text for levels in checked.levels.values() for one in levels.values()),
            checked.rule.value,
        )
    unit = unit_said(texts, finding.unit)
    limit = "" if finding.limit is None else in_unit(finding.limit, unit, finding.value)
    return in_unit(finding.value, unit, finding.limit), limit


def value_shown(value: float | None, kind: str, *, difference: bool = False) -> str:
    """Return a value as people read it; a measured one is rounded to the nearest, not to the safe side."""
    if value is None or math.isnan(value):
        return "—"
    text = show(value, kind_of(kind), rounding="nearest", difference=difference, step=_step(value, kind)).text
    if kind == Kind.TIME and 10.0 <= abs(value) < 120.0:
        text = f"{value:.1f}{THIN_SPACE}s".replace("-", MINUS)
    if difference and value > 0 and text[:1].isdigit() and any(digit in "123456789" for digit in text):
        return f"+{text}"
    return text


def _step(value: float, kind: str) -> float | None:
    """Return a finer step than a plan's for a small mass: a takeoff burns some tens of pounds."""
    return 1.0 if kind == Kind.MASS and abs(value) < 100.0 else None


def kind_of(name: str) -> Kind:
    """Return the kind of that name; a plain number for one that is none."""
    return Kind(name) if name in {one.value for one in Kind} else Kind.NUMBER


def phase_title(name: str) -> str:
    """Return a phase as a heading: ``Takeoff roll``."""
    return _title(PHASES_SAID.get(name, name))


def event_title(name: str) -> str:
    """Return an event as a heading: ``Brake release``."""
    return _title(EVENTS_SAID.get(name, name))


def _title(said: str) -> str:
    bare = said.replace("_", " ")
    for article in ("the ", "a "):
        bare = bare.removeprefix(article)
    return bare[:1].upper() + bare[1:]


def not_judged(judged: Iterable[Judged]) -> dict[str, list[str]]:
    """Return the titles of rules that were not evaluated, by the reason."""
    reasons: dict[str, list[str]] = {}
    for one in judged:
        if one.outcome == "not_evaluated":
            reasons.setdefault(one.because or "the reason is not told", []).append(one.title)
    return dict(sorted(reasons.items(), key=lambda pair: -len(pair[1])))


def difference_shown(measured: Measured) -> str:
    """Return by how much a measured value is over its planned one; empty where either is missing."""
    if measured.value is None or measured.planned is None:
        return ""
    if not (math.isfinite(measured.value) and math.isfinite(measured.planned)):
        return ""
    return value_shown(measured.value - measured.planned, measured.kind, difference=True)
