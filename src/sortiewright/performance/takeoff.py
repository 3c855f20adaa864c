"""A takeoff from brake release to the screen: all engines, or one failing on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import cas_from_tas, tas_from_cas
from sortiewright.pack import Configuration, Pack, TakeoffTechnique
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import case_thrust, stall_speed, thrust_per_engine
from sortiewright.performance.ground_run import (
    SHORT,
    GroundRun,
    RunState,
    accelerate,
    ground_run,
    until_or_settled,
)
from sortiewright.performance.liftoff import (
    Attitude,
    LiftOff,
    NearRotation,
    Screen,
    climb_to_screen,
    rotate_and_lift_off,
)
from sortiewright.performance.nose_rise import NoseRise, nose_rise
from sortiewright.performance.nosewheel import MOST, NosewheelBalance, nosewheel_balance
from sortiewright.performance.power import AGES, PowerPlan, power_history, power_plan

Floats = NDArray[np.float64]

IN_BALANCE = 1e-6  # of weight times mean chord


@dataclass(frozen=True, slots=True)
class TakeoffSetup:
    """What is the same for every run of one takeoff: cases, power and speeds. Ground speeds m/s, (n,)."""

    pack: Pack
    cases: Cases
    technique: TakeoffTechnique
    configuration: Configuration
    power: PowerPlan
    attitude: Attitude
    stall_speed: Floats
    """True airspeed, power off."""
    nosewheel_lift_off_speed: Floats
    """True airspeed, full aft stick."""
    planned_rotation_cas: Floats
    rotation_speed: Floats
    """Ground speed where the nose begins to rise: the later of planned rotation and nosewheel lift-off."""
    rotation_speed_engine_out: Floats
    """The same on the live engines, once a failure has settled: less thrust, another balance."""
    nosewheel: NosewheelBalance
    rolling_friction: float
    start_speed: Floats
    rise: NoseRise | None = None
    """How the nose starts to rise, where the pack tells the inertia; at once where None."""
    rise_engine_out: NoseRise | None = None

    def take(self, rows: NDArray[np.intp]) -> TakeoffSetup:
        """Return the setup for these rows, repeats allowed."""
        return TakeoffSetup(
            self.pack,
            self.cases.take(rows),
            self.technique,
            self.configuration,
            replace(self.power, spool=self.power.spool[rows]),
            Attitude(self.attitude.pitch_rate[rows], self.attitude.target[rows], self.attitude.gear_up_delay),
            self.stall_speed[rows],
            self.nosewheel_lift_off_speed[rows],
            self.planned_rotation_cas[rows],
            self.rotation_speed[rows],
            self.rotation_speed_engine_out[rows],
            self.nosewheel.take(rows),
            self.rolling_friction,
            self.start_speed[rows],
            None if self.rise is None else self.rise.take(rows),
            None if self.rise_engine_out is None else self.rise_engine_out.take(rows),
        )


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The takeoff of each case, (n,). Distances from brake release, m; ``inf`` where it never happens.

    Speeds are calibrated airspeeds m/s except where named; NaN where the point is never reached.
    """

    nosewheel_lift_off_cas: Floats
    rotation_cas: Floats
    rotation_distance: Floats
    rotation_time: Floats
    lift_off_cas: Floats
    lift_off_ground_speed: Floats
    lift_off_pitch: Floats
    lift_off_time: Floats
    ground_run: Floats
    screen_cas: Floats
    screen_climb_angle: Floats
    distance_to_screen: Floats
    time_to_screen: Floats
    stall_cas: Floats


