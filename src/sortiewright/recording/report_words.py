"""What a debrief's reports say and how: moments, values in the units asked for, severities."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from sortiewright.recording.debrief_record import Debrief
from sortiewright.recording.findings import Finding, Judged, Measured
from sortiewright.recording.judging_names import EVENTS_SAID, PHASES_SAID
from sortiewright.recording.judging_words import in_unit, unit_said
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import Rules
from sortiewright.sortie import MINUS, THIN_SPACE, Kind, System, show

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


def finding_numbers(finding: Finding, rules: Rules | None, units: System = "trade") -> tuple[str, str]:
    """Return value and limit of a finding in ``units``; empty where it has none."""
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
    if units == "si":
        unit = _SI_UNIT.get(finding.unit, unit)
    limit = "" if finding.limit is None else in_unit(finding.limit, unit, finding.value)
    return in_unit(finding.value, unit, finding.limit), limit


def finding_text(finding: Finding, rules: Rules | None, units: System) -> str:
    """Return what a finding says, with its numbers in ``units``; it was judged in those of the trade."""
    if units == "trade":
        return finding.text
    title, rest = finding.title, finding.text.removeprefix(finding.title)
    said = finding_numbers(finding, rules)
    if said[0] and rest.startswith(f": {said[0]}, ") and said[1]:
        value, limit = finding_numbers(finding, rules, units)
        return f"{title}: {value}, {rest.removeprefix(f': {said[0]}, ').replace(said[1], limit, 1)}"
    return title + _IN_TRADE.sub(_converted, rest)


# The functions of the units in which a value of each SI unit is said.
_SI_UNIT = {
    "m": "m",
    "m/s": "m_per_s",
    "rad": "deg",
    "rad/s": "deg_per_s",
    "kg": "kg",
    "kg/s": "kg_per_s",
    "Pa": "kPa",
    "J": "MJ",
    "N.m": "N_m",
    "N": "kN",
}
_IN_TRADE = re.compile(r"(−?\d+(?:\.\d+)?) (kt|ft/min|ft|nmi|lb/h|lb|psi|lbf)(?![\w/·])")
_TRADE_SIZES = {
    "kt": (1852.0 / 3600.0, "m/s"),
    "ft/min": (0.3048 / 60.0, "m/s"),
    "ft": (0.3048, "m"),
    "nmi": (1852.0, "m"),
    "lb/h": (0.45359237 / 3600.0, "kg/s"),
    "lb": (0.45359237, "kg"),
    "psi": (6894.757293168, "Pa"),
    "lbf": (4.4482216152605, "N"),
}
"""SI size and unit of those in which judging says a value (NIST SP 811 (2008), appendix B.8)."""


def _converted(found: re.Match[str]) -> str:
    size, unit = _TRADE_SIZES[found[2]]
    return in_unit(float(found[1].replace("−", "-")) * size, _SI_UNIT[unit])


def value_shown(value: float | None, kind: str, *, difference: bool = False, units: System = "trade") -> str:
    """Return a value as people read it; a measured one is rounded to the nearest, not to the safe side."""
    if value is None or math.isnan(value):
        return "—"
    step = _step(value, kind, units)
    text = show(value, kind_of(kind), units, rounding="nearest", difference=difference, step=step).text
    if kind == Kind.TIME and 10.0 <= abs(value) < 120.0:
        text = f"{value:.1f}{THIN_SPACE}s".replace("-", MINUS)
    if not difference:
        return text
    is_some = any(digit in "123456789" for digit in text)
    if value > 0 and text[:1].isdigit() and is_some:
        return f"+{text}"
    return text if is_some else text.lstrip(f"+{MINUS}")


def _step(value: float, kind: str, units: System) -> float | None:
    """Return a finer step than a plan's for a small mass: a takeoff burns some tens of pounds."""
    if kind == Kind.MASS and abs(value) < 100.0:
        return 1.0 if units == "trade" else 0.5
    return None


def kind_of(name: str) -> Kind:
    """Return the kind of that name; a plain number for one that is none."""
    return Kind(name) if name in {one.value for one in Kind} else Kind.NUMBER


def phase_title(name: str) -> str:
    """Return a phase as a heading: ``Takeoff roll``."""
    # "The time parked" reads well after "during", and nowhere else.
    return "Parked" if name == "parked" else _title(PHASES_SAID.get(name, name))


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


def difference_shown(measured: Measured, units: System = "trade") -> str:
    """Return by how much a measured value is over its planned one; empty where either is missing."""
    if measured.value is None or measured.planned is None:
        return ""
    if not (math.isfinite(measured.value) and math.isfinite(measured.planned)):
        return ""
    return value_shown(measured.value - measured.planned, measured.kind, difference=True, units=units)
