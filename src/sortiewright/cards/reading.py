"""The plan as a card reads it: figures as rows of text, the verdict with the number that decides."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sortiewright.cards.typeface import printable
from sortiewright.sortie import (
    MISSING,
    NEVER,
    Altimeter,
    Figure,
    Kind,
    Plan,
    Reason,
    Rounding,
    Shown,
    System,
    Verdict,
    convert,
    show,
)

WORDS = {Verdict.GO: "GO", Verdict.CAUTION: "CAUTION", Verdict.NO_GO: "NO-GO"}
LOOKS = {Verdict.GO: "go", Verdict.CAUTION: "caution", Verdict.NO_GO: "no_go"}
NOT_PLANNED = "not in this plan"
MOST_REASONS = 2
"""Reasons printed beside the one that decides; the rest are counted."""

CLOSE = 0.5
"""Metres by which a distance may miss the runway's end and still count as ending there: a solved-for stop."""

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reading:
    """A plan with the units in which it is to be read."""

    plan: Plan
    system: System = "trade"
    altimeter: Altimeter = "hPa"

    def figure(self, section: str, name: str) -> Figure | None:
        """Return a figure, or None where the plan has none of that name."""
        for one in self.plan.sections:
            if one.name == section:
                return next((figure for figure in one.figures if figure.name == name), None)
        return None

    def figures(self, section: str) -> tuple[Figure, ...]:
        """Return all figures of a section, none if the plan lacks it."""
        return next((one.figures for one in self.plan.sections if one.name == section), ())

    def value(self, section: str, name: str) -> float | None:
        """Return a figure's value where it is a finite number."""
        figure = self.figure(section, name)
        if figure is None or figure.value is None or not math.isfinite(figure.value):
            return None
        return figure.value

    def shown(self, figure: Figure) -> Shown:
        """Return a figure's number and unit."""
        return show(figure, system=self.system, altimeter=self.altimeter)

    def text(
        self,
        value: float | None,
        kind: Kind,
        *,
        rounding: Rounding | None = None,
        step: float | None = None,
    ) -> str:
        """Return a bare value as text with its unit."""
        return show(value, kind, self.system, altimeter=self.altimeter, rounding=rounding, step=step).text

    def unit(self, kind: Kind) -> tuple[str, float]:
        """Return the sign of a kind's unit and its size in SI; not for temperatures, whose zero differs."""
        return show(0.0, kind, self.system).unit, 1.0 / convert(1.0, kind, self.system)[0]

    def figure_text(self, section: str, name: str) -> str:
        """Return a figure as text with its unit; empty where it is missing."""
        figure = self.figure(section, name)
        if figure is None or (figure.value is None and not figure.text):
            return ""
        return self.shown(figure).text

    def row(
        self,
        section: str,
        name: str,
        *,
        title: str = "",
        note: str = "",
        required: bool = False,
        voice: str = "",
        both: bool = False,
    ) -> Row | None:
        """Return a figure as a row, None where the plan has none and it is not ``required``.

        ``title`` stands in for a figure's own only where it is absent. A figure without value shows a dash
        and its problem. ``voice`` is the seat that calls the number. ``both`` keeps the number of a figure
        that also has words, and puts the words below it.
        """
        figure = self.figure(section, name)
        if figure is None:
            if not required:
                return None
            return row(title, Shown(MISSING, ""), note=NOT_PLANNED, state="missing", voice=voice)
        if both and figure.text and figure.value is not None:
            note, figure = figure.text, replace(figure, text="")
        missing = figure.value is None and not figure.text
        notes = [figure.problem or NOT_PLANNED] if missing else [note, *figure.cautions]
        never = not missing and not figure.text and figure.value is not None and math.isinf(figure.value)
        return row(
            figure.title or title,
            self.shown(figure),
            note="; ".join(one for one in notes if one),
            state="missing" if missing else NEVER if never else "ok",
            voice=voice,
            words=bool(figure.text),
        )

    def rows(self, section: str, names: Iterable[str]) -> list[Row]:
        """Return those of the named figures that the plan has."""
        found = (self.row(section, name) for name in names)
        return [one for one in found if one is not None]


def row(
    title: str, shown: Shown, *, note: str = "", state: str = "ok", voice: str = "", words: bool = False
) -> Row:
    """Return one line of a card: title, leader dots, number and unit, a note below."""
    return {
        "title": printable(title),
        "number": printable(shown.number),
        "unit": printable(shown.unit),
        "note": printable(note),
        "state": state,
        "voice": voice,
        "words": words,
    }


