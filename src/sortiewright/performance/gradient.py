"""What one engine, or all, can climb at right after takeoff or in a go-around."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import Configuration, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import Devices, asymmetric_drag, case_thrust, coefficients
from sortiewright.performance.interpolation import false_position

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ClimbGradient:
    """Steady climb of each case, (n,): angle rad (negative: it sinks), rate m/s, angle of attack rad.

    NaN where the configuration cannot carry the weight at this speed.
    """

    angle: Floats
    rate: Floats
    angle_of_attack: Floats

    def over_ground(self, tas: ArrayLike, headwind: ArrayLike = 0.0) -> Floats:
        """Return height gained over ground distance (a plain ratio)."""
        v = np.asarray(tas, dtype=np.float64)
        return v * np.sin(self.angle) / (v * np.cos(self.angle) - np.asarray(headwind))


def climb_gradient(
    pack: Pack,
    cases: Cases,
    configuration: Configuration,
    tas: ArrayLike,
    power: str,
    *,
    failed_engines: int = 0,
    gear: float | Floats = 0.0,
) -> ClimbGradient:
    """Return the unaccelerated climb at true airspeed ``tas`` with the live engines at ``power``.

    sin(gamma) = (T cos(a+iT) - D)/W with L + T sin(a+iT) = W cos(gamma) (Anderson, Aircraft Performance and
    Design, eqs. 5.76 and 5.77 with inclined thrust); a dead engine windmills and the rudder holds the rest.
    """
    speed = np.broadcast_to(np.asarray(tas, dtype=np.float64), cases.mass.shape)
    live = pack.engine.count - failed_engines
    mach = speed / cases.speed_of_sound
    setting = pack.engine.settings[power]
    thrust = live * case_thrust(setting, mach, cases)
    pressure = 0.5 * cases.density * speed**2
    q_s = pressure * pack.airframe.wing_area
    dead = failed_engines * pack.engine.windmilling_drag_area * pressure
    if failed_engines:
        each = thrust / max(live, 1)
        moment = failed_engines * (each + dead / failed_engines) * pack.airframe.engine_side_arm
        dead = dead + asymmetric_drag(pack, moment, pressure)
    devices = Devices(gear=gear)
    axis = configuration.lift.axes[0]

    def excess(alpha: Floats, lift: Floats, drag: Floats) -> tuple[Floats, Floats]:
        tilt = alpha + pack.airframe.thrust_inclination
        sine = (thrust * np.cos(tilt) - q_s * drag * cases.drag_factor - dead) / cases.weight
        sine = np.minimum(np.maximum(sine, -1.0), 1.0)
        return q_s * lift + thrust * np.sin(tilt) - cases.weight * np.sqrt(1.0 - sine**2), sine

    # Between two angles of the table, lift and drag are straight lines: the rest needs no table. Below the
    # stall, lift rises with angle of attack: the first root lies before the lift peak.
    angles = np.broadcast_to(axis[:, None], (len(axis), cases.count))
    force = coefficients(pack, configuration, angles, mach, drag_index=cases.drag_index, devices=devices)
    lift, drag = force.lift, force.drag()
    over, _ = excess(angles, lift, drag)
    peak = np.argmax(lift, axis=0)
    columns: NDArray[np.intp] = np.arange(cases.count, dtype=np.intp)
    able = over[peak, columns] >= 0.0
    cell = np.minimum(np.maximum(np.argmax(over >= 0.0, axis=0) - 1, 0), len(axis) - 2)
    low, high = axis[cell], axis[cell + 1]

    def at(alpha: Floats) -> tuple[Floats, Floats]:
        part = (alpha - low) / (high - low)
        return excess(
            alpha,
            lift[cell, columns] * (1.0 - part) + lift[cell + 1, columns] * part,
            drag[cell, columns] * (1.0 - part) + drag[cell + 1, columns] * part,
        )

    alpha = false_position(lambda alpha: at(alpha)[0], low, high, iterations=5)
    sine = at(alpha)[1]
    angle = np.where(able, np.arcsin(sine), np.nan)
    return ClimbGradient(angle, speed * np.sin(angle), np.where(able, alpha, np.nan))
