"""Which conditions of one search hold, as far as anything has asked: the choices that a state carries.

A choice is a tuple with an answer for each condition of the search, ``OPEN`` where nothing has asked for it.
Answers are given only together with others that some sortie can satisfy. To carry answers rather than facts
keeps apart only what the lists tell apart: of ``a or b or c`` there are two cases, not eight.
"""

from __future__ import annotations

from collections.abc import Iterable

from sortiewright.procedures.proof_conditions import (
    ALWAYS,
    Condition,
    Conditions,
    Denied,
    Either,
    Every,
    Leaf,
    Not,
    facts_of,
)
from sortiewright.procedures.proof_facts import NO, OPEN, YES, Choice, LocalFacts, Test, asks, local_facts
from sortiewright.procedures.proof_load import Clause


class Guards:
    """The conditions of one search, each once. ``facts`` are what they hang on."""

    def __init__(
        self, conditions: Conditions, read: Iterable[Condition], impossible: Iterable[Clause]
    ) -> None:
        distinct = {_key(one): one for one in read if one is not ALWAYS}
        self.conditions = tuple(distinct.values())
        self._place = {key: place for place, key in enumerate(distinct)}
        self.facts = local_facts(conditions, self.conditions, impossible)
        self._tests = [self.facts.test(one) for one in self.conditions]
        self._solved: dict[Choice, Choice | None] = {self.nothing_chosen(): self.facts.nothing_chosen()}
        self._linked = _links(self.conditions, self.facts)
        self._kept: dict[tuple[frozenset[int], tuple[bool, ...]], tuple[bool, ...]] = {}

    def nothing_chosen(self) -> Choice:
        """Return the choice in which everything is open."""
        return (OPEN,) * len(self.conditions)

    def place(self, condition: Condition) -> int:
        """Return the number of a condition, or OPEN for one that always holds."""
        return OPEN if condition is ALWAYS else self._place[_key(condition)]

    def test(self, condition: Condition) -> Test:
        """Return a condition as a test of choices: ``YES``, ``NO``, or what it asks for."""
        if condition is ALWAYS:
            return lambda chosen: YES
        place = self.place(condition)
        question = asks(place)

        def test(chosen: Choice) -> int:
            answer = chosen[place]
            return question if answer == OPEN else answer

        return test

    def choices_of(self, chosen: Choice, place: int) -> list[Choice]:
        """Return a choice with an open condition answered in each way that some sortie can satisfy."""
        ways = [(*chosen[:place], answer, *chosen[place + 1 :]) for answer in (NO, YES)]
        return [way for way in ways if self.sortie_of(way, chosen, place) is not None]

    def sortie_of(self, chosen: Choice, before: Choice | None = None, place: int = OPEN) -> Choice | None:
        """Return regions of the facts that satisfy a choice, or None if none do.

        ``before``: the same choice with ``place`` still open, whose facts may do already.
        """
        if chosen in self._solved:
            return self._solved[chosen]
        known = self._solved.get(before) if before is not None else None
        if known is not None:
            given = self._tests[place](known)
            if given >= NO and _answer(given) == chosen[place]:
                self._solved[chosen] = known
                return known
        wanted = [(self._tests[k], answer) for k, answer in enumerate(chosen) if answer != OPEN]
        found = self._solved[chosen] = self._solve(wanted, self.facts.nothing_chosen())
        return found

    def of_sortie(self, regions: Choice) -> Choice:
        """Return the answers that a choice of facts gives, open where it leaves them open."""
        answers = (test(regions) for test in self._tests)
        return tuple(OPEN if answer < NO else _answer(answer) for answer in answers)

    def as_conditions(self, chosen: Choice) -> list[Condition]:
        """Return what a choice says, as conditions that hold."""
        return [
            one if answer else Denied(one)
            for one, answer in zip(self.conditions, chosen, strict=True)
            if answer != OPEN
        ]

    def kept(self, chosen: Choice, wanted: frozenset[int]) -> Choice:
        """Return a choice without the answers that say nothing any more of the conditions ``wanted``."""
        open_ones = tuple(answer == OPEN for answer in chosen)
        key = (wanted, open_ones)
        keeps = self._kept.get(key)
        if keeps is None:
            keeps = self._kept[key] = self._keeps(wanted, open_ones)
        return tuple([answer if keep else OPEN for answer, keep in zip(chosen, keeps, strict=True)])

    def _keeps(self, wanted: frozenset[int], open_ones: tuple[bool, ...]) -> tuple[bool, ...]:
        """Return what to keep: answers wanted later, and answers that bind these by facts they share."""
        kept, ahead = set(wanted), list(wanted)
        while ahead:
            for other in self._linked[ahead.pop()]:
                if other not in kept and not open_ones[other]:
                    kept.add(other)
                    ahead.append(other)
        return tuple(place in kept for place in range(len(self.conditions)))

    def _solve(self, wanted: list[tuple[Test, int]], regions: Choice) -> Choice | None:
        for test, answer in wanted:
            given = test(regions)
            if given < NO:
                for more in self.facts.choices_of(regions, asks(given)):
                    if (found := self._solve(wanted, more)) is not None:
                        return found
                return None
            if _answer(given) != answer:
                return None
        return regions


def _answer(given: int) -> int:
    """Return an answer with unknown taken for yes: an item that nobody can rule out is kept."""
    return NO if given == NO else YES


def _key(condition: Condition) -> tuple[object, ...]:
    match condition:
        case Leaf():
            return "leaf", condition.facts, condition.text
        case Not(part):
            return "not", _key(part)
        case Denied(part):
            return "denied", _key(part)
        case Every(parts):
            return "every", *(_key(one) for one in parts)
        case Either(parts):
            return "either", *(_key(one) for one in parts)


def _links(conditions: tuple[Condition, ...], facts: LocalFacts) -> list[list[int]]:
    """Return for each condition the others that may bind it: they share a fact, or facts that exclude."""
    group = list(range(len(facts.facts)))
    for clause in facts.clauses:
        joined = {group[fact] for fact, _ in clause}
        group = [min(joined) if one in joined else one for one in group]
    touched = [{group[facts.facts.index(fact)] for fact in facts_of(one)} for one in conditions]
    return [
        [k for k, other in enumerate(touched) if k != place and other & one]
        for place, one in enumerate(touched)
    ]
