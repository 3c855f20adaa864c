"""Arguments with units: what a crew types becomes SI, once, as it is read.

A plain number is in the unit that the help names; any other unit is written with the number.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from cyclopts import Parameter

from sortiewright.commands.arguments import argument
from sortiewright.commands.faults import UsageError

if TYPE_CHECKING:
    from sortiewright.air import Wind

_PLAIN = re.compile(r"\s*[-+−]?(\d+\.?\d*|\.\d+)\s*\Z")
_DESIGNATOR = re.compile(r"(0?[1-9]|[12]\d|3[0-6])[LCR]?", re.IGNORECASE)
_WIND = re.compile(
    r"(?P<from>VRB|\d{1,3}(?=/)|\d{3})/?(?P<speed>\d{1,3})(G(?P<gust>\d{1,3}))?\s*(?P<unit>KTS?|MPS|KMH)?"
    r"(\s+(?P<low>\d{3})V(?P<high>\d{3}))?"
)
_NUMBERS = r"\d+(?:\.\d+)?(?:\s+\d+(?:\.\d+)?){0,2}"
_SUFFIXED = re.compile(rf"({_NUMBERS})\s*([NS])[\s,]*({_NUMBERS})\s*([EW])")
_PREFIXED = re.compile(rf"([NS])\s*({_NUMBERS})[\s,]*([EW])\s*({_NUMBERS})")
_DECIMAL = re.compile(r"([-+]?\d+(?:\.\d+)?)\s*[,\s]\s*([-+]?\d+(?:\.\d+)?)")
_SPEED_UNITS = {"KT": "kt", "KTS": "kt", "MPS": "m/s", "KMH": "km/h"}


def quantity(text: str, *, si_unit: str, plain: str) -> float:
    """Return the SI value of a number with a unit, or of a plain number in the unit ``plain``."""
    from sortiewright.pack import to_si

    if not re.match(r"\s*[-+−]?\.?\d", text):
        example = f", plain ({plain}) or with its unit" if plain else ""
        raise UsageError(f'"{text}" is no number. Write a number{example}')
    return to_si(f"{text} {plain}" if _PLAIN.match(text) else text, si_unit)


def measured(si_unit: str, plain: str) -> Parameter:
    """Return the mark of an argument that is a number with a unit."""
    return argument(partial(quantity, si_unit=si_unit, plain=plain), plain)


def altimeter_setting(text: str) -> float:
    """Return an altimeter setting in Pa: ``1013``, ``29.92``, ``Q1013``, ``A2992``, ``1013.2 hPa``."""
    if match := re.fullmatch(r"([QA])(\d{4})", text.strip().upper()):
        text = match[2] if match[1] == "Q" else f"{match[2][:2]}.{match[2][2:]}"
    if _PLAIN.match(text):
        # The two scales lie far apart, so the number tells which one it is on.
        number = float(text)
        unit = "inHg" if 20.0 <= number <= 35.0 else "hPa" if 800.0 <= number <= 1100.0 else ""
        if not unit:
            raise UsageError(
                f'"{text}" is no altimeter setting. Write 1013, 29.92, or a number with its unit'
            )
        text = f"{text} {unit}"
    return quantity(text, si_unit="Pa", plain="hPa")


def degrees(text: str) -> float:
    """Return an angle in degrees, as compass directions are held."""
    import math

    return math.degrees(quantity(text.removesuffix("°"), si_unit="rad", plain="deg"))


def course(text: str) -> float:
    """Return a compass direction, 0 to 360 degrees."""
    value = degrees(text)
    if not 0.0 <= value <= 360.0:
        raise UsageError(f'"{text}" is no direction: it must be 0 to 360 degrees')
    return value


def runway_heading(text: str) -> float:
    """Return degrees of a heading (``268``) or of a runway's designator (``27L``: 270)."""
    if match := _DESIGNATOR.fullmatch(text.strip()):
        return 10.0 * int(match[1])
    return course(text)


def variation(text: str) -> float:
    """Return a magnetic variation in degrees, east positive: ``3.5E``, ``2W``, ``-2``."""
    cleaned = text.strip().upper()
    if match := re.fullmatch(r"(\d+(?:\.\d+)?)\s*([EW])|([EW])\s*(\d+(?:\.\d+)?)", cleaned):
        size, side = float(match[1] or match[4]), match[2] or match[3]
        return size if side == "E" else -size
    return degrees(text)


