"""A second road to where an aircraft is on its way to a stop: the forces of ``reference_stop``, over time."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf

import numpy as np
from reference_stop import RunwayForces
from reference_takeoff import PRECISION, Aeroplane, Engines
from scipy.integrate import solve_ivp


@dataclass(frozen=True)
class Way:
    """Seconds, metres and m/s over the ground, each (k,)."""

    time: np.ndarray
    distance: np.ndarray
    speed: np.ndarray

    def at(self, time):
        return np.interp(time, self.time, self.distance), np.interp(time, self.time, self.speed)


@dataclass(frozen=True)
class Rejection:
    """A takeoff run to where the levers close, and what is done then; seconds after that, None: not done."""

    speed: float
    brakes_on: float
    chute: float | None
    start_speed: float = 0.0


def rejected_way(plane: Aeroplane, technique, order: Rejection, step=0.05) -> tuple[Way, float]:
    """Return the whole way from brake release to the stop, and when the levers closed."""
    engines = Engines(plane, technique)
    forces = RunwayForces(plane, plane.pack.aero.configurations[technique.configuration])
    attitude = plane.pack.airframe.static_ground_attitude

    def running(time, state):
        thrust = engines.one(time, state[1] + plane.wind) * engines.count
        return state[1], forces(state[1], thrust, attitude)[0] / plane.mass

    run = _marched(
        running, [0.0, order.start_speed], 0.0, engines.kinks, step, lambda _, s: s[1] - order.speed
    )
    closed = float(run.time[-1])
    opens = inf
    if order.chute is not None and plane.pack.wheels.chute is not None:
        opens = closed + order.chute + plane.pack.wheels.chute.inflation_time

    def stopping(time, state):
        thrust = engines.closing(time, state[1] + plane.wind, closed)
        braking, chute = time >= closed + order.brakes_on, time >= opens
        return state[1], forces(state[1], thrust, attitude, braking=braking, chute=chute)[0] / plane.mass

    times = engines.times
    kinks = [closed + one for one in (times.cancel_augmentation, times.military_to_idle, order.brakes_on)]
    state = [run.distance[-1], run.speed[-1]]
    stop = _marched(stopping, state, closed, [*kinks, opens], step, lambda _, s: -s[1])
    whole = [np.concatenate([getattr(run, name), getattr(stop, name)[1:]]) for name in Way.__annotations__]
    return Way(*whole), closed


def landing_way(plane: Aeroplane, speed, *, chute=True, step=0.05) -> Way:
    """Return the roll from touchdown at a ground speed to the stop, by the pack's technique."""
    pack, technique = plane.pack, plane.pack.technique.landing
    forces = RunwayForces(
        plane, pack.aero.configurations[technique.configuration], speedbrake=technique.speedbrake
    )
    idle, level = plane.thrust_of[pack.engine.idle], pack.airframe.static_ground_attitude
    held, nose_down = technique.aerobrake_angle_of_attack, inf
    if held is not None:
        nose_down = plane.tas_from_cas(technique.aerobrake_until_cas) - plane.wind
    opens = inf
    if chute and pack.wheels.chute is not None:
        opens = technique.chute_delay + pack.wheels.chute.inflation_time

    def stopping(time, state):
        high = held is not None and state[1] > nose_down
        force, _ = forces(
            state[1],
            pack.engine.count * idle(state[1] + plane.wind),
            held if high else level,
            braking=not high and time >= technique.free_roll_time,
            chute=time >= opens,
        )
        return state[1], force / plane.mass

    kinks = [technique.free_roll_time, opens]
    return _marched(stopping, [0.0, speed], 0.0, kinks, step, lambda _, s: -s[1])


def _marched(slope, state, start, kinks, step, ends) -> Way:
    """Return the way until ``ends`` rises to nought; every part begins anew where a force jumps in time."""
    inner = sorted({round(k, 9) for k in kinks if start + 1e-6 < k < start + 300.0})
    edges = [start, *inner, start + 300.0]
    ends.terminal, ends.direction = True, 1.0
    ways = [(np.array([start]), np.array([state]).T)]
    for low, high in pairwise(edges):
        inside = np.arange(low, high, step)[1:]
        # Forces jump with speed too: no step may be long.
        at = np.append(inside[inside < high], high)
        found = solve_ivp(slope, (low, high), state, t_eval=at, events=ends, max_step=4.0 * step, **PRECISION)
        ended = bool(found.t_events[0].size)
        last = (found.t_events[0], found.y_events[0].T) if ended else (found.t[:0], found.y[:, :0])
        ways += [(found.t, found.y), last]
        state = (last if ended else ways[-2])[1][:, -1]
        if ended:
            break
    time = np.concatenate([one for one, _ in ways])
    distance, speed = np.concatenate([one for _, one in ways], axis=1)
    return Way(time, distance, np.maximum(speed, 0.0))
