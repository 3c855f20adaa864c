"""The standard atmosphere to 32 km, today's air at a field, and the altitudes that describe it.

Equations and constants: ICAO Doc 7488/3, Manual of the ICAO Standard Atmosphere, which equals the
U.S. Standard Atmosphere 1976 below 32 km. Air is dry and a perfect gas. Altitudes are geopotential
metres; pressure altitude is geopotential by definition.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665  # m/s2, exact by definition
SEA_LEVEL_PRESSURE = 101325.0  # Pa
SEA_LEVEL_TEMPERATURE = 288.15  # K
GAS_CONSTANT_AIR = 287.05287  # J/(kg K)
HEAT_CAPACITY_RATIO = 1.4
SEA_LEVEL_DENSITY = SEA_LEVEL_PRESSURE / (GAS_CONSTANT_AIR * SEA_LEVEL_TEMPERATURE)  # 1.225 kg/m3
SEA_LEVEL_SPEED_OF_SOUND = (HEAT_CAPACITY_RATIO * GAS_CONSTANT_AIR * SEA_LEVEL_TEMPERATURE) ** 0.5  # m/s

LOWEST_PRESSURE_ALTITUDE = -2_000.0  # m
HIGHEST_PRESSURE_ALTITUDE = 32_000.0  # m, top of the third layer
# Cold dense air over a low field lies below -2 km of density altitude; the standard itself starts at -5 km.
LOWEST_DENSITY_ALTITUDE = -5_000.0  # m

_TROPOPAUSE = 11_000.0  # m
_STRATOSPHERE_WARMING = 20_000.0  # m, isothermal from the tropopause to here
_TROPOSPHERE_LAPSE = -6.5e-3  # K/m
_STRATOSPHERE_LAPSE = 1.0e-3  # K/m
_TROPOPAUSE_TEMPERATURE = SEA_LEVEL_TEMPERATURE + _TROPOSPHERE_LAPSE * _TROPOPAUSE  # 216.65 K

# Hydrostatic balance through a layer of lapse rate L makes pressure a power -g/(R L) of temperature.
_TROPOSPHERE_EXPONENT = -STANDARD_GRAVITY / (GAS_CONSTANT_AIR * _TROPOSPHERE_LAPSE)  # 5.2559
_STRATOSPHERE_EXPONENT = -STANDARD_GRAVITY / (GAS_CONSTANT_AIR * _STRATOSPHERE_LAPSE)  # -34.163
_SCALE_HEIGHT = GAS_CONSTANT_AIR * _TROPOPAUSE_TEMPERATURE / STANDARD_GRAVITY  # m, of the isothermal layer
_TROPOPAUSE_PRESSURE = (
    SEA_LEVEL_PRESSURE * (_TROPOPAUSE_TEMPERATURE / SEA_LEVEL_TEMPERATURE) ** _TROPOSPHERE_EXPONENT
)
_WARMING_PRESSURE = _TROPOPAUSE_PRESSURE * float(
    np.exp((_TROPOPAUSE - _STRATOSPHERE_WARMING) / _SCALE_HEIGHT)
)

_EARTH_RADIUS = 6_356_766.0  # m, of the geopotential relation (U.S. Standard Atmosphere 1976, equation 18)
_FOOT = 0.3048  # m, exact


@dataclass(frozen=True, slots=True)
class Air:
    """Air at rest: static pressure in Pa and static temperature in K, floats or arrays that broadcast."""

    pressure: float | FloatArray
    temperature: float | FloatArray

    @property
    def density(self) -> FloatArray:
        """Density of dry air, kg/m3."""
        return np.divide(self.pressure, np.multiply(GAS_CONSTANT_AIR, self.temperature))

    @property
    def speed_of_sound(self) -> FloatArray:
        """Speed of sound, m/s."""
        return speed_of_sound(self.temperature)

    @property
    def delta(self) -> FloatArray:
        """Pressure over standard sea-level pressure."""
        return np.divide(self.pressure, SEA_LEVEL_PRESSURE)

    @property
    def theta(self) -> FloatArray:
        """Absolute temperature over standard sea-level temperature."""
        return np.divide(self.temperature, SEA_LEVEL_TEMPERATURE)

    @property
    def sigma(self) -> FloatArray:
        """Density over standard sea-level density."""
        return self.delta / self.theta

    @property
    def pressure_altitude(self) -> FloatArray:
        """Standard-atmosphere altitude of this pressure, m."""
        return pressure_altitude(self.pressure)

    @property
    def isa_deviation(self) -> FloatArray:
        """Temperature above standard at this pressure altitude, K; colder than standard is negative."""
        return np.subtract(self.temperature, standard_temperature(self.pressure_altitude))

    @property
    def density_altitude(self) -> FloatArray:
        """Standard-atmosphere altitude of this density, m."""
        return density_altitude(self.density)


def standard_air(pressure_altitude: ArrayLike, isa_deviation: ArrayLike = 0.0) -> Air:
    """Return the air at a pressure altitude in m, ``isa_deviation`` K warmer than standard.

    Pressure is that of the standard whatever the temperature. Raises ValueError outside -2,000 m to
    32,000 m; NaN gives NaN.
    """
    h = _altitude_in_range(pressure_altitude, "pressure altitude", LOWEST_PRESSURE_ALTITUDE)
    return Air(_pressure_at(h), _temperature_at(h) + np.asarray(isa_deviation, dtype=np.float64)[()])


def standard_temperature(pressure_altitude: ArrayLike) -> FloatArray:
    """Return the standard temperature at a pressure altitude in m, K. Raises as ``standard_air``."""
    return _temperature_at(
        _altitude_in_range(pressure_altitude, "pressure altitude", LOWEST_PRESSURE_ALTITUDE)
    )


def standard_pressure(pressure_altitude: ArrayLike) -> FloatArray:
    """Return the standard pressure at a pressure altitude in m, Pa. Raises as ``standard_air``."""
    return _pressure_at(_altitude_in_range(pressure_altitude, "pressure altitude", LOWEST_PRESSURE_ALTITUDE))


def pressure_altitude(pressure: ArrayLike) -> FloatArray:
    """Return the altitude in m at which the standard atmosphere has ``pressure`` Pa.

    Raises ValueError for a pressure not found between -2,000 m and 32,000 m; NaN gives NaN.
    """
    p = np.asarray(pressure, dtype=np.float64)[()]
    _refuse_outside(p, "pressure", "Pa", _LOWEST_PRESSURE, _HIGHEST_PRESSURE)
    with np.errstate(invalid="ignore"):
        low = _troposphere_altitude(p / SEA_LEVEL_PRESSURE, 1.0 / _TROPOSPHERE_EXPONENT)
        if not p.size or least_of(p) >= _TROPOPAUSE_PRESSURE:
            return low
        middle = _TROPOPAUSE - _SCALE_HEIGHT * np.log(p / _TROPOPAUSE_PRESSURE)
        high = _warming_altitude(p / _WARMING_PRESSURE, 1.0 / _STRATOSPHERE_EXPONENT)
    return np.where(p >= _TROPOPAUSE_PRESSURE, low, np.where(p >= _WARMING_PRESSURE, middle, high))[()]


def density_altitude(air_density: ArrayLike) -> FloatArray:
    """Return the altitude in m at which the standard atmosphere has ``air_density`` kg/m3.

    Raises ValueError for a density not found between -5,000 m and 32,000 m; NaN gives NaN.
    """
    rho = np.asarray(air_density, dtype=np.float64)[()]
    _refuse_outside(rho, "air density", "kg/m3", _LOWEST_DENSITY, _HIGHEST_DENSITY)
    # Density goes as pressure over temperature, so its power of temperature is one less.
    low = _troposphere_altitude(rho / SEA_LEVEL_DENSITY, 1.0 / (_TROPOSPHERE_EXPONENT - 1.0))
    if not rho.size or rho.min() >= _TROPOPAUSE_DENSITY:
        return low
    middle = _TROPOPAUSE - _SCALE_HEIGHT * np.log(rho / _TROPOPAUSE_DENSITY)
    high = _warming_altitude(rho / _WARMING_DENSITY, 1.0 / (_STRATOSPHERE_EXPONENT - 1.0))
    return np.where(rho >= _TROPOPAUSE_DENSITY, low, np.where(rho >= _WARMING_DENSITY, middle, high))[()]


def density_altitude_rule_of_thumb(pressure_altitude: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Return the density altitude in m by the rule of 120 ft for each degree off standard.

    Pressure altitude in m, temperature in K. Common practice, no source: some hundred feet high on a
    hot field, so only a cross-check of ``density_altitude``.
    """
    warmer = np.subtract(temperature, standard_temperature(pressure_altitude))
    return np.asarray(pressure_altitude, dtype=np.float64)[()] + 120.0 * _FOOT * warmer


