"""A second road to a rejected takeoff and a landing roll; the forces of ``reference_takeoff``, over time."""

from __future__ import annotations

from math import cos, inf, sin, sqrt

import numpy as np
from reference_takeoff import Aeroplane, Engines, G, ReferenceStop, march
from scipy.optimize import brentq

from sortiewright.air import Air
from sortiewright.pack import Pack

PSI = 6894.757293168


def reference_rejected(
    pack: Pack,
    mass,
    air: Air,
    event_speed,
    headwind=0.0,
    slope=0.0,
    *,
    chute=True,
    reading=23.0,
    standing_water=False,
    drag_index=0.0,
    technique=None,
) -> ReferenceStop:
    """Return the stop, measured from brake release, after an event at a ground speed on the takeoff run."""
    technique = technique or pack.technique.takeoff
    plane = Aeroplane(pack, mass, air, headwind, slope, drag_index, reading)
    engines = Engines(plane, technique)
    configuration = pack.aero.configurations[technique.configuration]
    forces = RunwayForces(plane, configuration, standing_water=standing_water)
    attitude = pack.airframe.static_ground_attitude

    def running(time, state):
        thrust = engines.one(time, state[1] + headwind) * engines.count
        force, _ = forces(state[1], thrust, attitude)
        return state[1], max(force, 0.0 if state[1] <= 0.0 else -inf) / mass

    found = march(running, np.zeros(2), 0.0, engines.kinks, lambda _, s: event_speed - s[1])
    if found is None:
        return ReferenceStop(event_speed, inf, inf, 0.0)
    time, state = found
    plan, times = technique.rejected, engines.times
    closed_at = time + plan.recognition
    opens_at = inf
    if chute and pack.wheels.chute is not None and plan.chute_commanded is not None:
        opens_at = time + plan.chute_commanded + pack.wheels.chute.inflation_time

    def stopping(time_now, state_now):
        tas = state_now[1] + headwind
        thrust = engines.closing(time_now, tas, closed_at)
        force, brakes = forces(
            state_now[1],
            thrust,
            attitude,
            braking=time_now >= time + plan.brakes_on,
            chute=time_now >= opens_at,
        )
        return state_now[1], force / mass, brakes * state_now[1]

    kinks = [
        *engines.kinks,
        closed_at,
        closed_at + times.cancel_augmentation,
        closed_at + times.military_to_idle,
        time + plan.brakes_on,
        opens_at,
    ]
    return halted(stopping, np.array([*state, 0.0]), time, kinks, event_speed, forces.jumps())


def reference_landing(
    pack: Pack,
    mass,
    air: Air,
    headwind=0.0,
    slope=0.0,
    *,
    chute=True,
    reading=23.0,
    standing_water=False,
    drag_index=0.0,
    gust_increment=0.0,
) -> ReferenceStop:
    """Return the landing roll from touchdown by the pack's technique."""
    technique = pack.technique.landing
    plane = Aeroplane(pack, mass, air, headwind, slope, drag_index, reading)
    configuration = pack.aero.configurations[technique.configuration]
    polar, aero = plane.polar(configuration), pack.aero
    idle = plane.thrust_of[pack.engine.idle]
    tilt = technique.on_speed_angle_of_attack + pack.airframe.thrust_inclination

    def surplus(v):
        """Return lift and thrust across the glide path less weight, thrust holding the path."""
        q_s = 0.5 * plane.density * v**2 * pack.airframe.wing_area
        lift, parasite, due = polar(technique.on_speed_angle_of_attack, v)
        drag = q_s * (parasite + due + aero.gear.drag + drag_index * aero.drag_per_index)
        thrust = (drag - mass * G * sin(technique.glide_angle)) / cos(tilt)
        return q_s * (lift + aero.gear.lift) + thrust * sin(tilt) - mass * G * cos(technique.glide_angle)

    threshold = brentq(surplus, 10.0, 180.0, xtol=1e-9) + technique.gust_share * gust_increment
    speed = threshold * technique.touchdown_speed_share - headwind
    held = technique.aerobrake_angle_of_attack
    nose_down = 0.0
    if held is None or technique.aerobrake_until_cas is None:
        held, nose_down = pack.airframe.static_ground_attitude, inf
    else:
        nose_down = plane.tas_from_cas(technique.aerobrake_until_cas) - headwind
    opens_at = inf
    if chute and pack.wheels.chute is not None:
        opens_at = technique.chute_delay + pack.wheels.chute.inflation_time
    forces = RunwayForces(
        plane, configuration, speedbrake=technique.speedbrake, standing_water=standing_water
    )

    def stopping(time, state):
        high = state[1] > nose_down
        force, brakes = forces(
            state[1],
            pack.engine.count * idle(state[1] + headwind),
            held if high else pack.airframe.static_ground_attitude,
            braking=not high and time >= technique.free_roll_time,
            chute=time >= opens_at,
        )
        return state[1], force / mass, brakes * state[1]

    kinks = [technique.free_roll_time, opens_at]
    jumps = [*forces.jumps(), nose_down]
    return halted(stopping, np.array([0.0, speed, 0.0]), 0.0, kinks, speed, jumps)


