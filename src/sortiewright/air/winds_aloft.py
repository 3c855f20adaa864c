"""Winds and temperatures at levels above a field: vectors, straight between the levels, never beyond them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .atmosphere import FloatArray, greatest_of

SLACK = 1.0  # m; a level flown at and a level forecast may be the same but for rounding


class WindsMissing(ValueError):
    """A height above the highest level of the forecast: ``asked`` and ``highest``, m pressure altitude."""

    def __init__(self, asked: float, highest: float) -> None:
        self.asked, self.highest = asked, highest
        super().__init__(f"no wind is known at {asked:.0f} m: the highest level is {highest:.0f} m")


@dataclass(frozen=True, slots=True)
class WindLevel:
    """Wind at one pressure altitude (m): true degrees it blows from, m/s; K above standard where known."""

    pressure_altitude: float
    wind_from_deg: float
    wind_speed: float
    isa_deviation: float | None = None


@dataclass(frozen=True, slots=True)
class WindsAloft:
    """Air over a route. Heights are pressure altitudes, m, rising; winds m/s, as parts it blows from.

    ``highest`` is the last level with a wind, infinite where the air is still. Below the first level it is
    that level's wind: the field's, where ``winds_over`` was given one.
    """

    heights: FloatArray
    from_north: FloatArray
    from_east: FloatArray
    deviation_heights: FloatArray
    deviations: FloatArray
    highest: float

    def blowing_from(self, pressure_altitude: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the parts of the wind from north and from east, m/s; raises ``WindsMissing``."""
        height = np.asarray(pressure_altitude, dtype=np.float64)
        if height.size and (top := greatest_of(height)) > self.highest + SLACK:
            raise WindsMissing(top, self.highest)
        return np.interp(height, self.heights, self.from_north), np.interp(
            height, self.heights, self.from_east
        )

    def along(self, course_deg: ArrayLike, pressure_altitude: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return headwind and crosswind from the right on a course, m/s; raises ``WindsMissing``.

        Courses and altitudes broadcast.
        """
        north, east = self.blowing_from(pressure_altitude)
        course = np.radians(course_deg)
        sine, cosine = np.sin(course), np.cos(course)
        return north * cosine + east * sine, east * cosine - north * sine

    def isa_deviation(self, pressure_altitude: ArrayLike) -> FloatArray:
        """Return how much warmer than standard it is, K; beyond the levels that of the nearest."""
        height = np.asarray(pressure_altitude, dtype=np.float64)
        return np.interp(height, self.deviation_heights, self.deviations)


def winds_over(
    levels: Sequence[WindLevel], surface: WindLevel | None = None, isa_deviation: float = 0.0
) -> WindsAloft:
    """Return the air over a route from its levels and what blows at the field.

    Without levels the air is still at every height and ``isa_deviation`` K off standard, or as much as the
    surface is. Between levels wind vector and temperature deviation are straight lines in pressure altitude
    (common practice, no source). A level no higher than the surface stands in its place. Raises
    ``ValueError`` for two levels at one height.
    """
    held = isa_deviation if surface is None or surface.isa_deviation is None else surface.isa_deviation
    if not levels:
        nothing = np.zeros(1)
        return WindsAloft(nothing, nothing, nothing, nothing, np.array([held]), np.inf)
    ordered = sorted(levels, key=lambda level: level.pressure_altitude)
    if surface is not None and surface.pressure_altitude < ordered[0].pressure_altitude - SLACK:
        ordered.insert(0, surface)
    heights = np.array([level.pressure_altitude for level in ordered])
    if (np.diff(heights) < SLACK).any():
        raise ValueError("two levels of wind are at one height")
    strength = np.array([level.wind_speed for level in ordered])
    blows = np.radians([level.wind_from_deg for level in ordered])
    warm = [(one.pressure_altitude, one.isa_deviation) for one in ordered if one.isa_deviation is not None]
    places, deviations = zip(*warm, strict=True) if warm else ((0.0,), (held,))
    return WindsAloft(
        heights,
        strength * np.cos(blows),
        strength * np.sin(blows),
        np.array(places),
        np.array(deviations, dtype=np.float64),
        float(heights[-1]),
    )
