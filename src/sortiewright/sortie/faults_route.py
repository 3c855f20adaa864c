"""What is wrong with a route beyond its schema: points, choices that exclude each other, stations."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from sortiewright.pack import Document, Pack, Problem, choice_hint, shown
from sortiewright.sortie.loading import stays
from sortiewright.sortie.place import Key, landing_place
from sortiewright.sortie.route_day import climb_schedule, descent_schedule, wind_height
from sortiewright.sortie.route_flown import PlacedPoint
from sortiewright.sortie.route_pieces import route_points
from sortiewright.sortie.route_points import field_point, known_names, placed_point, way_between
from sortiewright.sortie.route_schema import AtPoint, Leg, LevelChoice, PointName, Route, SpeedChoice
from sortiewright.sortie.schema import Sortie

SAME_PLACE = 100.0  # m: two points nearer than this are one
SAME_LEVEL = 1.0  # m
LEAST_LOAD_FACTOR = 1.05  # with less a turn takes minutes: a heading is then held, not turned to
LEAST_BANK, MOST_BANK = math.radians(18.0), math.radians(85.0)
AT_FIX = 1_000.0  # m, within which the last leg ends at the recovery fix


def route_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    """Yield every fault of the sortie's route, with its line; none where it has no route."""
    route = sortie.route
    if route is None:
        return
    yield from _schedule_faults(route, pack, document)
    yield from _wind_faults(route, document)
    unknown = list(_point_faults(sortie, route, document))
    yield from unknown
    if route.legs[0].altitude is None and route.legs[0].flight_level is None:
        hint = "Write altitude or flight_level: the legs after it keep it until they say another"
        yield document.problem(("route", "legs", 0), "", "the first leg needs a height", hint)
    gone: set[str] = set()
    for number, leg in enumerate(route.legs):
        yield from _leg_faults(sortie, pack, leg, ("route", "legs", number), document, gone)
    for key, choice in (
        (("route", "recovery"), route.recovery),
        (("route", "recovery", "alternate"), route.recovery.alternate),
    ):
        if choice is not None:
            yield from _choice_faults(choice, key, document)
    if not unknown:
        yield from _way_faults(sortie, route, document)


def _schedule_faults(route: Route, pack: Pack, document: Document) -> Iterator[Problem]:
    if climb_schedule(pack, route) is None:
        hint = "Write climb_cas: 350 kt there"
        yield document.problem(("route",), pack.name, "has no climb speed (technique.climb)", hint)
    if descent_schedule(pack, route) is None:
        hint = "Write descent_cas: 300 kt there"
        yield document.problem(("route",), pack.name, "has no descent speed (technique.descent)", hint)
    yield from _power_faults(route.climb_power, ("route", "climb_power"), pack, document)


def _wind_faults(route: Route, document: Document) -> Iterator[Problem]:
    heights: list[float] = []
    for number, one in enumerate(route.winds_aloft):
        key: Key = ("route", "winds_aloft", number)
        if (one.altitude is None) == (one.flight_level is None):
            yield document.problem(key, "", "needs altitude or flight_level, one of the two")
            continue
        height = wind_height(one)
        if any(abs(height - other) < SAME_LEVEL for other in heights):
            yield document.problem(key, "", "is at the height of another level")
        heights.append(height)


def _point_faults(sortie: Sortie, route: Route, document: Document) -> Iterator[Problem]:
    named: list[tuple[Key, PointName | None]] = [
        *((("route", "legs", number, "to"), leg.to) for number, leg in enumerate(route.legs)),
        (("route", "recovery", "fix"), route.recovery.fix),
    ]
    if route.recovery.alternate is not None:
        named.append((("route", "recovery", "alternate", "at"), route.recovery.alternate.at))
    for key, name in named:
        if name is not None and placed_point(sortie, name) is None:
            known = known_names(sortie)
            hint = choice_hint(str(name), known, "points of this sortie")
            yield document.problem(key, shown(str(name)), "is no point of the route and no known field", hint)


def _way_faults(sortie: Sortie, route: Route, document: Document) -> Iterator[Problem]:
    """Yield legs that lead nowhere, and a last one that does not end at the recovery fix."""
    try:
        points = route_points(sortie)
    except ValueError:
        return  # the field's place is a fault of its own
    for number in range(len(route.legs)):
        if _apart(points[number], points[number + 1]) < SAME_PLACE:
            key: Key = ("route", "legs", number, "to")
            hint = "What is done at one point is written under then"
            yield document.problem(key, shown(points[number + 1].name), "is where the leg begins", hint)
    fix = placed_point(sortie, route.recovery.fix) if route.recovery.fix is not None else None
    fix = fix or field_point(landing_place(sortie).field)
    last = points[-1]
    if fix is not None and _apart(fix, last) > AT_FIX:
        key = ("route", "legs", len(route.legs) - 1, "to")
        hint = f"End the route at {fix.name}, or write recovery: {{fix: {last.name}}}"
        yield document.problem(key, shown(last.name), f"is not the recovery fix, {fix.name}", hint)


