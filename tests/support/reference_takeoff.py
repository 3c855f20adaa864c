"""A second road to the numbers of a takeoff, a rejected takeoff and a landing roll: one case at a time, over
time.

Written from the equations of motion of a rigid aeroplane on three wheels and of a point mass in the air, with
nothing from the program's own physics: forces in Cartesian components along and across the runway, integrated
over time by scipy's DOP853 (Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, section
II.5) with the pack's tables read by scipy's bilinear splines. Slow and plain on purpose.

Shared with the program by agreement, not by code: thrust changes linearly over the pack's times; drag due to
lift is what a table's drag exceeds its least; a failure after rotation has begun is taken at rotation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, inf, nan, sin, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import brentq

from sortiewright.air import Air
from sortiewright.pack import Configuration, Pack, Table

G = 9.80665  # m/s2, ISO 2533
R = 287.05287  # J/(kg K), ISO 2533
P0, T0, A0 = 101325.0, 288.15, 340.294  # ISO 2533
LONGEST = 400.0  # s
PRECISION = {"method": "DOP853", "rtol": 1e-7, "atol": 1e-6}


@dataclass
class ReferenceTakeoff:
    """Metres and seconds from release, inf: never; speeds m/s true airspeed unless named, rad, NaN: never."""

    nosewheel_lift_off_speed: float
    rotation_speed: float
    lift_off_speed: float = nan
    lift_off_ground_speed: float = nan
    lift_off_pitch: float = nan
    lift_off_time: float = inf
    ground_run: float = inf
    screen_speed: float = nan
    screen_climb_angle: float = nan
    distance_to_screen: float = inf
    time_to_screen: float = inf


@dataclass
class ReferenceStop:
    """Metres and seconds from release (a landing: from touchdown), and the energy in the brakes, J."""

    start_speed: float
    distance: float
    time: float
    brake_energy: float


class Aeroplane:
    """One aeroplane on one day: forces as plain numbers."""

    def __init__(self, pack: Pack, mass, air: Air, headwind=0.0, slope=0.0, drag_index=0.0, reading=23.0):
        self.pack, self.mass, self.wind, self.slope, self.index = pack, mass, headwind, slope, drag_index
        self.pressure, self.temperature = float(air.pressure), float(air.temperature)
        self.density = self.pressure / (R * self.temperature)
        self.sound = sqrt(1.4 * R * self.temperature)
        # ISO 2533, troposphere: p/p0 = (T/T0)^5.25588 with 6.5 K a kilometre.
        standard = T0 * (self.pressure / P0) ** (1.0 / 5.25588)
        self.altitude, self.warmer = (T0 - standard) / 0.0065, self.temperature - standard
        self.along_weight, self.weight = mass * G * sin(slope), mass * G * cos(slope)
        self.reading = reading
        self.thrust_of = {name: self._thrust(name) for name in pack.engine.settings}

    def _thrust(self, name: str) -> Callable[[float], float]:
        setting = self.pack.engine.settings[name]
        mach = setting.thrust.axes[0]
        level = surface(setting.thrust)(mach, np.full(mach.shape, self.altitude), grid=False)
        factor = 1.0
        if (table := setting.thrust_temperature_factor) is not None:
            factor = np.interp(self.warmer, table.axes[0], table.values)
        return lambda tas: float(np.interp(max(tas, 0.0) / self.sound, mach, level * factor))

    def polar(self, configuration: Configuration):
        """Return a function (angle of attack, true airspeed) -> CL, least CD, CD due to lift."""
        lift, drag = surface(configuration.lift), surface(configuration.drag)
        mach = configuration.drag.axes[1]
        least = np.min(configuration.drag.values, axis=0)

        def at(alpha, tas):
            m = abs(tas) / self.sound
            parasite = float(np.interp(m, mach, least))
            return float(lift(alpha, m)[0, 0]), parasite, float(drag(alpha, m)[0, 0]) - parasite

        return at

    def ground_effect(self, height):
        """Return the factor on drag due to lift (Anderson, Introduction to Flight, eq. 6.77, unless
        tabulated)."""
        share = (height + self.pack.airframe.wing_height) / self.pack.airframe.span
        if (table := self.pack.aero.ground_effect) is not None:
            return float(np.interp(share, table.axes[0], table.values))
        return 1.0 / (1.0 + 1.0 / (16.0 * share) ** 2)

    def tas_from_cas(self, cas):
        """Return true airspeed: subsonic pitot equation (NACA Report 837)."""
        impact = P0 * ((1.0 + 0.2 * (cas / A0) ** 2) ** 3.5 - 1.0)
        return self.sound * sqrt(5.0 * ((impact / self.pressure + 1.0) ** (2.0 / 7.0) - 1.0))

    def stalling_speed(self, configuration):
        """Return the power-off stalling speed, true airspeed."""
        table = configuration.maximum_lift

        def surplus(v):
            best = np.interp(v / self.sound, table.axes[0], table.values) + self.pack.aero.gear.lift
            return 0.5 * self.density * v**2 * self.pack.airframe.wing_area * best - self.mass * G

        return brentq(surplus, 10.0, 0.6 * self.sound, xtol=1e-9)

    def failed_drag(self, pressure, uneven_thrust):
        """Return windmilling drag of one engine and the drag of holding the uneven thrust, N."""
        dead = self.pack.engine.windmilling_drag_area * pressure
        control, frame = self.pack.aero.directional_control, self.pack.airframe
        if control is None or pressure <= 0.0:
            return dead
        force = pressure * frame.wing_area
        yaw = (uneven_thrust + dead) * frame.engine_side_arm / (force * frame.span)
        return (
            dead + control.asymmetric_drag_factor * min(abs(yaw), control.rudder_yawing_moment) ** 2 * force
        )


def surface(table: Table) -> RectBivariateSpline:
    """Return scipy's bilinear reading of a table of two axes."""
    return RectBivariateSpline(*table.axes, table.values, kx=1, ky=1)


