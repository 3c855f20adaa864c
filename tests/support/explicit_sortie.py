"""A second, plain reading of what procedures mean: every sortie, every control, every line, nothing left out.

Shares no code with the proof. Conditions are evaluated by Python, the graph is written out node by node
for one sortie after the other, and shortest ways come from networkx. Usable for small models only.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import permutations, product
from typing import Any

import networkx as nx

KNOT = 1852.0 / 3600.0  # m/s, exact: the nautical mile is 1852 m (ISO 80000-3)


def sortie(
    *, stores: Iterable[str] = (), rear: bool = True, loads: dict[str, str] | None = None, **names: Any
) -> dict[str, Any]:
    """Return what conditions read on one sortie; ``loads`` are stores by station."""
    hung = {*stores, *(loads or {}).values()}
    return {
        "carries": lambda store: store in hung,
        "carries_at": lambda station, store: (loads or {}).get(station) == store,
        "loaded": lambda station: station in (loads or {}),
        "occupied": lambda seat: seat == "front" or rear,
        "kt": lambda value: value * KNOT,
        **names,
    }


def is_so(text: str, names: dict[str, Any]) -> bool:
    """Return the truth of a condition by Python's own rules."""
    return not text.strip() or bool(eval(text, {"__builtins__": {}}, names))


@dataclass(frozen=True)
class Node:
    """A moment: (list, lines done or None before it begins, whether called) for each list that is open."""

    frames: tuple[tuple[int, frozenset[tuple[int, str]] | None, bool], ...]
    stands: tuple[tuple[str, str], ...]
    been: tuple[bool, ...]
    """Of each invariant with ``first``: whether that has been true."""

    def positions(self) -> dict[str, str]:
        return dict(self.stands)


