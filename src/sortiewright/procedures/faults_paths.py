"""What is wrong with the ways between procedures: none may lead in a circle, none may be out of reach."""

from __future__ import annotations

from collections.abc import Iterator

from sortiewright.pack import Problem, shown
from sortiewright.procedures.fault_checks import Checks
from sortiewright.procedures.places import KeyPath
from sortiewright.procedures.schema import Procedure

Way = tuple[str, KeyPath]
"""A procedure that another leads to, and the key that says so."""


def path_faults(checks: Checks) -> Iterator[Problem]:
    """Yield circles of branches and endings, and normal procedures that no sortie comes to."""
    procedures = checks.procedures.procedures
    ways = {
        name: [way for way in _ways(name, one) if way[0] in procedures] for name, one in procedures.items()
    }
    normal = {name for name, one in procedures.items() if one.kind == "normal"}
    # Whatever ends in a normal list goes on in the order of the sortie, and so comes to an end.
    within = {
        name: [way for way in to if way[1][-1] != "then" or way[0] not in normal] for name, to in ways.items()
    }
    for circle in _circles(within):
        names = [name for name, _ in circle]
        read = " to ".join([names[-1], *names])
        hint = "Lead one of them to resume or end"
        yield checks.problem(circle[0][1], read, "is a circle that a crew may never leave", hint)
    order = checks.procedures.order
    reached = {*order.sortie, order.go_around, *(name for to in ways.values() for name, _ in to)}
    for name in procedures:
        if name in normal and name not in reached:
            hint = "Add it to sortie in order.yaml"
            yield checks.problem(
                ("procedures", name), shown(name), "stands in no order: nothing leads to it", hint
            )


def _ways(name: str, procedure: Procedure) -> Iterator[Way]:
    for number, item in enumerate(procedure.items):
        if item.if_not is not None:
            yield item.if_not.go, ("procedures", name, "items", number, "if_not", "go")
    if procedure.then:
        yield procedure.then, ("procedures", name, "then")


def _circles(ways: dict[str, list[Way]]) -> Iterator[list[Way]]:
    """Yield each circle once, as the ways along it; found going down, without recursion."""
    done: set[str] = set()
    for start in ways:
        trail: list[Way] = [(start, ())]
        open_ways = [iter(ways[start])] if start not in done else []
        while open_ways:
            way = next(open_ways[-1], None)
            names = [name for name, _ in trail]
            if way is None:
                open_ways.pop()
                done.add(trail.pop()[0])
            elif way[0] in names:
                yield [*trail[names.index(way[0]) + 1 :], way]
            elif way[0] not in done:
                trail.append(way)
                open_ways.append(iter(ways[way[0]]))
