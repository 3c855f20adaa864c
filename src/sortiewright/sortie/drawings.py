"""What is drawn of a plan: points on the runway, curves, the balance path and the load sheet."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, cas_from_tas
from sortiewright.performance import load_items, on_line
from sortiewright.sortie.decision import Decision, LineCheck
from sortiewright.sortie.figures import BalancePoint, Curve, Kind, LoadLine, RunwayMark, RunwayPicture
from sortiewright.sortie.numbers import Numbers, TakeoffNumbers

Floats = NDArray[np.float64]


def load_lines(numbers: Numbers) -> tuple[LoadLine, ...]:
    """Return the load sheet at the ramp; things alike in one place make one line, with their count."""
    alike: dict[tuple[str, str, float, float], list[float]] = {}
    for item in load_items(numbers.pack, numbers.loads.ramp):
        alike.setdefault((item.title, item.group, item.arm, item.side_arm), []).append(item.mass)
    return tuple(
        LoadLine(title if len(masses) == 1 else f"{len(masses)} × {title}", sum(masses), arm, side_arm, group)
        for (title, group, arm, side_arm), masses in alike.items()
    )


def balance_points(numbers: Numbers) -> tuple[BalancePoint, ...]:
    """Return the balance from ramp through takeoff to the last usable fuel, then after each release."""
    steps = [*numbers.loads.burn, *numbers.loads.releases]
    titles = ["Ramp", "Takeoff", *(step.title for step in steps[2:])]
    return tuple(
        BalancePoint(
            title[:1].upper() + title[1:],
            step.balance.mass,
            step.balance.share_of_chord,
            step.balance.side_moment * STANDARD_GRAVITY,
            step.check.forward_limit,
            step.check.aft_limit,
            step.check.inside,
        )
        for title, step in zip(titles, steps, strict=True)
    )


def envelope_corners(numbers: Numbers) -> tuple[tuple[float, float], ...]:
    """Return the envelope's corners, gear down: mass kg, share of the mean chord."""
    return tuple((point.mass, point.centre_of_gravity) for point in numbers.pack.mass.envelope)


def runway_picture(numbers: Numbers, decision: Decision | None, line: LineCheck | None) -> RunwayPicture:
    """Return the takeoff runway with every point that was computed, metres from its start."""
    conditions, runway = numbers.conditions, numbers.conditions.runway
    marks = [*_takeoff_marks(numbers, decision, line), *_landing_marks(numbers)]
    return RunwayPicture(
        runway.designator,
        runway.length,
        runway.displaced_threshold,
        runway.overrun,
        conditions.start_offset,
        tuple((cable.name, cable.distance_from_threshold) for cable in runway.cables if cable.rigged),
        tuple(mark for mark in marks if math.isfinite(mark.distance)),
        runway.takeoff_run_available - conditions.start_offset,
        runway.takeoff_distance_available - conditions.start_offset,
        runway.accelerate_stop_distance_available - conditions.start_offset,
        numbers.technique.continue_to,
    )


def _takeoff_marks(numbers: Numbers, decision: Decision | None, line: LineCheck | None) -> list[RunwayMark]:
    work = numbers.takeoff
    if work is None:
        return []
    takeoff, offset = work.takeoff, numbers.conditions.start_offset
    nose = _distance_at_cas(work, float(takeoff.nosewheel_lift_off_cas[0]))
    marks = [
        RunwayMark(
            "nosewheel_lift_off",
            "Nosewheel lift-off",
            offset + nose,
            "takeoff",
            _cas(takeoff.nosewheel_lift_off_cas),
        ),
        RunwayMark(
            "rotation",
            "Rotation",
            offset + _one(takeoff.rotation_distance),
            "takeoff",
            _cas(takeoff.rotation_cas),
        ),
        RunwayMark(
            "lift_off", "Lift-off", offset + _one(takeoff.ground_run), "takeoff", _cas(takeoff.lift_off_cas)
        ),
        RunwayMark(
            "screen", "50 ft", offset + _one(takeoff.distance_to_screen), "takeoff", _cas(takeoff.screen_cas)
        ),
    ]
    if line is not None:
        marks.append(RunwayMark("line_speed", "Line speed", offset + line.distance, "takeoff", line.expected))
    lengths = work.lengths
    if math.isfinite(lengths.refusal_speed[0]):
        at = on_line(
            float(lengths.refusal_speed[0]), work.curves.speed[0], work.curves.accelerate_distance[0]
        )
        cas = float(
            np.asarray(cas_from_tas(lengths.refusal_speed + work.setup.cases.headwind, work.setup.cases.air))[
                0
            ]
        )
        marks.append(RunwayMark("refusal", "Refusal", offset + float(at), "reject", cas))
    if decision is None:
        return marks
    marks += [
        RunwayMark("decision", "Decision", offset + decision.accelerate_distance, "reject", decision.speed),
        RunwayMark("decision_stop", "Stop from decision", offset + decision.stop_distance, "reject"),
    ]
    if numbers.pack.engine.count > 1:
        marks += _continued_marks(work, decision, offset)
    return marks


