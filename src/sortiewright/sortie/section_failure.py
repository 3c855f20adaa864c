"""The engine failure section: stop or go, and what one engine can do afterwards."""

from __future__ import annotations

import math

from sortiewright.performance import ClimbGradient, energy_zone, on_line
from sortiewright.sortie.decision import Decision, to_cas
from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers, TakeoffNumbers
from sortiewright.sortie.section_takeoff import decision_first
from sortiewright.sortie.units import show

ABORT = "run to the event, levers, brakes and chute by the pack's timeline, then distance over speed"
TOO_SLOW = "this configuration cannot carry the weight at that speed"
NO_STOP = "no stop fits in this runway from any speed"
CROSSING = "where the stop and the continued takeoff need the same distance"


def engine_failure_section(numbers: Numbers, decision: Decision | None) -> Section:
    """Return the go or no-go figures."""
    work = numbers.takeoff
    if work is None or decision is None:
        why = numbers.takeoff_problem or "the aircraft does not lift off"
        return Section(
            "engine_failure",
            "Stop or go",
            (
                Figure("decision_speed", "Decision speed", None, Kind.CAS, problem=why),
                Figure("refusal_speed", "Refusal speed", None, Kind.CAS, problem=why),
            ),
        )
    figures = (_decision(decision), *_refusal(numbers, work, decision))
    if numbers.pack.engine.count > 1:
        figures += _critical(work) + _minimum_go(work, decision) + _control(work)
    figures += _at_decision(numbers, decision)
    if numbers.pack.engine.count > 1:
        figures += _gradients(numbers, work)
    return Section("engine_failure", "Stop or go", figures)


def _decision(decision: Decision) -> Figure:
    method = f"{decision_first(decision)} (CNATRA P-862, appendix A)"
    if decision.speed <= 0.0:
        return Figure("decision_speed", "Decision speed", None, Kind.CAS, method, problem=NO_STOP)
    return Figure("decision_speed", "Decision speed", decision.speed, Kind.CAS, method)


def _refusal(numbers: Numbers, work: TakeoffNumbers, decision: Decision) -> tuple[Figure, ...]:
    lengths, cases = work.lengths, work.setup.cases
    if lengths.never_stops[0]:
        refusal = Figure("refusal_speed", "Refusal speed", None, Kind.CAS, ABORT, text="none: no stop fits")
        safe = None
    elif lengths.stops_from_lift_off[0]:
        refusal = Figure("refusal_speed", "Refusal speed", None, Kind.CAS, ABORT, text="above lift-off")
        safe = float(work.takeoff.ground_run[0])
    else:
        speed = float(lengths.refusal_speed[0])
        refusal = Figure("refusal_speed", "Refusal speed", to_cas(cases, speed), Kind.CAS, ABORT)
        safe = _distance_at(work, speed)
    basis = Figure("decision_speed_basis", "Decision speed is", None, Kind.CAS, text=decision_first(decision))
    longest = Figure(
        "longest_safe_abort_marker",
        "Last point to stop from, from release",
        safe,
        Kind.RUNWAY_DISTANCE,
        "distance at refusal speed",
        problem=NO_STOP if safe is None else "",
    )
    return basis, refusal, longest


def _distance_at(work: TakeoffNumbers, ground_speed: float) -> float:
    return on_line(ground_speed, work.curves.speed[0], work.curves.accelerate_distance[0])


def _critical(work: TakeoffNumbers) -> tuple[Figure, ...]:
    lengths = work.lengths
    if math.isfinite(lengths.critical_speed[0]):
        return (
            Figure(
                "critical_field_length",
                "Critical field length",
                float(lengths.critical_field_length[0]),
                Kind.RUNWAY_DISTANCE,
                CROSSING,
            ),
            Figure(
                "critical_engine_failure_speed",
                "Critical engine failure speed",
                to_cas(work.setup.cases, float(lengths.critical_speed[0])),
                Kind.CAS,
                CROSSING,
            ),
        )
    if lengths.stop_always_longer[0]:
        words = "none: going on is shorter than stopping at every speed"
    else:
        words = "none: stopping is shorter than going on at every speed up to lift-off"
    return (
        Figure(
            "critical_field_length", "Critical field length", None, Kind.RUNWAY_DISTANCE, CROSSING, text=words
        ),
        Figure(
            "critical_engine_failure_speed",
            "Critical engine failure speed",
            None,
            Kind.CAS,
            CROSSING,
            text="none",
        ),
    )


