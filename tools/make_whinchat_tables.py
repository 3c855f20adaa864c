"""Write the tables of the invented trainer ``whinchat``: lift, drag, thrust, fuel flow, run-up readings.

Run it from the project's root: ``python tools/make_whinchat_tables.py``. It needs numpy only and prints the
derived numbers that the pack's YAML files quote. Shapes come from published preliminary-design methods where
nothing else is said; what is invented is the aircraft, that is the constants directly below. Books are cited
from memory by section or equation; equations marked "confirmed" agree with open implementations or texts.

Sources
-------
[DATCOM]  Hoak and Finck, USAF Stability and Control DATCOM, 1978, section 4.1.3.2: subsonic wing lift slope.
[Abbott]  Abbott and von Doenhoff, Theory of Wing Sections, Dover 1959: 6-series sections, thin-aerofoil flap.
[Raymer]  Raymer, Aircraft Design: A Conceptual Approach, AIAA, chapter 12: equations 12.15 and 12.21 for
          greatest lift, the range 0.7 to 0.85 for Oswald's factor, component drag of landing gear.
[Young]   Young, The Aerodynamic Characteristics of Flaps, ARC R&M 2622, 1953, in the closed form given by
          McCormick, Aerodynamics, Aeronautics and Flight Mechanics, chapter 4: drag of a slotted flap.
[Korn]    Korn's equation with Lock's fourth-power rise as in Mason, Configuration Aerodynamics, chapter 7
          (confirmed).
[Etkin]   Etkin and Reid, Dynamics of Flight, 3rd edition, chapter 2: tail volume, neutral point, elevator.
[AED]     Mattingly, Heiser and Pratt, Aircraft Engine Design, 2nd edition, AIAA 2002, equation 2.55b
          (turbojet, military power) and section 3.3.2 (its specific fuel consumption) (both confirmed);
          appendix D for what the throttle ratio does to rotor speed and turbine temperature.
[Torenbeek] Torenbeek, Synthesis of Subsonic Airplane Design, 1982, appendix G-8: windmilling drag.
[ISO2533] ISO 2533:1975, Standard Atmosphere.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# The aircraft: invented, chosen inside the class of single-engine jet trainers of three to four tonnes.
WING_AREA = 17.5  # m2
SPAN = 10.0  # m
MEAN_CHORD = 1.868  # m, from area, span and taper, printed below
TAPER = 0.38
QUARTER_CHORD_SWEEP = np.radians(7.0)
THICKNESS = 0.12  # over chord, a 6-series section
SECTION_LIFT_CURVE_SHARE = 0.95  # of 2 pi per radian
SECTION_MAXIMUM_LIFT = 1.50
ZERO_LIFT_ANGLE = np.radians(-1.5)  # of the section; the body reference line lies along the wing chord
TAIL_AREA_SHARE = 0.22  # of the wing area
TAIL_ARM = 4.6  # m, quarter chord to quarter chord
TAIL_ASPECT_RATIO = 4.0
TAIL_PRESSURE_SHARE = 0.95
ELEVATOR_CHORD_SHARE = 0.35
WING_BODY_AERODYNAMIC_CENTRE = 0.22  # share of mean chord
FLAP_CHORD_SHARE = 0.25
FLAPPED_AREA_SHARE = 0.45
TAKEOFF_FLAP, LANDING_FLAP = np.radians(20.0), np.radians(40.0)
FLAP_EFFECTIVENESS = {
    "clean": 0.0,
    "takeoff": 0.80,
    "landing": 0.67,
}  # viscous loss against thin-aerofoil theory
ZERO_LIFT_DRAG = 0.022
OSWALD = 0.80
ROUNDING = 0.12  # of greatest lift: how far below it the lift curve leaves its straight line
STATIC_THRUST_LBF = 2900.0  # on the test bed, standard day
INSTALLATION_LOSS = 0.10  # inlet, nozzle, bleed and generator
THROTTLE_RATIO = 1.0
INLET_DIAMETER = 0.45  # m

CONFIGURATIONS = ("clean", "takeoff", "landing")
ANGLES_DEG = np.arange(-6.0, 21.0)
MACH = {
    "clean": np.array([0.0, 0.2, 0.4, 0.5, 0.6, 0.65, 0.7, 0.75, 0.8]),
    "takeoff": np.array([0.0, 0.15, 0.3, 0.45]),
    "landing": np.array([0.0, 0.15, 0.3, 0.45]),
}
# Fall of greatest lift with Mach number, invented: it begins near Mach 0.2 and is nearly half by 0.8.
MAXIMUM_LIFT_SHARE = {
    "clean": np.array([1.0, 1.0, 0.93, 0.87, 0.78, 0.73, 0.67, 0.60, 0.53]),
    "takeoff": np.array([1.0, 1.0, 0.97, 0.91]),
    "landing": np.array([1.0, 1.0, 0.97, 0.91]),
}
ENGINE_MACH = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
PRESSURE_ALTITUDE_FT = np.array([-2, 0, 2, 4, 6, 8, 10, 15, 20, 25, 30, 35, 40]) * 1000.0
ISA_DEVIATION = np.array([-60.0, -30.0, -15.0, -5.0, 0.0, 5.0, 10.0, 20.0, 30.0, 45.0])
OUTSIDE_TEMPERATURE = np.array([-40.0, -20.0, 0.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0])


def lift_slope(mach: ArrayLike, aspect_ratio: float, half_chord_sweep: float) -> Floats:
    """Return the lift slope of a wing, 1/rad, subsonic [DATCOM]; Helmbold's equation at Mach 0, unswept."""
    beta2 = 1.0 - np.asarray(mach, dtype=np.float64) ** 2
    compressed = (aspect_ratio / SECTION_LIFT_CURVE_SHARE) ** 2 * (beta2 + np.tan(half_chord_sweep) ** 2)
    return 2.0 * np.pi * aspect_ratio / (2.0 + np.sqrt(compressed + 4.0))


