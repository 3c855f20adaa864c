"""Made-up scenes on which one rule of a pack is judged: a hundred seconds of columns, phases and events.

Values are numbers, words of choices, or texts in the language of rules, so that a scene can say "five knots
over the pack's limit". ``Knots`` is a line through points of time and value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from rule_flights import made_flight, made_recording

from sortiewright.expressions import Columns, parse_expression
from sortiewright.recording import AlongRunway, Rules, judge
from sortiewright.recording.rule_columns import FlightValues
from sortiewright.sortie import Plan

RATE, MOMENT = 10.0, 70.0
TIME = np.arange(1000) / RATE
ON_GROUND = frozenset(
    {"parked", "start", "taxi", "hold", "line_up", "run_up", "takeoff_roll", "rejected_takeoff", "rotation"}
    | {"touchdown", "landing_roll", "chute", "taxi_in", "shutdown"}
)
LEGS = ("weight_on_wheels_nose", "weight_on_wheels_left", "weight_on_wheels_right")
WORDS = frozenset({"drag_chute", "master_arm"})


class Knots(tuple):
    """Points ``(time, value)`` with straight lines between them, and level before and after."""

    def __new__(cls, *points):
        return super().__new__(cls, points)


@dataclass(frozen=True)
class Scene:
    """What breaks a rule, and what does not; ``also`` holds for both.

    The phase is the rule's first, or a cruise; the rule's own event comes at ``MOMENT``. ``events`` are
    others, ``wrong_events`` and ``right_events`` those of one side. ``figures`` replaces figures of the plan.
    """

    wrong: Mapping[Any, Any] = field(default_factory=dict)
    right: Mapping[Any, Any] = field(default_factory=dict)
    also: Mapping[Any, Any] = field(default_factory=dict)
    events: tuple[tuple[str, float], ...] = ()
    wrong_events: tuple[tuple[str, float], ...] = ()
    right_events: tuple[tuple[str, float], ...] = ()
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Day:
    """A pack's rules, today's plan, and the columns that every scene has."""

    rules: Rules
    plan: Plan
    base: Mapping[str, Any]

    def reckon(self, text: str) -> float:
        """Return what a text comes to at the first sample of the base columns."""
        recording = made_recording({name: np.full(2, value) for name, value in self.base.items()})
        values = FlightValues(recording, made_flight(recording), self.rules.numbers, self.plan)
        expression = parse_expression(text, self.rules.vocabulary, None)
        number = float(expression.numbers(Columns(values, 2), 2)[0])
        assert number == number, f"{text} is not known"
        return number

    def judged(self, name: str, scene: Scene, side: str):
        """Return findings and outcome of one rule on one side of its scene, ``wrong`` or ``right``."""
        checked = self.rules.rules[name]
        rule = checked.rule
        phase = rule.during[0] if rule.during else "cruise"
        events = [(one, MOMENT) for one in (rule.at, rule.after) if one]
        events += [*scene.events, *getattr(scene, f"{side}_events")]
        columns = dict.fromkeys(LEGS, float(phase in ON_GROUND)) | dict(self.base)
        columns |= dict(scene.also) | dict(getattr(scene, side))
        arrays = {key: self._column(key, value) for key, value in columns.items()}
        along, beside = arrays.pop("runway_position", None), arrays.pop("side_offset", None)
        runway = None
        if along is not None or beside is not None:
            unknown = np.full(len(TIME), np.nan)
            runway = AlongRunway(unknown if along is None else along, unknown if beside is None else beside)
        recording = made_recording(arrays, rate=RATE)
        only = replace(self.rules, rules={name: checked}, measurements={})
        flight = made_flight(recording, [(phase, 0.0)], events)
        findings, (outcome,) = judge(
            recording, flight, only, plan=with_figures(self.plan, scene.figures), runway=runway
        )
        return findings, outcome

    def _column(self, name, value):
        if isinstance(value, Knots):
            times, values = zip(*value, strict=True)
            return np.interp(TIME, times, [self._one(name, one) for one in values])
        return np.full(len(TIME), self._one(name, value))

    def _one(self, name, value):
        return self.reckon(value) if isinstance(value, str) and name not in WORDS else value


def with_figures(plan: Plan, figures: Mapping[str, float]) -> Plan:
    """Return a plan with other values of some figures."""
    if not figures:
        return plan
    sections = tuple(
        replace(
            section,
            figures=tuple(
                replace(one, value=figures[one.name]) if one.name in figures else one
                for one in section.figures
            ),
        )
        for section in plan.sections
    )
    return replace(plan, sections=sections)
