"""Figures of a plan as they are read: number and unit, what is to be heeded, and where each comes from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from sortiewright.sortie import Figure, Plan, Section, System, show


class Line(NamedTuple):
    """A figure as it is read: name, number and unit or words, what is to be heeded, where it comes from."""

    name: str
    title: str
    number: str
    unit: str
    words: str
    spread: str
    notes: tuple[str, ...]
    is_missing: bool
    id: str = ""
    bounds: str = ""
    method: str = ""
    inputs: tuple[str, ...] = ()


class SectionLines(NamedTuple):
    """A section of the plan with its lines."""

    name: str
    title: str
    lines: list[Line]


def section_lines(plan: Plan, units: System) -> list[SectionLines]:
    """Return every section of a plan; a name that stands in two sections has one id in each."""
    taken: set[str] = set()
    return [_section(section, units, taken) for section in plan.sections]


def _section(section: Section, units: System, taken: set[str]) -> SectionLines:
    lines: list[Line] = []
    for figure in section.figures:
        id = f"figure-{figure.name}"
        if id in taken:
            id = f"figure-{section.name}-{figure.name}"
        taken.add(id)
        lines.append(figure_line(figure, units)._replace(id=id))
    return SectionLines(section.name, section.title, lines)


def figure_line(figure: Figure, units: System) -> Line:
    """Return a figure as it is read."""
    if figure.problem:
        made = Line(figure.name, figure.title, "", "", figure.problem, "", figure.cautions, True)
        return made._replace(method=figure.method, inputs=figure.inputs)
    notes, words, spread, bounds = list(figure.cautions), figure.text, "", ""
    if figure.low is not None and figure.high is not None and figure.value is not None:
        half = show(0.5 * (figure.high - figure.low), figure.kind, units, difference=True)
        low, high = (show(one, figure.kind, units, rounding="nearest") for one in (figure.low, figure.high))
        spread, bounds = f"± {half.text.lstrip('+')}", f"{low.number} to {high.text}"
    if words and figure.value is not None and not words[0].isdigit():
        notes.insert(0, words)
        figure, words = replace(figure, text=""), ""
    number, unit = ("", "") if words else show(figure, system=units)
    return Line(
        figure.name,
        figure.title,
        number,
        unit,
        words,
        spread,
        tuple(notes),
        False,
        bounds=bounds,
        method=figure.method,
        inputs=figure.inputs,
    )


def id_of(sections: Sequence[SectionLines], name: str) -> str:
    """Return the id of a figure's first line, empty where no section has it."""
    return next((line.id for section in sections for line in section.lines if line.name == name), "")