def thin_aerofoil_flap(chord_share: float) -> float:
    """Return the change of zero-lift angle over flap angle of a plain flap in potential flow [Abbott]."""
    hinge = np.arccos(2.0 * chord_share - 1.0)
    return float(1.0 - (hinge - np.sin(hinge)) / np.pi)


ASPECT_RATIO = SPAN**2 / WING_AREA
HALF_CHORD_SWEEP = float(np.arctan(np.tan(QUARTER_CHORD_SWEEP) - (1 - TAPER) / (1 + TAPER) / ASPECT_RATIO))
FLAP_ANGLE = {"clean": 0.0, "takeoff": TAKEOFF_FLAP, "landing": LANDING_FLAP}


def aircraft_lift_slope(mach: ArrayLike) -> Floats:
    """Return the lift slope of wing and tail together, 1/rad: downwash slope 2 a / (pi A) [Etkin]."""
    wing = lift_slope(mach, ASPECT_RATIO, HALF_CHORD_SWEEP)
    tail = lift_slope(mach, TAIL_ASPECT_RATIO, 0.0)
    downwash = 2.0 * wing / (np.pi * ASPECT_RATIO)
    return wing + tail * (1.0 - downwash) * TAIL_AREA_SHARE * TAIL_PRESSURE_SHARE


def flap_lift(configuration: str) -> float:
    """Return the lift coefficient that the flap adds at a fixed angle of attack, low speed."""
    theory = thin_aerofoil_flap(FLAP_CHORD_SHARE) * FLAP_ANGLE[configuration] * FLAPPED_AREA_SHARE
    return float(lift_slope(0.0, ASPECT_RATIO, HALF_CHORD_SWEEP) * theory * FLAP_EFFECTIVENESS[configuration])


def maximum_lift(configuration: str) -> Floats:
    """Return greatest lift over the configuration's Mach axis: [Raymer] 12.15, and 12.21 for the flap.

    A slotted flap adds 1.3 to its section. The takeoff setting reaches 0.6 of the landing increment,
    the lower end of Raymer's 60 to 80 %.
    """
    clean = 0.9 * SECTION_MAXIMUM_LIFT * np.cos(QUARTER_CHORD_SWEEP)
    flap = 0.9 * 1.3 * FLAPPED_AREA_SHARE * {"clean": 0.0, "takeoff": 0.6, "landing": 1.0}[configuration]
    return (clean + flap) * MAXIMUM_LIFT_SHARE[configuration]


