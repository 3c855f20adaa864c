"""What rules may speak of that no channel says: worked out from channels, events and the runway."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions import TRUTH, NumberType, Type
from sortiewright.recording.place import metres_per_degree
from sortiewright.recording.time_functions import (
    HALF_SPAN,
    SLOPE,
    UNBROKEN_SINCE,
    Floats,
    number_at,
    slope_rows,
)

if TYPE_CHECKING:
    from sortiewright.recording.rule_columns import FlightValues

STANDARD_GRAVITY = 9.80665  # m/s2, exact by definition (ISO 2533)
ROLLING = math.radians(20.0)  # rad/s; faster, a pull-up is a rolling one: common practice, no source
FAST_RUN = 20.0  # m/s; slower, it may still be turning onto the line
MOVING = 5.0  # m/s; slower, the track over ground is noise

_LEGS = ("weight_on_wheels_nose", "weight_on_wheels_left", "weight_on_wheels_right")
RUNWAY = "the runway"
WHOLE = math.inf
HAPPENED = "event "
"""Before the name of an event that must have come."""
_WHEELS = "weight on wheels"
_AIRSPEED = "an airspeed"
NOT_RECORDED = {
    RUNWAY: "no runway was given",
    _WHEELS: "the recording has no weight on wheels",
    _AIRSPEED: "the recording has no airspeed",
}
"""Why a value is missing whose need is no single name."""


@dataclass(frozen=True, slots=True)
class Derived:
    """A derived value: its type, what it is, what it needs, and how it is made (None where it cannot be)."""

    type: Type
    title: str
    needs: tuple[str, ...]
    make: Callable[[FlightValues], Any]
    reach: float = 0.0
    """s on either side of a row that its value depends on; ``WHOLE``: on all of the flight before it."""


def _airspeed(values: FlightValues) -> Floats | None:
    calibrated, indicated = values.number("calibrated_airspeed"), values.number("indicated_airspeed")
    if calibrated is None or indicated is None:
        return indicated if calibrated is None else calibrated
    return np.where(np.isnan(calibrated), indicated, calibrated)


def _on_wheels(values: FlightValues, legs: tuple[str, ...]) -> Floats | None:
    """Return 1 where any of the legs carries weight, 0 where those that are known carry none."""
    found = [column for leg in legs if (column := values.number(leg)) is not None]
    if not found:
        return None
    return np.fmax.reduce(found)


def _on_ground(values: FlightValues) -> Floats | None:
    return _on_wheels(values, _LEGS)


def _airborne(values: FlightValues) -> Floats | None:
    carried = _on_wheels(values, _LEGS)
    return None if carried is None else 1.0 - carried


def _rolling(values: FlightValues) -> Floats | None:
    rate = values.number("roll_rate")
    return (
        None
        if rate is None
        else np.where(np.isnan(rate), np.nan, (np.abs(rate) > ROLLING).astype(np.float64))
    )


def _turn_rate(values: FlightValues) -> Floats | None:
    """Return the rate of the heading, or of the track where there is none, right positive, rad/s."""
    heading = values.number("true_heading_deg")
    heading = values.number("track_deg") if heading is None else heading
    if heading is None:
        return None
    time: Floats = values["time"]
    before, after = slope_rows(values[SLOPE])
    span = time[after] - time[before]
    turned = _wrapped(np.radians(heading[after] - heading[before]))
    return turned / np.where(span > 0, span, np.nan)


def _drift_angle(values: FlightValues) -> Floats | None:
    track, heading = values.number("track_deg"), values.number("true_heading_deg")
    speed = values.number("ground_speed")
    if track is None or heading is None or speed is None:
        return None
    return np.where(speed > MOVING, _wrapped(np.radians(track - heading)), np.nan)


def _flight_path_angle(values: FlightValues) -> Floats | None:
    climb, speed = values.number("vertical_speed"), values.number("ground_speed")
    if climb is None or speed is None:
        return None
    return np.where(speed > MOVING, np.arctan2(climb, speed), np.nan)


def _wind(values: FlightValues, part: Callable[[Floats], Floats]) -> Floats | None:
    speed, source = values.number("wind_speed"), values.number("wind_from_deg")
    heading = values.number("true_heading_deg")
    if speed is None or source is None or heading is None:
        return None
    return speed * part(np.radians(source - heading))


def _headwind(values: FlightValues) -> Floats | None:
    return _wind(values, np.cos)


def _crosswind(values: FlightValues) -> Floats | None:
    return _wind(values, np.sin)


def _energy_height(values: FlightValues) -> Floats | None:
    altitude, speed = values.number("altitude"), values.number("true_airspeed")
    if altitude is None or speed is None:
        return None
    return altitude + speed**2 / (2 * STANDARD_GRAVITY)


def _kinetic_energy(values: FlightValues) -> Floats | None:
    mass, speed = values.number("gross_mass"), values.number("ground_speed")
    return None if mass is None or speed is None else 0.5 * mass * speed**2


def _height_lost(values: FlightValues) -> Floats | None:
    """Return how far below the highest point since the latest lift-off, m; unknown before."""
    altitude = values.number("altitude")
    if altitude is None:
        return None
    lost = np.full(values.rows, np.nan)
    time: Floats = values["time"]
    starts = np.searchsorted(time, values.events("lift_off"))
    for start, end in zip(starts, (*starts[1:], values.rows), strict=True):
        since = altitude[start:end]
        lost[start:end] = np.fmax.accumulate(since) - since
    return lost


def _distance_from_brake_release(values: FlightValues) -> Floats | None:
    """Return the way over ground since the latest brake release, m; unknown before.

    Ground speed by the trapezoid rule between the samples that have one; over a break, the distance between
    the positions on its sides, where they are known.
    """
    speed = values.number("ground_speed")
    released = values.events("brake_release")
    if speed is None or not len(released):
        return None
    time: Floats = values["time"]
    known = np.flatnonzero(~np.isnan(speed))
    steps = np.diff(time[known]) * (speed[known][1:] + speed[known][:-1]) / 2
    _bridge_breaks(values, known, steps)
    way = np.full(values.rows, np.nan)
    way[known] = np.concatenate(([0.0], np.cumsum(steps))) if len(known) else []
    distance = np.full(values.rows, np.nan)
    starts = np.searchsorted(time, released)
    for moment, start, end in zip(released, starts, (*starts[1:], values.rows), strict=True):
        distance[start:end] = way[start:end] - number_at(way, time, values[UNBROKEN_SINCE], float(moment))
    return distance


def _bridge_breaks(values: FlightValues, known: NDArray[np.intp], steps: Floats) -> None:
    """Put the distance between positions in place of the steps over breaks."""
    places: list[int] = np.searchsorted(known, values.breaks()).tolist()
    for after in places:
        if 0 < after < len(known):
            steps[after - 1] = _between(values, int(known[after - 1]), int(known[after]))


def _between(values: FlightValues, start: int, end: int) -> float:
    latitude, longitude = values.number("latitude_deg"), values.number("longitude_deg")
    if latitude is None or longitude is None:
        return math.nan
    north_metres, east_metres = metres_per_degree(0.5 * (latitude[start] + latitude[end]))
    east = (longitude[end] - longitude[start] + 180.0) % 360.0 - 180.0
    return math.hypot((latitude[end] - latitude[start]) * float(north_metres), east * float(east_metres))


def _heading_off_run(values: FlightValues) -> Floats | None:
    """Return the heading less that of the latest takeoff run, right positive, rad; unknown before the run.

    That of the run is the middle one while the wheels carry and the aircraft is faster than ``FAST_RUN``.
    """
    heading, speed = values.number("true_heading_deg"), values.number("ground_speed")
    released, carried = values.events("brake_release"), _on_ground(values)
    if heading is None or speed is None or carried is None or not len(released):
        return None
    time: Floats = values["time"]
    off = np.full(values.rows, np.nan)
    starts = np.searchsorted(time, released)
    for start, end in zip(starts, (*starts[1:], values.rows), strict=True):
        first = max(int(start) - 1, 0)
        fast = (speed[first:end] > FAST_RUN) & (carried[first:end] > 0) & ~np.isnan(heading[first:end])
        rows = np.flatnonzero(fast)
        if not len(rows):
            continue
        # Until the wheels first leave or it is slow again: a later landing is another run.
        gone = np.flatnonzero(np.diff(rows) > 1)
        rows = rows[: gone[0] + 1] if len(gone) else rows
        turned = _wrapped(np.radians(heading[first:end] - heading[first + rows[0]]))
        off[first:end] = _wrapped(turned - np.median(turned[rows]))
    return off


def _runway_position(values: FlightValues) -> Floats | None:
    return None if values.runway is None else values.cut(values.runway.distance)


def _side_offset(values: FlightValues) -> Floats | None:
    return None if values.runway is None else values.cut(values.runway.offset)


def _runway_remaining(values: FlightValues) -> Floats | None:
    length: float | None = values["planned_runway_length"]
    if values.runway is None or length is None:
        return None
    return length - values.cut(values.runway.distance)


def _wrapped(angle: Any) -> Any:
    """Return an angle as the same one from -pi to pi."""
    return (angle + math.pi) % (2 * math.pi) - math.pi


_SPEED, _LENGTH, _ANGLE = NumberType("m/s"), NumberType("m"), NumberType("rad")
_WIND_NEEDS = ("wind_speed", "wind_from_deg", "true_heading_deg")

DERIVED: dict[str, Derived] = {
    "airspeed": Derived(
        _SPEED, "Calibrated airspeed; indicated where there is none", (_AIRSPEED,), _airspeed
    ),
    "on_ground": Derived(TRUTH, "Weight on any wheel", (_WHEELS,), _on_ground),
    "airborne": Derived(TRUTH, "No weight on any wheel", (_WHEELS,), _airborne),
    "rolling": Derived(TRUTH, "Roll rate above 20 deg/s either way", ("roll_rate",), _rolling),
    "turn_rate": Derived(
        NumberType("rad/s"),
        "Rate of the heading, right positive",
        ("true_heading_deg",),
        _turn_rate,
        HALF_SPAN,
    ),
    "drift_angle": Derived(
        _ANGLE,
        "Track less heading, right positive, above 5 m/s",
        ("track_deg", "true_heading_deg", "ground_speed"),
        _drift_angle,
    ),
    "flight_path_angle": Derived(
        _ANGLE, "Climb angle over ground, above 5 m/s", ("vertical_speed", "ground_speed"), _flight_path_angle
    ),
    "headwind": Derived(_SPEED, "Wind along the heading, from ahead positive", _WIND_NEEDS, _headwind),
    "crosswind": Derived(_SPEED, "Wind across the heading, from the right positive", _WIND_NEEDS, _crosswind),
    "energy_height": Derived(
        _LENGTH,
        "Altitude and the height that the speed is worth",
        ("altitude", "true_airspeed"),
        _energy_height,
    ),
    "kinetic_energy": Derived(
        NumberType("J"), "Of the motion over ground", ("gross_mass", "ground_speed"), _kinetic_energy
    ),
    "height_lost": Derived(
        _LENGTH,
        "Below the highest point since the latest lift-off",
        ("altitude", HAPPENED + "lift_off"),
        _height_lost,
        WHOLE,
    ),
    "distance_from_brake_release": Derived(
        _LENGTH,
        "Way over ground since the latest brake release",
        ("ground_speed", HAPPENED + "brake_release"),
        _distance_from_brake_release,
        WHOLE,
    ),
    "heading_off_run": Derived(
        _ANGLE,
        "Heading less that of the latest takeoff run, right positive",
        ("true_heading_deg", "ground_speed", _WHEELS, HAPPENED + "brake_release"),
        _heading_off_run,
        WHOLE,
    ),
    "runway_position": Derived(_LENGTH, "Along the runway, from its start", (RUNWAY,), _runway_position),
    "side_offset": Derived(_LENGTH, "Right of the centre line positive", (RUNWAY,), _side_offset),
    "runway_remaining": Derived(
        _LENGTH,
        "To the end of the plan's runway",
        (RUNWAY, "planned_runway_length"),
        _runway_remaining,
    ),
}
"""By name; numbers are SI."""
