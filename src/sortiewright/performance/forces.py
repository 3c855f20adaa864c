"""Lift, drag, thrust and fuel flow of a pack's aircraft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import AxisPoints, Configuration, Pack, PowerSetting, TablePoint
from sortiewright.performance.cases import Cases

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Devices:
    """What is out besides flaps. Shares: 0 in, 1 out."""

    gear: float | Floats = 1.0
    speedbrake: float | Floats = 0.0


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Lift and drag coefficients; the part of drag that ground effect acts on is kept apart."""

    lift: Floats
    drag_parasite: Floats
    drag_due_to_lift: Floats

    def drag(self, ground_effect: ArrayLike = 1.0) -> Floats:
        """Return the whole drag coefficient under this ground effect factor."""
        return self.drag_parasite + self.drag_due_to_lift * np.asarray(ground_effect, dtype=np.float64)


def coefficients(
    pack: Pack,
    configuration: Configuration,
    angle_of_attack: ArrayLike,
    mach: ArrayLike,
    *,
    drag_index: ArrayLike = 0.0,
    devices: Devices = Devices(),
) -> Coefficients:
    """Return lift and drag coefficients; arguments broadcast.

    Parasite drag is the least drag of the configuration at that Mach number plus stores, gear and speedbrake;
    the rest of the table's drag is taken as due to lift.
    """
    aero = pack.aero
    where = AxisPoints(mach)
    lift = configuration.lift(angle_of_attack, where)
    drag = configuration.drag(angle_of_attack, where)
    least = least_drag(configuration, where)
    lift = lift + (devices.gear * aero.gear.lift + devices.speedbrake * aero.speedbrake.lift)
    extra = devices.gear * aero.gear.drag + devices.speedbrake * aero.speedbrake.drag
    parasite = least + extra + np.asarray(drag_index) * aero.drag_per_index
    return Coefficients(lift, parasite, drag - least)


def least_drag(configuration: Configuration, mach: TablePoint) -> Floats:
    """Return the smallest drag coefficient over angle of attack at each Mach number."""
    table = configuration.drag
    smallest: Floats = table.values.min(axis=0)
    if isinstance(mach, AxisPoints) and len(smallest) > 1:
        cell, along = mach.place(table, 1)
        low = smallest[cell]
        return np.asarray(low + (smallest[cell + 1] - low) * along)
    mach = mach.values if isinstance(mach, AxisPoints) else mach
    return np.interp(np.asarray(mach, dtype=np.float64), table.axes[1], smallest)


def ground_effect(pack: Pack, height: ArrayLike) -> Floats:
    """Return the factor on drag due to lift with the wheels ``height`` m above the runway.

    Anderson, Introduction to Flight, eq. 6.77: phi = (16 h/b)^2 / (1 + (16 h/b)^2), unless the pack has a
    table.
    """
    share = (np.asarray(height, dtype=np.float64) + pack.airframe.wing_height) / pack.airframe.span
    if pack.aero.ground_effect is not None:
        return pack.aero.ground_effect(share)
    square = (16.0 * share) ** 2
    return square / (1.0 + square)


def ground_lift(pack: Pack, height: ArrayLike) -> Floats | float:
    """Return the factor on lift with the wheels ``height`` m above the runway; 1 where the pack has none."""
    if pack.aero.ground_effect_lift is None:
        return 1.0
    share = (np.asarray(height, dtype=np.float64) + pack.airframe.wing_height) / pack.airframe.span
    return pack.aero.ground_effect_lift(share)


def thrust_per_engine(
    setting: PowerSetting, mach: TablePoint, pressure_altitude: TablePoint, isa_deviation: TablePoint
) -> Floats:
    """Return the net thrust of one engine at this setting, N."""
    thrust = setting.thrust(mach, pressure_altitude)
    if setting.thrust_temperature_factor is not None:
        thrust = thrust * setting.thrust_temperature_factor(isa_deviation)
    return thrust


