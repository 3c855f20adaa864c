"""The model cut down to what some rules can see: the controls they read, and every line that touches these.

Which way a sortie goes never depends on where a control stands (see ``proof_model``), so a line that moves
none of the controls that a rule reads cannot change what the rule sees. Leaving such lines out gives the same
verdicts from far fewer states: the product of all controls of a cockpit is never formed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Literal, NamedTuple, TypeAlias

from sortiewright.expressions import parse_expression
from sortiewright.procedures.proof_conditions import ALWAYS, Condition
from sortiewright.procedures.proof_facts import OPEN, Test
from sortiewright.procedures.proof_guards import Guards
from sortiewright.procedures.proof_model import NOWHERE, OCCUPIED, Line, Model, Unit
from sortiewright.procedures.vocabulary import control_vocabulary

Values: TypeAlias = tuple[str, ...]
"""Where each control and state of a slice stands."""
LineKey: TypeAlias = tuple[str, int, bool]
RuleKind = Literal["never", "first", "start", "end", "needs", "after"]


@dataclass(frozen=True, slots=True)
class Rule:
    """What must not be seen: ``text`` true (never) or untrue (all others) at the moments of its kind.

    ``first``: ``text`` comes true although ``before_it`` has not been true earlier. ``place`` is the
    procedure of ``start`` and ``end``, the line of ``needs`` and ``after``.
    """

    id: str
    kind: RuleKind
    text: str
    when: str = ""
    before_it: str = ""
    place: str | LineKey = ""

    @property
    def texts(self) -> tuple[str, ...]:
        """The conditions on controls that it reads."""
        return tuple(text for text in (self.text, self.before_it) if text)


class SliceLine(NamedTuple):
    """A line with what of it matters here."""

    line: Line
    test: Test
    changes: tuple[tuple[int, str], ...]
    counts: int
    rules: tuple[int, ...]
    branches: tuple[int, ...]
    seats: tuple[tuple[str, Test], ...]
    """Of a line that any one of several seats answers: each with whether somebody sits there."""


@dataclass(frozen=True)
class SliceUnit:
    """A unit with its lines that matter here."""

    unit: Unit
    test: Test
    lines: tuple[SliceLine, ...]
    apart: bool
    free: bool
    """Whether lines may be done in other orders: seats apart, or items that may be put off."""
    at_start: tuple[int, ...]
    at_end: tuple[int, ...]
    onwards: tuple[tuple[int, int], ...]
    """Units that may follow, nothing that matters between, each with how much going there counts."""
    passed_over: tuple[tuple[int, int], ...]
    """The same where the unit itself does not apply."""
    jump: int
    """Where ``then`` leads, or the first thing after it that matters; ``NOWHERE`` if nothing does."""
    calls: tuple[int, ...]
    wants: frozenset[int]
    """Conditions that something here or later may ask for."""


@dataclass(frozen=True)
class Slice:
    """What ``rules`` can see of a model. All of them read the same ``variables`` and share one ``when``."""

    model: Model
    rules: tuple[Rule, ...]
    variables: tuple[str, ...]
    guards: Guards
    units: Mapping[int, SliceUnit]
    entry: tuple[int, ...]
    starts: tuple[Values, ...]
    when: Test
    whose: Mapping[str, Callable[[Values], bool]] = field(repr=False)
    """Each text of a rule as a test of values."""


def slice_of(model: Model, rules: Iterable[Rule], variables: Iterable[str]) -> Slice:
    """Return what some rules, which must share one ``when``, can see of a model."""
    return _Cut(model, tuple(rules), tuple(sorted(set(variables)))).slice()


class _Cut:
    """A slice in the making."""

    def __init__(self, model: Model, rules: tuple[Rule, ...], variables: tuple[str, ...]) -> None:
        self.model, self.rules, self.variables = model, rules, variables
        self.lines_of_rules: dict[LineKey, list[int]] = {}
        self.starts_of_rules: dict[str, list[int]] = {}
        self.ends_of_rules: dict[str, list[int]] = {}
        for number, rule in enumerate(rules):
            if isinstance(rule.place, tuple):
                self.lines_of_rules.setdefault(rule.place, []).append(number)
            elif rule.kind in ("start", "end"):
                held = self.starts_of_rules if rule.kind == "start" else self.ends_of_rules
                held.setdefault(rule.place, []).append(number)
        self.touched = {
            unit.place: [line for line in unit.lines if self._touches(line)] for unit in model.units
        }
        self.matters = self._units_that_matter()
        self.lines = {unit.place: self._lines(unit) for unit in model.units}
        self.calls = {
            unit.place: tuple(one for one in model.calls[unit.place] if one in self.matters)
            for unit in model.units
        }
        self.visible = {unit.place for unit in model.units if self._is_visible(unit)}
        self.reached = {unit.place: self._reach(unit.place) for unit in model.units}
        self.alive = {place for place, ahead in self.reached.items() if any(map(self._shows, ahead))}

    def slice(self) -> Slice:
        """Return the slice."""
        model = self.model
        entry = self._next_visible(model.start)
        entry = entry if entry in self.alive else NOWHERE
        places = sorted(self.visible & self.reached[entry]) if entry != NOWHERE else []
        when = model.guard_of(self.rules[0].when if self.rules else "")
        read = {place: [*self._conditions_of(place)] for place in places}
        everything = [when, *(condition for conditions in read.values() for condition in conditions)]
        guards = Guards(model.conditions, everything, model.impossible)
        return Slice(
            model=model,
            rules=self.rules,
            variables=self.variables,
            guards=guards,
            units={place: self._slice_unit(model.units[place], guards, read, when) for place in places},
            entry=(entry,) if places else (),
            starts=tuple(product(*(model.starts[name] for name in self.variables))),
            when=guards.test(when),
            whose={text: self._test_of_values(text) for rule in self.rules for text in rule.texts},
        )

    def _slice_unit(
        self, unit: Unit, guards: Guards, read: Mapping[int, list[Condition]], when: Condition
    ) -> SliceUnit:
        place = unit.place
        asked = [when, *(one for ahead in self.reached[place] if ahead in read for one in read[ahead])]
        apart = unit.procedure.pace == "apart"
        return SliceUnit(
            unit=unit,
            test=guards.test(unit.guard),
            lines=tuple(self._slice_line(line, guards) for line in self.lines[place]),
            apart=apart,
            free=apart or any(line.item.until for line in self.lines[place]),
            at_start=tuple(self.starts_of_rules.get(unit.name, ())),
            at_end=tuple(self.ends_of_rules.get(unit.name, ())),
            onwards=self._onwards(unit, passing=False),
            passed_over=self._onwards(unit, passing=True),
            jump=self._landing(unit.following),
            calls=self.calls[place],
            wants=frozenset(guards.place(one) for one in asked) - {OPEN},
        )

    def _touches(self, line: Line) -> bool:
        return line.key in self.lines_of_rules or not line.sets.keys().isdisjoint(self.variables)

    def _shows(self, place: int) -> bool:
        """Return whether anything that a rule sees happens in a unit itself."""
        name = self.model.units[place].name
        return bool(self.touched[place]) or name in self.starts_of_rules or name in self.ends_of_rules

    def _units_that_matter(self) -> frozenset[int]:
        """Return the units that can change what a rule sees if the crew is called to them."""
        model = self.model
        matters = {unit.place for unit in model.units if self._shows(unit.place)}
        while True:
            more = {unit.place for unit in model.units if self._leads_to(unit, matters)} - matters
            if not more:
                return frozenset(matters)
            matters |= more

    def _leads_to(self, unit: Unit, matters: set[int]) -> bool:
        ways = [self.model.first[line.branch] for line in unit.lines if line.branch]
        if not unit.is_normal and unit.following != NOWHERE:
            ways.append(unit.following)
        return any(way in matters or self.model.units[way].is_normal for way in ways)

    def _branch(self, line: Line) -> tuple[int, ...]:
        """Return where a branch leads, unless it changes nothing that a rule sees."""
        if not line.branch:
            return ()
        target = self.model.first[line.branch]
        skips = not line.sets.keys().isdisjoint(self.variables)
        return (target,) if skips or target in self.matters or self.model.units[target].is_normal else ()

    def _lines(self, unit: Unit) -> list[Line]:
        mine = self.touched[unit.place]
        kept = [line for line in unit.lines if line in mine or self._branch(line)]
        if unit.procedure.pace == "apart" and kept:
            kept = [line for line in unit.lines if line in kept or line.joins or line.any_one]
        return kept

    def _is_visible(self, unit: Unit) -> bool:
        return bool(
            self.lines[unit.place]
            or self.calls[unit.place]
            or unit.around != NOWHERE
            or unit.name in self.starts_of_rules
            or unit.name in self.ends_of_rules
            or unit.place >= len(self.model.procedures.order.sortie)
        )

    def _onwards(self, unit: Unit, *, passing: bool) -> tuple[tuple[int, int], ...]:
        """Return the units that follow a normal one; going around counts as a step."""
        if not unit.is_normal or (passing and unit.place >= len(self.model.procedures.order.sortie)):
            return ()
        ways = [(unit.following, 0), *([] if passing else [(unit.around, 1)])]
        found = [(self._landing(place), counts) for place, counts in ways]
        return tuple((place, counts) for place, counts in found if place != NOWHERE)

    def _landing(self, place: int) -> int:
        """Return where going to a unit leads here: to it, or past normal ones that show nothing."""
        place = self._next_visible(place)
        if place == NOWHERE or not self.model.units[place].is_normal or place in self.alive:
            return place
        return NOWHERE

    def _next_visible(self, place: int) -> int:
        while place != NOWHERE and place not in self.visible:
            place = self.model.units[place].following
        return place

    def _reach(self, place: int) -> set[int]:
        """Return every unit that the crew may come to from one, itself included."""
        seen: set[int] = set()
        ahead = [place]
        while ahead:
            one = ahead.pop()
            if one in seen:
                continue
            seen.add(one)
            unit = self.model.units[one]
            ahead += [*self.calls[one], *(way for way in (unit.following, unit.around) if way != NOWHERE)]
            ahead += [branch for line in self.lines[one] for branch in self._branch(line)]
        return seen

    def _conditions_of(self, place: int) -> Iterator[Condition]:
        yield self.model.units[place].guard
        for line in self.lines[place]:
            yield line.guard
            for _, somebody in self._any_one_seats(line):
                yield somebody

    def _any_one_seats(self, line: Line) -> Iterator[tuple[str, Condition]]:
        if line.any_one and len(line.seats) > 1:
            for seat in line.seats:
                empty = seat in self.model.may_be_empty
                yield seat, self.model.conditions.truth_of((OCCUPIED, seat)) if empty else ALWAYS

    def _slice_line(self, line: Line, guards: Guards) -> SliceLine:
        changes = tuple(
            (self.variables.index(name), to) for name, to in line.sets.items() if name in self.variables
        )
        return SliceLine(
            line=line,
            test=guards.test(line.guard),
            changes=changes,
            counts=int(bool(changes)),
            rules=tuple(self.lines_of_rules.get(line.key, ())),
            branches=tuple(way for one in self._branch(line) if (way := self._landing(one)) != NOWHERE),
            seats=tuple((seat, guards.test(somebody)) for seat, somebody in self._any_one_seats(line)),
        )

    def _test_of_values(self, text: str) -> Callable[[Values], bool]:
        """Return a condition on controls as a test of this slice's values; each is worked out once."""
        expression = parse_expression(text, control_vocabulary(self.model.procedures.cockpit))
        known: dict[Values, bool] = {}

        def test(values: Values) -> bool:
            answer = known.get(values)
            if answer is None:
                named = dict(zip(self.variables, values, strict=True))
                answer = known[values] = expression.truth(named) is True
            return answer

        return test
