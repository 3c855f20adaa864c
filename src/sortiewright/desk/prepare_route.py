"""The route as its page shows it: legs, the one that is chosen, points on a chart, winds, the way home."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sortiewright.air import UnknownAerodrome, aerodrome_by_icao
from sortiewright.desk.editing import Path
from sortiewright.desk.prepare_doings import DoingCard, doing_cards, doing_words, power_choices
from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.prepare_route_edits import LEGS, POINTS, home_of, next_name, uses
from sortiewright.desk.prepare_way_home import (
    WindLine,
    alternate_fields,
    climb_fields,
    home_fields,
    wind_lines,
    wind_words,
)
from sortiewright.desk.prepare_words import (
    LENGTH_UNITS,
    SPEED_UNITS,
    level_words,
    place_words,
    speed_words,
    worded_field,
)
from sortiewright.desk.route_chart import Chart, chart_of
from sortiewright.pack import Pack
from sortiewright.sortie import FlownRoute, Kind, Plan, System, clock, show

_CHOSEN_PIN = re.compile(r"at(-?[0-9]{1,3}(?:\.[0-9]{1,6})?)_(-?[0-9]{1,3}(?:\.[0-9]{1,6})?)")
Places = dict[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class LegLine:
    """One leg as a line of the flight log: what the file says of it, and what comes of it."""

    index: int
    to: str
    level: str
    arrive_level: str
    speed: str
    arrive: str
    then: tuple[str, ...]
    results: Mapping[str, tuple[str, str]]
    """Number and unit by what it is: course, distance, time, at, fuel."""
    problems: tuple[str, ...]
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class LegCard:
    """The leg that was chosen: everything the file may say of it."""

    index: int
    fields: tuple[Field, ...]
    more: tuple[Field, ...]
    doings: tuple[DoingCard, ...]
    problems: tuple[str, ...]
    in_place: bool
    """Whether it leads to a point without a name."""
    is_first: bool
    is_last: bool
    is_only: bool


@dataclass(frozen=True, slots=True)
class PointLine:
    """A point that a leg may lead to; ``is_own`` where the sortie's route names and places it."""

    name: str
    title: str
    place: str
    legs: tuple[int, ...]
    is_own: bool
    is_chosen: bool
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PointCard:
    """The point that was chosen."""

    name: str
    place: str
    fields: tuple[Field, ...]
    uses: tuple[str, ...]
    problems: tuple[str, ...]
    is_own: bool


@dataclass(frozen=True, slots=True)
class Pin:
    """A place on the chart where there is no point yet."""

    latitude: str
    longitude: str
    words: str


@dataclass(frozen=True, slots=True)
class RoutePanel:
    """Everything that the page of the route shows."""

    exists: bool
    legs: tuple[LegLine, ...]
    leg: LegCard | None
    points: tuple[PointLine, ...]
    point: PointCard | None
    pin: Pin | None
    choices: tuple[Choice, ...]
    wheres: tuple[Choice, ...]
    """Places in the order of legs: before each, and last."""
    where: str
    """The usual one: before the last leg, which leads home."""
    leads_nowhere: bool
    """Whether it has but one leg, from the field to the field: it was begun without a point."""
    new_name: str
    winds: tuple[WindLine, ...]
    wind_words: str
    home: tuple[Field, ...]
    alternate: tuple[Field, ...]
    climb: tuple[Field, ...]
    chart: Chart | None
    faults: tuple[str, ...]
    problems: tuple[str, ...]
    home_problems: tuple[str, ...]
    total: str
    units: Mapping[str, str]
    """Units of the legs' results by what they are."""
    length_unit: str