def _minimum_go(work: TakeoffNumbers, decision: Decision) -> tuple[Figure, ...]:
    lengths = work.lengths
    method = "lowest failure speed from which one engine still lifts off in this runway"
    if work.setup.technique.continue_to == "screen":
        method = (
            "lowest failure speed from which one engine still passes the screen height in the distance left"
        )
    if lengths.goes_from_any[0]:
        figure = Figure("minimum_go_speed", "Least speed to go on", None, Kind.CAS, method, text="any speed")
    elif lengths.never_goes[0]:
        figure = Figure(
            "minimum_go_speed", "Least speed to go on", math.inf, Kind.CAS, method, text="none: never goes"
        )
    else:
        speed = to_cas(work.setup.cases, float(lengths.minimum_go_speed[0]))
        figure = Figure("minimum_go_speed", "Least speed to go on", speed, Kind.CAS, method)
    if decision.uncovered_seconds <= 0.0:
        return (figure,)
    low = " ".join(show(decision.highest, Kind.CAS, rounding="down"))
    high = " ".join(show(decision.lowest, Kind.CAS, rounding="up"))
    top = "lift-off" if math.isinf(decision.lowest) else high
    band = f"{low} to {top}, {decision.uncovered_seconds:.1f} s"
    return figure, Figure(
        "uncovered_band", "Neither stop nor go", None, Kind.CAS, "refusal to minimum go", text=band
    )


def _control(work: TakeoffNumbers) -> tuple[Figure, ...]:
    return (
        Figure(
            "minimum_control_ground_speed",
            "Minimum control, on the ground",
            _known(work.minimum_control_cas),
            Kind.CAS,
            "rudder alone against the live engine at full power (14 CFR 25.149)",
            problem="the pack does not say what the rudder can hold"
            if math.isnan(work.minimum_control_cas)
            else "",
        ),
    )


def _at_decision(numbers: Numbers, decision: Decision) -> tuple[Figure, ...]:
    zone = energy_zone(numbers.pack, decision.stop_energy) if math.isfinite(decision.stop_energy) else None
    figures = [
        Figure(
            "accelerate_stop_at_decision",
            "Stop from decision speed",
            _known(decision.stop_distance),
            Kind.RUNWAY_DISTANCE,
            ABORT,
            problem=NO_STOP if math.isnan(decision.stop_distance) else "",
        )
    ]
    if numbers.pack.engine.count > 1:
        figures.append(
            Figure(
                "accelerate_go_at_decision",
                "Go from decision speed",
                _known(decision.go_distance),
                Kind.RUNWAY_DISTANCE,
                "one engine dead at decision speed, the rest at the pack's setting",
                problem=NO_STOP if math.isnan(decision.go_distance) else "",
            )
        )
    if zone is not None:
        figures.append(
            Figure(
                "brake_energy_at_decision",
                "Brake energy of that stop",
                decision.stop_energy,
                Kind.ENERGY,
                "integral of braking force over distance",
                text=f"{zone.title.lower()} zone",
                cautions=(zone.advice,) if zone.severity and zone.advice else (),
            )
        )
    if math.isfinite(decision.maximum_braking_speed):
        figures.append(
            Figure(
                "maximum_braking_speed",
                "Maximum braking speed",
                decision.maximum_braking_speed,
                Kind.GROUND_SPEED,
                "where a stop reaches the first no-go brake energy zone",
            )
        )
    return tuple(figures)


def _gradients(numbers: Numbers, work: TakeoffNumbers) -> tuple[Figure, ...]:
    figures = [
        Figure(
            "single_engine_climb_cas",
            "One engine: climb at",
            work.single_engine_cas,
            Kind.CAS,
            "pack technique",
        )
    ]
    headwind = float(work.setup.cases.headwind[0])
    for name, title, climb in (
        ("gear_down", "gear down", work.gradient_gear_down),
        ("gear_up", "gear up", work.gradient_gear_up),
    ):
        if climb is None:
            continue
        gradient = gradient_over_ground(climb, work.single_engine_tas, headwind)
        figures.append(
            Figure(
                f"single_engine_gradient_{name}",
                f"One engine: gradient, {title}",
                gradient,
                Kind.GRADIENT,
                "(T - D)/W with the dead engine windmilling and the rudder held, over the ground",
                problem="" if gradient is not None else TOO_SLOW,
            )
        )
    if work.gradient_gear_up is not None:
        rate = float(work.gradient_gear_up.rate[0])
        figures.append(
            Figure(
                "single_engine_rate_gear_up",
                "One engine: climb rate, gear up",
                _known(rate),
                Kind.CLIMB_RATE,
                "gradient through the air times airspeed",
                problem=TOO_SLOW if math.isnan(rate) else "",
            )
        )
    return tuple(figures)


def gradient_over_ground(climb: ClimbGradient, tas: float, headwind: float) -> float | None:
    """Return height over ground distance; a headwind is given no credit, a tailwind is charged."""
    value = float(climb.over_ground(tas, min(headwind, 0.0))[0])
    return value if math.isfinite(value) else None


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
