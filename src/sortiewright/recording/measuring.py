"""Measuring a flight: the values that a crew wants to see even when nothing was wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from sortiewright.recording.findings import Measured
from sortiewright.recording.judging_moments import moment_of
from sortiewright.recording.judging_scope import Stage, phase_rows, stage_of, why_no_rows
from sortiewright.recording.moments import Flight
from sortiewright.recording.place import AlongRunway
from sortiewright.recording.recording import Recording
from sortiewright.recording.rules import CheckedMeasurement, Rules
from sortiewright.recording.time_functions import Floats, Mask
from sortiewright.sortie import Plan, find_figure

Take = Literal["maximum", "minimum", "mean", "first", "last", "duration"]


def measure(
    recording: Recording,
    flight: Flight,
    rules: Rules,
    plan: Plan | None = None,
    runway: AlongRunway | None = None,
) -> tuple[Measured, ...]:
    """Return every measurement of the pack on a flight, SI; of an event that came several times, one each.

    One that cannot be taken has no value, and its problem says why.
    """
    return measure_on(stage_of(recording, flight, rules, plan, runway))


def measure_on(stage: Stage) -> tuple[Measured, ...]:
    """Return what ``measure`` does, for a flight whose columns are shared with ``judge_on``."""
    return tuple(one for each in stage.rules.measurements.values() for one in _measured(stage, each))


def _measured(stage: Stage, checked: CheckedMeasurement) -> list[Measured]:
    of = checked.measurement
    empty = Measured(checked.name, of.title, None, of.kind, None, _planned(stage, of.planned))
    if why := why_no_rows(stage, of.during, of.at, ""):
        return [replace(empty, problem=why)]
    if not of.at:
        return [_over_rows(stage, checked, empty)]
    events = stage.events(of.at, of.during)
    found: list[Measured] = []
    for number, event in enumerate(events, start=1):
        moment = moment_of(stage, event)
        if checked.when is not None and not moment.truth(checked.when):
            continue
        value = moment.number(checked.value)
        title = of.title if len(events) == 1 else f"{of.title} ({number} of {len(events)})"
        problem = "" if value is not None else stage.why_unknown(checked.terms())
        found.append(replace(empty, title=title, value=value, time=event.time, problem=problem))
    return found or [
        replace(empty, problem=stage.why_unknown(checked.terms()) or f"this never came: {of.when}")
    ]


def _planned(stage: Stage, name: str) -> float | None:
    figure = find_figure(stage.values.plan, name) if name and stage.values.plan is not None else None
    return None if figure is None else figure.value


def _over_rows(stage: Stage, checked: CheckedMeasurement, empty: Measured) -> Measured:
    """Return what is taken over the rows of its phases in which it is to be measured."""
    take: Take = checked.measurement.take
    best: Measured | None = None
    total = weight = 0.0
    for begin, end in phase_rows(stage, checked.measurement.during):
        part = stage.columns.part(begin, end)
        time = stage.time[begin:end]
        wanted: Mask = np.ones(end - begin, np.bool_)
        if checked.when is not None:
            wanted = part.truths(checked.when.expression, checked.when.looks_back).yes
        if take == "duration":
            truth = part.truths(checked.value.expression, checked.value.looks_back)
            if np.logical_or(truth.yes, truth.no).any():
                total += stage.seconds(wanted & truth.yes, begin, end)
                weight += 1
            continue
        values = part.numbers(checked.value.expression, checked.value.looks_back)
        usable = np.flatnonzero(wanted & ~np.isnan(values))
        if not len(usable):
            continue
        if take == "mean":
            total += float(values[usable].sum())
            weight += len(usable)
        else:
            row = _row_of(take, values, usable)
            best = _better(take, best, replace(empty, value=float(values[row]), time=float(time[row])))
    if take in ("mean", "duration") and weight:
        return replace(empty, value=total / weight if take == "mean" else total)
    if best is not None:
        return best
    return replace(
        empty, problem=stage.why_unknown(checked.terms()) or f"this never came: {checked.measurement.when}"
    )


def _row_of(take: Take, values: Floats, usable: np.ndarray[tuple[int], np.dtype[np.intp]]) -> int:
    match take:
        case "first":
            place = 0
        case "last":
            place = len(usable) - 1
        case "minimum":
            place = int(np.argmin(values[usable]))
        case _:
            place = int(np.argmax(values[usable]))
    return int(usable[place])


def _better(take: Take, one: Measured | None, other: Measured) -> Measured:
    """Return which of two, in the order of time, is wanted."""
    if one is None or take == "last":
        return other
    assert one.value is not None
    assert other.value is not None
    is_better = {"maximum": other.value > one.value, "minimum": other.value < one.value}.get(take, False)
    return other if is_better else one
