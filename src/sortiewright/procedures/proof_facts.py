"""Conditions compiled for one search: few facts, fewer regions, and what is not chosen yet stays open.

A choice of facts is a tuple of region numbers, ``OPEN`` where nothing has asked for the fact. A test of a
condition returns ``YES``, ``NO``, ``UNKNOWN``, or, where it hangs on an open fact, ``asks(fact)``, a negative
number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeAlias

from sortiewright.procedures.proof_conditions import (
    Condition,
    Conditions,
    Denied,
    Either,
    Every,
    Fact,
    Leaf,
    Not,
    facts_of,
    leaves_of,
)
from sortiewright.procedures.proof_load import Clause

Choice: TypeAlias = tuple[int, ...]
Test: TypeAlias = Callable[[Choice], int]
OPEN = -1
NO, YES, UNKNOWN = 0, 1, 2
"""An unknown condition keeps its item, as tailoring does."""


def asks(fact: int) -> int:
    """Return the answer of a test that hangs on an open fact; the same turns it back into the fact."""
    return -1 - fact


@dataclass(frozen=True)
class LocalFacts:
    """The facts that some conditions read, by local number, and the regions that those conditions tell apart.

    ``regions[fact]`` holds a global region for each local one. ``clauses`` are facts and local regions that
    are never all so at once.
    """

    facts: tuple[int, ...]
    regions: tuple[tuple[int, ...], ...]
    clauses: tuple[tuple[tuple[int, int], ...], ...]
    merged: tuple[dict[int, int], ...]

    def nothing_chosen(self) -> Choice:
        """Return the choice in which every fact is open."""
        return (OPEN,) * len(self.facts)

    def choices_of(self, chosen: Choice, fact: int) -> list[Choice]:
        """Return the choice with an open fact in each of its regions that the others leave possible."""
        before, after = chosen[:fact], chosen[fact + 1 :]
        ways = [(*before, region, *after) for region in range(len(self.regions[fact]))]
        return [way for way in ways if self.is_possible(way)] if self.clauses else ways

    def is_possible(self, chosen: Choice) -> bool:
        """Return whether a choice matches no clause."""
        return not any(all(chosen[fact] == region for fact, region in clause) for clause in self.clauses)

    def test(self, condition: Condition) -> Test:
        """Return a condition as a test of choices; each choice is worked out once."""
        work = self._test(condition)
        known: dict[Choice, int] = {}

        def remembered(chosen: Choice) -> int:
            answer = known.get(chosen)
            if answer is None:
                answer = known[chosen] = work(chosen)
            return answer

        return remembered

    def _test(self, condition: Condition) -> Test:
        match condition:
            case Leaf():
                return self._leaf(condition)
            case Not(part):
                return _contrary(self._test(part))
            case Denied(part):
                return _denied(self._test(part))
            case Every(parts):
                return _joined([self._test(one) for one in parts], settles=NO, otherwise=YES)
            case Either(parts):
                return _joined([self._test(one) for one in parts], settles=YES, otherwise=NO)

    def _leaf(self, leaf: Leaf) -> Test:
        places = [self.facts.index(fact) for fact in leaf.facts]
        truths = {
            tuple(
                merged[one] for merged, one in zip((self.merged[p] for p in places), chosen, strict=True)
            ): (UNKNOWN if truth is None else int(truth))
            for chosen, truth in leaf.truths.items()
        }

        def test(chosen: Choice) -> int:
            mine = tuple([chosen[place] for place in places])
            if OPEN in mine:
                return asks(places[mine.index(OPEN)])
            return truths[mine]

        return test


def local_facts(
    conditions: Conditions, read: Iterable[Condition], impossible: Iterable[Clause]
) -> LocalFacts:
    """Return the facts that some conditions read, each with only the regions that they tell apart."""
    several = list(read)
    facts = tuple(sorted(frozenset[int]().union(*(facts_of(one) for one in several))))
    leaves = [leaf for one in several for leaf in leaves_of(one)]
    clauses = [clause for clause in impossible if all(fact in facts for fact, _ in clause)]
    in_clauses = {fact for clause in clauses for fact, _ in clause}
    regions: list[tuple[int, ...]] = []
    merged: list[dict[int, int]] = []
    for fact in facts:
        of_leaves = [leaf for leaf in leaves if fact in leaf.facts]
        every = range(len(conditions.facts[fact].regions))
        told_apart: dict[object, list[int]] = {}
        for region in every:
            sides = tuple(_side(leaf, fact, region) for leaf in of_leaves)
            told_apart.setdefault((sides, region if fact in in_clauses else None), []).append(region)
        groups = list(told_apart.values())
        regions.append(tuple(_typical(conditions.facts[fact], group) for group in groups))
        merged.append({region: place for place, group in enumerate(groups) for region in group})
    local = {fact: place for place, fact in enumerate(facts)}
    return LocalFacts(
        facts,
        tuple(regions),
        tuple(
            tuple((local[fact], merged[local[fact]][0 if truth else 1]) for fact, truth in clause)
            for clause in clauses
        ),
        tuple(merged),
    )


def _typical(fact: Fact, regions: list[int]) -> int:
    """Return the region of several that people would name: rather below 15 kt than exactly 15 kt."""

    def oddness(region: int) -> tuple[bool, bool]:
        words = f"{fact.regions[region].words} "
        return " below 0 " in words, " exactly " in words

    return min(regions, key=oddness)


def _side(leaf: Leaf, fact: int, region: int) -> object:
    """Return what a region of a fact makes of a leaf, so that regions which make the same of it are one."""
    place = leaf.facts.index(fact)
    return tuple(truth for chosen, truth in sorted(leaf.truths.items()) if chosen[place] == region)


def _contrary(part: Test) -> Test:
    def test(chosen: Choice) -> int:
        answer = part(chosen)
        return answer if answer < NO or answer == UNKNOWN else YES - answer

    return test


def _denied(part: Test) -> Test:
    def test(chosen: Choice) -> int:
        answer = part(chosen)
        return answer if answer < NO else YES if answer == NO else NO

    return test


def _joined(parts: list[Test], *, settles: int, otherwise: int) -> Test:
    """Return ``and`` (settled by a NO) or ``or`` (by a YES) of several tests, by Kleene's strong logic."""

    def test(chosen: Choice) -> int:
        answer = otherwise
        for part in parts:
            one = part(chosen)
            if one == settles:
                return settles
            if one < NO and answer >= NO:
                answer = one
            elif one == UNKNOWN and answer == otherwise:
                answer = UNKNOWN
        return answer

    return test
