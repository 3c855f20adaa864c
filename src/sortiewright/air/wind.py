"""Wind over a runway and along a course. Directions are true degrees the wind blows from; speeds m/s."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .atmosphere import FloatArray


class NoWindSolution(ValueError):
    """No heading holds this course: the wind across it, or against it, reaches the true airspeed."""


@dataclass(frozen=True, slots=True)
class Wind:
    """A reported wind. ``direction_from_deg`` None means variable; calm is a speed of zero.

    ``gust`` is the highest speed, not the excess. The variable sector runs clockwise from
    ``variable_from_deg`` to ``variable_to_deg``. Raises ValueError for a direction outside 0 to 360, a
    negative speed, a gust below the speed, or half a sector.
    """

    direction_from_deg: float | None
    speed: float
    gust: float | None = None
    variable_from_deg: float | None = None
    variable_to_deg: float | None = None

    def __post_init__(self) -> None:
        for name in ("direction_from_deg", "variable_from_deg", "variable_to_deg"):
            degrees = getattr(self, name)
            if degrees is not None and not 0.0 <= degrees <= 360.0:
                raise ValueError(f"wind {name} {degrees:g} is outside 0 to 360")
        if not 0.0 <= self.speed < np.inf:
            raise ValueError(f"wind speed {self.speed:g} m/s must be zero or more")
        if self.gust is not None and not self.speed <= self.gust < np.inf:
            raise ValueError(f"gust {self.gust:g} m/s is below the mean speed {self.speed:g} m/s")
        if (self.variable_from_deg is None) != (self.variable_to_deg is None):
            raise ValueError("a variable sector needs both variable_from_deg and variable_to_deg")

    @property
    def strongest(self) -> float:
        """The gust where one is reported, else the mean speed, m/s."""
        return self.speed if self.gust is None else self.gust


@dataclass(frozen=True, slots=True)
class RunwayWind:
    """Wind resolved on a runway, m/s.

    ``headwind`` (tailwind negative) and ``crosswind`` (positive from the right) of the mean wind;
    ``headwind_for_distance`` for distances; ``tailwind_limit`` and ``crosswind_limit``, never negative,
    to hold against limits. ``runway_wind`` states how each is chosen.
    """

    headwind: FloatArray
    crosswind: FloatArray
    headwind_for_distance: FloatArray
    tailwind_limit: FloatArray
    crosswind_limit: FloatArray


@dataclass(frozen=True, slots=True)
class WindTriangle:
    """Heading that holds a course: correction angle (to the right positive), heading, ground speed m/s."""

    wind_correction_angle_deg: FloatArray
    true_heading_deg: FloatArray
    ground_speed: FloatArray


@dataclass(frozen=True, slots=True)
class TrackAndGroundSpeed:
    """What a heading becomes over the ground: track, drift (to the right positive), ground speed m/s."""

    track_deg: FloatArray
    drift_angle_deg: FloatArray
    ground_speed: FloatArray


def runway_wind(wind: Wind, runway_true_heading_deg: ArrayLike) -> RunwayWind:
    """Return the wind resolved on runways of these true headings, which may be an array.

    - Mean wind: plane resolution along and across the runway (FAA-H-8083-25, crosswind component chart).
    - For distances: a headwind is credited from the mean wind only, a tailwind is charged with the gust
      (common practice, no source).
    - Against limits: the gust, at the worst direction of the variable sector where one is reported
      (common practice, no source).
    - Variable direction: the whole strength counts as tailwind and as crosswind, and there is no
      headwind (common practice, no source).
    """
    heading = np.asarray(runway_true_heading_deg, dtype=np.float64)[()]
    if wind.direction_from_deg is None:
        mean = np.full_like(heading, wind.speed)[()]
        strongest = np.full_like(heading, wind.strongest)[()]
        return RunwayWind(-mean, mean, -strongest, strongest, strongest)

    angle = np.radians(wind.direction_from_deg - heading)
    headwind, crosswind = wind.speed * np.cos(angle), wind.speed * np.sin(angle)
    tail_share = np.maximum(-np.cos(angle), 0.0)
    cross_share = np.abs(np.sin(angle))
    if wind.variable_from_deg is not None and wind.variable_to_deg is not None:
        start = wind.variable_from_deg - heading
        width = (wind.variable_to_deg - wind.variable_from_deg) % 360.0
        for edge in (np.radians(start), np.radians(start + width)):
            tail_share = np.maximum(tail_share, -np.cos(edge))
            cross_share = np.maximum(cross_share, np.abs(np.sin(edge)))
        # Between its edges the sector is worst where it passes straight behind or straight across.
        tail_share = np.where((180.0 - start) % 360.0 <= width, 1.0, tail_share)[()]
        cross_share = np.where((90.0 - start) % 180.0 <= width, 1.0, cross_share)[()]
    return RunwayWind(
        headwind=headwind,
        crosswind=crosswind,
        headwind_for_distance=np.where(headwind < 0.0, wind.strongest * np.cos(angle), headwind)[()],
        tailwind_limit=wind.strongest * tail_share,
        crosswind_limit=wind.strongest * cross_share,
    )


def wind_triangle(
    true_course_deg: ArrayLike, tas: ArrayLike, wind_from_deg: ArrayLike, wind_speed: ArrayLike
) -> WindTriangle:
    """Return the heading that holds a course, and the ground speed along it, m/s. Arguments broadcast.

    Raises
    ------
    NoWindSolution
        If anywhere the crosswind exceeds the true airspeed, or the ground speed is not above zero.
        With arrays the message names the first such index; nothing is returned for the others.
    """
    course, airspeed, blows_from, strength = np.broadcast_arrays(
        *(np.asarray(a, dtype=np.float64) for a in (true_course_deg, tas, wind_from_deg, wind_speed))
    )
    angle = np.radians(blows_from - course)
    crosswind, headwind = strength * np.sin(angle), strength * np.cos(angle)
    across = np.abs(crosswind) > airspeed
    along = np.sqrt(np.where(across, 0.0, airspeed**2 - crosswind**2))
    ground_speed = along - headwind
    _refuse_unsolved(across, ground_speed <= 0.0, crosswind, headwind, airspeed)
    correction = np.degrees(np.arctan2(crosswind, along))
    return WindTriangle(correction[()], _compass(course + correction), ground_speed[()])


def track_and_ground_speed(
    true_heading_deg: ArrayLike, tas: ArrayLike, wind_from_deg: ArrayLike, wind_speed: ArrayLike
) -> TrackAndGroundSpeed:
    """Return track, drift and ground speed (m/s) of a heading flown in a wind. Arguments broadcast.

    Where wind and airspeed cancel exactly there is no motion and the track is the heading.
    """
    heading = np.asarray(true_heading_deg, dtype=np.float64)
    airspeed = np.asarray(tas, dtype=np.float64)
    angle = np.radians(np.asarray(wind_from_deg, dtype=np.float64) - heading)
    along = airspeed - np.asarray(wind_speed, dtype=np.float64) * np.cos(angle)
    across = -np.asarray(wind_speed, dtype=np.float64) * np.sin(angle)
    drift = np.degrees(np.arctan2(across, along))
    return TrackAndGroundSpeed(_compass(heading + drift), drift[()], np.hypot(along, across)[()])


def approach_gust_increment(wind: Wind) -> float:
    """Return the speed to add on approach, m/s: half of what the gust is over the mean.

    FAA-H-8083-3, approaches in gusty air.
    """
    return (wind.strongest - wind.speed) / 2.0


def operational_wind_factors(headwind: ArrayLike) -> FloatArray:
    """Return the headwind to schedule distances with, m/s: half of a headwind, one and a half of a tailwind.

    14 CFR 25.105(d)(1) and 25.125(f): an option for a crew that wants the civil margin; a tailwind is
    negative.
    """
    wind = np.asarray(headwind, dtype=np.float64)[()]
    return np.where(wind > 0.0, 0.5 * wind, 1.5 * wind)[()]


def _refuse_unsolved(
    across: NDArray[np.bool_],
    standing: NDArray[np.bool_],
    crosswind: FloatArray,
    headwind: FloatArray,
    tas: FloatArray,
) -> None:
    if not (unsolved := across | standing).any():
        return
    first = int(np.flatnonzero(unsolved)[0])
    place = "" if unsolved.ndim == 0 else f"at index {_index_text(first, unsolved.shape)}: "
    if across.flat[first]:
        cause = f"crosswind {abs(crosswind.flat[first]):.4g} m/s exceeds"
    else:
        cause = f"headwind {headwind.flat[first]:.4g} m/s leaves no ground speed at"
    raise NoWindSolution(
        f"{place}{cause} true airspeed {tas.flat[first]:.4g} m/s, no heading holds the course"
    )


def _index_text(flat_index: int, shape: tuple[int, ...]) -> str:
    return ", ".join(str(int(i)) for i in np.unravel_index(flat_index, shape))


def _compass(degrees: FloatArray) -> FloatArray:
    # A tiny negative angle comes back from the remainder as 360 itself; the compass says 0.
    turned = np.mod(degrees, 360.0)
    return np.where(turned >= 360.0, 0.0, turned)[()]
