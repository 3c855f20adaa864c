"""Numbers with units: what a file writes as ``45000 lb`` becomes an SI float, once, at loading."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from sortiewright.pack.errors import QuantityError, shown
from sortiewright.pack.measure import article, kind_of, to_si, without_unit


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
                shown(raw), f"is not {article(kind_of(self.si_unit))}", f"Write it like this: {self.example}"
            )
        if not math.isfinite(raw):
            raise QuantityError(shown(raw), "is not a finite number")
        if from_file and not plain:
            raise without_unit(shown(raw), shown(raw), self.si_unit, self.example)
        return float(raw)


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
