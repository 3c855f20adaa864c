"""The takeoff run on the wheels, integrated over ground speed.

With speed as the independent variable every speed-triggered event (engine failure, rotation) is met exactly,
the forces can be tabulated at known speeds, and thrust that still changes with time is carried along as
``dt/dv = m/F(v, t)``, ``dx/dv = v dt/dv``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY
from sortiewright.pack import Configuration, Pack, PowerSetting
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import (
    Devices,
    asymmetric_drag,
    case_thrust,
    case_thrusts,
    coefficients,
    ground_effect,
    ground_lift,
)
from sortiewright.performance.marching import march_to_event
from sortiewright.performance.power import AGES, PowerHistory, Weights

Floats = NDArray[np.float64]

RUN_STEPS = 8
_nodes, _weights = np.polynomial.legendre.leggauss(12)
QUADRATURE_NODES, QUADRATURE_WEIGHTS = 0.5 * (_nodes + 1.0), 0.5 * _weights
BLOCKED = 1e30  # s2/m: stands for dt/dv where nothing accelerates, so that 0 * inf never turns up
NEVER = 1e20  # s
WEAK = 12.0  # a first acceleration below g/12 is too weak to integrate over speed while thrust still changes
CHANGE_STEPS = 4
SHORT = 1e-9  # s, m/s


@dataclass(frozen=True, slots=True)
class RunState:
    """Where a case is: seconds and metres since release, ground speed m/s. Each (n,)."""

    time: Floats
    distance: Floats
    speed: Floats


@dataclass(frozen=True, slots=True)
class NodeForces:
    """Forces at (case, speed) nodes, each (n, k), N: thrust of ONE engine by setting, lift, drag."""

    thrust: dict[str, Floats]
    lift: Floats
    drag: Floats
    dynamic_pressure: Floats


def node_forces(
    pack: Pack,
    cases: Cases,
    settings: Mapping[str, PowerSetting],
    configuration: Configuration,
    angle_of_attack: float,
    ground_speed: Floats,
    devices: Devices,
) -> NodeForces:
    """Return the forces at ground speeds of shape (n, k) in a fixed attitude."""
    airspeed = ground_speed + cases.headwind[:, None]
    mach = np.abs(airspeed) / cases.speed_of_sound[:, None]
    ram = np.maximum(airspeed, 0.0) / cases.speed_of_sound[:, None]  # wind from behind: standing thrust
    force = coefficients(
        pack, configuration, angle_of_attack, mach, drag_index=cases.drag_index[:, None], devices=devices
    )
    pressure = 0.5 * cases.density[:, None] * airspeed**2
    q_s = pressure * pack.airframe.wing_area
    thrust = case_thrusts(settings, ram, cases, over_cases_first=True)
    # A tailwind faster than the ground speed pushes: drag has the sign of the airspeed.
    drag = np.sign(airspeed) * q_s * force.drag(ground_effect(pack, 0.0)) * cases.drag_factor[:, None]
    return NodeForces(thrust, q_s * force.lift * ground_lift(pack, 0.0), drag, pressure)


def failed_engine_drag(
    pack: Pack, uneven_thrust: Floats, dynamic_pressure: Floats, *, held_by_wheels: ArrayLike = 0.0
) -> Floats:
    """Return the drag of one dead engine, N: windmilling, and rudder and sideslip, which hold
    ``uneven_thrust`` but for the share of it beyond full rudder that the wheels hold."""
    windmilling = dynamic_pressure * pack.engine.windmilling_drag_area
    moment = (uneven_thrust + windmilling) * pack.airframe.engine_side_arm
    return windmilling + asymmetric_drag(pack, moment, dynamic_pressure, held_by_wheels=held_by_wheels)


@dataclass(frozen=True, slots=True)
class GroundRun:
    """What is the same for the whole run: a fixed attitude on all wheels, and how thrust goes over time."""

    pack: Pack
    cases: Cases
    configuration: Configuration
    history: PowerHistory
    angle_of_attack: float
    devices: Devices
    rolling_friction: float
    load: Floats
    """Weight across the runway, N."""
    pull: Floats
    """Weight along it, backwards."""
    along: float
    up: float

    def forces(self, ground_speed: Floats) -> NodeForces:
        """Return the forces at ground speeds (n, k)."""
        return node_forces(
            self.pack,
            self.cases,
            self.history.settings(self.pack),
            self.configuration,
            self.angle_of_attack,
            ground_speed,
            self.devices,
        )

    def net_force(self, nodes: NodeForces, at: int | slice, time: Floats) -> Floats:
        """Return the force along the runway at ``time`` (n,) at one node or at several, N."""
        spread = (slice(None), None) if isinstance(at, slice) else (slice(None),)
        weights = self.history(time)
        if isinstance(at, slice):
            weights = {name: weight[:, None] for name, weight in weights.items()}
        thrust = blended(weights, nodes, at)
        normal = np.maximum(self.load[spread] - nodes.lift[:, at] - thrust * self.up, 0.0)
        net = (
            thrust * self.along
            - nodes.drag[:, at]
            - self.rolling_friction * self.cases.friction_factor[spread] * normal
            - self.pull[spread]
        )
        if self.history.fails:
            uneven = thrust * self.history.uneven(time)[spread]
            failed = failed_engine_drag(self.pack, uneven, nodes.dynamic_pressure[:, at], held_by_wheels=1.0)
            net = net - self.history.dead[spread] * failed
        return net

    def thrust(self, time: Floats, ground_speed: Floats) -> Floats:
        """Return the thrust of all engines at ``time`` and ground speed (n,), N."""
        ram = np.maximum(ground_speed + self.cases.headwind, 0.0) / self.cases.speed_of_sound
        settings = self.history.settings(self.pack)
        parts = [
            weight * case_thrust(settings[name], ram, self.cases)
            for name, weight in self.history(time).items()
        ]
        return np.sum(parts, axis=0)

    def take(self, rows: NDArray[np.intp]) -> GroundRun:
        """Return the run of these rows."""
        plan = self.history.plan
        history = self.history.take(rows, replace(plan, spool=plan.spool[rows]))
        return replace(
            self, cases=self.cases.take(rows), history=history, load=self.load[rows], pull=self.pull[rows]
        )


def ground_run(
    pack: Pack,
    cases: Cases,
    configuration: Configuration,
    history: PowerHistory,
    *,
    angle_of_attack: float,
    devices: Devices = Devices(),  # noqa: B008  frozen
    rolling_friction: float,
) -> GroundRun:
    """Return what is the same for a whole run in a fixed attitude on all wheels."""
    tilt = angle_of_attack + pack.airframe.thrust_inclination
    return GroundRun(
        pack,
        cases,
        configuration,
        history,
        angle_of_attack,
        devices,
        rolling_friction,
        load=cases.weight * np.cos(cases.slope),
        pull=cases.weight * np.sin(cases.slope),
        along=np.cos(tilt),
        up=np.sin(tilt),
    )


def accelerate(run: GroundRun, start: RunState, to_speed: Floats) -> RunState:
    """Return the state at ``to_speed`` (n,); time and distance are inf where it is never reached.

    While thrust still changes with time: fourth-order Runge-Kutta over ground speed, each case with its own
    step. From the speed at which it must have settled: Gauss-Legendre quadrature of m v / F(v), as the force
    then depends on speed alone. Where the force is small or against the motion at first (brakes released at
    idle, an engine failing before the other is raised), speed is no measure of progress: those cases are
    integrated over time until thrust has settled. Cases already at or past ``to_speed`` stay where they are.
    """
    reached, weak = _over_speed(run, start, to_speed)
    rows = np.flatnonzero(
        (weak | ~np.isfinite(reached.time)) & (start.time < run.history.settled) & np.isfinite(start.time)
    )
    if rows.size:
        begun = RunState(start.time[rows], start.distance[rows], start.speed[rows])
        part = run.take(rows)
        settled = _to_speed_or_settled(part, begun, to_speed[rows])
        again, _ = _over_speed(part, settled, to_speed[rows])
        for name in RunState.__slots__:
            getattr(reached, name)[rows] = getattr(again, name)
    return reached


def _over_speed(run: GroundRun, start: RunState, to_speed: Floats) -> tuple[RunState, NDArray[np.bool_]]:
    """Return the state at ``to_speed``, and where the force at the start is too weak for this method."""
    cases, history, steps = run.cases, run.history, RUN_STEPS
    gain = np.maximum(to_speed - start.speed, 0.0)
    unsettled = np.maximum(history.settled - start.time, 0.0)
    changing = np.minimum(gain, unsettled * _most_acceleration(run.pack, cases, history))
    edges = np.linspace(0.0, 1.0, steps + 1)
    if not start.speed.any():
        edges = edges**1.5  # thrust changes fastest in the first seconds
    share = np.sort(np.concatenate([edges, 0.5 * (edges[1:] + edges[:-1])]))
    settled_from = start.speed + changing
    marched = start.speed[:, None] + changing[:, None] * share
    rest = (gain - changing)[:, None]
    quadrature = settled_from[:, None] + rest * QUADRATURE_NODES
    speeds = np.concatenate([marched, quadrature], axis=1)
    nodes = run.forces(speeds)

    def slowness(node: int, time: Floats) -> Floats:
        """Return dt/dv = m/F at a node."""
        net = run.net_force(nodes, node, time)
        return np.where(net > 0.0, cases.mass / np.where(net > 0.0, net, 1.0), BLOCKED)

    time, distance = start.time, start.distance
    weak = np.zeros(cases.count, dtype=np.bool_)
    if changing.any():
        weak = (changing > 0.0) & (slowness(0, time) > WEAK / STANDARD_GRAVITY)
        for node in range(0, 2 * steps, 2):
            low, middle, high = speeds[:, node], speeds[:, node + 1], speeds[:, node + 2]
            h = high - low
            k1 = slowness(node, time)
            k2 = slowness(node + 1, time + 0.5 * h * k1)
            k3 = slowness(node + 1, time + 0.5 * h * k2)
            k4 = slowness(node + 2, time + h * k3)
            distance = distance + h / 6.0 * (low * k1 + 2.0 * middle * (k2 + k3) + high * k4)
            time = time + h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)
    net = run.net_force(nodes, slice(2 * steps + 1, None), np.full(cases.count, AGES))
    free = (net > 0.0) | (rest <= 0.0)
    slow = (
        rest
        * QUADRATURE_WEIGHTS
        * np.where(free, cases.mass[:, None] / np.where(net > 0.0, net, 1.0), BLOCKED)
    )
    time = time + slow.sum(axis=1)
    distance = distance + (slow * quadrature).sum(axis=1)
    never = time > NEVER
    reached = np.maximum(to_speed, start.speed)
    return RunState(np.where(never, np.inf, time), np.where(never, np.inf, distance), reached), weak


Until = Callable[[Floats, Floats], Floats]
"""(time, ground speed) -> what falls to nought at the event, (n,) each."""


def _to_speed_or_settled(run: GroundRun, start: RunState, to_speed: Floats) -> RunState:
    """Return the state when ``to_speed`` is reached or thrust has settled, whichever comes first."""
    found = until_or_settled(run, start, lambda _, speed: to_speed - speed)
    near = found.speed > to_speed - SHORT
    return RunState(found.time, found.distance, np.where(near, to_speed, found.speed))


def until_or_settled(run: GroundRun, start: RunState, until: Until) -> RunState:
    """Return the state when ``until`` falls to nought or thrust has settled, whichever comes first.

    Over time, for the short stretch in which thrust changes while little else does.
    """
    cases, history = run.cases, run.history

    def derivative(time: Floats, state: Floats) -> Floats:
        speed = np.maximum(state[1], 0.0)
        net = run.net_force(run.forces(speed[:, None]), 0, time)
        # Friction does not push an aircraft back that it holds.
        return np.array([speed, np.where((state[1] <= 0.0) & (net < 0.0), 0.0, net) / cases.mass])

    def event(time: Floats, state: Floats) -> Floats:
        return np.minimum(until(time, state[1]), history.settled - time - SHORT)

    state = np.stack([start.distance, start.speed])
    found = march_to_event(derivative, start.time, state, _to_each_change(history, start.time), event)
    return RunState(found.time, found.state[0], np.maximum(found.state[1], 0.0))


def _to_each_change(history: PowerHistory, start: Floats) -> list[Floats]:
    """Return time steps (n,) from ``start`` that end at every time at which thrust begins or ceases to
    change."""
    changes = np.sort(np.stack([np.clip(t, start, history.settled) for t in history.changes()]), axis=0)
    lengths = np.diff(np.concatenate([start[None], changes, history.settled[None]]), axis=0)
    return [length / CHANGE_STEPS for length in lengths if length.any() for _ in range(CHANGE_STEPS)]


def _most_acceleration(pack: Pack, cases: Cases, history: PowerHistory) -> Floats:
    """Return an upper bound on acceleration in the run, m/s2: all thrust there is, no drag, and the slope."""
    ram = np.linspace(0.0, 0.4, 3)[:, None]
    thrusts = case_thrusts(history.settings(pack), ram, cases).values()
    most = np.max([thrust.max(axis=0) for thrust in thrusts], axis=0)
    return history.plan.engines * most / cases.mass + STANDARD_GRAVITY * np.abs(np.sin(cases.slope))


def blended(weights: Weights, nodes: NodeForces, node: int | slice) -> Floats:
    """Return the thrust of all engines at a node, or at several, N."""
    total: Floats | None = None
    for name, weight in weights.items():
        part = weight * nodes.thrust[name][:, node]
        total = part if total is None else total + part
    assert total is not None
    return total