def lift(configuration: str) -> tuple[Floats, Floats]:
    """Return lift coefficient over angle of attack (rows) and Mach (columns), and its straight continuation.

    The straight line goes over into a parabola that is tangent to it and has its top at greatest lift; beyond
    the top lift falls along the same parabola, by no more than a tenth. That shape is invented.
    """
    alpha = np.radians(ANGLES_DEG)[:, None]
    slope = aircraft_lift_slope(MACH[configuration])[None, :]
    straight = slope * (alpha - ZERO_LIFT_ANGLE) + flap_lift(configuration)
    top = maximum_lift(configuration)[None, :]
    depth = ROUNDING * top
    beyond = np.maximum(straight - (top - depth), 0.0)  # what the straight line gains past its end
    parabola = top - depth * (1.0 - beyond / (2.0 * depth)) ** 2
    stalled = np.where(beyond > 2.0 * depth, np.maximum(parabola, 0.9 * top), parabola)
    return np.where(beyond > 0.0, stalled, straight), straight


def flap_drag(configuration: str) -> float:
    """Return the profile drag coefficient of the slotted flap [Young]."""
    share = FLAP_CHORD_SHARE**1.38 * FLAPPED_AREA_SHARE
    return float(0.9 * share * np.sin(FLAP_ANGLE[configuration]) ** 2)


def wave_drag(lift_coefficient: Floats, mach: Floats) -> Floats:
    """Return the drag rise [Korn], section technology factor 0.87 as for NACA 6-series."""
    cos = np.cos(QUARTER_CHORD_SWEEP)
    divergence = 0.87 / cos - THICKNESS / cos**2 - np.abs(lift_coefficient) / (10.0 * cos**3)
    critical = divergence - (0.1 / 80.0) ** (1.0 / 3.0)
    return 20.0 * np.maximum(mach - critical, 0.0) ** 4


def drag(configuration: str) -> Floats:
    """Return drag coefficient over angle of attack and Mach: profile, flap, due to lift, separation, wave.

    The drag of separation, the straight line's excess of lift times the sine of the angle of attack, is the
    leading-edge suction that is lost: the force on a separated wing stands at right angles to the chord.
    """
    coefficient, straight = lift(configuration)
    alpha = np.radians(ANGLES_DEG)[:, None]
    induced = coefficient**2 / (np.pi * ASPECT_RATIO * OSWALD)
    separation = np.maximum(straight - coefficient, 0.0) * np.sin(np.maximum(alpha, 0.0))
    wave = wave_drag(coefficient, np.broadcast_to(MACH[configuration], coefficient.shape))
    return ZERO_LIFT_DRAG + flap_drag(configuration) + induced + separation + wave


def standard_ratios(pressure_altitude_ft: ArrayLike) -> tuple[Floats, Floats]:
    """Return temperature and pressure over their sea-level values [ISO2533]; up to 20 km."""
    height = np.asarray(pressure_altitude_ft, dtype=np.float64) * 0.3048
    theta = np.maximum(1.0 - 0.0065 * height / 288.15, 216.65 / 288.15)
    above = np.maximum(height - 11000.0, 0.0)
    return theta, theta**5.25588 * np.exp(-9.80665 * above / (287.05287 * 216.65))


def military_lapse(mach: ArrayLike, theta: ArrayLike, delta: ArrayLike) -> Floats:
    """Return thrust over static sea-level thrust of a turbojet at military power [AED] 2.55b, less its 0.8.

    The 0.8 there is military over afterburning thrust; this engine has no afterburner.
    """
    mach = np.asarray(mach, dtype=np.float64)
    ram = 1.0 + 0.2 * mach**2
    theta_0 = np.asarray(theta, dtype=np.float64) * ram
    delta_0 = np.asarray(delta, dtype=np.float64) * ram**3.5
    hot = 24.0 * np.maximum(theta_0 - THROTTLE_RATIO, 0.0) / ((9.0 + mach) * theta_0)
    return delta_0 * (1.0 - 0.16 * np.sqrt(mach) - hot)