def field_pressure(elevation: ArrayLike, qnh: ArrayLike) -> FloatArray:
    """Return the static pressure in Pa at a field of ``elevation`` m under the altimeter setting ``qnh`` Pa.

    An altimeter set to QNH reads field elevation on the ground (ICAO Doc 7488/3 relation), so the
    field's pressure altitude is its elevation plus the pressure altitude of QNH.

    Raises
    ------
    ValueError
        If QNH is outside 80,000 to 110,000 Pa (mostly a value in hPa or inHg), or the pressure
        altitude outside the standard atmosphere.
    """
    setting = np.asarray(qnh, dtype=np.float64)[()]
    hint = "Give Pa: 1013.25 hPa is 101325, 29.92 inHg is 101320."
    _refuse_outside(setting, "QNH", "Pa", 80_000.0, 110_000.0, hint)
    return standard_pressure(np.asarray(elevation, dtype=np.float64)[()] + pressure_altitude(setting))


def qfe(elevation: ArrayLike, qnh: ArrayLike) -> FloatArray:
    """Return the altimeter setting in Pa that reads zero at ``elevation`` m: the static pressure there."""
    return field_pressure(elevation, qnh)


def air_at_field(elevation: ArrayLike, qnh: ArrayLike, temperature: ArrayLike) -> Air:
    """Return the air over a field of ``elevation`` m, altimeter setting ``qnh`` Pa, temperature in K.

    Raises ValueError as ``field_pressure``, and for a temperature outside 180 to 340 K, which no
    field has had and which mostly is a value in degC.
    """
    outside_air = np.asarray(temperature, dtype=np.float64)[()]
    _refuse_outside(outside_air, "temperature", "K", 180.0, 340.0, "Give kelvin: 15 degC is 288.15.")
    return Air(field_pressure(elevation, qnh), outside_air)


