"""The one call that yields every number of a sortie."""

from __future__ import annotations

import re

from sortiewright import CAUTION
from sortiewright.pack import LoadedPack, overlay_summary
from sortiewright.sortie.conditions import stop_chute
from sortiewright.sortie.decision import decide, line_check
from sortiewright.sortie.drawings import (
    balance_points,
    curves,
    envelope_corners,
    load_lines,
    runway_picture,
)
from sortiewright.sortie.figures import Plan, Section
from sortiewright.sortie.numbers import Numbers, compute
from sortiewright.sortie.schema import Sortie
from sortiewright.sortie.section_day import field_section, loading_section, run_up_section, weather_section
from sortiewright.sortie.section_failure import engine_failure_section
from sortiewright.sortie.section_flight import flight_section
from sortiewright.sortie.section_fuel import fuel_section
from sortiewright.sortie.section_landing import landing_cases, landing_section
from sortiewright.sortie.section_route import route_section
from sortiewright.sortie.section_takeoff import takeoff_section
from sortiewright.sortie.uncertainty import with_bounds
from sortiewright.sortie.verdict import reasons_for, verdict_of
from sortiewright.sortie.verdict_route import route_remarks


def plan(sortie: Sortie, loaded: LoadedPack) -> Plan:
    """Return every number of the sortie with its method and cautions, and go, caution or no-go with reasons.

    A number that could not be computed says why; it never stops the others. Raises ``SortieError`` or
    ``MetarError`` (both ``ValueError``) where the day itself cannot be read.
    """
    numbers = compute(sortie, loaded.pack)
    decision = decide(numbers)
    line = line_check(numbers, decision) if decision is not None else None
    landings = landing_cases(numbers)
    reasons = reasons_for(numbers, decision, line, landings)
    widths = numbers.takeoff.widths if numbers.takeoff is not None else {}
    sections: list[Section | None] = [
        weather_section(numbers),
        field_section(numbers),
        loading_section(numbers),
        run_up_section(numbers),
        with_bounds(takeoff_section(numbers, line), widths),
        with_bounds(engine_failure_section(numbers, decision), widths),
        route_section(numbers),
        fuel_section(numbers),
        flight_section(numbers),
        with_bounds(landing_section(numbers), numbers.landing_widths),
    ]
    route = numbers.route
    aerodrome = numbers.conditions.aerodrome
    return Plan(
        title=sortie.title,
        callsign=sortie.callsign,
        crew=tuple(
            (seat.title, sortie.crew[name].name if name in sortie.crew else "")
            for name, seat in loaded.pack.mass.seats.items()
        ),
        pack_name=loaded.pack.name,
        pack_title=loaded.pack.title,
        pack_version=loaded.pack.version,
        pack_digest=loaded.digest,
        aerodrome=" ".join(part for part in (aerodrome.name, aerodrome.icao) if part),
        time=f"{sortie.date} {sortie.time}",
        verdict=verdict_of(reasons),
        reasons=reasons,
        sections=tuple(section for section in sections if section is not None),
        load=load_lines(numbers),
        balance=balance_points(numbers),
        envelope=envelope_corners(numbers),
        runway=runway_picture(numbers, decision, line),
        landings=landings,
        curves=curves(numbers),
        remarks=(*_calibrated(loaded), *remarks_of(numbers)),
        caution=CAUTION,
        extra={
            "squadron": sortie.squadron,
            "book_points": len(loaded.pack.book),
            "weather_report": sortie.weather.metar or "",
            "altimeter": _altimeter(sortie),
            "reject_timeline": _reject_timeline(numbers),
        },
        route=None if route is None else route.flown,
        fuel=None if route is None else route.fuel,
        flight=None if route is None else route.flight,
    )


def _calibrated(loaded: LoadedPack) -> tuple[str, ...]:
    """Return what a crew should know of factors in the pack's numbers."""
    if loaded.overlay is None:
        return ()
    return (f"The pack is calibrated: {overlay_summary(loaded.overlay)}",)


def _altimeter(sortie: Sortie) -> str:
    """Return the unit in which the altimeter setting was reported."""
    reported = re.search(r"\sA\d{4}(\s|=|$)", sortie.weather.metar or "")
    return "inHg" if reported and sortie.weather.qnh is None else "hPa"


def _reject_timeline(numbers: Numbers) -> tuple[tuple[str, float], ...]:
    """Return what is done after the event of a rejected takeoff, and at which second."""
    rejected = numbers.technique.rejected
    steps = [("recognised, levers closed", rejected.recognition), ("brakes full", rejected.brakes_on)]
    if rejected.chute_commanded is not None and stop_chute(numbers.sortie, numbers.pack, numbers.conditions):
        steps.append(("chute out", rejected.chute_commanded))
    return tuple(sorted(steps, key=lambda step: step[1]))


def remarks_of(numbers: Numbers) -> tuple[str, ...]:
    """Return what a crew should know of how the numbers came about."""
    remarks = list(numbers.conditions.remarks)
    if numbers.landing_conditions is not numbers.conditions:
        remarks += [f"Landing: {remark}" for remark in numbers.landing_conditions.remarks]
    if "guess" in numbers.conditions.condition_basis:
        remarks.append(f"Runway condition reading is {numbers.conditions.condition_basis}")
    if numbers.loads.landing_fuel_assumed:
        remarks.append("load.landing_fuel is not given: a fifth of takeoff fuel is taken")
    if numbers.sortie.load.start_and_taxi_fuel is None and numbers.sortie.load.taxi_time is None:
        remarks.append("load.taxi_time is not given: takeoff fuel is ramp fuel")
    remarks += route_remarks(numbers)
    limits = numbers.pack.limits
    for name, value in (
        ("crosswind at takeoff", limits.crosswind_takeoff),
        ("tailwind", limits.tailwind),
        ("uneven load at takeoff", limits.asymmetric_moment_takeoff),
        ("brake energy", numbers.pack.wheels.energy_zones or None),
    ):
        if value is None:
            remarks.append(f"Not evaluated, as the pack gives no limit: {name}")
    return tuple(dict.fromkeys(remarks))