def military_thrust() -> Floats:
    """Return installed thrust, lbf, over Mach (rows) and pressure altitude (columns), standard day."""
    theta, delta = standard_ratios(PRESSURE_ALTITUDE_FT)
    lapse = military_lapse(ENGINE_MACH[:, None], theta, delta)
    return STATIC_THRUST_LBF * (1.0 - INSTALLATION_LOSS) * lapse


def military_fuel_flow() -> Floats:
    """Return fuel flow, lb/h: (1.1 + 0.3 M) sqrt(theta) lb/h a pound of uninstalled thrust [AED] 3.3.2."""
    theta, _ = standard_ratios(PRESSURE_ALTITUDE_FT)
    uninstalled = military_thrust() / (1.0 - INSTALLATION_LOSS)
    return (1.1 + 0.3 * ENGINE_MACH[:, None]) * np.sqrt(theta) * uninstalled


def idle_thrust() -> Floats:
    """Return installed idle thrust, lbf: 5.5 % static, falling through zero at Mach 0.62. Invented."""
    _, delta = standard_ratios(PRESSURE_ALTITUDE_FT)
    return 0.055 * STATIC_THRUST_LBF * delta * (1.0 - 1.6 * ENGINE_MACH[:, None])


def idle_fuel_flow() -> Floats:
    """Return idle fuel flow, lb/h: an eighth of the takeoff flow, half of it gone by 40,000 ft. Invented."""
    _, delta = standard_ratios(PRESSURE_ALTITUDE_FT)
    return 400.0 * (0.4 + 0.6 * delta) * (1.0 + 0.2 * ENGINE_MACH[:, None])


def temperature_factors() -> tuple[Floats, Floats]:
    """Return the factors on thrust and fuel flow over ISA deviation, taken at sea level and Mach 0.15.

    Higher up, standard air is colder and the engine reaches its turbine limit later: there the factors are a
    little hard on a hot day.
    """
    theta = 1.0 + ISA_DEVIATION / 288.15
    thrust = military_lapse(0.15, theta, 1.0) / military_lapse(0.15, 1.0, 1.0)
    return thrust, thrust * np.sqrt(theta)


def run_up_readings() -> tuple[Floats, Floats, Floats]:
    """Return rotor speed, %, exhaust temperature, degC, fuel flow, lb/h: takeoff power, sea level, static.

    Below the throttle ratio the engine holds its corrected speed, so speed goes with the root of the outside
    temperature and exhaust temperature with the temperature; above it the exhaust temperature is at its
    limit, 640 degC, and speed is held at 100 % [AED, appendix D].
    """
    theta = (OUTSIDE_TEMPERATURE + 273.15) / 288.15
    cold = np.minimum(theta / THROTTLE_RATIO, 1.0)
    flow = 1.1 * np.sqrt(theta) * STATIC_THRUST_LBF * military_lapse(0.0, theta, 1.0)
    return 100.0 * np.sqrt(cold), (640.0 + 273.15) * cold - 273.15, flow


def grid_text(head: str, corner: str, rows: Floats, columns: Floats, values: Floats, decimals: int) -> str:
    """Return a two-axis table as CSV text."""
    lines = [f"# {head}", corner + "," + ",".join(f"{column:g}" for column in columns)]
    for row, line in zip(rows, values, strict=True):
        lines.append(f"{row:g}," + ",".join(f"{value:.{decimals}f}" for value in line))
    return "\n".join(lines) + "\n"


def list_text(head: str, header: str, axis: Floats, values: Floats, decimals: int) -> str:
    """Return a one-axis table as CSV text."""
    lines = [f"# {head}", header]
    lines += [f"{point:g},{value:.{decimals}f}" for point, value in zip(axis, values, strict=True)]
    return "\n".join(lines) + "\n"


