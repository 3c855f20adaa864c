"""Every way through a slice: what one state shows, and what may happen next."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias

from sortiewright.procedures.proof_facts import NO, Choice, asks
from sortiewright.procedures.proof_model import NOWHERE
from sortiewright.procedures.proof_slice import LineKey, Rule, Slice, SliceLine, SliceUnit, Values
from sortiewright.procedures.state_space import Move, Seen

TO_START = -1
"""Progress of a frame whose procedure is about to begin, if it applies."""
Frame: TypeAlias = tuple[int, int, bool]
"""Unit; progress, the next line or, where their order is free, a bit for each one done; whether called."""


class State(NamedTuple):
    """Where the crew is, the normal procedure first; where controls stand; what is chosen of the sortie."""

    frames: tuple[Frame, ...]
    values: Values
    chosen: Choice
    latched: bool
    """Whether the ``first`` of a rule has been true earlier."""


class Happening(NamedTuple):
    """What happens between two states. ``condition``: one more condition of the sortie is settled."""

    kind: Literal["condition", "line", "branch", "call", "around", "then", "none"]
    unit: int = -1
    """Where it happens; of ``call``, ``then`` and ``around`` and ``branch`` see ``target``."""
    line: SliceLine | None = None
    target: int = -1
    guard: int = -1
    answer: int = -1
    goes_on: bool = False


NOTHING = Happening("none")
Step: TypeAlias = Move[State, Happening]


class Walk:
    """A slice as a machine; ``deepest`` is how many calls deep the crew may be."""

    def __init__(self, cut: Slice, deepest: int = 1) -> None:
        self.cut, self.deepest = cut, deepest
        self.guards = cut.guards
        self.moments = [(k, rule) for k, rule in enumerate(cut.rules) if rule.kind in ("never", "first")]
        first = next((rule for rule in cut.rules if rule.kind == "first"), None)
        self.first = cut.whose[first.before_it] if first else None
        self.moved: set[tuple[LineKey, str]] = set()
        """Lines, with a control each, that were seen to change where it stands."""
        self._enabled: dict[tuple[int, int, Choice], int | tuple[int, ...]] = {}

    def starts(self) -> list[State]:
        """Return the states in which a sortie may begin."""
        chosen = self.guards.nothing_chosen()
        frames = tuple((place, TO_START, False) for place in self.cut.entry)
        return [
            State(frames, values, chosen, bool(self.first and self.first(values)))
            for values in self.cut.starts
        ]

    def look(self, state: State) -> Seen[State, Happening, int]:
        """Return the rules broken in a state, and what may happen in it."""
        broken: list[int] = []
        if self.first and state.latched:
            return Seen((), [])  # such a rule can no longer be broken
        for number, rule in self.moments:
            if self._is_bad(rule, state):
                ruled = self.cut.when(state.chosen)
                if ruled < NO:
                    return Seen((), self._choose(state, asks(ruled)))
                if ruled != NO:
                    broken.append(number)
        if not state.frames:
            return Seen(tuple(broken), [])
        unit, progress, _ = state.frames[-1]
        here = self.cut.units[unit]
        if progress == TO_START:
            more, moves = self._begin(state, here)
        else:
            more, moves = self._free(state, here) if here.free else self._in_line(state, here)
        return Seen((*broken, *more), moves)

    def _is_bad(self, rule: Rule, state: State) -> bool:
        is_so = self.cut.whose[rule.text](state.values)
        return is_so and not (rule.kind == "first" and state.latched)

    def _choose(self, state: State, guard: int) -> list[Step]:
        return [
            Move(0, Happening("condition", guard=guard, answer=chosen[guard]), state._replace(chosen=chosen))
            for chosen in self.guards.choices_of(state.chosen, guard)
        ]

    def _holds(self, state: State, rules: tuple[int, ...]) -> tuple[tuple[int, ...], int]:
        """Return which rules of a place are broken, and the answer of their ``when`` if it must be asked."""
        if not rules:
            return (), 0
        rest = tuple(k for k in rules if not self.cut.whose[self.cut.rules[k].text](state.values))
        ruled = self.cut.when(state.chosen) if rest else 0
        return (rest if ruled > NO else ()), ruled

    def _begin(self, state: State, here: SliceUnit) -> tuple[tuple[int, ...], list[Step]]:
        applies = here.test(state.chosen)
        if applies < NO:
            return (), self._choose(state, asks(applies))
        if applies == NO:
            return (), self._onwards(state, here.passed_over) if len(state.frames) == 1 else []
        broken, ruled = self._holds(state, here.at_start)
        if ruled < NO:
            return (), self._choose(state, asks(ruled))
        return broken, [Move(0, NOTHING, _at(state, 0))]

    def _in_line(self, state: State, here: SliceUnit) -> tuple[tuple[int, ...], list[Step]]:
        progress = state.frames[-1][1]
        lines = here.lines
        while progress < len(lines):
            applies = lines[progress].test(state.chosen)
            if applies < NO:
                return (), self._choose(state, asks(applies))
            if applies != NO:
                break
            progress += 1
        else:
            return self._complete(state, here)
        broken, ruled, moves = self._line(state, here, lines[progress], progress + 1)
        if ruled < NO:
            return (), self._choose(state, asks(ruled))
        return broken, moves + self._calls(state, here)

    def _free(self, state: State, here: SliceUnit) -> tuple[tuple[int, ...], list[Step]]:
        done = state.frames[-1][1]
        enabled = self._enabled_lines(here, done, state.chosen)
        if isinstance(enabled, int):
            return (), self._choose(state, asks(enabled))
        if not enabled:
            return self._complete(state, here)
        broken: tuple[int, ...] = ()
        moves: list[Step] = []
        for number in enabled:
            more, ruled, ways = self._line(state, here, here.lines[number], done | 1 << number)
            if ruled < NO:
                return (), self._choose(state, asks(ruled))
            broken += more
            moves += ways
        return broken, moves + self._calls(state, here)

    def _line(
        self, state: State, here: SliceUnit, part: SliceLine, after: int
    ) -> tuple[tuple[int, ...], int, list[Step]]:
        """Return the rules that a line breaks, what their ``when`` asks, and what may happen at the line."""
        line, values = part.line, state.values
        if part.changes:
            changed = list(values)
            for place, to in part.changes:
                if changed[place] != to:
                    self.moved.add((line.key, self.cut.variables[place]))
                    changed[place] = to
            values = tuple(changed)
        # A hold's sets come about before it is given; an item needs what it needs before its own.
        seen = state._replace(values=values) if line.is_hold else state
        broken, ruled = self._holds(seen, part.rules)
        if ruled < NO:
            return (), ruled, []
        latched = state.latched or bool(self.first and self.first(state.values))
        unit = here.unit.place
        on = State(_at(state, after).frames, values, state.chosen, latched)
        moves: list[Step] = [Move(part.counts, Happening("line", unit, part), on)]
        for target in part.branches:
            moves += self._branch(state, here, part, after, target)
        return broken, ruled, moves

    def _branch(self, state: State, here: SliceUnit, part: SliceLine, after: int, target: int) -> list[Step]:
        happening = Happening("branch", here.unit.place, part, target)
        if self.cut.units[target].unit.is_normal:
            return [Move(1, happening, self._moved_to(state, target))]
        if any(frame[0] == target for frame in state.frames):
            return []
        called: Frame = (target, TO_START, False)
        ways = [(_at(state, after), True)]
        if self.cut.units[target].unit.resumes:
            ways.append((state, False))
        return [
            Move(1, happening._replace(goes_on=goes_on), back._replace(frames=(*back.frames, called)))
            for back, goes_on in ways
        ]

    def _calls(self, state: State, here: SliceUnit) -> list[Step]:
        if sum(frame[2] for frame in state.frames) >= self.deepest:
            return []
        calls = self.cut.units[state.frames[0][0]].calls
        running = {frame[0] for frame in state.frames}
        return [
            Move(
                1,
                Happening("call", here.unit.place, target=target),
                state._replace(frames=(*state.frames, (target, TO_START, True))),
            )
            for target in calls
            if target not in running
        ]

    def _complete(self, state: State, here: SliceUnit) -> tuple[tuple[int, ...], list[Step]]:
        broken, ruled = self._holds(state, here.at_end)
        if ruled < NO:
            return (), self._choose(state, asks(ruled))
        moves = self._calls(state, here)
        if len(state.frames) == 1:
            return broken, moves + self._onwards(state, here.onwards)
        if here.unit.resumes:
            moves.append(Move(0, NOTHING, state._replace(frames=state.frames[:-1])))
        return broken, moves + self._then(state, here)

    def _then(self, state: State, here: SliceUnit) -> list[Step]:
        """Return where a procedure that the crew was called to leads, if to another."""
        target = here.jump
        if target == NOWHERE:
            return []
        happening = Happening("then", here.unit.place, target=target)
        if self.cut.units[target].unit.is_normal:
            return [Move(0, happening, self._moved_to(state, target))]
        if any(frame[0] == target for frame in state.frames):
            return []
        frame: Frame = (target, TO_START, state.frames[-1][2])
        return [Move(0, happening, state._replace(frames=(*state.frames[:-1], frame)))]

    def _onwards(self, state: State, follows: tuple[tuple[int, int], ...]) -> list[Step]:
        return [
            Move(
                counts,
                Happening("around", state.frames[0][0], target=target) if counts else NOTHING,
                self._moved_to(state, target),
            )
            for target, counts in follows
        ]

    def _moved_to(self, state: State, target: int) -> State:
        """Return the state with the sortie going on at a unit, less what bears on nothing any more."""
        chosen = self.guards.kept(state.chosen, self.cut.units[target].wants)
        return State(((target, TO_START, False),), state.values, chosen, state.latched)

    def _enabled_lines(self, here: SliceUnit, done: int, chosen: Choice) -> int | tuple[int, ...]:
        """Return the lines that some seat may answer now, or the question of an open condition."""
        key = (here.unit.place, done, chosen)
        answer = self._enabled.get(key)
        if answer is None:
            answer = self._enabled[key] = enabled_lines(here, done, chosen)
        return answer


def _at(state: State, progress: int) -> State:
    unit, _, called = state.frames[-1]
    return state._replace(frames=(*state.frames[:-1], (unit, progress, called)))


def enabled_lines(here: SliceUnit, done: int, chosen: Choice) -> int | tuple[int, ...]:
    """Return the lines that may be answered next, or the answer of a test that is open.

    ``done`` has a bit for each line done. Nothing comes next where all that apply are done.
    """
    waiting: list[int] = []
    for number, part in enumerate(here.lines):
        if not done >> number & 1:
            for test in (part.test, *(somebody for _, somebody in part.seats)):
                if (answer := test(chosen)) < NO:
                    return answer
            if part.test(chosen) != NO:
                waiting.append(number)
    return tuple(k for k in waiting if _may_go(here, [one for one in waiting if one < k], k, chosen))


def _may_go(here: SliceUnit, earlier: list[int], number: int, chosen: Choice) -> bool:
    """Return whether no line that comes before one, and is not done, keeps it waiting."""
    part = here.lines[number]
    before = [here.lines[k].line for k in earlier]
    if any(line.number == part.line.number for line in before):
        return False  # its own hold
    blocking = [line for line in before if not line.item.until]
    if not here.apart or not part.line.seats:
        return not blocking
    if any(not line.seats for line in blocking):
        return False
    if part.seats:
        there = [seat for seat, somebody in part.seats if somebody(chosen) != NO]
        return any(all(seat not in line.seats for line in blocking) for seat in there)
    return all(set(part.line.seats).isdisjoint(line.seats) for line in blocking)
