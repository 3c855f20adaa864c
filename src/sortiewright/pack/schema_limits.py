"""What a pack says of limits. SI once loaded."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from sortiewright.pack.quantities import (
    Angle,
    Moment,
    Number,
    Speed,
)
from sortiewright.pack.schema_base import Model
from sortiewright.pack.table_text import CrosswindTable, LoadFactorTable

Severity = Literal["no-go", "caution"]


class Limit(Model):
    """A limit with no condition on it."""

    value: Number
    severity: Severity = "no-go"
    note: str = ""


class SpeedLimit(Model):
    """A speed that must not be passed; calibrated airspeed unless the limit's name says ground speed."""

    value: Speed
    severity: Severity = "no-go"
    note: str = ""


class CrosswindLimit(Model):
    """Greatest crosswind against RCR."""

    value: CrosswindTable
    severity: Severity = "no-go"
    note: str = ""


class MomentLimit(Model):
    """Greatest difference of side moments (mass times side arm, times standard gravity)."""

    value: Moment
    severity: Severity = "no-go"
    note: str = ""


class Limits(Model):
    """Limits the program checks by name. A limit left out is 'not evaluated'."""

    gear_speed: SpeedLimit | None = None
    flap_speed: dict[str, SpeedLimit] = Field(default_factory=dict[str, SpeedLimit])
    canopy_open_ground_speed: SpeedLimit | None = None
    nosewheel_steering_ground_speed: SpeedLimit | None = None
    maximum_cas: SpeedLimit | None = None
    maximum_mach: Limit | None = None
    crosswind_takeoff: CrosswindLimit | None = None
    crosswind_landing: CrosswindLimit | None = None
    crosswind_chute: SpeedLimit | None = None
    tailwind: SpeedLimit | None = None
    asymmetric_moment_takeoff: MomentLimit | None = None
    asymmetric_moment_landing: MomentLimit | None = None
    load_factor_positive: LoadFactorTable | None = None
    load_factor_rolling: LoadFactorTable | None = None
    load_factor_negative: Limit | None = None
    single_engine_climb_gradient: Limit | None = None
    sink_rate_touchdown: SpeedLimit | None = None
    angle_of_attack: dict[str, Angle] = Field(default_factory=dict[str, Angle])
    minimum_control_ground_speed: SpeedLimit | None = None
