"""The takeoff section: speeds, distances, attitudes and limits of the run and the climb-away."""

from __future__ import annotations

import math

import numpy as np

from sortiewright.air import tas_from_cas
from sortiewright.sortie.decision import Decision, LineCheck
from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers, TakeoffNumbers
from sortiewright.sortie.units import show

BRIEFED = "the sortie's rotation speed, or else the pack's for this weight"
RUN = "run integrated over speed from thrust, drag, friction and slope; rotation and climb over time"
MOMENTS = "pitching moments about the main wheels with full aft stick"


def takeoff_section(numbers: Numbers, line: LineCheck | None) -> Section:
    """Return every takeoff figure, each with a problem where it could not be had."""
    work, technique, pack = numbers.takeoff, numbers.technique, numbers.pack
    setting = pack.engine.settings[technique.power]
    configuration = pack.aero.configurations[technique.configuration]
    words = (
        Figure("power", "Power", None, Kind.NUMBER, text=setting.title or technique.power),
        Figure("flaps", "Flaps", None, Kind.NUMBER, text=configuration.title or technique.configuration),
    )
    if work is None:
        lost = tuple(
            Figure(name, title, None, kind, problem=numbers.takeoff_problem)
            for name, title, kind in (
                ("rotation_speed", "Rotation", Kind.CAS),
                ("lift_off_speed", "Lift-off", Kind.CAS),
                ("ground_run", "Ground run", Kind.RUNWAY_DISTANCE),
                ("distance_to_screen", "Distance to 50 ft", Kind.RUNWAY_DISTANCE),
            )
        )
        return Section("takeoff", "Takeoff", words + lost)
    return Section(
        "takeoff",
        "Takeoff",
        words
        + _speeds(work)
        + _distances(numbers, work)
        + _line(line)
        + _margins(numbers, work)
        + _climb_away(numbers),
    )


def _speeds(work: TakeoffNumbers) -> tuple[Figure, ...]:
    takeoff, technique = work.takeoff, work.setup.technique
    nose = float(takeoff.nosewheel_lift_off_cas[0])
    planned = float(work.setup.planned_rotation_cas[0])
    late = nose > planned + 0.05
    aft = technique.stick_aft_speed
    figures = (
        Figure(
            "stall_speed",
            "Stall, power off",
            float(takeoff.stall_cas[0]),
            Kind.CAS,
            "sqrt(2 W/(rho S CLmax))",
        ),
        Figure("nosewheel_lift_off_speed", "Nosewheel lift-off", nose, Kind.CAS, MOMENTS),
        Figure("briefed_rotation_speed", "Rotation as briefed", planned, Kind.CAS, BRIEFED),
        Figure(
            "rotation_speed",
            "Rotation",
            float(takeoff.rotation_cas[0]),
            Kind.CAS,
            "the later of the pack's rotation speed and nosewheel lift-off",
            cautions=("the nose will not rise at the planned speed: rotation is late",) if late else (),
        ),
        _speed("lift_off_speed", "Lift-off", float(takeoff.lift_off_cas[0]), RUN),
        Figure(
            "takeoff_attitude",
            "Hold attitude",
            float(work.setup.attitude.target[0]),
            Kind.ANGLE,
            "pack technique",
        ),
    )
    if aft is None:
        return figures
    return (Figure("stick_aft_speed", "Stick aft by", aft, Kind.CAS, "pack technique"), *figures)


def _distances(numbers: Numbers, work: TakeoffNumbers) -> tuple[Figure, ...]:
    takeoff = work.takeoff
    screen = work.setup.technique.screen_height / 0.3048
    run, over = float(takeoff.ground_run[0]), float(takeoff.distance_to_screen[0])
    return (
        Figure(
            "ground_run",
            "Ground run",
            run,
            Kind.RUNWAY_DISTANCE,
            RUN,
            text="" if math.isfinite(run) else "never",
        ),
        Figure(
            "distance_to_screen",
            f"Distance to {screen:.0f} ft",
            over,
            Kind.RUNWAY_DISTANCE,
            RUN,
            text="" if math.isfinite(over) else "never",
        ),
        Figure(
            "runway_for_takeoff",
            "Runway from brake release",
            takeoff_run_from_release(numbers),
            Kind.RUNWAY_DISTANCE,
            "takeoff run available less the start offset",
        ),
        _known("time_to_lift_off", "Time to lift-off", float(takeoff.lift_off_time[0]), Kind.TIME, RUN),
    )


def _line(line: LineCheck | None) -> tuple[Figure, ...]:
    if line is None:
        why = "no runway board lies far enough below the decision speed"
        return (Figure("line_speed", "Line speed", None, Kind.CAS, problem=why),)
    where = f"board {line.board}" if line.board is not None else "no board"
    cautions = (
        ()
        if line.readable
        else ("the margin is smaller than can be read: no run may be slower than planned",)
    )
    return (
        Figure("line_marker", "Check at, from release", line.distance, Kind.RUNWAY_DISTANCE, text=where),
        Figure("line_speed", "Line speed", line.expected, Kind.CAS, "speed of the planned run there"),
        Figure(
            "line_speed_minimum",
            "Line speed, least",
            line.minimum,
            Kind.CAS,
            "the acceleration loss that uses up the margin of the decision speed",
            cautions=cautions,
        ),
    )


