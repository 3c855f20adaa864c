"""Conditions on the live values: what a checklist may tick as seen, and watching for what becomes true."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from sortiewright.expressions import Expression
from sortiewright.link.live_state import LiveState

Changed: TypeAlias = "Callable[[str, bool | None, float], None]"
"""Called with a condition's name, its truth (None: unknown) and the time."""


def seen_now(condition: Expression, state: LiveState, now: float) -> bool | None:
    """Return whether a condition on channels is so; None where a value that decides it is missing or stale.

    A feed that was lost confirms nothing: two seconds later each condition is unknown.
    """
    return condition.truth(state.values(now))


class Watch:
    """Calls back when a condition's truth changes, first of all from unknown; thus rules run live."""

    def __init__(self, conditions: Mapping[str, Expression], changed: Changed) -> None:
        self.conditions = conditions
        self.truths: dict[str, bool | None] = dict.fromkeys(conditions)
        self._changed = changed

    def look(self, state: LiveState, now: float) -> None:
        """Ask every condition once."""
        values = state.values(now)
        for name, condition in self.conditions.items():
            truth = condition.truth(values)
            if truth is not self.truths[name]:
                self.truths[name] = truth
                self._changed(name, truth, now)
