"""Airspeeds, Mach number, temperature and wind, each from the others."""

from __future__ import annotations

import numpy as np

from sortiewright.air import (
    HIGHEST_PRESSURE_ALTITUDE,
    LOWEST_PRESSURE_ALTITUDE,
    SEA_LEVEL_SPEED_OF_SOUND,
    SEA_LEVEL_TEMPERATURE,
    cas_from_mach,
    mach_from_cas,
    mach_from_tas,
    standard_pressure,
    standard_temperature,
    tas_from_mach,
)
from sortiewright.recording.deriving_road import Road
from sortiewright.recording.recording import Floats, Recording

_LEAST_MACH = 0.1
"""Below it the rounding of a Mach number is more than what the temperature does."""


def _level(recording: Recording) -> Floats:
    """Return the pressure altitude, or the altitude for want of it, within the standard atmosphere."""
    name = "pressure_altitude" if recording.has("pressure_altitude") else "altitude"
    return np.clip(recording.number(name), LOWEST_PRESSURE_ALTITUDE, HIGHEST_PRESSURE_ALTITUDE)


def _pressure(recording: Recording) -> Floats:
    return standard_pressure(_level(recording))


def _temperature(recording: Recording) -> Floats:
    if recording.has("outside_air_temperature"):
        return np.maximum(recording.number("outside_air_temperature"), 1.0)
    return standard_temperature(_level(recording))


def _mach_from_tas(recording: Recording) -> Floats:
    return mach_from_tas(recording.number("true_airspeed"), _temperature(recording))


def _mach_from_cas(recording: Recording) -> Floats:
    return mach_from_cas(recording.number("calibrated_airspeed"), _pressure(recording))


def _tas_from_mach(recording: Recording) -> Floats:
    return tas_from_mach(recording.number("mach_number"), _temperature(recording))


def _cas_from_mach(recording: Recording) -> Floats:
    return cas_from_mach(recording.number("mach_number"), _pressure(recording))


def _same(name: str) -> Road:
    return Road(
        "calibrated_airspeed",
        (name,),
        "indicated airspeed, its position error not known",
        lambda recording: recording.number(name),
    )


def _temperature_from_speeds(recording: Recording) -> Floats:
    mach = recording.number("mach_number")
    sound = np.divide(
        recording.number("true_airspeed"), mach, out=np.full(recording.rows, np.nan), where=mach > _LEAST_MACH
    )
    return SEA_LEVEL_TEMPERATURE * (sound / SEA_LEVEL_SPEED_OF_SOUND) ** 2


def _tas_from_ground(recording: Recording) -> Floats:
    """Return the speed through the air from that over the ground and the wind."""
    track, wind_from = (
        np.radians(recording.number("track_deg")),
        np.radians(recording.number("wind_from_deg")),
    )
    speed, wind = recording.number("ground_speed"), recording.number("wind_speed")
    north = speed * np.cos(track) + wind * np.cos(wind_from)
    east = speed * np.sin(track) + wind * np.sin(wind_from)
    up = recording.number("vertical_speed") if recording.has("vertical_speed") else 0.0
    return np.sqrt(north**2 + east**2 + np.square(up))


AIR_ROADS: tuple[Road, ...] = (
    Road(
        "true_airspeed",
        ("ground_speed", "track_deg", "wind_speed", "wind_from_deg"),
        "ground speed, track and wind",
        _tas_from_ground,
        unless=("mach_number", "calibrated_airspeed", "indicated_airspeed"),
    ),
    Road(
        "calibrated_airspeed",
        ("mach_number", "pressure_altitude"),
        "Mach number and pressure altitude",
        _cas_from_mach,
    ),
    Road(
        "calibrated_airspeed",
        ("mach_number", "altitude"),
        "Mach number and altitude, its pressure as on a standard day",
        _cas_from_mach,
    ),
    _same("indicated_airspeed"),
    Road(
        "mach_number",
        ("true_airspeed", "outside_air_temperature"),
        "true airspeed and temperature",
        _mach_from_tas,
    ),
    Road(
        "mach_number",
        ("calibrated_airspeed", "pressure_altitude"),
        "calibrated airspeed and pressure altitude",
        _mach_from_cas,
    ),
    Road(
        "mach_number",
        ("calibrated_airspeed", "altitude"),
        "calibrated airspeed and altitude, its pressure as on a standard day",
        _mach_from_cas,
    ),
    Road(
        "mach_number", ("true_airspeed", "altitude"), "true airspeed, on a standard day", _mach_from_tas
    ),
    Road(
        "true_airspeed",
        ("mach_number", "outside_air_temperature"),
        "Mach number and temperature",
        _tas_from_mach,
    ),
    Road(
        "true_airspeed",
        ("mach_number", "pressure_altitude"),
        "Mach number, its temperature as on a standard day",
        _tas_from_mach,
    ),
    Road(
        "true_airspeed",
        ("mach_number", "altitude"),
        "Mach number, its temperature as on a standard day",
        _tas_from_mach,
    ),
    Road(
        "outside_air_temperature",
        ("true_airspeed", "mach_number"),
        "true airspeed over Mach number",
        _temperature_from_speeds,
    ),
)  # fmt: skip
