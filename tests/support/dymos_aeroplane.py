"""The aeroplane of the OpenMDAO dymos documentation's balanced-field example, checks X-E01 to X-E07, as a
pack.

Lift linear in angle of attack from 0.5 to 2.0 over 10 deg, drag 0.03 + K(h) CL^2 with the source's own ground
effect, constant thrust, braking friction 0.3, rolling friction 0.03, no delay between failure and brakes.
"""

from __future__ import annotations

import numpy as np
from aeroplanes import make_pack
from external_checks import check, value

from sortiewright.air import Air
from sortiewright.pack import RejectedTakeoff, TakeoffTechnique, make_table
from sortiewright.performance import make_cases

KNOT = 1852.0 / 3600.0
POUND, FOOT = 0.45359237, 0.3048
POUND_FORCE = POUND * 9.80665
SOURCE = check("X-E01")
SPAN, WING_HEIGHT = value(SOURCE, "span"), value(SOURCE, "wing_height")
DRAG_DUE_TO_LIFT = 1.0 / (np.pi * value(SOURCE, "AR") * value(SOURCE, "e"))


def lift_coefficient(alpha):
    ground, most = value(SOURCE, "CL0_ground"), value(SOURCE, "CLmax")
    return ground + (most - ground) * np.degrees(alpha) / value(SOURCE, "alpha_max")


def technique(pitch_rate_deg=1.5):
    """Return the takeoff: rotation at 1.2 times the stalling speed, 35 ft."""
    return TakeoffTechnique(
        configuration="only",
        power="military",
        release_power="military",
        rotation_speed_over_stall=1.2,
        pitch_rate=np.radians(pitch_rate_deg),
        takeoff_attitude=np.radians(value(SOURCE, "alpha_max")),
        engine_out_reaction=0.0,
        screen_height=35.0 * FOOT,
        rejected=RejectedTakeoff(recognition=0.0, brakes_on=0.0),
    )


def dymos_pack():
    height_over_span = np.geomspace(0.01, 30.0, 600)
    x = 2.0 * height_over_span
    return make_pack(
        wing_area=value(SOURCE, "S"),
        lift=lift_coefficient,
        drag=lambda alpha: value(SOURCE, "CD0") + DRAG_DUE_TO_LIFT * lift_coefficient(alpha) ** 2,
        maximum_lift=value(SOURCE, "CLmax"),
        thrust=value(SOURCE, "thrust_one_engine", POUND_FORCE),
        span=SPAN,
        wing_height=WING_HEIGHT,
        ground_effect=make_table(
            "ground_effect", {"height_over_span": height_over_span}, 33.0 * x**1.5 / (1.0 + 33.0 * x**1.5)
        ),
        # From no lift at all, where the table's drag is the source's CD0, so that the rest is due to lift.
        alphas=np.radians(np.arange(-10.0 / 3.0, 30.1, 1.0 / 3.0)),
        braking_friction=value(SOURCE, "mu_brake"),
        rolling_friction=value(SOURCE, "mu_roll"),
        takeoff=technique(),
    )


def dymos_cases():
    """Return the day: sea level, standard, no wind."""
    return make_cases(value(SOURCE, "mass", POUND), 11.0, Air(101325.0, 288.15))
