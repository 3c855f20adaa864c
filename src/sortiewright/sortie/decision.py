"""The briefed go or no-go speed, the acceleration check, and what bounds them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import Air, cas_from_tas
from sortiewright.pack import TakeoffTechnique
from sortiewright.performance import Cases, on_line, speed_at_distance
from sortiewright.sortie.numbers import Numbers, TakeoffNumbers

Floats = NDArray[np.float64]

BOARD_SPACING = 304.8  # m: runway distance markers stand every 1,000 ft
CHECK_BELOW_DECISION = (
    10.0 * 1852.0 / 3600.0
)  # m/s: the check speed is at least 10 kt under the decision speed
# CNATRA P-862, appendix A.
WITHIN_ZONE = 1e-4  # of the zone's energy: a stop from the maximum braking speed itself stays below the zone


@dataclass(frozen=True, slots=True)
class Decision:
    """Calibrated airspeeds m/s; distances m from release; NaN where there is none.

    ``lowest`` is the least speed from which going on is possible and controllable, ``highest`` the most from
    which a stop is. Where the first is above the second, between them neither works: an uncovered band.
    """

    speed: float
    lowest: float
    highest: float
    lowest_cause: str
    highest_cause: str
    uncovered_seconds: float
    maximum_braking_speed: float
    """Ground speed; NaN where brake energy does not limit."""
    stop_distance: float
    go_distance: float
    stop_energy: float
    accelerate_distance: float


@dataclass(frozen=True, slots=True)
class LineCheck:
    """The acceleration check: at ``distance`` from release the speed must be at least ``minimum``."""

    distance: float
    board: int | None
    """Thousands of feet remaining on the board, None where the check is not at a board."""
    expected: float
    minimum: float
    tolerance: float
    readable: bool


def to_cas(cases: Cases, ground_speed: float) -> float:
    """Return the calibrated airspeed of a ground speed on today's runway."""
    return float(np.asarray(cas_from_tas(ground_speed + cases.headwind, cases.air))[0])


def decide(numbers: Numbers) -> Decision | None:
    """Return the decision speed and its bounds, or None where the takeoff could not be computed.

    Go/no-go lies at or above the critical engine failure speed, the minimum go speed and the minimum control
    speed on the ground, at or under refusal, rotation and maximum braking speed (CNATRA P-862, appendix A).
    Which end of that range is briefed is the pack's choice.
    """
    work = numbers.takeoff
    if work is None or not np.isfinite(work.takeoff.ground_run[0]):
        return None
    cases, lengths = work.setup.cases, work.lengths
    rotation = float(work.takeoff.rotation_cas[0])
    uppers = {"rotation speed": rotation}
    if lengths.never_stops[0]:
        uppers["refusal speed"] = 0.0
    elif not lengths.stops_from_lift_off[0]:
        uppers["refusal speed"] = to_cas(cases, float(lengths.refusal_speed[0]))
    braking = _maximum_braking_speed(numbers, work)
    if np.isfinite(braking):
        uppers["maximum braking speed"] = to_cas(cases, braking)
    highest_cause = min(uppers, key=uppers.__getitem__)
    highest = uppers[highest_cause]
    lowers: dict[str, float] = {}
    if numbers.pack.engine.count > 1:
        lowers["minimum control speed on the ground"] = work.minimum_control_cas
        if lengths.never_goes[0]:
            lowers["minimum go speed"] = math.inf
        elif not lengths.goes_from_any[0]:
            lowers["minimum go speed"] = to_cas(cases, float(lengths.minimum_go_speed[0]))
        if np.isfinite(lengths.critical_speed[0]):
            lowers["critical engine failure speed"] = to_cas(cases, float(lengths.critical_speed[0]))
    lowers = {cause: value for cause, value in lowers.items() if not math.isnan(value)}
    if not lowers:
        speed, lowest, lowest_cause = highest, math.nan, ""
    else:
        # The critical speed is where both ways need the same length; it need not be kept where both fit.
        lowest_cause = max(lowers, key=lowers.__getitem__)
        lowest = lowers[lowest_cause]
        if lowest > highest and lowest_cause == "critical engine failure speed":
            rest = {cause: value for cause, value in lowers.items() if cause != lowest_cause}
            lowest_cause = max(rest, key=rest.__getitem__, default="")
            lowest = rest.get(lowest_cause, math.nan)
        speed = highest if math.isnan(lowest) else _briefed(numbers.technique, lowest, highest)
    return _at_speed(work, cases, speed, lowest, highest, lowest_cause, highest_cause, braking)


def _briefed(technique: TakeoffTechnique, lowest: float, highest: float) -> float:
    """Return the chosen end of the range, a margin inside it; the highest where the range is empty."""
    if lowest >= highest:
        return highest
    if technique.decision_speed_choice == "lowest":
        return min(lowest + technique.decision_speed_margin, highest)
    return max(highest - technique.decision_speed_margin, lowest)


