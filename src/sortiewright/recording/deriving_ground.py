"""Weight on wheels and height above ground where no switch and no radio altimeter was recorded."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.deriving_road import Road
from sortiewright.recording.recording import Floats, Recording

_TAXI = 25.0  # m/s, below which no jet flies
_CLIMBING = 1.2  # m/s, above which the path is no runway: 1.5 percent of slope at 80 m/s
_CLEAR = 0.5  # m above what the height reads on the wheels


def _slow(recording: Recording) -> NDArray[np.bool_]:
    return recording.number("ground_speed") < _TAXI


def _from_height(recording: Recording) -> Floats:
    """Return 1 where the height is what it is at taxi speed, with half a metre for the struts."""
    height = recording.number("height_above_ground")
    at_taxi = height[_slow(recording) & np.isfinite(height)]
    if not len(at_taxi):
        return np.full(recording.rows, np.nan)
    on = height < float(np.median(at_taxi)) + _CLEAR
    return np.where(np.isnan(height), np.nan, on.astype(np.float64))


def _from_climb(recording: Recording) -> Floats:
    """Return 1 at taxi speed, and before and after it as long as the path stays level.

    The way from the runway into the climb takes about a second to show, so it is that much in doubt.
    """
    slow = _slow(recording)
    level = np.abs(recording.number("vertical_speed")) < _CLIMBING
    on = slow & level
    # Each stretch of level path that somewhere is at taxi speed is on the ground all of it.
    stretch = np.cumsum(np.diff(level.astype(np.int8), prepend=0) == 1) * level
    grounded = np.zeros(int(stretch.max(initial=0)) + 1, bool)
    grounded[stretch[on]] = True
    grounded[0] = False
    return (grounded[stretch] | slow).astype(np.float64)


def _height_over_field(recording: Recording) -> Floats:
    """Return altitude less that on the wheels, between takeoff and landing drawn from one to the other."""
    altitude = recording.number("altitude")
    on = (recording.number("weight_on_wheels_left") == 1.0) & np.isfinite(altitude)
    if not on.any():
        return np.full(recording.rows, np.nan)
    field = np.interp(recording.time, recording.time[on], altitude[on])
    return altitude - field


def _wheels(leg: str, compute: str) -> Road:
    channel = f"weight_on_wheels_{leg}"
    other = "weight_on_wheels_right" if leg == "left" else "weight_on_wheels_left"
    if compute == "other":
        return Road(channel, (other,), f"{other}, the only one recorded", lambda one: one.number(other))
    if compute == "height":
        needs, basis = (
            ("height_above_ground", "ground_speed"),
            "height above ground, near what it is at taxi speed",
        )
        return Road(channel, needs, basis, _from_height)
    needs, basis = ("vertical_speed", "ground_speed"), "ground speed and a level path; good to about a second"
    return Road(channel, needs, basis, _from_climb)


GROUND_ROADS: tuple[Road, ...] = (
    *(_wheels(leg, how) for how in ("other", "height", "climb") for leg in ("left", "right")),
    Road(
        "height_above_ground",
        ("altitude", "weight_on_wheels_left"),
        "altitude above the runways flown from and to, not the ground between",
        _height_over_field,
    ),
)