def _leg_faults(
    sortie: Sortie, pack: Pack, leg: Leg, key: Key, document: Document, gone: set[str]
) -> Iterator[Problem]:
    yield from _choice_faults(leg, key, document)
    if leg.arrive_altitude is not None and leg.arrive_flight_level is not None:
        said = "arrive_altitude and arrive_flight_level"
        yield document.problem(key, said, "cannot both be given", "Keep one of them")
    if leg.arrive is not None and (speeds := _speeds(leg)):
        hint = "The speed follows from the time: leave it out, or leave out arrive"
        yield document.problem((*key, "arrive"), f"arrive and {speeds[0]}", "cannot both be given", hint)
    yield from _power_faults(leg.climb_power, (*key, "climb_power"), pack, document)
    for number, done in enumerate(leg.then):
        yield from _done_faults(sortie, pack, done, (*key, "then", number), document, gone)


def _done_faults(
    sortie: Sortie, pack: Pack, done: AtPoint, key: Key, document: Document, gone: set[str]
) -> Iterator[Problem]:
    names = ("orbit", "refuel", "release", "task", "turn")
    given = [name for name in names if getattr(done, name) is not None]
    if len(given) != 1:
        read = " and ".join(given)
        hint = "Write each on a line of its own, in the order they are done" if given else ""
        yield document.problem(key, read, f"needs one of {', '.join(names)}, and one only", hint)
        return
    here: Key = (*key, given[0])
    for choice in (done.orbit, done.refuel, done.task, done.turn):
        if choice is not None:
            yield from _choice_faults(choice, here, document)
            if choice.ground_speed is not None:
                hint = "Write tas, cas or mach"
                yield document.problem((*here, "ground_speed"), "", "means nothing over one point", hint)
    if done.orbit is not None and (done.orbit.time is None) == (done.orbit.until is None):
        yield document.problem(here, "", "needs time or until, one of the two", "time: 10 min")
    if done.refuel is not None and (done.refuel.time is None) == (done.refuel.rate is None):
        hint = "time: 8 min, or rate: 2000 lb/min"
        yield document.problem(here, "", "needs time or rate, one of the two", hint)
    if done.refuel is not None and done.refuel.rate == 0.0:
        yield document.problem((*here, "rate"), "", "must be above zero")
    if done.release is not None:
        yield from _release_faults(sortie, pack, done.release, here, document, gone)
    if done.task is not None:
        if done.task.power is not None and done.task.fuel_flow is not None:
            yield document.problem(here, "power and fuel_flow", "cannot both be given", "Keep one of them")
        yield from _power_faults(done.task.power, (*here, "power"), pack, document)
    if done.turn is not None:
        if done.turn.load_factor is not None and done.turn.bank is not None:
            yield document.problem(here, "load_factor and bank", "cannot both be given", "Keep one of them")
        yield from _power_faults(done.turn.power, (*here, "power"), pack, document)
        if done.turn.heading_change <= 0.0:
            yield document.problem((*here, "heading_change"), "", "must be above zero, to either side")
        if done.turn.load_factor is not None and done.turn.load_factor < LEAST_LOAD_FACTOR:
            read = f"{done.turn.load_factor:g}"
            yield document.problem((*here, "load_factor"), read, f"must be {LEAST_LOAD_FACTOR} or more")
    for bank, least in (
        (done.turn.bank if done.turn is not None else None, LEAST_BANK),
        (done.orbit.bank if done.orbit is not None else None, 0.0),
    ):
        if bank is not None and not least <= bank <= MOST_BANK:
            ends = f"must be {math.degrees(least):.0f} to {math.degrees(MOST_BANK):.0f} deg"
            yield document.problem((*here, "bank"), f"{math.degrees(bank):.3g} deg", ends)


def _release_faults(
    sortie: Sortie, pack: Pack, stations: tuple[str, ...], key: Key, document: Document, gone: set[str]
) -> Iterator[Problem]:
    stores = sortie.load.stores
    for number, name in enumerate(stations):
        here: Key = (*key, number)
        if name not in stores:
            hint = choice_hint(name, list(stores), "loaded stations")
            yield document.problem(here, shown(name), "is none of the loaded stations", hint)
        elif name in gone:
            yield document.problem(here, shown(name), "has let its stores go before")
        elif kept := stays(pack, stores[name]):
            yield document.problem(here, shown(name), "cannot be released", f"{kept} stays on its station")
        gone.add(name)


def _choice_faults(choice: SpeedChoice | LevelChoice, key: Key, document: Document) -> Iterator[Problem]:
    """Yield a speed or a height that is given twice."""
    if isinstance(choice, SpeedChoice) and len(speeds := _speeds(choice)) > 1:
        read = " and ".join(speeds)
        yield document.problem((*key, speeds[1]), read, "cannot both be given", "Keep one of them")
    if isinstance(choice, LevelChoice) and choice.altitude is not None and choice.flight_level is not None:
        read = "altitude and flight_level"
        yield document.problem((*key, "flight_level"), read, "cannot both be given", "Keep one of them")


def _speeds(choice: SpeedChoice) -> list[str]:
    names = ("mach", "cas", "tas", "ground_speed", "best")
    return [name for name in names if getattr(choice, name) is not None]


def _power_faults(name: str | None, key: Key, pack: Pack, document: Document) -> Iterator[Problem]:
    known: Iterable[str] = pack.engine.settings
    if name is not None and name not in pack.engine.settings:
        what = f"settings of {pack.name}"
        hint = choice_hint(name, list(known), what)
        yield document.problem(key, shown(name), f"is none of the {what}", hint)


def _apart(one: PlacedPoint, other: PlacedPoint) -> float:
    return way_between(one, other).distance