def _at_speed(
    work: TakeoffNumbers,
    cases: Cases,
    speed: float,
    lowest: float,
    highest: float,
    lowest_cause: str,
    highest_cause: str,
    braking: float,
) -> Decision:
    curves = work.curves
    grid_cas = np.asarray(cas_from_tas(curves.speed[0] + cases.headwind[0], _one(cases)))

    def at(values: Floats) -> float:
        return on_curve(speed, grid_cas, values)

    band = 0.0
    if not math.isnan(lowest) and lowest > highest:
        top = min(lowest, float(grid_cas[-1]))
        bottom = max(highest, float(grid_cas[0]))
        entered, left = (on_line(cas, grid_cas, curves.accelerate_time[0]) for cas in (bottom, top))
        band = left - entered
    # The refusal speed is the one whose stop needs what there is: known better than read off the curve.
    at_refusal = highest_cause == "refusal speed" and speed == highest > 0.0
    stop = work.stop_available if at_refusal else at(curves.stop_distance[0])
    go = curves.go_screen_distance if work.setup.technique.continue_to == "screen" else curves.go_distance
    return Decision(
        speed,
        lowest,
        highest,
        lowest_cause,
        highest_cause,
        band,
        braking,
        stop,
        at(go[0]),
        at(curves.stop_energy[0]),
        at(curves.accelerate_distance[0]),
    )


def on_curve(at: float, x: Floats, y: Floats) -> float:
    """Return ``y`` at one value of an increasing ``x`` by the cubic through the four points around it.

    A straight line where one of the four is not finite; NaN outside ``x``. The grid's straight lines alone
    would be up to half a metre off.
    """
    first = int(np.clip(np.searchsorted(x, at) - 2, 0, max(len(x) - 4, 0)))
    near, values = x[first : first + 4], y[first : first + 4]
    if len(near) < 4 or not np.isfinite(values).all() or not x[0] <= at <= x[-1]:
        return on_line(at, x, y)
    total = 0.0
    for here, value in zip(near, values, strict=True):
        total += float(value * np.prod([(at - other) / (here - other) for other in near if other != here]))
    return total


def _one(cases: Cases) -> Air:
    """Return the air as one value, for arrays of another shape."""
    return Air(float(cases.pressure[0]), float(cases.temperature[0]))


def _maximum_braking_speed(numbers: Numbers, work: TakeoffNumbers) -> float:
    """Return the ground speed up to which a stop stays below the first no-go brake energy zone; NaN: any."""
    zones = [zone.above for zone in numbers.pack.wheels.energy_zones if zone.severity == "no-go"]
    energy, speed = work.curves.stop_energy[0], work.curves.speed[0]
    if not zones or not np.isfinite(energy).all() or energy[-1] <= min(zones):
        return math.nan
    return on_line(min(zones) * (1.0 - WITHIN_ZONE), energy, speed)


def line_check(numbers: Numbers, decision: Decision) -> LineCheck | None:
    """Return the acceleration check at the runway board nearest the pack's marker, or None where none serves.

    A board showing R thousands remaining stands at TORA - 1000 R - start offset from release. The minimum is
    the speed of a run whose lost acceleration uses up the margin of the decision: at a fixed distance V^2
    goes with acceleration, and a run to a speed lengthens as acceleration falls. Never beyond what the pack
    allows as most, and said so where it is less than a crew can read.
    """
    work = numbers.takeoff
    assert work is not None
    cases, runway = work.setup.cases, numbers.conditions.runway
    technique = numbers.technique
    offset = numbers.conditions.start_offset
    boards = [
        (thousands, runway.takeoff_run_available - thousands * BOARD_SPACING - offset)
        for thousands in range(1, int(runway.takeoff_run_available / BOARD_SPACING) + 1)
    ]
    usable: list[tuple[int, float, float]] = []
    if boards:
        speeds = speed_at_distance(work.curves, [[max(x, 0.0) for _, x in boards]])[0]
        for (thousands, x), ground_speed in zip(boards, speeds, strict=True):
            if x > 0.0 and np.isfinite(ground_speed):
                cas = to_cas(cases, float(ground_speed))
                if cas <= decision.speed - CHECK_BELOW_DECISION + 1e-9:
                    usable.append((thousands, x, cas))
    board: int | None = None
    if usable:
        board, distance, expected = min(usable, key=lambda one: abs(one[1] - technique.line_speed_marker))
    else:
        distance = technique.line_speed_marker
        ground_speed = float(speed_at_distance(work.curves, [[distance]])[0, 0])
        if not math.isfinite(ground_speed):
            return None
        expected = to_cas(cases, ground_speed)
        if expected > decision.speed - CHECK_BELOW_DECISION:
            return None
    lost = _acceleration_margin(work, decision)
    allowed = expected * (1.0 - math.sqrt(max(1.0 - lost, 0.0)))
    tolerance = min(max(allowed, 0.0), technique.line_speed_most_tolerance)
    readable = tolerance >= technique.line_speed_least_tolerance - 1e-9
    return LineCheck(distance, board, expected, expected - tolerance, tolerance, readable)


def _acceleration_margin(work: TakeoffNumbers, decision: Decision) -> float:
    """Return the share of acceleration that may be lost before the stop or the takeoff no longer fits."""
    run = decision.accelerate_distance
    spare_stop = work.stop_available - decision.stop_distance
    by_stop = spare_stop / (run + spare_stop) if run + spare_stop > 0.0 else 0.0
    going = decision.go_distance if math.isfinite(decision.go_distance) else float(work.takeoff.ground_run[0])
    by_go = 1.0 - going / work.go_available
    return max(min(by_stop, by_go), 0.0)