def _continued_marks(work: TakeoffNumbers, decision: Decision, offset: float) -> list[RunwayMark]:
    curves, cases = work.curves, work.setup.cases
    grid = np.asarray(cas_from_tas(curves.speed[0] + cases.headwind[0], cases.air))
    lift_off = on_line(decision.speed, grid, curves.go_distance[0])
    screen = on_line(decision.speed, grid, curves.go_screen_distance[0])
    return [
        RunwayMark("continue_lift_off", "One engine: lift-off", offset + lift_off, "engine_failure"),
        RunwayMark("continue_screen", "One engine: 50 ft", offset + screen, "engine_failure"),
    ]


def _landing_marks(numbers: Numbers) -> list[RunwayMark]:
    from sortiewright.sortie.section_landing import todays_row

    row = todays_row(numbers)
    if row is None or row.result is None or numbers.landing_conditions is not numbers.conditions:
        return []
    threshold = numbers.landing_conditions.runway.displaced_threshold
    touchdown = threshold + float(row.result.air_distance[row.row])
    return [
        RunwayMark("touchdown", "Touchdown", touchdown, "landing", float(row.result.touchdown_cas[row.row])),
        RunwayMark("landing_stop", "Landing stop", threshold + float(row.result.total[row.row]), "landing"),
    ]


def curves(numbers: Numbers) -> tuple[Curve, ...]:
    """Return stop and go over failure speed, and speed over distance of the planned run."""
    work = numbers.takeoff
    if work is None:
        return ()
    lines, cases = work.curves, work.setup.cases
    cas = np.asarray(cas_from_tas(lines.speed[0] + cases.headwind[0], cases.air))
    distance, speed = Kind.RUNWAY_DISTANCE, Kind.CAS
    drawn = [
        Curve("stop_distance", "Stop", *_finite(cas, lines.stop_distance[0]), speed, distance),
        Curve("speed_over_distance", "Planned run", *_planned_run(work, cas), distance, speed),
    ]
    if numbers.pack.engine.count > 1:
        drawn.insert(
            1, Curve("go_distance", "Go to lift-off", *_finite(cas, lines.go_distance[0]), speed, distance)
        )
        drawn.insert(
            2,
            Curve(
                "go_screen_distance",
                "Go to 50 ft",
                *_finite(cas, lines.go_screen_distance[0]),
                speed,
                distance,
            ),
        )
    return tuple(curve for curve in drawn if len(curve.x) > 1)


def _planned_run(work: TakeoffNumbers, cas: Floats) -> tuple[Floats, Floats]:
    """Return distance and speed of the all-engine run: release, three-point run, lift-off, screen."""
    lines, takeoff = work.curves, work.takeoff
    on_ground = lines.accelerate_distance[0] < _one(takeoff.rotation_distance)
    x = np.concatenate(
        [
            [0.0],
            lines.accelerate_distance[0][on_ground],
            takeoff.rotation_distance,
            takeoff.ground_run,
            takeoff.distance_to_screen,
        ]
    )
    start = np.asarray(cas_from_tas(work.setup.start_speed + work.setup.cases.headwind, work.setup.cases.air))
    y = np.concatenate(
        [start, cas[on_ground], takeoff.rotation_cas, takeoff.lift_off_cas, takeoff.screen_cas]
    )
    return _finite(x, y)


def _finite(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    good = np.isfinite(x) & np.isfinite(y)
    return x[good], y[good]


def _distance_at_cas(work: TakeoffNumbers, cas: float) -> float:
    cases = work.setup.cases
    grid = np.asarray(cas_from_tas(work.curves.speed[0] + cases.headwind[0], cases.air))
    return on_line(cas, grid, work.curves.accelerate_distance[0])


def _one(values: Floats) -> float:
    return float(values[0])


def _cas(values: Floats) -> float | None:
    return float(values[0]) if math.isfinite(values[0]) else None