def rise(time, start, duration):
    """Return 0 before ``start``, 1 after ``start + duration``, linear between."""
    if time <= start:
        return 0.0 if duration > 0.0 or time < start else 1.0
    return min((time - start) / duration, 1.0) if duration > 0.0 else 1.0


class Engines:
    """Thrust of all engines over time since release."""

    def __init__(self, plane: Aeroplane, technique):
        self.plane, engine = plane, plane.pack.engine
        self.times = engine.transients
        self.count, self.reaction = engine.count, technique.engine_out_reaction
        augmented = engine.settings[technique.power].augmented
        dry = engine.military if augmented else technique.power
        self.full, self.idle = plane.thrust_of[technique.power], plane.thrust_of[engine.idle]
        self.dry = plane.thrust_of[dry]
        self.release = plane.thrust_of[technique.release_power or engine.idle]
        raised = technique.engine_out_power or technique.power
        self.raised = None if raised == technique.power else plane.thrust_of[raised]
        self.raise_lit = engine.settings[raised].augmented and not augmented
        whole = plane.thrust_of[engine.military](0.0) - self.idle(0.0)
        step = (self.dry(0.0) - self.release(0.0)) / whole if whole > 0.0 else 0.0
        self.spool = self.times.idle_to_military * min(max(step, 0.0), 1.0)
        self.light = self.spool + self.times.light_delay if augmented else None
        self.kinks = [self.spool]
        if self.light is not None:
            self.kinks += [self.light, self.light + self.times.light_to_full]

    def lit(self, time):
        """Return how much of the augmentation is there, 0 to 1."""
        return 0.0 if self.light is None else rise(time, self.light, self.times.light_to_full)

    def core(self, time, tas):
        """Return the thrust of one engine less its augmentation."""
        part = rise(time, 0.0, self.spool)
        return (1.0 - part) * self.release(tas) + part * self.dry(tas)

    def one(self, time, tas):
        """Return the thrust of one good engine."""
        return self.core(time, tas) + self.lit(time) * (self.full(tas) - self.dry(tas))

    def live_and_dying(self, time, tas, failed_at):
        """Return the thrust of the engines that run, and of the one that fails."""
        good = self.one(time, tas)
        if failed_at == inf:
            return self.count * good, 0.0
        dying = good * (1.0 - rise(time, failed_at, self.times.failure_decay))
        if self.raised is not None:
            delay = self.times.light_delay if self.raise_lit else 0.0
            span = self.times.light_to_full if self.raise_lit else self.times.idle_to_military
            part = rise(time, failed_at + self.reaction + delay, span)
            good += part * (self.raised(tas) - good)
        return (self.count - 1) * good, dying

    def closing(self, time, tas, closed_at):
        """Return the thrust of all engines, levers closed at ``closed_at``."""
        if time <= closed_at:
            return self.count * self.one(time, tas)
        core_left = 1.0 - rise(time, closed_at, self.times.military_to_idle)
        burner_left = min(1.0 - rise(time, closed_at, self.times.cancel_augmentation), core_left)
        burner = self.lit(closed_at) * (self.full(tas) - self.dry(tas))
        core = self.core(closed_at, tas)
        return self.count * (self.idle(tas) + core_left * (core - self.idle(tas)) + burner_left * burner)


def march(slope, state, start, kinks, event=None):
    """Return time and state where ``event`` falls to nought, or None; integrated piecewise between
    ``kinks``."""
    edges = [start, *sorted(k for k in set(kinks) if start < k < LONGEST), LONGEST]
    if event(start, state) <= 0.0:
        return start, np.asarray(state, dtype=float)
    event.terminal, event.direction = True, -1.0
    for low, high in pairwise(edges):
        found = solve_ivp(slope, (low, high), state, events=event, max_step=2.0, **PRECISION)
        if found.t_events[0].size:
            return float(found.t_events[0][0]), found.y_events[0][0]
        state = found.y[:, -1]
        if not np.all(np.isfinite(state)):
            return None
    return None


