"""What the aircraft can do on today's route: climb, ceilings, cruise, one engine out, turns."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import mach_from_cas, standard_pressure, winds_over
from sortiewright.pack import OutsideTable, Pack
from sortiewright.performance import (
    FlightCases,
    FlightSetup,
    FlightSummary,
    LayeredFlight,
    LoadState,
    ManoeuvreNumbers,
    climb_stretches,
    crossover_altitude,
    flight_setup,
    flight_summary,
    fly_batch,
    layered_batch,
    layered_path,
    make_flight_cases,
    manoeuvre_numbers,
)
from sortiewright.sortie.route_flown import FlownRoute, RouteRow

Floats = NDArray[np.float64]

BELOW_CEILING = 0.93
"""Share of the service ceiling up to which the climb is told: from there it hardly climbs."""
SWEEPS = 3  # mass falls by a few percent and acts on drag due to lift: each leaves a hundredth
RUNNING = ("time", "fuel", "air_distance")
TAKEOFF, MIDWAY = 0, 1
"""Rows of ``FlightNumbers.summary``."""


@dataclass(frozen=True, slots=True)
class ClimbProfile:
    """A climb by the pack's schedule in still air, (k,) from its start: pressure altitude m, time s, fuel kg,
    distance m, NaN from where it does not climb. ``mass`` kg is that at the start."""

    mass: float
    altitude: Floats
    time: Floats
    fuel: Floats
    distance: Floats


@dataclass(frozen=True, slots=True)
class FlightNumbers:
    """The flight's numbers, SI: those of the climb at the weight after takeoff, all others midway.

    ``summary`` has two rows, after takeoff and midway; ``one_engine`` one, midway. Each part is None where it
    could not be computed, with the reason in ``problems`` by the part's name.
    """

    takeoff: RouteRow
    midway: RouteRow
    turning: RouteRow
    """Where height and Mach number of the turns come from: the first exercise, else midway."""
    power: str
    power_title: str
    """Of climb and cruise, as it stands in a sentence: military power."""
    turn_power: str
    climb_cas: float | None
    climb_mach: float | None
    climb: ClimbProfile | None
    summary: FlightSummary | None
    one_engine: FlightSummary | None
    manoeuvres: ManoeuvreNumbers | None
    problems: dict[str, str]


def flight_numbers(pack: Pack, flown: FlownRoute) -> FlightNumbers | None:
    """Return what the aircraft can do along a flown route; None where it does not get off the ground.

    Air is still, and as warm off the standard at every height as in the row that a number is for.
    """
    airborne = [row for row in flown.rows if row.leg >= 0 or row.part == "takeoff"]
    if not airborne:
        return None
    first, middle = airborne[0], _midway(airborne)
    turning = next((row for row in airborne if row.part in ("task", "turn")), middle)
    setup = flight_setup(pack)
    power = pack.engine.military
    most = pack.engine.maximum or power
    problems: dict[str, str] = {}
    summary, one_engine = _summaries(pack, setup, _cases(first, middle), power, problems)
    technique = pack.technique.climb
    climb = None if summary is None else _climb(pack, setup, first, summary, problems)
    return FlightNumbers(
        first,
        middle,
        turning,
        power,
        _power_title(pack, power),
        most,
        None if technique is None else technique.cas,
        None if technique is None else technique.mach,
        climb,
        summary,
        one_engine,
        _manoeuvres(pack, setup, turning, most, problems),
        problems,
    )


def manoeuvres_at(
    pack: Pack,
    load: LoadState,
    mass: float,
    drag_index: float,
    *,
    altitude: float,
    mach: float,
    power: str,
    isa_deviation: float = 0.0,
    setup: FlightSetup | None = None,
) -> ManoeuvreNumbers:
    """Return turns, V-n diagram and excess power with a load; raises as ``manoeuvre_numbers``."""
    cases = make_flight_cases(mass, drag_index=drag_index, isa_deviation=isa_deviation)
    return manoeuvre_numbers(
        pack,
        setup or flight_setup(pack),
        cases,
        altitude=altitude,
        mach=mach,
        power=power,
        stores=hanging_stores(pack, load),
    )


def hanging_stores(pack: Pack, load: LoadState) -> Collection[str]:
    """Return the names of the stores that hang, each once; a rack stays when its stores go."""
    names = (
        name
        for station, carried in load.stores.items()
        for name in carried
        if station not in load.released or pack.stores[name].kind == "rack"
    )
    return tuple(dict.fromkeys(names))


def _power_title(pack: Pack, power: str) -> str:
    title = (pack.engine.settings[power].title or power.replace("_", " ")).lower()
    return title if "power" in title else f"{title} power"


def _midway(rows: list[RouteRow]) -> RouteRow:
    """Return the row at whose end half of the fuel for the route is burnt."""
    half = 0.5 * (rows[0].fuel_aboard + rows[-1].fuel_aboard)
    moving = [row for row in rows if row.part != "release"]
    return min(moving, key=lambda row: abs(row.fuel_aboard - half))


def _cases(*rows: RouteRow) -> FlightCases:
    return make_flight_cases(
        np.array([row.balance.mass for row in rows]),
        drag_index=np.array([row.balance.drag_index for row in rows]),
        isa_deviation=np.array([row.isa_deviation for row in rows]),
    )


def _summaries(
    pack: Pack, setup: FlightSetup, cases: FlightCases, power: str, problems: dict[str, str]
) -> tuple[FlightSummary | None, FlightSummary | None]:
    """Return what the aircraft can do with all engines, and midway with one dead: all in one batch."""
    if pack.engine.count == 1:
        return _summary(pack, setup, cases, power, problems, "summary"), None
    midway = slice(MIDWAY, None)
    dead = np.array([0] * cases.count + [1], dtype=np.intp)
    rows = np.array([*range(cases.count), MIDWAY], dtype=np.intp)
    try:
        found = flight_summary(pack, replace(setup, failed_engines=dead), cases.take(rows), power)
    except OutsideTable:
        # What leaves a table may be one of the two alone.
        one = flight_setup(pack, failed_engines=1)
        return (
            _summary(pack, setup, cases, power, problems, "summary"),
            _summary(pack, one, cases.take(midway), power, problems, "one_engine"),
        )
    return found.take(slice(0, cases.count)), found.take(slice(cases.count, None))


def _summary(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    problems: dict[str, str],
    name: str,
) -> FlightSummary | None:
    try:
        return flight_summary(pack, setup, cases, power)
    except OutsideTable as error:
        problems[name] = str(error)
        return None


def _climb(
    pack: Pack, setup: FlightSetup, first: RouteRow, summary: FlightSummary, problems: dict[str, str]
) -> ClimbProfile | None:
    """Return the climb by the pack's schedule from where the takeoff ends towards the ceiling."""
    technique = pack.technique.climb
    if technique is None:
        return None
    ceiling, start = float(summary.service_ceiling[TAKEOFF]), first.end_altitude
    top = BELOW_CEILING * min(ceiling, float(summary.altitude[-1])) if ceiling == ceiling else 0.0
    if top <= start:
        problems["climb"] = "no climb at this weight"
        return None
    begin = float(mach_from_cas(technique.cas, standard_pressure(start)))
    stretches, _ = climb_stretches(start, begin, top, cas=technique.cas, schedule=technique.mach)
    crossing = np.inf
    if technique.mach is not None and technique.upper_power not in (None, technique.power):
        crossing = float(crossover_altitude(technique.cas, technique.mach))
    still = winds_over((), isa_deviation=first.isa_deviation)
    parts = [
        layered_path(each, still, None, power)
        for power, each in (
            (technique.power, [one for one in stretches if one.to_altitude <= crossing + 1.0]),
            (technique.upper_power or "", [one for one in stretches if one.to_altitude > crossing + 1.0]),
        )
        if each
    ]
    mass, index = first.balance.mass, first.balance.drag_index
    flown: list[LayeredFlight | None] = [None] * len(parts)
    starts = [mass] * len(parts)
    try:
        batch = layered_batch(pack, setup, parts)
        for _ in range(SWEEPS):
            swept = fly_batch(batch, starts, [index] * len(parts), flown)
            flown = list(swept)
            starts = [mass, *(mass - float(np.nan_to_num(one.fuel[-1])) for one in swept[:-1])]
    except OutsideTable as error:
        problems["climb"] = str(error)
        return None
    columns = [part.altitude[1 if number else 0 :] for number, part in enumerate(parts)]
    return ClimbProfile(mass, np.concatenate(columns), *(_run_on(flown, name) for name in RUNNING))


def _run_on(flown: list[LayeredFlight | None], name: str) -> Floats:
    """Return a sum along parts flown one after another."""
    whole = np.zeros(1)
    for one in flown:
        assert one is not None
        values: Floats = getattr(one, name)
        whole = np.concatenate([whole, whole[-1] + values[1:]])
    return whole


def _manoeuvres(
    pack: Pack, setup: FlightSetup, row: RouteRow, power: str, problems: dict[str, str]
) -> ManoeuvreNumbers | None:
    try:
        return manoeuvres_at(
            pack,
            row.load,
            row.balance.mass,
            row.balance.drag_index,
            altitude=row.end_altitude,
            mach=row.mach,
            power=power,
            isa_deviation=row.isa_deviation,
            setup=setup,
        )
    except OutsideTable as error:
        problems["manoeuvres"] = str(error)
        return None
