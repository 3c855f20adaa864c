"""Nosewheel lift-off: the speed at which the tail can raise the nose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import Configuration, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import Devices, case_thrust, coefficients, ground_effect, ground_lift

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class NosewheelBalance:
    """Moments about the main wheels in the three-point attitude, stick as held, at any speed and thrust.

    With the accelerating force through the centre of gravity; forward lengths positive: a to the centre of
    gravity, d to the moment reference, heights h above the ground:

        q S [c Cm + CL (d + mu h_cg) + CD (h_D - h_cg)] = W (a + mu h_cg) + T (h_T - h_cg)

    Derived from plane rigid-body statics with the inertia force; the usual form of the takeoff rotation
    condition (Roskam, Airplane Flight Dynamics and Automatic Flight Controls, part I, section 4.7, there
    without the friction terms; from memory). Slope is neglected, and so is the height at which the rudder's
    drag acts after an engine failure.
    """

    pack: Pack
    cases: Cases
    configuration: Configuration
    pitching_moment: Floats
    """Coefficient, pitch control and gear included, (n,)."""
    friction: Floats
    fastest: float
    """Mach number at which the thrust tables end."""

    def _lever(self, airspeed: Floats, thrust_area: ArrayLike) -> Floats:
        """Return the nose-up moment for each newton a square metre of dynamic pressure and wing, m.

        ``thrust_area`` m2: of a drag that acts at the height of the thrust line.
        """
        frame, cases = self.pack.airframe, self.cases
        mach = np.minimum(airspeed / cases.speed_of_sound, self.fastest)
        force = coefficients(
            self.pack,
            self.configuration,
            frame.static_ground_attitude,
            mach,
            drag_index=cases.drag_index,
            devices=Devices(),
        )
        h_cg = frame.centre_of_gravity_height
        return (
            frame.mean_chord * self.pitching_moment
            + force.lift
            * ground_lift(self.pack, 0.0)
            * (frame.main_wheel_arm - frame.moment_reference_arm + self.friction * h_cg)
            + force.drag(ground_effect(self.pack, 0.0))
            * cases.drag_factor
            * (frame.moment_reference_height - h_cg)
            + np.asarray(thrust_area) / frame.wing_area * (frame.thrust_line_height - h_cg)
        )

    def _needed(self, thrust: Floats) -> Floats:
        """Return the nose-up moment that lifts the nosewheel, N m."""
        frame = self.pack.airframe
        h_cg = frame.centre_of_gravity_height
        a = frame.main_wheel_arm - self.cases.balance_arm
        return self.cases.weight * (a + self.friction * h_cg) + thrust * (frame.thrust_line_height - h_cg)

    def surplus(self, airspeed: Floats, thrust: Floats, windmilling: Floats | float = 0.0) -> Floats:
        """Return the nose-up moment beyond what lifts the nosewheel, N m; negative while it is on the
        ground. ``windmilling``: how many engines are dead, 0 to 1."""
        dead_area = self.pack.engine.windmilling_drag_area * np.asarray(windmilling)
        airspeed = np.maximum(airspeed, 0.0)
        q_s = 0.5 * self.cases.density * airspeed**2 * self.pack.airframe.wing_area
        return q_s * self._lever(airspeed, dead_area) - self._needed(thrust)

    def speed(self, thrust_at: Callable[[Floats], Floats], windmilling: float = 0.0) -> Floats:
        """Return the true airspeed, m/s, at which the nosewheel load vanishes, (n,); inf where it never does.

        ``thrust_at``: Mach number to thrust of all engines, N, (n,) each. It varies with speed, so the root
        is iterated.
        """
        cases = self.cases
        dead_area = self.pack.engine.windmilling_drag_area * windmilling
        speed = found = np.full(cases.count, 60.0)
        for _ in range(NOSEWHEEL_ITERATIONS):
            thrust = thrust_at(np.minimum(speed / cases.speed_of_sound, self.fastest))
            lever, needed = self._lever(speed, dead_area), self._needed(thrust)
            able = lever > 0.0
            pressure = np.maximum(needed, 0.0) / (np.where(able, lever, 1.0) * self.pack.airframe.wing_area)
            found = np.where(able, np.sqrt(2.0 * pressure / cases.density), np.inf)
            speed = np.where(found < MOST, found, MOST)
        return np.where(found < MOST, found, np.inf)

    def take(self, rows: NDArray[np.intp]) -> NosewheelBalance:
        """Return the balance of these rows, repeats allowed."""
        return replace(
            self,
            cases=self.cases.take(rows),
            pitching_moment=self.pitching_moment[rows],
            friction=self.friction[rows],
        )


def nosewheel_balance(
    pack: Pack,
    cases: Cases,
    configuration: Configuration,
    power: str,
    *,
    stick_aft: ArrayLike = 1.0,
    trim_units: ArrayLike = 0.0,
    rolling_friction: float | None = None,
) -> NosewheelBalance:
    """Return the moments about the main wheels; ``stick_aft`` 1 is full aft.

    ``power`` names the setting whose thrust table ends the range of speeds.
    """
    rolling = pack.wheels.rolling_friction if rolling_friction is None else rolling_friction
    moment = (
        configuration.pitching_moment_zero
        + configuration.pitching_moment_slope * pack.airframe.static_ground_attitude
        + pack.aero.pitch_control.moment_per_angle * pitch_control_angle(pack, stick_aft, trim_units)
        + Devices().gear * pack.aero.gear.pitching_moment
    )
    return NosewheelBalance(
        pack,
        cases,
        configuration,
        np.broadcast_to(np.asarray(moment, dtype=np.float64), (cases.count,)),
        rolling * cases.friction_factor,
        float(pack.engine.settings[power].thrust.axes[0][-1]),
    )


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

    See ``NosewheelBalance``. Thrust is taken at its steady value for ``power``, of ``engines`` engines, all
    of them where None; those that are left out windmill.
    """
    balance = nosewheel_balance(
        pack,
        cases,
        configuration,
        power,
        stick_aft=stick_aft,
        trim_units=trim_units,
        rolling_friction=rolling_friction,
    )
    count = pack.engine.count if engines is None else engines
    setting = pack.engine.settings[power]
    return balance.speed(
        lambda mach: count * case_thrust(setting, mach, cases), windmilling=pack.engine.count - count
    )


NOSEWHEEL_ITERATIONS = 6
MOST = 150.0  # m/s: a nosewheel still down here is no takeoff


def pitch_control_angle(pack: Pack, stick_aft: ArrayLike, trim_units: ArrayLike) -> Floats:
    """Return the surface angle, rad nose-up, for a share of full aft stick at a trim setting."""
    control = pack.aero.pitch_control
    neutral = control.trim_zero_angle + np.asarray(trim_units, dtype=np.float64) * control.trim_unit_angle
    travel = control.full_aft_angle + (neutral - control.trim_zero_angle) * control.trim_moves_full_travel
    return neutral + np.asarray(stick_aft) * (travel - neutral)
