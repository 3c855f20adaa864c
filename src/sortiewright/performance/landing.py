"""Approach, touchdown and the landing roll."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY, cas_from_tas
from sortiewright.pack import Configuration, LandingTechnique, Pack
from sortiewright.performance.cases import Cases
from sortiewright.performance.forces import coefficients, stall_speed
from sortiewright.performance.ground_run import RunState
from sortiewright.performance.stopping import StopMeans, stop_from

Floats = NDArray[np.float64]

APPROACH_ITERATIONS = 6


@dataclass(frozen=True, slots=True)
class AirDistance:
    """The pieces of the way from the threshold height to touchdown, m; they broadcast."""

    approach: Floats
    flare: Floats
    flare_radius: Floats
    flare_height: Floats

    @property
    def total(self) -> Floats:
        """Threshold to touchdown in still air."""
        return self.approach + self.flare


@dataclass(frozen=True, slots=True)
class Landing:
    """The landing of each case, (n,). Speeds calibrated m/s, distances m, from the threshold for
    ``total``."""

    stall_cas: Floats
    approach_cas: Floats
    touchdown_cas: Floats
    touchdown_ground_speed: Floats
    air_distance: Floats
    ground_roll: Floats
    total: Floats
    time: Floats
    brake_energy: Floats
    chute_cas: Floats
    sink_rate: Floats


def approach_speed(
    pack: Pack, cases: Cases, configuration: Configuration, angle_of_attack: ArrayLike, glide_angle: ArrayLike
) -> Floats:
    """Return the true airspeed held at ``angle_of_attack`` on a glide path of ``glide_angle`` rad, m/s.

    Lift and thrust are in balance on the path; thrust is what the path needs, T cos(a+iT) = D - W sin(g), so
    no engine table is asked: q S (CL + CD tan(a+iT)) = W (cos g + sin g tan(a+iT)). Gear down, out of ground
    effect.
    """
    tilt = np.tan(np.asarray(angle_of_attack) + pack.airframe.thrust_inclination)
    weight = cases.weight * (np.cos(glide_angle) + np.sin(glide_angle) * tilt)
    speed = np.full(cases.count, 70.0)
    for _ in range(APPROACH_ITERATIONS):
        force = coefficients(
            pack,
            configuration,
            angle_of_attack,
            speed / cases.speed_of_sound,
            drag_index=cases.drag_index,
        )
        carried = force.lift + force.drag() * cases.drag_factor * tilt
        speed = np.sqrt(2.0 * weight / (cases.density * pack.airframe.wing_area * carried))
    return speed


def air_distance(
    speed: ArrayLike, *, threshold_height: ArrayLike, glide_angle: ArrayLike, flare_load_factor: float | None
) -> AirDistance:
    """Return the distance from the threshold height to touchdown in still air, m.

    With a flare: radius V^2/(g (n - 1)), height R (1 - cos g), length R sin g, and the straight part from the
    threshold height to the flare height (Anderson, Aircraft Performance and Design, eqs. 6.106 to 6.109); the
    speed is that of the flare. Without: flown straight onto the runway. If the flare begins above the
    threshold the straight part is negative, as the geometry has it.
    """
    v, height, angle = (np.asarray(a, dtype=np.float64) for a in (speed, threshold_height, glide_angle))
    if flare_load_factor is None:
        radius = np.zeros_like(v)
    else:
        if flare_load_factor <= 1.0:
            raise ValueError(f"flare load factor must be above 1, got {flare_load_factor:g}")
        radius = v**2 / (STANDARD_GRAVITY * (flare_load_factor - 1.0))
    flare_height = radius * (1.0 - np.cos(angle))
    return AirDistance((height - flare_height) / np.tan(angle), radius * np.sin(angle), radius, flare_height)


def land(
    pack: Pack,
    cases: Cases,
    technique: LandingTechnique | None = None,
    *,
    configuration: str | None = None,
    angle_of_attack: float | None = None,
    gust_increment: ArrayLike = 0.0,
    chute: bool | NDArray[np.bool_] = True,
    brakes: bool = True,
) -> Landing:
    """Return the landing of every case by ``technique`` (the pack's where None); ``chute`` may differ by
    case.

    The threshold is crossed at approach speed plus the gust share; speed falls to the touchdown share of it
    on the way down, and the air distance is covered at the mean of the two less the headwind. Then free roll,
    aerodynamic braking, chute and brakes.
    """
    chosen = pack.technique.landing if technique is None else technique
    setting = pack.aero.configurations[configuration or chosen.configuration]
    alpha = chosen.on_speed_angle_of_attack if angle_of_attack is None else angle_of_attack
    on_speed = approach_speed(pack, cases, setting, alpha, chosen.glide_angle)
    gust = chosen.gust_share * np.asarray(gust_increment, dtype=np.float64)
    threshold = on_speed + gust
    touchdown = threshold * chosen.touchdown_speed_share
    ground_speed = np.maximum(touchdown - cases.headwind, 0.0)
    still_air = air_distance(
        threshold,
        threshold_height=chosen.threshold_height,
        glide_angle=chosen.glide_angle,
        flare_load_factor=chosen.flare_load_factor,
    )
    mean = 0.5 * (threshold + touchdown)
    airborne = still_air.total * (mean - cases.headwind) / mean
    means = landing_means(pack, chosen, setting, chute=chute, brakes=brakes)
    zero = np.zeros(cases.count)
    stop = stop_from(pack, cases, None, RunState(zero, zero, ground_speed), means)
    roll = stop.distance
    factor = chosen.distance_factor
    stall = stall_speed(pack, setting, cases.weight, cases.density, cases.speed_of_sound)
    air = cases.air
    sink = np.zeros(cases.count)
    if chosen.flare_load_factor is None:
        sink = touchdown * np.sin(chosen.glide_angle)
    return Landing(
        stall_cas=np.asarray(cas_from_tas(stall, air)),
        approach_cas=np.asarray(cas_from_tas(threshold, air)),
        touchdown_cas=np.asarray(cas_from_tas(touchdown, air)),
        touchdown_ground_speed=ground_speed,
        air_distance=airborne * factor,
        ground_roll=roll * factor,
        total=(airborne + roll) * factor,
        time=stop.time,
        brake_energy=stop.energy,
        chute_cas=np.asarray(cas_from_tas(np.nan_to_num(stop.chute_speed), air)),
        sink_rate=sink,
    )


def landing_means(
    pack: Pack,
    technique: LandingTechnique,
    configuration: Configuration,
    *,
    chute: bool | NDArray[np.bool_] = True,
    brakes: bool = True,
) -> StopMeans:
    """Return what the landing roll by ``technique`` uses; times count from touchdown."""
    uses_chute = bool(np.any(chute)) and pack.wheels.chute is not None
    return StopMeans(
        configuration=configuration,
        brakes_on=technique.free_roll_time,
        chute_commanded=technique.chute_delay if uses_chute else None,
        speedbrake=technique.speedbrake,
        held_angle_of_attack=technique.aerobrake_angle_of_attack,
        held_until_cas=technique.aerobrake_until_cas,
        brakes=brakes,
        chute_opens=chute,
    )
