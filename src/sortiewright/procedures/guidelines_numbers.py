"""Guidelines on numbers: not in notes, and not written a second time where the pack has them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, get_args

from pydantic import BaseModel

from sortiewright.pack import Quantity, QuantityError, to_si
from sortiewright.procedures.guidelines_marks import Mark, Marks, places, quoted

if TYPE_CHECKING:
    from sortiewright.pack import Pack
    from sortiewright.procedures.loading import Procedures

UNITS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("kt", "kts", "knot", "knots", "KIAS", "KCAS"), ("kt", "m/s")),
    **dict.fromkeys(("ft", "feet"), ("ft", "m")),
    **dict.fromkeys(("m", "metres", "meters"), ("m", "m")),
    **dict.fromkeys(("nm", "nmi", "NM"), ("nmi", "m")),
    **dict.fromkeys(("lb", "lbs", "pounds"), ("lb", "kg")),
    "kg": ("kg", "kg"),
    "psi": ("psi", "Pa"),
    "bar": ("bar", "Pa"),
    "hPa": ("hPa", "Pa"),
    "inHg": ("inHg", "Pa"),
    **dict.fromkeys(("°", "deg", "degrees"), ("deg", "rad")),
    **dict.fromkeys(("°C", "degC"), ("degC", "K")),
    **dict.fromkeys(("s", "sec", "seconds", "second"), ("s", "s")),
    **dict.fromkeys(("min", "minutes", "minute"), ("min", "s")),
    "%": ("percent", ""),
}
"""Units as crews write them: the pack's name of the unit, and the SI unit of what it measures."""
OTHER_UNITS = ("rpm", "RPM", "g", "units")
"""Written behind numbers too, but of nothing that a pack states with its unit."""

_SPELLED = "|".join(sorted((re.escape(unit) for unit in (*UNITS, *OTHER_UNITS)), key=len, reverse=True))
NUMBER_WITH_UNIT = re.compile(
    rf"(?<![\w.{{])(\d{{1,3}}(?:[ \u2009\u202f']\d{{3}})+|\d+(?:\.\d+)?)[ \u2009\u202f]?({_SPELLED})(?!\w)"
)
CLOSE = 1e-3
"""Share by which a written number may differ from a pack's and still be the same."""


def numbers_in_notes(procedures: Procedures) -> Marks:
    """Mark notes with a number and its unit, written out or filled in: a tolerance is part of a step."""
    for name, at, item in places(procedures):
        for text in item.notes:
            found = NUMBER_WITH_UNIT.search(text)
            said = found[0] if found else next(iter(re.findall(r"\{[^}]*\}", text)), "")
            if said:
                yield Mark(
                    name, at, f"its note holds a number ({said}): put it into a challenge or a response"
                )


def numbers_written_twice(procedures: Procedures) -> Marks:
    """Mark numbers that a limit or the technique of the pack has too: one of the two will be forgotten."""
    known = list(numbers_of(procedures.pack))
    for name, at, item in places(procedures):
        for text in (item.challenge, item.response, *item.warnings, *item.cautions, *item.notes):
            for found in NUMBER_WITH_UNIT.finditer(text):
                if twin := same_value(found[1], found[2], known):
                    text = f"{quoted(found[0])} is the pack's {twin}: write {{{twin}}}"
                    yield Mark(name, at, text)


def same_value(number: str, unit: str, known: list[tuple[str, float, str]]) -> str:
    """Return the name of a pack's value that equals a written number, empty where none does."""
    if unit not in UNITS:
        return ""
    unit_name, si_unit = UNITS[unit]
    try:
        value = to_si(f"{re.sub(r'[^0-9.]', '', number)} {unit_name}".strip(), si_unit)
    except QuantityError:
        return ""
    return next(
        (name for name, one, of in known if of == si_unit and math.isclose(one, value, rel_tol=CLOSE)), ""
    )


def numbers_of(pack: Pack) -> Iterator[tuple[str, float, str]]:
    """Yield name, SI value and SI unit of every single number among a pack's limits and technique.

    Plain numbers are left out: 1.2 of one thing is no reason to suspect 1.2 of another.
    """
    for part in ("limits", "technique"):
        for name, value, unit in numbers_below(part, getattr(pack, part)):
            if unit:
                yield name, value, unit


def numbers_below(name: str, value: Any, annotation: Any = None) -> Iterator[tuple[str, float, str]]:
    """Yield every number below a record, a mapping or a single field, named as a text fills it in."""
    if isinstance(value, BaseModel):
        for key, info in type(value).model_fields.items():
            inner = name if key == "value" else f"{name}.{key}"
            marks = next((one for one in info.metadata if isinstance(one, Quantity)), info.annotation)
            yield from numbers_below(inner, getattr(value, key), marks)
    elif isinstance(value, Mapping):
        for key, one in value.items():  # pyright: ignore[reportUnknownVariableType]
            yield from numbers_below(f"{name}.{key}", one, annotation)
    elif isinstance(value, float) and (quantity := quantity_in(annotation)):
        yield name, value, quantity.si_unit


def quantity_in(annotation: Any) -> Quantity | None:
    """Return the mark of a quantity somewhere in an annotation."""
    if isinstance(annotation, Quantity):
        return annotation
    parts = (*get_args(annotation), *getattr(annotation, "__metadata__", ()))
    return next((found for part in parts if (found := quantity_in(part))), None)
