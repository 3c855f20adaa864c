"""Nosewheel lift-off: the speed at which the tail can raise the nose."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import Configuration, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import Devices, case_thrust, coefficients, ground_effect

Floats = NDArray[np.float64]


def nosewheel_lift_off_speed(
    pack: Pack,
    cases: Cases,
    configuration: Configuration,
    power: str,
    *,
    stick_aft: ArrayLike = 1.0,
    trim_units: ArrayLike = 0.0,
    engines: float | None = None,
    rolling_friction: float | None = None,
) -> Floats:
    """Return the true airspeed, m/s, at which the nosewheel load vanishes, (n,); inf where it never does.

    Moments about the main-wheel contact with the accelerating force through the centre of gravity; forward
    lengths positive: a to the centre of gravity, d to the moment reference, heights h above the ground:

        q S [c Cm + CL (d + mu h_cg) + CD (h_D - h_cg)] = W (a + mu h_cg) + T (h_T - h_cg)

    Derived from plane rigid-body statics with the inertia force; the usual form of the takeoff rotation
    condition (Roskam, Airplane Flight Dynamics and Automatic Flight Controls, part I, section 4.7, there
    without the friction terms; from memory). ``stick_aft`` 1 is full aft. Slope is neglected. Thrust is taken
    at its steady value for ``power``; it varies with speed, so the root is iterated.
    """
    frame, control = pack.airframe, pack.aero.pitch_control
    mu = (
        pack.wheels.rolling_friction if rolling_friction is None else rolling_friction
    ) * cases.friction_factor
    alpha = frame.static_ground_attitude
    a = frame.main_wheel_arm - cases.balance_arm
    d = frame.main_wheel_arm - frame.moment_reference_arm
    h_cg, h_d, h_t = frame.centre_of_gravity_height, frame.moment_reference_height, frame.thrust_line_height
    surface = pitch_control_angle(pack, stick_aft, trim_units)
    devices = Devices()
    cm = (
        configuration.pitching_moment_zero
        + configuration.pitching_moment_slope * alpha
        + control.moment_per_angle * surface
        + devices.gear * pack.aero.gear.pitching_moment
    )
    count = pack.engine.count if engines is None else engines
    setting = pack.engine.settings[power]
    speed = found = np.full(cases.count, 60.0)
    for _ in range(NOSEWHEEL_ITERATIONS):
        mach = np.minimum(speed / cases.speed_of_sound, setting.thrust.axes[0][-1])
        force = coefficients(pack, configuration, alpha, mach, drag_index=cases.drag_index, devices=devices)
        thrust = count * case_thrust(setting, mach, cases)
        lever = (
            frame.mean_chord * cm
            + force.lift * (d + mu * h_cg)
            + force.drag(ground_effect(pack, 0.0)) * cases.drag_factor * (h_d - h_cg)
        )
        needed = cases.weight * (a + mu * h_cg) + thrust * (h_t - h_cg)
        able = lever > 0.0
        pressure = np.maximum(needed, 0.0) / (np.where(able, lever, 1.0) * frame.wing_area)
        found = np.where(able, np.sqrt(2.0 * pressure / cases.density), np.inf)
        speed = np.where(found < MOST, found, MOST)
    return np.where(found < MOST, found, np.inf)


NOSEWHEEL_ITERATIONS = 6
MOST = 150.0  # m/s: a nosewheel still down here is no takeoff


def pitch_control_angle(pack: Pack, stick_aft: ArrayLike, trim_units: ArrayLike) -> Floats:
    """Return the surface angle, rad nose-up, for a share of full aft stick at a trim setting."""
    control = pack.aero.pitch_control
    neutral = control.trim_zero_angle + np.asarray(trim_units, dtype=np.float64) * control.trim_unit_angle
    travel = control.full_aft_angle + (neutral - control.trim_zero_angle) * control.trim_moves_full_travel
    return neutral + np.asarray(stick_aft) * (travel - neutral)
