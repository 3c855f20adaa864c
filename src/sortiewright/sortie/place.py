"""Where and when: field, runway and report of takeoff and landing, each with its key in the file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from sortiewright.pack import key_text
from sortiewright.sortie.schema import AerodromeToday, Sortie, WeatherToday

FIRST_YEAR, LAST_YEAR = 1950, 2100
"""Years in which there are jets to plan for, and almanacs that hold."""

Key = tuple[str | int, ...]
"""Where a value stands in a sortie file: keys and list positions from the top."""


class SortieError(ValueError):
    """A value with which the day cannot be worked out: ``key`` is what to mend, ``hint`` how."""

    def __init__(self, key: Key, read: str, expected: str, hint: str = "") -> None:
        self.key, self.read, self.expected, self.hint = key, read, expected, hint
        said = " ".join(part for part in (read, expected) if part)
        super().__init__(f"{key_text(key)}: {said}" + (f". {hint}" if hint else ""))


@dataclass(frozen=True, slots=True)
class Place:
    """What a sortie says of one field, and the keys under which it says so."""

    field: AerodromeToday
    field_key: Key
    runway: str
    runway_key: Key
    weather: WeatherToday
    weather_key: Key
    time: datetime | None
    """UTC; None where the sortie's date and time make none."""


def takeoff_place(sortie: Sortie) -> Place:
    """Return where the sortie takes off."""
    return Place(
        sortie.aerodrome,
        ("aerodrome",),
        sortie.runway,
        ("runway",),
        sortie.weather,
        ("weather",),
        takeoff_time(sortie),
    )


def landing_place(sortie: Sortie) -> Place:
    """Return where the sortie lands; what its landing place leaves out is the takeoff's."""
    start, place = takeoff_place(sortie), sortie.landing_place
    return Place(
        place.aerodrome or start.field,
        ("landing_place", "aerodrome") if place.aerodrome is not None else start.field_key,
        place.runway or start.runway,
        ("landing_place", "runway") if place.runway is not None else start.runway_key,
        place.weather or start.weather,
        ("landing_place", "weather") if place.weather is not None else start.weather_key,
        start.time,
    )


def takeoff_time(sortie: Sortie) -> datetime | None:
    """Return the takeoff time, UTC, or None where date and time make none (a fault, found at loading)."""
    day, clock = day_of(sortie.date), clock_of(sortie.time)
    return None if day is None or clock is None else datetime.combine(day, clock.time(), UTC)


def day_of(text: str) -> datetime | None:
    """Return the day that a text such as 2026-05-14 names, or None."""
    # A pattern, as strptime asks for the language of the machine each time.
    if (written := re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", text.strip(), re.ASCII)) is None:
        return None
    try:
        day = datetime(int(written[1]), int(written[2]), int(written[3]))
    except ValueError:
        return None
    return day if FIRST_YEAR <= day.year <= LAST_YEAR else None


def clock_of(text: str) -> datetime | None:
    """Return the time of day that a text such as 09:40Z, 09:40 or 0940Z names, or None."""
    plain = text.strip().upper().removesuffix("Z")
    if (written := re.fullmatch(r"(\d\d):?(\d\d)", plain, re.ASCII)) is None:
        return None
    hours, minutes = int(written[1]), int(written[2])
    return datetime(1900, 1, 1, hours, minutes) if hours < 24 and minutes < 60 else None
