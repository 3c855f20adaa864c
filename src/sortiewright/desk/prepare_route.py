"""The route: its legs in order, its points on a plain chart, the winds aloft, and the way home."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sortiewright.desk.editing import Edit, EditError, Plain
from sortiewright.desk.prepare_fields import NUMBER, Choice, Field, Form, quantity_text
from sortiewright.desk.route_chart import Chart, chart_of
from sortiewright.sortie import FlownRoute, Kind, Plan, System, clock, show

LENGTH_UNITS: dict[System, str] = {"trade": "ft", "si": "m"}
SPEED_UNITS: dict[System, str] = {"trade": "kt", "si": "m/s"}
SPEEDS = {"cas": "CAS", "tas": "TAS", "ground_speed": "GS"}
MOST_LEGS = 60
MOST_POINTS = 200
_LEVEL = re.compile(r"FL ?([0-9]{1,3})", re.IGNORECASE)
_MACH = re.compile(rf"(?:M|Mach) ?({NUMBER})|({NUMBER}) ?M", re.IGNORECASE)
_SPEED = re.compile(rf"({NUMBER} ?(?:kt|km/h|m/s)?) ?(CAS|TAS|GS)?", re.IGNORECASE)
ROUTE = ("route",)
LEGS = ("route", "legs")


@dataclass(frozen=True, slots=True)
class LegLine:
    """One leg: what the file says of it, and what comes of it."""

    index: int
    to: Field
    level: str
    arrive_level: str
    speed: str
    arrive: Field
    then: tuple[str, ...]
    results: tuple[tuple[str, str], ...]
    problems: tuple[str, ...]
    is_last: bool


@dataclass(frozen=True, slots=True)
class PointLine:
    """One point of the sortie's own."""

    name: str
    fields: tuple[Field, ...]
    is_used: bool
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WindLine:
    """The wind at one level."""

    index: int
    level: str
    fields: tuple[Field, ...]
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RoutePanel:
    """Everything that the page of the route shows."""

    exists: bool
    legs: tuple[LegLine, ...]
    choices: tuple[Choice, ...]
    points: tuple[PointLine, ...]
    winds: tuple[WindLine, ...]
    recovery: tuple[Field, ...]
    chart: Chart | None
    faults: tuple[str, ...]
    problems: tuple[str, ...]
    length_unit: str


def route_panel(form: Form, plan: Plan | None, units: System) -> RoutePanel:
    """Return the page of the route. ``plan`` is the last that could be made, perhaps of an older text."""
    exists = form.value("route") is not None
    names = form.names("route", "points")
    home = form.text("aerodrome", "icao") or form.text("aerodrome", "name")
    choices = tuple(Choice(name, name) for name in (*names, *((home,) if home else ())))
    flown = plan.route if plan is not None and exists else None
    legs: Sequence[Plain] = form.items(*LEGS) if exists else ()
    used = {form.text(*LEGS, index, "to") for index in range(len(legs))} | {
        form.text("route", "recovery", "fix"),
        form.text("route", "recovery", "alternate", "at"),
    }
    length = LENGTH_UNITS[units]
    return RoutePanel(
        exists,
        tuple(_leg(form, index, len(legs), choices, flown, units) for index in range(len(legs))),
        choices,
        tuple(_point(form, name, name in used) for name in names),
        tuple(_wind(form, index, units) for index in range(len(form.items("route", "winds_aloft")))),
        () if not exists else _recovery(form, choices, units),
        chart_of(_places(form), [form.text(*LEGS, index, "to") for index in range(len(legs))], home, flown),
        () if flown is None else tuple(f"{one.text}. {one.hint}".strip() for one in flown.faults),
        (*form.problems_at("route"), *form.problems_at(*LEGS), *form.problems_at("route", "points")),
        length,
    )


def _recovery(form: Form, choices: tuple[Choice, ...], units: System) -> tuple[Field, ...]:
    at = ("route", "recovery")
    length, mass = LENGTH_UNITS[units], "lb" if units == "trade" else "kg"
    return (
        form.field((*at, "fix"), "Recovery fix", choices=choices, placeholder="the field"),
        form.field((*at, "fix_altitude"), "Height at the fix", unit=length, placeholder="usual"),
        form.field((*at, "fuel"), "Fuel at the fix", unit=mass, placeholder="usual"),
        form.field((*at, "alternate", "at"), "Alternate", choices=choices, placeholder="none"),
    )


def _leg(
    form: Form, index: int, count: int, choices: tuple[Choice, ...], flown: FlownRoute | None, units: System
) -> LegLine:
    at = (*LEGS, index)
    return LegLine(
        index,
        form.field((*at, "to"), f"Leg {index + 1} to", choices=choices, placeholder="a point"),
        level_words(form, at, ""),
        level_words(form, at, "arrive_"),
        speed_words(form, at),
        form.field((*at, "arrive"), "At time, UTC", placeholder="as it comes"),
        tuple(_then_words(one) for one in form.items(*at, "then")),
        () if flown is None else tuple(_results(flown, index, units)),
        form.problems_at(*at, below=True),
        index == count - 1,
    )