def tables() -> dict[str, str]:
    """Return the text of every table file by name."""
    made: dict[str, str] = {}
    head = "invented aircraft whinchat; written by tools/make_whinchat_tables.py, which names the methods"
    for name in CONFIGURATIONS:
        corner, mach = "angle_of_attack deg \\ mach", MACH[name]
        made[f"lift_{name}.csv"] = grid_text(head, corner, ANGLES_DEG, mach, lift(name)[0], 4)
        made[f"drag_{name}.csv"] = grid_text(head, corner, ANGLES_DEG, mach, drag(name), 4)
        made[f"maximum_lift_{name}.csv"] = list_text(head, "mach,maximum_lift", mach, maximum_lift(name), 4)
    corner = "mach \\ pressure_altitude ft"
    for stem, values in {
        "takeoff_power_thrust": military_thrust(),
        "takeoff_power_fuel_flow": military_fuel_flow(),
        "idle_thrust": idle_thrust(),
        "idle_fuel_flow": idle_fuel_flow(),
    }.items():
        made[f"{stem}.csv"] = grid_text(head, corner, ENGINE_MACH, PRESSURE_ALTITUDE_FT, values, 0)
    thrust_factor, flow_factor = temperature_factors()
    axis = "isa_deviation delta_degC,factor"
    made["thrust_temperature_factor.csv"] = list_text(head, axis, ISA_DEVIATION, thrust_factor, 4)
    made["fuel_flow_temperature_factor.csv"] = list_text(head, axis, ISA_DEVIATION, flow_factor, 4)
    for stem, unit, values in zip(
        ("rpm", "exhaust_temperature", "fuel_flow"), ("%", "degC", "lb/h"), run_up_readings(), strict=True
    ):
        header = f"outside_temperature degC,{stem} {unit}"
        made[f"run_up_{stem}.csv"] = list_text(
            head, header, OUTSIDE_TEMPERATURE, values, 1 if stem == "rpm" else 0
        )
    return made


def derived() -> dict[str, float]:
    """Return the numbers that the YAML files quote, so that they can be traced and tested."""
    root_chord = 2.0 * WING_AREA / (SPAN * (1.0 + TAPER))
    wing = float(lift_slope(0.0, ASPECT_RATIO, HALF_CHORD_SWEEP))
    tail = float(lift_slope(0.0, TAIL_ASPECT_RATIO, 0.0))
    whole = float(aircraft_lift_slope(0.0))
    volume = TAIL_AREA_SHARE * TAIL_ARM / MEAN_CHORD
    downwash = 2.0 * wing / (np.pi * ASPECT_RATIO)
    neutral = WING_BODY_AERODYNAMIC_CENTRE * wing / whole + (whole - wing) / whole * (
        WING_BODY_AERODYNAMIC_CENTRE + TAIL_ARM / MEAN_CHORD
    )
    # Gaps and the surface's own boundary layer take a fifth of the elevator's potential-flow effect.
    elevator = 0.8 * thin_aerofoil_flap(ELEVATOR_CHORD_SHARE) * tail * TAIL_PRESSURE_SHARE * volume
    # Spillage and internal drag of a turning engine, nozzle speed over flight speed 0.25 [Torenbeek].
    windmill = (0.0785 + 2.0 * np.pi / 4.0 * 0.25 * 0.75) * INLET_DIAMETER**2
    return {
        "mean_chord": root_chord * 2.0 / 3.0 * (1.0 + TAPER + TAPER**2) / (1.0 + TAPER),
        "aspect_ratio": ASPECT_RATIO,
        "wing_lift_slope": wing,
        "lift_slope": whole,
        "downwash_slope": downwash,
        "tail_volume": volume,
        "neutral_point": neutral,
        "pitching_moment_slope": -whole * (neutral - 0.25),
        "elevator_moment_per_angle": elevator,
        "flap_lift_takeoff": flap_lift("takeoff"),
        "flap_lift_landing": flap_lift("landing"),
        "flap_drag_takeoff": flap_drag("takeoff"),
        "flap_drag_landing": flap_drag("landing"),
        "windmilling_drag_area": windmill,
    }


def main(arguments: Sequence[str]) -> int:
    """Write the tables into the pack, or into the folder named on the command line."""
    pack = Path(__file__).resolve().parents[1] / "src" / "sortiewright" / "packs" / "whinchat" / "tables"
    folder = Path(arguments[0]) if arguments else pack
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in tables().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    for name, value in derived().items():
        print(f"{name:28s} {value:.4f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
