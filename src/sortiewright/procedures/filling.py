"""Numbers in texts: ``{rotation_speed}`` is one of the plan, ``{limits.gear_speed}`` one of the pack.

``{rotation_speed, to 5 kt}`` rounds, ``{qnh, within 1 hPa}`` states a tolerance. An engine reading is shown
as the band it must lie in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from sortiewright.pack import Pack, QuantityError, choice_hint, shown, unit_factor
from sortiewright.procedures.pack_values import NoPackValue, pack_value
from sortiewright.sortie import (
    MINUS,
    MISSING,
    THIN_SPACE,
    Altimeter,
    Figure,
    Kind,
    Plan,
    Shown,
    System,
    convert,
    figure_unit,
    find_figure,
    possible_figures,
    show,
)

_SLOT = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)*\Z")
_RULE = re.compile(r"(to|within)\s+([0-9]*\.?[0-9]+)\s*(\S*)\Z")


class Amount(NamedTuple):
    """A number with a unit as a text writes it."""

    number: float
    unit: str

    def si(self, si_unit: str) -> float:
        """Return it as a difference in SI; raises ``QuantityError`` for a unit of something else."""
        size, _ = unit_factor(self.unit, "delta_degC" if si_unit == "K" else si_unit)
        return self.number * size


@dataclass(frozen=True, slots=True)
class Slot:
    """What stands between two braces."""

    name: str
    to: Amount | None = None
    within: Amount | None = None

    @property
    def of_pack(self) -> bool:
        """Whether it names a number of the pack rather than a figure of the plan."""
        return "." in self.name


class SlotFault(NamedTuple):
    """What is wrong with a text; ``expected`` continues the sentence that ``read`` begins."""

    read: str
    expected: str
    hint: str = ""


class NoSlot(ValueError):
    """Braces that hold nothing that can be filled."""

    def __init__(self, fault: SlotFault) -> None:
        self.fault = fault
        super().__init__(" ".join(fault))


def slots_of(text: str) -> list[Slot]:
    """Return what a text leaves open; raises ``NoSlot``."""
    if "{" in (rest := _SLOT.sub("", text)) or "}" in rest:
        hint = "Write {name} for a figure of the plan"
        raise NoSlot(SlotFault(shown(text), "has a brace without its partner", hint))
    return [_slot(match[1]) for match in _SLOT.finditer(text)]


def _slot(inside: str) -> Slot:
    name, *rules = (part.strip() for part in inside.split(","))
    if not _NAME.match(name):
        hint = "Write it like this: {rotation_speed}"
        raise NoSlot(SlotFault(shown(f"{{{inside}}}"), "does not begin with a name", hint))
    found: dict[str, Amount] = {}
    for rule in rules:
        match = _RULE.match(rule)
        if match is None or match[1] in found or float(match[2]) == 0.0:
            hint = "Write it like this: {rotation_speed, to 5 kt} or {qnh, within 1 hPa}"
            raise NoSlot(SlotFault(shown(f"{{{inside}}}"), f"cannot be read at {shown(rule)}", hint))
        found[match[1]] = Amount(float(match[2]), match[3])
    return Slot(name, **found)


def slot_faults(text: str, pack: Pack, kinds: Mapping[str, Kind]) -> Iterator[SlotFault]:
    """Yield what is wrong with the numbers a text asks for; ``kinds`` are those of the pack's figures."""
    if "{" not in text and "}" not in text:
        return
    try:
        slots = slots_of(text)
    except NoSlot as error:
        yield error.fault
        return
    for slot in slots:
        try:
            unit = pack_value(pack, slot.name).si_unit if slot.of_pack else _unit_of(slot.name, kinds)
        except NoPackValue as error:
            yield SlotFault(shown(f"{{{slot.name}}}"), error.expected, error.hint)
            continue
        if unit is None:
            expected = f"is no figure of a plan of {pack.name}"
            yield SlotFault(shown(f"{{{slot.name}}}"), expected, _name_hint(slot.name, kinds))
            continue
        for word, amount in (("to", slot.to), ("within", slot.within)):
            try:
                if amount is not None:
                    amount.si(unit)
            except QuantityError as error:
                read = f"{{{slot.name}, {word} {amount.number:g} {amount.unit}}}" if amount else ""
                yield SlotFault(shown(read), f"cannot be shown: {error.read} {error.expected}", error.hint)


def _unit_of(name: str, kinds: Mapping[str, Kind]) -> str | None:
    return figure_unit(name, kinds[name]) if name in kinds else None


def _name_hint(name: str, kinds: Mapping[str, Kind]) -> str:
    hint = choice_hint(name, kinds, "figures")
    return "See the names in sortiewright plan --json" if hint.startswith("Known") else hint


