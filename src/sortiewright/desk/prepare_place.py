"""The fields of takeoff and landing, their runways, and the weather there."""

from __future__ import annotations

from dataclasses import dataclass

from sortiewright.desk.editing import Path
from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.prepare_place_edits import LANDING, TAKEOFF, runway_key
from sortiewright.desk.prepare_words import LENGTH_UNITS, SPEED_UNITS, heading_words, worded_field
from sortiewright.desk.weather_words import Lines, decoded
from sortiewright.sortie import System


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
class FieldCard:
    """A field: ``name`` says to forms which, takeoff or landing."""

    name: str
    code: Field
    place: tuple[Field, ...]
    runways: tuple[RunwayCard, ...]
    problems: tuple[str, ...]
    runway_problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeatherCard:
    """A report as it is written and as it is read, and what is written instead of it."""

    report: Field
    decoded_id: str
    lines: Lines
    remarks: tuple[str, ...]
    report_problem: str
    instead: tuple[Field, ...]
    problems: tuple[str, ...]
    is_given: bool


@dataclass(frozen=True, slots=True)
class PlacePanel:
    """Everything that the page of field and weather shows."""

    takeoff: FieldCard
    weather: WeatherCard
    landing: FieldCard | None
    """The field of the landing, where that is another one."""
    landing_runway: Field
    landing_weather: WeatherCard
    landing_problems: tuple[str, ...]
    length_unit: str


def place_panel(form: Form, units: System) -> PlacePanel:
    """Return the page of field and weather."""
    elsewhere = form.value(*LANDING) is not None
    at = LANDING if elsewhere else TAKEOFF
    designators = [
        form.text(*at, "runways", index, "designator") for index in range(len(form.items(*at, "runways")))
    ]
    runways = tuple(Choice(one, one) for one in designators if one)
    return PlacePanel(
        _field(form, TAKEOFF, "takeoff", units),
        _weather(form, ("weather",), "", "as reported", units),
        _field(form, LANDING, "landing", units) if elsewhere else None,
        form.field(runway_key(LANDING), "Runway", choices=runways, placeholder="as takeoff"),
        _weather(form, ("landing_place", "weather"), "-landing", "as reported", units),
        form.rest_at("landing_place"),
        LENGTH_UNITS[units],
    )


def _field(form: Form, at: Path, name: str, units: System) -> FieldCard:
    length = LENGTH_UNITS[units]
    return FieldCard(
        name,
        form.field((*at, "icao"), "ICAO code"),
        (
            form.field((*at, "name"), "Name"),
            form.field((*at, "latitude"), "Latitude, north +", placeholder="by the code"),
            form.field((*at, "longitude"), "Longitude, east +", placeholder="by the code"),
            form.field((*at, "elevation"), "Elevation", unit=length, placeholder="by the code"),
            form.field((*at, "variation"), "Variation, east +", unit="deg", placeholder="by the model"),
        ),
        tuple(_runway(form, at, index, length) for index in range(len(form.items(*at, "runways")))),
        form.problems_at(*at),
        (*form.problems_at(*runway_key(at)), *form.rest_at(*at, "runways")),
    )


def _weather(form: Form, at: Path, mark: str, usual: str, units: System) -> WeatherCard:
    speed = SPEED_UNITS[units]
    lines, remarks, problem = decoded(form.text(*at, "metar"), units)
    report = form.field((*at, "metar"), "Weather report (METAR)", control="area")
    instead = tuple(
        form.field((*at, key), title, unit=unit, placeholder=usual)
        for key, title, unit in (
            ("wind_from", "Wind from, true", "deg"),
            ("wind_speed", "Wind speed", speed),
            ("gust", "Gust", speed),
            ("temperature", "Temperature", "degC"),
            ("qnh", "QNH", "hPa"),
        )
    )
    given = form.value(*at) is not None
    said = "" if report.problems else problem
    return WeatherCard(report, f"decoded{mark}", lines, remarks, said, instead, form.problems_at(*at), given)


def _runway(form: Form, field: Path, index: int, length: str) -> RunwayCard:
    at = (*field, "runways", index)
    designator = form.text(*at, "designator")
    main = (
        form.field((*at, "designator"), "Designator"),
        worded_field(form, at, "heading", "Heading, T or M", "", "258 T"),
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
        form.field((*at, "surface"), "Pavement", placeholder="concrete"),
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
        designator != "" and designator == form.text(*runway_key(field)),
        ", ".join(part for part in (form.text(*at, "length"), heading_words(form, at)) if part),
        main,
        more,
        cables,
        form.rest_at(*at),
        len(form.items(*field, "runways")) == 1,
    )
