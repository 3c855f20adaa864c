"""Which procedures and items a crew can come to at all, on which sorties."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sortiewright.procedures.proof_conditions import Condition
from sortiewright.procedures.proof_facts import NO, Choice, LocalFacts, Test, asks, local_facts
from sortiewright.procedures.proof_model import NOWHERE, Line, Model, Unit

MOST_WAYS = 32
"""Different ways to one procedure that are kept; with more, it is taken as reached."""
Way = tuple[Condition, ...]


@dataclass(frozen=True)
class Reach:
    """On which sorties the crew can come to each unit: conditions that together open a way there."""

    model: Model
    ways: dict[int, list[Way]]

    def comes_to(self, unit: Unit, line: Line | None = None, *more: Condition) -> tuple[str, ...] | None:
        """Return a sortie on which the crew comes to a unit, or a line of it, in words; None for none."""
        ways = self.ways.get(unit.place, [])
        if len(ways) >= MOST_WAYS:
            return ()
        for way in ways:
            found = a_sortie(self.model, (*way, *([line.guard] if line else []), *more))
            if found is not None:
                return found
        return None


def reach_of(model: Model) -> Reach:
    """Return how the crew can come to each unit."""
    ways: dict[int, list[Way]] = {}
    ahead: list[tuple[int, Way]] = [(unit.place, ()) for unit in _in_order(model)]
    while ahead:
        place, before = ahead.pop(0)
        unit = model.units[place]
        way = _with(before, unit.guard)
        known = ways.setdefault(place, [])
        if len(known) >= MOST_WAYS or any(_covers(one, way) for one in known):
            continue
        if a_sortie(model, way) is None:
            continue
        known.append(way)
        for onwards, guards in _leads(model, unit):
            further = way
            for guard in guards:
                further = _with(further, guard)
            ahead.append((onwards, further))
    return Reach(model, ways)


def a_sortie(model: Model, conditions: Iterable[Condition]) -> tuple[str, ...] | None:
    """Return a sortie on which all conditions hold, in words, or None if there is none."""
    wanted = list(conditions)
    local = local_facts(model.conditions, wanted, model.impossible)
    chosen = _choice(local, [local.test(one) for one in wanted], local.nothing_chosen())
    if chosen is None:
        return None
    facts = model.conditions.facts
    return tuple(
        facts[local.facts[fact]].regions[local.regions[fact][region]].words
        for fact, region in enumerate(chosen)
        if region >= 0 and len(local.regions[fact]) > 1
    )


def _choice(local: LocalFacts, tests: list[Test], chosen: Choice) -> Choice | None:
    for test in tests:
        answer = test(chosen)
        if answer == NO:
            return None
        if answer < NO:
            ways = (_choice(local, tests, more) for more in local.choices_of(chosen, asks(answer)))
            return next((way for way in ways if way is not None), None)
    return chosen


def _in_order(model: Model) -> Iterator[Unit]:
    yield from model.units[: len(model.procedures.order.sortie)]


def _leads(model: Model, unit: Unit) -> Iterator[tuple[int, Way]]:
    """Yield the units that the crew can come to from one, and the conditions that this takes."""
    for other in (*model.calls[unit.place], unit.following, unit.around):
        if other != NOWHERE:
            yield other, ()
    for line in unit.lines:
        if line.branch:
            yield model.first[line.branch], (line.guard,)


def _with(way: Way, guard: Condition) -> Way:
    return way if any(one is guard for one in way) else (*way, guard)


def _covers(known: Way, way: Way) -> bool:
    """Return whether everything that a known way asks is asked by another, which then opens nothing new."""
    return all(any(one is other for other in way) for one in known)
