"""Mach number, calibrated, equivalent and true airspeed, and what a pitot tube feels.

Subsonic: isentropic stagnation. Supersonic: Rayleigh's relation behind a normal shock (NACA Report
1135, equations 44 and 100). Calibrated airspeed is what an instrument built for standard sea level
shows for that impact pressure, so both inversions use the same pair of relations. The ratio of heat
capacities is 1.4, good below about Mach 5.

Air that comes from behind has a negative speed and Mach number; every conversion keeps the sign.
"""

import numpy as np
from numpy.typing import ArrayLike

from .atmosphere import (
    SEA_LEVEL_DENSITY,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    Air,
    FloatArray,
    greatest_of,
    speed_of_sound,
)

# Impact over static pressure at Mach 1, where both relations meet with equal slope.
_SONIC_RATIO = 1.2**3.5 - 1.0
# Rayleigh's constant for a heat capacity ratio of 1.4: (1.2)^3.5 (6)^2.5.
_RAYLEIGH = 1.2**3.5 * 6.0**2.5


def mach_from_cas(cas: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Return the Mach number at a calibrated airspeed in m/s and a static pressure in Pa."""
    v = np.asarray(cas, dtype=np.float64)[()]
    p = np.asarray(pressure, dtype=np.float64)[()]
    sea_level_ratio = _impact_ratio(np.abs(v) / SEA_LEVEL_SPEED_OF_SOUND)
    return np.copysign(_mach_from_impact_ratio(sea_level_ratio * (SEA_LEVEL_PRESSURE / p)), v)


def cas_from_mach(mach: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Return the calibrated airspeed in m/s at a Mach number and a static pressure in Pa."""
    m = np.asarray(mach, dtype=np.float64)[()]
    p = np.asarray(pressure, dtype=np.float64)[()]
    ratio = _impact_ratio(np.abs(m)) * (p / SEA_LEVEL_PRESSURE)
    return SEA_LEVEL_SPEED_OF_SOUND * np.copysign(_mach_from_impact_ratio(ratio), m)


def mach_from_tas(tas: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Return the Mach number at a true airspeed in m/s and a static temperature in K."""
    return np.asarray(tas, dtype=np.float64)[()] / speed_of_sound(temperature)


def tas_from_mach(mach: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Return the true airspeed in m/s at a Mach number and a static temperature in K."""
    return np.asarray(mach, dtype=np.float64)[()] * speed_of_sound(temperature)


def tas_from_eas(eas: ArrayLike, density: ArrayLike) -> FloatArray:
    """Return the true airspeed in m/s at an equivalent airspeed in m/s and a density in kg/m3."""
    return np.asarray(eas, dtype=np.float64)[()] * np.sqrt(np.divide(SEA_LEVEL_DENSITY, density))


def eas_from_tas(tas: ArrayLike, density: ArrayLike) -> FloatArray:
    """Return the equivalent airspeed in m/s at a true airspeed in m/s and a density in kg/m3."""
    return np.asarray(tas, dtype=np.float64)[()] * np.sqrt(np.divide(density, SEA_LEVEL_DENSITY))


def tas_from_cas(cas: ArrayLike, air: Air) -> FloatArray:
    """Return the true airspeed in m/s at a calibrated airspeed in m/s in ``air``."""
    return mach_from_cas(cas, air.pressure) * air.speed_of_sound


def cas_from_tas(tas: ArrayLike, air: Air) -> FloatArray:
    """Return the calibrated airspeed in m/s at a true airspeed in m/s in ``air``."""
    return cas_from_mach(mach_from_tas(tas, air.temperature), air.pressure)


def impact_pressure(mach: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Return pitot pressure less static pressure in Pa at a Mach number and a static pressure in Pa.

    Behind a normal shock above Mach 1. Without sign: a pitot tube does not know where it points.
    """
    p = np.asarray(pressure, dtype=np.float64)[()]
    return _impact_ratio(np.abs(np.asarray(mach, dtype=np.float64)[()])) * p


def total_pressure(mach: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Return the isentropic stagnation pressure in Pa, ahead of any shock, at a static pressure in Pa."""
    m = np.asarray(mach, dtype=np.float64)[()]
    return (1.0 + 0.2 * m * m) ** 3.5 * np.asarray(pressure, dtype=np.float64)[()]


def total_temperature(mach: ArrayLike, temperature: ArrayLike, recovery: float = 1.0) -> FloatArray:
    """Return the temperature in K that a probe of this recovery factor feels at a static temperature in K."""
    m = np.asarray(mach, dtype=np.float64)[()]
    return (1.0 + 0.2 * recovery * m * m) * np.asarray(temperature, dtype=np.float64)[()]


def _impact_ratio(mach: FloatArray) -> FloatArray:
    # expm1 and log1p keep the ratio exact to the last digits at taxi speed, where it is near 1e-4.
    subsonic = np.expm1(3.5 * np.log1p(0.2 * mach * mach))
    if not mach.size or greatest_of(mach) <= 1.0:
        return subsonic
    fast = np.maximum(mach, 1.0)
    return np.where(mach <= 1.0, subsonic, _rayleigh_ratio(fast))[()]


def _mach_from_impact_ratio(ratio: FloatArray) -> FloatArray:
    subsonic = np.sqrt(5.0 * np.expm1(np.log1p(ratio) / 3.5))
    if not ratio.size or greatest_of(ratio) <= _SONIC_RATIO:
        return subsonic
    return np.where(ratio <= _SONIC_RATIO, subsonic, _supersonic_mach(np.maximum(ratio, _SONIC_RATIO)))[()]


def _rayleigh_ratio(mach: FloatArray) -> FloatArray:
    square = mach * mach
    return _RAYLEIGH * square * (square / (7.0 * square - 1.0)) ** 2.5 - 1.0


def _supersonic_mach(ratio: FloatArray) -> FloatArray:
    # Far above Mach 1 the pitot pressure grows with the square of Mach; that is the first guess.
    # Newton's error then squares with every step: below 1e-15 after six from Mach 1 to Mach 10.
    mach = np.sqrt((ratio + 1.0) / (_RAYLEIGH * 7.0**-2.5))
    mach = np.maximum(mach, 1.0)
    for _ in range(6):
        square = mach * mach
        pitot = _rayleigh_ratio(mach) + 1.0
        slope = pitot * 7.0 * (2.0 * square - 1.0) / (mach * (7.0 * square - 1.0))
        mach = np.maximum(mach - (pitot - 1.0 - ratio) / slope, 1.0)
    return mach
