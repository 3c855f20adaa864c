"""Single numbers of a pack by their dotted path, so that no checklist writes a limit a second time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, cast, get_args

from sortiewright.pack import Limit, Model, MomentLimit, Pack, Quantity, SpeedLimit, choice_hint, shown
from sortiewright.sortie import Kind, Rounding, Shown, System, convert, show

PARTS = ("limits", "technique", "wheels", "mass", "engine", "stores", "airframe")
"""Parts of a pack whose numbers a text may name: ``limits.gear_speed``, ``technique.takeoff.climb_cas``."""

_KINDS: dict[str, Kind] = {
    "m": Kind.HEIGHT,
    "m/s": Kind.CAS,
    "rad": Kind.ANGLE,
    "s": Kind.TIME,
    "kg": Kind.MASS,
    "kg/s": Kind.MASS_FLOW,
    "N": Kind.FORCE,
    "N.m": Kind.SIDE_MOMENT,
    "Pa": Kind.PRESSURE,
    "J": Kind.ENERGY,
    "K": Kind.TEMPERATURE,
    "delta_degC": Kind.TEMPERATURE,
    "": Kind.NUMBER,
}


class NoPackValue(LookupError):
    """A path that leads to no number: ``expected`` continues the sentence that the path begins."""

    def __init__(self, expected: str, hint: str = "") -> None:
        self.expected, self.hint = expected, hint
        super().__init__(expected)


@dataclass(frozen=True, slots=True)
class PackValue:
    """One number of a pack, SI."""

    path: str
    value: float
    si_unit: str
    """As ``quantities`` spells it; rad/s beside the units of kinds."""

    @property
    def kind(self) -> Kind:
        """How it is shown."""
        return Kind.CLIMB_RATE if "sink_rate" in self.path else _KINDS[self.si_unit]

    def show(self, system: System) -> Shown:
        """Return the number as people read it: as finely as the pack gives it, a limit on its safe side."""
        if self.si_unit == "rad/s":
            return Shown(f"{math.degrees(self.value):g}", "°/s")
        difference = self.si_unit == "delta_degC"
        step = _exact_step(convert(self.value, self.kind, system, difference=difference)[0])
        number, unit = show(
            self.value, self.kind, system, rounding=self._rounding(), difference=difference, step=step
        )
        return Shown(number.removeprefix("+") if difference else number, unit)

    def _rounding(self) -> Rounding:
        *_, last = self.path.split(".")
        if last.startswith(("minimum_", "least_", "gear_up_least")) or "_least_" in last:
            return "up"
        return (
            "down" if self.path.startswith("limits.") or "maximum" in last or "limit" in last else "nearest"
        )


def pack_value(pack: Pack, path: str) -> PackValue:
    """Return the number at a dotted path; raises ``NoPackValue`` for a path that leads to none."""
    found, unit = _follow(pack, path)
    if isinstance(found, Limit | SpeedLimit | MomentLimit):
        found, unit = found.value, _unit(found, "value")
    if found is None:
        raise NoPackValue("is not given in this pack")
    if isinstance(found, bool) or not isinstance(found, int | float):
        inside = list(_entries(found))
        raise NoPackValue("is no single number", choice_hint("", inside, "keys inside it") if inside else "")
    unit = unit or ""  # a plain count has none
    if unit not in _KINDS and unit != "rad/s":
        raise NoPackValue(f"is in {unit}, which no card shows")
    return PackValue(path, float(found), unit)


def _follow(pack: Pack, path: str) -> tuple[Any, str | None]:
    """Return what stands at a dotted path, and the unit of its field if that is a quantity."""
    found: Any = pack
    unit: str | None = None
    keys = path.split(".")
    for depth, key in enumerate(keys):
        inside = _entries(found)
        known = [name for name in PARTS if name in inside] if depth == 0 else list(inside)
        if key not in known:
            what = f"keys of {'.'.join(keys[:depth])}" if depth else "parts of a pack"
            raise NoPackValue(f"is not in the pack: there is no {shown(key)}", choice_hint(key, known, what))
        if isinstance(found, Model):  # the unit of a mapping's values is that of its field
            unit = _unit(found, key)
        found = inside[key]
    return found, unit


def _entries(found: Any) -> Mapping[str, Any]:
    """Return what stands inside a record or a mapping, by key; nothing inside anything else."""
    if isinstance(found, Model):
        return {name: getattr(found, name) for name in type(found).model_fields}
    return cast("Mapping[str, Any]", found) if isinstance(found, Mapping) else {}


def _unit(owner: Model, key: str) -> str | None:
    """Return the SI unit of a record's field, None for one that is no quantity."""
    info = type(owner).model_fields[key]
    return _quantity((*info.metadata, info.annotation))


def _quantity(marks: Iterable[Any]) -> str | None:
    """Return the unit of the first quantity among the marks of a type, however deep it stands."""
    for mark in marks:
        if isinstance(mark, Quantity):
            return mark.si_unit
        if (unit := _quantity(get_args(mark))) is not None:
            return unit
        inner = getattr(mark, "__metadata__", ())
        if (unit := _quantity(inner)) is not None:
            return unit
    return None


def _exact_step(shown_value: float) -> float | None:
    """Return the coarsest decimal step that keeps a number as it was written; None where none does."""
    for step in (10.0, 1.0, 0.1, 0.01, 0.001):
        if abs(shown_value / step - round(shown_value / step)) < 1e-6:
            return step
    return None