def wind(text: str) -> Wind:
    """Return a wind: ``240/15G25``, ``24015G25KT``, ``VRB/05``, ``calm``; knots unless it says MPS or KMH."""
    from sortiewright.air import Wind
    from sortiewright.pack import unit_factor

    cleaned = " ".join(text.upper().split())
    if cleaned in ("CALM", "0"):
        return Wind(0.0, 0.0)
    match = _WIND.fullmatch(cleaned)
    if not match:
        raise UsageError(f'"{text}" is no wind. Write 240/15, 240/15G25, VRB/05 or calm; knots, or 240/8 MPS')
    scale, _ = unit_factor(_SPEED_UNITS[match["unit"] or "KT"], "m/s")

    def number(name: str, size: float = 1.0) -> float | None:
        return float(match[name]) * size if match[name] else None

    direction = None if match["from"] == "VRB" else float(match["from"])
    if direction is not None and direction > 360.0:
        raise UsageError(f'"{text}": a wind comes from 0 to 360 degrees')
    speed = float(match["speed"]) * scale
    return Wind(direction, speed, number("gust", scale), number("low"), number("high"))


class Place(NamedTuple):
    """A point on the earth: degrees, north and east positive; elevation in m where it is known."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation: float | None = None


def place(text: str) -> Place:
    """Return a place: an ICAO code, ``51.47,-0.45``, ``51.47N 0.45W`` or ``N51 28.2 W000 27.0``."""
    cleaned = re.sub("[°'\"′″:]", " ", text.upper()).strip()
    if re.fullmatch(r"[A-Z][A-Z0-9]{3}", cleaned):
        from sortiewright.air import aerodrome_by_icao

        field = aerodrome_by_icao(cleaned)
        return Place(f"{field.icao} {field.name}", field.latitude_deg, field.longitude_deg, field.elevation)
    cleaned = re.sub(r"\s+", " ", cleaned)
    if match := _SUFFIXED.fullmatch(cleaned):
        latitude, longitude = _sexagesimal(match[1], match[2]), _sexagesimal(match[3], match[4])
    elif match := _PREFIXED.fullmatch(cleaned):
        latitude, longitude = _sexagesimal(match[2], match[1]), _sexagesimal(match[4], match[3])
    elif match := _DECIMAL.fullmatch(cleaned):
        latitude, longitude = float(match[1]), float(match[2])
    else:
        raise UsageError(
            f'"{text}" is no place. Write an ICAO code, 51.47,-0.45, "51.47N 0.45W" or "N51 28.2 W000 27.0"'
        )
    if abs(latitude) > 90.0 or abs(longitude) > 180.0:
        raise UsageError(f'"{text}" is off the globe: latitude to 90, longitude to 180, latitude first')
    return Place(position_text(latitude, longitude), latitude, longitude)


def position_text(latitude_deg: float, longitude_deg: float) -> str:
    """Return a position as people write it, to a ten-thousandth of a degree (11 m)."""
    north, east = "N" if latitude_deg >= 0 else "S", "E" if longitude_deg >= 0 else "W"
    return f"{abs(latitude_deg):.4f}{north} {abs(longitude_deg):.4f}{east}"


def day(text: str) -> date:
    """Return a date written as year, month, day."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f'"{text}" is no date. Write year, month and day: 2026-05-14') from None


def today() -> date:
    """Return the day it is in UTC."""
    return datetime.now(UTC).date()


def _sexagesimal(text: str, side: str) -> float:
    parts = [float(part) for part in text.split()]
    if any(part >= 60.0 for part in parts[1:]):
        raise UsageError(f'"{text} {side}": minutes and seconds end at 60')
    value = sum(part / 60**power for power, part in enumerate(parts))
    return -value if side in "SW" else value


Height = Annotated[float, measured("m", "ft")]
Distance = Annotated[float, measured("m", "nmi")]
Arm = Annotated[float, measured("m", "in")]
Speed = Annotated[float, measured("m/s", "kt")]
Temperature = Annotated[float, measured("K", "degC")]
TemperatureDifference = Annotated[float, measured("delta_degC", "degC")]
Mass = Annotated[float, measured("kg", "lb")]
TyrePressure = Annotated[float, measured("Pa", "psi")]
Angle = Annotated[float, measured("rad", "deg")]
Number = Annotated[float, argument(partial(quantity, si_unit="", plain=""), "number")]
AltimeterSetting = Annotated[float, argument(altimeter_setting, "hPa|inHg")]
Course = Annotated[float, argument(course, "deg")]
RunwayHeading = Annotated[float, argument(runway_heading, "deg|designator")]
Variation = Annotated[float, argument(variation, "deg")]
WindText = Annotated[Any, argument(wind, "wind")]
PlaceText = Annotated[Place, argument(place, "place")]
Day = Annotated[date, argument(day, "date")]