def route_panel(form: Form, pack: Pack | None, plan: Plan | None, units: System, chosen: str) -> RoutePanel:
    """Return the page of the route. ``plan`` is the last that could be made, perhaps of an older text.

    ``chosen`` is ``leg-3`` (the third), ``point-GARVEL``, or a place of the chart: ``at56.25_-5.08``.
    """
    exists = form.value("route") is not None
    home = home_of(form)
    flown = plan.route if plan is not None and exists else None
    legs = range(len(form.items(*LEGS)) if exists else 0)
    order = [_to(form, index) for index in legs]
    places = _places(form, order, home)
    lines = _points(form, places, order, chosen.removeprefix("point-") if chosen.startswith("point-") else "")
    choices = tuple(Choice(line.name, line.name) for line in lines)
    at_leg = int(chosen[4:]) - 1 if re.fullmatch(r"leg-[0-9]{1,3}", chosen) else -1
    leg = _leg_card(form, at_leg, len(legs), choices, pack, units) if at_leg in legs else None
    point = next((_point_card(form, line) for line in lines if line.is_chosen), None)
    pin = _pin(chosen) if exists else None
    return RoutePanel(
        exists,
        tuple(_leg_line(form, index, flown, units, pack, is_chosen=index == at_leg) for index in legs),
        leg,
        lines,
        point,
        pin,
        choices,
        (
            *(Choice(str(index), f"before leg {index + 1}, to {order[index]}") for index in legs),
            Choice("", "last"),
        ),
        str(len(legs) - 1) if legs else "",
        order == [home],
        next_name(form),
        wind_lines(form, units),
        wind_words(form),
        home_fields(form, choices, units) if exists else (),
        alternate_fields(form, choices, units) if exists else (),
        climb_fields(form, pack, units) if exists else (),
        chart_of(
            places,
            order,
            home,
            flown,
            chosen_leg=at_leg,
            chosen_point="" if point is None else point.name,
            pin=None if pin is None else (float(pin.latitude), float(pin.longitude)),
        ),
        tuple(_fault(one.text, one.hint) for one in flown.faults if one.leg not in legs) if flown else (),
        (*form.problems_at("route"), *form.problems_at(*LEGS), *form.problems_at(*POINTS)),
        form.rest_at("route", "recovery"),
        _total(flown, units),
        {name: unit for name, (_, unit) in _results(flown, 0, units)} if flown else {},
        LENGTH_UNITS[units],
    )


def _to(form: Form, index: int) -> str:
    """Return where a leg leads, by name; a point that is written in place is named by where it lies."""
    at = (*LEGS, index, "to")
    if name := form.text(*at):
        return name
    place = _position(form, at)
    return form.text(*at, "title") or ("a point" if place is None else place_words(*place))


def _position(form: Form, at: Path) -> tuple[float, float] | None:
    try:
        latitude, longitude = float(form.text(*at, "latitude")), float(form.text(*at, "longitude"))
    except ValueError:
        return None
    return (latitude, longitude) if abs(latitude) <= 90.0 and abs(longitude) <= 180.0 else None


def _places(form: Form, order: Sequence[str], home: str) -> Places:
    """Return latitude and longitude of every place that the chart shows, where they are known."""
    wanted: list[tuple[str, Path]] = [(name, (*POINTS, name)) for name in form.names(*POINTS)]
    for at in (("aerodrome",), ("landing_place", "aerodrome")):
        if name := form.text(*at, "icao") or form.text(*at, "name"):
            wanted.append((name, at))
    wanted += [
        (name, (*LEGS, index, "to")) for index, name in enumerate(order) if not form.text(*LEGS, index, "to")
    ]
    found: Places = {}
    for name, at in wanted:
        if (place := _position(form, at)) is not None:
            found.setdefault(name, place)
    others = [
        home,
        *order,
        form.text("route", "recovery", "fix"),
        form.text("route", "recovery", "alternate", "at"),
    ]
    for name in others:
        if re.fullmatch(r"[A-Z0-9]{4}", name) and name not in found:
            try:
                field = aerodrome_by_icao(name)
            except UnknownAerodrome:
                continue
            found[name] = (field.latitude_deg, field.longitude_deg)
    return found


def _points(form: Form, places: Places, order: Sequence[str], chosen: str) -> tuple[PointLine, ...]:
    own = form.names(*POINTS)
    in_place = [name for index, name in enumerate(order) if not form.text(*LEGS, index, "to")]
    others = [name for name in places if name not in own and name not in in_place]
    return tuple(
        PointLine(
            name,
            form.text(*POINTS, name, "title") if name in own else "field",
            place_words(*places[name]) if name in places else "nowhere yet",
            tuple(index + 1 for index, one in enumerate(order) if one == name),
            name in own,
            name == chosen,
            form.problems_at(*POINTS, name, below=True) if name in own and name != chosen else (),
        )
        for name in (*own, *others)
    )