def _results(flown: FlownRoute, index: int, units: System) -> Iterator[tuple[str, str]]:
    rows = flown.rows_of_leg(index)
    if not rows:
        return
    course = next((row.magnetic_course_deg for row in rows if math.isfinite(row.magnetic_course_deg)), None)
    if course is not None:
        yield "course", f"{show(course, Kind.COURSE, units).text} M"
    yield "distance", show(sum(row.distance for row in rows), Kind.DISTANCE, units).text
    yield "time", show(sum(row.time for row in rows), Kind.TIME, units).text
    yield "at", clock(rows[-1].at)
    yield "fuel left", show(rows[-1].fuel_aboard, Kind.MASS, units).text


def level_words(form: Form, at: tuple[str | int, ...], prefix: str) -> str:
    """Return the height of a leg or wind as people write it: FL180, 2500 ft."""
    if level := form.text(*at, f"{prefix}flight_level"):
        return f"FL{level.zfill(3)}"
    return form.text(*at, f"{prefix}altitude")


def speed_words(form: Form, at: tuple[str | int, ...]) -> str:
    """Return the speed of a leg as people write it: 450 kt CAS, M0.8, range."""
    if mach := form.text(*at, "mach"):
        return f"M{mach}"
    for key, word in SPEEDS.items():
        if speed := form.text(*at, key):
            return f"{speed} {word}"
    return form.text(*at, "best").replace("_", " ")


def _then_words(action: Plain) -> str:
    """Return what is done at a point in words, as the file has it."""
    if not isinstance(action, Mapping) or not action:
        return "something that is not known"
    name, what = next(iter(action.items()))
    if isinstance(what, Mapping):
        said = ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in what.items())
    else:
        said = what if isinstance(what, str) else ", ".join(str(one) for one in what)
    return f"{name}: {said.replace('_', ' ')}"


def _point(form: Form, name: str, is_used: bool) -> PointLine:
    at = ("route", "points", name)
    fields = (
        form.field((*at, "latitude"), "Latitude"),
        form.field((*at, "longitude"), "Longitude"),
        form.field((*at, "title"), "What it is"),
    )
    return PointLine(name, fields, is_used, form.problems_at(*at))


def _wind(form: Form, index: int, units: System) -> WindLine:
    at = ("route", "winds_aloft", index)
    fields = (
        form.field((*at, "wind_from"), "From, true", unit="deg"),
        form.field((*at, "wind_speed"), "Speed", unit=SPEED_UNITS[units]),
        form.field((*at, "temperature"), "Temperature", unit="degC", placeholder="standard"),
    )
    return WindLine(index, level_words(form, at, ""), fields, form.problems_at(*at))


def _places(form: Form) -> dict[str, tuple[float, float]]:
    """Return latitude and longitude of the sortie's points and of its field, where they are numbers."""
    found: dict[str, tuple[float, float]] = {}
    own = form.text("aerodrome", "icao") or form.text("aerodrome", "name")
    wanted = [(name, ("route", "points", name)) for name in form.names("route", "points")]
    for name, at in [*wanted, *(((own, ("aerodrome",)),) if own else ())]:
        try:
            latitude, longitude = float(form.text(*at, "latitude")), float(form.text(*at, "longitude"))
        except ValueError:
            continue
        if abs(latitude) <= 90.0 and abs(longitude) <= 180.0:
            found[name] = (latitude, longitude)
    return found


def level_edits(at: tuple[str | int, ...], prefix: str, value: str, unit: str) -> list[Edit]:
    """Return the edits that write a height: FL180, 2500 ft, a bare number in ``unit``, or empty."""
    altitude, level = (*at, f"{prefix}altitude"), (*at, f"{prefix}flight_level")
    if found := _LEVEL.fullmatch(value):
        return [Edit("remove", altitude), Edit("put", level, str(int(found[1])))]
    if not value:
        return [Edit("remove", altitude), Edit("remove", level)]
    return [Edit("remove", level), Edit("put", altitude, quantity_text(value, unit))]


