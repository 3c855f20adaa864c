"""How strongly a model's controls turn it, measured before the flight so that no gain is one aircraft's."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sortiewright.pack_sampling import POUNDS_A_SQUARE_FOOT, FlightModel

PROBE = 0.25  # share of travel either way
SETTLED = 0.8  # s for surfaces to follow
SPEED_OF_SOUND = 340.3  # m/s, sea level, ISO 2533
USUAL = {"pitch": 0.3, "roll": 0.05, "yaw": 0.05}
"""Moment coefficients of full control where a model's own cannot be measured, roughly."""
LEAST_OF_USUAL, MOST_OF_USUAL = 0.15, 6.0


@dataclass(frozen=True)
class ControlPowers:
    """Angular acceleration of full control over dynamic pressure, rad/s2 per Pa, and which way a command
    goes: +1 where a positive one turns nose up, right wing down, nose right."""

    pitch: float
    roll: float
    yaw: float
    pitch_sign: float
    roll_sign: float
    yaw_sign: float
    chord: float
    """Mean chord, m: larger aircraft are flown more slowly."""


_AXES = {
    # axis: command, moment, inertia, length of its coefficient, sign that the library's command has
    "pitch": ("elevator", "m", "iyy", "metrics/cbarw-ft", -1.0),
    "roll": ("aileron", "l", "ixx", "metrics/bw-ft", 1.0),
    "yaw": ("rudder", "n", "izz", "metrics/bw-ft", -1.0),
}


def measure_control_powers(model: FlightModel, cas: float) -> ControlPowers:
    """Return the powers at a speed, m/s, held still in the air near the ground."""
    found: dict[str, tuple[float, float]] = {}
    for axis, (surface, letter, inertia, length, sign) in _AXES.items():
        command, moment = f"fcs/{surface}-cmd-norm", f"moments/{letter}-aero-lbsft"
        values: list[float] = []
        for probe in (-PROBE, PROBE):
            model.place(mach=cas / SPEED_OF_SOUND, altitude=1000.0, alpha_deg=4.0)
            model.command(command, probe)
            model.run(SETTLED)
            values.append(model.read(moment))
        model.command(command, 0.0)
        pressure = max(model.read("aero/qbar-psf"), 0.1)
        lever = pressure * model.read("metrics/Sw-sqft") * model.read(length)
        coefficient = (values[1] - values[0]) / (2.0 * PROBE * lever)
        usual = USUAL[axis]
        if not math.isfinite(coefficient) or abs(coefficient) < LEAST_OF_USUAL * usual:
            coefficient = sign * usual
        strength = min(abs(coefficient), MOST_OF_USUAL * usual)
        acceleration = strength * lever / max(model.read(f"inertia/{inertia}-slugs_ft2"), 1.0)
        found[axis] = acceleration / (pressure * POUNDS_A_SQUARE_FOOT), math.copysign(1.0, coefficient)
    return ControlPowers(
        *(found[axis][0] for axis in _AXES),
        *(found[axis][1] for axis in _AXES),
        chord=max(model.read("metrics/cbarw-ft") * 0.3048, 0.5),
    )
