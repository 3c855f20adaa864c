"""Go, caution or no-go: every limit held against its figure, the reasons in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sortiewright.air import hydroplaning_speed
from sortiewright.performance import check_envelope, energy_zone
from sortiewright.sortie.decision import Decision, LineCheck
from sortiewright.sortie.figures import Kind, LandingCase, Reason, Verdict
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.section_failure import gradient_over_ground
from sortiewright.sortie.section_landing import todays_row
from sortiewright.sortie.section_takeoff import takeoff_run_from_release, time_to_cas
from sortiewright.sortie.units import show
from sortiewright.sortie.verdict_load import load_reasons, room_said, said, wind_reasons
from sortiewright.sortie.verdict_route import route_reasons

NO_GO, CAUTION = Verdict.NO_GO, Verdict.CAUTION
# Seconds from lift-off to the gear limit speed: less is worth a word (common practice, no source).
SHORTEST_GEAR_TIME = 8.0


def verdict_of(reasons: tuple[Reason, ...]) -> Verdict:
    """Return the worst of the reasons; go where there are none."""
    found = {reason.severity for reason in reasons}
    return NO_GO if NO_GO in found else CAUTION if CAUTION in found else Verdict.GO


def reasons_for(
    numbers: Numbers, decision: Decision | None, line: LineCheck | None, landings: tuple[LandingCase, ...]
) -> tuple[Reason, ...]:
    """Return every reason against the flight, no-go first, each naming its figure and limit."""
    found = [
        *_missing(numbers),
        *load_reasons(numbers),
        *wind_reasons(numbers),
        *_takeoff_reasons(numbers),
        *_failure_reasons(numbers, decision),
        *_margin_reasons(numbers, decision, line),
        *route_reasons(numbers),
        *_landing_reasons(numbers, landings),
    ]
    return tuple(sorted(found, key=lambda reason: reason.severity != NO_GO))


def _missing(numbers: Numbers) -> Iterator[Reason]:
    for what in numbers.conditions.missing:
        yield Reason(NO_GO, f"Takeoff not computed: {what}")
    if numbers.landing_conditions is not numbers.conditions:
        for what in numbers.landing_conditions.missing:
            yield Reason(NO_GO, f"Landing not computed: {what}")
    start, end = numbers.conditions.stale, numbers.landing_conditions.stale
    if start:
        yield Reason(CAUTION, start[:1].upper() + start[1:], "temperature")
    if end and end != start:
        yield Reason(CAUTION, f"Landing: {end}", "approach_cas")
    if numbers.takeoff is None and not numbers.conditions.missing:
        yield Reason(NO_GO, f"Takeoff not computed: {numbers.takeoff_problem}")
    for problem in numbers.loads.problems:
        yield Reason(NO_GO, problem[0].upper() + problem[1:])


def _takeoff_reasons(numbers: Numbers) -> Iterator[Reason]:
    work = numbers.takeoff
    if work is None:
        return
    run, kind = float(work.takeoff.ground_run[0]), Kind.RUNWAY_DISTANCE
    if not math.isfinite(float(work.setup.nosewheel_lift_off_speed[0])):
        yield Reason(
            NO_GO,
            "The nose will not rise: full aft stick does not lift the nosewheel",
            "nosewheel_lift_off_speed",
        )
        return
    if not math.isfinite(run):
        yield Reason(
            NO_GO,
            "The aircraft does not reach lift-off on any runway",
            "ground_run",
            run,
            takeoff_run_from_release(numbers),
            kind,
        )
        return
    runway = takeoff_run_from_release(numbers)
    if run > runway:
        room = f"{room_said(runway)} of runway from brake release"
        text = f"Ground run {said(run, kind)} is longer than the {room}"
        yield Reason(NO_GO, text, "ground_run", run, runway, kind)
    over = float(work.takeoff.distance_to_screen[0])
    if work.setup.technique.continue_to == "screen" and work.go_available < over < math.inf:
        screen = f"{work.setup.technique.screen_height / 0.3048:.0f} ft"
        room = room_said(work.go_available)
        text = f"Distance to {screen}, {said(over, kind)}, is more than the {room} available"
        yield Reason(NO_GO, text, "distance_to_screen", over, work.go_available, kind)
    if not math.isfinite(float(work.takeoff.distance_to_screen[0])):
        yield Reason(NO_GO, "Lifts off but does not climb to the screen height", "distance_to_screen")
    planned, nose = float(work.setup.planned_rotation_cas[0]), float(work.takeoff.nosewheel_lift_off_cas[0])
    if nose > planned + 0.05:
        text = (
            f"The nose will not rise before {said(nose, Kind.CAS)}: "
            f"rotation planned at {said(planned, Kind.CAS)} comes late"
        )
        yield Reason(CAUTION, text, "nosewheel_lift_off_speed", nose, planned, Kind.CAS)
    low, high = numbers.pack.aero.pitch_control.trim_units_range
    if not low <= work.trim <= high:
        text = f"Takeoff trim {work.trim:.1f} is outside the range {low:g} to {high:g}"
        limit = low if work.trim < low else high
        yield Reason(NO_GO, text, "trim", work.trim, limit, Kind.TRIM_UNITS)


def _failure_reasons(numbers: Numbers, decision: Decision | None) -> Iterator[Reason]:
    work = numbers.takeoff
    if work is None or decision is None:
        return
    lengths, kind = work.lengths, Kind.RUNWAY_DISTANCE
    if numbers.pack.engine.count == 1:
        if not lengths.stops_from_lift_off[0]:
            text = (
                f"If the engine fails between {said(decision.highest, Kind.CAS)} and lift-off "
                "the aircraft runs off the end"
            )
            yield Reason(CAUTION, text, "refusal_speed", decision.highest, None, Kind.CAS)
        return
    length = float(lengths.critical_field_length[0])
    # With a stopway or clearway the two distances differ; in between them the band below decides.
    room = max(work.go_available, work.stop_available)
    if math.isfinite(length) and length > room:
        text = f"Critical field length {said(length, kind)} is more than the {room_said(room)} of runway"
        yield Reason(NO_GO, text, "critical_field_length", length, room, kind)
    if not math.isnan(decision.lowest) and decision.lowest > decision.highest + 1e-6:
        text = _neither_fits(decision)
        yield Reason(NO_GO, text, "uncovered_band", decision.highest, decision.lowest, Kind.CAS)
    wanted = [
        (limit, source)
        for limit, source in (
            (numbers.sortie.requirements.single_engine_climb_gradient, "this departure's"),
            (_limit_value(numbers), "the pack's"),
        )
        if limit is not None
    ]
    if wanted and work.gradient_gear_up is not None:
        need, source = max(wanted)
        have = gradient_over_ground(
            work.gradient_gear_up, work.single_engine_tas, float(work.setup.cases.headwind[0])
        )
        if have is None:
            yield Reason(
                NO_GO,
                "One engine cannot carry the weight at the climb speed",
                "single_engine_gradient_gear_up",
            )
        elif have < need:
            text = (
                f"One-engine climb {said(have, Kind.GRADIENT)} is under {source} requirement of "
                f"{said(need, Kind.GRADIENT)}"
            )
            yield Reason(NO_GO, text, "single_engine_gradient_gear_up", have, need, Kind.GRADIENT)


def _neither_fits(decision: Decision) -> str:
    """Return in words the band of speeds from which an engine failure leaves no way out."""
    bottom = show(decision.highest, Kind.CAS, rounding="down").text
    seconds = f"{decision.uncovered_seconds:.1f} s"
    if math.isinf(decision.lowest):
        rest = f"to lift-off, {seconds}, and from no failure speed does one engine lift off in this runway"
        if decision.highest_cause == "rotation speed":
            return f"After rotation ({bottom}) the takeoff is no longer rejected: {rest}"
        return f"Too fast to stop from {bottom} ({decision.highest_cause}) {rest}"
    top = show(decision.lowest, Kind.CAS, rounding="up").text
    return (
        f"From {bottom} ({decision.highest_cause}) to {top} ({decision.lowest_cause}) an engine failure can "
        f"neither be stopped nor carried on: {seconds}"
    )


def _limit_value(numbers: Numbers) -> float | None:
    limit = numbers.pack.limits.single_engine_climb_gradient
    return None if limit is None else limit.value


def _margin_reasons(numbers: Numbers, decision: Decision | None, line: LineCheck | None) -> Iterator[Reason]:
    work, wheels = numbers.takeoff, numbers.pack.wheels
    if work is None:
        return
    ground = float(work.takeoff.lift_off_ground_speed[0])
    if math.isfinite(ground) and ground > wheels.tyre_speed_limit:
        kind = Kind.GROUND_SPEED
        limit = wheels.tyre_speed_limit
        text = f"Ground speed at lift-off {said(ground, kind)} is over the tyre limit of {said(limit, kind)}"
        yield Reason(NO_GO, text, "tyre_speed_margin", ground, limit, kind)
    frame = numbers.pack.airframe
    strike = frame.tail_strike_attitude_struts_compressed or frame.tail_strike_attitude
    held = float(work.setup.attitude.target[0])
    if held >= strike:
        most = said(strike, Kind.ANGLE)
        text = f"The attitude held, {said(held, Kind.ANGLE)}, strikes the tail: {most} on the runway"
        yield Reason(CAUTION, text, "tail_strike_margin", held, strike, Kind.ANGLE)
    if decision is not None and math.isfinite(decision.stop_energy):
        zone = energy_zone(numbers.pack, decision.stop_energy)
        if zone is not None and zone.severity is not None:
            where = f"in the {zone.title.lower()} zone"
            text = f"A stop from decision speed puts the brakes {where}. {zone.advice}".strip()
            value, limit = decision.stop_energy, zone.above
            yield Reason(CAUTION, text, "brake_energy_at_decision", value, limit, Kind.ENERGY)
    covered = decision is not None and not decision.lowest > decision.highest  # else it is a no-go already
    if line is not None and not line.readable and covered:
        low = said(line.tolerance, Kind.CAS)
        text = f"The line speed may be no more than {low} low: less than a crew can read"
        yield Reason(CAUTION, text, "line_speed_minimum", line.tolerance, None, Kind.CAS)
    gear = numbers.pack.limits.gear_speed
    if gear is not None:
        seconds = time_to_cas(work, gear.value)
        if math.isfinite(seconds) and seconds < SHORTEST_GEAR_TIME:
            text = f"Gear limit {said(gear.value, Kind.CAS)} comes {seconds:.1f} s after lift-off"
            yield Reason(CAUTION, text, "gear_limit_time", seconds, SHORTEST_GEAR_TIME, Kind.TIME)
    if numbers.conditions.standing_water or numbers.landing_conditions.standing_water:
        speed = float(hydroplaning_speed(wheels.main_tyre_pressure))
        least = said(speed, Kind.GROUND_SPEED)
        text = f"Standing water: brakes do next to nothing above {least} over the ground"
        yield Reason(CAUTION, text, "hydroplaning_speed", speed, None, Kind.GROUND_SPEED)


def _landing_reasons(numbers: Numbers, landings: tuple[LandingCase, ...]) -> Iterator[Reason]:
    kind = Kind.RUNWAY_DISTANCE
    available = numbers.landing_conditions.runway.landing_distance_available
    cases = {case.name: case for case in landings}
    row = todays_row(numbers)
    if row is None:
        why = next((case.problem for case in landings if case.problem), "")
        if why and not numbers.landing_conditions.missing:
            yield Reason(NO_GO, f"Landing not computed: {why}", "approach_cas")
        return
    today = cases[row.name]
    if not today.margin >= 0.0:
        total = said(today.total, kind)
        text = f"Landing distance today {total} is longer than the {room_said(available)} available"
        yield Reason(NO_GO, text, "landing_distance", today.total, available, kind)
    elif row.name == "today_chute" and "today" in cases and not cases["today"].margin >= 0.0:
        total = cases["today"].total
        need = f"{said(total, kind)} of the {room_said(available)} available"
        text = f"If the chute fails the landing needs {need}"
        yield Reason(CAUTION, text, "landing_distance", total, available, kind)
    heavy = cases.get("immediate_return")
    if heavy is not None and not heavy.problem and not heavy.margin >= 0.0:
        need = f"{said(heavy.total, kind)} of the {room_said(available)} available"
        text = f"A return at takeoff weight needs {need}"
        yield Reason(CAUTION, text, "landing_distance", heavy.total, available, kind)
    bare = cases.get("no_flap")
    if bare is not None and not bare.problem and not bare.margin >= 0.0:
        text = f"A no-flap landing needs {said(bare.total, kind)} of the {room_said(available)} available"
        yield Reason(CAUTION, text, "landing_distance", bare.total, available, kind)
    result = row.result
    assert result is not None
    ground = float(result.touchdown_ground_speed[row.row])
    if ground > numbers.pack.wheels.tyre_speed_limit:
        speed, limit = Kind.GROUND_SPEED, numbers.pack.wheels.tyre_speed_limit
        text = f"Touchdown ground speed {said(ground, speed)} is over the tyre limit of {said(limit, speed)}"
        yield Reason(NO_GO, text, "tyre_speed_margin", ground, limit, speed)
    energy = float(result.brake_energy[row.row])
    zone = energy_zone(numbers.pack, energy) if math.isfinite(energy) else None
    if zone is not None and zone.severity is not None:
        text = f"Today's landing puts the brakes in the {zone.title.lower()} zone. {zone.advice}".strip()
        yield Reason(Verdict(zone.severity), text, "brake_energy", energy, zone.above, Kind.ENERGY)
    sink, limit_sink = float(result.sink_rate[row.row]), numbers.pack.limits.sink_rate_touchdown
    if limit_sink is not None and sink > limit_sink.value:
        rate = Kind.CLIMB_RATE
        text = f"Sink at touchdown {said(sink, rate)} is over the limit of {said(limit_sink.value, rate)}"
        yield Reason(Verdict(limit_sink.severity), text, "sink_rate", sink, limit_sink.value, rate)
    touchdown = check_envelope(
        numbers.pack.mass.envelope,
        numbers.loads.landing_balance.mass,
        numbers.loads.landing_balance.share_of_chord,
    )
    if not touchdown.inside:
        share = numbers.loads.landing_balance.share_of_chord
        text = f"Balance at landing, {said(share, Kind.PERCENT_MAC)}, is outside the envelope"
        yield Reason(NO_GO, text, "landing_mass", share, None, Kind.PERCENT_MAC)
