"""The aircraft: schema, loading, tables, checks.

``load_pack`` turns a folder into a ``Pack`` in SI, or raises ``InputError`` with every fault of every file.
Drawings (``pack.drawing``, ``pack.chart_style``) and editor schemas are imported when first asked for: they
need matplotlib.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sortiewright.pack.catalogue import (
    PackEntry,
    SummaryRow,
    pack_folder,
    pack_names,
    packs_available,
    summarise_pack,
)
from sortiewright.pack.consistency import validate_loaded
from sortiewright.pack.errors import (
    FileError,
    InputError,
    Problem,
    QuantityError,
    choice_hint,
    key_text,
    listed,
    shown,
    suggestion,
)
from sortiewright.pack.load import LoadedPack, Places, load_pack
from sortiewright.pack.provenance import Source
from sortiewright.pack.quantities import (
    Angle,
    AngularRate,
    Area,
    Density,
    Energy,
    Force,
    Fraction,
    Length,
    Mass,
    MassFlow,
    Moment,
    Number,
    PerAngle,
    PositiveLength,
    PositiveMass,
    Pressure,
    Quantity,
    Speed,
    Temperature,
    TemperatureDifference,
    Time,
    to_si,
)
from sortiewright.pack.schema import (
    Aero,
    Airframe,
    BookPoint,
    Configuration,
    CrosswindLimit,
    DirectionalControl,
    DragChute,
    EnergyZone,
    Engine,
    EngineTransients,
    EnvelopePoint,
    HookLimit,
    Increment,
    LandingTechnique,
    Limit,
    Limits,
    MassAndBalance,
    MomentLimit,
    Pack,
    PitchControl,
    PowerSetting,
    RejectedTakeoff,
    RunUpReadings,
    Seat,
    Severity,
    SpeedLimit,
    Station,
    Store,
    TakeoffTechnique,
    Tank,
    Technique,
    Wheels,
)
from sortiewright.pack.schema_base import Model
from sortiewright.pack.table import OutsideTable, Table, make_table
from sortiewright.pack.text import Document, parse_yaml, read_text_file
from sortiewright.pack.units import readable, unit_factor
from sortiewright.pack.validation import read_record

if TYPE_CHECKING:
    from sortiewright.pack.chart_style import ChartStyle as ChartStyle
    from sortiewright.pack.chart_style import label_line as label_line
    from sortiewright.pack.chart_style import new_chart as new_chart
    from sortiewright.pack.chart_style import save_chart as save_chart
    from sortiewright.pack.chart_style import style_for as style_for
    from sortiewright.pack.drawing import draw_drag as draw_drag
    from sortiewright.pack.drawing import draw_envelope as draw_envelope
    from sortiewright.pack.drawing import draw_fuel_flow as draw_fuel_flow
    from sortiewright.pack.drawing import draw_lift as draw_lift
    from sortiewright.pack.drawing import draw_pack as draw_pack
    from sortiewright.pack.drawing import draw_thrust as draw_thrust
    from sortiewright.pack.json_schema import pack_json_schema as pack_json_schema

_LATE = {
    "ChartStyle": "chart_style",
    "label_line": "chart_style",
    "new_chart": "chart_style",
    "save_chart": "chart_style",
    "style_for": "chart_style",
    "draw_drag": "drawing",
    "draw_envelope": "drawing",
    "draw_fuel_flow": "drawing",
    "draw_lift": "drawing",
    "draw_pack": "drawing",
    "draw_thrust": "drawing",
    "pack_json_schema": "json_schema",
}


def __getattr__(name: str) -> Any:
    # Matplotlib takes half a second: only those who draw should wait for it.
    if name in _LATE:
        from importlib import import_module

        return getattr(import_module(f"sortiewright.pack.{_LATE[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = [
    "Aero",
    "Airframe",
    "Angle",
    "AngularRate",
    "Area",
    "BookPoint",
    "ChartStyle",
    "Configuration",
    "CrosswindLimit",
    "Density",
    "DirectionalControl",
    "Document",
    "DragChute",
    "Energy",
    "EnergyZone",
    "Engine",
    "EngineTransients",
    "EnvelopePoint",
    "FileError",
    "Force",
    "Fraction",
    "HookLimit",
    "Increment",
    "InputError",
    "LandingTechnique",
    "Length",
    "Limit",
    "Limits",
    "LoadedPack",
    "Mass",
    "MassAndBalance",
    "MassFlow",
    "Model",
    "Moment",
    "MomentLimit",
    "Number",
    "OutsideTable",
    "Pack",
    "PackEntry",
    "PerAngle",
    "PitchControl",
    "Places",
    "PositiveLength",
    "PositiveMass",
    "PowerSetting",
    "Pressure",
    "Problem",
    "Quantity",
    "QuantityError",
    "RejectedTakeoff",
    "RunUpReadings",
    "Seat",
    "Severity",
    "Source",
    "Speed",
    "SpeedLimit",
    "Station",
    "Store",
    "SummaryRow",
    "Table",
    "TakeoffTechnique",
    "Tank",
    "Technique",
    "Temperature",
    "TemperatureDifference",
    "Time",
    "Wheels",
    "choice_hint",
    "draw_drag",
    "draw_envelope",
    "draw_fuel_flow",
    "draw_lift",
    "draw_pack",
    "draw_thrust",
    "key_text",
    "label_line",
    "listed",
    "load_pack",
    "make_table",
    "new_chart",
    "pack_folder",
    "pack_json_schema",
    "pack_names",
    "packs_available",
    "parse_yaml",
    "read_record",
    "read_text_file",
    "readable",
    "save_chart",
    "shown",
    "style_for",
    "suggestion",
    "summarise_pack",
    "to_si",
    "unit_factor",
    "validate_loaded",
]
