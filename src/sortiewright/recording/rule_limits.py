"""The numbers of a pack that rules speak of by name, so that no limit is written a second time.

``limit_gear_speed`` is ``limits.gear_speed`` of the pack; ``technique_takeoff_attitude`` is
``technique.takeoff.takeoff_attitude``. A limit that depends on weight is a table, read at each row's mass.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, cast

from sortiewright.pack import Limit, MomentLimit, Pack, SpeedLimit, Table

MASS_AXIS = "gross_mass"
CONDITION_AXIS = "planned_runway_condition_reading"
TEMPERATURE_AXIS = "outside_air_temperature"


@dataclass(frozen=True, slots=True)
class PackNumber:
    """One number of a pack, SI, or a table of it over the column named ``over``."""

    name: str
    unit: str
    key: str
    """Where the pack says it: ``limits.gear_speed``."""
    value: float | Table
    over: str = ""


_LIMITS: dict[str, tuple[str, str, str]] = {
    "gear_speed": ("m/s", "limits.gear_speed", ""),
    "canopy_open_ground_speed": ("m/s", "limits.canopy_open_ground_speed", ""),
    "nosewheel_steering_ground_speed": ("m/s", "limits.nosewheel_steering_ground_speed", ""),
    "maximum_cas": ("m/s", "limits.maximum_cas", ""),
    "maximum_mach": ("", "limits.maximum_mach", ""),
    "crosswind_takeoff": ("m/s", "limits.crosswind_takeoff", CONDITION_AXIS),
    "crosswind_landing": ("m/s", "limits.crosswind_landing", CONDITION_AXIS),
    "crosswind_chute": ("m/s", "limits.crosswind_chute", ""),
    "tailwind": ("m/s", "limits.tailwind", ""),
    "asymmetric_moment_takeoff": ("N.m", "limits.asymmetric_moment_takeoff", ""),
    "asymmetric_moment_landing": ("N.m", "limits.asymmetric_moment_landing", ""),
    "load_factor_positive": ("", "limits.load_factor_positive", MASS_AXIS),
    "load_factor_rolling": ("", "limits.load_factor_rolling", MASS_AXIS),
    "load_factor_negative": ("", "limits.load_factor_negative", ""),
    "single_engine_climb_gradient": ("", "limits.single_engine_climb_gradient", ""),
    "sink_rate_touchdown": ("m/s", "limits.sink_rate_touchdown", ""),
    "minimum_control_ground_speed": ("m/s", "limits.minimum_control_ground_speed", ""),
    "tyre_speed": ("m/s", "wheels.tyre_speed_limit", ""),
    "chute_cas": ("m/s", "wheels.chute.maximum_cas", ""),
    "chute_least_useful_cas": ("m/s", "wheels.chute.least_useful_cas", ""),
    "chute_crosswind": ("m/s", "wheels.chute.maximum_crosswind", ""),
    "hook_ground_speed": ("m/s", "wheels.hook.maximum_ground_speed", MASS_AXIS),
    "hook_off_centre": ("m", "wheels.hook.maximum_off_centre", ""),
    "tail_strike_attitude": ("rad", "airframe.tail_strike_attitude", ""),
    "tail_strike_attitude_struts_compressed": ("rad", "airframe.tail_strike_attitude_struts_compressed", ""),
    "ramp_mass": ("kg", "mass.maximum_ramp_mass", ""),
    "takeoff_mass": ("kg", "mass.maximum_takeoff_mass", ""),
    "landing_mass": ("kg", "mass.maximum_landing_mass", ""),
}
"""By name without ``limit_``: SI unit, key of the pack, and what its table is read at."""

_SEVERAL: dict[str, tuple[str, str]] = {
    "flap_speed": ("m/s", "limits.flap_speed"),
    "angle_of_attack": ("rad", "limits.angle_of_attack"),
}
"""Limits with one value for each configuration: ``limit_flap_speed_landing``."""

_TECHNIQUE: dict[str, tuple[str, str, str]] = {
    "rotation_speed": ("m/s", "technique.takeoff.rotation_speed", MASS_AXIS),
    "pitch_rate": ("rad/s", "technique.takeoff.pitch_rate", ""),
    "takeoff_attitude": ("rad", "technique.takeoff.takeoff_attitude", ""),
    "stick_aft_speed": ("m/s", "technique.takeoff.stick_aft_speed", ""),
    "screen_height": ("m", "technique.takeoff.screen_height", ""),
    "gear_up_delay": ("s", "technique.takeoff.gear_up_delay", ""),
    "gear_up_least_cas": ("m/s", "technique.takeoff.gear_up_least_cas", ""),
    "flap_up_cas": ("m/s", "technique.takeoff.flap_up_cas", ""),
    "power_reduction_cas": ("m/s", "technique.takeoff.power_reduction_cas", ""),
    "climb_cas": ("m/s", "technique.takeoff.climb_cas", ""),
    "line_speed_marker": ("m", "technique.takeoff.line_speed_marker", ""),
    "line_speed_least_tolerance": ("m/s", "technique.takeoff.line_speed_least_tolerance", ""),
    "line_speed_most_tolerance": ("m/s", "technique.takeoff.line_speed_most_tolerance", ""),
    "engine_out_reaction": ("s", "technique.takeoff.engine_out_reaction", ""),
    "abort_recognition": ("s", "technique.takeoff.rejected.recognition", ""),
    "abort_brakes_on": ("s", "technique.takeoff.rejected.brakes_on", ""),
    "on_speed_angle_of_attack": ("rad", "technique.landing.on_speed_angle_of_attack", ""),
    "glide_angle": ("rad", "technique.landing.glide_angle", ""),
    "threshold_height": ("m", "technique.landing.threshold_height", ""),
    "touchdown_speed_share": ("", "technique.landing.touchdown_speed_share", ""),
    "aerobrake_angle_of_attack": ("rad", "technique.landing.aerobrake_angle_of_attack", ""),
    "aerobrake_until_cas": ("m/s", "technique.landing.aerobrake_until_cas", ""),
    "chute_delay": ("s", "technique.landing.chute_delay", ""),
    "free_roll_time": ("s", "technique.landing.free_roll_time", ""),
    "static_ground_attitude": ("rad", "airframe.static_ground_attitude", ""),
    "light_delay": ("s", "engine.transients.light_delay", ""),
    "light_to_full": ("s", "engine.transients.light_to_full", ""),
    "idle_to_military": ("s", "engine.transients.idle_to_military", ""),
}
"""By name without ``technique_``: what the book says of how this aircraft is flown."""

_READINGS: dict[str, str] = {"rpm": "", "exhaust_temperature": "K", "fuel_flow": "kg/s", "nozzle": ""}
"""What engines should read at a power setting, by the outside temperature of each moment: SI unit."""

_TOLERANCES: dict[str, str] = {"rpm": "", "exhaust_temperature": "delta_degC", "fuel_flow": ""}
"""How far a reading may be off: SI unit; that of fuel flow is a share of the flow."""

_NAMED = {f"limit_{name}": entry for name, entry in _LIMITS.items()} | {
    f"technique_{name}": entry for name, entry in _TECHNIQUE.items()
}


def pack_numbers(pack: Pack) -> dict[str, PackNumber]:
    """Return every number that this pack gives, by the name that rules use."""
    found: dict[str, PackNumber] = {}
    for name, (unit, key, over) in _NAMED.items():
        value = _value(pack, key)
        if isinstance(value, float):
            found[name] = PackNumber(name, unit, key, value)
        elif isinstance(value, Table):
            found[name] = PackNumber(name, unit, key, value, over)
    for one in (*_each_configuration(pack), *_energy_zones(pack), *_run_up_readings(pack)):
        found[one.name] = one
    return found


def keys_of_numbers() -> Mapping[str, str]:
    """Return for each name that a pack could give the key under which it would."""
    return {name: key for name, (_, key, _) in _NAMED.items()}


def _each_configuration(pack: Pack) -> Iterator[PackNumber]:
    for name, (unit, key) in _SEVERAL.items():
        for configuration, value in cast("Mapping[str, Any]", _at(pack, key)).items():
            number = _plain(value)
            assert isinstance(number, float)
            yield PackNumber(f"limit_{name}_{configuration}", unit, f"{key}.{configuration}", number)


def _energy_zones(pack: Pack) -> Iterator[PackNumber]:
    """Yield where the caution and the danger zone of the brakes begin."""
    seen: set[str] = set()
    for index, zone in enumerate(pack.wheels.energy_zones):
        word = {"caution": "caution", "no-go": "danger"}.get(zone.severity or "")
        if word and word not in seen:
            seen.add(word)
            key = f"wheels.energy_zones[{index}].above"
            yield PackNumber(f"limit_brake_energy_{word}", "J", key, float(zone.above))


def _run_up_readings(pack: Pack) -> Iterator[PackNumber]:
    """Yield what the engines should read at each setting, and how far they may be off."""
    for index, readings in enumerate(pack.engine.run_up):
        key = f"engine.run_up[{index}]"
        for name, unit in _READINGS.items():
            table: Table | None = getattr(readings, name)
            if table is not None:
                full = f"reading_{readings.setting}_{name}"
                yield PackNumber(full, unit, f"{key}.{name}", table, TEMPERATURE_AXIS)
        for name, unit in _TOLERANCES.items():
            if getattr(readings, name) is not None:
                tolerance = float(getattr(readings, f"{name}_tolerance"))
                full = f"tolerance_{readings.setting}_{name}"
                yield PackNumber(full, unit, f"{key}.{name}_tolerance", tolerance)
        if readings.oil_pressure is not None:
            for word, pressure in zip(("least", "most"), readings.oil_pressure, strict=True):
                full = f"reading_{readings.setting}_oil_pressure_{word}"
                yield PackNumber(full, "Pa", f"{key}.oil_pressure", float(pressure))


def _value(pack: Pack, key: str) -> float | Table | None:
    return _plain(_at(pack, key))


def _at(pack: Pack, key: str) -> Any:
    found: Any = pack
    for part in key.split("."):
        found = getattr(found, part, None)
    return found


def _plain(found: Any) -> float | Table | None:
    if isinstance(found, Limit | SpeedLimit | MomentLimit):
        return float(found.value)
    inner = getattr(found, "value", found)  # a crosswind limit holds its table
    if inner is None or isinstance(inner, Table):
        return inner
    return float(inner)
