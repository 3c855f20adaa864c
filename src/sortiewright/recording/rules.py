"""A pack's rules and measurements once they are read: every name checked, every text an expression."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from sortiewright.expressions import Expression, Vocabulary
from sortiewright.recording.rule_limits import PackNumber
from sortiewright.recording.rule_schema import Levels, Measurement, Rule, Severity
from sortiewright.recording.time_functions import looks_back

Side = Literal["above", "below"]
SEVERITIES: tuple[Severity, ...] = ("low", "medium", "high")


@dataclass(frozen=True)
class Term:
    """An expression, and whether it needs the rows before the one it is asked for."""

    expression: Expression
    looks_back: bool

    @property
    def text(self) -> str:
        """As the file has it."""
        return self.expression.text


def term(expression: Expression) -> Term:
    """Return an expression as a term."""
    return Term(expression, looks_back(expression.facts))


@dataclass(frozen=True)
class CheckedRule:
    """A rule of a pack: ``when`` and ``wrong_if``, or ``value`` with the limits of its levels."""

    name: str
    rule: Rule
    when: Term | None = None
    wrong_if: Term | None = None
    value: Term | None = None
    levels: dict[Side, dict[Severity, Term]] = field(default_factory=dict[Side, dict[Severity, Term]])
    """By side, the limits that are given, the lowest severity first."""
    unit: str = ""
    """SI unit of the value."""
    source: str = ""
    place: str = ""
    """File and line."""

    def terms(self) -> Iterator[Term]:
        """Yield every expression of it."""
        yield from (one for one in (self.when, self.wrong_if, self.value) if one is not None)
        for limits in self.levels.values():
            yield from limits.values()


@dataclass(frozen=True)
class CheckedMeasurement:
    """A measurement of a pack: a number, or a condition whose duration is taken."""

    name: str
    measurement: Measurement
    value: Term
    when: Term | None = None
    source: str = ""
    place: str = ""

    def terms(self) -> Iterator[Term]:
        """Yield every expression of it."""
        yield from (one for one in (self.when, self.value) if one is not None)


@dataclass(frozen=True)
class Rules:
    """What a debrief looks for and measures with one pack.

    ``digest`` is the SHA-256 of the files of ``rules/``, line ends aside. ``remarks`` are not faults.
    """

    pack_name: str
    rules: dict[str, CheckedRule]
    measurements: dict[str, CheckedMeasurement]
    vocabulary: Vocabulary = field(repr=False)
    numbers: dict[str, PackNumber] = field(repr=False)
    digest: str = ""
    remarks: tuple[str, ...] = ()

    def shared_texts(self) -> frozenset[str]:
        """Return the texts that stand in several places: what they come to is worth keeping."""
        of_rules = (one.text for rule in self.rules.values() for one in rule.terms())
        of_measurements = (one.text for each in self.measurements.values() for one in each.terms())
        counted = Counter((*of_rules, *of_measurements))
        return frozenset(text for text, count in counted.items() if count > 1)


def levels_given(levels: Levels) -> dict[Severity, str]:
    """Return the texts of the levels that are used, the lowest severity first."""
    return {severity: text for severity in SEVERITIES if (text := getattr(levels, severity))}
