"""From earth-centred places, velocities and attitudes, as DIS has them, to a pilot's: scalars, one at a time.

Axes after IEEE 1278.1: x through the equator at the prime meridian, y at 90 deg east, z through the north
pole; the body's x forward, y right, z down.
"""

from __future__ import annotations

import math
from typing import NamedTuple, TypeAlias

from sortiewright.air import WGS84

Vector: TypeAlias = tuple[float, float, float]

_A = WGS84.equatorial_radius
_F = WGS84.flattening
_B = _A * (1.0 - _F)
_E2 = _F * (2.0 - _F)
_SECOND_E2 = _E2 / (1.0 - _E2)


class Geodetic(NamedTuple):
    """A place: degrees, and m above the ellipsoid (not above mean sea level)."""

    latitude_deg: float
    longitude_deg: float
    height: float


class Attitude(NamedTuple):
    """True heading in degrees, 0 to 360; pitch and bank in rad."""

    true_heading_deg: float
    pitch: float
    bank: float


class LocalVelocity(NamedTuple):
    """m/s over the ground and upwards; the track in degrees, true."""

    ground_speed: float
    track_deg: float
    climb: float


def geodetic(place: Vector) -> Geodetic:
    """Return the place of earth-centred coordinates in m.

    Bowring's method (Survey Review 23, 1976, p. 323), iterated: exact to rounding from 100 km below the
    surface to far above it.
    """
    x, y, z = place
    from_axis = math.hypot(x, y)
    reduced = math.atan2(z, (1.0 - _F) * from_axis)
    latitude = reduced
    for _ in range(4):
        latitude = math.atan2(
            z + _SECOND_E2 * _B * math.sin(reduced) ** 3, from_axis - _E2 * _A * math.cos(reduced) ** 3
        )
        reduced = math.atan2((1.0 - _F) * math.sin(latitude), math.cos(latitude))
    sine = math.sin(latitude)
    height = from_axis * math.cos(latitude) + z * sine - _A * math.sqrt(1.0 - _E2 * sine * sine)
    return Geodetic(math.degrees(latitude), math.degrees(math.atan2(y, x)), height)


def attitude(euler: Vector, at: Geodetic) -> Attitude:
    """Return the attitude against the local horizon of DIS Euler angles psi, theta, phi in rad.

    They turn the earth's axes about z, then y, then x into the body's (IEEE 1278.1, entity orientation).
    Straight up or down the heading is that of the belly's or back's side, and bank takes up the rest.
    """
    forward, right, down_of_body = _body_axes(euler)
    north, east, down = _local_axes(at)
    pitch = math.asin(max(-1.0, min(1.0, -_dot(forward, down))))
    heading = math.degrees(math.atan2(_dot(forward, east), _dot(forward, north))) % 360.0
    bank = math.atan2(_dot(right, down), _dot(down_of_body, down))
    return Attitude(heading, pitch, bank)


def local_velocity(velocity: Vector, at: Geodetic) -> LocalVelocity:
    """Return an earth-centred velocity, m/s, as seen from the ground there."""
    north, east, down = (_dot(velocity, axis) for axis in _local_axes(at))
    return LocalVelocity(math.hypot(north, east), math.degrees(math.atan2(east, north)) % 360.0, -down)


def _local_axes(at: Geodetic) -> tuple[Vector, Vector, Vector]:
    """Return north, east and down in earth axes."""
    latitude, longitude = math.radians(at.latitude_deg), math.radians(at.longitude_deg)
    sin_lat, cos_lat = math.sin(latitude), math.cos(latitude)
    sin_lon, cos_lon = math.sin(longitude), math.cos(longitude)
    return (
        (-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat),
        (-sin_lon, cos_lon, 0.0),
        (-cos_lat * cos_lon, -cos_lat * sin_lon, -sin_lat),
    )


def _body_axes(euler: Vector) -> tuple[Vector, Vector, Vector]:
    """Return forward, right and down of the body in earth axes."""
    (sin_psi, cos_psi), (sin_th, cos_th), (sin_phi, cos_phi) = ((math.sin(a), math.cos(a)) for a in euler)
    return (
        (cos_psi * cos_th, sin_psi * cos_th, -sin_th),
        (
            cos_psi * sin_th * sin_phi - sin_psi * cos_phi,
            sin_psi * sin_th * sin_phi + cos_psi * cos_phi,
            cos_th * sin_phi,
        ),
        (
            cos_psi * sin_th * cos_phi + sin_psi * sin_phi,
            sin_psi * sin_th * cos_phi - cos_psi * sin_phi,
            cos_th * cos_phi,
        ),
    )


def _dot(one: Vector, other: Vector) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
