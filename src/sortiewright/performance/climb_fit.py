"""The best climb turned into a schedule that a pilot can fly, and that the integrator has flown.

The shape comes from the optimum, or from the energy climb: where its path dives, or jumps from subsonic to
supersonic, a dive through the drag rise and a climb at constant CAS; else one climb at constant CAS and Mach.
What numbers to hold is then searched for with the integrator itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, cas_from_mach, mach_from_cas, standard_air
from sortiewright.pack import OutsideTable, Pack
from sortiewright.performance.best_climb import EnergyClimb, Objective
from sortiewright.performance.ceiling import mach_grid, speed_limit
from sortiewright.performance.climb_path import FlownPath
from sortiewright.performance.climb_schedule import (
    Bend,
    Segment,
    Slant,
    SpeedChange,
    SteadySpeed,
    fly_schedule,
)
from sortiewright.performance.level_flight import FlightCases, FlightSetup, power_setting
from sortiewright.performance.optimal_climb import OptimalClimb
from sortiewright.performance.optimal_climb_shape import climb_shape

Floats = NDArray[np.float64]

JUMP = 0.1  # Mach between two steps of the energy climb that no steady climb makes
MACH_TOLERANCE = 0.001
HEIGHT_TOLERANCE = 10.0  # m
ZOOM_TRIES = 8
PULL_TRIES = 6
ZOOM_SLOPE = 2e-4  # Mach at the end for each metre that the zoom begins higher: to begin with
ROUNDS = 60
WORTH_A_ROUND = 3e-4  # of the cost: a round that gains less is the last with its steps
SMALLEST = 1.0 / 4.0  # of the first step, where the search ends


_Made = tuple[FlownPath, tuple[Segment, ...]]


@dataclass(frozen=True, slots=True)
class FlyableClimb:
    """Segments to fly, and the flight of them: one case. ``path`` is NaN where no schedule got there.

    Pull-ups and push-overs are flown at constant load factors; where a steady climb begins and ends the path
    turns a little in no time.
    """

    segments: tuple[Segment, ...]
    path: FlownPath

    @property
    def time(self) -> float:
        """Time of the whole climb, s."""
        return float(self.path.time[0, -1])

    @property
    def fuel(self) -> float:
        """Fuel of the whole climb, kg."""
        return float(self.path.fuel[0, -1])


@dataclass(frozen=True, slots=True)
class _Task:
    pack: Pack
    setup: FlightSetup
    case: FlightCases
    power: str
    altitude: float
    mach: float
    to_altitude: float
    to_mach: float
    maximum_mach: float
    maximum_cas: float
    push: float
    pull: float
    guess: dict[str, float]

    def fly(self, segments: tuple[Segment, ...], after: FlownPath | None = None) -> FlownPath:
        """Return the flight from the start, or on from the end of ``after``."""
        case, altitude, mach = self.case, self.altitude, self.mach
        if after is not None:
            case = replace(case, mass=after.mass[:, -1])
            altitude, mach = float(after.pressure_altitude[0, -1]), float(after.mach[0, -1])
        flown = fly_schedule(
            self.pack, self.setup, case, segments, altitude=altitude, mach=mach, to_altitude=self.to_altitude
        )
        return flown if after is None else after.then(flown)


def flyable_schedule(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    best: EnergyClimb | OptimalClimb,
    *,
    altitude: float,
    mach: float,
    to_altitude: float,
    to_mach: float,
    maximum_mach: float | None = None,
    maximum_cas: float | None = None,
    aim: Objective = "time",
    push: float = 0.0,
    pull: float = 2.5,
) -> FlyableClimb:
    """Return the schedule for the first case that comes nearest to its best climb ``best``.

    Arguments as for ``energy_climb``; ``push`` and ``pull`` are the load factors of push-over and pull-up.
    Some seconds of work: a compass search over Mach numbers, CAS, altitudes and path angles, each try flown.
    """
    top = float(mach_grid(pack, setup, power_setting(pack, power).thrust, maximum_mach)[-1])
    limit = speed_limit(pack, maximum_cas)
    one = cases.take(slice(0, 1))
    ends = (altitude, mach, to_altitude, to_mach)
    task = _Task(pack, setup, one, power, *ends, top, limit, push, pull, {})
    if isinstance(best, OptimalClimb):
        dives, start, step = _from_optimum(task, best)
    else:
        dives, start, step = _from_energy(task, best)
    shape = _through_a_dive if dives else _without_dive

    def cost(x: Floats) -> float:
        try:
            made = shape(task, x)
        except OutsideTable:
            return np.inf
        if made is None:
            return np.inf
        value = made[0].time[0, -1] if aim == "time" else made[0].fuel[0, -1]
        return float(value) if np.isfinite(value) else np.inf

    found, value = _compass(cost, start, step)
    made = shape(task, found) if np.isfinite(value) else None
    if made is None:
        nowhere = task.fly((SpeedChange(power, mach=mach),))
        return FlyableClimb((), replace(nowhere, time=nowhere.time * np.nan, fuel=nowhere.fuel * np.nan))
    return FlyableClimb(made[1], made[0])


def _from_optimum(task: _Task, best: OptimalClimb) -> tuple[bool, Floats, Floats]:
    """Return whether to dive, where the search begins, and its first steps."""
    shape = climb_shape(best, task.push, task.pull)
    task.guess.update(height=shape.zoom_altitude, push_at=shape.push_altitude)
    hold, zoom = min(shape.hold, 0.995 * task.maximum_cas), max(shape.zoom, 0.06)
    if (dive := shape.before) is not None:
        climb = min(dive.climb_cas, task.maximum_cas)
        first = [dive.climb_mach, dive.top, dive.bottom, dive.dive, hold, zoom, climb]
        return True, np.array(first), np.array([0.02, 300.0, 300.0, 0.04, 4.0, 0.05, 8.0])
    upper = min(shape.upper_mach, task.maximum_mach)
    return False, np.array([hold, upper, zoom]), np.array([10.0, 0.02, 0.03])


def _from_energy(task: _Task, best: EnergyClimb) -> tuple[bool, Floats, Floats]:
    """Return whether to dive, where the search begins, and its first steps."""
    heights, numbers = best.pressure_altitude[0], best.mach[0]
    cas = cas_from_mach(numbers, np.asarray(standard_air(heights).pressure))
    rises = np.nan_to_num(np.diff(numbers))
    jump = int(np.argmax(rises))
    if rises[jump] > JUMP:
        hold = min(float(np.nanmedian(cas[jump + 1 :])), task.maximum_cas)
        climb = min(float(np.nanmax(cas[: jump + 1])), task.maximum_cas)
        first = [numbers[jump], heights[jump] - 1_000.0, heights[jump + 1] + 1_000.0, 0.2, hold, 0.6, climb]
        return True, np.array(first), np.array([0.02, 600.0, 600.0, 0.05, 10.0, 0.10, 15.0])
    quarter = len(numbers) // 4
    hold = min(float(np.nanmedian(cas[quarter : 3 * quarter])), task.maximum_cas)
    upper = min(float(np.nanmedian(numbers[-quarter:])), task.maximum_mach)
    return False, np.array([hold, upper, 0.35]), np.array([15.0, 0.03, 0.1])


def _through_a_dive(task: _Task, x: Floats) -> _Made | None:
    climb_mach, top, bottom, dive, hold, zoom, climb_cas = (float(value) for value in x)
    angles = 0.02 <= dive <= 0.6 and 0.05 <= zoom <= 1.0
    heights = min(task.altitude, task.to_altitude) <= bottom < top <= task.to_altitude
    slow_enough = max(hold, climb_cas) <= task.maximum_cas and climb_mach <= task.maximum_mach
    if not (angles and heights and slow_enough):
        return None
    power = task.power
    climb = SteadySpeed(power, climb_cas, climb_mach, to_altitude=top)
    pulled = _pulled_up(task, climb)
    if pulled is None:
        return None
    before = (*pulled, climb, Bend(power, -dive, task.push))
    over = task.fly(before)
    # Where the push-over ends below the foot of the dive, the dive would have to climb.
    if not over.reached[0] or over.pressure_altitude[0, -1] <= bottom:
        return None
    after = (Slant(power, bottom, dive), Bend(power, 0.0, task.pull), SpeedChange(power, cas=hold))
    flown = task.fly(after, over)
    return _with_zoom(task, (*before, *after), flown, SteadySpeed(power, cas=hold), zoom)


def _pulled_up(task: _Task, climb: SteadySpeed) -> tuple[Segment, ...] | None:
    """Return the acceleration and the pull-up that ends at the speed and path angle of the climb.

    Speed changes in the pull-up, so it begins at another one: secants with a slope of one.
    """
    power, mach = task.power, _schedule_mach(climb, task.altitude)
    for _ in range(PULL_TRIES):
        fast = task.fly((SpeedChange(power, mach=mach),))
        steady = task.fly((climb,), fast)
        begins = fast.time.shape[1]
        if not steady.reached[0] or not (rise := float(steady.path_angle[0, begins])) > 0.0:
            return None
        segments = (SpeedChange(power, mach=mach), Bend(power, rise, task.pull))
        pulled = task.fly(segments)
        if not pulled.reached[0]:
            return None
        missed = float(pulled.mach[0, -1]) - _schedule_mach(climb, float(pulled.pressure_altitude[0, -1]))
        if abs(missed) < MACH_TOLERANCE:
            return segments
        mach -= missed
    return None


def _schedule_mach(climb: SteadySpeed, altitude: float) -> float:
    assert climb.cas is not None
    assert climb.mach is not None
    return min(climb.mach, float(mach_from_cas(climb.cas, standard_air(altitude).pressure)))


def _without_dive(task: _Task, x: Floats) -> _Made | None:
    hold, climb_mach, zoom = (float(value) for value in x)
    inside = 0.0 < hold <= task.maximum_cas and 0.2 <= climb_mach <= task.maximum_mach
    if not (inside and 0.05 <= zoom <= 1.0):
        return None
    power = task.power
    end = min(climb_mach, float(mach_from_cas(hold, standard_air(task.to_altitude).pressure)))
    if end > task.to_mach + MACH_TOLERANCE:
        head = (SpeedChange(power, hold, climb_mach),)
        zoomed = _with_zoom(task, head, task.fly(head), SteadySpeed(power, hold, climb_mach), zoom)
        if zoomed is not None:
            return zoomed
    # Too little to spare for a zoom: the climb holds no more than it is to end with.
    top = min(climb_mach, task.to_mach)
    segments = (
        SpeedChange(power, hold, top),
        SteadySpeed(power, hold, top),
        SpeedChange(power, mach=task.to_mach),
    )
    return task.fly(segments), segments


def _with_zoom(
    task: _Task, head: tuple[Segment, ...], flown: FlownPath, steady: SteadySpeed, zoom: float
) -> _Made | None:
    """Return the flight that leaves the steady climb for a zoom ending level at the wanted height and Mach.

    The higher the zoom begins, the more speed it keeps: secants on the height it begins at. Where the
    push-over to level begins is moved by as much as it missed the height the time before; what that does to
    the speed is counted as energy. Both start from where the try before ended.
    """
    if not flown.reached[0]:
        return None
    bottom = float(flown.pressure_altitude[0, -1])
    height, slope = task.guess.get("height", bottom + 0.25 * (task.to_altitude - bottom)), ZOOM_SLOPE
    push_at = task.guess.get("push_at", task.to_altitude - 0.2 * (task.to_altitude - bottom))
    before: tuple[float, float] | None = None
    for _ in range(ZOOM_TRIES):
        if not bottom <= height < push_at:
            return None
        tail = (
            replace(steady, to_altitude=height),
            Bend(task.power, zoom, task.pull),
            Slant(task.power, push_at, zoom),
            Bend(task.power, 0.0, task.push),
        )
        path = task.fly(tail, flown)
        speed, mach = float(path.tas[0, -1]), float(path.mach[0, -1])
        if not np.isfinite(speed) or path.mach[0].max() > task.maximum_mach:
            return None
        short = task.to_altitude - float(path.pressure_altitude[0, -1])
        there = max(speed**2 - 2.0 * STANDARD_GRAVITY * short, 0.0) ** 0.5 * mach / speed - task.to_mach
        if abs(there) < MACH_TOLERANCE and abs(short) < HEIGHT_TOLERANCE:
            task.guess.update(height=height, push_at=push_at)
            return path, (*head, *tail)
        if before is not None and height != before[0]:
            found = (there - before[1]) / (height - before[0])
            slope = float(np.clip(found, 0.3 * ZOOM_SLOPE, 5.0 * ZOOM_SLOPE))
        before = height, there
        height, push_at = height - there / slope, push_at + short
    return None


def _compass(cost: Callable[[Floats], float], start: Floats, step: Floats) -> tuple[Floats, float]:
    """Return the least cost found by steps along one axis at a time, halved where they help little.

    An axis is tried first in the direction that helped last.
    """
    best, value = start, cost(start)
    size, forward = 1.0, np.ones(len(start))
    for _ in range(ROUNDS):
        before = value
        for axis in range(len(start)):
            for sign in (forward[axis], -forward[axis]):
                tried: Any = best.copy()
                tried[axis] += sign * size * step[axis]
                if (new := cost(tried)) < value:
                    best, value, forward[axis] = tried, new, sign
                    break
        if not value < before * (1.0 - WORTH_A_ROUND):
            size *= 0.5
            if size < SMALLEST:
                break
    return best, value
