"""Column names whose meaning is certain: our own channels, and properties of an open flight-dynamics library.

The property names and their units are those of JSBSim (its reference manual and ``query_property_catalog``);
a person who logs them writes them as column heads unchanged.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sortiewright.pack import CHANNELS

_SIDES = {"0": "_left", "1": "_right"}
_LEGS = {"0": "nose", "1": "left", "2": "right"}


@dataclass(frozen=True, slots=True)
class Known:
    """What a column is: a channel, or ``time``, ``wind_north``, ``wind_east``, or ``""``: nothing we use."""

    channel: str
    unit: str = ""
    invert: bool = False
    zero_on_wheels: bool = False
    full_from: str = ""
    """A column that has the same position as a share of full travel once it has settled there."""
    note: str = ""


# The elevator is negative nose up and the rudder positive nose left. Engine, wheel and tank numbers begin at
# 0; by custom 0 is the left engine, and the contacts are nose, left main, right main.
_PROPERTIES: tuple[tuple[str, Known], ...] = (
    (r"(?:simulation/sim-time-sec|Time)", Known("time", "s")),
    (r"position/lat-(?:geod|gc)-deg", Known("latitude_deg", "deg")),
    (r"position/lat-(?:geod|gc)-rad", Known("latitude_deg", "rad")),
    (r"position/long-gc-deg", Known("longitude_deg", "deg")),
    (r"position/long-gc-rad", Known("longitude_deg", "rad")),
    (r"position/h-sl-ft", Known("altitude", "ft")),
    (r"position/h-sl-meters", Known("altitude", "m")),
    (r"position/h-agl-ft", Known("height_above_ground", "ft", zero_on_wheels=True,
                                 note="that of the centre of gravity, so less what it reads on the wheels")),
    (r"attitude/(?:theta|pitch)-rad", Known("pitch", "rad")),
    (r"attitude/(?:theta-deg)", Known("pitch", "deg")),
    (r"attitude/(?:phi|roll)-rad", Known("bank", "rad")),
    (r"attitude/(?:phi-deg)", Known("bank", "deg")),
    (r"attitude/(?:psi-deg)", Known("true_heading_deg", "deg")),
    (r"attitude/(?:psi-rad|heading-true-rad)", Known("true_heading_deg", "rad")),
    (r"aero/alpha-deg", Known("angle_of_attack", "deg")),
    (r"aero/alpha-rad", Known("angle_of_attack", "rad")),
    (r"aero/beta-deg", Known("sideslip", "deg")),
    (r"aero/beta-rad", Known("sideslip", "rad")),
    (r"velocities/vc-kts", Known("calibrated_airspeed", "kt")),
    (r"velocities/vc-fps", Known("calibrated_airspeed", "ft/s")),
    (r"velocities/vtrue-kts", Known("true_airspeed", "kt")),
    (r"velocities/(?:vt|vtrue)-fps", Known("true_airspeed", "ft/s")),
    (r"velocities/vg-fps", Known("ground_speed", "ft/s")),
    (r"velocities/mach", Known("mach_number")),
    (r"velocities/h-dot-fps", Known("vertical_speed", "ft/s")),
    (r"velocities/p-rad_sec", Known("roll_rate", "rad/s")),
    (r"velocities/q-rad_sec", Known("pitch_rate", "rad/s")),
    (r"velocities/r-rad_sec", Known("yaw_rate", "rad/s")),
    (r"accelerations/Nx", Known("load_factor_longitudinal")),
    (r"accelerations/Ny", Known("load_factor_lateral")),
    (r"accelerations/Nz", Known("load_factor_normal")),
    (r"flight-path/psi-gt-rad", Known("track_deg", "rad")),
    (r"propulsion/engine\[(?P<side>[01])\]/n1", Known("fan_speed{side}", "%")),
    (r"propulsion/engine\[(?P<side>[01])\]/n2", Known("engine_speed{side}", "%")),
    (r"propulsion/engine\[(?P<side>[01])\]/fuel-flow-rate-pps", Known("fuel_flow{side}", "lb/s")),
    (r"propulsion/engine\[(?P<side>[01])\]/egt-degF", Known("exhaust_temperature{side}", "degF")),
    (r"propulsion/engine\[(?P<side>[01])\]/oil-pressure-psi", Known("oil_pressure{side}", "psi")),
    (r"propulsion/engine\[(?P<side>[01])\]/nozzle-pos-norm", Known("nozzle_position{side}")),
    (r"propulsion/engine\[(?P<side>[01])\]/set-running", Known("engine_running{side}")),
    (r"fcs/throttle-cmd-norm\[(?P<side>[01])\]", Known("throttle{side}")),
    (r"fcs/throttle-cmd-norm", Known("throttle_left", note="the first engine's has no number")),
    (r"fcs/throttle-pos-norm(?:\[[01]\])?", Known("")),
    (r"ab-flag\[(?P<side>[01])\]", Known("afterburner_stage{side}")),
    (r"propulsion/total-fuel-lbs", Known("fuel_mass", "lb")),
    (r"inertia/weight-lbs", Known("gross_mass", "lb")),
    (r"gear/gear-pos-norm", Known("gear_position")),
    (r"gear/gear-cmd-norm", Known("")),
    (r"fcs/flap-pos-norm", Known("flap_position")),
    (r"fcs/flap-pos-deg", Known("flap_position", "deg", full_from="fcs/flap-cmd-norm")),
    (r"fcs/flap-cmd-norm", Known("")),
    (r"fcs/speedbrake-pos-norm", Known("speedbrake_position")),
    (r"gear/tailhook-pos-norm", Known("hook_position")),
    (r"gear/unit\[(?P<leg>[012])\]/WOW", Known("weight_on_wheels_{leg}")),
    (r"gear/unit\[(?P<leg>[12])\]/wheel-speed-fps", Known("wheel_speed_{leg}", "ft/s")),
    (r"fcs/(?P<hand>left|right)-brake-cmd-norm", Known("brake_{hand}")),
    (r"fcs/elevator-cmd-norm", Known("stick_pitch", invert=True)),
    (r"fcs/aileron-cmd-norm", Known("stick_roll")),
    (r"fcs/rudder-cmd-norm", Known("pedals", invert=True)),
    (r"fcs/elevator-pos-rad", Known("tailplane_angle", "rad", invert=True)),
    (r"fcs/rudder-pos-rad", Known("rudder_angle", "rad", invert=True)),
    (r"(?:fcs|aero|gear)/.*-(?:pos|cmd)-(?:norm|deg)", Known("")),
    (r"atmosphere/T-R", Known("outside_air_temperature", "degR")),
    (r"atmosphere/pressure-altitude", Known("pressure_altitude", "ft")),
    (r"atmosphere/total-wind-north-fps", Known("wind_north", "ft/s")),
    (r"atmosphere/total-wind-east-fps", Known("wind_east", "ft/s")),
    (r"(?:propulsion|inertia|atmosphere|aero|forces|moments|metrics|simulation)/.*", Known("")),
)  # fmt: skip


def known_column(name: str) -> Known | None:
    """Return what a column of this exact name is; None where the name alone is not certain."""
    if name in CHANNELS:
        return Known(name, CHANNELS[name].unit)
    for pattern, known in _PROPERTIES:
        if match := re.fullmatch(pattern, name):
            parts = match.groupdict()
            channel = known.channel.format(
                side=_SIDES.get(parts.get("side") or "", ""),
                leg=_LEGS.get(parts.get("leg") or "", ""),
                hand=parts.get("hand") or "",
            )
            return Known(channel, known.unit, known.invert, known.zero_on_wheels, known.full_from, known.note)
    return None