def speed_edits(at: tuple[str | int, ...], value: str, unit: str) -> list[Edit]:
    """Return the edits that write a speed: 450 kt CAS, 480 TAS, 420 GS, M0.8, range, endurance, or empty."""
    keys = ("mach", *SPEEDS, "best")
    best = value.lower().replace(" ", "_")
    if not value:
        put = None
    elif best in ("range", "ground_range", "endurance"):
        put = ("best", best)
    elif found := _MACH.fullmatch(value):
        put = ("mach", found[1] or found[2])
    elif found := _SPEED.fullmatch(value):
        key = next((key for key, word in SPEEDS.items() if word == (found[2] or "CAS").upper()), "cas")
        put = (key, quantity_text(found[1], unit))
    else:
        raise EditError(
            f"{value[:40]} is no speed. Write 450 kt CAS, 480 TAS, 420 GS, M0.8, range or endurance."
        )
    # What replaces a value stands at its place; the others go.
    gone = [Edit("remove", (*at, key)) for key in keys if put is None or key != put[0]]
    return gone if put is None else [*gone, Edit("put", (*at, put[0]), put[1])]


def leg_edits(form: Form, act: str, index: int, value: str, unit: str) -> tuple[list[Edit], str]:
    """Return the edits of one act with the legs. Raises ``EditError``."""
    legs = form.items(*LEGS)
    here, named = (*LEGS, index), f"leg {index + 1}"
    home = form.text("aerodrome", "icao") or form.text("aerodrome", "name")
    if act == "begin":
        if not home:
            raise EditError("Name the field first, under Field and weather.")
        return [Edit("put", ROUTE, {"legs": [{"to": home}]})], "a route"
    if act == "forget":
        return [Edit("remove", ROUTE)], "no route"
    if act == "add":
        if not value or len(legs) >= MOST_LEGS:
            raise EditError(
                "Choose where the new leg leads." if not value else "A route has 60 legs at most."
            )
        return [Edit("insert", (*LEGS, len(legs)), {"to": value})], f"a leg to {value}"
    if not 0 <= index < len(legs):
        raise EditError("There is no such leg.")
    match act:
        case "remove":
            if len(legs) == 1:
                raise EditError("A route needs one leg. Remove the route instead.")
            return [Edit("remove", here)], f"{named} removed"
        case "earlier":
            return [Edit("move", here, to=index - 1)], f"{named} earlier"
        case "later":
            return [Edit("move", here, to=index + 1)], f"{named} later"
        case "before":
            return [Edit("insert", here, {"to": value or home})], f"a leg before {named}"
        case "level":
            return level_edits(here, "", value, unit), f"{named} at {value or 'the height before'}"
        case "arrive_level":
            return level_edits(here, "arrive_", value, unit), f"{named} arrives at {value or 'its height'}"
        case "speed":
            return speed_edits(here, value, unit), f"{named} at {value or 'the usual speed'}"
        case _:
            raise EditError("That cannot be done with a leg.")


def then_edits(form: Form, index: int, at: int) -> tuple[list[Edit], str]:
    """Return the edits that leave out something done at the end of a leg."""
    if not 0 <= at < len(form.items(*LEGS, index, "then")):
        raise EditError("That is not done there any more.")
    return [Edit("remove", (*LEGS, index, "then", at))], f"less to do after leg {index + 1}"


def point_edits(form: Form, act: str, name: str, place: Sequence[str]) -> tuple[list[Edit], str]:
    """Return the edits that add or remove a point. Raises ``EditError``."""
    names = form.names("route", "points")
    if act == "remove" and name in names:
        return [Edit("remove", ("route", "points", name))], f"no point {name}"
    if act != "add":
        raise EditError("That cannot be done with a point.")
    wanted = name.upper()
    if not re.fullmatch(r"[A-Z][A-Z0-9 _-]{0,19}", wanted):
        raise EditError("Name the point with letters and digits, 20 at most.")
    if wanted in names or len(names) >= MOST_POINTS:
        raise EditError(
            f"There is a point {wanted} already." if wanted in names else "Those are points enough."
        )
    if form.value("route") is None:
        raise EditError("Begin a route first.")
    said = {"latitude": place[0], "longitude": place[1]}
    if any(not re.fullmatch(NUMBER, one) for one in said.values()):
        raise EditError("Write latitude and longitude in degrees: 56.25 and -5.08.")
    return [Edit("put", ("route", "points", wanted), said)], f"point {wanted}"


def wind_edits(form: Form, act: str, index: int, value: str, unit: str) -> tuple[list[Edit], str]:
    """Return the edits of one act with the winds aloft. Raises ``EditError``."""
    at = ("route", "winds_aloft")
    winds = form.items(*at)
    if act == "add":
        new: dict[str, Plain] = {"flight_level": "100", "wind_from": "270 deg", "wind_speed": "20 kt"}
        return [Edit("insert", (*at, len(winds)), new)], "a further wind aloft"
    if not 0 <= index < len(winds):
        raise EditError("There is no such wind.")
    if act == "remove":
        return [Edit("remove", (*at, index))], "one wind aloft less"
    if act == "level":
        return level_edits((*at, index), "", value, unit), f"wind at {value}"
    raise EditError("That cannot be done with a wind.")
