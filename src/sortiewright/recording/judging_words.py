"""What a finding says: a plain sentence with its numbers in the trade's units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from sortiewright.expressions import BUILT_IN, Columns, Fact, NumberType
from sortiewright.recording.findings import Finding
from sortiewright.recording.judging_names import event_said, phase_said
from sortiewright.recording.judging_scope import Stage
from sortiewright.recording.judging_stretches import Span
from sortiewright.recording.rule_columns import said
from sortiewright.recording.rule_schema import Severity
from sortiewright.recording.rules import CheckedRule, Side
from sortiewright.recording.time_functions import UNBROKEN_SINCE

_CALL = re.compile(r"\b([A-Za-z_0-9]+)\(")
_USUAL_UNIT = {
    "m": "ft",
    "m/s": "kt",
    "rad": "deg",
    "rad/s": "deg_per_s",
    "kg": "lb",
    "kg/s": "lb_per_h",
    "K": "degC",
    "Pa": "psi",
    "J": "Mft_lbf",
    "N.m": "ft_lbf",
    "N": "lbf",
    "s": "s",
}
"""The function of the unit in which a value is said whose rule names none."""
_SIGNS = {"deg": "°", "degC": "°C", "degF": "°F", "delta_degC": "°C", "Mft_lbf": "Mft·lbf", "ft_lbf": "ft·lb"}
_MOST_VALUES = 3
"""Values that are told of a plain condition: more than these do not fit a sentence."""


def finding_of(
    stage: Stage,
    rule: CheckedRule,
    span: Span,
    severity: Severity,
    peak: int,
    value: float | None = None,
    limit: float | None = None,
    side: Side = "above",
    lasted: float | None = None,
) -> Finding:
    """Return a finding over a span of the flight's rows.

    ``lasted`` is for how long the limit of its severity was passed, s; the span is that of the lowest limit.
    """
    phase = stage.phase_at(peak)
    is_moment = bool(rule.rule.at)
    if value is None or limit is None:
        numbers = _values_said(stage, rule, span.first)
    else:
        numbers = _against_limit(rule, value, limit, side)
    seconds = span.ends - span.begins if lasted is None else lasted
    when = f"at {event_said(rule.rule.at)}" if is_moment else _how_long(seconds, phase)
    return Finding(
        rule=rule.name,
        title=rule.rule.title,
        severity=severity,
        begins=span.begins,
        ends=span.ends,
        peak_at=span.begins if is_moment else float(stage.time[peak]),
        phase=phase,
        value=value,
        limit=limit,
        unit=rule.unit,
        text=f"{rule.rule.title}{': ' if numbers else ''}{numbers}, {when}.",
        advice=rule.rule.advice,
        source=rule.source,
    )


def _how_long(lasted: float, phase: str) -> str:
    where = "" if phase == "unknown" else f" during {phase_said(phase)}"
    if lasted < 0.05:
        return f"for a moment{where}"
    if lasted < 100:
        return f"for {lasted:.1f} s{where}" if lasted < 10 else f"for {lasted:.0f} s{where}"
    return f"for {int(lasted) // 60} min {int(lasted) % 60:02d} s{where}"


def _against_limit(rule: CheckedRule, value: float, limit: float, side: Side) -> str:
    texts = [one.text for levels in rule.levels.values() for one in levels.values()]
    unit = unit_said((*texts, rule.rule.value), rule.unit)
    shown, limit_shown = in_unit(value, unit, limit), in_unit(limit, unit, value)
    return f"{shown}, {side} {limit_shown}"


def unit_said(texts: Sequence[str], si_unit: str) -> str:
    """Return the function of the first unit that the texts name for such a value, or else the usual one."""
    for text in texts:
        for name in _CALL.findall(text):
            function = BUILT_IN.get(name)
            if function is not None and function.result == NumberType(si_unit):
                return name
    return _USUAL_UNIT.get(si_unit, "")


def in_unit(value: float, unit: str, beside: float | None = None) -> str:
    """Return an SI value in a unit, ``38 kt``, with as many decimals as tell it from the value beside it."""
    scale, offset = _unit(unit)
    number = (value - offset) / scale
    other = None if beside is None else (beside - offset) / scale
    decimals = 0 if abs(number) >= 20 else 1 if abs(number) >= 2 else 2
    while (
        decimals < 3
        and other is not None
        and other != number
        and f"{number:.{decimals}f}" == f"{other:.{decimals}f}"
    ):
        decimals += 1
    sign = _SIGNS.get(unit, unit.replace("_per_", "/").replace("deg/", "°/"))
    if unit in ("percent", "percent_mac"):
        sign = "%"
    text = f"{number:.{decimals}f}".replace("-", "−")
    return f"{text}{'' if sign in ('', '°') else ' '}{sign if unit != 'g' else 'g'}"


@cache
def _unit(unit: str) -> tuple[float, float]:
    """Return the size of a unit and where its scale begins, in SI."""
    function = BUILT_IN.get(unit)
    if function is None or function.apply is None:
        return 1.0, 0.0
    nothing = Columns({})
    zero = float(function.apply((0.0,), nothing))
    return float(function.apply((1.0,), nothing)) - zero, zero


def _values_said(stage: Stage, rule: CheckedRule, row: int) -> str:
    """Return the numbers that a plain condition depends on, at a row."""
    assert rule.wrong_if is not None
    names = [name for name in sorted(rule.wrong_if.expression.names) if name not in ("time", UNBROKEN_SINCE)]
    in_text = sorted(names, key=rule.wrong_if.text.find)
    parts = [part for name in in_text if (part := _value_said(stage, rule, name, row))]
    return ", ".join(parts[:_MOST_VALUES])


def _value_said(stage: Stage, rule: CheckedRule, name: Fact, row: int) -> str:
    of = stage.rules.vocabulary.names.get(str(name))
    if not isinstance(of, NumberType) or str(name).startswith(("limit_", "technique_")):
        return ""
    found = stage.columns.part(row, row + 1).flight_values.number(str(name))
    if found is None or found[0] != found[0]:
        return ""
    value = float(found[0])
    unit = unit_said((rule.rule.wrong_if,), of.unit)
    return f"{said(str(name))} {in_unit(value, unit)}"
