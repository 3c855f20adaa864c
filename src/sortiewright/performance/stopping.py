"""From a speed on the runway to a stop: levers closed, brakes, chute; for a rejected takeoff and for
landing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import hydroplaning_speed, tas_from_cas
from sortiewright.pack import Configuration, DragChute, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import Devices, case_thrust, coefficients, ground_effect, ground_lift
from sortiewright.performance.ground_run import RunState
from sortiewright.performance.marching import kutta_step
from sortiewright.performance.parabola import Parabola, combine, parabola
from sortiewright.performance.power import PowerPlan, Weights, settings_of

Floats = NDArray[np.float64]

GAUSS_NODES, GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(8)
TRANSIENT_STEP = 1.0  # s, at most
LIFTED_ITERATIONS = 4  # each leaves under a tenth of the error, as lift changes slowly with Mach
SPEED_MARGIN = 15.0  # m/s above the speed at the event up to which forces are tabulated


@dataclass(frozen=True, slots=True)
class StopMeans:
    """What stops the aircraft. Times in seconds after the event; None: not used.

    ``angle_of_attack`` None means the three-point attitude. Above ``attitude_until`` (m/s ground speed) the
    nose is held at ``held_angle_of_attack`` and the brakes are off.
    """

    configuration: Configuration
    brakes_on: float
    chute_commanded: float | None = None
    speedbrake: bool = False
    held_angle_of_attack: float | None = None
    held_until_cas: float | None = None
    brakes: bool = True
    chute_opens: NDArray[np.bool_] | bool = True
    """By case: false where the chute fails."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop: seconds and metres from release (or from touchdown), brake energy J; (n,).

    ``distance`` is inf where nothing slows the aircraft to a stop. ``energy`` is what the brakes took.
    """

    time: Floats
    distance: Floats
    energy: Floats
    chute_speed: Floats
    """True airspeed as the chute was commanded, m/s; NaN without chute."""


class StopForces:
    """Forces of one attitude of the stop, over ground speed."""

    def __init__(self, pack: Pack, cases: Cases, means: StopMeans, fit_speeds: Floats, *, held: bool) -> None:
        self.pack, self.cases, self.held = pack, cases, held
        frame, wheels = pack.airframe, pack.wheels
        angle = means.held_angle_of_attack if held else None
        self.alpha = frame.static_ground_attitude if angle is None else angle
        self.tilt = self.alpha + frame.thrust_inclination
        devices = Devices(gear=1.0, speedbrake=1.0 if means.speedbrake else 0.0)
        self.base_speed, self.span = fit_speeds[:, 0], np.maximum(fit_speeds[:, 2] - fit_speeds[:, 0], 1e-9)
        force = coefficients(
            pack,
            means.configuration,
            self.alpha,
            np.abs(fit_speeds + cases.headwind[:, None]) / cases.speed_of_sound[:, None],
            drag_index=cases.drag_index[:, None],
            devices=devices,
        )
        self.lift_fit = parabola(*(force.lift * ground_lift(pack, 0.0)).T)
        self.drag_fit = parabola(*(force.drag(ground_effect(pack, 0.0)) * cases.drag_factor[:, None]).T)
        self.load = cases.weight * np.cos(cases.slope)
        self.pull = cases.weight * np.sin(cases.slope)
        self.braking = wheels.braking_friction(cases.runway_condition_reading) * cases.friction_factor
        self.rolling = wheels.rolling_friction * cases.friction_factor
        wet = min(float(hydroplaning_speed(wheels.main_tyre_pressure)), 1e9)
        self.hydroplaning = np.where(cases.standing_water, wet, np.inf)
        self.can_brake = means.brakes and not held
        self.most_force = np.inf if wheels.maximum_brake_force is None else wheels.maximum_brake_force

    def share(self, speed: Floats) -> Floats:
        """Return how far along the fitted stretch a ground speed lies; what is below it counts as its
        beginning."""
        extra = (..., None) if speed.ndim == 2 else (...,)
        return np.maximum(speed - self.base_speed[extra], 0.0) / self.span[extra]

    def aerodynamic(self, speed: Floats) -> tuple[Floats, Floats, Floats]:
        """Return lift, drag (N) and dynamic pressure at ground speeds (n,) or (n, k)."""
        extra = (..., None) if speed.ndim == 2 else (...,)
        airspeed = speed + self.cases.headwind[extra]
        pressure = 0.5 * self.cases.density[extra] * airspeed**2
        q_s = pressure * self.pack.airframe.wing_area
        u = self.share(speed)
        l0, l1, l2 = (c[extra] for c in self.lift_fit)
        d0, d1, d2 = (c[extra] for c in self.drag_fit)
        return q_s * (l0 + u * (l1 + u * l2)), np.sign(airspeed) * q_s * (d0 + u * (d1 + u * d2)), pressure

    def lifted_speed(self) -> Floats:
        """Return the ground speed (n,) from which lift alone carries the weight, and the wheels hold nothing;
        inf where none does."""
        area, wind = self.pack.airframe.wing_area, self.cases.headwind
        speed = self.base_speed + self.span
        for _ in range(LIFTED_ITERATIONS):
            u = self.share(speed)
            l0, l1, l2 = self.lift_fit
            lift = l0 + u * (l1 + u * l2)
            carried = 2.0 * self.load / (self.cases.density * area * np.where(lift > 0.0, lift, 1.0))
            speed = np.where(lift > 0.0, np.sqrt(carried) - wind, np.inf)
            speed = np.minimum(speed, 2.0 * (self.base_speed + self.span))
        return np.where(speed < 2.0 * (self.base_speed + self.span), speed, np.inf)

    def retarding(
        self,
        speed: Floats,
        thrust: Floats,
        lift: Floats,
        drag: Floats,
        pressure: Floats,
        braked: ArrayLike,
        chute: ArrayLike,
    ) -> tuple[Floats, Floats]:
        """Return the net force against the motion and the brakes' share of it, N.

        ``braked`` and ``chute`` are shares 0 to 1 of brake application and of the open chute.
        """
        wheels = self.pack.wheels
        extra = (..., None) if speed.ndim == 2 else (...,)
        normal = np.maximum(self.load[extra] - lift - thrust * np.sin(self.tilt), 0.0)
        rolling = self.rolling[extra] * normal
        friction = np.where(
            speed > self.hydroplaning[extra], wheels.hydroplaning_friction, self.braking[extra]
        )
        brakes = np.minimum(friction * (1.0 - wheels.nose_load_share) * normal, self.most_force)
        # Braked wheels do not roll freely: braking friction replaces rolling friction, it does not add to it.
        free = self.rolling[extra] * (1.0 - wheels.nose_load_share) * normal
        brakes = np.where(self.can_brake, np.asarray(braked) * np.maximum(brakes, free), 0.0)
        wheel = rolling + brakes - np.where(brakes > 0.0, np.asarray(braked) * free, 0.0)
        area = wheels.chute.drag_area if wheels.chute is not None else 0.0
        chute_drag = np.asarray(chute) * area * pressure
        force = drag + wheel + chute_drag + self.pull[extra] - thrust * np.cos(self.tilt)
        return force, brakes


def stop_from(
    pack: Pack,
    cases: Cases,
    plan: PowerPlan | None,
    start: RunState,
    means: StopMeans,
    *,
    recognition: float = 0.0,
    engines: float | None = None,
) -> Stop:
    """Return the stop that begins with an event at ``start``.

    Until ``recognition`` s the aircraft goes on accelerating at the thrust it had; then the levers close
    (``plan`` None: already idle), at ``brakes_on`` the brakes bite, and the chute opens ``inflation_time``
    after its command where its airspeed limit allows. Times are marched; once nothing changes with time any
    more, distance is integrated over speed by Gauss-Legendre panels between the speeds where a force jumps.
    """
    chute = pack.wheels.chute if means.chute_commanded is not None else None
    command = np.inf if chute is None or means.chute_commanded is None else means.chute_commanded
    open_at = command + (chute.inflation_time if chute is not None else 0.0)
    closed = recognition + (plan.time_to_close if plan is not None else 0.0)
    unlit = recognition + (plan.cancel_augmentation if plan is not None and plan.augmented else 0.0)
    moments = (recognition, unlit, closed, means.brakes_on, command, open_at)
    events = sorted({moment for moment in moments if 0.0 < moment < np.inf})
    # From where the air stands still over the aircraft: with the wind from behind that is not where it stops.
    still = np.maximum(-cases.headwind, 0.0)
    stretch = np.maximum(start.speed + SPEED_MARGIN - still, 1.0)
    fit_speeds = still[:, None] + stretch[:, None] * np.array([0.0, 0.5, 1.0])
    flat = StopForces(pack, cases, means, fit_speeds, held=False)
    held = None
    if means.held_angle_of_attack is not None:
        held = StopForces(pack, cases, means, fit_speeds, held=True)
    early = held or flat
    thrust_fit = thrust_fit_of(pack, cases, plan, fit_speeds)
    count = pack.engine.count if engines is None else engines
    mass = cases.mass

    before = plan.taking_off(start.time + recognition) if plan is not None else {}

    def weights(since: Floats) -> Weights:
        if plan is None:
            return {pack.engine.idle: np.full_like(since, count)}
        if recognition > 0.0 and float(since.max(initial=0.0)) <= recognition:
            return {n: w * (count / plan.engines) for n, w in plan.all_engines(start.time + since).items()}
        return plan.closing(before, since - recognition, count)

    def thrust_at(since: Floats, speed: Floats) -> Floats:
        u = flat.share(speed)
        c0, c1, c2 = combine(weights(since), thrust_fit)
        return c0 + u * (c1 + u * c2)

    least, most = chute_speeds(chute, cases)

    def derivative(since: Floats, state: Floats, braked: float, canopy: float) -> Floats:
        speed = np.maximum(state[1], 0.0)
        lift, drag, pressure = early.aerodynamic(speed)
        is_open = canopy * ((speed >= least) & (speed <= most)) if canopy else 0.0
        force, brakes = early.retarding(speed, thrust_at(since, speed), lift, drag, pressure, braked, is_open)
        return np.array([speed, -force / mass, brakes * speed])

    since = np.zeros(cases.count)
    state = np.stack([np.zeros(cases.count), start.speed, np.zeros(cases.count)])
    stopped_at = np.full(cases.count, np.nan)
    chute_speed = np.full(cases.count, np.nan)
    clock = 0.0
    for event in events:
        braked = 1.0 if clock >= means.brakes_on else 0.0
        canopy = 1.0 if clock >= open_at else 0.0
        steps = math.ceil((event - clock) / TRANSIENT_STEP - 1e-9)
        step = np.full(cases.count, (event - clock) / steps)

        def slope(t: Floats, y: Floats, braked: float = braked, canopy: float = canopy) -> Floats:
            return derivative(t, y, braked, canopy)

        for _ in range(steps):
            moving = state[1] > 0.0
            first = slope(since, state)
            new = kutta_step(slope, since, state, step, first)
            # Where the wheels stop inside the step, take the part of it with constant deceleration.
            loss = state[1] - new[1]
            part = np.where(new[1] < 0.0, state[1] / np.where(loss > 0.0, loss, 1.0), 1.0)
            ends = moving & (new[1] <= 0.0)
            halted = np.stack([state[0] + 0.5 * state[1] * part * step, 0.0 * since, new[2]])
            stopped_at = np.where(ends, since + part * step, stopped_at)
            state = np.where(ends, halted, np.where(moving, new, state))
            since = since + step
        clock = event
        since = np.full(cases.count, clock)
        if clock == command:
            chute_speed = np.where(state[1] > 0.0, state[1] + cases.headwind, np.nan)
    roll = _settled_roll(pack, cases, state[1], held, flat, means, thrust_fit, count, chute is not None)
    distance = start.distance + state[0] + roll.distance
    time = start.time + np.where(np.isnan(stopped_at), clock + roll.time, stopped_at)
    return Stop(time, distance, state[2] + roll.energy, chute_speed)


def chute_speeds(chute: DragChute | None, cases: Cases) -> tuple[Floats, Floats]:
    """Return the ground speeds (n,) between which an open chute pulls; nought without one."""
    if chute is None:
        return np.zeros(cases.count), np.zeros(cases.count)
    least, most = (
        np.asarray(tas_from_cas(cas, cases.air)) - cases.headwind
        for cas in (chute.least_useful_cas, chute.maximum_cas)
    )
    return least, most


def _settled_roll(
    pack: Pack,
    cases: Cases,
    speed: Floats,
    held: StopForces | None,
    flat: StopForces,
    means: StopMeans,
    thrust_fit: dict[str, Parabola],
    engines: float,
    with_chute: bool,
) -> Stop:
    """Return time, distance and brake energy from ``speed`` to a stop with everything settled."""
    chute = pack.wheels.chute if with_chute else None
    zero = np.zeros(cases.count)
    limits: list[Floats] = []

    def ground(cas: float) -> Floats:
        return np.asarray(tas_from_cas(cas, cases.air)) - cases.headwind

    nose_down = zero if held is None or means.held_until_cas is None else ground(means.held_until_cas)
    least, most = chute_speeds(chute, cases)
    if chute is not None:
        limits += [most, least]
    if held is not None:
        limits.append(nose_down)
    for forces in (flat, held):
        if forces is not None and ((lifted := forces.lifted_speed()) < speed).any():
            limits.append(lifted)
    if cases.standing_water.any():
        limits.append(np.where(np.isfinite(flat.hydroplaning), flat.hydroplaning, 0.0))
    edges = np.sort(
        np.stack([zero, speed, 0.5 * speed, *(np.minimum(np.maximum(e, 0.0), speed) for e in limits)]), axis=0
    ).T
    low, high = edges[:, :-1, None], edges[:, 1:, None]
    shape = (cases.count, -1)
    nodes = (0.5 * (high - low) * GAUSS_NODES + 0.5 * (high + low)).reshape(shape)
    weight = (0.5 * (high - low) * GAUSS_WEIGHTS).reshape(shape)
    c0, c1, c2 = (c[:, None] for c in thrust_fit[pack.engine.idle])
    u = flat.share(nodes)
    thrust = engines * (c0 + u * (c1 + u * c2))
    is_open = (
        (nodes <= most[:, None]) & (nodes >= least[:, None]) & np.reshape(means.chute_opens, (-1, 1))
        if chute is not None
        else np.zeros_like(nodes)
    )
    force, brakes = flat.retarding(nodes, thrust, *flat.aerodynamic(nodes), 1.0, is_open)
    if held is not None:
        high_nose = nodes > nose_down[:, None]
        force_held, _ = held.retarding(nodes, thrust, *held.aerodynamic(nodes), 0.0, is_open)
        force = np.where(high_nose, force_held, force)
        brakes = np.where(high_nose, 0.0, brakes)
    blocked = ((force <= 0.0) & (weight > 0.0)).any(axis=1)
    slowness = cases.mass[:, None] / np.where(force > 0.0, force, 1.0)
    time = np.sum(weight * slowness, axis=1)
    distance = np.sum(weight * slowness * nodes, axis=1)
    energy = np.sum(weight * slowness * nodes * brakes, axis=1)
    gone = np.where(blocked, np.inf, 0.0)
    return Stop(time + gone, distance + gone, energy, zero)


def thrust_fit_of(pack: Pack, cases: Cases, plan: PowerPlan | None, speeds: Floats) -> dict[str, Parabola]:
    """Return parabolas through thrust of one engine at three speeds (n, 3), in the share of the highest."""
    settings = (
        settings_of(pack, plan)
        if plan is not None
        else {pack.engine.idle: pack.engine.settings[pack.engine.idle]}
    )
    mach = np.maximum(speeds + cases.headwind[:, None], 0.0) / cases.speed_of_sound[:, None]
    fits: dict[str, Parabola] = {}
    for name, setting in settings.items():
        thrust = case_thrust(setting, mach, cases, over_cases_first=True)
        fits[name] = parabola(*thrust.T)
    return fits
