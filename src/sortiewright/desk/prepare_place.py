"""The field, its runways and the weather there; crew and time; the choices for takeoff and landing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from sortiewright.air import UnknownAerodrome, aerodrome_by_icao, reciprocal_designator
from sortiewright.desk.editing import Edit, EditError
from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.weather_words import Lines, decoded
from sortiewright.pack import Pack
from sortiewright.sortie import Kind, System, show

LENGTH_UNITS: dict[System, str] = {"trade": "ft", "si": "m"}
SPEED_UNITS: dict[System, str] = {"trade": "kt", "si": "m/s"}
MASS_UNITS: dict[System, str] = {"trade": "lb", "si": "kg"}
LONGEST_NAME_OF_FIELD = 80


@dataclass(frozen=True, slots=True)
class RunwayCard:
    """One runway that the sortie writes out: its main fields, the rest, and its cables."""

    index: int
    designator: str
    in_use: bool
    summary: str
    main: tuple[Field, ...]
    more: tuple[Field, ...]
    cables: tuple[tuple[Field, ...], ...]
    problems: tuple[str, ...]
    is_only: bool


@dataclass(frozen=True, slots=True)
class PlacePanel:
    """Everything that the page of field and weather shows."""

    code: Field
    place: tuple[Field, ...]
    runways: tuple[RunwayCard, ...]
    problems: tuple[str, ...]
    report: Field
    lines: Lines
    remarks: tuple[str, ...]
    report_problem: str
    instead: tuple[Field, ...]
    weather_problems: tuple[str, ...]
    landing: tuple[Field, ...]


def place_panel(form: Form, units: System) -> PlacePanel:
    """Return the page of field and weather."""
    length = LENGTH_UNITS[units]
    at = ("aerodrome",)
    lines, remarks, problem = decoded(form.text("weather", "metar"), units)
    landing_field = form.value("landing_place", "aerodrome") is not None
    return PlacePanel(
        code=form.field((*at, "icao"), "ICAO code"),
        place=(
            form.field((*at, "name"), "Name"),
            form.field((*at, "latitude"), "Latitude, north +", placeholder="by the code"),
            form.field((*at, "longitude"), "Longitude, east +", placeholder="by the code"),
            form.field((*at, "elevation"), "Elevation", unit=length, placeholder="by the code"),
            form.field((*at, "variation"), "Variation, east +", unit="deg", placeholder="by the model"),
        ),
        runways=tuple(_runway(form, index, length) for index in range(len(form.items(*at, "runways")))),
        problems=(*form.problems_at(*at), *form.problems_at("runway"), *form.problems_at(*at, "runways")),
        report=form.field(("weather", "metar"), "Weather report (METAR)", control="area"),
        lines=lines,
        remarks=remarks,
        report_problem=problem,
        instead=_instead(form, units),
        weather_problems=form.problems_at("weather"),
        landing=(
            form.field(("landing_place", "runway"), "Runway", placeholder="as takeoff"),
            form.field(("landing_place", "weather", "metar"), "Weather report", placeholder="as takeoff"),
            *((form.field(("landing_place", "aerodrome", "icao"), "Field"),) if landing_field else ()),
        ),
    )


def _instead(form: Form, units: System) -> tuple[Field, ...]:
    speed = SPEED_UNITS[units]
    return tuple(
        form.field(("weather", key), title, unit=unit, placeholder="as reported")
        for key, title, unit in (
            ("wind_from", "Wind from, true", "deg"),
            ("wind_speed", "Wind speed", speed),
            ("gust", "Gust", speed),
            ("temperature", "Temperature", "degC"),
            ("qnh", "QNH", "hPa"),
        )
    )


def _runway(form: Form, index: int, length: str) -> RunwayCard:
    at = ("aerodrome", "runways", index)
    designator = form.text(*at, "designator")
    magnetic = form.value(*at, "magnetic_heading") is not None
    heading = "magnetic_heading" if magnetic else "true_heading"
    main = (
        form.field((*at, "designator"), "Designator"),
        form.field((*at, heading), "Heading, magnetic" if magnetic else "Heading, true", unit="deg"),
        form.field((*at, "length"), "Length", unit=length),
        form.field((*at, "slope"), "Slope, uphill +", unit="%", placeholder="0"),
        form.field((*at, "start_offset"), "Run begins after", unit=length, placeholder="0"),
        form.field((*at, "condition"), "Surface is", placeholder="by the weather"),
        form.field((*at, "runway_condition_reading"), "RCR", placeholder="by the surface"),
        form.field((*at, "overrun"), "Overrun", unit=length, placeholder="0"),
    )
    more = (
        form.field((*at, "displaced_threshold"), "Displaced threshold", unit=length, placeholder="0"),
        form.field((*at, "stopway"), "Stopway", unit=length, placeholder="0"),
        form.field((*at, "clearway"), "Clearway", unit=length, placeholder="0"),
        form.field((*at, "width"), "Width", unit=length, placeholder="not given"),
        form.field((*at, "elevation"), "Elevation", unit=length, placeholder="the field's"),
        form.field((*at, "standing_water"), "Standing water", placeholder="usual: no"),
    )
    cables = tuple(
        (
            form.field((*at, "cables", cable, "name"), "Cable"),
            form.field((*at, "cables", cable, "distance"), "From the start", unit=length),
            form.field((*at, "cables", cable, "rigged"), "Rigged", placeholder="usual: yes"),
        )
        for cable in range(len(form.items(*at, "cables")))
    )
    return RunwayCard(
        index,
        designator or f"runway {index + 1}",
        designator != "" and designator == form.text("runway"),
        ", ".join(part for part in (form.text(*at, "length"), form.text(*at, heading)) if part),
        main,
        more,
        cables,
        form.problems_at(*at, below=True),
        len(form.items("aerodrome", "runways")) == 1,
    )


def aerodrome_edits(code: str) -> tuple[list[Edit], str]:
    """Return the edits that write the field of an ICAO code. Raises ``EditError`` where it is not known."""
    wanted = code.strip().upper()[:8]
    try:
        found = aerodrome_by_icao(wanted)
    except UnknownAerodrome as error:
        near = f" Near it: {', '.join(error.near_codes)}." if error.near_codes else ""
        said = f"{wanted or 'Nothing'} is not in the list of fields.{near}"
        raise EditError(f"{said} Write position and elevation out instead.") from None
    at = ("aerodrome",)
    return [
        Edit("put", (*at, "icao"), wanted),
        Edit("put", (*at, "name"), (found.name or wanted)[:LONGEST_NAME_OF_FIELD]),
        Edit("put", (*at, "latitude"), f"{found.latitude_deg:.5f}"),
        Edit("put", (*at, "longitude"), f"{found.longitude_deg:.5f}"),
        Edit("put", (*at, "elevation"), f"{found.elevation / 0.3048:.0f} ft"),
        Edit("remove", (*at, "variation")),
    ], f"field {wanted}"


def runway_edits(form: Form, action: str, index: int) -> tuple[list[Edit], str]:
    """Return the edits of one act with the runways. Raises ``EditError``."""
    at = ("aerodrome", "runways")
    runways = form.items(*at)
    if action == "add":
        new = {"designator": "36", "true_heading": "360 deg", "length": "8000 ft"}
        return [Edit("insert", (*at, len(runways)), new)], "a further runway"
    if not 0 <= index < len(runways):
        raise EditError("There is no such runway.")
    here, designator = (*at, index), form.text(*at, index, "designator")
    match action:
        case "use":
            return [Edit("put", ("runway",), designator)], f"runway {designator}"
        case "other_end":
            return [
                Edit("insert", (*at, len(runways)), _other_end(form, index))
            ], f"other end of {designator}"
        case "remove":
            if len(runways) == 1:
                raise EditError("A field needs one runway.")
            return [Edit("remove", here)], f"no runway {designator}"
        case "cable":
            cable = {"name": "cable", "distance": "1300 ft"}
            count = len(form.items(*here, "cables"))
            return [Edit("insert", (*here, "cables", count), cable)], f"a cable on {designator}"
        case _:
            raise EditError("That cannot be done with a runway.")


def _other_end(form: Form, index: int) -> dict[str, str]:
    runway = form.value("aerodrome", "runways", index)
    assert isinstance(runway, Mapping)
    said = {key: value for key, value in runway.items() if isinstance(value, str)}
    try:
        made = {"designator": reciprocal_designator(said.get("designator", ""))}
    except ValueError:
        raise EditError("Its designator is none, so the other end has none either.") from None
    for key in ("true_heading", "magnetic_heading"):
        if found := re.match(r"[0-9.]+", said.get(key, "")):
            made[key] = f"{(float(found[0]) + 180) % 360 or 360:g} deg"
    made |= {key: said[key] for key in ("length", "width", "surface", "condition") if key in said}
    if slope := said.get("slope", "").strip():
        made["slope"] = slope[1:] if slope.startswith("-") else f"-{slope.lstrip('+')}"
    return made


def day_fields(
    form: Form, pack: Pack | None, packs: tuple[str, ...], units: System
) -> dict[str, tuple[Field, ...]]:
    """Return the fields of who flies, when and what: by card."""
    flight = tuple(
        form.field((key,), title)
        for key, title in (("callsign", "Callsign"), ("title", "Sortie"), ("squadron", "Squadron"))
    )
    when = (
        form.field(("date",), "Date, UTC", hint="2026-05-14"),
        form.field(("time",), "Brake release, UTC", hint="09:40Z"),
    )
    choices = tuple(Choice(name, name) for name in packs)
    return {"flight": (*flight, form.field(("pack",), "Aircraft", choices=choices)), "when": when} | (
        {} if pack is None else _crew(form, pack, units)
    )


def _crew(form: Form, pack: Pack, units: System) -> dict[str, tuple[Field, ...]]:
    found: dict[str, tuple[Field, ...]] = {}
    for name, seat in pack.mass.seats.items():
        usual = show(seat.standard_mass, Kind.MASS, units, step=1.0).text
        found[seat.title or name] = (
            form.field(("crew", name, "name"), "Name"),
            form.field(
                ("crew", name, "mass"),
                "Weight with kit",
                unit=MASS_UNITS[units],
                placeholder=f"usual {usual}",
            ),
        )
    return found


def choice_fields(form: Form, pack: Pack, units: System) -> dict[str, tuple[Field, ...]]:
    """Return the fields of the choices for takeoff and landing: by card."""
    settings = tuple(Choice(name, one.title or name) for name, one in pack.engine.settings.items())
    flaps = tuple(Choice(name, one.title or name) for name, one in pack.aero.configurations.items())
    usual, landing = pack.technique.takeoff, pack.technique.landing
    speed = SPEED_UNITS[units]

    def titled(choices: tuple[Choice, ...], name: str) -> str:
        return "usual: " + next((one.title for one in choices if one.value == name), name)

    return {
        "Takeoff": (
            form.field(
                ("takeoff", "power"), "Power", choices=settings, placeholder=titled(settings, usual.power)
            ),
            form.field(
                ("takeoff", "release_power"),
                "Power at brake release",
                choices=settings,
                placeholder=titled(settings, usual.release_power or usual.power),
            ),
            form.field(
                ("takeoff", "configuration"),
                "Flaps",
                choices=flaps,
                placeholder=titled(flaps, usual.configuration),
            ),
            form.field(("takeoff", "rotation_speed"), "Rotation speed", unit=speed, placeholder="usual"),
            form.field(("takeoff", "pitch_rate"), "Pitch rate", unit="deg/s", placeholder="usual"),
            form.field(("takeoff", "takeoff_attitude"), "Attitude held", unit="deg", placeholder="usual"),
            form.field(("takeoff", "continue_to"), "Go on counts to", placeholder="usual"),
            form.field(("takeoff", "rejected_with_chute"), "Stop with the chute", placeholder="usual: yes"),
        ),
        "Landing": (
            form.field(
                ("landing", "configuration"),
                "Flaps",
                choices=flaps,
                placeholder=titled(flaps, landing.configuration),
            ),
            form.field(
                ("landing", "on_speed_angle_of_attack"),
                "On-speed angle of attack",
                unit="deg",
                placeholder="usual",
            ),
            form.field(("landing", "stores"), "Stores at landing", placeholder="kept"),
            form.field(("landing", "with_chute"), "With the chute", placeholder="usual: yes"),
        ),
        "Departure": (
            form.field(
                ("requirements", "single_engine_climb_gradient"),
                "Climb gradient on one engine",
                unit="ft/nmi",
                placeholder="none asked",
            ),
            form.field(("notes",), "Notes", control="area"),
        ),
    }
