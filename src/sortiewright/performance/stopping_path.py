"""A stop on its way: where and how fast the aircraft is from the event until it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import tas_from_cas
from sortiewright.pack import Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.ground_run import RunState
from sortiewright.performance.marching import kutta_step
from sortiewright.performance.parabola import combine
from sortiewright.performance.power import PowerPlan
from sortiewright.performance.stopping import (
    SPEED_MARGIN,
    StopForces,
    StopMeans,
    chute_speeds,
    thrust_fit_of,
)

Floats = NDArray[np.float64]

STEP = 0.5  # s
NEAR = 0.05  # m/s above the speed at which the nose comes down, at which it is down
LONGEST = 300.0  # s: an aircraft that still rolls then is not drawn any further


@dataclass(frozen=True, slots=True)
class StopPath:
    """Seconds after the event, metres from release (or touchdown) and ground speed m/s, (k,).

    The last speed is nought, unless nothing stopped the aircraft. ``brakes_on`` s is when the brakes first
    take hold, NaN where they never do; ``chute_out`` s is when it was commanded, NaN without one.
    """

    time: Floats
    distance: Floats
    speed: Floats
    brakes_on: float
    chute_out: float

    def at(self, time: float) -> tuple[float, float]:
        """Return distance and ground speed at a time after the event."""
        return float(np.interp(time, self.time, self.distance)), float(np.interp(time, self.time, self.speed))


def stop_path(
    pack: Pack,
    cases: Cases,
    plan: PowerPlan | None,
    start: RunState,
    means: StopMeans,
    *,
    engines: float | None = None,
) -> StopPath:
    """Return the way of the stop that ``stop_from`` computes, of one case, for a drawing.

    The levers close at the event (``plan`` None: they were closed before). Marched over time in steps of half
    a second that end where something is done; where a force jumps with speed inside a step, the place is off
    by up to a metre.
    """
    chute = pack.wheels.chute if means.chute_commanded is not None else None
    commanded = np.inf if chute is None or means.chute_commanded is None else means.chute_commanded
    open_at = commanded + (chute.inflation_time if chute is not None else 0.0)
    still = np.maximum(-cases.headwind, 0.0)
    stretch = np.maximum(start.speed + SPEED_MARGIN - still, 1.0)
    fit_speeds = still[:, None] + stretch[:, None] * np.array([0.0, 0.5, 1.0])
    flat = StopForces(pack, cases, means, fit_speeds, held=False)
    is_held = means.held_angle_of_attack is not None
    held = StopForces(pack, cases, means, fit_speeds, held=True) if is_held else flat
    nose_down = _nose_down(cases, means)
    thrust_fit = thrust_fit_of(pack, cases, plan, fit_speeds)
    count = pack.engine.count if engines is None else engines
    before = plan.taking_off(start.time) if plan is not None else {}
    least, most = chute_speeds(chute, cases)

    def slope(since: Floats, state: Floats, begun: float) -> Floats:
        speed = np.maximum(state[1], 0.0)
        nose_up = is_held and float(speed[0]) > nose_down + NEAR
        forces = held if nose_up else flat
        idle = {pack.engine.idle: np.full_like(since, count)}
        weights = idle if plan is None else plan.closing(before, since, count)
        c0, c1, c2 = combine(weights, thrust_fit)
        u = flat.share(speed)
        # What is done at a moment counts from the step that begins there, not in the last part of the one
        # before it.
        braked = 1.0 if begun >= means.brakes_on - 1e-9 and not nose_up else 0.0
        canopy = (begun >= open_at - 1e-9) & (speed >= least) & (speed <= most)
        is_open = 1.0 * (canopy & np.asarray(means.chute_opens))
        thrust = c0 + u * (c1 + u * c2)
        force, _ = forces.retarding(speed, thrust, *forces.aerodynamic(speed), braked, is_open)
        return np.array([speed, -force / cases.mass])

    closing = [] if plan is None else [plan.cancel_augmentation, plan.time_to_close]
    marks = [moment for moment in (*closing, means.brakes_on, commanded, open_at) if np.isfinite(moment)]
    time, since = np.zeros(1), [0.0]
    state = np.stack([start.distance, start.speed])
    states = [state]
    steps = list(_steps(marks))[::-1]
    begun = 0.0
    while steps:
        step = steps.pop()

        def here(t: Floats, y: Floats, begun: float = begun) -> Floats:
            return slope(t, y, begun)

        new = kutta_step(here, time, state, np.array([step]), here(time, state))
        before_speed, after_speed = float(state[1, 0]), float(new[1, 0])
        if is_held and after_speed < nose_down and before_speed > nose_down + NEAR:
            # The nose comes down inside the step: it ends there, and the rest is another.
            part = (before_speed - nose_down) / (before_speed - after_speed)
            steps += [step * (1.0 - part), step * part]
            continue
        if after_speed <= 0.0:
            part = before_speed / (before_speed - after_speed)
            states.append(np.array([state[0] + 0.5 * state[1] * part * step, [0.0]]))
            since.append(since[-1] + part * step)
            break
        time, state = time + step, new
        begun = float(time[0])
        since.append(begun)
        states.append(state)
    path = np.stack(states)[:, :, 0]
    moments = np.array(since)
    slow_enough = (path[:, 1] <= nose_down + NEAR) & (moments >= means.brakes_on - 1e-9) & means.brakes
    return StopPath(
        moments,
        path[:, 0],
        path[:, 1],
        float(moments[np.argmax(slow_enough)]) if slow_enough.any() else np.nan,
        commanded if np.isfinite(commanded) else np.nan,
    )


def _nose_down(cases: Cases, means: StopMeans) -> float:
    """Return the ground speed at which the nose comes down; inf where it is not held up."""
    if means.held_angle_of_attack is None or means.held_until_cas is None:
        return np.inf if means.held_angle_of_attack is None else 0.0
    return float((np.asarray(tas_from_cas(means.held_until_cas, cases.air)) - cases.headwind)[0])


def _steps(marks: list[float]) -> Iterator[float]:
    """Yield steps of at most ``STEP`` that end on every mark."""
    edges = sorted({0.0, *(mark for mark in marks if mark > 0.0), LONGEST})
    for begin, end in pairwise(edges):
        count = max(1, round(np.ceil((end - begin) / STEP - 1e-9)))
        for _ in range(count):
            yield (end - begin) / count