def geopotential_altitude(geometric: ArrayLike) -> FloatArray:
    """Return the geopotential altitude in m of a geometric height above sea level in m.

    U.S. Standard Atmosphere 1976, equation 18; gravity at latitude 45.5 deg.
    """
    z = np.asarray(geometric, dtype=np.float64)[()]
    return _EARTH_RADIUS * z / (_EARTH_RADIUS + z)


def geometric_altitude(geopotential: ArrayLike) -> FloatArray:
    """Return the geometric height above sea level in m of a geopotential altitude in m."""
    h = np.asarray(geopotential, dtype=np.float64)[()]
    return _EARTH_RADIUS * h / (_EARTH_RADIUS - h)


def speed_of_sound(temperature: ArrayLike) -> FloatArray:
    """Return the speed of sound in m/s at a static temperature in K."""
    t = np.asarray(temperature, dtype=np.float64)[()]
    return np.sqrt(HEAT_CAPACITY_RATIO * GAS_CONSTANT_AIR * t)


def greatest_of(values: FloatArray) -> float:
    """Return the greatest value, NaN if one is; finding its place takes a quarter of the time of ``max``."""
    return float(values) if values.ndim == 0 else values.item(values.argmax())


def least_of(values: FloatArray) -> float:
    """Return the least value, NaN if one is."""
    return float(values) if values.ndim == 0 else values.item(values.argmin())


