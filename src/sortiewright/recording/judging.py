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

_BLOCK = 1 << 16
"""Rows of a long flight that are judged at once: what is worked out then stays in the processor's cache."""
_LONG = 4 * _BLOCK
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
        if end - begin <= _LONG:
            tallies.append(_judged_run(stage, rule, begin, end, findings))
            continue
        blocks = [(first, min(first + _BLOCK, end)) for first in range(begin, end, _BLOCK)]
        looked = [_looked_over(stage, rule, first, last) for first, last in blocks]
        tallies += [tally for tally, _ in looked]
        for first, last in _broken_runs(stage, rule, blocks, [is_broken for _, is_broken in looked]):
            _judged_run(stage, rule, first, last, findings)
    rows = sum(one.rows for one in tallies)
    applied = sum(one.applied for one in tallies)
    return findings, applied, sum(one.told for one in tallies) / rows if rows else 0.0


def _judged_run(stage: Stage, rule: CheckedRule, begin: int, end: int, findings: list[Finding]) -> _Tally:
    """Add the findings of a run of rows; return its tally."""
    part = stage.columns.part(begin, end)
    when = _when(rule, part)
    if rule.wrong_if is not None:
        truth = part.truths(rule.wrong_if.expression, rule.wrong_if.looks_back)
        findings += _of_condition(stage, rule, begin, end, truth, when)
        return _tally(np.logical_or(truth.yes, truth.no), when)
    return _tally(_of_value(stage, rule, (begin, end), part, when, findings), when)


def _when(rule: CheckedRule, part: SharedColumns) -> Truth | None:
    return None if rule.when is None else part.truths(rule.when.expression, rule.when.looks_back)


def _looked_over(stage: Stage, rule: CheckedRule, begin: int, end: int) -> tuple[_Tally, bool]:
    """Return the tally of some rows, and whether the rule is broken in any of them, for however short."""
    part = stage.columns.part(begin, end)
    when = _when(rule, part)
    if rule.wrong_if is not None:
        truth = part.truths(rule.wrong_if.expression, rule.wrong_if.looks_back)
        wrong = truth.yes if when is None else truth.yes & when.yes
        return _tally(np.logical_or(truth.yes, truth.no), when), bool(wrong.any())
    told: Mask | None = None
    is_broken = False
    for against in _against_limits(rule, part)[1].values():
        for _, margin in against.values():
            over = margin > 0 if when is None else (margin > 0) & when.yes
            is_broken = is_broken or bool(over.any())
            known = margin == margin
            told = known if told is None else told | known
    assert told is not None
    return _tally(told, when), is_broken


def _broken_runs(
    stage: Stage, rule: CheckedRule, blocks: list[tuple[int, int]], broken: list[bool]
) -> list[tuple[int, int]]:
    """Return the runs of rows in which a rule is broken, each with an unbroken block on either side.

    What lies between two of them is longer than what would still be merged.
    """
    runs: list[tuple[int, int]] = []
    near = [any(broken[max(place - 1, 0) : place + 2]) for place in range(len(blocks))]
    for (begin, end), is_near in zip(blocks, near, strict=True):
        if not is_near:
            continue
        before = runs[-1][1] if runs else None
        if before is None or stage.time[begin] - stage.time[before - 1] > rule.rule.merge + 1.0:
            runs.append((begin, end))
        else:
            runs[-1] = (runs[-1][0], end)
    return runs


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
    told: Mask | None = None
    values, sides = _against_limits(rule, part)
    for side, against in sides.items():
        margins: dict[Severity, Floats] = {severity: margin for severity, (_, margin) in against.items()}
        for span, severity, peak, lasted in _beyond(stage, rule, rows, margins, when):
            value, limit = float(values[peak]), float(against[severity][0][peak])
            where = (_shifted(span, rows[0]), severity, peak + rows[0])
            findings.append(finding_of(stage, rule, *where, value, limit, side, lasted))
        for margin in margins.values():
            known = margin == margin
            told = known if told is None else told | known
    assert told is not None
    return told


def _against_limits(
    rule: CheckedRule, part: SharedColumns
) -> tuple[Floats, dict[Side, dict[Severity, tuple[Floats, Floats]]]]:
    """Return a rule's value on some rows, and each of its limits with by how much it is passed."""
    assert rule.value is not None
    values = part.numbers(rule.value.expression, rule.value.looks_back)
    sides: dict[Side, dict[Severity, tuple[Floats, Floats]]] = {}
    for side, levels in rule.levels.items():
        limits: dict[Severity, Floats] = {
            severity: part.numbers(limit.expression, limit.looks_back) for severity, limit in levels.items()
        }
        against: dict[Severity, tuple[Floats, Floats]] = {
            severity: (limit, _margin(side, values, limit)) for severity, limit in limits.items()
        }
        sides[side] = against
    return values, sides


def _margin(side: Side, values: Floats, limits: Floats) -> Floats:
    """Return by how much a limit is passed."""
    # One value throughout is worked with as one.
    value, limit = (one[0] if len(one) and one.strides == (0,) else one for one in (values, limits))
    with np.errstate(invalid="ignore"):  # no runway is long enough for either of two figures
        return np.broadcast_to(value - limit if side == "above" else limit - value, values.shape)


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
