"""Sunrise, sunset and civil twilight, and whether it is day or night. Times are UTC.

Definitions as in the Explanatory Supplement to the Astronomical Almanac: sunrise and sunset with the
sun's centre 0.8333 degrees below the horizon (upper limb, mean refraction), civil twilight with it 6
degrees below. The sun's place is that of the library astral (NOAA solar calculator), good to a minute
of time, less so where the sun grazes the horizon at high latitude.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import acos, degrees
from typing import Literal

SUNRISE_ALTITUDE_DEG = -0.8333
CIVIL_TWILIGHT_ALTITUDE_DEG = -6.0
_EARTH_RADIUS = 6_371_000.0  # m

LightState = Literal["day", "civil twilight", "night"]


@dataclass(frozen=True, slots=True)
class SunTimes:
    """Times in UTC around one local noon; None with a ``note`` where the sun does not cross that height."""

    civil_dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None
    note: str | None = None


def sun_times(
    latitude_deg: float,
    longitude_deg: float,
    local_date: date,
    timezone_offset: timedelta | None = None,
    elevation: float = 0.0,
) -> SunTimes:
    """Return dawn and sunrise before, and sunset and dusk after, the solar noon of a local date.

    West of Greenwich the evening times often fall on the next UTC day.

    Parameters
    ----------
    timezone_offset
        Local time less UTC, which says what noon belongs to ``local_date``. Default: the nautical zone
        of the longitude.
    elevation : m
        Of the eye above the ground or sea that makes the horizon; not that of the field above sea level.

    Raises
    ------
    ValueError
        If the position is off the globe or the elevation negative.
    """
    altitude = _sun_altitude(latitude_deg, longitude_deg)
    if not 0.0 <= elevation < 100_000.0:
        raise ValueError(f"elevation {elevation:g} m above the horizon's ground must be 0 or more")
    if timezone_offset is None:
        timezone_offset = timedelta(hours=round(longitude_deg / 15.0))
    noon = _solar_noon(longitude_deg, local_date, timezone_offset)
    dip = degrees(acos(_EARTH_RADIUS / (_EARTH_RADIUS + elevation)))
    half_day = timedelta(hours=12)

    def crossing(height_deg: float, midnight: datetime) -> datetime | None:
        return _crossing(altitude, height_deg, midnight, noon)

    horizon = SUNRISE_ALTITUDE_DEG - dip
    sunrise, sunset = crossing(horizon, noon - half_day), crossing(horizon, noon + half_day)
    dawn = crossing(CIVIL_TWILIGHT_ALTITUDE_DEG, noon - half_day)
    dusk = crossing(CIVIL_TWILIGHT_ALTITUDE_DEG, noon + half_day)
    return SunTimes(dawn, sunrise, sunset, dusk, _note(dawn, sunrise, sunset, dusk, altitude(noon) > horizon))


def light_state(latitude_deg: float, longitude_deg: float, time: datetime) -> LightState:
    """Return whether the sun is up, in civil twilight, or lower, at a time that carries its zone.

    Raises ValueError for a time without a zone or a position off the globe.
    """
    if time.tzinfo is None:
        raise ValueError(f"time {time.isoformat()} has no zone; write it in UTC with a Z at its end")
    height = _sun_altitude(latitude_deg, longitude_deg)(time.astimezone(UTC))
    if height >= SUNRISE_ALTITUDE_DEG:
        return "day"
    return "civil twilight" if height >= CIVIL_TWILIGHT_ALTITUDE_DEG else "night"


def _sun_altitude(latitude_deg: float, longitude_deg: float) -> Callable[[datetime], float]:
    # Imported here because only cards with times need it.
    from astral import Observer
    from astral.sun import elevation

    if not (-90.0 <= latitude_deg <= 90.0 and -180.0 <= longitude_deg <= 360.0):
        raise ValueError(
            f"position {latitude_deg:g}, {longitude_deg:g} is off the globe (latitude, longitude)"
        )
    longitude = (longitude_deg + 180.0) % 360.0 - 180.0
    observer = Observer(float(latitude_deg), float(longitude), 0.0)
    # The fixed -0.8333 already holds the refraction of the horizon.
    return lambda time: elevation(observer, time, with_refraction=False)


def _solar_noon(longitude_deg: float, local_date: date, timezone_offset: timedelta) -> datetime:
    from astral.julian import julianday, julianday_to_juliancentury
    from astral.sun import eq_of_time

    longitude = (longitude_deg + 180.0) % 360.0 - 180.0
    equation = eq_of_time(julianday_to_juliancentury(julianday(local_date) + 0.5 - longitude / 360.0))
    clock_noon = datetime(local_date.year, local_date.month, local_date.day, 12, tzinfo=UTC)
    noon = clock_noon - timedelta(minutes=4.0 * longitude + equation)
    # The zone may put this noon on the day before or after, as along the date line.
    for shift in (timedelta(0), timedelta(days=1), timedelta(days=-1)):
        if (noon + shift + timezone_offset).date() == local_date:
            return noon + shift
    return noon


def _crossing(
    altitude: Callable[[datetime], float], height_deg: float, midnight: datetime, noon: datetime
) -> datetime | None:
    # From midnight to noon the sun only climbs, and after noon only sinks, so halving the span finds the
    # one crossing there is; polar days and nights need no special case.
    low, high = midnight, noon
    if not altitude(low) < height_deg < altitude(high):
        return None
    while abs(high - low) > timedelta(seconds=1):
        middle = low + (high - low) / 2
        if altitude(middle) < height_deg:
            low = middle
        else:
            high = middle
    return high.replace(microsecond=0)


def _note(
    dawn: datetime | None,
    sunrise: datetime | None,
    sunset: datetime | None,
    dusk: datetime | None,
    is_up_at_noon: bool,
) -> str | None:
    if not is_up_at_noon:
        if dawn and dusk:
            return "polar night: the sun does not rise, civil twilight only"
        return "polar night: no civil twilight"
    if sunrise is None and sunset is None:
        return "midnight sun: the sun does not set"
    if sunrise is None or sunset is None:
        return "the sun crosses the horizon only once around this noon"
    if dawn is None or dusk is None:
        return "civil twilight lasts all night"
    return None