@dataclass
class Explicit:
    """All that can happen on one sortie."""

    cockpit: Any
    order: Any
    procedures: dict[str, Any]
    names: dict[str, Any]
    deepest: int = 1
    graph: Any = field(default_factory=nx.MultiDiGraph)
    broken: dict[str, set[Node]] = field(default_factory=dict)
    visited: set[tuple[str, str]] = field(default_factory=set)
    entered: set[str] = field(default_factory=set)
    changed: set[tuple[str, str, str, str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        others = [name for name in self.procedures if name not in self.order.sortie]
        self.slots = [*self.order.sortie, *others]
        self.firsts = [one for one in self.order.invariants if one.first]
        self.starts = list(self._starts())
        ahead = list(self.starts)
        for start in self.starts:
            self.graph.add_node(start)
        seen = set(ahead)
        while ahead:
            node = ahead.pop()
            for other, touched, is_step in self._look(node):
                self.graph.add_edge(node, other, touched=touched, is_step=is_step)
                if other not in seen:
                    seen.add(other)
                    ahead.append(other)

    def _starts(self) -> Iterator[Node]:
        things = {name: tuple(one.at_start) for name, one in self.cockpit.controls.items()}
        things |= {name: (one.at_start,) for name, one in self.cockpit.states.items()}
        for chosen in product(*things.values()):
            stands = dict(zip(things, chosen, strict=True))
            been = tuple(is_so(one.first, stands) for one in self.firsts)
            yield Node(((0, None, False),), tuple(sorted(stands.items())), been)

    def _applies(self, item: Any) -> bool:
        somebody = not item.seat or any(self.names["occupied"](seat) for seat in item.seat)
        return somebody and is_so(item.when, self.names)

    def _lines(self, slot: int) -> list[tuple[int, str]]:
        """Return (item, hold or answer) of the lines that this sortie has."""
        lines: list[tuple[int, str]] = []
        for number, item in enumerate(self.procedures[self.slots[slot]].items):
            if self._applies(item):
                if item.hold:
                    lines.append((number, "hold"))
                if item.seat or item.response or item.sets or item.needs or not item.hold:
                    lines.append((number, "answer"))
        return lines

    def _open_lines(self, slot: int, done: frozenset[tuple[int, str]]) -> list[tuple[int, str]]:
        """Return the lines that may come next."""
        lines = self._lines(slot)
        left = [line for line in lines if line not in done]
        procedure = self.procedures[self.slots[slot]]
        return [line for line in left if self._is_free(procedure, line, left[: left.index(line)])]

    def _is_free(self, procedure: Any, line: tuple[int, str], before: list[tuple[int, str]]) -> bool:
        if (line[0], "hold") in before:
            return False
        before = [other for other in before if not procedure.items[other[0]].until]
        waits_for_all = [
            kind == "hold" or not procedure.items[number].seat for number, kind in (*before, line)
        ]
        if waits_for_all[-1] or procedure.pace == "together":
            return not before
        if any(waits_for_all):
            return False
        item = procedure.items[line[0]]
        held_up = {seat: any(seat in procedure.items[n].seat for n, _ in before) for seat in item.seat}
        there = [seat for seat in item.seat if self.names["occupied"](seat)]
        if item.any_one and len(item.seat) > 1:
            return any(not held_up[seat] for seat in there)
        return not any(held_up.values())

    def _look(self, node: Node) -> Iterator[tuple[Node, frozenset[str], bool]]:
        """Yield what may come next: the moment, the controls touched, whether it is a step in itself."""
        self._watch(node)
        slot, done, _ = node.frames[-1]
        procedure = self.procedures[self.slots[slot]]
        if done is None:
            yield from self._begin(node, slot, procedure)
            return
        self.entered.add(self.slots[slot])
        open_lines = self._open_lines(slot, done)
        for line in open_lines:
            yield from self._do(node, slot, procedure, line)
        yield from self._calls(node)
        if not open_lines:
            yield from self._end(node, slot, procedure)

    def _watch(self, node: Node) -> None:
        positions = node.positions()
        for one in self.order.invariants:
            if not is_so(one.when, self.names):
                continue
            if one.never and is_so(one.never, positions):
                self._break(one.id, node)
            if one.before and is_so(one.before, positions) and not node.been[self.firsts.index(one)]:
                self._break(one.id, node)

    def _break(self, rule: str, node: Node) -> None:
        self.broken.setdefault(rule, set()).add(node)

    def _at(self, node: Node, moment: str, name: str) -> None:
        for one in self.order.invariants:
            at = one.at_start_of if moment == "start" else one.at_end_of
            if (
                one.holds
                and at == name
                and is_so(one.when, self.names)
                and not is_so(one.holds, node.positions())
            ):
                self._break(one.id, node)

    def _begin(self, node: Node, slot: int, procedure: Any) -> Iterator[tuple[Node, frozenset[str], bool]]:
        name = self.slots[slot]
        if not is_so(procedure.when, self.names):
            if len(node.frames) == 1 and slot < len(self.order.sortie) - 1:
                yield self._jump(node, slot + 1), frozenset(), False
            return
        self._at(node, "start", name)
        frames = (*node.frames[:-1], (slot, frozenset[Any](), node.frames[-1][2]))
        yield Node(frames, node.stands, node.been), frozenset(), False

    def _do(
        self, node: Node, slot: int, procedure: Any, line: tuple[int, str]
    ) -> Iterator[tuple[Node, frozenset[str], bool]]:
        name, item = self.slots[slot], procedure.items[line[0]]
        self.visited.add((name, item.id))
        before = node.positions()
        sets = item.hold.sets if line[1] == "hold" else item.sets
        stands = {**before, **sets}
        self.changed |= {(name, item.id, line[1], one) for one, to in sets.items() if before[one] != to}
        if line[1] == "hold" and not is_so(item.hold.after, stands):
            self._break(f"{name}.{item.id} hold", node)
        if line[1] == "answer" and not is_so(item.needs, before):
            self._break(f"{name}.{item.id} needs", node)
        been = tuple(old or is_so(one.first, before) for old, one in zip(node.been, self.firsts, strict=True))
        slot_, done, called = node.frames[-1]
        further = (*node.frames[:-1], (slot_, done | {line}, called))
        yield Node(further, tuple(sorted(stands.items())), been), frozenset(sets), False
        if line[1] == "answer" and item.if_not:
            target = self.slots.index(item.if_not.go)
            other = self.procedures[item.if_not.go]
            if other.kind == "normal":
                yield self._jump(node, target), frozenset(), True
            elif all(frame[0] != target for frame in node.frames):
                yield Node((*further, (target, None, False)), node.stands, node.been), frozenset(), True
                if other.then in ("", "resume"):
                    yield (
                        Node((*node.frames, (target, None, False)), node.stands, node.been),
                        frozenset(),
                        True,
                    )

    def _calls(self, node: Node) -> Iterator[tuple[Node, frozenset[str], bool]]:
        if sum(called for _, _, called in node.frames) >= self.deepest:
            return
        bottom = self.slots[node.frames[0][0]]
        places = {bottom, self.procedures[bottom].phase} - {""}
        for name, other in self.procedures.items():
            slot = self.slots.index(name)
            is_open = any(frame[0] == slot for frame in node.frames)
            if other.kind != "normal" and places & set(other.applies_in) and not is_open:
                yield Node((*node.frames, (slot, None, True)), node.stands, node.been), frozenset(), True

    def _end(self, node: Node, slot: int, procedure: Any) -> Iterator[tuple[Node, frozenset[str], bool]]:
        name = self.slots[slot]
        self._at(node, "end", name)
        if len(node.frames) == 1:
            if slot < len(self.order.sortie):
                if slot + 1 < len(self.order.sortie):
                    yield self._jump(node, slot + 1), frozenset(), False
                if name == "before_landing" and self.order.go_around:
                    yield self._jump(node, self.slots.index(self.order.go_around)), frozenset(), True
            elif name == self.order.go_around and "before_landing" in self.slots:
                yield self._jump(node, self.slots.index("before_landing")), frozenset(), False
            return
        if procedure.then in ("", "resume"):
            yield Node(node.frames[:-1], node.stands, node.been), frozenset(), False
        elif procedure.then != "end":
            target = self.slots.index(procedure.then)
            if self.procedures[procedure.then].kind == "normal":
                yield self._jump(node, target), frozenset(), False
            elif all(frame[0] != target for frame in node.frames):
                frames = (*node.frames[:-1], (target, None, node.frames[-1][2]))
                yield Node(frames, node.stands, node.been), frozenset(), False

    def _jump(self, node: Node, slot: int) -> Node:
        return Node(((slot, None, False),), node.stands, node.been)

    def shortest(self, rule: str, reads: frozenset[str]) -> int | None:
        """Return the fewest steps that matter to a moment that breaks a rule, or None if none does."""
        ends = self.broken.get(rule)
        if not ends:
            return None

        def weight(_: Node, __: Node, edges: dict[int, dict[str, Any]]) -> int:
            return min(int(edge["is_step"] or bool(edge["touched"] & reads)) for edge in edges.values())

        lengths = nx.multi_source_dijkstra_path_length(self.graph, set(self.starts), weight=weight)
        return min(int(lengths[end]) for end in ends)

    def ends_apart(self) -> set[tuple[str, str]]:
        """Return (procedure, control) where the order of answers decides, by trying every order."""
        found: set[tuple[str, str]] = set()
        for slot, name in enumerate(self.slots):
            procedure = self.procedures[name]
            if not is_so(procedure.when, self.names):
                continue
            lines = self._lines(slot)
            ends: dict[str, set[str]] = {}
            for order in permutations(lines):
                done: frozenset[tuple[int, str]] = frozenset()
                stands: dict[str, str] = {}
                for line in order:
                    if line not in self._open_lines(slot, done):
                        break
                    item = procedure.items[line[0]]
                    stands |= item.hold.sets if line[1] == "hold" else item.sets
                    done |= {line}
                else:
                    for control, to in stands.items():
                        ends.setdefault(control, set()).add(to)
            found |= {(name, control) for control, positions in ends.items() if len(positions) > 1}
        return found


def shortest_of_all(sorties: Iterable[Explicit], rule: str, reads: Iterable[str]) -> int | None:
    """Return the fewest steps over several sorties."""
    lengths = [one.shortest(rule, frozenset(reads)) for one in sorties]
    return min((length for length in lengths if length is not None), default=None)
