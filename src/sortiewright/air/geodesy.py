"""Distance, course and destination on the earth. Degrees for latitude, longitude and course; metres.

Geodesics follow C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), 43-55,
doi 10.1007/s00190-012-0578-z, through the library geographiclib.
"""

from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .atmosphere import FloatArray

MEAN_EARTH_RADIUS = 6_371_008.8  # m, mean of the WGS 84 semi-axes (2a + b)/3 (IUGG)


@dataclass(frozen=True, slots=True)
class Ellipsoid:
    """A reference ellipsoid: equatorial radius in m and flattening."""

    name: str
    equatorial_radius: float
    flattening: float


WGS84 = Ellipsoid("WGS 84", 6_378_137.0, 1.0 / 298.257223563)
GRS80 = Ellipsoid("GRS 80", 6_378_137.0, 1.0 / 298.257222101)
BESSEL = Ellipsoid("Bessel 1841", 6_377_397.155, 1.0 / 299.1528128)


@dataclass(frozen=True, slots=True)
class Geodesic:
    """The shortest way between two points: m, and true courses at its start and at its end."""

    distance: FloatArray
    initial_course_deg: FloatArray
    final_course_deg: FloatArray


@dataclass(frozen=True, slots=True)
class Destination:
    """Where a geodesic ends, longitude from -180 to 180, and the true course there."""

    latitude_deg: FloatArray
    longitude_deg: FloatArray
    final_course_deg: FloatArray


def geodesic(
    latitude_1_deg: ArrayLike,
    longitude_1_deg: ArrayLike,
    latitude_2_deg: ArrayLike,
    longitude_2_deg: ArrayLike,
    ellipsoid: Ellipsoid = WGS84,
) -> Geodesic:
    """Return distance and courses from the first point to the second; arguments broadcast.

    Accurate to 15 nanometres. Raises ValueError for a latitude beyond the poles or a value not finite.
    """
    start, end = _checked_latitude(latitude_1_deg), _checked_latitude(latitude_2_deg)
    inverse = _solver(ellipsoid).Inverse

    def solve(lat_1: float, lon_1: float, lat_2: float, lon_2: float) -> tuple[float, float, float]:
        line: dict[str, float] = inverse(lat_1, lon_1, lat_2, lon_2)
        return line["s12"], line["azi1"] % 360.0, line["azi2"] % 360.0

    return Geodesic(*_each(solve, start, _finite(longitude_1_deg), end, _finite(longitude_2_deg)))


def destination(
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    course_deg: ArrayLike,
    distance: ArrayLike,
    ellipsoid: Ellipsoid = WGS84,
) -> Destination:
    """Return the point ``distance`` m along the geodesic that starts on a true course; arguments broadcast.

    A negative distance goes the other way. Raises ValueError as ``geodesic``.
    """
    direct = _solver(ellipsoid).Direct

    def solve(lat: float, lon: float, course: float, length: float) -> tuple[float, float, float]:
        line: dict[str, float] = direct(lat, lon, course, length)
        return line["lat2"], line["lon2"], line["azi2"] % 360.0

    start = _checked_latitude(latitude_deg)
    return Destination(*_each(solve, start, _finite(longitude_deg), _finite(course_deg), _finite(distance)))


def great_circle_distance(
    latitude_1_deg: ArrayLike,
    longitude_1_deg: ArrayLike,
    latitude_2_deg: ArrayLike,
    longitude_2_deg: ArrayLike,
) -> FloatArray:
    """Return the distance in m on a sphere of the mean radius; arguments broadcast, whole arrays at once.

    Up to 0.6 % off the ellipsoid's distance: for pictures and for long columns, not for a fuel plan.
    """
    lat_1, lat_2 = (
        np.radians(_checked_latitude(latitude_1_deg)),
        np.radians(_checked_latitude(latitude_2_deg)),
    )
    half_lon = np.radians(_finite(longitude_2_deg) - _finite(longitude_1_deg)) / 2.0
    haversine = np.sin((lat_2 - lat_1) / 2.0) ** 2 + np.cos(lat_1) * np.cos(lat_2) * np.sin(half_lon) ** 2
    return 2.0 * MEAN_EARTH_RADIUS * np.arcsin(np.sqrt(np.minimum(haversine, 1.0)))


@lru_cache(maxsize=8)
def _solver(ellipsoid: Ellipsoid) -> Any:
    # Only routes need it, so it is imported on first use; it ships without type hints.
    library = import_module("geographiclib.geodesic")
    return library.Geodesic(ellipsoid.equatorial_radius, ellipsoid.flattening)


def _each(solve: Any, *arguments: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    # The library solves one line at a time.
    spread = np.broadcast_arrays(*arguments)
    found = np.array([solve(*map(float, one)) for one in zip(*(a.flat for a in spread), strict=True)])
    columns = found.reshape(-1, 3).T.reshape(3, *spread[0].shape)
    return columns[0][()], columns[1][()], columns[2][()]


def _finite(values: ArrayLike) -> FloatArray:
    checked = np.asarray(values, dtype=np.float64)
    if not np.isfinite(checked).all():
        raise ValueError(f"position, course or distance is not a finite number: {values}")
    return checked


def _checked_latitude(values: ArrayLike) -> FloatArray:
    latitude = _finite(values)
    if (np.abs(latitude) > 90.0).any():
        worst = latitude.flat[np.abs(latitude).argmax()]
        raise ValueError(f"latitude {worst:g} deg is outside -90 to 90 (latitude first, then longitude)")
    return latitude
