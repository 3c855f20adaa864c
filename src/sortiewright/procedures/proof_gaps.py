"""What no sortie can show to be wrong, yet is left over: items out of reach, controls that nobody moves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sortiewright.procedures.proof_conditions import Denied
from sortiewright.procedures.proof_model import OCCUPIED, Line, Model, Unit
from sortiewright.procedures.proof_reach import Reach
from sortiewright.procedures.proof_story import control_words, place_words
from sortiewright.procedures.schema import END, RESUME


@dataclass(frozen=True, slots=True)
class Gap:
    """Something left over. ``path`` is its key path in the pack's procedures."""

    kind: str
    """unreachable, unmoved, uncalled, unclearable, absent or beyond."""
    id: str
    text: str
    path: tuple[str | int, ...]
    given: tuple[str, ...] = ()
    """A sortie on which it shows."""


def gaps_of(model: Model, reach: Reach) -> Iterator[Gap]:
    """Yield every gap of a pack's procedures."""
    yield from _unreachable(model, reach)
    yield from _unmoved(model)
    yield from _uncalled(model)
    yield from _unclearable(model, reach)
    yield from _absent(model, reach)
    yield from _beyond_reach(model)


def item_path(line: Line, *keys: str) -> tuple[str | int, ...]:
    """Return the key path of an item."""
    return ("procedures", line.procedure, "items", line.number - 1, *keys)


def _unreachable(model: Model, reach: Reach) -> Iterator[Gap]:
    """Yield procedures and items that no sortie comes to; a repeated procedure counts once."""
    for name, procedure in model.procedures.procedures.items():
        units = [unit for unit in model.units if unit.name == name]
        path = ("procedures", name)
        if all(reach.comes_to(unit) is None for unit in units):
            text = f"'{procedure.title}' is never come to: nothing leads there on any sortie"
            yield Gap("unreachable", name, text, path)
            continue
        for lines in zip(*(unit.lines for unit in units), strict=True):
            line = lines[0]
            is_second = line.item.hold is not None and not line.is_hold
            if not is_second and all(
                reach.comes_to(unit, one) is None for unit, one in zip(units, lines, strict=True)
            ):
                condition = f": {line.item.when}" if line.item.when else ""
                text = f"{place_words(model, line)} is never come to on any sortie{condition}"
                yield Gap("unreachable", f"{name}.{line.item.id}", text, item_path(line))


def _unmoved(model: Model) -> Iterator[Gap]:
    procedures = model.procedures
    moved = {name for unit in model.units for line in unit.lines for name in line.sets}
    for name in procedures.cockpit.controls:
        if name not in moved and name not in procedures.order.unchanged:
            text = f"{control_words(model, name)} is set by no item. Say why under unchanged in order.yaml"
            yield Gap("unmoved", name, text, ("controls", name))
    for name in procedures.cockpit.states:
        if name not in moved:
            text = f"{control_words(model, name)} never changes: no item sets it"
            yield Gap("unmoved", name, text, ("states", name))


def _uncalled(model: Model) -> Iterator[Gap]:
    holds = [line.item.hold for unit in model.units for line in unit.lines if line.item.hold]
    for name, party in model.procedures.cockpit.parties.items():
        if all(hold.cleared_by != name for hold in holds):
            yield Gap("uncalled", name, f"{party.title} clears no hold", ("parties", name))


def _unclearable(model: Model, reach: Reach) -> Iterator[Gap]:
    """Yield holds that a seat clears which may be empty, where they then still stand."""
    for unit, line in _lines(model):
        hold = line.item.hold
        if not line.is_hold or hold is None or hold.cleared_by not in model.may_be_empty:
            continue
        nobody = Denied(model.conditions.truth_of((OCCUPIED, hold.cleared_by)))
        given = reach.comes_to(unit, line, nobody)
        if given is not None:
            seat = model.procedures.pack.mass.seats[hold.cleared_by].title
            text = (
                f"The hold of {place_words(model, line)} waits for ever: {seat}, who clears it, may be empty"
            )
            yield Gap("unclearable", f"{unit.name}.{line.item.id}", text, item_path(line, "hold"), given)


def _absent(model: Model, reach: Reach) -> Iterator[Gap]:
    """Yield ways to a procedure on sorties on which that procedure does not apply."""
    for unit, line in _lines(model):
        if line.branch:
            target = model.units[model.first[line.branch]]
            given = reach.comes_to(unit, line, Denied(target.guard))
            if given is not None:
                title = target.procedure.title
                text = (
                    f"{place_words(model, line)} leads to '{title}' on sorties on which that does not apply"
                )
                yield Gap("absent", f"{unit.name}.{line.item.id}", text, item_path(line, "if_not"), given)
    for unit in model.units:
        then = unit.procedure.then
        if unit.is_normal or then in ("", RESUME, END) or model.units[model.first[then]].is_normal:
            continue
        target = model.units[model.first[then]]
        given = reach.comes_to(unit, None, Denied(target.guard))
        if given is not None:
            title = unit.procedure.title
            text = f"'{title}' leads to '{target.procedure.title}' on sorties on which that does not apply"
            yield Gap("absent", unit.name, text, ("procedures", unit.name, "then"), given)


def _beyond_reach(model: Model) -> Iterator[Gap]:
    """Yield items whose seats cannot reach a control that answering moves."""
    controls = model.procedures.cockpit.controls
    for unit, line in _lines(model):
        for name in () if line.is_hold or not line.seats else line.sets:
            reached_by = controls[name].seats if name in controls else ()
            if reached_by and set(reached_by).isdisjoint(line.seats):
                moved = control_words(model, name)
                text = f"{place_words(model, line)} moves {moved}, which no seat of it reaches"
                yield Gap("beyond", f"{unit.name}.{line.item.id}", text, item_path(line, "sets", name))


def _lines(model: Model) -> Iterator[tuple[Unit, Line]]:
    """Yield every line once, with the first unit of its procedure."""
    for unit in model.units:
        if model.first[unit.name] == unit.place:
            for line in unit.lines:
                yield unit, line
