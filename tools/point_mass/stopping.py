"""Rejected takeoffs and landings, from an event or touchdown to rest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, inf, sin, tan

from point_mass.air import G, Lookup
from point_mass.aircraft import Aircraft
from point_mass.takeoff import LONGEST, Run, lever_thrust, midpoint


@dataclass(frozen=True)
class Rest:
    """Metres covered, joules into the brakes, seconds."""

    distance: float
    energy: float
    time: float


@dataclass(frozen=True)
class Means:
    """What stops the aircraft; seconds after the event.

    ``held`` is an angle of attack, kept with the brakes off until ``held_until_cas``.
    """

    configuration: str
    brakes_on: float
    chute_at: float | None = None
    speedbrake: float = 0.0
    held: float | None = None
    held_until_cas: float = 0.0


def slow(one: Aircraft, speed: float, means: Means, thrust_at: Callable[[float, float], float]) -> Rest:
    """Return the way from a ground speed to rest; ``thrust_at`` gives all thrust by time and airspeed, N."""
    frame, wheels, day = one.pack.airframe, one.pack.wheels, one.day
    canopy = wheels.chute if means.chute_at is not None else None
    open_at = inf if canopy is None or means.chute_at is None else means.chute_at + canopy.inflation_time
    most = day.tas(canopy.maximum_cas) if canopy is not None else 0.0
    least = day.tas(canopy.least_useful_cas) if canopy is not None else 0.0
    nose_down = inf if means.held is None else day.tas(means.held_until_cas)
    friction = Lookup(wheels.braking_friction)(day.reading)
    most_force = inf if wheels.maximum_brake_force is None else wheels.maximum_brake_force

    def forces(since: float, v: float) -> tuple[float, float]:
        """Return the gain of speed, m/s2, and the brakes' force, N."""
        tas = v + day.headwind
        alpha, brakes_work = frame.static_ground_attitude, since >= means.brakes_on
        if means.held is not None and tas > nose_down:
            alpha, brakes_work = means.held, False
        cl, cd = one.coefficients(means.configuration, alpha, tas, height=0.0, brake=means.speedbrake)
        thrust, tilt, q = thrust_at(since, tas), alpha + frame.thrust_inclination, one.pressure(tas)
        load = max(one.load - q * one.area * cl - thrust * sin(tilt), 0.0)
        main, rolling, brakes = load * (1 - wheels.nose_load_share), wheels.rolling_friction * load, 0.0
        if brakes_work:
            brakes = min(friction * main, most_force)
            rolling -= wheels.rolling_friction * main  # a braked wheel does not roll freely
        drag = q * one.area * cd
        if canopy is not None and since >= open_at and least <= tas <= most:
            drag += q * canopy.drag_area
        return (thrust * cos(tilt) - drag - rolling - brakes - one.pull) / one.mass, brakes

    run, energy = Run(0.0, 0.0, speed), 0.0
    while run.speed > 0:
        new = midpoint(lambda time, v: forces(time, v)[0], run)
        if new.time > 4 * LONGEST:
            return Rest(inf, inf, inf)
        brakes = 0.5 * (forces(run.time, run.speed)[1] + forces(new.time, new.speed)[1])
        energy += brakes * (new.distance - run.distance)
        run = new
    return Rest(run.distance, energy, run.time)


def reject(one: Aircraft, event: Run, *, chute: bool) -> Rest:
    """Return the stop from an event in the takeoff run, all engines turning; distance from release."""
    technique = one.pack.technique.takeoff
    rejected = technique.rejected
    closed = event.time + rejected.recognition

    def thrust(since: float, tas: float) -> float:
        return one.count * lever_thrust(one, event.time + since, tas, closed_at=closed)

    chute_at = rejected.chute_commanded if chute else None
    means = Means(technique.configuration, rejected.brakes_on, chute_at)
    rest = slow(one, event.speed, means, thrust)
    return Rest(event.distance + rest.distance, rest.energy, event.time + rest.time)


def land(one: Aircraft, *, chute: bool) -> tuple[float, Rest]:
    """Return the distance from the threshold height to touchdown, m, and the roll."""
    technique, day = one.pack.technique.landing, one.day
    threshold = one.approach()[0]
    touchdown, path, radius = threshold * technique.touchdown_speed_share, technique.glide_angle, 0.0
    if technique.flare_load_factor is not None:
        radius = threshold**2 / (G * (technique.flare_load_factor - 1))  # [3]
    still = (technique.threshold_height - radius * (1 - cos(path))) / tan(path) + radius * sin(path)
    mean = 0.5 * (threshold + touchdown)
    means = Means(
        technique.configuration,
        technique.free_roll_time,
        technique.chute_delay if chute else None,
        float(technique.speedbrake),
        technique.aerobrake_angle_of_attack,
        technique.aerobrake_until_cas or 0.0,
    )
    idle = one.pack.engine.idle
    roll = slow(one, touchdown - day.headwind, means, lambda _, tas: one.count * one.thrust(idle, tas))
    return still * (mean - day.headwind) / mean, roll