def _point_card(form: Form, line: PointLine) -> PointCard:
    at = (*POINTS, line.name)
    fields = (
        form.field((*at, "latitude"), "Latitude", hint="56.25 or 56 15.0 N"),
        form.field((*at, "longitude"), "Longitude", hint="-5.08 or 5 04.8 W"),
        form.field((*at, "title"), "What it is"),
    )
    own = line.is_own
    problems = form.rest_at(*at) if own else ()
    return PointCard(line.name, line.place, fields if own else (), uses(form, line.name), problems, own)


def _pin(chosen: str) -> Pin | None:
    found = _CHOSEN_PIN.fullmatch(chosen)
    if found is None:
        return None
    latitude, longitude = float(found[1]), float(found[2])
    if abs(latitude) > 90.0 or abs(longitude) > 180.0:
        return None
    return Pin(f"{latitude:.4f}", f"{longitude:.4f}", place_words(latitude, longitude))


def _leg_line(
    form: Form, index: int, flown: FlownRoute | None, units: System, pack: Pack | None, *, is_chosen: bool
) -> LegLine:
    at = (*LEGS, index)
    spoilt = [] if flown is None else [_fault(one.text, one.hint) for one in flown.faults if one.leg == index]
    return LegLine(
        index,
        _to(form, index),
        level_words(form, at, ""),
        level_words(form, at, "arrive_"),
        speed_words(form, at),
        form.text(*at, "arrive"),
        doing_words(form, index, pack),
        {} if flown is None else dict(_results(flown, index, units)),
        (*(() if is_chosen else form.rest_at(*at)), *spoilt),
        is_chosen,
    )


def _fault(text: str, hint: str) -> str:
    return f"{text}. {hint}".strip()


def _results(flown: FlownRoute, index: int, units: System) -> Iterator[tuple[str, tuple[str, str]]]:
    rows = flown.rows_of_leg(index)
    if not rows:
        return
    course = next((row.magnetic_course_deg for row in rows if math.isfinite(row.magnetic_course_deg)), None)
    if course is not None:
        yield "course", (show(course, Kind.COURSE, units).text, "M")
    for name, value, kind in (
        ("distance", sum(row.distance for row in rows), Kind.DISTANCE),
        ("time", sum(row.time for row in rows), Kind.TIME),
    ):
        yield name, (show(value, kind, units).number, show(value, kind, units).unit)
    yield "at", (clock(rows[-1].at), "")
    left = show(rows[-1].fuel_aboard, Kind.MASS, units)
    yield "fuel", (left.number, left.unit)


def _total(flown: FlownRoute | None, units: System) -> str:
    if flown is None or not flown.rows or not flown.complete:
        return ""
    distance = show(math.fsum(row.distance for row in flown.rows), Kind.DISTANCE, units).text
    return f"{distance}, {show(flown.rows[-1].elapsed, Kind.TIME, units).text} from brake release"


def _leg_card(
    form: Form, index: int, count: int, choices: tuple[Choice, ...], pack: Pack | None, units: System
) -> LegCard:
    at = (*LEGS, index)
    in_place = isinstance(form.value(*at, "to"), Mapping)
    length, speed = LENGTH_UNITS[units], SPEED_UNITS[units]
    to = (
        (
            form.field((*at, "to", "latitude"), "To latitude"),
            form.field((*at, "to", "longitude"), "To longitude"),
        )
        if in_place
        else (form.field((*at, "to"), "To", choices=choices, placeholder="a point"),)
    )
    fields = (
        *to,
        worded_field(form, at, "level", "Fly at", length, "needed" if index == 0 else "as before"),
        worded_field(form, at, "arrive_level", "Arrive at", length, "the same"),
        worded_field(form, at, "speed", "Speed", speed, "usual"),
        form.field((*at, "arrive"), "Time on target, UTC", placeholder="as it comes"),
    )
    more = (
        form.field(
            (*at, "climb_power"), "Power of the climb", choices=power_choices(pack), placeholder="usual"
        ),
        form.field((*at, "speedbrake"), "Speedbrake", unit="%", placeholder="0"),
    )
    doings = doing_cards(form, index, pack, units)
    last = index == count - 1
    return LegCard(index, fields, more, doings, form.rest_at(*at), in_place, index == 0, last, count == 1)
