"""A way through a slice, told in plain words: what was so, who did what, and where things stood then."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

from sortiewright.procedures.proof_facts import OPEN, Choice
from sortiewright.procedures.proof_model import Line, Model
from sortiewright.procedures.proof_slice import Slice
from sortiewright.procedures.proof_walk import TO_START, Happening, State, Walk

StepKind = Literal["answer", "hold", "branch", "call", "go-around"]
MOST_DROPPED = 6
"""Conditions of a story tried both ways: 2 to that power are the repetitions of its steps."""


@dataclass(frozen=True, slots=True)
class StoryStep:
    """One step that matters. ``number`` is that of the item in its procedure; 0 where there is none."""

    kind: StepKind
    text: str
    procedure: str
    item: str = ""
    number: int = 0
    to: str = ""
    """Of a branch, a call or a go-around: the procedure gone to."""


@dataclass(frozen=True, slots=True)
class Story:
    """A shortest way to something that must not be.

    ``given``: what is so of the sortie, and where controls stand at the start if that is open. Steps that
    move nothing the rule reads are left out: between any two the crew goes on through its lists.
    """

    given: tuple[str, ...]
    steps: tuple[StoryStep, ...]
    end: str
    """Where it happens and how things stand."""

    @property
    def length(self) -> int:
        """How many steps it takes."""
        return len(self.steps)


Way = list[tuple[Happening, State]]


def story_of(walk: Walk, way: Way, state: State, rule: int, end: str) -> Story:
    """Return the story of a way to a state that breaks a rule; ``end`` says what is wrong there."""
    cut = walk.cut
    steps = tuple(_step(cut, happening, before, way) for happening, before in way if _counts(happening))
    start = way[0][1] if way else state
    return Story(given=(*_stood(cut, start), *_conditions(walk, way, rule)), steps=steps, end=end)


def place_words(model: Model, line: Line) -> str:
    """Return an item as stories name it: ``'Flaps' (Before takeoff 4)``."""
    title = model.procedures.procedures[line.procedure].title
    challenge = re.sub(
        r"\{([^{},]*)[^{}]*\}", lambda value: value[1].strip().replace("_", " "), line.item.challenge
    )
    return f"'{challenge}' ({title} {line.number})"


def control_words(model: Model, name: str) -> str:
    """Return a control or state as stories name it."""
    cockpit = model.procedures.cockpit
    known = cockpit.controls.get(name) or cockpit.states.get(name)
    return known.title if known is not None and known.title else name


def where_words(cut: Slice, values: tuple[str, ...]) -> str:
    """Return where everything stands that the rules read."""
    named = zip(cut.variables, values, strict=True)
    return "; ".join(f"{control_words(cut.model, name)} is {value}" for name, value in named)


def moment_words(cut: Slice, state: State) -> str:
    """Return where in the sortie a state is."""
    if not state.frames:
        return "At the start"
    unit, progress, _ = state.frames[-1]
    title = cut.units[unit].unit.procedure.title
    return f"As '{title}' begins" if progress == TO_START else f"In '{title}'"


def _counts(happening: Happening) -> bool:
    if happening.kind == "line":
        return happening.line is not None and happening.line.counts > 0
    return happening.kind in ("branch", "call", "around")


def _step(cut: Slice, happening: Happening, before: State, way: Way) -> StoryStep:
    model, line = cut.model, happening.line
    if happening.kind == "line" and line is not None:
        return _line_step(model, line.line)
    here = cut.units[happening.unit].unit
    if happening.kind == "branch" and line is not None and line.line.item.if_not is not None:
        branch = line.line.item.if_not
        title = model.procedures.procedures[branch.go].title
        case = f" ({branch.case})" if branch.case else ""
        after = (
            ""
            if not cut.units[happening.target].unit.resumes
            else ("; back from there it goes on" if happening.goes_on else "; back from there it tries again")
        )
        text = f"{place_words(model, line.line)} is not as wanted{case}: the crew goes to '{title}'{after}"
        return StoryStep("branch", text, here.name, line.line.item.id, line.line.number, branch.go)
    target = model.units[happening.target]
    title = target.procedure.title
    if happening.kind == "around":
        return StoryStep("go-around", f"The crew goes around: '{title}'", here.name, to=target.name)
    line_before = _last_line(way, before)
    place = f"after {place_words(model, line_before)}" if line_before else "at its beginning"
    text = f"In '{here.procedure.title}', {place}, the crew is called to '{title}'"
    number = line_before.number if line_before else 0
    return StoryStep("call", text, here.name, line_before.item.id if line_before else "", number, target.name)


def _line_step(model: Model, line: Line) -> StoryStep:
    moved = ", ".join(f"{control_words(model, name)} to {value}" for name, value in line.sets.items())
    if line.is_hold and line.item.hold is not None:
        who = _who_clears(model, line.item.hold.cleared_by)
        text = f"{who} gives '{line.item.hold.awaits}', for {place_words(model, line)}: {moved}"
        return StoryStep("hold", text, line.procedure, line.item.id, line.number)
    seats = model.procedures.pack.mass.seats
    names = [seats[seat].title if seat in seats else seat for seat in line.seats]
    who = (" or " if line.any_one else " and ").join(names) or "The crew"
    verb = "answer" if len(names) > 1 and not line.any_one else "answers"
    text = f"{who} {verb} {place_words(model, line)}: {moved}"
    return StoryStep("answer", text, line.procedure, line.item.id, line.number)


def _who_clears(model: Model, name: str) -> str:
    parties, seats = model.procedures.cockpit.parties, model.procedures.pack.mass.seats
    if name in parties:
        return parties[name].title
    return seats[name].title if name in seats else name


def _last_line(way: Way, until: State) -> Line | None:
    """Return the line of the running procedure that came last before a state, if one that is told did."""
    depth, unit = len(until.frames), until.frames[-1][0]
    before_it = way[: next(place for place, (_, state) in enumerate(way) if state is until)]
    for happening, state in reversed(before_it):
        if len(state.frames) > depth:
            continue
        if len(state.frames) < depth or state.frames[-1][0] != unit or state.frames[-1][1] == TO_START:
            return None
        if happening.kind == "line" and happening.line is not None:
            return happening.line.line
    return None


def _stood(cut: Slice, start: State) -> Iterator[str]:
    for name, value in zip(cut.variables, start.values, strict=True):
        if len(cut.model.starts[name]) > 1:
            yield f"{control_words(cut.model, name)} is {value} at the start"


def _conditions(walk: Walk, way: Way, rule: int) -> list[str]:
    """Return what the way takes to be so of the sortie, without what makes no difference to it."""
    answers = {one.guard: one.answer for one, _ in way if one.kind == "condition"}
    guards = walk.cut.guards
    sortie = guards.sortie_of(_with(guards.nothing_chosen(), answers.items()))
    assert sortie is not None, "every choice was made with a sortie that satisfies it"
    local, facts = guards.facts, walk.cut.model.conditions.facts
    return [
        facts[local.facts[fact]].regions[local.regions[fact][sortie[fact]]].words
        for fact in _needed(walk, way, rule, sortie)
    ]


def _needed(walk: Walk, way: Way, rule: int, sortie: Choice) -> list[int]:
    """Return the facts without which the same steps are not possible, or nothing is wrong at their end."""
    settled = [
        k for k, region in enumerate(sortie) if region != OPEN and len(walk.cut.guards.facts.regions[k]) > 1
    ]
    dropped: list[int] = []
    for fact in settled:
        tried = [*dropped, fact]
        if len(tried) <= MOST_DROPPED and all(
            _still_broken(walk, way, rule, walk.cut.guards.of_sortie(other))
            for other in _either_way(walk, sortie, tried)
        ):
            dropped = tried
    return [fact for fact in settled if fact not in dropped]


def _either_way(walk: Walk, sortie: Choice, facts: list[int]) -> Iterator[Choice]:
    """Yield a sortie with some of its facts in all their regions."""
    local = walk.cut.guards.facts
    for regions in product(*(range(len(local.regions[fact])) for fact in facts)):
        changed = _with(sortie, zip(facts, regions, strict=True))
        if local.is_possible(changed):
            yield changed


def _with(chosen: Choice, settled: Iterable[tuple[int, int]]) -> Choice:
    changed = list(chosen)
    for fact, region in settled:
        changed[fact] = region
    return tuple(changed)


def _still_broken(walk: Walk, way: Way, rule: int, chosen: Choice) -> bool:
    """Return whether the steps of a way are possible on another sortie too, and break the rule there."""
    start = next(iter(state for _, state in way))
    states = _uncounted(walk, {start._replace(chosen=chosen)})
    for mark in [_mark(happening) for happening, _ in way if _counts(happening)]:
        taken = {
            move.state
            for state in states
            for move in walk.look(state).moves
            if move.counts and _mark(move.label) == mark
        }
        states = _uncounted(walk, taken)
    return any(rule in walk.look(state).broken for state in states)


def _mark(happening: Happening) -> tuple[object, ...]:
    """Return what makes two steps the same."""
    line = happening.line.line.key if happening.line else None
    return happening.kind, happening.unit, line, happening.target, happening.goes_on


def _uncounted(walk: Walk, states: set[State]) -> set[State]:
    """Return some states and all that are reached from them without a counted step."""
    seen, ahead = set(states), list(states)
    while ahead:
        for move in walk.look(ahead.pop()).moves:
            if not move.counts and move.state not in seen:
                seen.add(move.state)
                ahead.append(move.state)
    return seen