def _margins(numbers: Numbers, work: TakeoffNumbers) -> tuple[Figure, ...]:
    frame, takeoff, wheels = numbers.pack.airframe, work.takeoff, numbers.pack.wheels
    pitch = float(takeoff.lift_off_pitch[0])
    strike = frame.tail_strike_attitude_struts_compressed or frame.tail_strike_attitude
    ground = float(takeoff.lift_off_ground_speed[0])
    highest = max(float(work.setup.attitude.target[0]), 0.0 if math.isnan(pitch) else pitch)
    return (
        _known("pitch_at_lift_off", "Pitch at lift-off", pitch, Kind.ANGLE, RUN),
        Figure(
            "tail_strike_margin",
            "Tail clearance at hold attitude",
            strike - highest,
            Kind.ANGLE,
            "tail-strike attitude, struts compressed, less the attitude held",
        ),
        _known(
            "tyre_speed_margin",
            "Tyre speed margin",
            wheels.tyre_speed_limit - ground,
            Kind.GROUND_SPEED,
            "tyre limit less ground speed at lift-off",
        ),
    )


def _climb_away(numbers: Numbers) -> tuple[Figure, ...]:
    work, technique, limits = numbers.takeoff, numbers.technique, numbers.pack.limits
    assert work is not None
    wanted = (
        ("gear_up_cas", "Gear up above", technique.gear_up_least_cas),
        ("flap_up_cas", "Flaps up above", technique.flap_up_cas),
        (
            "power_reduction_cas",
            "Burner out" if work.setup.power.augmented else "Reduce power",
            technique.power_reduction_cas,
        ),
        ("climb_cas", "Climb", technique.climb_cas),
    )
    figures = [
        Figure(name, title, value, Kind.CAS, "pack technique")
        for name, title, value in wanted
        if value is not None
    ]
    if limits.gear_speed is not None:
        figures.append(
            Figure("gear_limit_cas", "Gear limit", limits.gear_speed.value, Kind.CAS, "pack limit")
        )
        seconds = time_to_cas(work, limits.gear_speed.value)
        figures.append(
            _known(
                "gear_limit_time",
                "Lift-off to gear limit",
                seconds,
                Kind.TIME,
                "mean acceleration from lift-off to the screen, carried on",
                problem="does not gain speed in the climb to the screen",
            )
        )
    flap = limits.flap_speed.get(technique.configuration)
    if flap is not None:
        figures.append(Figure("flap_limit_cas", "Flap limit", flap.value, Kind.CAS, "pack limit"))
    return tuple(figures)


def takeoff_run_from_release(numbers: Numbers) -> float:
    """Return the runway for the ground run from brake release, m."""
    return numbers.conditions.runway.takeoff_run_available - numbers.conditions.start_offset


def time_to_cas(work: TakeoffNumbers, cas: float) -> float:
    """Return the seconds from lift-off to a calibrated airspeed at the mean acceleration up to the screen."""
    takeoff, cases = work.takeoff, work.setup.cases
    tas = [
        float(np.asarray(tas_from_cas(v, cases.air))[0])
        for v in (cas, takeoff.lift_off_cas, takeoff.screen_cas)
    ]
    begin, end = float(takeoff.lift_off_time[0]), float(takeoff.time_to_screen[0])
    gain = tas[2] - tas[1]
    if not math.isfinite(begin) or not math.isfinite(end) or gain <= 0.0:
        return math.nan
    return max(tas[0] - tas[1], 0.0) / gain * (end - begin)


def decision_first(decision: Decision | None) -> str:
    """Return what bounds the decision speed, in words."""
    if decision is None:
        return ""
    most = " ".join(show(decision.highest, Kind.CAS, rounding="down"))
    high = f"at most {most} ({decision.highest_cause})"
    if math.isnan(decision.lowest):
        return high
    if math.isinf(decision.lowest):
        return f"no speed serves; {high}"
    least = " ".join(show(decision.lowest, Kind.CAS, rounding="up"))
    return f"at least {least} ({decision.lowest_cause}), {high}"


def _speed(name: str, title: str, value: float, method: str) -> Figure:
    if math.isnan(value):
        return Figure(name, title, math.inf, Kind.CAS, method, text="never")
    return Figure(name, title, value, Kind.CAS, method)


def _known(
    name: str, title: str, value: float, kind: Kind, method: str, problem: str = "does not lift off"
) -> Figure:
    """Return the figure of a value, or of its absence with the problem."""
    if math.isfinite(value):
        return Figure(name, title, value, kind, method)
    return Figure(name, title, None, kind, method, problem=problem)
