"""Go, caution or no-go: every limit held against its figure, the reasons in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sortiewright.air import STANDARD_GRAVITY, hydroplaning_speed
from sortiewright.pack import OutsideTable, Severity
from sortiewright.performance import BurnStep, check_envelope, energy_zone
from sortiewright.sortie.conditions import chute_crosswind_limit, serves_chute
from sortiewright.sortie.decision import Decision, LineCheck
from sortiewright.sortie.figures import Kind, LandingCase, Reason, Verdict
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.section_failure import gradient_over_ground
from sortiewright.sortie.section_landing import todays_row
from sortiewright.sortie.section_takeoff import takeoff_run_from_release, time_to_cas
from sortiewright.sortie.units import show

NO_GO, CAUTION = Verdict.NO_GO, Verdict.CAUTION
SHORTEST_GEAR_TIME = (
    8.0  # s from lift-off to the gear limit speed: less is worth a word (common practice, no source)
)


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
        *_load_reasons(numbers),
        *_wind_reasons(numbers),
        *_takeoff_reasons(numbers),
        *_failure_reasons(numbers, decision),
        *_margin_reasons(numbers, decision, line),
        *_landing_reasons(numbers, landings),
    ]
    return tuple(sorted(found, key=lambda reason: reason.severity != NO_GO))


def _severity(severity: Severity) -> Verdict:
    return NO_GO if severity == "no-go" else CAUTION


def _text(value: float, kind: Kind) -> str:
    return show(value, kind).text


def _room(value: float) -> str:
    """Return a distance that there is: rounded down, where one that is needed rounds up."""
    return show(value, Kind.RUNWAY_DISTANCE, rounding="down").text


def _missing(numbers: Numbers) -> Iterator[Reason]:
    for what in numbers.conditions.missing:
        yield Reason(NO_GO, f"Takeoff not computed: {what}")
    if numbers.landing_conditions is not numbers.conditions:
        for what in numbers.landing_conditions.missing:
            yield Reason(NO_GO, f"Landing not computed: {what}")
    stale = {numbers.conditions.stale: "", numbers.landing_conditions.stale: "Landing: "}
    for what, where in stale.items():
        if what:
            yield Reason(CAUTION, f"{where}{what if where else what[:1].upper() + what[1:]}", "temperature")
    if numbers.takeoff is None and not numbers.conditions.missing:
        yield Reason(NO_GO, f"Takeoff not computed: {numbers.takeoff_problem}")
    for problem in numbers.loads.problems:
        yield Reason(NO_GO, problem[0].upper() + problem[1:])


def _load_reasons(numbers: Numbers) -> Iterator[Reason]:
    mass, loads, limits = numbers.pack.mass, numbers.loads, numbers.pack.limits
    for name, title, value, limit, severity in (
        ("ramp_mass", "Ramp weight", loads.ramp_balance.mass, mass.maximum_ramp_mass, NO_GO),
        ("takeoff_mass", "Takeoff weight", loads.takeoff_balance.mass, mass.maximum_takeoff_mass, NO_GO),
        ("landing_mass", "Landing weight", loads.landing_balance.mass, mass.maximum_landing_mass, NO_GO),
    ):
        if value > limit * (1 + 1e-9):
            text = f"{title} {_text(value, Kind.MASS)} is over the limit of {_text(limit, Kind.MASS)}"
            yield Reason(severity, text, name, value, limit, Kind.MASS)
    worst = min((*loads.burn, *loads.releases), key=lambda step: step.check.margin)
    if not worst.check.inside:
        where = _step_name(numbers, worst)
        if math.isnan(worst.check.forward_limit):
            mass = _text(worst.balance.mass, Kind.MASS)
            text = f"Outside the envelope ({where}): no limits are given for {mass}"
            yield Reason(NO_GO, text, "centre_of_gravity_takeoff")
        else:
            share = worst.balance.share_of_chord
            limit = worst.check.forward_limit if share < worst.check.forward_limit else worst.check.aft_limit
            side = "forward" if share < worst.check.forward_limit else "aft"
            text = (
                f"Balance {_text(share, Kind.PERCENT_MAC)} is {side} of the limit of "
                f"{_text(limit, Kind.PERCENT_MAC)} ({where})"
            )
            yield Reason(NO_GO, text, "centre_of_gravity_takeoff", share, limit, Kind.PERCENT_MAC)
    for name, when, balance, limit in (
        ("side_moment_takeoff", "at takeoff", loads.takeoff_balance, limits.asymmetric_moment_takeoff),
        ("side_moment_landing", "at landing", loads.landing_balance, limits.asymmetric_moment_landing),
    ):
        moment = abs(balance.side_moment) * STANDARD_GRAVITY
        if limit is not None and moment > limit.value * (1 + 1e-9):
            kind = Kind.SIDE_MOMENT
            text = f"Uneven load {_text(moment, kind)} {when} is over the limit of {_text(limit.value, kind)}"
            yield Reason(_severity(limit.severity), text, name, moment, limit.value, kind)
    release_limit = limits.asymmetric_moment_landing
    for step in loads.releases:
        moment = abs(step.balance.side_moment) * STANDARD_GRAVITY
        if release_limit is not None and moment > release_limit.value:
            kind = Kind.SIDE_MOMENT
            text = (
                f"{step.title}: uneven load {_text(moment, kind)} until the other side goes; "
                f"landing limit {_text(release_limit.value, kind)}"
            )
            yield Reason(CAUTION, text, "side_moment_landing", moment, release_limit.value, kind)
            break


def _step_name(numbers: Numbers, step: BurnStep) -> str:
    if step is numbers.loads.burn[0]:
        return "at the ramp"
    if step is numbers.loads.burn[1]:
        return "at takeoff"
    return step.title or f"at {_text(step.balance.mass, Kind.MASS)} on the way"


def _wind_reasons(numbers: Numbers) -> Iterator[Reason]:
    limits = numbers.pack.limits
    for where, conditions, limit in (
        ("takeoff", numbers.conditions, limits.crosswind_takeoff),
        ("landing", numbers.landing_conditions, limits.crosswind_landing),
    ):
        wind = conditions.wind
        if wind is None:
            continue
        kind = Kind.WIND_SPEED
        if limit is not None:
            try:
                most = float(limit.value(conditions.runway_condition_reading))
            except OutsideTable as error:
                yield Reason(CAUTION, f"Crosswind limit for {where} not evaluated: {error}", "crosswind")
                continue
            if wind.crosswind_limit > most + 1e-9:
                value = float(wind.crosswind_limit)
                text = f"Crosswind {_text(value, kind)} for {where} is over the limit of {_text(most, kind)}"
                yield Reason(_severity(limit.severity), text, "crosswind", value, most, kind)
        tail = limits.tailwind
        if tail is not None and wind.tailwind_limit > tail.value + 1e-9:
            value = float(wind.tailwind_limit)
            text = f"Tailwind {_text(value, kind)} for {where} is over the limit of {_text(tail.value, kind)}"
            yield Reason(_severity(tail.severity), text, "tailwind", value, tail.value, kind)
    yield from _chute_reasons(numbers)


def _chute_reasons(numbers: Numbers) -> Iterator[Reason]:
    """Yield where a chute that would be used is not, as the crosswind forbids it."""
    pack, sortie, kind = numbers.pack, numbers.sortie, Kind.WIND_SPEED
    limit, stated = chute_crosswind_limit(pack), pack.limits.crosswind_chute
    if limit is None:
        return
    rejecting = sortie.takeoff.rejected_with_chute and numbers.technique.rejected.chute_commanded is not None
    uses = [
        (words, float(conditions.wind.crosswind_limit))
        for words, wanted, conditions in (
            ("stop", rejecting, numbers.conditions),
            ("landing", sortie.landing.with_chute, numbers.landing_conditions),
        )
        if wanted and conditions.wind is not None and not serves_chute(pack, conditions)
    ]
    if not uses:
        return
    value = max(crosswind for _, crosswind in uses)
    text = (
        f"Crosswind {_text(value, kind)} is over the chute's limit of {_text(limit, kind)}: "
        f"{' and '.join(words for words, _ in uses)} are planned without it"
    )
    if len(uses) == 1:
        text = text.replace(" are planned", " is planned")
    severity = CAUTION if stated is None else _severity(stated.severity)
    yield Reason(severity, text, "crosswind", value, limit, kind)


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
        text = (
            f"Ground run {_text(run, kind)} is longer than the {_room(runway)} of runway from brake release"
        )
        yield Reason(NO_GO, text, "ground_run", run, runway, kind)
    over = float(work.takeoff.distance_to_screen[0])
    if work.setup.technique.continue_to == "screen" and work.go_available < over < math.inf:
        screen = f"{work.setup.technique.screen_height / 0.3048:.0f} ft"
        room = _room(work.go_available)
        text = f"Distance to {screen}, {_text(over, kind)}, is more than the {room} available"
        yield Reason(NO_GO, text, "distance_to_screen", over, work.go_available, kind)
    if not math.isfinite(float(work.takeoff.distance_to_screen[0])):
        yield Reason(NO_GO, "Lifts off but does not climb to the screen height", "distance_to_screen")
    planned, nose = float(work.setup.planned_rotation_cas[0]), float(work.takeoff.nosewheel_lift_off_cas[0])
    if nose > planned + 0.05:
        text = (
            f"The nose will not rise before {_text(nose, Kind.CAS)}: "
            f"rotation planned at {_text(planned, Kind.CAS)} comes late"
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
                f"With the only engine failing between {_text(decision.highest, Kind.CAS)} and lift-off "
                "the aircraft runs off the end"
            )
            yield Reason(CAUTION, text, "refusal_speed", decision.highest, None, Kind.CAS)
        return
    length = float(lengths.critical_field_length[0])
    # With a stopway or clearway the two distances differ; in between them the band below decides.
    room = max(work.go_available, work.stop_available)
    if math.isfinite(length) and length > room:
        text = f"Critical field length {_text(length, kind)} is more than the {_room(room)} of runway"
        yield Reason(NO_GO, text, "critical_field_length", length, room, kind)
    if not math.isnan(decision.lowest) and decision.lowest > decision.highest + 1e-6:
        top = "lift-off" if math.isinf(decision.lowest) else _text(decision.lowest, Kind.CAS)
        text = (
            f"From {_text(decision.highest, Kind.CAS)} ({decision.highest_cause}) to {top} "
            f"({decision.lowest_cause}) an engine failure can neither be stopped nor carried on: "
            f"{decision.uncovered_seconds:.1f} s"
        )
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
                f"One-engine climb {_text(have, Kind.GRADIENT)} is under {source} requirement of "
                f"{_text(need, Kind.GRADIENT)}"
            )
            yield Reason(NO_GO, text, "single_engine_gradient_gear_up", have, need, Kind.GRADIENT)


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
        text = (
            f"Ground speed at lift-off {_text(ground, kind)} is over the tyre limit of {_text(limit, kind)}"
        )
        yield Reason(NO_GO, text, "tyre_speed_margin", ground, limit, kind)
    frame = numbers.pack.airframe
    strike = frame.tail_strike_attitude_struts_compressed or frame.tail_strike_attitude
    held = float(work.setup.attitude.target[0])
    if held >= strike:
        most = _text(strike, Kind.ANGLE)
        text = f"The attitude held, {_text(held, Kind.ANGLE)}, strikes the tail: {most} on the runway"
        yield Reason(CAUTION, text, "tail_strike_margin", held, strike, Kind.ANGLE)
    if decision is not None and math.isfinite(decision.stop_energy):
        zone = energy_zone(numbers.pack, decision.stop_energy)
        if zone is not None and zone.severity is not None:
            where = f"in the {zone.title.lower()} zone"
            text = f"A stop from decision speed puts the brakes {where}. {zone.advice}".strip()
            value, limit = decision.stop_energy, zone.above
            yield Reason(CAUTION, text, "brake_energy_at_decision", value, limit, Kind.ENERGY)
    if line is not None and not line.readable:
        low = _text(line.tolerance, Kind.CAS)
        text = f"The line speed may be no more than {low} low: less than a crew can read"
        yield Reason(CAUTION, text, "line_speed_minimum", line.tolerance, None, Kind.CAS)
    gear = numbers.pack.limits.gear_speed
    if gear is not None:
        seconds = time_to_cas(work, gear.value)
        if math.isfinite(seconds) and seconds < SHORTEST_GEAR_TIME:
            text = f"Gear limit {_text(gear.value, Kind.CAS)} comes {seconds:.1f} s after lift-off"
            yield Reason(CAUTION, text, "gear_limit_time", seconds, SHORTEST_GEAR_TIME, Kind.TIME)
    if numbers.conditions.standing_water or numbers.landing_conditions.standing_water:
        speed = float(hydroplaning_speed(wheels.main_tyre_pressure))
        least = _text(speed, Kind.GROUND_SPEED)
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
        total = _text(today.total, kind)
        text = f"Landing distance today {total} is longer than the {_room(available)} available"
        yield Reason(NO_GO, text, "landing_distance", today.total, available, kind)
    elif row.name == "today_chute" and "today" in cases and not cases["today"].margin >= 0.0:
        total = cases["today"].total
        text = (
            f"If the chute fails the landing needs {_text(total, kind)} of the {_room(available)} available"
        )
        yield Reason(CAUTION, text, "landing_distance", total, available, kind)
    heavy = cases.get("immediate_return")
    if heavy is not None and not heavy.problem and not heavy.margin >= 0.0:
        text = (
            f"A return at takeoff weight needs {_text(heavy.total, kind)} of the {_room(available)} available"
        )
        yield Reason(CAUTION, text, "landing_distance", heavy.total, available, kind)
    result = row.result
    assert result is not None
    ground = float(result.touchdown_ground_speed[row.row])
    if ground > numbers.pack.wheels.tyre_speed_limit:
        speed, limit = Kind.GROUND_SPEED, numbers.pack.wheels.tyre_speed_limit
        text = (
            f"Touchdown ground speed {_text(ground, speed)} is over the tyre limit of {_text(limit, speed)}"
        )
        yield Reason(NO_GO, text, "tyre_speed_margin", ground, limit, speed)
    energy = float(result.brake_energy[row.row])
    zone = energy_zone(numbers.pack, energy) if math.isfinite(energy) else None
    if zone is not None and zone.severity is not None:
        text = f"Today's landing puts the brakes in the {zone.title.lower()} zone. {zone.advice}".strip()
        yield Reason(_severity(zone.severity), text, "brake_energy", energy, zone.above, Kind.ENERGY)
    sink, limit_sink = float(result.sink_rate[row.row]), numbers.pack.limits.sink_rate_touchdown
    if limit_sink is not None and sink > limit_sink.value:
        rate = Kind.CLIMB_RATE
        text = f"Sink at touchdown {_text(sink, rate)} is over the limit of {_text(limit_sink.value, rate)}"
        yield Reason(_severity(limit_sink.severity), text, "sink_rate", sink, limit_sink.value, rate)
    touchdown = check_envelope(
        numbers.pack.mass.envelope,
        numbers.loads.landing_balance.mass,
        numbers.loads.landing_balance.share_of_chord,
    )
    if not touchdown.inside:
        share = numbers.loads.landing_balance.share_of_chord
        text = f"Balance at landing, {_text(share, Kind.PERCENT_MAC)}, is outside the envelope"
        yield Reason(NO_GO, text, "landing_mass", share, None, Kind.PERCENT_MAC)