def case_thrust(
    setting: PowerSetting, mach: Floats, cases: Cases, *, over_cases_first: bool = False
) -> Floats:
    """Return the net thrust of one engine in each case's air, with its thrust factor, N.

    ``mach`` is (n,) or (k, n); with ``over_cases_first`` it is (n, k).
    """
    at = (slice(None), None) if over_cases_first else (slice(None),)
    thrust = thrust_per_engine(setting, mach, cases.pressure_altitude[at], cases.isa_deviation[at])
    return thrust * cases.thrust_factor[at]


def case_thrusts(
    settings: Mapping[str, PowerSetting], mach: Floats, cases: Cases, *, over_cases_first: bool = False
) -> dict[str, Floats]:
    """Return ``case_thrust`` of several settings, by name."""
    at = (slice(None), None) if over_cases_first else (slice(None),)
    where = AxisPoints(mach), AxisPoints(cases.pressure_altitude[at]), AxisPoints(cases.isa_deviation[at])
    factor = cases.thrust_factor[at]
    return {name: thrust_per_engine(setting, *where) * factor for name, setting in settings.items()}


def fuel_flow_per_engine(
    setting: PowerSetting, mach: TablePoint, pressure_altitude: TablePoint, isa_deviation: TablePoint
) -> Floats:
    """Return the fuel flow of one engine at this setting, kg/s."""
    flow = setting.fuel_flow(mach, pressure_altitude)
    if setting.fuel_flow_temperature_factor is not None:
        flow = flow * setting.fuel_flow_temperature_factor(isa_deviation)
    return flow


def asymmetric_drag(
    pack: Pack, yawing_moment: ArrayLike, dynamic_pressure: ArrayLike, *, held_by_wheels: ArrayLike = 0.0
) -> Floats:
    """Return the drag of the rudder and sideslip that hold ``yawing_moment`` N m, in newtons.

    Drag coefficient = factor * Cn^2, up to full rudder. What full rudder does not hold is held by sideslip,
    at so much drag for each Cn, but for the share that the wheels hold, at none that counts.
    """
    control = pack.aero.directional_control
    if control is None or (control.asymmetric_drag_factor == 0.0 and control.sideslip_drag == 0.0):
        return np.zeros(np.broadcast_shapes(np.shape(yawing_moment), np.shape(dynamic_pressure)))
    q_s = np.maximum(np.asarray(dynamic_pressure, dtype=np.float64), 1e-6) * pack.airframe.wing_area
    cn = np.abs(np.asarray(yawing_moment, dtype=np.float64)) / (q_s * pack.airframe.span)
    by_rudder = np.minimum(cn, control.rudder_yawing_moment)
    drag = control.asymmetric_drag_factor * by_rudder**2
    if control.sideslip_drag != 0.0:
        drag = drag + control.sideslip_drag * (cn - by_rudder) * (1.0 - np.asarray(held_by_wheels))
    return drag * q_s


def stall_speed(
    pack: Pack,
    configuration: Configuration,
    weight: ArrayLike,
    density: ArrayLike,
    speed_of_sound: ArrayLike,
) -> Floats:
    """Return the power-off stall speed in level flight, m/s true airspeed, gear down.

    V = sqrt(2 W / (rho S CLmax(M))); CLmax depends on Mach, so V is iterated.
    """
    scale = 2.0 * np.asarray(weight) / (np.asarray(density) * pack.airframe.wing_area)
    gear_lift = pack.aero.gear.lift
    speed = np.sqrt(scale / (configuration.maximum_lift.values[0] + gear_lift))
    for _ in range(STALL_ITERATIONS):
        speed = np.sqrt(scale / (configuration.maximum_lift(speed / speed_of_sound) + gear_lift))
    return speed


STALL_ITERATIONS = 6  # each leaves under a tenth of the error, as CLmax changes slowly with Mach
