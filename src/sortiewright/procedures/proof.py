"""The proof: whatever the load, the day, the interruptions and who is faster, a pack's invariants hold.

``prove`` looks at every state that a sortie can come to under the rules of ``proof_model``, and shows that
nothing is broken, or how it comes to be, by a shortest story. It is exact for what the lists say; what it
takes for granted stands in ``ProofResult.assumptions``.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from math import prod
from typing import Literal

from sortiewright.procedures.loading import Procedures
from sortiewright.procedures.proof_findings import ProofFinding, finding_of, gap_finding, order_finding
from sortiewright.procedures.proof_gaps import gaps_of
from sortiewright.procedures.proof_model import Line, Model, model_of
from sortiewright.procedures.proof_orders import order_results
from sortiewright.procedures.proof_reach import Reach, reach_of
from sortiewright.procedures.proof_rules import alike, rules_of
from sortiewright.procedures.proof_slice import LineKey, Rule, slice_of
from sortiewright.procedures.proof_story import control_words, place_words
from sortiewright.procedures.proof_walk import Walk
from sortiewright.procedures.state_space import explore

MOST_STATES = 2_000_000
Progress = Callable[[int, int, str], None]
"""Told of each search before it begins: how many are done, how many there are, and what is looked for."""
Verdict = Literal["holds", "broken", "undecided"]


@dataclass(frozen=True, slots=True)
class RuleResult:
    """What became of one rule. ``states`` and ``depth`` are of the search that decided it and others."""

    id: str
    kind: str
    verdict: Verdict
    states: int
    depth: int


@dataclass(frozen=True, slots=True)
class ProofResult:
    """What was shown. ``findings`` must be mended; ``remarks`` may be worth a look."""

    rules: tuple[RuleResult, ...]
    findings: tuple[ProofFinding, ...]
    remarks: tuple[str, ...]
    assumptions: tuple[str, ...]
    states: int
    depth: int
    """Most steps that matter on a shortest way to any state."""
    conditions: int
    """Conditions of the sortie that lists hang on."""
    combinations: int
    """In how many combinations these can be told apart."""
    items: int
    seconds: float
    most_states: int

    @property
    def complete(self) -> bool:
        """Whether every rule was decided: no bound was met."""
        return all(rule.verdict != "undecided" for rule in self.rules)

    @property
    def proved(self) -> bool:
        """Whether everything was decided, and nothing found."""
        return self.complete and not self.findings


def prove(
    procedures: Procedures,
    *,
    most_states: int = MOST_STATES,
    depth: int = 1,
    unknowns: bool = False,
    progress: Progress | None = None,
) -> ProofResult:
    """Return whether a pack's invariants hold on every sortie, with a shortest story for each that does not.

    Parameters
    ----------
    most_states
        Bound on the states looked at, all searches together. A rule that is not decided when it is met is
        reported as undecided, never as holding.
    depth
        How many calls to abnormal and emergency procedures may be inside one another.
    unknowns
        Also sorties of which not every condition is known, on which the items that hang on it are kept.
    progress
        Told of each search before it begins.
    """
    began = time.perf_counter()
    model = model_of(procedures, unknowns=unknowns)
    searching = _Searching(model, most_states, depth, progress)
    rules, findings = searching.rules()
    reach = reach_of(model)
    more_rules, orders = searching.orders(reach)
    gaps = [gap_finding(model, gap) for gap in gaps_of(model, reach)]
    remarks = tuple(searching.lines_that_change_nothing())
    facts = model.conditions.facts
    return ProofResult(
        rules=(*rules, *more_rules),
        findings=(*findings, *orders, *gaps),
        remarks=remarks,
        assumptions=tuple(_assumptions(model, depth, unknowns)),
        states=searching.states,
        depth=searching.depth,
        conditions=len(facts),
        combinations=prod(len(fact.regions) for fact in facts),
        items=sum(len(one.items) for one in procedures.procedures.values()),
        seconds=time.perf_counter() - began,
        most_states=most_states,
    )


class _Searching:
    """The searches of one proof, which share a bound."""

    def __init__(self, model: Model, most_states: int, deepest: int, progress: Progress | None) -> None:
        self.model, self.most_states, self.deepest = model, most_states, deepest
        self.progress: Progress = progress or _silent
        self.states = self.depth = 0
        self.moved: set[tuple[LineKey, str]] = set()
        self.unseen: set[str] = set()

    def rules(self) -> tuple[list[RuleResult], list[ProofFinding]]:
        """Return what became of every rule in the order of the pack, and a finding for each broken one."""
        rules = rules_of(self.model)
        groups = alike(self.model, rules)
        results: dict[Rule, RuleResult] = {}
        findings: dict[Rule, ProofFinding] = {}
        open_groups = list(groups)
        # Each its share first, lest one search leave nothing for the others; what is over goes to the rest.
        for is_last in (False, True):
            groups, open_groups = open_groups, list[tuple[list[Rule], frozenset[str]]]()
            for done, (group, names) in enumerate(groups):
                self.progress(done, len(groups), group[0].id)
                left = self.most_states - self.states
                most = left if is_last else left // (len(groups) - done)
                if self._search(group, names, most, results, findings):
                    open_groups.append((group, names))
            if not open_groups:
                break
        return [results[rule] for rule in rules], [findings[rule] for rule in rules if rule in findings]

    def _search(
        self,
        group: list[Rule],
        names: frozenset[str],
        most: int,
        results: dict[Rule, RuleResult],
        findings: dict[Rule, ProofFinding],
    ) -> bool:
        """Look for every rule of a group; return whether some are still undecided."""
        walk = Walk(slice_of(self.model, group, names), self.deepest)
        every = len(group)
        found = explore(walk.starts(), walk.look, most, lambda far: len(far.broken) == every)
        self._count(walk, found.states, found.depth)
        for number, rule in enumerate(group):
            verdict: Verdict = "holds" if found.complete else "undecided"
            if (state := found.broken.get(number)) is not None:
                verdict = "broken"
                findings[rule] = finding_of(walk, number, found.way_to(state), state)
            results[rule] = RuleResult(rule.id, rule.kind, verdict, found.states, found.depth)
        return not found.complete

    def orders(self, reach: Reach) -> tuple[list[RuleResult], list[ProofFinding]]:
        """Return for every list whose order is free whether it matters."""
        results: list[RuleResult] = []
        findings: list[ProofFinding] = []
        for unit, variable, found, states, complete in order_results(
            self.model, reach, self.most_states - self.states
        ):
            self.states += states
            verdict: Verdict = "broken" if found else "holds" if complete else "undecided"
            results.append(RuleResult(f"{unit.name}.{variable}", "order", verdict, states, 0))
            findings += [order_finding(self.model, found)] if found else []
        return results, findings

    def lines_that_change_nothing(self) -> list[str]:
        """Return a remark for each line that only ever puts a control where it stands already."""
        wanted = {
            (line.key, name): line for unit in self.model.units for line in unit.lines for name in line.sets
        }
        for name in sorted({name for key, name in wanted if (key, name) not in self.moved}):
            walk = Walk(slice_of(self.model, (), (name,)), self.deepest)
            found = explore(walk.starts(), walk.look, self.most_states - self.states)
            self._count(walk, found.states, found.depth)
            if not found.complete:
                self.unseen.add(name)
        return [
            self._changes_nothing(line, name)
            for (key, name), line in wanted.items()
            if (key, name) not in self.moved and name not in self.unseen
        ]

    def _count(self, walk: Walk, states: int, depth: int) -> None:
        self.states += states
        self.depth = max(self.depth, depth)
        self.moved |= walk.moved

    def _changes_nothing(self, line: Line, name: str) -> str:
        where = self.model.procedures.where("procedures", line.procedure, "items", line.number - 1)
        said = f"{control_words(self.model, name)} to {line.sets[name]}, where it stands already"
        return f"{where}  {place_words(self.model, line)} sets {said}"


def _calls(depth: int) -> str:
    if not depth:
        return "The crew is called to no other procedure"
    return f"Calls to other procedures are {'one' if depth == 1 else depth} deep, any number of them in turn"


def _silent(done: int, total: int, text: str) -> None:
    pass


def _assumptions(model: Model, depth: int, unknowns: bool) -> list[str]:
    """Return what the proof takes for granted, and where it allows more than can happen."""
    seats = model.procedures.pack.mass.seats
    first = next(iter(seats))
    said = [
        f"{seats[first].title} is never empty" if len(seats) > 1 else "",
        _calls(depth),
        "Nothing is skipped or overridden",
        "" if unknowns else "Every condition of the sortie is known",
    ]
    free = [fact.key for fact in model.conditions.facts if fact.free]
    if free:
        texts = ", ".join(str(key) for key in free)
        said.append(f"Not taken apart, so that either may be so whatever else is: {texts}")
    return [one for one in said if one]
