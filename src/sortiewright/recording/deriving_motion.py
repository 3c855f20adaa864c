"""Speed and track from positions, vertical speed from altitude, rates from attitude, load factor."""

from __future__ import annotations

import numpy as np

from sortiewright.air import STANDARD_GRAVITY
from sortiewright.recording.deriving_road import Road, grain, rate_of_change
from sortiewright.recording.place import metres_per_degree
from sortiewright.recording.recording import Floats, Recording

_SPEED_NOISE = 0.5  # m/s that the grain of positions may make of a speed
_SLOWEST_TRACK = 1.0  # m/s, below which a track is the noise of the position
_FELT = 0.2  # s over which acceleration is taken
_LEAST_SPEED = 20.0  # m/s, below which angle of attack tells nothing


def _ground_velocity(recording: Recording) -> tuple[Floats, Floats]:
    """Return north and east speed, m/s, over as many samples as the grain of the position asks for."""
    latitude, longitude = recording.number("latitude_deg"), recording.number("longitude_deg")
    north_metres, east_metres = metres_per_degree(latitude)
    coarse = max(grain(latitude) * 111_000.0, grain(longitude) * 111_000.0)
    # A change smaller than the true motion of a sample is no grain, but the motion itself at taxi speed.
    over = float(np.clip(coarse / _SPEED_NOISE, 0.2, 2.0))
    north = rate_of_change(recording, latitude, over=over) * north_metres
    east = rate_of_change(recording, longitude, over=over, period=360.0) * east_metres
    return north, east


def _ground_speed(recording: Recording) -> Floats:
    return np.hypot(*_ground_velocity(recording))


def _track(recording: Recording) -> Floats:
    north, east = _ground_velocity(recording)
    track = np.degrees(np.arctan2(east, north)) % 360.0
    return np.where(np.hypot(north, east) >= _SLOWEST_TRACK, track, np.nan)


def _vertical_speed(name: str) -> Road:
    def compute(recording: Recording) -> Floats:
        values = recording.number(name)
        over = float(np.clip(grain(values) / 0.3, 0.3, 2.0))
        return rate_of_change(recording, values, over=over)

    return Road("vertical_speed", (name,), f"change of {name}", compute)


def _attitude_rates(recording: Recording) -> tuple[Floats, Floats, Floats]:
    """Return roll, pitch and yaw rate, rad/s, from the change of bank, pitch and heading.

    The usual kinematics of Euler angles: p = bank' - heading' sin pitch, and so on (ISO 1151-1's angles).
    """
    pitch, bank = recording.number("pitch"), recording.number("bank")
    heading = np.radians(recording.number("true_heading_deg"))
    pitch_dot = rate_of_change(recording, pitch, over=0.2)
    bank_dot = rate_of_change(recording, bank, over=0.2, period=2 * np.pi)
    heading_dot = rate_of_change(recording, heading, over=0.2, period=2 * np.pi)
    roll = bank_dot - heading_dot * np.sin(pitch)
    nose = pitch_dot * np.cos(bank) + heading_dot * np.cos(pitch) * np.sin(bank)
    yaw = heading_dot * np.cos(pitch) * np.cos(bank) - pitch_dot * np.sin(bank)
    return roll, nose, yaw


def _attitude_rate(channel: str, index: int) -> Road:
    def compute(recording: Recording) -> Floats:
        return _attitude_rates(recording)[index]

    return Road(channel, ("pitch", "bank", "true_heading_deg"), "change of pitch, bank and heading", compute)


def _load_factor_of_motion(recording: Recording) -> Floats:
    """Return the load factor along the aircraft's own vertical: how its motion over the earth changes.

    What an accelerometer feels is that acceleration and gravity; its part along the axis out of the canopy is
    counted. The axis follows from heading, pitch and bank (ISO 1151-1).
    """
    speed, track = recording.number("ground_speed"), np.radians(recording.number("track_deg"))
    track = np.where(np.isfinite(track), track, 0.0)
    north = rate_of_change(recording, speed * np.cos(track), over=_FELT)
    east = rate_of_change(recording, speed * np.sin(track), over=_FELT)
    up = rate_of_change(recording, recording.number("vertical_speed"), over=_FELT) + STANDARD_GRAVITY
    pitch, bank = recording.number("pitch"), recording.number("bank")
    heading = np.radians(recording.number("true_heading_deg"))
    lean, side = np.sin(pitch) * np.cos(bank), np.sin(bank)
    axis_north = -np.cos(heading) * lean - np.sin(heading) * side
    axis_east = -np.sin(heading) * lean + np.cos(heading) * side
    axis_up = np.cos(pitch) * np.cos(bank)
    return (north * axis_north + east * axis_east + up * axis_up) / STANDARD_GRAVITY


def _load_factor(recording: Recording) -> Floats:
    """Return the load factor along the aircraft's own vertical from how its path bends.

    n = (V (q - alpha') cos alpha - V' sin alpha) / g + cos pitch cos bank, for sideslip near nought.
    """
    speed = recording.number("true_airspeed")
    alpha = np.where(speed > _LEAST_SPEED, recording.number("angle_of_attack"), 0.0)
    bend = recording.number("pitch_rate") - rate_of_change(recording, alpha, over=0.2)
    gain = rate_of_change(recording, speed, over=0.5)
    specific = (speed * bend * np.cos(alpha) - gain * np.sin(alpha)) / STANDARD_GRAVITY
    upright = np.cos(recording.number("pitch")) * np.cos(recording.number("bank"))
    return np.where(speed > _LEAST_SPEED, specific, 0.0) + upright


def _load_factor_of_path(recording: Recording) -> Floats:
    """Return the load factor of the flight path: what bends it upwards and sideways, and gravity."""
    speed = recording.number("true_airspeed")
    climb = np.arcsin(np.clip(recording.number("vertical_speed") / np.maximum(speed, 1.0), -1.0, 1.0))
    climb_dot = rate_of_change(recording, climb, over=0.5)
    heading = np.radians(recording.number("true_heading_deg"))
    turn = rate_of_change(recording, heading, over=0.5, period=2 * np.pi)
    up = speed * climb_dot / STANDARD_GRAVITY + np.cos(climb)
    side = speed * np.cos(climb) * turn / STANDARD_GRAVITY
    return np.where(speed > _LEAST_SPEED, np.hypot(up, side) * np.where(up < 0.0, -1.0, 1.0), 1.0)


MOTION_ROADS: tuple[Road, ...] = (
    Road("ground_speed", ("latitude_deg", "longitude_deg"), "change of position", _ground_speed),
    Road("track_deg", ("latitude_deg", "longitude_deg"), "change of position", _track),
    _vertical_speed("altitude"),
    _vertical_speed("pressure_altitude"),
    _vertical_speed("height_above_ground"),
    _attitude_rate("roll_rate", 0),
    _attitude_rate("pitch_rate", 1),
    _attitude_rate("yaw_rate", 2),
    Road(
        "load_factor_normal",
        ("ground_speed", "track_deg", "vertical_speed", "pitch", "bank", "true_heading_deg"),
        "how ground speed, track and vertical speed change, and attitude; short peaks come out low",
        _load_factor_of_motion,
    ),
    Road(
        "load_factor_normal",
        ("true_airspeed", "angle_of_attack", "pitch_rate", "pitch", "bank"),
        "pitch rate, angle of attack, attitude and true airspeed",
        _load_factor,
    ),
    Road(
        "load_factor_normal",
        ("true_airspeed", "vertical_speed", "true_heading_deg"),
        "how the flight path bends; peaks come out low",
        _load_factor_of_path,
    ),
)
