"""Lists whose order is free, seats apart or items put off: does it matter who is faster?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from sortiewright.procedures.proof_facts import NO, OPEN, Choice, asks
from sortiewright.procedures.proof_model import Line, Model, Unit
from sortiewright.procedures.proof_reach import Reach
from sortiewright.procedures.proof_slice import Slice, SliceLine, SliceUnit, slice_of
from sortiewright.procedures.proof_walk import enabled_lines
from sortiewright.procedures.state_space import Exploration, Move, Seen, explore


@dataclass(frozen=True, slots=True)
class TwoEnds:
    """A control that stands differently at the end of a list, and two orders of the lines that say so."""

    unit: Unit
    variable: str
    ends: tuple[str, str]
    orders: tuple[tuple[Line, ...], tuple[Line, ...]]
    given: tuple[str, ...]
    """A sortie on which it shows."""


class OrderResult(NamedTuple):
    """What became of one control in one list: ``found`` if it matters who is faster, None if it does not."""

    unit: Unit
    variable: str
    found: TwoEnds | None
    states: int
    complete: bool


class _Progress(NamedTuple):
    done: int
    value: str
    """Where the control was put last; empty while nobody has."""
    chosen: Choice


_Orders = Exploration[_Progress, SliceLine | None, int]


def order_results(model: Model, reach: Reach, most_states: int) -> Iterator[OrderResult]:
    """Yield for every control that a list sets twice whether two orders of its answers leave it differently.

    Both orders are of one sortie; what the crew may be called to on the way is left out of account.
    """
    left = most_states
    for unit in model.units:
        if unit.procedure.pace == "apart" or any(line.item.until for line in unit.lines):
            for variable in sorted(_contested(unit)):
                cut = slice_of(model, (), (variable,))
                if unit.place in cut.units:
                    result = _ends(cut, cut.units[unit.place], variable, reach, left)
                    left -= result.states
                    yield result


def _ends(cut: Slice, here: SliceUnit, variable: str, reach: Reach, most_states: int) -> OrderResult:
    guards = cut.guards
    ends: list[_Progress] = []

    def choose(state: _Progress, guard: int) -> Seen[_Progress, SliceLine | None, int]:
        ways = guards.choices_of(state.chosen, guard)
        return Seen((), [Move(0, None, state._replace(chosen=chosen)) for chosen in ways])

    def look(state: _Progress) -> Seen[_Progress, SliceLine | None, int]:
        applies = here.test(state.chosen)
        if applies < NO:
            return choose(state, asks(applies))
        enabled = enabled_lines(here, state.done, state.chosen) if applies != NO else ()
        if isinstance(enabled, int):
            return choose(state, asks(enabled))
        if not enabled and applies != NO:
            ends.append(state)
        return Seen((), [Move(1, here.lines[k], _answered(state, here.lines[k], k)) for k in enabled])

    start = _Progress(0, "", guards.nothing_chosen())
    seen: _Orders = explore([start], look, most_states)
    found: TwoEnds | None = None
    for one, other in combinations(ends, 2):
        if one.value == other.value or not _agree(one.chosen, other.chosen):
            continue
        both = tuple(max(pair) for pair in zip(one.chosen, other.chosen, strict=True))
        possible = guards.sortie_of(both) is not None
        given = reach.comes_to(here.unit, None, *guards.as_conditions(both)) if possible else None
        if given is not None:
            orders = _order(seen, one), _order(seen, other)
            found = TwoEnds(here.unit, variable, (one.value, other.value), orders, given)
            break
    return OrderResult(here.unit, variable, found, seen.states, seen.complete)


def _answered(state: _Progress, part: SliceLine, number: int) -> _Progress:
    value = part.changes[0][1] if part.changes else state.value
    return _Progress(state.done | 1 << number, value, state.chosen)


def _agree(one: Choice, other: Choice) -> bool:
    """Return whether two choices are of one sortie."""
    return all(a == b or OPEN in (a, b) for a, b in zip(one, other, strict=True))


def _order(found: _Orders, end: _Progress) -> tuple[Line, ...]:
    """Return the answers that move the control, in the order that leads to an end."""
    return tuple(part.line for part, _ in found.way_to(end) if part is not None and part.changes)


def _contested(unit: Unit) -> set[str]:
    """Return the controls that lines of a list set to different positions."""
    said: dict[str, set[str]] = {}
    for line in unit.lines:
        for name, to in line.sets.items():
            said.setdefault(name, set()).add(to)
    return {name for name, positions in said.items() if len(positions) > 1}
