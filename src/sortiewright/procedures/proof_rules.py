"""What the proof holds procedures to: invariants, what items need, and what holds wait for."""

from __future__ import annotations

from collections.abc import Iterator

from sortiewright.procedures.proof_model import Model, control_names
from sortiewright.procedures.proof_slice import Rule
from sortiewright.procedures.schema import Invariant


def rules_of(model: Model) -> list[Rule]:
    """Return every rule of a pack: invariants in their order, then needs and holds as the lists have them."""
    invariants = [_invariant(one) for one in model.procedures.order.invariants]
    return [*invariants, *_lines(model)]


def alike(model: Model, rules: list[Rule]) -> list[tuple[list[Rule], frozenset[str]]]:
    """Return the rules in groups that one search can decide, each with the controls that they read.

    A group reads the same controls on the same sorties; a rule of what comes first remembers something, and
    is searched for alone.
    """
    groups: dict[tuple[frozenset[str], str, str], list[Rule]] = {}
    for rule in rules:
        names = frozenset[str]().union(*(control_names(model.procedures, text) for text in rule.texts))
        alone = rule.id if rule.kind == "first" else ""
        groups.setdefault((names, rule.when, alone), []).append(rule)
    return [(group, names) for (names, _, _), group in groups.items()]


def _invariant(one: Invariant) -> Rule:
    if one.never:
        return Rule(one.id, "never", one.never, one.when)
    if one.before:
        return Rule(one.id, "first", one.before, one.when, before_it=one.first)
    if one.at_start_of:
        return Rule(one.id, "start", one.holds, one.when, place=one.at_start_of)
    return Rule(one.id, "end", one.holds, one.when, place=one.at_end_of)


def _lines(model: Model) -> Iterator[Rule]:
    seen: set[tuple[str, int, bool]] = set()
    for unit in model.units:
        for line in unit.lines:
            if line.condition and line.key not in seen:
                seen.add(line.key)
                kind = "after" if line.is_hold else "needs"
                yield Rule(f"{line.procedure}.{line.item.id}", kind, line.condition, place=line.key)
