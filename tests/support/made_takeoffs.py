"""Takeoff runs made with known factors, for calibration: the reference aeroplane's forces, integrated here.

Nothing of the program's own physics is in them; noise, and errors of what a recording says of weight and
wind, are drawn from what an observation states of itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np
from reference_takeoff import Aeroplane, G
from scipy.integrate import solve_ivp

from sortiewright.air import Air
from sortiewright.recording.calibration_noise import straight_line
from sortiewright.recording.calibration_runs import RunObservation
from sortiewright.recording.comparison_flown import Known, PitchRamp

AIR = Air(np.array(96_100.0), np.array(293.15))


@dataclass(frozen=True)
class Truth:
    """What the aeroplane really does."""

    thrust: float = 1.0
    drag: float = 1.0
    friction: float = 1.0
    pitch_rate: float = 1.0


@dataclass(frozen=True)
class Scatter:
    """How observations err: white and lasting noise of ground speed, m/s, and of the pitch angle, rad."""

    white: float = 0.3
    lasting: float = 0.0
    lasts: float = 2.0
    pitch: float = radians(0.3)
    mass: float = 0.003
    wind: float = 0.25


def speed_history(pack, mass, truth, *, power="maximum", headwind=0.0, seconds=16.0, start=12.0, rate=20.0):
    """Return times and true ground speeds of a run in the three-point attitude at settled thrust."""
    plane = Aeroplane(pack, mass, AIR, headwind)
    technique, frame = pack.technique.takeoff, pack.airframe
    polar = plane.polar(pack.aero.configurations[technique.configuration])
    alpha = frame.static_ground_attitude
    tilt = alpha + frame.thrust_inclination
    effect = plane.ground_effect(0.0)
    speeds = np.linspace(5.0, 110.0, 70)

    def force(v):
        tas = v + headwind
        pressure = 0.5 * plane.density * tas**2 * frame.wing_area
        lift, least, induced = polar(alpha, tas)
        gear = pack.aero.gear
        drag = pressure * (least + gear.drag + effect * induced) * truth.drag
        thrust = truth.thrust * pack.engine.count * plane.thrust_of[power](tas)
        normal = max(mass * G - pressure * (lift + gear.lift) - thrust * sin(tilt), 0.0)
        return thrust * cos(tilt) - drag - pack.wheels.rolling_friction * truth.friction * normal

    table = np.array([force(v) for v in speeds]) / mass
    time = np.arange(0.0, seconds, 1.0 / rate)
    found = solve_ivp(
        lambda _, v: np.interp(v, speeds, table), (0.0, seconds), [start], t_eval=time, rtol=1e-8, atol=1e-8
    )
    return time, found.y[0]


def observed(time, speed, mass, truth, planned_rate, random, scatter=None, *, headwind=0.0, arm=8.15):
    """Return what a recording would say of a run: samples with noise, weight and wind with an error."""
    scatter = scatter or Scatter()
    noise = scatter.white * random.standard_normal(len(time))
    if scatter.lasting:
        noise = noise + scatter.lasting * lasting(time, scatter.lasts, random)
    said_mass = mass / (1.0 + scatter.mass * random.standard_normal())
    said_wind = headwind + scatter.wind * random.standard_normal()
    return RunObservation(
        "made.csv",
        time,
        speed + noise,
        Known(said_mass, scatter.mass * said_mass, "made"),
        Known(said_wind, scatter.wind, "made"),
        float(AIR.pressure),
        float(AIR.temperature),
        arm,
        ramp=rotation(truth.pitch_rate * planned_rate, random, scatter.pitch),
        planned_pitch_rate=planned_rate,
    )


ROTATED_TO = radians(8.0)


def rotation(rate, random, sigma, *, step=0.05):
    """Return the line through a noisy rotation at ``rate``."""
    time = np.arange(0.0, ROTATED_TO / rate, step)
    line = straight_line(time, rate * time + sigma * random.standard_normal(len(time)))
    return PitchRamp(0.0, line.slope, line.slope_sigma, len(time))


def lasting(time, lasts, random):
    """Return noise of standard deviation 1 whose correlation falls with exp(-dt/lasts)."""
    kept = np.exp(-np.diff(time, prepend=time[0]) / lasts)
    values = np.empty(len(time))
    value = random.standard_normal()
    for k, share in enumerate(kept):
        value = share * value + np.sqrt(1.0 - share**2) * random.standard_normal()
        values[k] = value
    return values


def renamed(observation, name):
    """Return an observation under another name."""
    return replace(observation, name=name)
