"""A pack's procedures as the proof walks through them: units, lines, and what leads where.

How a sortie goes, as far as the proof is concerned:

- The procedures of ``order.sortie`` follow one another; one whose ``when`` is false is passed over. After
  ``before_landing`` the crew may go around: that procedure leads to where its ``then`` says, or back.
- A line is an answer to an item, or the hold before it. An item whose ``when`` is false, or whose seats are
  all empty, has no lines. A hold's ``sets`` come about before it is given; its ``after`` must then be true.
  An item's ``needs`` must be true when it could be answered; then its ``sets`` come about, all at once.
- Paces: together, line after line. Apart, each seat goes through its own; holds, and items that several seats
  answer, join them. An item with an ``until`` may be put off: what comes after it does not wait for it, the
  end of its list does.
- Before any line, and before a list is called complete, the crew may be called to any procedure that applies
  in the normal one it is in, at most so many deep, any number of times one after the other. Its ``then``
  leads back to the same place, to the end of the sortie, or to another procedure; to a normal one for good.
- Instead of answering an item that has an ``if_not`` the crew may branch off. Coming back, it answers the
  item after all, or goes on without.

Which way a sortie goes depends on its conditions and on what the crew is called to, never on where a control
stands: where an ``after`` or ``needs`` is not met that is told, and the sortie goes on as if it were. Nothing
is skipped or overridden.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sortiewright.procedures.loading import Procedures
from sortiewright.procedures.proof_conditions import (
    ALWAYS,
    Condition,
    Conditions,
    Either,
    Every,
    FactKey,
    read_conditions,
)
from sortiewright.procedures.proof_load import Clause, impossible_loads
from sortiewright.procedures.schema import END, RESUME, Item, Procedure
from sortiewright.procedures.vocabulary import control_vocabulary, sortie_vocabulary

BEFORE_LANDING = "before_landing"
"""The procedure after which the crew lands or goes around."""
OCCUPIED = "occupied"
NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Line:
    """An answer, or the hold before one. ``number`` counts the items of the procedure from 1."""

    procedure: str
    number: int
    item: Item
    is_hold: bool
    guard: Condition
    """When there is such a line."""
    sets: Mapping[str, str]
    condition: str
    """``needs`` of an answer, ``after`` of a hold."""
    branch: str
    seats: tuple[str, ...]
    any_one: bool

    @property
    def key(self) -> tuple[str, int, bool]:
        """Procedure, number, and whether it is the hold."""
        return self.procedure, self.number, self.is_hold

    @property
    def joins(self) -> bool:
        """Whether it waits for more than one seat."""
        return self.is_hold or (len(self.seats) > 1 and not self.any_one)


@dataclass(frozen=True, slots=True)
class Unit:
    """A procedure in its place: one that stands twice in the order of the sortie is two units."""

    place: int
    name: str
    procedure: Procedure
    guard: Condition
    lines: tuple[Line, ...]
    following: int
    """The unit after it in the sortie, or where ``then`` leads; ``NOWHERE`` at an end, or for going back."""
    around: int = NOWHERE
    """The procedure for going around, where the crew may."""

    @property
    def is_normal(self) -> bool:
        """Whether the sortie goes on from it, rather than coming back from it."""
        return self.procedure.kind == "normal"

    @property
    def resumes(self) -> bool:
        """Whether it leads back to where the crew was called from."""
        return not self.is_normal and self.procedure.then in ("", RESUME)


@dataclass(frozen=True)
class Model:
    """Everything that the proof needs of a pack's procedures."""

    procedures: Procedures
    units: tuple[Unit, ...]
    first: Mapping[str, int]
    """The unit of each procedure, the first if there are several."""
    start: int
    positions: Mapping[str, tuple[str, ...]]
    starts: Mapping[str, tuple[str, ...]]
    """Where each control and state may stand cold and dark."""
    conditions: Conditions
    impossible: tuple[Clause, ...]
    calls: tuple[tuple[int, ...], ...]
    """For each normal unit, the units that the crew may be called to during it or while away from it."""
    may_be_empty: frozenset[str]

    def guard_of(self, text: str) -> Condition:
        """Return the condition of a text that the pack holds; an empty text is always true."""
        return self.conditions.by_text[text]


