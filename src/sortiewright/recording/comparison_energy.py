"""What the brakes took in a roll: kinetic energy lost while they were used, less what else took it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, Air
from sortiewright.pack import Configuration, Pack
from sortiewright.performance import coefficients, ground_effect, thrust_per_engine
from sortiewright.recording.comparison_conditions import Met
from sortiewright.recording.recording import Recording

Floats = NDArray[np.float64]
Weights = Callable[[Floats], dict[str, Floats]]
"""Seconds on the recording's clock (k,) -> weights of all engines' thrust by power setting."""

BRAKED = 0.05  # share of full from which a brake counts as used


@dataclass(frozen=True)
class Roll:
    """A roll with brakes. ``time`` s on the recording's clock, ``speed`` over the ground m/s; (k,)."""

    time: Floats
    speed: Floats
    met: Met
    configuration: Configuration
    chute_opens: float
    """s on the clock; inf where no chute did."""
    power: Weights


def idle_power(pack: Pack) -> Weights:
    """Return the weights of all engines at idle."""
    return lambda time: {pack.engine.idle: np.full_like(time, pack.engine.count)}


def samples_between(recording: Recording, begin: float, end: float) -> tuple[Floats, Floats] | None:
    """Return times and ground speeds of a stretch, its ends interpolated; None where it has a gap."""
    speed = recording.number("ground_speed")
    good = np.isfinite(speed)
    breaks = recording.time[recording.breaks]
    if not good.any() or bool(((breaks > begin) & (breaks <= end)).any()) or end <= begin:
        return None
    between = recording.time[(recording.time > begin) & (recording.time < end) & good]
    time = np.concatenate([[begin], between, [end]])
    return time, np.interp(time, recording.time[good], speed[good])


def distance_between(recording: Recording, begin: float, end: float) -> float | None:
    """Return the distance rolled or flown over the ground, m; None where there is a gap in it."""
    samples = samples_between(recording, begin, end)
    if samples is None:
        return None
    time, speed = samples
    return float(np.sum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time)))


def brakes_used(recording: Recording) -> Floats | None:
    """Return the larger brake of both at each sample, 0 to 1; None where none is recorded."""
    brakes = [recording.number(name) for name in ("brake_left", "brake_right") if recording.has(name)]
    return np.fmax.reduce(brakes) if brakes else None


def brake_energy(recording: Recording, roll: Roll, pack: Pack, brakes_on: float | None) -> float | None:
    """Return what the brakes took, J; None where neither they nor when they came on are recorded.

    Raises ``OutsideTable`` where the pack does not tell what else slowed the aircraft.
    """
    brakes, time, speed = brakes_used(recording), roll.time, roll.speed
    if brakes is not None:
        braked = np.interp(time, recording.time, np.where(brakes > BRAKED, 1.0, 0.0)) > 0.5
    elif brakes_on is not None:
        braked = time >= brakes_on
    else:
        return None
    other = _other_force(roll, pack, braked)
    lost = 0.5 * roll.met.mass.value * (speed[:-1] ** 2 - speed[1:] ** 2)
    work = 0.5 * (other[1:] + other[:-1]) * 0.5 * (speed[1:] + speed[:-1]) * np.diff(time)
    whole = braked[1:] & braked[:-1]
    return max(float(np.sum((lost - work)[whole])), 0.0)


def _other_force(roll: Roll, pack: Pack, braked: NDArray[np.bool_]) -> Floats:
    """Return the force against the motion that is not the brakes', N: nose down.

    As in the plan, what holds a braked wheel is all the brakes': it does not roll freely besides.
    """
    met, frame = roll.met, pack.airframe
    air = Air(met.pressure.value, met.temperature.value)
    tas = np.maximum(roll.speed + met.headwind.value, 0.0)
    mach = tas / float(air.speed_of_sound)
    force = coefficients(pack, roll.configuration, frame.static_ground_attitude, mach)
    pressure = 0.5 * float(air.density) * tas**2
    drag = pressure * frame.wing_area * force.drag(ground_effect(pack, 0.0))
    lift = pressure * frame.wing_area * force.lift
    thrust = np.zeros_like(tas)
    for name, weight in roll.power(roll.time).items():
        setting = pack.engine.settings[name]
        each = thrust_per_engine(setting, mach, float(air.pressure_altitude), float(air.isa_deviation))
        thrust = thrust + weight * each
    free = np.where(braked, pack.wheels.nose_load_share, 1.0)
    normal = np.maximum(met.mass.value * STANDARD_GRAVITY - lift, 0.0)
    rolling = pack.wheels.rolling_friction * free * normal
    area = pack.wheels.chute.drag_area if pack.wheels.chute is not None else 0.0
    chute = np.where(roll.time >= roll.chute_opens, area * pressure, 0.0)
    return drag + rolling + chute - thrust