def nosewheel_lift_off(plane: Aeroplane, balance_arm, technique, trim_units=0.0):
    """Return the airspeed at which full aft stick takes the load off the nosewheel; inf if none up to 150
    m/s."""
    balance, thrust = (
        nose_up_moment(plane, balance_arm, technique, trim_units),
        plane.thrust_of[technique.power],
    )

    def nose_up(v):
        return balance(v, plane.pack.engine.count * thrust(v))

    if nose_up(0.5) >= 0.0:
        return 0.0
    speeds = np.linspace(1.0, 150.0, 150)
    able = next((v for v in speeds if nose_up(v) >= 0.0), None)
    return inf if able is None else brentq(nose_up, max(able - 1.0, 0.5), able, xtol=1e-9)


def nose_up_moment(plane: Aeroplane, balance_arm, technique, trim_units=0.0):
    """Return the nose-up moment beyond balance, N m, as a function of airspeed, thrust and dead engines.

    Plane statics with the inertia force at the centre of gravity, moments about the centre of gravity: the
    main wheels carry everything, and the nose-up moments must balance theirs.
    """
    pack, frame, control = plane.pack, plane.pack.airframe, plane.pack.aero.pitch_control
    configuration = pack.aero.configurations[technique.configuration]
    polar = plane.polar(configuration)
    surface_angle = control.full_aft_angle
    if control.trim_moves_full_travel:
        surface_angle += trim_units * control.trim_unit_angle
    attitude, windmilling = frame.static_ground_attitude, pack.engine.windmilling_drag_area
    moment = (
        configuration.pitching_moment_zero
        + configuration.pitching_moment_slope * attitude
        + control.moment_per_angle * surface_angle
        + pack.aero.gear.pitching_moment
    )

    def nose_up(v, thrust, dead=0):
        q_s = 0.5 * plane.density * v**2 * frame.wing_area
        lift, parasite, due = polar(attitude, v)
        lift = q_s * (lift + pack.aero.gear.lift)
        parasite += pack.aero.gear.drag + plane.index * pack.aero.drag_per_index
        drag = q_s * (parasite + due * plane.ground_effect(0.0))
        main = plane.mass * G - lift
        return (
            q_s * frame.mean_chord * moment
            + lift * (balance_arm - frame.moment_reference_arm)
            + drag * (frame.moment_reference_height - frame.centre_of_gravity_height)
            - main * (frame.main_wheel_arm - balance_arm)
            - pack.wheels.rolling_friction * main * frame.centre_of_gravity_height
            - (thrust - dead * windmilling * q_s / frame.wing_area)
            * (frame.thrust_line_height - frame.centre_of_gravity_height)
        )

    return nose_up