class RunwayForces:
    """The force along the runway on an aeroplane rolling on all wheels or with the nose held up."""

    def __init__(self, plane: Aeroplane, configuration, *, speedbrake=False, standing_water=False):
        self.plane, self.polar = plane, plane.polar(configuration)
        aero, wheels = plane.pack.aero, plane.pack.wheels
        share = 1.0 if speedbrake else 0.0
        self.lift = aero.gear.lift + share * aero.speedbrake.lift
        self.parasite = aero.gear.drag + share * aero.speedbrake.drag + plane.index * aero.drag_per_index
        table = wheels.braking_friction
        self.friction = float(np.interp(plane.reading, table.axes[0], table.values))
        # NASA TN D-2056: 9 knots for each root of a psi.
        planing = 9.0 * sqrt(wheels.main_tyre_pressure / PSI) * 1852.0 / 3600.0
        self.planing = planing if standing_water else inf

    def jumps(self):
        """Return the ground speeds at which a force jumps."""
        chute = self.plane.pack.wheels.chute
        limits = [self.planing]
        if chute is not None:
            limits += [
                self.plane.tas_from_cas(cas) - self.plane.wind
                for cas in (chute.maximum_cas, chute.least_useful_cas)
            ]
        return limits

    def __call__(self, speed, thrust, attitude, *, braking=False, chute=False):
        """Return the force forward along the runway and the brakes' part of it, N."""
        plane, wheels, frame = self.plane, self.plane.pack.wheels, self.plane.pack.airframe
        tas = speed + plane.wind
        pressure = 0.5 * plane.density * tas**2
        q_s = pressure * frame.wing_area
        lift, parasite, due = self.polar(attitude, tas)
        drag = q_s * (parasite + self.parasite + due * plane.ground_effect(0.0)) * np.sign(tas)
        tilt = attitude + frame.thrust_inclination
        load = max(plane.weight - q_s * (lift + self.lift) - thrust * sin(tilt), 0.0)
        nose, main = wheels.nose_load_share * load, (1.0 - wheels.nose_load_share) * load
        on_main, brakes = wheels.rolling_friction * main, 0.0
        if braking:
            grip = (wheels.hydroplaning_friction if speed > self.planing else self.friction) * main
            if wheels.maximum_brake_force is not None:
                grip = min(grip, wheels.maximum_brake_force)
            brakes = on_main = max(on_main, grip)
        canopy = 0.0
        if chute:
            low, high = self.chute_range
            canopy = wheels.chute.drag_area * pressure if low <= speed <= high else 0.0
        wheel = wheels.rolling_friction * nose + on_main
        return thrust * cos(tilt) - drag - wheel - canopy - plane.along_weight, brakes

    @property
    def chute_range(self):
        """Return the ground speeds between which an open chute pulls."""
        *_, high, low = self.jumps()
        return low, high


def halted(slope, state, time, kinks, start_speed, jumps) -> ReferenceStop:
    """Return where the speed falls to nought; steps end at every time and speed at which a force jumps."""
    targets = sorted((j for j in jumps if 0.0 < j < start_speed), reverse=True)
    for target in [*targets, 0.0]:
        if state[1] <= target:
            continue
        found = march(slope, state, time, kinks, lambda _, s, target=target: s[1] - target)
        if found is None:
            return ReferenceStop(start_speed, inf, inf, float(state[2]))
        time, state = found
        state[1] = target - 1e-9 if target > 0.0 else 0.0
    return ReferenceStop(start_speed, float(state[0]), time, float(state[2]))
