"""What one engine failing decides: critical field length, minimum control speed, climb gradient."""

from __future__ import annotations

from math import cos, sin, sqrt

from point_mass.aircraft import Aircraft
from point_mass.stopping import reject
from point_mass.takeoff import accelerate, take_off


def critical(one: Aircraft, *, chute: bool) -> tuple[float, float]:
    """Return the critical field length, m, and the critical engine failure speed, m/s calibrated.

    Found by halving: below that speed the stop is shorter, above it the takeoff continued to lift-off.
    """
    low, high = 0.3 * one.rotation(), take_off(one).lift_off_tas - one.day.headwind
    for _ in range(14):
        speed = 0.5 * (low + high)
        event = accelerate(one, speed)
        stops_shorter = reject(one, event, chute=chute).distance < take_off(one, event, event.time).ground_run
        low, high = (speed, high) if stops_shorter else (low, speed)
    length = reject(one, accelerate(one, low), chute=chute).distance
    return length, one.day.cas(low + one.day.headwind)


def minimum_control(one: Aircraft) -> float:
    """Return the true airspeed at which the rudder alone holds full thrust on one side, m/s [4]."""
    control, frame, tas = one.pack.aero.directional_control, one.pack.airframe, 50.0
    if control is None:
        raise ValueError("the pack has no directional control")
    side = one.area * frame.span * control.rudder_yawing_moment
    side -= one.pack.engine.windmilling_drag_area * frame.engine_side_arm
    for _ in range(40):
        moment = one.thrust(one.pack.technique.takeoff.power, tas) * frame.engine_side_arm
        tas = sqrt(2 * moment / side / one.day.density)
    return tas


def single_engine_gradient(one: Aircraft, *, gear: bool) -> float:
    """Return height over distance of the climb on one engine: the book's speed, takeoff flap, no wind."""
    technique, frame = one.pack.technique.takeoff, one.pack.airframe
    name, out = technique.configuration, float(gear)
    tas = technique.single_engine_climb_cas_over_stall * one.stall(name)
    q_s, thrust = one.pressure(tas) * one.area, one.thrust(technique.power, tas)
    failed, alpha, sine = one.failed_drag(thrust, tas), 0.15, 0.0
    for _ in range(60):
        tilt = alpha + frame.thrust_inclination
        carried = one.weight * sqrt(1 - sine**2) - thrust * sin(tilt)
        alpha = one.wings[name].angle_of(carried / q_s - out * one.pack.aero.gear.lift, tas / one.day.sound)
        _, cd = one.coefficients(name, alpha, tas, gear=out)
        sine = (thrust * cos(alpha + frame.thrust_inclination) - q_s * cd - failed) / one.weight
    return sine / sqrt(1 - sine**2)
