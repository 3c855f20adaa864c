"""Takeoff trim: the setting that holds the climb-away with the stick let go."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import Configuration, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import case_thrust, coefficients
from sortiewright.performance.interpolation import false_position

Floats = NDArray[np.float64]


def takeoff_trim(
    pack: Pack, cases: Cases, configuration: Configuration, tas: ArrayLike, power: str
) -> Floats:
    """Return the trim units, (n,), at which the pitching moment vanishes stick-free at airspeed ``tas``.

    Level flight at that speed, gear down, all engines at ``power``, moments about the centre of gravity:

        c (Cm0 + Cm_alpha a + Cm_delta d) + CL (x_ref - x_cg) forward arm + T (h_cg - h_T)/(q S) = 0

    with arms measured along the body and drag's arm about the centre of gravity included. The value may lie
    outside the pack's range of units; the caller compares.
    """
    frame, control = pack.airframe, pack.aero.pitch_control
    speed = np.broadcast_to(np.asarray(tas, dtype=np.float64), cases.mass.shape)
    mach = speed / cases.speed_of_sound
    q_s = 0.5 * cases.density * speed**2 * frame.wing_area
    setting = pack.engine.settings[power]
    thrust = pack.engine.count * case_thrust(setting, mach, cases)
    axis = configuration.lift.axes[0]
    # Lift rises up to its peak only: beyond it the root is no longer bracketed.
    peak = axis[np.argmax(configuration.lift(axis[:, None], mach[None, :]), axis=0)]
    low, high = np.full(cases.count, axis[0]), peak

    def excess(alpha: Floats) -> Floats:
        lift = configuration.lift(alpha, mach) + pack.aero.gear.lift
        return q_s * lift + thrust * np.sin(alpha + frame.thrust_inclination) - cases.weight

    alpha = false_position(excess, low, high)
    force = coefficients(pack, configuration, alpha, mach, drag_index=cases.drag_index)
    forward = cases.balance_arm - frame.moment_reference_arm
    height = frame.moment_reference_height - frame.centre_of_gravity_height
    moment = (
        frame.mean_chord
        * (
            configuration.pitching_moment_zero
            + configuration.pitching_moment_slope * alpha
            + pack.aero.gear.pitching_moment
        )
        + (force.lift * np.cos(alpha) + force.drag() * np.sin(alpha)) * forward
        + (force.drag() * np.cos(alpha) - force.lift * np.sin(alpha)) * height
        + thrust / q_s * (frame.centre_of_gravity_height - frame.thrust_line_height)
    )
    surface = -moment / (frame.mean_chord * control.moment_per_angle)
    return (surface - control.trim_zero_angle) / control.trim_unit_angle
