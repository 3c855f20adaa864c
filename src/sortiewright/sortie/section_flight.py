"""Climb, ceilings, cruise and turns in figures."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, isinf, isnan

from sortiewright.performance import BestLevel, FlightSummary, ManoeuvreNumbers
from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.numbers_flight import MIDWAY, TAKEOFF, FlightNumbers

GRID = "largest excess power over Mach number at each height, still air"
LEVEL = "level flight over altitude and Mach number, part power, still air"
TURN = "lift, load factor limits and thrust over Mach number"


def flight_section(numbers: Numbers) -> Section | None:
    """Return what the aircraft can do along the route, None where there is no route flown."""
    route = numbers.route
    if route is None or route.flight is None:
        return None
    flight = route.flight
    figures = [
        *_ceilings(flight),
        *_cruise(flight),
        *_turns(flight.manoeuvres, flight.problems.get("manoeuvres", "")),
    ]
    return Section("flight", "Climb, cruise and turn", tuple(figures))


def _ceilings(flight: FlightNumbers) -> Iterator[Figure]:
    why = flight.problems.get("summary", "")
    for row, when, title in ((TAKEOFF, "takeoff", "after takeoff"), (MIDWAY, "midway", "midway")):
        for name, rate, words in (
            ("service_ceiling", 100, "Service ceiling"),
            ("combat_ceiling", 500, "Combat ceiling"),
        ):
            method = f"{rate} ft/min left at {flight.power_title}. {GRID}"
            yield _ceiling(f"{name}_{when}", f"{words} {title}", flight.summary, name, row, method, why)
    if flight.one_engine is not None or "one_engine" in flight.problems:
        method = f"100 ft/min left with one engine dead. {GRID}"
        why = flight.problems.get("one_engine", "")
        title = "Service ceiling midway, one engine"
        yield _ceiling(
            "one_engine_ceiling", title, flight.one_engine, "service_ceiling", TAKEOFF, method, why
        )


def _ceiling(
    name: str, title: str, summary: FlightSummary | None, which: str, row: int, method: str, why: str
) -> Figure:
    if summary is None:
        return Figure(name, title, None, Kind.LEVEL, problem=why or "not computed")
    value = float(getattr(summary, which)[row])
    if isinf(value):
        top = float(summary.altitude[-1])
        return Figure(name, title, top, Kind.LEVEL, method, cautions=("or more: the tables end there",))
    if isnan(value):
        return Figure(name, title, None, Kind.LEVEL, problem="no height at which it climbs so fast")
    return Figure(name, title, value, Kind.LEVEL, method)


def _cruise(flight: FlightNumbers) -> Iterator[Figure]:
    summary, one = flight.summary, flight.one_engine
    if summary is not None:
        yield from _best("range", "Range midway", summary.range, MIDWAY)
        yield from _best("endurance", "Endurance midway", summary.endurance, MIDWAY)
    if one is not None:
        yield from _best("one_engine_range", "Range, one engine", one.range, TAKEOFF)


def _best(name: str, title: str, best: BestLevel, row: int) -> Iterator[Figure]:
    height = float(best.pressure_altitude[row])
    if not isfinite(height):
        yield Figure(f"{name}_altitude", f"{title}: altitude", None, Kind.LEVEL, problem="no level flight")
        return
    yield Figure(f"{name}_altitude", f"{title}: altitude", height, Kind.LEVEL, LEVEL)
    yield Figure(f"{name}_mach", f"{title}: Mach", float(best.mach[row]), Kind.MACH, LEVEL)
    yield Figure(
        f"{name}_fuel_flow", f"{title}: fuel flow", float(best.fuel_flow[row]), Kind.MASS_FLOW, LEVEL
    )
    if "range" in name:
        yield Figure(
            f"{name}_specific_range", f"{title}: per fuel", float(best.value[row]), Kind.SPECIFIC_RANGE, LEVEL
        )


def _turns(found: ManoeuvreNumbers | None, why: str) -> Iterator[Figure]:
    if found is None:
        yield Figure("corner_speed", "Corner speed", None, Kind.CAS, problem=why or "not computed")
        return
    yield Figure(
        "turn_altitude",
        "Turn numbers are for",
        float(found.altitude[0]),
        Kind.LEVEL,
        "first exercise, or midway",
    )
    yield Figure(
        "turn_mach", "Turn numbers are for Mach", float(found.mach[0]), Kind.MACH, "first exercise, or midway"
    )
    yield _or_none("corner_speed", "Corner speed", float(found.corner.cas[0]), Kind.CAS, TURN)
    held = f"{TURN}, at {found.power_title.lower().removesuffix(' power')} power"
    for name, title, turn, method in (
        ("instantaneous", "Instantaneous turn", found.instantaneous.turn, TURN),
        ("sustained", "Sustained turn", found.sustained.turn, held),
    ):
        yield _or_none(f"{name}_turn_rate", f"{title}: rate", float(turn.rate[0]), Kind.TURN_RATE, method)
        yield _or_none(f"{name}_radius", f"{title}: radius", float(turn.radius[0]), Kind.TURN_RADIUS, method)
        yield _or_none(
            f"{name}_load_factor",
            f"{title}: load factor",
            float(turn.load_factor[0]),
            Kind.LOAD_FACTOR,
            method,
        )
    title = "Excess power, straight"
    yield _or_none("excess_power", title, float(found.energy_rate[0]), Kind.CLIMB_RATE, "(T - D) V / W")
    most = float(found.limits.positive[0])
    if isfinite(most):
        by = found.store_titles.get(str(found.limits.positive_by[0]), "")
        cautions = (f"set by {by}",) if by else ()
        yield Figure(
            "load_factor_limit", "Load factor limit", most, Kind.LOAD_FACTOR, "pack limit", cautions=cautions
        )


def _or_none(name: str, title: str, value: float, kind: Kind, method: str) -> Figure:
    if isfinite(value):
        return Figure(name, title, value, kind, method)
    return Figure(name, title, None, kind, problem="not possible there")