def takeoff_setup(
    pack: Pack,
    cases: Cases,
    technique: TakeoffTechnique | None = None,
    *,
    rotation_cas: ArrayLike | None = None,
    pitch_rate: ArrayLike | None = None,
    takeoff_attitude: ArrayLike | None = None,
    start_speed: ArrayLike = 0.0,
    trim_units: ArrayLike = 0.0,
    rolling_friction: float | None = None,
) -> TakeoffSetup:
    """Return what a takeoff by ``technique`` (the pack's where None) needs, for every case.

    Arguments that are given replace the technique's; they broadcast to the cases. The attitude is capped at
    the tail-strike attitude less nothing: the margin is reported, not added.
    """
    chosen = pack.technique.takeoff if technique is None else technique
    configuration = pack.aero.configurations[chosen.configuration]
    n = cases.count
    friction = pack.wheels.rolling_friction if rolling_friction is None else rolling_friction
    static = {
        name: thrust_per_engine(setting, 0.0, cases.pressure_altitude, cases.isa_deviation)
        for name, setting in pack.engine.settings.items()
    }
    release = chosen.release_power or pack.engine.idle
    engine_out = chosen.engine_out_power or chosen.power
    power = power_plan(pack, static, chosen.power, release, engine_out, chosen.engine_out_reaction)
    stall = stall_speed(pack, configuration, cases.weight, cases.density, cases.speed_of_sound)
    if rotation_cas is not None:
        planned = _full(rotation_cas, n)
    elif chosen.rotation_speed is not None:
        planned = chosen.rotation_speed(cases.mass)
    else:
        planned = (chosen.rotation_speed_over_stall or 1.0) * np.asarray(cas_from_tas(stall, cases.air))
    balance = nosewheel_balance(
        pack, cases, configuration, chosen.power, trim_units=trim_units, rolling_friction=friction
    )
    setting = pack.engine.settings[chosen.power]
    nose = balance.speed(lambda mach: pack.engine.count * case_thrust(setting, mach, cases))
    planned_speed = np.asarray(tas_from_cas(planned, cases.air))
    rotation = np.maximum(planned_speed, nose) - cases.headwind
    on_live = _engine_out_rotation(pack, balance, planned_speed, engine_out) - cases.headwind
    target = _full(chosen.takeoff_attitude if takeoff_attitude is None else takeoff_attitude, n)
    setup = TakeoffSetup(
        pack,
        cases,
        chosen,
        configuration,
        power,
        Attitude(
            _full(chosen.pitch_rate if pitch_rate is None else pitch_rate, n),
            np.minimum(target, pack.airframe.tail_strike_attitude),
            chosen.gear_up_delay,
        ),
        stall,
        nose,
        planned,
        np.maximum(rotation, 0.0),
        np.maximum(on_live, 0.0),
        balance,
        friction,
        _full(start_speed, n),
    )
    return setup if pack.airframe.pitch_radius_of_gyration is None else _with_inertia(setup, engine_out)


def _with_inertia(setup: TakeoffSetup, engine_out: str) -> TakeoffSetup:
    """Return the setup with the rise of the nose as the moments make it, on all engines and on the live
    ones."""
    pack, cases, n = setup.pack, setup.cases, setup.cases.count
    planned = np.asarray(tas_from_cas(setup.planned_rotation_cas, cases.air))

    def risen(power: str, engines: float, at: Floats, failed_at: Floats | None) -> tuple[Floats, NoseRise]:
        run, setting = _run(setup, failed_at), pack.engine.settings[power]
        ground = np.where(np.isfinite(at), np.maximum(at, 0.0), 0.0)
        net = run.net_force(run.forces(ground[:, None]), 0, np.full(n, AGES))
        rise = nose_rise(
            setup.nosewheel,
            lambda mach: engines * case_thrust(setting, mach, cases),
            pack.engine.count - engines,
            net / cases.mass,
            planned,
            at + cases.headwind,
            setup.attitude.pitch_rate,
            setup.technique.stick_travel_time,
        )
        return np.maximum(at, planned - cases.headwind + rise.waited), rise

    all_of_them = float(pack.engine.count)
    on_all, rise = risen(setup.technique.power, all_of_them, setup.rotation_speed, None)
    live = max(all_of_them - 1.0, 0.0)
    on_live, rise_out = risen(engine_out, live, setup.rotation_speed_engine_out, np.zeros(n))
    return replace(
        setup,
        rotation_speed=on_all,
        rotation_speed_engine_out=on_live,
        rise=rise,
        rise_engine_out=rise_out,
    )


def _attitude(part: TakeoffSetup, failed_at: Floats) -> Attitude:
    if part.rise is None or part.rise_engine_out is None:
        return part.attitude
    failed = np.isfinite(failed_at)
    build_up = np.where(failed, part.rise_engine_out.build_up, part.rise.build_up)
    gained = np.where(failed, part.rise_engine_out.gained, part.rise.gained)
    return replace(part.attitude, build_up=build_up, gained=gained)


def _engine_out_rotation(pack: Pack, balance: NosewheelBalance, planned: Floats, power: str) -> Floats:
    """Return the true airspeed at which the nose rises on the live engines at ``power``, ``planned`` at
    least."""
    cases, setting = balance.cases, pack.engine.settings[power]
    live, dead = max(pack.engine.count - 1.0, 0.0), 1.0

    def thrust_at(mach: Floats) -> Floats:
        return live * case_thrust(setting, mach, cases)

    speed = np.minimum(np.maximum(planned, 0.0), MOST)
    thrust = thrust_at(np.minimum(speed / cases.speed_of_sound, balance.fastest))
    if (balance.surplus(speed, thrust, windmilling=dead) >= 0.0).all():
        return planned
    return np.maximum(planned, balance.speed(thrust_at, windmilling=dead))


