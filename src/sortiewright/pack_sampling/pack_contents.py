"""A sampled aircraft as the files of a pack."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.english_units import INCH, POUND
from sortiewright.pack_sampling.first_sortie import FIRST_SORTIE, first_sortie_text
from sortiewright.pack_sampling.generic_files import procedure_files, rule_files
from sortiewright.pack_sampling.pack_tables import table_files
from sortiewright.pack_sampling.pack_text import Sourced, sourced, yaml_text
from sortiewright.pack_sampling.placeholders import (
    PLACEHOLDER,
    envelope,
    key_of,
    technique,
    wheels,
)
from sortiewright.pack_sampling.remarks import notes_text
from sortiewright.pack_sampling.sampling import SampledAircraft, SampledConfiguration, SampledPower

TITLES = {"clean": "Clean", "takeoff": "Takeoff flap", "landing": "Landing flap"}
POWER_TITLES = {"idle": "Idle", "military": "Military", "maximum": "Maximum"}
FULL_THROTTLE = "Full throttle"


def pack_files(aircraft: SampledAircraft, name: str | None = None) -> dict[str, str]:
    """Return the text of every file of the pack by its name inside the folder."""
    source = source_of(aircraft)
    files = {
        "pack.yaml": yaml_text(_pack(aircraft, name or key_of(aircraft.model))),
        "airframe.yaml": yaml_text(_airframe(aircraft, source)),
        "aero.yaml": yaml_text(_aero(aircraft, source)),
        "engine.yaml": yaml_text(_engine(aircraft, source)),
        "mass.yaml": yaml_text(_mass(aircraft, source)),
        "wheels.yaml": yaml_text(wheels(aircraft, source)),
        "technique.yaml": yaml_text(technique(aircraft)),
        "notes.md": notes_text(aircraft),
    }
    lists = procedure_files(aircraft) | rule_files(aircraft)
    return files | table_files(aircraft) | lists | {FIRST_SORTIE: first_sortie_text(aircraft)}


def source_of(aircraft: SampledAircraft) -> str:
    """Return the words that name where a sampled number came from."""
    return f"sampled from {aircraft.model} of JSBSim {aircraft.version}"


def _pack(aircraft: SampledAircraft, name: str) -> dict[str, object]:
    return {
        "name": name,
        "title": aircraft.model,
        "version": Sourced("1.0", source_of(aircraft)),
        "summary": f"The flight model {aircraft.model} of JSBSim {aircraft.version} as a pack. What the "
        "model does not say is a placeholder: see notes.md.",
        "rights": "The numbers are those of the flight model; its licence stands in the model's own file.",
    }


def _airframe(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    stance = aircraft.stance
    reference = stance.point(aircraft.reference_x, aircraft.reference_z)
    main, nose = (stance.balance_x * INCH + point.aft for point in (stance.main, stance.nose))
    leading = aircraft.reference_x * INCH - 0.25 * aircraft.mean_chord
    on_ground = f"{source}, standing on its wheels"
    strike = stance.tail_strike_deg
    return {
        "wing_area": sourced(aircraft.wing_area, "m2", 3, source),
        "span": sourced(aircraft.span, "m", 3, source),
        "mean_chord": sourced(aircraft.mean_chord, "m", 4, source),
        "mean_chord_leading_edge_arm": sourced(
            leading / INCH,
            "in",
            2,
            f"{PLACEHOLDER}: the aerodynamic reference point taken as the quarter chord",
        ),
        "wing_height": sourced(
            max(reference.height, 0.01), "m", 3, f"{on_ground}: aerodynamic reference point"
        ),
        "moment_reference_arm": sourced(
            stance.arm(aircraft.reference_x, aircraft.reference_z) / INCH, "in", 2, on_ground
        ),
        "moment_reference_height": sourced(reference.height, "m", 3, on_ground),
        "main_wheel_arm": sourced(main / INCH, "in", 2, on_ground),
        "nose_wheel_arm": sourced(nose / INCH, "in", 2, on_ground),
        "pitch_radius_of_gyration": sourced(stance.pitch_radius, "m", 2, f"{source}, loaded as it comes"),
        "centre_of_gravity_height": sourced(stance.balance_height, "m", 3, on_ground),
        "thrust_line_height": sourced(
            stance.point(stance.balance_x, aircraft.thrust_line_z).height,
            "m",
            3,
            f"{on_ground}: below or above the centre of gravity",
        ),
        "thrust_inclination": sourced(aircraft.thrust_inclination_deg, "deg", 2, source),
        "engine_side_arm": sourced(aircraft.engine_side_arm, "m", 3, source),
        "static_ground_attitude": sourced(stance.pitch_deg, "deg", 3, on_ground),
        "tail_strike_attitude": sourced(
            strike, "deg", 2, f"{source}: contact point {stance.tail_strike_contact} behind the main wheels"
        )
        if strike is not None
        else sourced(
            DEFAULT_STRIKE, "deg", 1, f"{PLACEHOLDER}: the model has no contact point behind its main wheels"
        ),
    }


DEFAULT_STRIKE = 15.0  # deg


def _aero(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    return {
        "configurations": {
            name: _configuration(name, one, source) for name, one in aircraft.configurations.items()
        },
        "gear": {
            "lift": sourced(aircraft.gear.lift, "", 5, source),
            "drag": sourced(aircraft.gear.drag, "", 5, source),
            "pitching_moment": sourced(aircraft.gear.moment, "", 5, source),
            "travel_time": sourced(aircraft.gear.travel_time, "s", 2, f"{source}, by moving it"),
        },
        "speedbrake": {
            "lift": sourced(aircraft.speedbrake.lift, "", 5, source),
            "drag": sourced(aircraft.speedbrake.drag, "", 5, source),
            "pitching_moment": sourced(aircraft.speedbrake.moment, "", 5, source),
            "travel_time": sourced(aircraft.speedbrake.travel_time, "s", 2, f"{source}, by moving it"),
        },
        "ground_effect": {"file": "tables/ground_effect.csv", "source": source},
        **(
            {"ground_effect_lift": {"file": "tables/ground_effect_lift.csv", "source": source}}
            if aircraft.effect.lift_matters
            else {}
        ),
        "pitch_control": _pitch_control(aircraft, source),
        **_directional(aircraft, source),
    }


def _configuration(name: str, one: SampledConfiguration, source: str) -> dict[str, object]:
    share = f", lever at {one.flap:g}" if one.flap else ""
    table = {"source": f"{source}, pitch control holding level"}
    return {
        "title": TITLES[name] + share,
        "lift": {"file": f"tables/{name}_lift.csv", **table},
        "drag": {"file": f"tables/{name}_drag.csv", **table},
        "maximum_lift": {
            "file": f"tables/{name}_maximum_lift.csv",
            "source": f"{source}: greatest of the lift table",
        },
        "pitching_moment_zero": sourced(one.moments.zero, "", 5, f"{source}, stick neutral"),
        "pitching_moment_slope": sourced(
            one.moments.slope, "1/rad", 5, f"{source}, stick neutral, ground attitude to 8 deg above"
        ),
    }


def _pitch_control(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    pitch = aircraft.pitch
    angle = pitch.full_aft_angle or math.radians(20.0)
    per_angle = pitch.full_aft_moment / angle
    how = (
        source
        if pitch.angle_is_measured
        else f"{source}: full travel written as 20 deg, as the model gives no angle"
    )
    unit = pitch.trim_unit_moment / per_angle if per_angle else 0.0
    has_trim = abs(unit) > 1e-6
    return {
        "moment_per_angle": sourced(
            per_angle,
            "1/rad",
            5,
            f"{source}: full aft stick, moment about the main wheels, the tail's lift with it",
        ),
        "full_aft_angle": sourced(math.degrees(angle), "deg", 2, how),
        "full_forward_angle": sourced(math.degrees(pitch.full_forward_angle), "deg", 2, how),
        "trim_unit_angle": sourced(math.degrees(unit), "deg", 3, f"{source}: a tenth of the trim command")
        if has_trim
        else sourced(1.0, "deg", 1, f"{PLACEHOLDER}: the model's trim command moves nothing"),
        "trim_units_range": ["-10", "10"],
        "trim_moves_full_travel": pitch.trim_moves_full_travel,
        "lift_per_moment": sourced(pitch.lift_per_moment, "", 4, f"{source}, on the wheels, full aft stick"),
    }


def _directional(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    sides = aircraft.sides
    if sides.yawing_moment < LEAST_CONTROL or sides.rolling_moment < LEAST_CONTROL:
        return {}
    slip = {"sideslip_drag": sourced(sides.sideslip_drag, "", 3, f"{source}, in a sideslip of 4 deg")}
    return {
        "directional_control": {
            "rudder_yawing_moment": sourced(sides.yawing_moment, "", 5, f"{source}, full rudder"),
            "roll_control_rolling_moment": sourced(
                sides.rolling_moment, "", 5, f"{source}, full roll control"
            ),
            **(slip if sides.sideslip_drag > 0.0 else {}),
        }
    }


LEAST_CONTROL = 1e-5


def _engine(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    times, stand = aircraft.transients, "by moving the lever, at a standstill"
    entries: dict[str, object] = {
        "count": str(len(aircraft.description.engines)),
        "settings": {
            name: _power(_power_title(aircraft, name), name, one, source)
            for name, one in aircraft.power.items()
        },
        "idle": "idle",
        "military": "military",
    }
    if "maximum" in aircraft.power:
        entries["maximum"] = "maximum"
    entries["transients"] = {
        key: sourced(value, "s", 2, f"{source}, {stand}")
        for key, value in (
            ("idle_to_military", times.idle_to_military),
            ("light_delay", times.light_delay),
            ("light_to_full", times.light_to_full),
            ("cancel_augmentation", times.cancel_augmentation),
            ("military_to_idle", times.military_to_idle),
            ("failure_decay", times.failure_decay),
        )
    }
    entries["windmilling_drag_area"] = sourced(
        aircraft.windmilling_drag_area, "m2", 4, f"{source}: thrust of a dead engine at Mach 0.3"
    )
    return entries


def _power_title(aircraft: SampledAircraft, name: str) -> str:
    burnerless = "maximum" not in aircraft.power
    return FULL_THROTTLE if name == "military" and burnerless else POWER_TITLES[name]


def _power(title: str, name: str, one: SampledPower, source: str) -> dict[str, object]:
    where = f"{source}, throttle command {one.grid.throttle:g}"
    return {
        "title": title,
        "augmented": one.augmented,
        "thrust": {"file": f"tables/{name}_thrust.csv", "unit": "lbf", "source": where},
        "fuel_flow": {"file": f"tables/{name}_fuel_flow.csv", "unit": "lb/h", "source": where},
        "thrust_temperature_factor": {
            "file": f"tables/{name}_thrust_temperature_factor.csv",
            "source": where,
        },
        "fuel_flow_temperature_factor": {
            "file": f"tables/{name}_fuel_flow_temperature_factor.csv",
            "source": where,
        },
    }


def _mass(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    load = aircraft.load
    full = load.empty_weight + sum(s.weight for s in load.seats) + sum(t.capacity for t in load.tanks)
    whole = OVER_FULL * full  # so that full tanks are inside, however the parts were rounded
    most = f"{PLACEHOLDER}: a little over empty, crew and full tanks; the model gives no limit"
    idle = aircraft.power["idle"].grid
    flow = float(idle.fuel_flow[0, _sea_level(idle.pressure_altitude)]) * len(aircraft.description.engines)
    seat_source = source if load.has_crew else f"{PLACEHOLDER}: the model's empty weight may hold its crew"
    return {
        "basic_mass": sourced(load.empty_weight, "lb", 1, source),
        "basic_arm": sourced(load.empty_x, "in", 2, source),
        "seats": {
            seat.name: {
                "title": seat.name.replace("_", " ").capitalize(),
                "arm": sourced(seat.x, "in", 1, source),
                "standard_mass": sourced(seat.weight, "lb", 1, seat_source),
            }
            for seat in load.seats
        },
        "tanks": {
            tank.name: {
                "capacity": sourced(tank.capacity, "lb", 1, source),
                "arm": sourced(tank.x, "in", 2, source),
                "side_arm": sourced(tank.y, "in", 2, source),
                "unusable": sourced(min(tank.unusable, 0.9 * tank.capacity), "lb", 1, source),
            }
            for tank in load.tanks
        },
        "fuel_density": sourced(load.fuel_density, "lb/gal", 2, source),
        "feed_order": [[tank.name for tank in load.tanks]] if load.tanks else [],
        "stations": {},
        "envelope": envelope(aircraft, whole),
        "maximum_ramp_mass": sourced(math.ceil(whole), "lb", 0, most),
        "maximum_takeoff_mass": sourced(math.ceil(whole), "lb", 0, most),
        "maximum_landing_mass": sourced(math.ceil(whole), "lb", 0, most),
        "taxi_fuel_flow": sourced(flow / POUND * 3600, "lb/h", 0, f"{source}: all engines at idle"),
    }


OVER_FULL = 1.002


def _sea_level(altitudes: NDArray[np.float64]) -> int:
    return int(np.argmin(np.abs(altitudes)))