class Filled(NamedTuple):
    """A text with its numbers in it; ``problem`` says why one of them is missing."""

    text: str
    problem: str = ""


@dataclass(frozen=True)
class Filler:
    """Fills texts with the numbers of one plan."""

    pack: Pack
    plan: Plan
    system: System = "trade"

    def fill(self, text: str) -> Filled:
        """Return the text with every number in it, or a dash where there is none, and why."""
        if "{" not in text:
            return Filled(text)
        problems: list[str] = []

        def put(match: re.Match[str]) -> str:
            filled = self._value(_slot(match[1]))
            problems.extend([filled.problem] if filled.problem else [])
            return filled.text

        filled = _SLOT.sub(put, text)
        return Filled(filled, "; ".join(dict.fromkeys(problems)))

    def _value(self, slot: Slot) -> Filled:
        if slot.of_pack:
            value = pack_value(self.pack, slot.name)
            return Filled(self._with_tolerance(value.show(self.system), slot, value.kind, value.si_unit))
        figure = find_figure(self.plan, slot.name)
        if figure is None:
            return Filled(MISSING, self._absent(slot.name))
        if figure.value is None and not figure.text:
            return Filled(MISSING, f"{figure.title}: {figure.problem or 'could not be computed'}")
        return Filled(self._figure(figure, slot))

    def _figure(self, figure: Figure, slot: Slot) -> str:
        if figure.value is not None and (slot.to or slot.within):
            figure = replace(figure, text="")
        unit = figure_unit(figure.name, figure.kind)
        step = None if slot.to is None else self._step(slot.to, figure.kind, unit)
        if slot.within is None and figure.name in self._readings and figure.low is not None:
            return self._band(figure, step)
        value = show(figure, system=self.system, altimeter=self._altimeter, step=step)
        return self._with_tolerance(value, slot, figure.kind, unit)

    def _band(self, figure: Figure, step: float | None) -> str:
        """Return a reading as the lowest and highest that are right: what a gauge is held against."""
        assert figure.low is not None
        assert figure.high is not None
        low = show(figure.low, figure.kind, self.system, rounding="up", step=step)
        high = show(figure.high, figure.kind, self.system, rounding="down", step=step)
        if _number(low) >= _number(high):  # narrower than it is rounded to
            return show(figure, system=self.system).text
        return (
            f"{_as_fine(low.number, high.number)}–{Shown(_as_fine(high.number, low.number), high.unit).text}"
        )

    def _with_tolerance(self, value: Shown, slot: Slot, kind: Kind, si_unit: str) -> str:
        if slot.within is None or not value.number[-1:].isdigit():
            return value.text
        size = convert(slot.within.si(si_unit), _compared(kind), self.system, difference=True)[0]
        tolerance = f"{size:.3g}"
        return Shown(f"{value.number} ± {tolerance}", value.unit).text

    def _step(self, to: Amount, kind: Kind, si_unit: str) -> float | None:
        """Return a rounding step in the unit that is shown; None where it makes no round number there."""
        step = convert(to.si(si_unit), _compared(kind), self.system, difference=True)[0]
        return step if abs(step * 100 - round(step * 100)) < 1e-6 else None

    @cached_property
    def _readings(self) -> frozenset[str]:
        run_up = (section for section in self.plan.sections if section.name == "run_up")
        return frozenset(figure.name for section in run_up for figure in section.figures)

    @property
    def _altimeter(self) -> Altimeter:
        return "inHg" if self.plan.extra.get("altimeter") == "inHg" else "hPa"

    def _absent(self, name: str) -> str:
        """Return why the plan has no such figure: what kept its section from being worked out, if it was."""
        possible = possible_figures(self.pack)
        sections = {one.section for one in possible if name in (one.name, f"{one.section}_{one.name}")}
        causes = [
            figure.problem
            for section in self.plan.sections
            if section.name in sections
            for figure in section.figures
            if figure.problem
        ]
        words = name.replace("_", " ")
        return f"{words}: {causes[0] if causes else 'today there is none'}"


def _compared(kind: Kind) -> Kind:
    """A course is compared in radians and kept in degrees; an angle is radians throughout."""
    return Kind.ANGLE if kind == Kind.COURSE else kind


def _as_fine(number: str, other: str) -> str:
    """Return a number with as many decimals as the other one, where it has none."""
    decimals = len(other.partition(".")[2])
    return f"{number}.{'0' * decimals}" if decimals and "." not in number else number


def _number(value: Shown) -> float:
    try:
        return float(value.number.replace(THIN_SPACE, "").replace(MINUS, "-"))
    except ValueError:
        return float("nan")
