"""The earth's magnetic field by the World Magnetic Model 2025, and true against magnetic directions.

Model: NOAA NCEI and British Geological Survey, The US/UK World Magnetic Model for 2025-2030, through
the library pygeomag. East variation is positive; magnetic is true less variation.
"""

import datetime
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .atmosphere import FloatArray

FIRST_MODEL_YEAR = 2025.0
END_MODEL_YEAR = 2030.0
# Bounds of the model's blackout and caution zones around the magnetic poles, horizontal field in nT
# (NOAA NCEI, WMM2025 technical note).
BLACKOUT_HORIZONTAL_NT = 2_000.0
CAUTION_HORIZONTAL_NT = 6_000.0


class OutsideMagneticModel(ValueError):
    """Date or height where the magnetic model is not valid."""


@dataclass(frozen=True, slots=True)
class MagneticField:
    """The main field: declination (east positive), dip (down positive), strengths in nanotesla."""

    declination_deg: float
    dip_deg: float
    horizontal_nt: float
    total_nt: float

    @property
    def compass_caution(self) -> str | None:
        """In words, where a compass is not to be trusted; None elsewhere."""
        if self.horizontal_nt < BLACKOUT_HORIZONTAL_NT:
            return "magnetic compass unreliable: horizontal field under 2,000 nT"
        if self.horizontal_nt < CAUTION_HORIZONTAL_NT:
            return "magnetic compass may be degraded: horizontal field under 6,000 nT"
        return None


def magnetic_variation(
    latitude_deg: float, longitude_deg: float, date: datetime.date | float, altitude: float = 0.0
) -> float:
    """Return the magnetic variation in degrees, east positive. Arguments and errors as ``magnetic_field``."""
    return magnetic_field(latitude_deg, longitude_deg, date, altitude).declination_deg


def magnetic_field(
    latitude_deg: float, longitude_deg: float, date: datetime.date | float, altitude: float = 0.0
) -> MagneticField:
    """Return the earth's main magnetic field at one place and day.

    Parameters
    ----------
    date
        A date, a datetime, or a decimal year.
    altitude : m
        Above the WGS 84 ellipsoid; height above sea level serves as well for navigation.

    Raises
    ------
    OutsideMagneticModel
        Before 2025 or from 2030 on, or outside -1 to 850 km.
    ValueError
        If the latitude is beyond the poles.
    """
    year = _decimal_year(date)
    if not FIRST_MODEL_YEAR <= year < END_MODEL_YEAR:
        raise OutsideMagneticModel(
            f"date {date} is outside the magnetic model WMM2025, valid from 2025 to the end of 2029. "
            "State the variation by hand for other years."
        )
    if not -1_000.0 <= altitude <= 850_000.0:
        raise OutsideMagneticModel(
            f"altitude {altitude:g} m is outside -1,000 to 850,000 m of the model WMM2025"
        )
    if not -90.0 <= latitude_deg <= 90.0:
        raise ValueError(
            f"latitude {latitude_deg:g} deg is outside -90 to 90 (latitude first, then longitude)"
        )
    longitude = (longitude_deg + 180.0) % 360.0 - 180.0
    field = _model().calculate(glat=latitude_deg, glon=longitude, alt=altitude / 1_000.0, time=year)
    return MagneticField(float(field.d), float(field.i), float(field.h), float(field.f))


def to_magnetic(true_deg: ArrayLike, variation_deg: ArrayLike) -> FloatArray:
    """Return the magnetic direction, 0 to 360, of a true direction where variation is east positive."""
    return np.mod(np.subtract(true_deg, variation_deg), 360.0)


def to_true(magnetic_deg: ArrayLike, variation_deg: ArrayLike) -> FloatArray:
    """Return the true direction, 0 to 360, of a magnetic direction where variation is east positive."""
    return np.mod(np.add(magnetic_deg, variation_deg), 360.0)


@lru_cache(maxsize=1)
def _model() -> Any:
    # Imported on first use: most commands need no variation, and the library ships without type hints.
    coefficients = import_module("pygeomag.wmm.wmm_2025").WMM_2025
    return import_module("pygeomag").GeoMag(coefficients_data=coefficients)


def _decimal_year(date: datetime.date | float) -> float:
    if not isinstance(date, datetime.date):
        return float(date)
    day = date.date() if isinstance(date, datetime.datetime) else date
    start, end = datetime.date(day.year, 1, 1), datetime.date(day.year + 1, 1, 1)
    return day.year + (day - start).days / (end - start).days