def fly_takeoff(setup: TakeoffSetup, failure_speed: ArrayLike | None = None) -> Takeoff:
    """Return the takeoff of every case; ``failure_speed`` (ground speed m/s) is where one engine fails, if
    any.

    A failure after rotation has begun is taken at rotation, which is on the safe side. With the only engine
    dead nothing is reached.
    """
    if failure_speed is None:
        return continue_from(setup, release(setup), np.full(setup.cases.count, np.inf))
    failing = np.minimum(_full(failure_speed, setup.cases.count), rotation_or_start(setup))
    at_failure = accelerate_to(setup, release(setup), failing)
    return continue_from(setup, at_failure, at_failure.time)


def release(setup: TakeoffSetup) -> RunState:
    """Return the state at brake release."""
    zero = np.zeros(setup.cases.count)
    return RunState(zero, zero, setup.start_speed)


def continue_from(setup: TakeoffSetup, state: RunState, failed_at: Floats) -> Takeoff:
    """Return the takeoff continued from ``state`` to lift-off and the screen.

    ``failed_at`` (n,): the time at which one engine failed; inf where none did.
    """
    return from_rotation(setup, to_rotation(setup, state, failed_at), failed_at)


def to_rotation(setup: TakeoffSetup, state: RunState, failed_at: Floats) -> RunState:
    """Return the run from ``state`` to rotation, one engine failed at time ``failed_at``; inf where it never
    comes.

    The thrust that is alive decides when the nosewheel comes up: with the thrust line above the centre of
    gravity sooner than on all engines, at once if that speed is already past.
    """
    failed = np.isfinite(failed_at)
    goal = np.where(failed, setup.rotation_speed_engine_out, setup.rotation_speed)
    stuck = (
        ~np.isfinite(goal) | ~np.isfinite(setup.rotation_speed) | ((setup.pack.engine.count == 1) & failed)
    )
    goal = np.where(stuck, 0.0, goal)
    rows = np.flatnonzero(failed & ~stuck & _nosewheel_decides(setup))
    if rows.size:
        state, goal = _rise_while_it_dies(setup, state, failed_at, goal, rows)
    run = accelerate_to(setup, state, goal, failed_at)
    return RunState(np.where(stuck, np.inf, run.time), np.where(stuck, np.inf, run.distance), run.speed)


def _planned_ground_speed(setup: TakeoffSetup) -> Floats:
    cases = setup.cases
    return np.maximum(np.asarray(tas_from_cas(setup.planned_rotation_cas, cases.air)) - cases.headwind, 0.0)


def _nosewheel_decides(setup: TakeoffSetup) -> NDArray[np.bool_]:
    """Return where rotation must wait for the nosewheel, on all engines or on the live ones."""
    return np.maximum(setup.rotation_speed, setup.rotation_speed_engine_out) > _planned_ground_speed(setup)


def _rise_while_it_dies(
    setup: TakeoffSetup, state: RunState, failed_at: Floats, goal: Floats, rows: NDArray[np.intp]
) -> tuple[RunState, Floats]:
    """Return state and rotation speed, those of ``rows`` replaced by what they are once thrust has settled.

    Where the nose rises before that, it is the state in which it does, and its own speed to rotate at.
    """
    part = setup.take(rows)
    begun = RunState(state.time[rows], state.distance[rows], state.speed[rows])
    run = _run(part, failed_at[rows])
    planned = _planned_ground_speed(part)
    if part.rise_engine_out is not None:
        planned = planned + part.rise_engine_out.waited
    scale = part.cases.weight * setup.pack.airframe.mean_chord

    def until(time: Floats, speed: Floats) -> Floats:
        airspeed = speed + part.cases.headwind
        surplus = part.nosewheel.surplus(airspeed, run.thrust(time, speed), windmilling=run.history.dead)
        # In balance at the failure itself: whether the nose rises is for what comes after to say.
        return np.maximum(planned - speed, IN_BALANCE - surplus / scale)

    found = until_or_settled(run, begun, until)
    risen = found.time < run.history.settled - 2.0 * SHORT
    state = RunState(state.time.copy(), state.distance.copy(), state.speed.copy())
    for name in RunState.__slots__:
        getattr(state, name)[rows] = getattr(found, name)
    goal = goal.copy()
    goal[rows] = np.where(risen, found.speed, goal[rows])
    return state, goal


