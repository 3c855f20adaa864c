"""The supersonic interceptor of tests/data/external_checks/min_time_climb.json as a pack.

The file names its source: the OpenMDAO dymos documentation, after Bryson, Dynamic Optimization (1999). Its
altitudes are geometric, those of a pack pressure altitudes, which are geopotential.
"""

from __future__ import annotations

import json
from functools import cache

import numpy as np
from aeroplanes import make_pack
from external_checks import FOLDER

from sortiewright.air import geopotential_altitude
from sortiewright.pack import Configuration, Pack, PowerSetting, make_table

DATA = json.loads((FOLDER / "min_time_climb.json").read_text(encoding="utf-8"))
FOOT = 0.3048
POUND_FORCE = DATA["constants"]["lbf_to_N"]
START_MASS = DATA["constants"]["m0_kg"]


def zero_lift_drag(mach):
    low = np.minimum(mach, 1.15)
    return 0.013 + 0.0144 * (1 + np.tanh((low - 0.98) / 0.06)) - 0.011 * np.maximum(mach - 1.15, 0)


def lift_slope(mach):
    low = np.minimum(mach, 1.15)
    return 3.44 + 1 / np.cosh((low - 1) / 0.06) ** 2 - 0.96 / 0.63 * np.maximum(mach - 1.15, 0)


def lift_drag_factor(mach):
    low = np.minimum(mach, 1.15)
    return 0.54 + 0.15 * (1 + np.tanh((low - 0.9) / 0.06)) + 0.14 * np.maximum(mach - 1.15, 0)


@cache
def interceptor(angle_step_deg: float = 0.5) -> Pack:
    """Return the pack; the drag of its parabola is off by 1 % of that due to lift at 0.5 deg steps, and by
    a few hundredths at 0.1 deg."""
    alpha = np.radians(np.arange(-8.0, 16.0 + 1e-9, angle_step_deg))
    mach = np.round(np.arange(0.0, 1.8 + 1e-9, 0.02), 2)
    slope = lift_slope(mach)
    aero = {"angle_of_attack": alpha, "mach": mach}
    lift = slope * alpha[:, None]
    drag = zero_lift_drag(mach) + lift_drag_factor(mach) * slope * alpha[:, None] ** 2
    configuration = Configuration(
        lift=make_table("lift", aero, lift),
        drag=make_table("drag", aero, drag),
        maximum_lift=make_table("maximum_lift", {"mach": mach}, lift[-1]),
    )
    rows = DATA["thrust_table"]["rows"]
    engine = {
        "mach": DATA["thrust_table"]["mach"],
        "pressure_altitude": geopotential_altitude([row["altitude_ft"] * FOOT for row in rows]),
    }
    thrust = np.array([row["thrust_lbf"] for row in rows]).T * POUND_FORCE
    # No thrust burns nothing: the last row of the source's table is negative at low Mach number.
    flow = np.maximum(thrust, 0.0) / (9.80665 * DATA["constants"]["Isp_s"])
    setting = PowerSetting(
        thrust=make_table("thrust", engine, thrust), fuel_flow=make_table("fuel_flow", engine, flow)
    )
    plain = make_pack(
        wing_area=DATA["constants"]["S_m2"],
        lift=lambda a: a,
        drag=lambda a: 0.01,
        maximum_lift=1.0,
        thrust=0.0,
        engines=1,
    )
    return plain.model_copy(
        update={
            "aero": plain.aero.model_copy(update={"configurations": {"only": configuration}}),
            "engine": plain.engine.model_copy(
                update={"settings": {"idle": plain.engine.settings["idle"], "military": setting}}
            ),
        }
    )
