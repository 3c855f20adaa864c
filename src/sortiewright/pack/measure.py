"""A number with a unit, as people write it, into SI."""

from __future__ import annotations

import math
import re

from sortiewright.pack.errors import QuantityError, shown
from sortiewright.pack.units import KINDS, canonical_unit, unit_factor

NUMBER_AND_UNIT = re.compile(
    r"\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)\s*(.*?)\s*\Z", re.DOTALL
)
_THOUSANDS = re.compile(
    r"\s*([-+]?[0-9]{1,3}(?:[, '_\u00a0\u2009\u202f][0-9]{3})+)(?![0-9,])(.*)\Z", re.DOTALL
)
_DECIMAL_COMMA = re.compile(r"\s*([-+]?[0-9]+),([0-9]+)(?![0-9,.])(.*)\Z", re.DOTALL)
_LONGEST = 200


def to_si(text: str, si_unit: str) -> float:
    """Return the SI value of a number with a unit such as ``23.4 kN``.

    ``si_unit`` is the unit to return (``"N"``, ``"m**2"``; ``""`` for a plain number, which may be written in
    percent). Raises ``QuantityError`` (a ``ValueError``) for anything else.
    """
    match = NUMBER_AND_UNIT.match(text.replace("\N{MINUS SIGN}", "-")) if len(text) < _LONGEST else None
    if match is None:
        raise _not_a_quantity(text, si_unit)
    number, unit = float(match[1]), match[2]
    if not unit and si_unit not in ("", "1"):
        raise without_unit(shown(text), match[1], si_unit)
    if unit and unit[0] in ",'_0123456789" and not unit.startswith("1/"):
        raise _not_a_quantity(text, si_unit)
    try:
        scale, offset = unit_factor(unit, si_unit)
    except QuantityError as fault:
        raise QuantityError(
            shown(text), f"is not {article(kind_of(si_unit))}: {fault.read} {fault.expected}", fault.hint
        ) from None
    value = number * scale + offset
    if not math.isfinite(value):
        raise QuantityError(shown(text), "is too large a number")
    return value


def kind_of(si_unit: str) -> str:
    """Return what an SI unit measures, in words."""
    spelled = canonical_unit(si_unit)
    return KINDS.get("" if spelled == "1" else spelled, spelled)


def article(noun: str, *, first: bool = False) -> str:
    """Return a noun with its article, which ``first`` in a sentence begins with a capital."""
    word = "an" if noun[0] in "aeiou" else "a"
    return f"{word.capitalize() if first else word} {noun}"


def without_unit(read: str, number: str, si_unit: str, example: str = "") -> QuantityError:
    """Return the fault of a number that needs a unit."""
    unit = example.partition(" ")[2] or canonical_unit(si_unit)
    return QuantityError(read, "has no unit", f"Write a number and a unit: {number} {unit}")


def _not_a_quantity(text: str, si_unit: str) -> QuantityError:
    what = "is not a number" if si_unit in ("", "1") else "is not a quantity"
    wanted = "Write a number" if si_unit in ("", "1") else "Write a number and a unit"
    if len(text) < _LONGEST and (match := _THOUSANDS.match(text)):
        digits, rest = re.sub(r"[^-+0-9]", "", match[1]), match[2].rstrip()
        return QuantityError(shown(text), what, f"{wanted}, without a mark for thousands: {digits}{rest}")
    if len(text) < _LONGEST and (match := _DECIMAL_COMMA.match(text)):
        return QuantityError(shown(text), what, f"{wanted}: {match[1]}.{match[2]}{match[3].rstrip()}")
    unit = canonical_unit(si_unit)
    return QuantityError(
        shown(text), what, f"{wanted}, for example 12.5 {unit}" if unit not in ("", "1") else ""
    )
