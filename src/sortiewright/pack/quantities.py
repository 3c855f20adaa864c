"""Numbers with units: what a file writes as ``45000 lb`` becomes an SI float, once, at loading."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

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
        raise _without_unit(shown(text), match[1], si_unit)
    if unit and unit[0] in ",'_0123456789" and not unit.startswith("1/"):
        raise _not_a_quantity(text, si_unit)
    try:
        scale, offset = unit_factor(unit, si_unit)
    except QuantityError as fault:
        raise QuantityError(
            shown(text), f"is not {_a(kind_of(si_unit))}: {fault.read} {fault.expected}", fault.hint
        ) from None
    value = number * scale + offset
    if not math.isfinite(value):
        raise QuantityError(shown(text), "is too large a number")
    return value


def kind_of(si_unit: str) -> str:
    """Return what an SI unit measures, in words."""
    spelled = canonical_unit(si_unit)
    return KINDS.get("" if spelled == "1" else spelled, spelled)


@dataclass(frozen=True)
class Quantity:
    """The mark of a field that is a number with a unit: parses it, and tells other readers of the schema what
    it is.

    In a file (``context={"from_file": True}``) a number must carry its unit; in Python a bare number is SI.
    """

    si_unit: str
    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_before_validator_function(self.parse, handler(source))

    def parse(self, raw: Any, info: ValidationInfo) -> float:
        """Return the SI value of what was written."""
        from_file = bool(info.context and info.context.get("from_file"))
        return self.value(raw, from_file=from_file)

    def value(self, raw: Any, *, from_file: bool) -> float:
        """Return the SI value of text or a number; ``QuantityError`` for anything else."""
        plain = self.si_unit == ""
        if raw is None:
            raise QuantityError("", "the value is missing", f"Write it like this: {self.example}")
        if isinstance(raw, str):
            return to_si(raw, self.si_unit)
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise QuantityError(
                shown(raw), f"is not {_a(kind_of(self.si_unit))}", f"Write it like this: {self.example}"
            )
        if not math.isfinite(raw):
            raise QuantityError(shown(raw), "is not a finite number")
        if from_file and not plain:
            raise _without_unit(shown(raw), shown(raw), self.si_unit, self.example)
        return float(raw)


def _a(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _without_unit(read: str, number: str, si_unit: str, example: str = "") -> QuantityError:
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


Length = Annotated[float, Quantity("m", "3.2 m")]
PositiveLength = Annotated[float, Quantity("m", "3.2 m"), Field(gt=0)]
Area = Annotated[float, Quantity("m2", "33.4 m2"), Field(ge=0)]
Mass = Annotated[float, Quantity("kg", "4500 lb"), Field(ge=0)]
PositiveMass = Annotated[float, Quantity("kg", "4500 lb"), Field(gt=0)]
Speed = Annotated[float, Quantity("m/s", "250 kt"), Field(ge=0)]
Angle = Annotated[float, Quantity("rad", "12 deg")]
AngularRate = Annotated[float, Quantity("rad/s", "4 deg/s")]
Time = Annotated[float, Quantity("s", "3 s"), Field(ge=0)]
Force = Annotated[float, Quantity("N", "17800 lbf")]
Pressure = Annotated[float, Quantity("Pa", "250 psi"), Field(ge=0)]
Temperature = Annotated[float, Quantity("K", "15 degC"), Field(ge=0)]
TemperatureDifference = Annotated[float, Quantity("delta_degC", "10 degC")]
Energy = Annotated[float, Quantity("J", "25 Mft.lbf"), Field(ge=0)]
MassFlow = Annotated[float, Quantity("kg/s", "4000 lb/h"), Field(ge=0)]
Moment = Annotated[float, Quantity("N.m", "10000 ft.lbf")]
Density = Annotated[float, Quantity("kg/m3", "6.7 lb/gal"), Field(gt=0)]
PerAngle = Annotated[float, Quantity("1/rad", "0.05 1/deg")]
Number = Annotated[float, Quantity("", "1.2")]
Fraction = Annotated[float, Quantity("", "0.45"), Field(ge=0, le=1)]
