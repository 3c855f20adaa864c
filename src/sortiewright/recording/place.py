"""Where the aircraft is along a runway, and how far it has come: metres from latitudes and longitudes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from sortiewright.air import WGS84
from sortiewright.recording.recording import Floats, Recording

_DEGREE = np.pi / 180.0
_ECCENTRICITY_SQUARED = WGS84.flattening * (2.0 - WGS84.flattening)


@dataclass(frozen=True, slots=True)
class RunwayFrame:
    """A runway's beginning and the true direction in which it is used, degrees."""

    latitude_deg: float
    longitude_deg: float
    true_heading_deg: float


@dataclass(frozen=True, slots=True)
class AlongRunway:
    """Of each sample: m from the runway's beginning along it, and m to the right of its centre line."""

    distance: Floats
    offset: Floats


def metres_per_degree(latitude_deg: ArrayLike) -> tuple[Floats, Floats]:
    """Return the length of a degree of latitude and of longitude on the WGS 84 ellipsoid at sea level, m.

    From the radii of curvature of meridian and prime vertical (NIMA TR8350.2, section 4).
    """
    latitude = np.asarray(latitude_deg, dtype=np.float64) * _DEGREE
    root = np.sqrt(1.0 - _ECCENTRICITY_SQUARED * np.sin(latitude) ** 2)
    prime_vertical = WGS84.equatorial_radius / root
    meridian = prime_vertical * (1.0 - _ECCENTRICITY_SQUARED) / root**2
    return meridian * _DEGREE, prime_vertical * np.cos(latitude) * _DEGREE


def along_runway(recording: Recording, frame: RunwayFrame) -> AlongRunway:
    """Return where each sample is in a runway's frame. NaN without positions.

    Within 0.1 m out to 10 km of the runway's beginning; farther off only good for a picture.
    """
    latitude, longitude = recording.number("latitude_deg"), recording.number("longitude_deg")
    # Half way between both points the degree has its mean length to the second order.
    north_metres, east_metres = metres_per_degree(0.5 * (latitude + frame.latitude_deg))
    north = (latitude - frame.latitude_deg) * north_metres
    east = ((longitude - frame.longitude_deg + 180.0) % 360.0 - 180.0) * east_metres
    heading = frame.true_heading_deg * _DEGREE
    along = north * np.cos(heading) + east * np.sin(heading)
    return AlongRunway(along, east * np.cos(heading) - north * np.sin(heading))


def distance_flown(recording: Recording) -> Floats:
    """Return the distance over ground since the first sample, m: from positions, else from ground speed.

    Nothing is added across a break. NaN throughout where neither is recorded.
    """
    if recording.has("latitude_deg") and recording.has("longitude_deg"):
        latitude, longitude = recording.number("latitude_deg"), recording.number("longitude_deg")
        north_metres, east_metres = metres_per_degree(0.5 * (latitude[1:] + latitude[:-1]))
        east = (np.diff(longitude) + 180.0) % 360.0 - 180.0
        steps = np.hypot(np.diff(latitude) * north_metres, east * east_metres)
    elif recording.has("ground_speed"):
        speed = recording.number("ground_speed")
        steps = 0.5 * (speed[1:] + speed[:-1]) * np.diff(recording.time)
    else:
        return np.full(recording.rows, np.nan)
    steps[recording.breaks - 1] = 0.0
    return np.concatenate([[0.0], np.cumsum(np.where(np.isfinite(steps), steps, 0.0))])
