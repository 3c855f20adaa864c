"""Rules and measurements at one moment: numbers between the samples on its two sides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from sortiewright.expressions import NumberType
from sortiewright.recording.findings import Finding
from sortiewright.recording.judging_scope import Stage
from sortiewright.recording.judging_stretches import Span
from sortiewright.recording.judging_words import finding_of
from sortiewright.recording.moments import Event
from sortiewright.recording.rule_columns import SharedColumns
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import SEVERITIES, CheckedRule, Side, Term
from sortiewright.recording.time_functions import UNBROKEN_SINCE, Floats, number_at


@dataclass(eq=False)
class MomentValues(Mapping[Any, Any]):
    """The values at one moment, as expressions look them up."""

    stage: Stage
    time: float
    row: int
    """The sample at or just before it, counted from the first of the flight."""

    @cached_property
    def columns(self) -> SharedColumns:
        """The columns of that sample and the next."""
        return self.stage.columns.part(self.row, min(self.row + 2, self.stage.values.rows))

    def get(self, fact: Any, default: Any = None) -> Any:
        """Return one value: a number between samples, anything else as it is in the sample before."""
        column = self.columns.flight_values.get(fact)
        if column is None or np.ndim(column) == 0:
            return default if column is None else column
        is_number = isinstance(self.stage.rules.vocabulary.names.get(fact), NumberType) or isinstance(
            fact, tuple
        )
        return self.between(np.asarray(column, np.float64)) if is_number else column[0]

    def between(self, numbers: Floats) -> float:
        """Return a number at the moment, from those of the two samples."""
        values = self.columns.flight_values
        return number_at(numbers, values["time"], values[UNBROKEN_SINCE], self.time)

    def __getitem__(self, fact: Any) -> Any:
        return self.get(fact)

    def __iter__(self) -> Iterator[Any]:
        return iter(())

    def __len__(self) -> int:
        return 0


@dataclass(frozen=True)
class Moment:
    """One moment of a flight."""

    stage: Stage
    values: MomentValues

    @property
    def time(self) -> float:
        """s on the recording's clock."""
        return self.values.time

    @property
    def row(self) -> int:
        """The sample at or just before it, counted from the first of the flight."""
        return self.values.row

    def truth(self, term: Term) -> bool | None:
        """Return whether a condition is true; None where unknown."""
        if not term.looks_back:
            return term.expression.truth(self.values)
        found = self.values.columns.truths(term.expression, True)
        return True if found.yes[0] else False if found.no[0] else None

    def number(self, term: Term) -> float | None:
        """Return a number; None where unknown."""
        if not term.looks_back:
            return term.expression.number(self.values)
        value = self.values.between(self.values.columns.numbers(term.expression, True))
        return None if value != value else value


def moment_of(stage: Stage, event: Event) -> Moment:
    """Return an event's moment."""
    row = int(np.searchsorted(stage.time, event.time, side="right")) - 1
    return Moment(stage, MomentValues(stage, event.time, max(0, row)))


def judged_at_moments(stage: Stage, rule: CheckedRule) -> tuple[list[Finding], int, float]:
    """Return the findings, at how many of its events the rule applied, and the share of them that it told."""
    findings: list[Finding] = []
    applied = told = 0
    events = stage.events(rule.rule.at, rule.rule.during)
    for event in events:
        moment = moment_of(stage, event)
        when = True if rule.when is None else moment.truth(rule.when)
        if when is False:
            told += 1
        if not when:
            continue
        known, finding = _judged_at(stage, rule, moment)
        applied += known
        told += known
        findings += [finding] if finding else []
    return findings, applied, told / len(events)


def _judged_at(stage: Stage, rule: CheckedRule, moment: Moment) -> tuple[bool, Finding | None]:
    span = Span(moment.row, moment.row, moment.time, moment.time)
    if rule.wrong_if is not None:
        wrong = moment.truth(rule.wrong_if)
        finding = finding_of(stage, rule, span, rule.rule.severity, moment.row) if wrong else None
        return wrong is not None, finding
    assert rule.value is not None
    value = moment.number(rule.value)
    if value is None:
        return False, None
    known = False
    for side, levels in rule.levels.items():
        limits: dict[Severity, float | None] = {
            severity: moment.number(limit) for severity, limit in levels.items()
        }
        known = known or any(limit is not None for limit in limits.values())
        passed = _worst_passed(side, value, limits)
        if passed is not None:
            severity, limit = passed
            return True, finding_of(stage, rule, span, severity, moment.row, value, limit, side)
    return known, None


def _worst_passed(
    side: Side, value: float, limits: Mapping[Severity, float | None]
) -> tuple[Severity, float] | None:
    for severity in reversed(SEVERITIES):
        limit = limits.get(severity)
        if limit is not None and (value > limit if side == "above" else value < limit):
            return severity, limit
    return None
