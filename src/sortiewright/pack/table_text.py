"""How a table is written in a file, and which tables a pack may hold.

Inline, each axis is a key with a list, or with ``{unit: ft, values: [...]}``, and ``values`` holds one row
for each step of the first axis. ``{file: tables/x.csv, unit: lbf}`` takes the grid from a CSV file instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from sortiewright.pack.errors import QuantityError
from sortiewright.pack.table import Table
from sortiewright.pack.table_reading import Axis, TableReading, TableSource


@dataclass(frozen=True)
class TableKind:
    """The mark of a table field: which axes and values it has, and how it is read from what was written."""

    axes: tuple[Axis, ...]
    si_unit: str
    least: float
    most: float

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.parse)

    @property
    def axis_names(self) -> str:
        """Return the axes in words: ``mach and pressure_altitude``."""
        return " and ".join(axis.name for axis in self.axes)

    def parse(self, raw: Any, info: ValidationInfo) -> Table:
        """Return the table that was written, or one that is a table already."""
        if isinstance(raw, Table):
            if raw.names != tuple(axis.name for axis in self.axes):
                raise QuantityError(
                    f"a table over {' and '.join(raw.names)}", f"is not one over {self.axis_names}"
                )
            return raw
        if not isinstance(raw, TableSource):
            raw = TableSource(str(info.field_name), raw)
        return TableReading(self, raw).table()


def over(axes: str, unit: str = "", *, least: float = -math.inf, most: float = math.inf) -> TableKind:
    """Return the kind of a table over ``"mach, pressure_altitude m"`` with values in an SI unit.

    ``least`` and ``most`` bound the values, SI.
    """
    named = [part.split() for part in axes.split(",")]
    return TableKind(tuple(Axis(words[0], "".join(words[1:])) for words in named), unit, least, most)


AeroTable = Annotated[Table, over("angle_of_attack rad, mach")]
MachTable = Annotated[Table, over("mach", least=0.0)]
LeastLiftTable = Annotated[Table, over("mach", most=0.0)]
GroundEffectTable = Annotated[Table, over("height_over_span", least=0.0)]
ThrustTable = Annotated[Table, over("mach, pressure_altitude m", "N")]
FuelFlowTable = Annotated[Table, over("mach, pressure_altitude m", "kg/s", least=0.0)]
TemperatureFactorTable = Annotated[Table, over("isa_deviation delta_degC", least=0.0)]
ReadingTable = Annotated[Table, over("outside_temperature K", least=0.0)]
ExhaustTemperatureTable = Annotated[Table, over("outside_temperature K", "K", least=0.0)]
FuelFlowReadingTable = Annotated[Table, over("outside_temperature K", "kg/s", least=0.0)]
SpeedByMassTable = Annotated[Table, over("mass kg", "m/s", least=0.0)]
FrictionTable = Annotated[Table, over("runway_condition_reading", least=0.0, most=1.5)]
CrosswindTable = Annotated[Table, over("runway_condition_reading", "m/s", least=0.0)]
LoadFactorTable = Annotated[Table, over("mass kg")]