def _temperature_at(h: FloatArray) -> FloatArray:
    low = SEA_LEVEL_TEMPERATURE + _TROPOSPHERE_LAPSE * h
    if not h.size or greatest_of(h) <= _TROPOPAUSE:
        return low
    # In every layer above the tropopause the wrong line is the colder one.
    return np.maximum(
        np.maximum(low, _TROPOPAUSE_TEMPERATURE),
        _TROPOPAUSE_TEMPERATURE + _STRATOSPHERE_LAPSE * (h - _STRATOSPHERE_WARMING),
    )


def _pressure_at(h: FloatArray) -> FloatArray:
    ratio = 1.0 + _TROPOSPHERE_LAPSE / SEA_LEVEL_TEMPERATURE * h
    low = SEA_LEVEL_PRESSURE * ratio**_TROPOSPHERE_EXPONENT
    if not h.size or greatest_of(h) <= _TROPOPAUSE:
        return low
    middle: FloatArray = _TROPOPAUSE_PRESSURE * np.exp((_TROPOPAUSE - h) / _SCALE_HEIGHT)
    warmer = 1.0 + _STRATOSPHERE_LAPSE / _TROPOPAUSE_TEMPERATURE * (h - _STRATOSPHERE_WARMING)
    high = _WARMING_PRESSURE * warmer**_STRATOSPHERE_EXPONENT
    return np.where(h <= _TROPOPAUSE, low, np.where(h <= _STRATOSPHERE_WARMING, middle, high))[()]


def _troposphere_altitude(ratio: FloatArray, exponent: float) -> FloatArray:
    return SEA_LEVEL_TEMPERATURE / _TROPOSPHERE_LAPSE * (ratio**exponent - 1.0)


def _warming_altitude(ratio: FloatArray, exponent: float) -> FloatArray:
    return _STRATOSPHERE_WARMING + _TROPOPAUSE_TEMPERATURE / _STRATOSPHERE_LAPSE * (ratio**exponent - 1.0)


def _altitude_in_range(altitude: ArrayLike, name: str, lowest: float) -> FloatArray:
    h = np.asarray(altitude, dtype=np.float64)[()]
    _refuse_outside(h, name, "m", lowest, HIGHEST_PRESSURE_ALTITUDE)
    return h


def _refuse_outside(
    values: FloatArray, name: str, unit: str, lowest: float, highest: float, hint: str = ""
) -> None:
    # The least and the greatest settle nearly every call; masks are built only to report.
    if not values.size or (least_of(values) >= lowest and greatest_of(values) <= highest):
        return
    bad = (values < lowest) | (values > highest)  # NaN is neither, and passes
    if bad.any():
        worst = np.asarray(values)[np.asarray(bad)].flat[0]
        message = f"{name} {worst:,.6g} {unit} is outside {lowest:,.6g} to {highest:,.6g} {unit}"
        raise ValueError(f"{message}. {hint}" if hint else message)


def _density_at(altitude: float) -> float:
    h = np.asarray(altitude, dtype=np.float64)
    return float(_pressure_at(h) / (GAS_CONSTANT_AIR * _temperature_at(h)))


# Limits of the inverse relations, a hair wide so that the altitude limits themselves come back.
_LOWEST_PRESSURE = float(standard_pressure(HIGHEST_PRESSURE_ALTITUDE)) * (1.0 - 1e-12)
_HIGHEST_PRESSURE = float(standard_pressure(LOWEST_PRESSURE_ALTITUDE)) * (1.0 + 1e-12)
_LOWEST_DENSITY = _density_at(HIGHEST_PRESSURE_ALTITUDE) * (1.0 - 1e-12)
_HIGHEST_DENSITY = _density_at(LOWEST_DENSITY_ALTITUDE) * (1.0 + 1e-12)
_TROPOPAUSE_DENSITY = _density_at(_TROPOPAUSE)
_WARMING_DENSITY = _density_at(_STRATOSPHERE_WARMING)