def reference_takeoff(
    pack: Pack,
    mass,
    balance_arm,
    air: Air,
    headwind=0.0,
    slope=0.0,
    failure_speed=None,
    *,
    drag_index=0.0,
    technique=None,
) -> ReferenceTakeoff:
    """Return the takeoff by the pack's technique; ``failure_speed`` is the ground speed where one engine
    fails."""
    technique = technique or pack.technique.takeoff
    plane = Aeroplane(pack, mass, air, headwind, slope, drag_index)
    frame, gear = pack.airframe, pack.aero.gear
    configuration = pack.aero.configurations[technique.configuration]
    polar, engines = plane.polar(configuration), Engines(plane, technique)
    nose = nosewheel_lift_off(plane, balance_arm, technique)
    if technique.rotation_speed is not None:
        planned = np.interp(mass, technique.rotation_speed.axes[0], technique.rotation_speed.values)
        planned = plane.tas_from_cas(float(planned))
    else:
        planned = (technique.rotation_speed_over_stall or 1.0) * plane.stalling_speed(configuration)
    rotation = max(planned, nose)
    result = ReferenceTakeoff(nose, rotation)
    if rotation == inf:
        return result
    begin, target = frame.static_ground_attitude, min(technique.takeoff_attitude, frame.tail_strike_attitude)
    rolling = pack.wheels.rolling_friction

    def forces(time, tas, alpha, height, out, failed_at):
        """Return lift, drag, thrust."""
        pressure = 0.5 * plane.density * tas**2
        q_s = pressure * frame.wing_area
        lift, parasite, due = polar(alpha, tas)
        parasite += out * gear.drag + plane.index * pack.aero.drag_per_index
        drag = q_s * (parasite + due * plane.ground_effect(height)) * np.sign(tas)
        live, dying = engines.live_and_dying(time, tas, failed_at)
        if failed_at < inf:
            drag += plane.failed_drag(pressure, live - dying)
        return q_s * (lift + out * gear.lift), drag, live + dying

    tail = pack.aero.pitch_control.lift_per_moment / frame.mean_chord
    above = frame.thrust_line_height - frame.centre_of_gravity_height

    def three_point(_):
        return begin

    def on_wheels(pitch_at, failed_at):
        def push_and_load(time, ground_speed):
            pitch = pitch_at(time)
            lift, drag, thrust = forces(time, ground_speed + headwind, pitch, 0.0, 1.0, failed_at)
            load = plane.weight - lift - thrust * sin(pitch + frame.thrust_inclination)
            if pitch_at is not three_point:
                # Two unknowns, what the wheels carry and the tail's force: forces across, moments about the
                # centre of gravity.
                arm = frame.main_wheel_arm - balance_arm + rolling * frame.centre_of_gravity_height
                load = np.linalg.solve([[1.0, 1.0], [-tail * arm, 1.0]], [load, tail * thrust * above])[0]
            push = thrust * cos(pitch + frame.thrust_inclination) - drag - plane.along_weight
            return push - rolling * max(load, 0.0), load

        def slope_of(time, state):
            push, _ = push_and_load(time, max(state[1], 0.0))
            if state[1] <= 0.0:
                push = max(push, 0.0)  # brakes or chocks keep it from rolling back
            return state[1], push / mass

        return slope_of, push_and_load

    def run_to(speed, time, state, failed_at):
        slope_of, _ = on_wheels(three_point, failed_at)
        kinks = [*engines.kinks, *kinks_of_failure(failed_at)]
        return march(slope_of, state, time, kinks, lambda _, s: speed - s[1])

    def kinks_of_failure(failed_at):
        if failed_at == inf:
            return []
        times = engines.times
        return [
            failed_at + d
            for d in (times.failure_decay, engines.reaction, engines.reaction + times.light_delay)
        ]

    time, state, failed_at = 0.0, np.zeros(2), inf
    if failure_speed is not None:
        found = run_to(min(failure_speed, rotation - headwind), time, state, inf)
        if found is None or pack.engine.count == 1:
            return result
        (time, state), failed_at = found, found[0]
    if failed_at < inf:
        # The nose rises at the planned speed or as soon after as the thrust that is alive lets it.
        balance, slope_of = (
            nose_up_moment(plane, balance_arm, technique),
            on_wheels(three_point, failed_at)[0],
        )

        def still_down(now, state_now):
            tas = state_now[1] + headwind
            surplus = balance(tas, sum(engines.live_and_dying(now, tas, failed_at)), 1)
            return max((planned - tas) / planned, -surplus / (mass * G * frame.mean_chord))

        found = march(slope_of, state, time, [*engines.kinks, *kinks_of_failure(failed_at)], still_down)
    else:
        found = run_to(rotation - headwind, time, state, failed_at)
    if found is None:
        return result
    begun, state = found
    kinks = [begun + (target - begin) / technique.pitch_rate, *engines.kinks, *kinks_of_failure(failed_at)]

    def pitch_at(time):
        return min(begin + technique.pitch_rate * (time - begun), target)

    slope_of, push_and_load = on_wheels(pitch_at, failed_at)
    found = march(slope_of, state, begun, kinks, lambda t, s: push_and_load(t, s[1])[1])
    if found is None:
        return result
    lifted, (run, ground_speed) = found
    result.lift_off_time, result.ground_run = lifted, run
    result.lift_off_ground_speed, result.lift_off_speed = ground_speed, ground_speed + headwind
    result.lift_off_pitch = pitch_at(lifted)

    def flying(time, state):
        _, height, along, up = state
        tas, path, pitch = hypot(along, up), atan2(up, along), pitch_at(time)
        out = 1.0 - rise(time, lifted + technique.gear_up_delay, gear.travel_time)
        lift, drag, thrust = forces(time, tas, pitch - path, max(height, 0.0), out, failed_at)
        tilt = pitch + frame.thrust_inclination
        lift += tail * thrust * above
        forward = thrust * cos(tilt) - lift * sin(path) - drag * cos(path) - plane.along_weight
        upward = thrust * sin(tilt) + lift * cos(path) - drag * sin(path) - plane.weight
        return along - headwind, up, forward / mass, upward / mass

    kinks += [lifted + technique.gear_up_delay, lifted + technique.gear_up_delay + gear.travel_time]
    start = [run, 0.0, ground_speed + headwind, 0.0]
    found = march(flying, start, lifted, kinks, lambda _, s: max(technique.screen_height - s[1], -1.0))
    if found is not None:
        result.time_to_screen, (result.distance_to_screen, _, along, up) = found
        result.screen_speed, result.screen_climb_angle = hypot(along, up), atan2(up, along)
    return result
