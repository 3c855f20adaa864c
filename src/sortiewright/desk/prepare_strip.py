"""The figures that decide, repainted after each edit: what they are, what they were, and what limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sortiewright.sortie import Figure, Plan, System, show

KEY_FIGURES = (
    ("loading", "takeoff_mass", "Takeoff weight"),
    ("loading", "centre_of_gravity_takeoff", "Balance"),
    ("takeoff", "ground_run", "Ground run"),
    ("engine_failure", "refusal_speed", "Refusal speed"),
    ("engine_failure", "decision_speed", "Decision speed"),
    ("engine_failure", "critical_field_length", "Critical field"),
    ("takeoff", "runway_for_takeoff", "Runway ahead"),
    ("landing", "landing_distance", "Landing distance"),
    ("fuel", "bingo", "Bingo"),
    ("fuel", "ladder_margin", "Least over bingo"),
)
"""Section, figure and the short name it has here."""

Change = Literal["", "up", "down", "other"]


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """One figure as the strip shows it; ``was`` is its text before the last change, where that differs."""

    name: str
    title: str
    number: str
    unit: str
    words: str = ""
    was: str = ""
    change: Change = ""
    missing: bool = False
    limits: bool = False
    """Whether a reason of the verdict is about it."""


def key_figures(plan: Plan, before: Plan | None, units: System) -> tuple[KeyFigure, ...]:
    """Return the figures that decide, each held against the plan before the last change."""
    limiting = {reason.figure for reason in plan.reasons}
    found: list[KeyFigure] = []
    for section, name, title in KEY_FIGURES:
        now = figure_of(plan, section, name)
        if now is None:
            continue
        then = None if before is None else figure_of(before, section, name)
        found.append(_key_figure(now, then, title, units, name in limiting))
    return tuple(found)


def figure_of(plan: Plan, section: str, name: str) -> Figure | None:
    """Return a figure of a plan, None if it has none of that name."""
    try:
        return plan.figure(section, name)
    except KeyError:
        return None


def _key_figure(now: Figure, then: Figure | None, title: str, units: System, limits: bool) -> KeyFigure:
    was, change = _change(now, then, units)
    if now.problem:
        return KeyFigure(now.name, title, "", "", now.problem, was, change, missing=True, limits=limits)
    if now.text:
        return KeyFigure(now.name, title, "", "", now.text, was, change, limits=limits)
    number, unit = show(now, system=units)
    return KeyFigure(now.name, title, number, unit, "", was, change, limits=limits)


def _change(now: Figure, then: Figure | None, units: System) -> tuple[str, Change]:
    if then is None:
        return "", ""
    new = now.problem or show(now, system=units).text
    old = then.problem or show(then, system=units).text
    if new == old:
        return "", ""
    if now.value is None or then.value is None or now.text or then.text or now.value == then.value:
        return "unknown" if then.problem else old, "other"
    return old, "up" if now.value > then.value else "down"
