"""The rest of a route: winds aloft, the way home and to the alternate, how it climbs and descends."""

from __future__ import annotations

from dataclasses import dataclass

from sortiewright.desk.prepare_doings import power_choices
from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.prepare_words import (
    LENGTH_UNITS,
    MASS_UNITS,
    SPEED_UNITS,
    level_words,
    worded_field,
)
from sortiewright.pack import Pack
from sortiewright.sortie import System


@dataclass(frozen=True, slots=True)
class WindLine:
    """The wind at one level."""

    index: int
    level: Field
    fields: tuple[Field, ...]
    problems: tuple[str, ...]


def wind_lines(form: Form, units: System) -> tuple[WindLine, ...]:
    """Return the winds aloft, in the order of the file."""
    return tuple(_wind_line(form, index, units) for index in range(len(form.items("route", "winds_aloft"))))


def _wind_line(form: Form, index: int, units: System) -> WindLine:
    at = ("route", "winds_aloft", index)
    level = worded_field(form, at, "level", "At", LENGTH_UNITS[units])
    fields = (
        form.field((*at, "wind_from"), "From, true", unit="deg"),
        form.field((*at, "wind_speed"), "Speed", unit=SPEED_UNITS[units]),
        form.field((*at, "temperature"), "Temperature", unit="degC", placeholder="standard"),
    )
    return WindLine(index, level, fields, form.rest_at(*at))


def wind_words(form: Form) -> str:
    """Return which levels have winds, in words."""
    levels = [
        level_words(form, ("route", "winds_aloft", index), "")
        for index in range(len(form.items("route", "winds_aloft")))
    ]
    if not levels:
        return "none: still air"
    return f"at {levels[0]}" if len(levels) == 1 else f"{len(levels)} levels, {levels[0]} to {levels[-1]}"


def home_fields(form: Form, choices: tuple[Choice, ...], units: System) -> tuple[Field, ...]:
    """Return the fields of the recovery fix and of the way there."""
    at = ("route", "recovery")
    length = LENGTH_UNITS[units]
    return (
        form.field((*at, "fix"), "Recovery fix", choices=choices, placeholder="the field"),
        form.field((*at, "fix_altitude"), "Height at the fix", unit=length, placeholder="usual"),
        form.field((*at, "fuel"), "Fuel at the fix", unit=MASS_UNITS[units], placeholder="usual"),
        worded_field(form, at, "level", "Fly home at", length, "the best"),
        worded_field(form, at, "speed", "Speed home", SPEED_UNITS[units], "the best"),
    )


def alternate_fields(form: Form, choices: tuple[Choice, ...], units: System) -> tuple[Field, ...]:
    """Return the field of the alternate, and where there is one those of the way there."""
    at = ("route", "recovery", "alternate")
    where = form.field((*at, "at"), "Alternate", choices=choices, placeholder="none")
    if form.value(*at) is None:
        return (where,)
    return (
        where,
        worded_field(form, at, "level", "Fly there at", LENGTH_UNITS[units], "the best"),
        worded_field(form, at, "speed", "Speed", SPEED_UNITS[units], "the best"),
        form.field((*at, "recovery_fuel"), "Fuel left there", unit=MASS_UNITS[units], placeholder="usual"),
    )


def climb_fields(form: Form, pack: Pack | None, units: System) -> tuple[Field, ...]:
    """Return the fields of how the route climbs and descends."""
    speed = SPEED_UNITS[units]
    powers = power_choices(pack)
    return (
        form.field(("route", "climb_power"), "Power of climbs", choices=powers, placeholder="usual"),
        form.field(("route", "climb_cas"), "Climb at CAS", unit=speed, placeholder="usual"),
        form.field(("route", "climb_mach"), "then at Mach", placeholder="usual"),
        form.field(("route", "descent_cas"), "Descend at CAS", unit=speed, placeholder="usual"),
        form.field(("route", "descent_mach"), "from Mach", placeholder="usual"),
    )
