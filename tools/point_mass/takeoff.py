"""The takeoff run, rotation, lift-off and the climb to the screen, step by step."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import atan, cos, inf, isfinite, nan, sin

from point_mass.air import G
from point_mass.aircraft import Aircraft

STEP = 0.02  # s
LONGEST = 150.0  # s


@dataclass(frozen=True)
class Run:
    """Seconds and metres since release, ground speed m/s."""

    time: float = 0.0
    distance: float = 0.0
    speed: float = 0.0


@dataclass(frozen=True)
class Flight:
    """Lift-off and the screen: metres from release (inf: never), seconds, true airspeed m/s."""

    ground_run: float = inf
    lift_off_time: float = nan
    lift_off_tas: float = nan
    to_screen: float = inf


def share(time: float, start: float, duration: float) -> float:
    """Return 0 before ``start``, 1 after ``duration`` more, and evenly between."""
    if time <= start:
        return 0.0
    return 1.0 if time >= start + duration else (time - start) / duration


def midpoint(gain: Callable[[float, float], float], run: Run) -> Run:
    """Return the run one step on, by the midpoint rule; a standing aircraft is not pushed back."""
    half = run.speed + 0.5 * STEP * gain(run.time, run.speed)
    speed = run.speed + STEP * gain(run.time + 0.5 * STEP, max(half, 0.0))
    if speed < 0:
        part = run.speed / (run.speed - speed) if run.speed > 0 else 1.0
        return Run(run.time + part * STEP, run.distance + 0.5 * run.speed * part * STEP, 0.0)
    return Run(run.time + STEP, run.distance + 0.5 * (run.speed + speed) * STEP, speed)


def between(start: Run, end: Run, part: float) -> Run:
    """Return the state a part of the way through a step."""
    return Run(
        start.time + part * (end.time - start.time),
        start.distance + part * (end.distance - start.distance),
        start.speed + part * (end.speed - start.speed),
    )


@cache
def spool_time(one: Aircraft) -> float:
    """Return the seconds from release power to military, or to takeoff power without afterburner."""
    engine, technique = one.pack.engine, one.pack.technique.takeoff
    dry = engine.military if engine.settings[technique.power].augmented else technique.power
    begin = one.thrust(technique.release_power or engine.idle, 0.0)
    step = one.thrust(engine.military, 0.0) - one.thrust(engine.idle, 0.0)
    return engine.transients.idle_to_military * max(one.thrust(dry, 0.0) - begin, 0.0) / step


def lever_thrust(one: Aircraft, time: float, tas: float, *, closed_at: float = inf) -> float:
    """Return the thrust of one engine, N: takeoff power from release, levers closed at ``closed_at``."""
    engine, technique = one.pack.engine, one.pack.technique.takeoff
    times, augmented, spool = engine.transients, engine.settings[technique.power].augmented, spool_time(one)
    then = min(time, closed_at)
    spun = share(then, 0.0, spool)
    thrust = dry = one.thrust(engine.military if augmented else technique.power, tas)
    if spun < 1:
        thrust = spun * dry + (1 - spun) * one.thrust(technique.release_power or engine.idle, tas)
    left = 1 - share(time, closed_at, times.military_to_idle)
    lit = share(then, spool + times.light_delay, times.light_to_full) if augmented else 0.0
    burner = 0.0
    if lit > 0:
        burning = min(1 - share(time, closed_at, times.cancel_augmentation), left)
        burner = lit * burning * (one.thrust(technique.power, tas) - dry)
    if left >= 1:
        return thrust + burner
    return left * thrust + burner + (1 - left) * one.thrust(engine.idle, tas)


def all_thrust(one: Aircraft, time: float, tas: float, failed_at: float) -> tuple[float, float]:
    """Return the thrust of all engines and the drag of one that failed, N."""
    each = lever_thrust(one, time, tas)
    if time <= failed_at:
        return one.count * each, 0.0
    dead = share(time, failed_at, one.pack.engine.transients.failure_decay)
    return (one.count - dead) * each, one.failed_drag(dead * each, tas)


def accelerate(one: Aircraft, to_speed: float, start: Run | None = None, failed_at: float = inf) -> Run:
    """Return the run on three wheels to a ground speed; an infinite time if it is never reached."""
    name, friction = one.pack.technique.takeoff.configuration, one.pack.wheels.rolling_friction
    alpha, wind = one.pack.airframe.static_ground_attitude, one.day.headwind
    tilt = alpha + one.pack.airframe.thrust_inclination

    def gain(time: float, speed: float) -> float:
        tas = speed + wind
        thrust, failed = all_thrust(one, time, tas, failed_at)
        cl, cd = one.coefficients(name, alpha, tas, height=0.0)
        q_s = one.pressure(tas) * one.area
        wheels = max(one.load - q_s * cl - thrust * sin(tilt), 0.0)
        drag = q_s * cd if tas >= 0 else -q_s * cd
        return (thrust * cos(tilt) - drag - failed - friction * wheels - one.pull) / one.mass

    run = Run() if start is None else start
    while run.speed < to_speed:
        new = midpoint(gain, run)
        if new.time > LONGEST or (new.speed <= run.speed and new.time > 20):
            return Run(inf, inf, to_speed)
        if new.speed >= to_speed:
            return between(run, new, (to_speed - run.speed) / (new.speed - run.speed))
        run = new
    return run


def speed_at(one: Aircraft, distance: float) -> float:
    """Return the true airspeed of the run on three wheels at a distance from release, m/s."""
    low, high = 0.0, one.rotation() - one.day.headwind
    for _ in range(20):
        speed = 0.5 * (low + high)
        low, high = (speed, high) if accelerate(one, speed).distance < distance else (low, speed)
    return low + one.day.headwind


def take_off(one: Aircraft, start: Run | None = None, failed_at: float = inf) -> Flight:
    """Return lift-off and the screen, from release, or from ``start`` with an engine failed."""
    wind = one.day.headwind
    run = accelerate(one, one.rotation() - wind, start, failed_at)
    if not isfinite(run.time):
        return Flight()
    technique, friction, began = one.pack.technique.takeoff, one.pack.wheels.rolling_friction, run.time
    static = one.pack.airframe.static_ground_attitude

    def attitude(time: float) -> float:
        return min(static + technique.pitch_rate * (time - began), technique.takeoff_attitude)

    def forces(time: float, speed: float) -> tuple[float, float]:
        """Return the load on the wheels, N, and the gain of speed, m/s2."""
        tas, alpha = speed + wind, attitude(time)
        thrust, failed = all_thrust(one, time, tas, failed_at)
        cl, cd = one.coefficients(technique.configuration, alpha, tas, height=0.0)
        q_s, tilt = one.pressure(tas) * one.area, alpha + one.pack.airframe.thrust_inclination
        wheels = one.load - q_s * cl - thrust * sin(tilt)
        net = thrust * cos(tilt) - q_s * cd - failed - friction * max(wheels, 0.0) - one.pull
        return wheels, net / one.mass

    load = forces(run.time, run.speed)[0]
    while load > 0:
        new = midpoint(lambda time, speed: forces(time, speed)[1], run)
        after = forces(new.time, new.speed)[0]
        if new.speed <= run.speed or new.time > LONGEST:
            return Flight()
        run, load = (new, after) if after > 0 else (between(run, new, load / (load - after)), after)
    screen = climb_to_screen(one, run, attitude, failed_at)
    return Flight(run.distance, run.time, run.speed + wind, screen)


def climb_to_screen(
    one: Aircraft, lift_off: Run, attitude: Callable[[float], float], failed_at: float
) -> float:
    """Return the distance from release to the screen, m: pitch held, gear coming up [3]; inf if never."""
    frame, technique, gear = one.pack.airframe, one.pack.technique.takeoff, one.pack.aero.gear
    slope, wind, rises = atan(one.day.slope), one.day.headwind, lift_off.time + technique.gear_up_delay
    time, x, height, tas, path = lift_off.time, lift_off.distance, 0.0, lift_off.speed + wind, 0.0
    while time < LONGEST and height > -0.3:
        alpha = attitude(time) - path
        out = 1 - share(time, rises, gear.travel_time)
        thrust, failed = all_thrust(one, time, tas, failed_at)
        cl, cd = one.coefficients(technique.configuration, alpha, tas, height=max(height, 0.0), gear=out)
        q_s, tilt = one.pressure(tas) * one.area, alpha + frame.thrust_inclination
        gained = (thrust * cos(tilt) - q_s * cd - failed) / one.mass - G * sin(path + slope)
        turned = ((q_s * cl + thrust * sin(tilt)) / one.mass - G * cos(path + slope)) / tas
        # Distances with speed and path half a step on, so that the step is centred.
        middle, centre = tas + 0.5 * STEP * gained, path + 0.5 * STEP * turned
        rise, along = middle * sin(centre) * STEP, (middle * cos(centre) - wind) * STEP
        if height + rise >= technique.screen_height:
            return x + along * (technique.screen_height - height) / rise
        time, height, x = time + STEP, height + rise, x + along
        tas, path = tas + STEP * gained, path + STEP * turned
    return inf