def verdict_data(reading: Reading) -> dict[str, Any]:
    """Return the verdict: its word, the reason that decides with its number, and the other reasons."""
    plan = reading.plan
    decisive = deciding_reason(plan)
    others = [reason for reason in ranked(plan) if reason is not decisive and reason.severity != Verdict.GO]
    more = len(others) - MOST_REASONS
    notes = [told(reading, reason) for reason in others[:MOST_REASONS]]
    if more > 0:
        notes.append(f"and {more} more in the plan")
    return {
        "word": WORDS[plan.verdict],
        "look": LOOKS[plan.verdict],
        "reason": printable(decisive.text if decisive else what_is_left(reading)),
        "compare": printable(compare(reading, decisive) if decisive else ""),
        "others": [printable(note) for note in notes],
    }


def ranked(plan: Plan) -> list[Reason]:
    """Return the reasons, the gravest first, otherwise as the plan has them."""
    return sorted(plan.reasons, key=lambda reason: severity(reason.severity), reverse=True)


def deciding_reason(plan: Plan) -> Reason | None:
    """Return the first reason that is as grave as the verdict."""
    return next((reason for reason in ranked(plan) if reason.severity == plan.verdict), None)


def told(reading: Reading, reason: Reason) -> str:
    """Return a reason in one line: how grave, what, and its numbers."""
    # Most reasons bring their numbers in words.
    numbers = "" if any(sign.isdigit() for sign in reason.text) else compare(reading, reason)
    return f"{WORDS[reason.severity].capitalize()}: {reason.text}{f', {numbers}' if numbers else ''}"


def severity(verdict: Verdict) -> int:
    """Return a rank that grows with what the verdict forbids."""
    return (Verdict.GO, Verdict.CAUTION, Verdict.NO_GO).index(verdict)


def compare(reading: Reading, reason: Reason) -> str:
    """Return the reason's value against its limit, empty where either is unknown."""
    if reason.value is None or reason.limit is None or not math.isfinite(reason.value + reason.limit):
        return ""
    value = reading.text(reason.value, reason.kind)
    return f"{value} against {reading.text(reason.limit, reason.kind, rounding='nearest')}"


def what_is_left(reading: Reading) -> str:
    """Return what a GO rests on: the runway left beyond the longest distance that this takeoff may need."""
    runway = reading.plan.runway
    available = runway.length - runway.start_offset
    for name, section in (("critical_field_length", "engine_failure"), ("ground_run", "takeoff")):
        needed, figure = reading.value(section, name), reading.figure(section, name)
        if needed is not None and figure is not None and needed <= available:
            left = reading.text(available - needed, Kind.RUNWAY_DISTANCE, rounding="down")
            return f"{figure.title} fits with {left} left"
    return "No limit is broken"


def uncovered_band(reading: Reading) -> str:
    """Return the band of speeds from which neither stopping nor going fits, empty where there is none."""
    if text := reading.figure_text("engine_failure", "uncovered_band"):
        return "" if text.lower().startswith(("none", "no ", "—")) else text
    refusal = reading.value("engine_failure", "refusal_speed")
    minimum_go = reading.value("engine_failure", "minimum_go_speed")
    if refusal is None or minimum_go is None or minimum_go <= refusal:
        return ""
    low = reading.text(refusal, Kind.CAS, rounding="down")
    return f"{low} to {reading.text(minimum_go, Kind.CAS, rounding='up')}"


def cable_name(name: str) -> str:
    """Return a cable's name, with the word cable in it."""
    return name if "cable" in name.lower() else f"cable {name}"


def distance_bars(figures: Sequence[Figure], available: float, reading: Reading) -> dict[str, Any]:
    """Return distances as bars to one scale against the runway, each with the spread of its uncertainty."""
    known = [d for figure in figures for d in (figure.value, figure.high) if d is not None]
    whole = max([available, *(d for d in known if math.isfinite(d))]) * 1.001

    def share(distance: float | None) -> float:
        return 0.0 if distance is None else min(1.0, distance / whole)

    return {
        "available": available / whole,
        "available_text": reading.text(available, Kind.RUNWAY_DISTANCE, rounding="down"),
        "bars": [
            row(figure.title, reading.shown(figure), note=bar_note(figure), words=bool(figure.text))
            | {
                "share": share(figure.value),
                "low": share(figure.low),
                "high": share(figure.high),
                "state": bar_state(figure.value, available),
            }
            for figure in figures
        ],
    }


def bar_note(figure: Figure) -> str:
    """Return why a distance has no value, and its cautions."""
    missing = figure.value is None and not figure.text
    return "; ".join([*([figure.problem] if missing and figure.problem else []), *figure.cautions])


def bar_state(distance: float | None, available: float) -> str:
    """Return whether a distance fits: ``fits``, ``short`` of runway, ``never``, or ``missing``."""
    if distance is None or math.isnan(distance):
        return "missing"
    if math.isinf(distance):
        return "never"
    return "fits" if distance <= available + CLOSE else "short"
