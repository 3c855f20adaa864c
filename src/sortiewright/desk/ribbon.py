"""The sortie as one ribbon from parking to parking: each part of the job at its place, with its state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sortiewright.desk.families import PARTS
from sortiewright.desk.page_family import Level, Standing

if TYPE_CHECKING:
    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk

LEVELS = {"go": Level.FINE, "caution": Level.CAUTION, "no-go": Level.NO_GO}
"""By the plan's verdict."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A part of the job as the ribbon shows it."""

    name: str
    title: str
    path: str
    key: str
    standing: Standing
    here: bool


def stops(desk: Desk, opened: Opened | None, here: str) -> tuple[Stop, ...]:
    """Return the ribbon's stops in order; their states are unknown while the sortie is being computed."""
    if opened is None or not desk.families:
        computing = Standing(Level.UNKNOWN, "computing")
        return tuple(
            Stop(name, title, f"/{name}", key, computing, name == here) for name, title, key in PARTS
        )
    return tuple(
        Stop(one.name, one.title, one.path, one.key, one.standing(desk, opened), one.name == here)
        for one in desk.families
    )


def plan_standing(opened: Opened) -> Standing:
    """Return the state of everything that hangs on the plan: its verdict, or that the sortie is faulty."""
    if opened.plan is None:
        count = len(opened.fault_lines)
        return Standing(Level.NO_GO, f"{count} fault{'s' if count != 1 else ''} in the file")
    verdict = opened.plan.verdict.value
    count = sum(reason.severity == opened.plan.verdict for reason in opened.plan.reasons)
    return Standing(LEVELS[verdict], f"{verdict}: {count}" if count else verdict)
