"""Judging a flight by the rules of its pack."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sortiewright.expressions import Truth
from sortiewright.recording.findings import Finding, Judged
from sortiewright.recording.judging_moments import judged_at_moments
from sortiewright.recording.judging_names import event_said, phase_said
from sortiewright.recording.judging_scope import Stage, rows_of, stage_of, why_no_rows
from sortiewright.recording.judging_stretches import Span, Stretches, merged, stretches
from sortiewright.recording.judging_words import finding_of
from sortiewright.recording.moments import Flight
from sortiewright.recording.place import AlongRunway
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_columns import SharedColumns
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import SEVERITIES, CheckedRule, Rules, Side
from sortiewright.recording.time_functions import Floats, Mask
from sortiewright.sortie import Plan

LEAST_TOLD = 0.9
"""Share of the time for which a rule must be told to be called held."""


def judge(
    recording: Recording,
    flight: Flight,
    rules: Rules,
    plan: Plan | None = None,
    runway: AlongRunway | None = None,
) -> tuple[tuple[Finding, ...], tuple[Judged, ...]]:
    """Return what rules were broken and when, in the order of time, and how every rule came out.

    A rule is not evaluated, never held, where a channel, an event, a phase or a figure of the plan that it
    needs is missing, where its ``when`` never came true, or where it could be told for less than nine tenths
    of the time.
    """
    return judge_on(stage_of(recording, flight, rules, plan, runway))


def judge_on(stage: Stage) -> tuple[tuple[Finding, ...], tuple[Judged, ...]]:
    """Return what ``judge`` does, for a flight whose columns are shared with ``measure_on``."""
    findings: list[Finding] = []
    judged: list[Judged] = []
    for rule in stage.rules.rules.values():
        broken, outcome = _judged(stage, rule)
        findings += broken
        judged.append(outcome)
    return tuple(sorted(findings, key=lambda one: (one.begins, one.rule))), tuple(judged)


def _judged(stage: Stage, rule: CheckedRule) -> tuple[list[Finding], Judged]:
    if why := why_no_rows(stage, rule.rule.during, rule.rule.at, rule.rule.after):
        return [], _not_evaluated(rule, why)
    if not rule.rule.at and not rows_of(stage, rule.rule):
        phases = " or ".join(phase_said(one) for one in rule.rule.during)
        return [], _not_evaluated(rule, f"{event_said(rule.rule.after)} was not followed by {phases}")
    if rule.rule.at:
        findings, applied, told = judged_at_moments(stage, rule)
    else:
        findings, applied, told = _judged_over_rows(stage, rule)
    if findings:
        return findings, Judged(rule.name, rule.rule.title, "broken")
    if not applied and told >= LEAST_TOLD:
        return [], _not_evaluated(rule, f"this never came: {rule.rule.when}")
    if told < LEAST_TOLD or not applied:
        sometimes = f"what it needs is known for {100 * told:.0f} % of the time only"
        return [], _not_evaluated(rule, stage.why_unknown(rule.terms()) or sometimes)
    return [], Judged(rule.name, rule.rule.title, "held", praise=rule.rule.praise)


def _not_evaluated(rule: CheckedRule, because: str) -> Judged:
    return Judged(rule.name, rule.rule.title, "not_evaluated", because)


@dataclass(frozen=True)
class _Tally:
    """Rows looked at, rows where the rule applied and was told, rows told or where it does not apply."""

    rows: int
    applied: int
    told: int


def _judged_over_rows(stage: Stage, rule: CheckedRule) -> tuple[list[Finding], int, float]:
    """Return the findings, the number of rows where the rule applied, and the share of rows that it told."""
    findings: list[Finding] = []
    tallies: list[_Tally] = []
    for begin, end in rows_of(stage, rule.rule):
        part = stage.columns.part(begin, end)
        when = None if rule.when is None else part.truths(rule.when.expression, rule.when.looks_back)
        if rule.wrong_if is not None:
            truth = part.truths(rule.wrong_if.expression, rule.wrong_if.looks_back)
            known: Mask = np.logical_or(truth.yes, truth.no)
            tallies.append(_tally(known, when))
            findings += _of_condition(stage, rule, begin, end, truth, when)
        else:
            known = _of_value(stage, rule, (begin, end), part, when, findings)
            tallies.append(_tally(known, when))
    rows = sum(one.rows for one in tallies)
    applied = sum(one.applied for one in tallies)
    return findings, applied, sum(one.told for one in tallies) / rows if rows else 0.0


def _tally(known: Mask, when: Truth | None) -> _Tally:
    rows = len(known)
    if when is None:
        told = int(np.count_nonzero(known))
        return _Tally(rows, told, told)
    applied = int(np.count_nonzero(known & when.yes))
    return _Tally(rows, applied, applied + int(np.count_nonzero(when.no)))


def _of_condition(
    stage: Stage, rule: CheckedRule, begin: int, end: int, truth: Truth, when: Truth | None
) -> Iterator[Finding]:
    wrong = truth.yes if when is None else truth.yes & when.yes
    found = stretches(wrong, stage.time[begin:end], stage.breaks_in(begin, end)).lasting(rule.rule.lasts)
    for span in merged([found], rule.rule.merge):
        yield finding_of(stage, rule, _shifted(span, begin), rule.rule.severity, span.first + begin)


def _of_value(
    stage: Stage,
    rule: CheckedRule,
    rows: tuple[int, int],
    part: SharedColumns,
    when: Truth | None,
    findings: list[Finding],
) -> Mask:
    """Add the findings of a value against its limits; return the rows where it could be told."""
    assert rule.value is not None
    values = part.numbers(rule.value.expression, rule.value.looks_back)
    told: Mask | None = None
    for side, levels in rule.levels.items():
        limits: dict[Severity, Floats] = {
            severity: part.numbers(limit.expression, limit.looks_back) for severity, limit in levels.items()
        }
        margins: dict[Severity, Floats] = {
            severity: _margin(side, values, limit) for severity, limit in limits.items()
        }
        for span, severity, peak, lasted in _beyond(stage, rule, rows, margins, when):
            value, limit = float(values[peak]), float(limits[severity][peak])
            where = (_shifted(span, rows[0]), severity, peak + rows[0])
            findings.append(finding_of(stage, rule, *where, value, limit, side, lasted))
        for margin in margins.values():
            known = margin == margin
            told = known if told is None else told | known
    assert told is not None
    return told


def _margin(side: Side, values: Floats, limits: Floats) -> Floats:
    """Return by how much a limit is passed."""
    limit = limits[0] if len(limits) and limits.strides == (0,) else limits
    with np.errstate(invalid="ignore"):  # no runway is long enough for either of two figures
        return values - limit if side == "above" else limit - values


def _beyond(
    stage: Stage,
    rule: CheckedRule,
    rows: tuple[int, int],
    margins: dict[Severity, Floats],
    when: Truth | None,
) -> Iterator[tuple[Span, Severity, int, float]]:
    """Yield each time that limits were passed: span, worst severity, row of its peak, and for how long."""
    begin, end = rows
    time, breaks = stage.time[begin:end], stage.breaks_in(begin, end)
    found: dict[Severity, Stretches] = {}
    for severity, margin in margins.items():
        over = margin > 0 if when is None else (margin > 0) & when.yes
        if lasting := stretches(over, time, breaks, margin).lasting(rule.rule.lasts):
            found[severity] = lasting
    for span in merged(list(found.values()), rule.rule.merge):
        for severity in reversed(SEVERITIES):
            if severity in found and (inside := found[severity].within(span)):
                margin = margins[severity][span.first : span.last + 1]
                if when is not None:
                    margin = np.where(when.yes[span.first : span.last + 1], margin, np.nan)
                peak = span.first + int(np.nanargmax(margin))
                yield span, severity, peak, float((inside.ends - inside.begins).max())
                break


def _shifted(span: Span, begin: int) -> Span:
    return Span(span.first + begin, span.last + begin, span.begins, span.ends)