def model_of(procedures: Procedures, *, unknowns: bool = False) -> Model:
    """Return the model of a pack's procedures. ``unknowns``: also for sorties not all of which is known."""
    seats = tuple(procedures.pack.mass.seats)
    may_be_empty = frozenset(seats[1:])
    occupied: list[FactKey] = [(OCCUPIED, seat) for seat in seats[1:]]
    conditions = read_conditions(
        _texts(procedures), sortie_vocabulary(procedures.pack), truths=occupied, unknowns=unknowns
    )
    units = tuple(_units(procedures, conditions, may_be_empty))
    cockpit = procedures.cockpit
    return Model(
        procedures=procedures,
        units=units,
        first={unit.name: unit.place for unit in reversed(units)},
        start=0,
        positions={
            **{name: control.positions for name, control in cockpit.controls.items()},
            **{name: state.values for name, state in cockpit.states.items()},
        },
        starts={
            **{name: tuple(control.at_start) for name, control in cockpit.controls.items()},
            **{name: (state.at_start,) for name, state in cockpit.states.items()},
        },
        conditions=conditions,
        impossible=impossible_loads(conditions, procedures.pack),
        calls=tuple(tuple(_called_during(unit, units)) for unit in units),
        may_be_empty=may_be_empty,
    )


def control_names(procedures: Procedures, text: str) -> frozenset[str]:
    """Return the controls and states that a condition on them reads."""
    from sortiewright.expressions import parse_expression

    return parse_expression(text, control_vocabulary(procedures.cockpit)).names if text else frozenset()


def _texts(procedures: Procedures) -> Iterator[str]:
    for procedure in procedures.procedures.values():
        yield from (procedure.when, *(item.when for item in procedure.items))
    yield from (invariant.when for invariant in procedures.order.invariants)


def _units(procedures: Procedures, conditions: Conditions, may_be_empty: frozenset[str]) -> Iterator[Unit]:
    """Yield the sortie's procedures in their order, then all the others."""
    order = procedures.order.sortie
    names = [*order, *(name for name in procedures.procedures if name not in order)]
    first = {name: place for place, name in reversed(list(enumerate(names)))}
    for place, name in enumerate(names):
        procedure = procedures.procedures[name]
        yield Unit(
            place=place,
            name=name,
            procedure=procedure,
            guard=conditions.by_text[procedure.when],
            lines=tuple(_lines(name, procedure, conditions, may_be_empty)),
            following=_following(procedures, place, name, first),
            around=_around(procedures, place, name, first),
        )


def _following(procedures: Procedures, place: int, name: str, first: Mapping[str, int]) -> int:
    order, then = procedures.order, procedures.procedures[name].then
    if place < len(order.sortie):
        return place + 1 if place + 1 < len(order.sortie) else NOWHERE
    if then not in ("", RESUME, END):
        return first[then]
    return first.get(BEFORE_LANDING, NOWHERE) if name == order.go_around and then != END else NOWHERE


def _around(procedures: Procedures, place: int, name: str, first: Mapping[str, int]) -> int:
    order = procedures.order
    may = place < len(order.sortie) and name == BEFORE_LANDING
    return first.get(order.go_around, NOWHERE) if may else NOWHERE


def _lines(
    name: str, procedure: Procedure, conditions: Conditions, may_be_empty: frozenset[str]
) -> Iterator[Line]:
    for number, item in enumerate(procedure.items, start=1):
        guard = _guard(item, conditions, may_be_empty)
        if item.hold is not None:
            yield Line(name, number, item, True, guard, item.hold.sets, item.hold.after, "", (), False)
        if item.hold is None or item.seat or item.response or item.sets or item.needs or item.if_not:
            branch = item.if_not.go if item.if_not else ""
            yield Line(
                name, number, item, False, guard, item.sets, item.needs, branch, item.seat, item.any_one
            )


def _guard(item: Item, conditions: Conditions, may_be_empty: frozenset[str]) -> Condition:
    """Return when an item applies: its ``when``, and somebody there to answer it."""
    guard = conditions.by_text[item.when]
    if not item.seat or any(seat not in may_be_empty for seat in item.seat):
        return guard
    there = tuple(conditions.truth_of((OCCUPIED, seat)) for seat in item.seat)
    somebody = there[0] if len(there) == 1 else Either(there)
    return somebody if guard is ALWAYS else Every((somebody, guard))


def _called_during(unit: Unit, units: tuple[Unit, ...]) -> Iterator[int]:
    here = {unit.name, unit.procedure.phase} - {""} if unit.is_normal else set[str]()
    for other in units:
        if not other.is_normal and here & set(other.procedure.applies_in):
            yield other.place
