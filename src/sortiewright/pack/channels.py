"""The canonical channels: what a recording or a live feed can say, by one name and in one unit each.

Values are SI, except that compass directions, latitudes and longitudes are in degrees and say so (``_deg``).
A ``usual`` range is where values of a jet on a training sortie lie, so that a column in another unit stands
out; it is no limit. Ranges and needs: common practice, no source.

Engine channels end in ``_left`` or ``_right``; those of an aircraft with one engine have the plain name.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeAlias

ChannelKind: TypeAlias = Literal["number", "truth", "choice"]
Need: TypeAlias = Literal["must", "should", "could"]
"""Whether a takeoff and landing can be debriefed without it."""

DEGREE = math.pi / 180.0  # rad


@dataclass(frozen=True, slots=True)
class Channel:
    """One quantity of a recording."""

    name: str
    title: str
    kind: ChannelKind
    need: Need
    unit: str = ""
    """Of a number: SI as ``KINDS`` spells it, or ``deg`` where the name says so."""
    usual: tuple[float, float] | None = None
    """Least and greatest usual value of a number."""
    words: tuple[str, ...] = ()
    """Of a choice."""
    one_of: str = ""
    """Channels of one such group stand in for each other: one of them is enough."""


def _number(
    name: str, title: str, unit: str, low: float, high: float, need: Need, one_of: str = ""
) -> Channel:
    return Channel(name, title, "number", need, unit, (low, high), (), one_of)


def _truth(name: str, title: str, need: Need) -> Channel:
    return Channel(name, title, "truth", need)


def _choice(name: str, title: str, words: tuple[str, ...], need: Need) -> Channel:
    return Channel(name, title, "choice", need, words=words)


_TIME = [
    _number("time", "Time since the recording began", "s", 0.0, 6 * 3600.0, "must"),
    _truth("simulation_paused", "Simulation paused", "should"),
    _number("time_acceleration", "Simulated over real time", "", 0.0, 16.0, "should"),
]

_PLACE = [
    _number("latitude_deg", "Latitude, north positive", "deg", -90.0, 90.0, "must"),
    _number("longitude_deg", "Longitude, east positive", "deg", -180.0, 180.0, "must"),
    _number("altitude", "Altitude above mean sea level", "m", -100.0, 18_000.0, "must"),
    _number("height_above_ground", "Height above ground", "m", -5.0, 18_000.0, "must"),
    _number("ground_speed", "Ground speed", "m/s", 0.0, 700.0, "must"),
    _number("track_deg", "Track over ground, true", "deg", 0.0, 360.0, "must"),
    _number("vertical_speed", "Vertical speed, climb positive", "m/s", -250.0, 250.0, "must"),
]

_AIR = [
    _number("calibrated_airspeed", "Calibrated airspeed", "m/s", 0.0, 420.0, "must", "airspeed"),
    _number("indicated_airspeed", "Indicated airspeed", "m/s", 0.0, 420.0, "must", "airspeed"),
    _number("true_airspeed", "True airspeed", "m/s", 0.0, 700.0, "should"),
    _number("mach_number", "Mach number", "", 0.0, 2.5, "should"),
    _number("pressure_altitude", "Pressure altitude", "m", -300.0, 18_000.0, "should"),
    _number("outside_air_temperature", "Outside air temperature, static", "K", 190.0, 330.0, "should"),
    _number("wind_speed", "Wind speed at the aircraft", "m/s", 0.0, 100.0, "should"),
    _number("wind_from_deg", "Direction the wind comes from, true", "deg", 0.0, 360.0, "should"),
]

_ATTITUDE = [
    _number("pitch", "Pitch attitude, nose up positive", "rad", -math.pi / 2, math.pi / 2, "must"),
    _number("bank", "Bank, right wing down positive", "rad", -math.pi, math.pi, "must"),
    _number("true_heading_deg", "Heading, true", "deg", 0.0, 360.0, "must"),
    _number("roll_rate", "Roll rate, right wing down positive", "rad/s", -5.0, 5.0, "should"),
    _number("pitch_rate", "Pitch rate, nose up positive", "rad/s", -1.5, 1.5, "should"),
    _number("yaw_rate", "Yaw rate, nose right positive", "rad/s", -1.0, 1.0, "should"),
    _number("load_factor_normal", "Load factor, upright and level 1", "", -4.0, 10.0, "must"),
    _number(
        "load_factor_longitudinal", "Longitudinal load factor, forward positive", "", -2.0, 2.0, "should"
    ),
    _number("load_factor_lateral", "Lateral load factor, right positive", "", -1.5, 1.5, "should"),
    _number("angle_of_attack", "Angle of attack", "rad", -20 * DEGREE, 50 * DEGREE, "must"),
    _number("sideslip", "Sideslip, wind from the right positive", "rad", -30 * DEGREE, 30 * DEGREE, "should"),
]

_WHEELS = [
    *(
        _truth(f"weight_on_wheels_{leg}", f"Weight on wheels, {said}", "must")
        for leg, said in (("nose", "nose"), ("left", "left main"), ("right", "right main"))
    ),
    *(
        _number(f"brake_{side}", f"Brake, {side}, share of full", "", 0.0, 1.0, "should")
        for side in ("left", "right")
    ),
    *(
        _number(f"wheel_speed_{side}", f"Rolling speed of the {side} main wheel", "m/s", 0.0, 150.0, "should")
        for side in ("left", "right")
    ),
    _truth("parking_brake_set", "Parking brake set", "could"),
    _truth("anti_skid_on", "Anti-skid on", "should"),
    _truth("nosewheel_steering_on", "Nosewheel steering engaged", "could"),
]

_MASS = [
    _number("gross_mass", "Gross weight, as mass", "kg", 1500.0, 50_000.0, "should"),
    _number("fuel_mass", "Fuel on board", "kg", 0.0, 20_000.0, "should"),
    _number("centre_of_gravity", "Centre of gravity, share of the mean chord", "", 0.0, 0.6, "should"),
]

_ENGINE_NUMBERS: tuple[tuple[str, str, str, float, float, Need], ...] = (
    ("throttle", "Throttle, share of travel to full power", "", 0.0, 1.0, "should"),
    ("engine_speed", "Engine speed, share of rated", "", 0.0, 1.2, "should"),
    ("fan_speed", "Fan speed, share of rated", "", 0.0, 1.2, "should"),
    ("exhaust_temperature", "Exhaust gas temperature", "K", 230.0, 1400.0, "should"),
    ("fuel_flow", "Fuel flow", "kg/s", 0.0, 12.0, "should"),
    ("nozzle_position", "Nozzle, 0 shut to 1 open", "", 0.0, 1.0, "should"),
    ("oil_pressure", "Oil pressure", "Pa", 0.0, 1.0e6, "should"),
    ("afterburner_stage", "Afterburner stage, 0 out", "", 0.0, 7.0, "should"),
)

_ENGINES = [
    channel
    for suffix, said in (("", "only"), ("_left", "left"), ("_right", "right"))
    for channel in (
        *(
            _number(f"{name}{suffix}", f"{title}, {said} engine", unit, low, high, need)
            for name, title, unit, low, high, need in _ENGINE_NUMBERS
        ),
        _truth(f"engine_running{suffix}", f"Running, {said} engine", "could"),
    )
]

_CONFIGURATION = [
    _number("flap_position", "Flaps, 0 up to 1 full down", "", 0.0, 1.0, "must"),
    _number("slat_position", "Leading edge, 0 up to 1 full down", "", 0.0, 1.0, "should"),
    _number("gear_position", "Landing gear, 0 up to 1 down and locked", "", 0.0, 1.0, "must"),
    _number("speedbrake_position", "Speedbrake, 0 in to 1 out", "", 0.0, 1.0, "must"),
    _number("hook_position", "Hook, 0 up to 1 down", "", 0.0, 1.0, "must"),
    _choice("drag_chute", "Drag chute", ("stowed", "deployed", "released"), "must"),
    _number("canopy_position", "Canopy, 0 closed to 1 open", "", 0.0, 1.0, "must"),
    _truth("canopy_locked", "Canopy locked", "could"),
]

_CONTROLS = [
    _number("stick_pitch", "Stick, -1 full forward to 1 full aft", "", -1.0, 1.0, "should"),
    _number("stick_roll", "Stick, -1 full left to 1 full right", "", -1.0, 1.0, "should"),
    _number("pedals", "Pedals, -1 full left to 1 full right", "", -1.0, 1.0, "should"),
    _number("pitch_trim", "Pitch trim, cockpit units, nose up positive", "", -30.0, 30.0, "should"),
    _number("tailplane_angle", "Tailplane, leading edge up positive", "rad", -0.6, 0.6, "should"),
    _number("aileron_angle", "Aileron, rolling right positive", "rad", -0.6, 0.6, "should"),
    _number("rudder_angle", "Rudder, yawing right positive", "rad", -0.6, 0.6, "should"),
]

_SYSTEMS = [
    _choice("master_arm", "Master arm", ("safe", "armed"), "could"),
    _truth("master_warning", "Master warning lit", "could"),
    _truth("master_caution", "Master caution lit", "could"),
    _truth("navigation_lights_on", "Navigation lights on", "could"),
    _truth("anti_collision_lights_on", "Anti-collision lights on", "could"),
    _truth("landing_light_on", "Landing or taxi light on", "could"),
    _number("localizer_deviation", "Localizer, dots, fly right positive", "", -2.5, 2.5, "could"),
    _number("glide_path_deviation", "Glide path, dots, fly up positive", "", -2.5, 2.5, "could"),
    _truth("mark_front", "Mark pressed, front seat", "should"),
    _truth("mark_rear", "Mark pressed, rear seat", "should"),
]

CHANNELS: Mapping[str, Channel] = MappingProxyType(
    {
        channel.name: channel
        for group in (
            _TIME,
            _PLACE,
            _AIR,
            _ATTITUDE,
            _WHEELS,
            _MASS,
            _ENGINES,
            _CONFIGURATION,
            _CONTROLS,
            _SYSTEMS,
        )
        for channel in group
    }
)
"""Every channel by its name."""