def rotation_or_start(setup: TakeoffSetup) -> Floats:
    """Return the ground speed at rotation; that at release where the nose never rises."""
    return np.where(np.isfinite(setup.rotation_speed), setup.rotation_speed, setup.start_speed)


def accelerate_to(
    setup: TakeoffSetup, start: RunState, to_speed: Floats, failed_at: Floats | None = None
) -> RunState:
    """Return the run in the three-point attitude to ``to_speed``; one engine failed at time ``failed_at`` if
    given."""
    return accelerate(_run(setup, failed_at), start, to_speed)


def _run(setup: TakeoffSetup, failed_at: Floats | None) -> GroundRun:
    return ground_run(
        setup.pack,
        setup.cases,
        setup.configuration,
        power_history(setup.power, failed_at, setup.cases.count),
        angle_of_attack=setup.pack.airframe.static_ground_attitude,
        rolling_friction=setup.rolling_friction,
    )


def from_rotation(setup: TakeoffSetup, at_rotation: RunState, failed_at: Floats) -> Takeoff:
    """Return the takeoff continued from ``at_rotation``, where the nose begins to rise."""
    cases, n = setup.cases, setup.cases.count
    lift_off = LiftOff(*(np.full(n, value) for value in (np.inf, np.inf, np.nan, np.nan, np.nan)))
    screen = Screen(*(np.full(n, value) for value in (np.inf, np.inf, np.nan, np.nan, np.nan)))
    rows = np.flatnonzero(np.isfinite(at_rotation.distance))
    if rows.size:
        part, forces = _near_rotation(setup, at_rotation.speed, rows, failed_at)
        start = RunState(at_rotation.time[rows], at_rotation.distance[rows], at_rotation.speed[rows])
        found = rotate_and_lift_off(
            forces, start, _attitude(part, failed_at[rows]), rolling_friction=setup.rolling_friction
        )
        for name in LiftOff.__slots__:
            getattr(lift_off, name)[rows] = getattr(found, name)
        flying = np.flatnonzero(np.isfinite(found.distance))
        if flying.size:
            rows = rows[flying]
            if flying.size < part.cases.count:
                part, forces = _near_rotation(setup, at_rotation.speed, rows, failed_at)
            airborne = LiftOff(*(getattr(found, name)[flying] for name in LiftOff.__slots__))
            held = _attitude(part, failed_at[rows])
            passed = climb_to_screen(forces, airborne, held, screen_height=setup.technique.screen_height)
            for name in Screen.__slots__:
                getattr(screen, name)[rows] = getattr(passed, name)
    air = cases.air
    lift_off_tas = lift_off.speed + cases.headwind
    return Takeoff(
        nosewheel_lift_off_cas=_cas(setup.nosewheel_lift_off_speed, cases),
        rotation_cas=np.asarray(cas_from_tas(at_rotation.speed + cases.headwind, air)),
        rotation_distance=at_rotation.distance,
        rotation_time=at_rotation.time,
        lift_off_cas=np.asarray(cas_from_tas(lift_off_tas, air)),
        lift_off_ground_speed=lift_off.speed,
        lift_off_pitch=lift_off.pitch,
        lift_off_time=lift_off.time,
        ground_run=lift_off.distance,
        screen_cas=np.asarray(cas_from_tas(screen.speed, air)),
        screen_climb_angle=screen.climb_angle,
        distance_to_screen=screen.distance,
        time_to_screen=screen.time,
        stall_cas=np.asarray(cas_from_tas(setup.stall_speed, air)),
    )


def _near_rotation(
    setup: TakeoffSetup, speed: Floats, rows: NDArray[np.intp], failed_at: Floats
) -> tuple[TakeoffSetup, NearRotation]:
    part = setup.take(rows)
    history = power_history(part.power, failed_at[rows], rows.size)
    return part, NearRotation(
        setup.pack, part.cases, history, setup.configuration, speed[rows], part.attitude.target
    )


def _cas(tas: Floats, cases: Cases) -> Floats:
    finite = np.isfinite(tas)
    return np.where(finite, np.asarray(cas_from_tas(np.where(finite, tas, 0.0), cases.air)), np.inf)


def _full(value: ArrayLike, n: int) -> Floats:
    return np.broadcast_to(np.asarray(value, dtype=np.float64), (n,)).copy()
