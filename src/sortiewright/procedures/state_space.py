"""Every state that can be reached, nearest first: a search that counts only the steps that matter.

Nothing here knows what a state is. A step counts 1, or 0 where it is only a choice or a bookkeeping move;
states are settled in the order of their distance, so the first state found to break a rule lies at the end of
a shortest way there.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from typing import Generic, NamedTuple, TypeVar, cast

State = TypeVar("State", bound=Hashable)
Label = TypeVar("Label")
Rule = TypeVar("Rule", bound=Hashable)


class Move(NamedTuple, Generic[State, Label]):
    """A way on: how much it counts (0 or 1), what happens, and where it leads."""

    counts: int
    label: Label
    state: State


class Seen(NamedTuple, Generic[State, Label, Rule]):
    """What one state shows: the rules that are broken in it, and the ways on."""

    broken: tuple[Rule, ...]
    moves: list[Move[State, Label]]


@dataclass
class Exploration(Generic[State, Label, Rule]):
    """What was found. ``states`` were settled; ``depth`` is the longest of all shortest ways.

    ``complete`` is False where the bound was met before every state was seen: a rule not in ``broken`` is
    then not known to hold. ``broken`` gives for each broken rule the nearest state in which it is.
    """

    states: int = 0
    depth: int = 0
    complete: bool = True
    broken: dict[Rule, State] = field(default_factory=dict[Rule, State])
    came: dict[State, tuple[int, State | None, Label | None]] = field(
        default_factory=dict[State, tuple[int, State | None, Label | None]], repr=False
    )
    """Of each state: counted steps to it, the state before, and what happened there."""

    def way_to(self, state: State) -> list[tuple[Label, State]]:
        """Return what happens on the way to a state, each with the state that it happens in."""
        way: list[tuple[Label, State]] = []
        while True:
            _, before, label = self.came[state]
            if before is None:
                return way[::-1]
            way.append((cast("Label", label), before))
            state = before

    def distance(self, state: State) -> int:
        """Return how many counted steps lead to a state."""
        return self.came[state][0]


def explore(
    starts: Iterable[State],
    look: Callable[[State], Seen[State, Label, Rule]],
    most_states: int,
    enough: Callable[[Exploration[State, Label, Rule]], bool] = lambda found: False,
) -> Exploration[State, Label, Rule]:
    """Return every state reachable from ``starts``, each by a shortest way.

    ``look`` tells what a state shows. The search ends early when ``enough`` says so after a rule was found
    broken, or when ``most_states`` are settled and there are more.
    """
    found: Exploration[State, Label, Rule] = Exploration()
    come_from = found.came
    level: list[State] = []
    for start in starts:
        if start not in come_from:
            come_from[start] = (0, None, None)
            level.append(start)
    depth = 0
    while level:
        following: list[State] = []
        while level:
            state = level.pop()
            if come_from[state][0] < depth:
                continue  # settled already, by a way that counts less
            if found.states >= most_states:
                found.complete = False
                return found
            found.states += 1
            found.depth = depth
            broken, moves = look(state)
            if broken:
                for rule in broken:
                    found.broken.setdefault(rule, state)
                if enough(found):
                    return found
            for counts, label, reached in moves:
                known = come_from.get(reached)
                if known is None or known[0] > depth + counts:
                    come_from[reached] = (depth + counts, state, label)
                    (following if counts else level).append(reached)
        level, depth = following, depth + 1
    return found
