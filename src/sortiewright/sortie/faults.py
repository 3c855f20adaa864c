"""What is wrong with a sortie that its schema cannot see: held against its pack, its field and its report."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

from sortiewright.air import MetarError
from sortiewright.pack import Document, Pack, Problem, choice_hint, readable, shown
from sortiewright.performance import usable_fuel
from sortiewright.sortie.conditions import aerodrome_of, air_of, runway_of, weather_of
from sortiewright.sortie.faults_route import route_faults
from sortiewright.sortie.loading import ground_fuel, ramp_load, stays
from sortiewright.sortie.place import (
    Key,
    Place,
    SortieError,
    clock_of,
    day_of,
    landing_place,
    takeoff_place,
)
from sortiewright.sortie.schema import Sortie


def faults_of(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    """Yield every fault of a sortie, with its line."""
    if day_of(sortie.date) is None:
        yield document.problem(("date",), shown(sortie.date), "is no day", "Write it like this: 2026-05-14")
    if clock_of(sortie.time) is None:
        hint = "Write it in UTC, like this: 09:40Z"
        yield document.problem(("time",), shown(sortie.time), "is no time of day", hint)
    for seat in sortie.crew:
        if seat not in pack.mass.seats:
            yield _unknown(document, ("crew", seat), seat, pack.mass.seats, f"seats of {pack.name}")
    of_load = [*_store_faults(sortie, pack, document), *_fuel_faults(sortie, pack, document)]
    yield from of_load or _burn_faults(sortie, pack, document)
    yield from _technique_faults(sortie, pack, document)
    yield from route_faults(sortie, pack, document)
    start, end = takeoff_place(sortie), landing_place(sortie)
    yield from _place_faults(start, document)
    if (end.field, end.runway, end.weather) != (start.field, start.runway, start.weather):
        yield from _place_faults(end, document)


def _technique_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    choices = sortie.takeoff
    for what, name in (("power", choices.power), ("release_power", choices.release_power)):
        if name is not None and name not in pack.engine.settings:
            yield _unknown(
                document, ("takeoff", what), name, pack.engine.settings, f"settings of {pack.name}"
            )
    for where, name in (("takeoff", choices.configuration), ("landing", sortie.landing.configuration)):
        if name is not None and name not in pack.aero.configurations:
            known = pack.aero.configurations
            yield _unknown(document, (where, "configuration"), name, known, f"configurations of {pack.name}")
    on_speed = sortie.landing.on_speed_angle_of_attack
    name = sortie.landing.configuration or pack.technique.landing.configuration
    configuration = pack.aero.configurations.get(name)
    if on_speed is not None and configuration is not None:
        low, high = configuration.lift.range_of("angle_of_attack")
        if not low <= on_speed <= high or float(configuration.lift(on_speed, 0.2)) <= 0.0:
            key: Key = ("landing", "on_speed_angle_of_attack")
            hint = f"At most {_degrees(high)}"
            yield document.problem(key, _degrees(on_speed), "does not carry the aircraft", hint)
    attitude, ground = choices.takeoff_attitude, pack.airframe.static_ground_attitude
    if attitude is not None and not ground < attitude < 1.0:
        key = ("takeoff", "takeoff_attitude")
        hint = f"The nose is at {_degrees(ground)} on three wheels"
        yield document.problem(key, _degrees(attitude), "is no attitude to lift off in", hint)


def _degrees(radians: float) -> str:
    return f"{math.degrees(radians):.3g} deg"


def _store_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    load = sortie.load
    for name, carried in load.stores.items():
        key: Key = ("load", "stores", name)
        station = pack.mass.stations.get(name)
        if station is None:
            yield _unknown(document, key, name, pack.mass.stations, f"stations of {pack.name}")
            continue
        known = [store for store in carried if store in pack.stores]
        for store in carried:
            if store not in pack.stores:
                yield _unknown(document, key, store, pack.stores, f"stores of {pack.name}")
            elif not _may_hang(pack, store, known, station.carries):
                hint = choice_hint(store, station.carries, "stores this station carries")
                yield document.problem(key, shown(store), f"does not fit on {station.title or name}", hint)
        total = sum(pack.stores[store].mass for store in known)
        total += load.fuel.external.get(name, sum(pack.stores[store].fuel_capacity for store in known))
        if total > station.maximum_load * (1 + 1e-9):
            most = readable(station.maximum_load, "kg")
            yield document.problem(key, readable(total, "kg"), f"is more than this station carries: {most}")
    for index, name in enumerate(load.release_order):
        key = ("load", "release_order", index)
        if name not in load.stores:
            yield _unknown(document, key, name, load.stores, "loaded stations")
        elif name in load.release_order[:index]:
            yield document.problem(key, shown(name), "stands here twice")
        elif kept := stays(pack, load.stores[name]):
            yield document.problem(key, shown(name), "cannot be released", f"{kept} stays on its station")


def _may_hang(pack: Pack, store: str, carried: list[str], allowed: tuple[str, ...]) -> bool:
    """A store hangs on a station that carries it, or on a rack that the station carries."""
    if store in allowed:
        return True
    rack = any(pack.stores[other].kind == "rack" and other in allowed for other in carried if other != store)
    return rack and pack.stores[store].kind != "rack"


def _fuel_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    fuel, tanks = sortie.load.fuel, pack.mass.tanks
    for name, mass in fuel.tanks.items():
        key: Key = ("load", "fuel", "tanks", name)
        if name not in tanks:
            yield _unknown(document, key, name, tanks, f"tanks of {pack.name}")
        elif mass > tanks[name].capacity * (1 + 1e-9):
            yield _too_full(document, key, mass, "the tank holds", tanks[name].capacity)
    capacity, key = sum(tank.capacity for tank in tanks.values()), ("load", "fuel", "total")
    if fuel.total is not None and fuel.total > capacity * (1 + 1e-9):
        yield _too_full(document, key, fuel.total, "the internal tanks hold together", capacity)
    if fuel.total is not None and fuel.tanks:
        yield document.problem(key, "total and tanks", "cannot both be given", "Keep one of them")
    for name, mass in fuel.external.items():
        key = ("load", "fuel", "external", name)
        carried = sortie.load.stores.get(name, ())
        room = sum(pack.stores[store].fuel_capacity for store in carried if store in pack.stores)
        if room == 0.0:
            yield document.problem(key, shown(name), "carries no tank", "Hang a tank there under load.stores")
        elif mass > room * (1 + 1e-9):
            yield _too_full(document, key, mass, "the tank holds", room)


def _too_full(document: Document, key: Key, mass: float, what: str, capacity: float) -> Problem:
    return document.problem(key, readable(mass, "kg"), f"is more than {what}: {readable(capacity, 'kg')}")


def _burn_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    """Yield what is wrong with fuel to be burnt; only for a load that is in order."""
    load = sortie.load
    if load.taxi_time is not None and load.start_and_taxi_fuel is None and pack.mass.taxi_fuel_flow is None:
        hint = "Write start_and_taxi_fuel instead"
        yield document.problem(("load", "taxi_time"), "", f"{pack.name} gives no taxi fuel flow", hint)
    ramp, burnt = ramp_load(sortie, pack), ground_fuel(sortie, pack)
    usable = usable_fuel(pack, ramp)
    if burnt > usable:
        key: Key = ("load", "taxi_time" if load.start_and_taxi_fuel is None else "start_and_taxi_fuel")
        what = f"is more than the usable fuel aboard: {readable(usable, 'kg')}"
        yield document.problem(key, readable(burnt, "kg"), what)
    elif load.landing_fuel is not None:
        key, read = ("load", "landing_fuel"), readable(load.landing_fuel, "kg")
        if load.landing_fuel > ramp.total_fuel - burnt + 1e-6:
            aboard = readable(ramp.total_fuel - burnt, "kg")
            yield document.problem(key, read, f"is more than is aboard at takeoff: {aboard}")
        elif load.landing_fuel < ramp.total_fuel - usable - 1e-6:
            least = readable(ramp.total_fuel - usable, "kg")
            yield document.problem(key, read, f"is less than the unusable fuel: {least}")


def _place_faults(place: Place, document: Document) -> Iterator[Problem]:
    """Yield what is wrong with a field, its runways and its weather, each once."""
    field, key = place.field, place.field_key
    known = [one.designator for one in field.runways]
    name = field.name or field.icao or "this aerodrome"
    if place.runway not in known:
        yield _unknown(document, place.runway_key, place.runway, known, f"runways of {name}")
    for index, one in enumerate(field.runways):
        here: Key = (*key, "runways", index)
        if one.designator in known[:index]:
            yield document.problem((*here, "designator"), shown(one.designator), "stands here twice")
        if (one.true_heading is None) == (one.magnetic_heading is None):
            yield document.problem(here, "", "needs true_heading or magnetic_heading, one of the two")
        elif one.displaced_threshold >= one.length:
            yield document.problem((*here, "displaced_threshold"), "", "leaves no runway to land on")
        else:
            yield from _caught(lambda one=one, here=here: runway_of(one, here, 0.0, 0.0), document)
        if one.start_offset >= one.length:
            yield document.problem((*here, "start_offset"), "", "lies beyond the runway's end")
    if field.icao is None and None in (field.latitude, field.longitude, field.elevation):
        yield document.problem(key, "", "needs icao, or latitude, longitude and elevation")
    elif place.time is not None or field.variation is not None:
        yield from _caught(lambda: aerodrome_of(place, []), document)
    if place.time is not None or place.weather.metar is None:
        yield from _weather_faults(place, document)


def _weather_faults(place: Place, document: Document) -> Iterator[Problem]:
    metar = place.weather.metar
    try:
        weather = weather_of(place, [])
        if place.runway in (known := [one.designator for one in place.field.runways]):
            index = known.index(place.runway)
            elevation = aerodrome_of(place, [])[0].elevation
            key = (*place.field_key, "runways", index)
            air_of(place, runway_of(place.field.runways[index], key, elevation, 0.0), weather)
    except SortieError as error:
        # Faults of the field have been told; only those of the weather and the air are new.
        if error.key[: len(place.weather_key)] == place.weather_key or error.key[-1] == "elevation":
            yield _problem(error, document)
    except MetarError as error:
        read = f"group {shown(error.group)}:" if error.group else shown(metar or "")
        hint = error.hint.rstrip(".")
        yield document.problem((*place.weather_key, "metar"), read, error.problem, hint)


def _caught(work: Callable[[], object], document: Document) -> Iterator[Problem]:
    try:
        work()
    except SortieError as error:
        yield _problem(error, document)


def _problem(error: SortieError, document: Document) -> Problem:
    return document.problem(error.key, error.read, error.expected, error.hint)


def _unknown(document: Document, key: Key, word: str, known: Iterable[str], what: str) -> Problem:
    return document.problem(key, shown(word), f"is none of the {what}", choice_hint(word, list(known), what))
