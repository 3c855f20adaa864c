"""What the proof finds, in words for the person who can mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sortiewright.procedures.proof_gaps import Gap, item_path
from sortiewright.procedures.proof_model import Line, Model
from sortiewright.procedures.proof_orders import TwoEnds
from sortiewright.procedures.proof_slice import Rule
from sortiewright.procedures.proof_story import (
    Story,
    Way,
    control_words,
    moment_words,
    place_words,
    story_of,
    where_words,
)
from sortiewright.procedures.proof_walk import State, Walk

ProofFindingKind = Literal["invariant", "needs", "hold", "order", "gap"]


@dataclass(frozen=True, slots=True)
class ProofFinding:
    """Something to mend. ``where`` is file and line; ``given`` the sortie, where no story tells it."""

    kind: ProofFindingKind
    id: str
    text: str
    where: str
    why: str = ""
    """Of an invariant: the reason that the pack gives."""
    story: Story | None = None
    given: tuple[str, ...] = ()


def finding_of(walk: Walk, number: int, way: Way, state: State) -> ProofFinding:
    """Return the finding that a rule is broken in a state, at the end of a way."""
    model, rule = walk.cut.model, walk.cut.rules[number]
    kind: ProofFindingKind = (
        "hold" if rule.kind == "after" else "needs" if rule.kind == "needs" else "invariant"
    )
    values = state.values
    line = _line(model, rule)
    if line is not None and line.is_hold:
        values = tuple(
            line.sets.get(name, value) for name, value in zip(walk.cut.variables, values, strict=True)
        )
    end = f"{_wrong(model, rule, line, moment_words(walk.cut, state))}. {where_words(walk.cut, values)}"
    return ProofFinding(
        kind=kind,
        id=rule.id,
        text=_text(model, rule, line),
        where=_where(model, rule, line),
        why=next(
            (one.why for one in model.procedures.order.invariants if one.id == rule.id and line is None), ""
        ),
        story=story_of(walk, way, state, number, end),
    )


def order_finding(model: Model, ends: TwoEnds) -> ProofFinding:
    """Return the finding that it matters who is faster, or what is put off."""
    name = control_words(model, ends.variable)
    title = ends.unit.procedure.title
    told = [
        f"{', then '.join(place_words(model, line) for line in order)}: {value}"
        for order, value in zip(ends.orders, ends.ends, strict=True)
    ]
    text = f"The order of answers in '{title}' decides where {name} stands at its end. {'. '.join(told)}"
    where = model.procedures.where("procedures", ends.unit.name)
    return ProofFinding("order", f"{ends.unit.name}.{ends.variable}", text, where, given=ends.given)


def gap_finding(model: Model, gap: Gap) -> ProofFinding:
    """Return a gap as a finding."""
    return ProofFinding("gap", gap.id, gap.text, model.procedures.where(*gap.path), given=gap.given)


def _line(model: Model, rule: Rule) -> Line | None:
    lines = (line for unit in model.units for line in unit.lines)
    return next((line for line in lines if line.key == rule.place), None)


def _where(model: Model, rule: Rule, line: Line | None) -> str:
    if line is not None:
        keys = ("hold", "after") if line.is_hold else ("needs",)
        return model.procedures.where(*item_path(line, *keys))
    ids = [one.id for one in model.procedures.order.invariants]
    return model.procedures.where("order", "invariants", ids.index(rule.id))


def _text(model: Model, rule: Rule, line: Line | None) -> str:
    """Return what does not hold, in one sentence."""
    match rule.kind:
        case "never":
            return f"{rule.id}: never {rule.text}"
        case "first":
            return f"{rule.id}: first {rule.before_it}, before {rule.text}"
        case "start" | "end":
            title = model.procedures.procedures[str(rule.place)].title
            return f"{rule.id}: at the {rule.kind} of '{title}', {rule.text}"
        case "needs" | "after":
            assert line is not None
            if line.is_hold and line.item.hold is not None:
                return f"The hold of {place_words(model, line)} is not given without {rule.text}"
            return f"{place_words(model, line)} needs {rule.text}"


def _wrong(model: Model, rule: Rule, line: Line | None, moment: str) -> str:
    """Return what is wrong at the end of a story."""
    match rule.kind:
        case "never":
            return f"{moment} this must never be, and is: {rule.text}"
        case "first":
            return f"{moment} this is so: {rule.text}; but never before was this so: {rule.before_it}"
        case "start" | "end":
            title = model.procedures.procedures[str(rule.place)].title
            return (
                f"'{title}' {'begins' if rule.kind == 'start' else 'ends'}, and this is not so: {rule.text}"
            )
        case "needs" | "after":
            assert line is not None
            if line.is_hold and line.item.hold is not None:
                return f"'{line.item.hold.awaits}' is waited for without end, for want of {rule.text}"
            return f"{place_words(model, line)} is next, and what it needs is not so: {rule.text}"
