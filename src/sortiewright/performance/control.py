"""Directional and lateral control: minimum control speed on the ground, and holding an uneven load."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY
from sortiewright.pack import Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import case_thrust

Floats = NDArray[np.float64]

CONTROL_ITERATIONS = 8


def minimum_control_ground_speed(pack: Pack, cases: Cases, power: str) -> Floats:
    """Return the true airspeed at which full rudder holds one dead engine, m/s (n,).

    q S b Cn = T y + D_wm y, no nosewheel steering (14 CFR 25.149(e) takes none either); the deviation of the
    path is not modelled. Nought with one engine; NaN where the pack does not give the rudder.
    """
    control = pack.aero.directional_control
    if pack.engine.count == 1:
        return np.zeros(cases.count)
    if control is None:
        return np.full(cases.count, np.nan)
    frame = pack.airframe
    speed = np.full(cases.count, 50.0)
    area = frame.wing_area * frame.span * control.rudder_yawing_moment
    windmilling = pack.engine.windmilling_drag_area * frame.engine_side_arm
    for _ in range(CONTROL_ITERATIONS):
        thrust = case_thrust(pack.engine.settings[power], speed / cases.speed_of_sound, cases)
        pressure = thrust * frame.engine_side_arm / (area - windmilling)
        speed = np.sqrt(2.0 * pressure / cases.density)
    return speed


def roll_control_speed(
    pack: Pack, cases: Cases, side_moment: ArrayLike, *, load_factor: ArrayLike = 1.0, share: float = 0.5
) -> Floats:
    """Return the lowest true airspeed at which ``share`` of the roll control holds an uneven load, m/s.

    ``side_moment`` kg m, right positive. n g sum(m y) = q S b Cl share. NaN where the pack gives no roll
    control. Keeping half the control for manoeuvre is common practice, no source.
    """
    control = pack.aero.directional_control
    if control is None:
        return np.full(cases.count, np.nan)
    frame = pack.airframe
    moment = np.abs(np.asarray(side_moment, dtype=np.float64)) * STANDARD_GRAVITY * np.asarray(load_factor)
    available = frame.wing_area * frame.span * control.roll_control_rolling_moment * share
    return np.sqrt(2.0 * moment / (cases.density * available))
