"""The aircraft: schema, loading, tables, checks.

``load_pack`` turns a folder into a ``Pack`` in SI, or raises ``InputError`` with every fault of every file.
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
from sortiewright.pack.channels import (
    CHANNELS,
    Channel,
)
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
from sortiewright.pack.measure import to_si
from sortiewright.pack.table import (
    AxisPoints,
    OutsideTable,
    Table,
    TablePoint,
    make_table,
)
from sortiewright.pack.text import (
    Document,
    parse_yaml,
    read_text_file,
)
from sortiewright.pack.units import (
    COMMON_UNITS,
    KINDS,
    readable,
    unit_factor,
)
from sortiewright.pack.yaml_data import (
    NUMBER_ROW,
    plain_value,
)

if TYPE_CHECKING:
    from sortiewright.pack.chart_style import (
        ChartStyle,
        label_line,
        new_chart,
        save_chart,
        style_for,
    )
    from sortiewright.pack.consistency import (
        validate_loaded,
    )
    from sortiewright.pack.drawing import (
        draw_drag,
        draw_envelope,
        draw_fuel_flow,
        draw_lift,
        draw_pack,
        draw_thrust,
    )
    from sortiewright.pack.factors import (
        PackFactor,
        pack_factors,
        value_at,
        with_factors,
    )
    from sortiewright.pack.json_schema import (
        pack_json_schema,
        record_json_schema,
    )
    from sortiewright.pack.load import (
        LoadedPack,
        Places,
        digest_of_files,
        load_pack,
    )
    from sortiewright.pack.new_pack import (
        PackNames,
        new_pack_files,
    )
    from sortiewright.pack.next_steps import (
        FillingStep,
        UnfinishedPack,
        unfinished_pack,
    )
    from sortiewright.pack.overlay import (
        FACTOR_TITLES,
        Overlay,
        OverlayFactor,
        OverlayFactors,
        load_overlay,
        overlay_summary,
        overlay_text,
        with_overlay,
    )
    from sortiewright.pack.provenance import (
        Source,
    )
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
    )
    from sortiewright.pack.schema import (
        Aero,
        Airframe,
        BookPoint,
        Configuration,
        DirectionalControl,
        DragChute,
        EnergyZone,
        Engine,
        EngineTransients,
        HookLimit,
        Increment,
        LandingTechnique,
        Pack,
        PitchControl,
        PowerSetting,
        RejectedTakeoff,
        RunUpReadings,
        TakeoffTechnique,
        Technique,
        Wheels,
    )
    from sortiewright.pack.schema_base import (
        Model,
    )
    from sortiewright.pack.schema_flight import (
        FuelTechnique,
    )
    from sortiewright.pack.schema_limits import (
        CrosswindLimit,
        Limit,
        Limits,
        MomentLimit,
        Severity,
        SpeedLimit,
    )
    from sortiewright.pack.schema_loading import (
        EnvelopePoint,
        MassAndBalance,
        Seat,
        Station,
        Store,
        Tank,
    )
    from sortiewright.pack.shape import (
        Shape,
        record_shape,
        shape_at,
    )
    from sortiewright.pack.validation import (
        read_record,
    )
    from sortiewright.pack.yaml_scanner import (
        recorded_events,
    )

# Each name below is imported when it is first asked for: the schema needs pydantic (0.2 s with its models),
# the drawings need matplotlib (0.5 s), and a command that only wants a unit should wait for neither.
_LATE = {
    name: module
    for module, names in {
        "chart_style": "ChartStyle label_line new_chart save_chart style_for",
        "consistency": "validate_loaded",
        "drawing": "draw_drag draw_envelope draw_fuel_flow draw_lift draw_pack draw_thrust",
        "factors": "PackFactor pack_factors value_at with_factors",
        "json_schema": "pack_json_schema record_json_schema",
        "load": "LoadedPack Places digest_of_files load_pack",
        "new_pack": "PackNames new_pack_files",
        "next_steps": "FillingStep UnfinishedPack unfinished_pack",
        "overlay": (
            "FACTOR_TITLES Overlay OverlayFactor OverlayFactors load_overlay overlay_summary overlay_text "
            "with_overlay"
        ),
        "provenance": "Source",
        "quantities": (
            "Angle AngularRate Area Density Energy Force Fraction Length Mass MassFlow Moment Number "
            "PerAngle PositiveLength PositiveMass Pressure Quantity Speed Temperature "
            "TemperatureDifference Time"
        ),
        "schema": (
            "Aero Airframe BookPoint Configuration DirectionalControl DragChute EnergyZone Engine "
            "EngineTransients HookLimit Increment LandingTechnique Pack PitchControl PowerSetting "
            "RejectedTakeoff RunUpReadings TakeoffTechnique Technique Wheels"
        ),
        "schema_base": "Model",
        "schema_flight": "FuelTechnique",
        "schema_limits": "CrosswindLimit Limit Limits MomentLimit Severity SpeedLimit",
        "schema_loading": "EnvelopePoint MassAndBalance Seat Station Store Tank",
        "shape": "Shape record_shape shape_at",
        "validation": "read_record",
        "yaml_scanner": "recorded_events",
    }.items()
    for name in names.split()
}


def __getattr__(name: str) -> Any:
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"sortiewright.pack.{_LATE[name]}"), name)
    globals()[name] = value
    return value


__all__ = [
    "CHANNELS",
    "COMMON_UNITS",
    "FACTOR_TITLES",
    "KINDS",
    "NUMBER_ROW",
    "Aero",
    "Airframe",
    "Angle",
    "AngularRate",
    "Area",
    "AxisPoints",
    "BookPoint",
    "Channel",
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
    "FillingStep",
    "Force",
    "Fraction",
    "FuelTechnique",
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
    "Overlay",
    "OverlayFactor",
    "OverlayFactors",
    "Pack",
    "PackEntry",
    "PackFactor",
    "PackNames",
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
    "Shape",
    "Source",
    "Speed",
    "SpeedLimit",
    "Station",
    "Store",
    "SummaryRow",
    "Table",
    "TablePoint",
    "TakeoffTechnique",
    "Tank",
    "Technique",
    "Temperature",
    "TemperatureDifference",
    "Time",
    "UnfinishedPack",
    "Wheels",
    "choice_hint",
    "digest_of_files",
    "draw_drag",
    "draw_envelope",
    "draw_fuel_flow",
    "draw_lift",
    "draw_pack",
    "draw_thrust",
    "key_text",
    "label_line",
    "listed",
    "load_overlay",
    "load_pack",
    "make_table",
    "new_chart",
    "new_pack_files",
    "overlay_summary",
    "overlay_text",
    "pack_factors",
    "pack_folder",
    "pack_json_schema",
    "pack_names",
    "packs_available",
    "parse_yaml",
    "plain_value",
    "read_record",
    "read_text_file",
    "readable",
    "record_json_schema",
    "record_shape",
    "recorded_events",
    "save_chart",
    "shape_at",
    "shown",
    "style_for",
    "suggestion",
    "summarise_pack",
    "to_si",
    "unfinished_pack",
    "unit_factor",
    "validate_loaded",
    "value_at",
    "with_factors",
    "with_overlay",
]
