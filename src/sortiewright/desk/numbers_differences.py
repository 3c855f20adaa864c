"""Two plans of one day held against each other: what decides first, then every number that changed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from sortiewright.desk.numbers_margins import Margin
from sortiewright.sortie import Figure, Kind, Plan, Shown, System, convert, show

Change = Literal["more", "less", "same", "gone", "new"]


@dataclass(frozen=True, slots=True)
class Cell:
    """A number of one variant: as it is read, how it differs from the plan's, whether it is past a limit."""

    text: str
    change: Change
    difference: str = ""
    is_beyond: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One number of the plan, and what it is in each variant."""

    name: str
    title: str
    planned: Cell
    cells: tuple[Cell | None, ...]
    """None for a variant that was not computed."""


@dataclass(frozen=True, slots=True)
class ReasonChange:
    """A reason that a variant adds, or that it takes away."""

    severity: str
    text: str
    is_new: bool


def reason_changes(plan: Plan, variant: Plan) -> tuple[ReasonChange, ...]:
    """Return the reasons that come and those that go, the new first."""
    before = {(one.severity.value, one.text) for one in plan.reasons}
    after = {(one.severity.value, one.text) for one in variant.reasons}
    new = [ReasonChange(one.severity.value, one.text, True) for one in variant.reasons]
    gone = [ReasonChange(one.severity.value, one.text, False) for one in plan.reasons]
    return (
        *(one for one in new if (one.severity, one.text) not in before),
        *(one for one in gone if (one.severity, one.text) not in after),
    )


def margin_rows(
    planned: Sequence[Margin], variants: Sequence[Sequence[Margin] | None], system: System
) -> tuple[Row, ...]:
    """Return the margins, the one that changes most first; by shares of their limits."""
    by_name = [None if one is None else {margin.name: margin for margin in one} for one in variants]
    found: list[tuple[float, float, Row]] = []
    names = dict.fromkeys(margin.name for margin in planned)
    for one in by_name:
        names |= dict.fromkeys(one or ())
    before = {margin.name: margin for margin in planned}
    for name in names:
        own = before.get(name)
        others = [None if one is None else one.get(name) for one in by_name]
        some = own or next(other for other in others if other is not None)
        cells = tuple(
            None if one is None else _margin_cell(own, other, system)
            for one, other in zip(by_name, others, strict=True)
        )
        moved = max((_moved(own, other) for other in others if other is not None), default=0.0)
        crossed = any(
            other is not None and (own is None or (own.left < 0.0) != (other.left < 0.0)) for other in others
        )
        here = Cell("not in the plan", "same") if own is None else _margin_cell(own, own, system)
        row = Row(some.name, some.title, here, cells)
        found.append((0.0 if crossed else 1.0, -moved, row))
    return tuple(row for _, _, row in sorted(found, key=lambda one: one[:2]))


def _moved(own: Margin | None, other: Margin) -> float:
    if own is None:
        return math.inf
    moved = abs(other.share - own.share)
    return moved if math.isfinite(moved) else math.inf


def _margin_cell(own: Margin | None, other: Margin | None, system: System) -> Cell:
    if other is None:
        return Cell("not computed", "gone")
    shown = show(other.left, other.kind, system, rounding="down")
    text = Shown(shown.number, shown.unit.partition(" (")[0]).text
    beyond = not other.left >= 0.0
    if own is None:
        return Cell(text, "new", "", beyond)
    change, words = _difference(own.left, other.left, other.kind, system)
    return Cell(text, change, words, beyond)


def _difference(before: float, after: float, kind: Kind, system: System) -> tuple[Change, str]:
    """Return whether a number grew, and by how much in words; what rounds to nothing is the same."""
    if before == after:
        return "same", ""
    grew: Change = "more" if after > before else "less"
    if not math.isfinite(after - before):
        return grew, ""
    shown = show(abs(after - before), kind, system, rounding="nearest", difference=True)
    number = shown.number.lstrip("+")
    if not number.strip("0."):
        return "same", ""
    sign = "+" if after > before else "−"
    unit = shown.unit.partition(" (")[0]
    return grew, f"{sign}{number}{'' if not unit or unit == '°' else chr(0x202F)}{unit}"


def figure_rows(
    plan: Plan, variants: Sequence[Plan | None], system: System, *, without: frozenset[str] = frozenset()
) -> tuple[tuple[str, tuple[Row, ...]], ...]:
    """Return by section every figure whose text is another in a variant, the largest change first."""
    sections = dict.fromkeys(section.name for one in (plan, *variants) if one for section in one.sections)
    found: list[tuple[str, tuple[Row, ...]]] = []
    for name in sections:
        rows = sorted(_rows_of(plan, variants, name, system, without), key=lambda pair: -pair[0])
        if rows:
            found.append((_title(name, plan, *variants), tuple(row for _, row in rows)))
    return tuple(found)


def _title(name: str, *plans: Plan | None) -> str:
    return next(
        section.title for one in plans if one is not None for section in one.sections if section.name == name
    )


def _rows_of(
    plan: Plan, variants: Sequence[Plan | None], section: str, system: System, without: frozenset[str]
) -> Iterator[tuple[float, Row]]:
    before = _figures(plan, section)
    after = [None if one is None else _figures(one, section) for one in variants]
    names = dict.fromkeys([*before, *(name for one in after if one is not None for name in one)])
    for name in names:
        if name in without:
            continue
        own = before.get(name)
        others = [None if one is None else one.get(name) for one in after]
        cells = tuple(
            None if one is None else _figure_cell(own, other, system)
            for one, other in zip(after, others, strict=True)
        )
        if all(cell is None or cell.change == "same" for cell in cells):
            continue
        some = own or next(other for other in others if other is not None)
        here = Cell("not in the plan", "same") if own is None else Cell(_text(own, system), "same")
        size = max((_relative(own, other) for other in others if other is not None), default=0.0)
        yield size, Row(name, some.title, here, cells)


def _figures(plan: Plan, section: str) -> dict[str, Figure]:
    return {one.name: one for part in plan.sections if part.name == section for one in part.figures}


def _figure_cell(own: Figure | None, other: Figure | None, system: System) -> Cell:
    if other is None:
        return Cell("not computed", "gone")
    text = _text(other, system)
    if own is None:
        return Cell(text, "new")
    if text == _text(own, system):
        return Cell(text, "same")
    if own.value is None or other.value is None:
        return Cell(text, "new")
    change, words = _difference(own.value, other.value, other.kind, system)
    # Words may change where the number behind them hardly does.
    return Cell(text, change if change != "same" else "new", words)


def _text(figure: Figure, system: System) -> str:
    return f"none: {figure.problem}" if figure.problem else show(figure, system=system).text


def _relative(own: Figure | None, other: Figure) -> float:
    if own is None or own.value is None or other.value is None:
        return math.inf
    size = max(abs(convert(own.value, own.kind)[0]), 1e-9)
    moved = abs(convert(other.value, other.kind)[0] - convert(own.value, own.kind)[0]) / size
    return moved if math.isfinite(moved) else math.inf
