"""Rotation, lift-off and the climb to the screen height, integrated over time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY
from sortiewright.pack import Configuration, OutsideTable, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import case_thrusts, ground_effect, ground_lift, least_drag
from sortiewright.performance.ground_run import RunState, failed_engine_drag
from sortiewright.performance.marching import Arrival, march_to_event
from sortiewright.performance.parabola import combine, parabola
from sortiewright.performance.power import AGES, PowerHistory

Floats = NDArray[np.float64]

SHORTEST = 1e-9  # s
LEAST_LIFT = 0.2  # an attitude that gives less lift is no takeoff attitude
SPEED_SPAN = 30.0  # m/s above lift-off to which forces are fitted
ROTATION_STEPS, PITCH_STEPS = 8, 2
FINE_STEP, FINE_COUNT = 0.5, 2  # s
CLIMB_STEP, CLIMB_COUNT = 1.0, 5  # s: while the path still bends
HELD_STEP, HELD_COUNT = 2.0, 48  # s


@dataclass(frozen=True, slots=True)
class Attitude:
    """How the nose is raised: from the static attitude at ``pitch_rate`` to ``target``, then held. rad,
    rad/s.

    The rate is there after ``build_up`` s, in which the nose has risen by ``gained`` rad: ``NoseRise``.
    """

    pitch_rate: Floats
    target: Floats
    gear_up_delay: float = 2.0
    build_up: Floats | None = None
    gained: Floats | None = None


@dataclass(frozen=True, slots=True)
class LiftOff:
    """The main wheels leave the ground. Speeds are ground speed m/s; (n,), inf where it never happens."""

    time: Floats
    distance: Floats
    speed: Floats
    pitch: Floats
    rotating: Floats
    """Seconds since the nose began to rise."""


@dataclass(frozen=True, slots=True)
class Screen:
    """The wheels pass the screen height. ``speed`` is true airspeed, ``climb_angle`` rad."""

    time: Floats
    distance: Floats
    speed: Floats
    climb_angle: Floats
    lowest_speed: Floats


class NearRotation:
    """Forces from rotation to the screen: coefficients and thrust as parabolas in speed over a stretch of it.

    The stretch begins at rotation speed and reaches ``SPEED_SPAN`` beyond the speed at which the target
    attitude carries the weight. Mach changes by about 0.1 over it: coefficients held at rotation would leave
    lift 1 to 2 % low, and the ground run up to 1 % long.
    """

    def __init__(
        self,
        pack: Pack,
        cases: Cases,
        history: PowerHistory,
        configuration: Configuration,
        speed: Floats,
        target: Floats,
    ) -> None:
        self.pack, self.cases, self.configuration, self.history = pack, cases, configuration, history
        self.dead = history.dead if history.fails else None
        self.base_speed = speed
        self.span = _lift_off_above(pack, cases, configuration, speed, target) + SPEED_SPAN
        airspeed = speed + cases.headwind + self.span * np.array([[0.0], [0.5], [1.0]])
        mach = airspeed / cases.speed_of_sound
        self.axis = configuration.lift.axes[0]
        least = least_drag(configuration, mach)
        lift = parabola(*configuration.lift(self.axis, mach[:, :, None]))
        drag = parabola(*(configuration.drag(self.axis, mach[:, :, None]) - least[:, :, None]))
        curves = np.stack((*lift, *drag))
        self._at_node = curves[:, :, :-1].reshape(6, -1)
        self._per_angle = (np.diff(curves, axis=2) / np.diff(self.axis)).reshape(6, -1)
        self._row = np.arange(cases.count) * (len(self.axis) - 1)
        p0, p1, p2 = parabola(*least)
        self._parasite = p0 + cases.drag_index * pack.aero.drag_per_index, p1, p2
        thrusts = case_thrusts(history.settings(pack), mach, cases)
        self.thrust = {name: parabola(*thrust) for name, thrust in thrusts.items()}

    def share(self, ground_speed: Floats) -> Floats:
        """Return how far along the stretch a ground speed lies, 0 at rotation."""
        return (ground_speed - self.base_speed) / self.span

    def coefficients(self, alpha: Floats, u: Floats) -> tuple[Floats, Floats, Floats]:
        """Return CL, parasite drag and drag due to lift, gear up, at each case's own angle of attack and
        ``share``."""
        cell = np.minimum(np.maximum(np.searchsorted(self.axis, alpha) - 1, 0), len(self.axis) - 2)
        index = self._row + cell
        beyond = alpha - self.axis.take(cell)
        c0, c1, c2, d0, d1, d2 = (
            self._at_node.take(index, axis=1) + self._per_angle.take(index, axis=1) * beyond
        )
        p0, p1, p2 = self._parasite
        return c0 + u * (c1 + u * c2), p0 + u * (p1 + u * p2), d0 + u * (d1 + u * d2)

    def thrust_from(self, start: Floats) -> Callable[[Floats, Floats], Floats]:
        """Return the thrust of all engines, N, as a function of seconds since ``start`` and ``share``."""
        settled = combine(self.history.final(), self.thrust)
        settles = float(np.max(self.history.settled - start, initial=0.0))

        def thrust(since: Floats, u: Floats) -> Floats:
            c0, c1, c2 = settled
            if settles > 0.0 and since.min() < settles:
                c0, c1, c2 = combine(self.history(start + since), self.thrust)
            return c0 + u * (c1 + u * c2)

        return thrust

    def uneven_from(self, start: Floats) -> Callable[[Floats], Floats]:
        """Return the unbalanced share of thrust as a function of seconds since ``start``."""
        settled = self.history.uneven(np.full(start.shape, AGES))
        settles = float(np.max(self.history.settled - start, initial=0.0))

        def uneven(since: Floats) -> Floats:
            return settled if since.min() >= settles else self.history.uneven(start + since)

        return uneven

    def check(self, alpha: Floats) -> None:
        """Raise OutsideTable where an angle of attack met on the way is outside the table."""
        low, high = self.axis[0], self.axis[-1]
        bad = alpha[(alpha < low) | (alpha > high)]
        if bad.size:
            raise OutsideTable(
                self.configuration.lift.name, "angle_of_attack", float(bad[0]), low, high, "rad"
            )


def rotate_and_lift_off(
    forces: NearRotation,
    start: RunState,
    attitude: Attitude,
    *,
    rolling_friction: float,
) -> LiftOff:
    """Return the lift-off reached by raising the nose from ``start``.

    On the main wheels the angle of attack is the pitch angle; lift-off is where lift and the vertical part of
    thrust carry the weight, not a speed. Lift is the table's, in balance about the centre of gravity, less
    what the pitch control loses while it holds the nose up against the wheels behind it and against thrust:
    N (a + mu h_cg) + T (h_T - h_cg), moments about the centre of gravity. What turns the aircraft is
    neglected.
    """
    pack, cases = forces.pack, forces.cases
    frame, gear = pack.airframe, pack.aero.gear
    begin = frame.static_ground_attitude
    duration = _raising_time(begin, attitude)
    load, down_slope = cases.weight * np.cos(cases.slope), cases.weight * np.sin(cases.slope)
    area, effect, lift_factor = frame.wing_area, ground_effect(pack, 0.0), ground_lift(pack, 0.0)
    lost, above = _lift_lost(pack)
    behind = frame.main_wheel_arm - cases.balance_arm
    behind = behind + rolling_friction * cases.friction_factor * frame.centre_of_gravity_height
    pitch_at = _pitch(begin, attitude)
    thrust_at = forces.thrust_from(start.time)
    dead, uneven_at = forces.dead, forces.uneven_from(start.time)

    seen: list[tuple[Floats, tuple[Floats, Floats, Floats, Floats, Floats]]] = []

    def balance(since: Floats, state: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        # The end of a step is asked for its event and then, as the start of the next, for its slope.
        if seen and seen[0][0] is state:
            return seen[0][1]
        speed = state[1]
        pitch = pitch_at(since)
        u = forces.share(speed)
        lift, parasite, due_to_lift = forces.coefficients(pitch, u)
        pressure = 0.5 * cases.density * (speed + cases.headwind) ** 2
        q_s = pressure * area
        thrust = thrust_at(since, u)
        tilt = pitch + frame.thrust_inclination
        normal = load - q_s * (lift_factor * lift + gear.lift) - thrust * np.sin(tilt)
        if lost:
            normal = (normal + lost * above * thrust) / (1.0 - lost * behind)
        drag = q_s * (parasite + gear.drag + effect * due_to_lift) * cases.drag_factor
        seen[:] = [(state, (normal, drag, thrust, thrust * np.cos(tilt), pressure))]
        return seen[0][1]

    def derivative(since: Floats, state: Floats) -> Floats:
        speed = state[1]
        normal, drag, thrust, along, pressure = balance(since, state)
        net = along - drag - rolling_friction * cases.friction_factor * np.maximum(normal, 0.0) - down_slope
        if dead is not None:
            # The main wheels hold the nose straight as far as they are loaded.
            held = np.minimum(np.maximum(normal, 0.0) / load, 1.0)
            uneven = thrust * uneven_at(since)
            net = net - dead * failed_engine_drag(pack, uneven, pressure, held_by_wheels=held)
        return np.array([speed, net / cases.mass])

    def load_on_wheels(since: Floats, state: Floats) -> Floats:
        return balance(since, state)[0]

    def stuck(state: Floats, slope: Floats) -> NDArray[np.bool_]:
        return slope[1] <= 0.0

    forces.check(np.concatenate([[begin], np.atleast_1d(attitude.target)]))
    found = march_to_event(
        derivative,
        np.zeros(cases.count),
        np.stack([start.distance, start.speed]),
        _steps(duration, ROTATION_STEPS),
        load_on_wheels,
        stuck,
    )
    pitch = pitch_at(found.time)
    never = ~found.happened
    return LiftOff(
        np.where(never, np.inf, start.time + found.time),
        np.where(never, np.inf, found.state[0]),
        np.where(never, np.nan, found.state[1]),
        np.where(never, np.nan, pitch),
        np.where(never, np.nan, found.time),
    )


def climb_to_screen(
    forces: NearRotation,
    start: LiftOff,
    attitude: Attitude,
    *,
    screen_height: float,
) -> Screen:
    """Return where the wheels pass ``screen_height`` m above the runway plane.

    Point mass with pitch prescribed: m dV/dt = T cos(a + iT) - D - W sin(gamma), m V dgamma/dt = L + T sin(a
    + iT)
    - W cos(gamma) (Anderson, Aircraft Performance and Design, eqs. 4.5 and 4.6), in the frame of the runway,
    whose slope tilts the weight. Every case in ``start`` must have lifted off.
    """
    pack, cases = forces.pack, forces.cases
    frame, gear = pack.airframe, pack.aero.gear
    area, mass, wind, slope = frame.wing_area, cases.mass, cases.headwind, cases.slope
    held = replace(attitude, target=np.maximum(attitude.target, start.pitch))
    if attitude.build_up is None:
        remaining = np.maximum(attitude.target - start.pitch, 0.0) / attitude.pitch_rate
        pitch_at = _pitch(start.pitch, held)
    else:  # the law is that of the whole rotation
        begin = frame.static_ground_attitude
        remaining = np.maximum(_raising_time(begin, attitude) - start.rotating, 0.0)
        pitch_at = _later(_pitch(begin, held), start.rotating)
    travel = max(gear.travel_time, 1e-9)
    thrust_at = forces.thrust_from(start.time)
    dead, uneven_at = forces.dead, forces.uneven_from(start.time)
    lost, above = _lift_lost(pack)

    def derivative(since: Floats, state: Floats) -> Floats:
        height, speed, climb = state[1], state[2], state[3]
        alpha = pitch_at(since) - climb
        u = forces.share(speed - wind)
        lift, parasite, due_to_lift = forces.coefficients(alpha, u)
        out = 1.0 - np.minimum(np.maximum((since - attitude.gear_up_delay) / travel, 0.0), 1.0)
        pressure = 0.5 * cases.density * speed**2
        q_s = pressure * area
        thrust = thrust_at(since, u)
        effect = ground_effect(pack, np.maximum(height, 0.0))
        drag = q_s * (parasite + out * gear.drag + effect * due_to_lift) * cases.drag_factor
        if dead is not None:
            drag = drag + dead * failed_engine_drag(pack, thrust * uneven_at(since), pressure)
        tilt = alpha + frame.thrust_inclination
        sine = np.sin(climb)
        along = (thrust * np.cos(tilt) - drag) / mass - STANDARD_GRAVITY * np.sin(climb + slope)
        carried = q_s * (lift * ground_lift(pack, np.maximum(height, 0.0)) + out * gear.lift)
        across = (carried - lost * above * thrust + thrust * np.sin(tilt)) / mass
        turn = (across - STANDARD_GRAVITY * np.cos(climb + slope)) / speed
        return np.array([speed * np.cos(climb) - wind, speed * sine, along, turn])

    def below_screen(since: Floats, state: Floats) -> Floats:
        return screen_height - state[1]

    def sinking(state: Floats, slope_: Floats) -> NDArray[np.bool_]:
        return (state[1] < -0.3) | (state[2] < 0.7 * start_speed)

    start_speed = start.speed + wind
    state = np.stack([start.distance, np.zeros(cases.count), start_speed, np.zeros(cases.count)])
    found: Arrival = march_to_event(
        derivative,
        np.zeros(cases.count),
        state,
        _steps(remaining, PITCH_STEPS, CLIMB_COUNT),
        below_screen,
        sinking,
    )
    never = ~found.happened
    return Screen(
        np.where(never, np.inf, start.time + found.time),
        np.where(never, np.inf, found.state[0]),
        found.state[2],
        found.state[3],
        found.lowest[2],
    )


def _lift_lost(pack: Pack) -> tuple[float, float]:
    """Return the lift that the pitch control loses for each nose-up moment that it gives, 1/m, and how far
    the thrust line runs above the centre of gravity, m."""
    frame = pack.airframe
    lost = -pack.aero.pitch_control.lift_per_moment / frame.mean_chord
    return lost, frame.thrust_line_height - frame.centre_of_gravity_height


def _pitch(begin: Floats | float, attitude: Attitude) -> Callable[[Floats], Floats]:
    """Return the pitch angle over seconds since ``begin`` was held.

    While the rate builds up: a power of time through the angle gained, with the rate as its slope there.
    """
    rate, target = attitude.pitch_rate, attitude.target
    if attitude.build_up is None or attitude.gained is None:
        return lambda since: np.minimum(begin + rate * since, target)
    build_up, gained = attitude.build_up, attitude.gained
    power = _power_of_time(attitude)

    def pitch(since: Floats) -> Floats:
        share = np.minimum(since / np.maximum(build_up, SHORTEST), 1.0)
        return np.minimum(begin + gained * share**power + rate * np.maximum(since - build_up, 0.0), target)

    return pitch


def _later(pitch_at: Callable[[Floats], Floats], by: Floats) -> Callable[[Floats], Floats]:
    return lambda since: pitch_at(since + by)


def _power_of_time(attitude: Attitude) -> Floats:
    assert attitude.build_up is not None
    assert attitude.gained is not None
    some = attitude.gained > 0.0
    return np.where(some, attitude.pitch_rate * attitude.build_up / np.where(some, attitude.gained, 1.0), 1.0)


def _raising_time(begin: float, attitude: Attitude) -> Floats:
    """Return the seconds from ``begin`` to the target."""
    rise = np.maximum(attitude.target - begin, 0.0)
    if attitude.build_up is None or attitude.gained is None:
        return rise / attitude.pitch_rate
    within = attitude.gained > rise
    share = np.where(within, rise / np.where(within, attitude.gained, 1.0), 1.0)
    beyond = np.where(within, 0.0, rise - attitude.gained) / attitude.pitch_rate
    return attitude.build_up * share ** (1.0 / _power_of_time(attitude)) + beyond


def _lift_off_above(
    pack: Pack, cases: Cases, configuration: Configuration, speed: Floats, target: Floats
) -> Floats:
    """Return how far above ``speed`` (ground, m/s) lift in the target attitude carries the weight, thrust
    aside."""
    mach = (speed + cases.headwind) / cases.speed_of_sound
    lift = np.maximum(configuration.lift(target, mach) + pack.aero.gear.lift, LEAST_LIFT)
    tas = np.sqrt(2.0 * cases.weight / (cases.density * pack.airframe.wing_area * lift))
    return np.maximum(tas - cases.headwind - speed, 0.0)


def _steps(first: Floats, count: int, medium: int = 0) -> Iterator[Floats]:
    """Yield steps that end exactly where pitch stops changing, then fine ones, then longer and longer
    ones."""
    if first.any():
        for _ in range(count):
            yield first / count
    for length, times in ((FINE_STEP, FINE_COUNT), (CLIMB_STEP, medium), (HELD_STEP, HELD_COUNT)):
        for _ in range(times):
            yield np.full_like(first, length)
