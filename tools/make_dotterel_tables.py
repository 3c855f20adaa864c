"""Write the tables of the demonstration pack `dotterel` from textbook equations.

The aircraft is invented. Every table is a published preliminary-design equation with the constants below, so
that a reader can see where each number comes from and change it. Run from the repository root:

    python tools/make_dotterel_tables.py [FOLDER]

The files land in FOLDER, by default src/sortiewright/packs/dotterel/tables. Only NumPy is needed.

References
----------
[1] USAF Stability and Control DATCOM, section 4.1.3.2: wing lift-curve slope below the speed of sound. The
    same form stands in Raymer [2], eq. 12.6. From memory.
[2] Raymer, Aircraft Design: A Conceptual Approach, AIAA, chapter 12: skin friction against Mach number
    (12.27), wave drag by the Sears-Haack body (12.44, 12.45), leading-edge suction (12.57), flap drag (12.61,
    12.62). From memory; the numbers differ between editions.
[3] Mattingly, Heiser, Pratt, Aircraft Engine Design, 2nd edition, AIAA 2002: thrust lapse with throttle
    ratio, low-bypass mixed turbofan (2.54a, 2.54b) and turbojet (2.55b); specific fuel consumption (3.55a,
    3.55b). Read in several public programs that cite these numbers, not in the book.
[4] ISO 2533, Standard Atmosphere.
[5] Ackeret's linear theory with the tip correction of a rectangular wing; Ferri, Elements of Aerodynamics of
    Supersonic Flows. From memory.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
TABLES = Path(__file__).resolve().parent.parent / "src" / "sortiewright" / "packs" / "dotterel" / "tables"

# Geometry, as in airframe.yaml.
WING_AREA = 43.8  # m2
SPAN = 11.24  # m
TAPER = 0.24
QUARTER_CHORD_SWEEP = np.radians(38.0)
ASPECT_RATIO = SPAN**2 / WING_AREA
SPREAD = (1 - TAPER) / (ASPECT_RATIO * (1 + TAPER))
LEADING_EDGE_SWEEP = np.arctan(np.tan(QUARTER_CHORD_SWEEP) + SPREAD)
HALF_CHORD_SWEEP = np.arctan(np.tan(QUARTER_CHORD_SWEEP) - SPREAD)
LENGTH = 17.2  # m
LARGEST_SECTION = 3.4  # m2, intakes' stream tube taken out

# Aerodynamics.
SECTION_EFFICIENCY = 0.95  # two-dimensional slope over 2 pi
# Clean, from the body line: the wing is set at 0 deg to it, camber and twist give the half degree.
ZERO_LIFT_ANGLE = np.radians(-0.5)
FRICTION_DRAG = 0.0210  # at Mach 0, chosen in the class range 0.018 to 0.030
WAVE_DRAG_EFFICIENCY = 2.2  # Raymer: 1.8 to 2.2 for a supersonic fighter
SUCTION = 0.85  # leading-edge suction in attached flow
ANGLES = np.arange(-6.0, 27.0, 1.0)  # deg
MACHS = np.array(
    [0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9]
)
FLAP_MACHS = np.array([0, 0.2, 0.3, 0.4, 0.5, 0.6])

# Per configuration: lift of the flap at constant angle of attack, its parasite drag, maximum lift over Mach.
# Drag of a plain flap, Raymer 12.61: 0.0144 (chord share 0.22)(wing share 0.45)(deflection - 10 deg); the
# droop adds 0.003. The half flap is 20 deg, the full flap 35 deg.
FLAP_LIFT = {"clean": 0.0, "takeoff": 0.20, "landing": 0.34}
FLAP_DRAG = {
    "clean": 0.0,
    "takeoff": 0.0144 * 0.22 * 0.45 * 10 + 0.003,
    "landing": 0.0144 * 0.22 * 0.45 * 25 + 0.003,
}
FLAP_INDUCED = 0.28  # Raymer's k_f for a half-span flap
MAXIMUM_LIFT = {
    "clean": (
        [0, 0.3, 0.4, 0.6, 0.8, 0.9, 1.0, 1.2, 1.5, 1.9],
        [1.15, 1.15, 1.14, 1.08, 1.00, 0.95, 0.90, 0.84, 0.74, 0.62],
    ),
    "takeoff": ([0, 0.3, 0.6], [1.35, 1.35, 1.26]),
    "landing": ([0, 0.3, 0.6], [1.50, 1.50, 1.38]),
}
# Share of maximum lift up to which the lift curve is straight; the droop keeps the flow attached longer.
STRAIGHT_SHARE = {"clean": 0.85, "takeoff": 0.86, "landing": 0.88}

# Engine: one of two, sea level, static, standard day, on a test stand.
MILITARY_THRUST = 8_900.0  # lbf
MAXIMUM_THRUST = 14_000.0  # lbf
INSTALLATION = 0.90  # intake, bleed and power offtake, on thrust only: losses save no fuel
THROTTLE_RATIO = 1.04  # theta break: flat rated to 26.5 degC at sea level, static
LEAST_THROTTLED = 0.33  # share of the pressure term down to which the equations are followed
LEVELLING_MACH = 0.3  # over which the fall beyond levels out
RUN_UP_SHARE = 0.45  # of installed military thrust, at 85 % rpm
RUN_UP_FUEL_FLOW = 4_000.0  # lb/h
MILITARY_CONSUMPTION = 0.9  # lb/h a pound of thrust, static [3, 3.55a]
# The equation has 1.6, for an engine of about 2000 (3.55b). An earlier burner: 1.85, which puts the flow of
# both engines at 52,000 lb/h, inside the class range 50,000 to 90,000.
MAXIMUM_CONSUMPTION = 1.85
IDLE_THRUST = 360.0  # lbf
IDLE_FUEL_FLOW = 1_150.0  # lb/h
ENGINE_MACHS = np.arange(19) / 10
ENGINE_ALTITUDES = np.array(
    [-2000, 0, 2000, 4000, 6000, 8000, 10000, 15000, 20000, 25000, 30000, 36089, 40000, 45000, 50000, 55000]
)
RUN_UP_MACHS = np.arange(7) / 10
RUN_UP_ALTITUDES = np.array([-2000, 0, 2000, 4000, 6000, 8000, 10000, 15000])
DEVIATIONS = np.arange(-50.0, 46.0, 5.0)  # degC
TEMPERATURES = np.arange(-30.0, 51.0, 10.0)  # degC


def lift_curve_slope(mach: ArrayLike) -> Floats:
    """Return dCL/dalpha, 1/rad: DATCOM [1] to Mach 0.85, linear theory [5] from 1.4, a cubic between."""
    mach = np.asarray(mach, dtype=np.float64)

    def subsonic(m: Floats | np.float64) -> Floats:
        beta_squared = 1 - m**2
        root = (ASPECT_RATIO / SECTION_EFFICIENCY) ** 2 * (beta_squared + np.tan(HALF_CHORD_SWEEP) ** 2)
        return 2 * np.pi * ASPECT_RATIO / (2 + np.sqrt(4 + root))

    def supersonic(m: Floats | np.float64) -> Floats:
        beta = np.sqrt(m**2 - 1)
        return 4 / beta * (1 - 1 / (2 * ASPECT_RATIO * beta))

    low, high, step = np.float64(0.85), np.float64(1.40), 1e-4
    start, end = subsonic(low), supersonic(high)
    start_slope = (subsonic(low + step) - subsonic(low - step)) / (2 * step)
    end_slope = (supersonic(high + step) - supersonic(high - step)) / (2 * step)
    width = high - low
    t = np.clip((mach - low) / width, 0, 1)
    between = (
        start * (2 * t**3 - 3 * t**2 + 1)
        + start_slope * width * (t**3 - 2 * t**2 + t)
        + end * (3 * t**2 - 2 * t**3)
        + end_slope * width * (t**3 - t**2)
    )
    below, above = subsonic(np.minimum(mach, low)), supersonic(np.maximum(mach, high))
    return np.where(mach <= low, below, np.where(mach >= high, above, between))


def maximum_lift(configuration: str, mach: ArrayLike) -> Floats:
    """Return CLmax: chosen inside the class range 1.0 to 1.4 clean, falling with Mach number."""
    return np.interp(np.asarray(mach, dtype=np.float64), *MAXIMUM_LIFT[configuration])


def straight_lift(configuration: str, alpha: ArrayLike, mach: ArrayLike) -> Floats:
    """Return the lift coefficient an unstalled wing would have; alpha in rad from the body line."""
    return lift_curve_slope(mach) * (np.asarray(alpha) - ZERO_LIFT_ANGLE) + FLAP_LIFT[configuration]


def lift(configuration: str, alpha: ArrayLike, mach: ArrayLike) -> Floats:
    """Return CL: straight up to a share of CLmax, then a parabola that touches CLmax, then a slow fall."""
    straight = straight_lift(configuration, alpha, mach)
    peak = maximum_lift(configuration, mach)
    knee = STRAIGHT_SHARE[configuration] * peak
    crest = 2 * peak - knee
    rounded = straight - (straight - knee) ** 2 / (4 * (peak - knee))
    stalled = peak - 0.25 * (straight - crest)
    return np.where(straight <= knee, straight, np.where(straight <= crest, rounded, stalled))


def zero_lift_drag(mach: ArrayLike) -> Floats:
    """Return CD0: friction falls with Mach number [2, 12.27]; wave drag of the volume [2, 12.44, 12.45].

    Raymer draws the rise below Mach 1.2 by hand, about half of it at Mach 1; here it is a logistic curve, a
    little earlier than that because the canopy of a two-seater is blunt.
    """
    mach = np.asarray(mach, dtype=np.float64)
    friction = FRICTION_DRAG * (1 + 0.144 * mach**2) ** -0.65
    body = 9 * np.pi / 2 * (LARGEST_SECTION / LENGTH) ** 2 / WING_AREA
    sweep = np.pi * np.degrees(LEADING_EDGE_SWEEP) ** 0.77 / 100
    beyond = np.maximum(mach - 1.2, 0)
    wave = WAVE_DRAG_EFFICIENCY * (1 - 0.386 * beyond**0.57 * (1 - sweep)) * body
    return friction + wave / (1 + np.exp(-(mach - 0.975) / 0.028))


def drag(configuration: str, alpha: ArrayLike, mach: ArrayLike) -> Floats:
    """Return CD without gear and stores, out of ground effect.

    Drag due to lift by leading-edge suction [2, 12.57]: full suction gives CL^2 / (pi A), none gives CL times
    tan(alpha from zero lift). Suction fades from six tenths of CLmax, where the flow leaves the wing's nose,
    and from Mach 0.8 to the Mach number where the leading edge turns sonic. The flap's own share is 12.61 and
    12.62 of [2].
    """
    alpha, mach = np.broadcast_arrays(np.asarray(alpha, dtype=np.float64), np.asarray(mach, dtype=np.float64))
    cl, straight = lift(configuration, alpha, mach), straight_lift(configuration, alpha, mach)
    stall_share = np.abs(straight) / maximum_lift(configuration, mach)
    suction = SUCTION * np.interp(stall_share, [0.6, 1.12, 1.6], [1.0, 0.25, 0.0])
    suction = suction * np.interp(mach, [0.8, 1 / np.cos(LEADING_EDGE_SWEEP)], [1.0, 0.0])
    from_zero_lift = straight / lift_curve_slope(mach)
    due_to_lift = suction * cl**2 / (np.pi * ASPECT_RATIO) + (1 - suction) * cl * np.tan(from_zero_lift)
    flap = FLAP_DRAG[configuration]
    flap += FLAP_INDUCED**2 * FLAP_LIFT[configuration] ** 2 * np.cos(QUARTER_CHORD_SWEEP)
    return zero_lift_drag(mach) + flap + due_to_lift


def standard_ratios(pressure_altitude_ft: ArrayLike) -> tuple[Floats, Floats]:
    """Return temperature and pressure over their sea-level values [4], to 65,600 ft."""
    height = np.asarray(pressure_altitude_ft, dtype=np.float64) * 0.3048
    theta = np.maximum(1 - 0.0065 * height / 288.15, 216.65 / 288.15)
    troposphere = theta ** (9.80665 / (0.0065 * 287.05287))
    above = np.exp(-9.80665 / (287.05287 * 216.65) * np.maximum(height - 11_000, 0))
    return theta, troposphere * above


def thrust_lapse(setting: str, mach: ArrayLike, theta: ArrayLike, delta: ArrayLike) -> Floats:
    """Return thrust over its sea-level static value, `military` or `maximum` [3].

    `maximum` is 2.54a. `military` is 2.54b with the Mach term of the turbojet, 2.55b: the bypass ratio is so
    low that the ram drag of a turbojet belongs to it. Far past the break the equations run into nothing, and
    an engine does not: from where a third of the pressure term is left, thrust goes on at the slope it has
    there and levels out over LEVELLING_MACH. That is above Mach 1.1 everywhere; smooth, chosen, no source.
    """
    mach, theta = np.asarray(mach, dtype=np.float64), np.asarray(theta, dtype=np.float64)
    fall = {"maximum": 3.5, "military": 3.8}[setting]
    hottest = (
        fall * THROTTLE_RATIO / (fall - 1 + LEAST_THROTTLED)
    )  # total temperature where that much is left
    last = np.sqrt(np.maximum(hottest / theta - 1, 0) / 0.2)
    held = np.minimum(mach, last)
    total_theta = theta * (1 + 0.2 * held**2)
    total_delta = np.asarray(delta) * (1 + 0.2 * held**2) ** 3.5
    throttled = 1 - fall * np.maximum(total_theta - THROTTLE_RATIO, 0) / total_theta
    ram = 1 - 0.16 * np.sqrt(mach) if setting == "military" else 1.0
    steepness = 1.4 * last / (1 + 0.2 * last**2)
    steepness -= fall * THROTTLE_RATIO * theta * 0.4 * last / hottest**2 / LEAST_THROTTLED
    beyond = 1 - np.exp(-(mach - held) / LEVELLING_MACH)
    return total_delta * throttled * np.exp(steepness * LEVELLING_MACH * beyond) * ram


def thrust(setting: str, mach: ArrayLike, pressure_altitude_ft: ArrayLike) -> Floats:
    """Return the installed net thrust of one engine on a standard day, lbf."""
    theta, delta = standard_ratios(pressure_altitude_ft)
    mach = np.asarray(mach, dtype=np.float64)
    if setting == "idle":
        # Gross thrust less ram drag: gone at Mach 0.5, no worse beyond Mach 0.9, where idle speed is raised.
        return IDLE_THRUST * delta * np.maximum(1 - 2 * mach, -0.8)
    if setting == "run_up":
        return RUN_UP_SHARE * INSTALLATION * MILITARY_THRUST * delta * (1 - 0.55 * mach)
    static = {"military": MILITARY_THRUST, "maximum": MAXIMUM_THRUST}[setting]
    return INSTALLATION * static * thrust_lapse(setting, mach, theta, delta)


def fuel_flow(setting: str, mach: ArrayLike, pressure_altitude_ft: ArrayLike) -> Floats:
    """Return the fuel flow of one engine on a standard day, lb/h: thrust times consumption.

    Consumption rises with Mach number and the root of temperature as in [3, 3.55].
    """
    theta, delta = standard_ratios(pressure_altitude_ft)
    mach = np.asarray(mach, dtype=np.float64)
    if setting == "idle":
        return IDLE_FUEL_FLOW * (0.35 + 0.65 * delta) * (1 + 0.4 * mach)
    if setting == "run_up":
        return RUN_UP_FUEL_FLOW * (0.15 + 0.85 * delta) * (1 + 0.3 * mach)
    consumption = {
        "military": MILITARY_CONSUMPTION + 0.30 * mach,
        "maximum": MAXIMUM_CONSUMPTION + 0.27 * mach,
    }[setting]
    return consumption * np.sqrt(theta) * thrust(setting, mach, pressure_altitude_ft) / INSTALLATION


def thrust_temperature_factor(setting: str, deviation: ArrayLike) -> Floats:
    """Return thrust over standard-day thrust against the temperature's departure from standard, degC.

    Military and maximum: the lapse at Mach 0.2, sea level, where the takeoff is decided. Idle and run-up are
    held at a rotor speed, so hot air means a lower corrected speed: power -1.2 of the temperature ratio.
    """
    theta = 1 + np.asarray(deviation, dtype=np.float64) / 288.15
    if setting in ("idle", "run_up"):
        return theta**-1.2
    return thrust_lapse(setting, 0.2, theta, 1.0) / thrust_lapse(setting, 0.2, 1.0, 1.0)


def fuel_flow_temperature_factor(setting: str, deviation: ArrayLike) -> Floats:
    """Return fuel flow over its standard-day value: consumption goes with the root of temperature [3]."""
    theta = 1 + np.asarray(deviation, dtype=np.float64) / 288.15
    if setting in ("idle", "run_up"):
        return theta**-0.7
    return thrust_temperature_factor(setting, deviation) * np.sqrt(theta)


def run_up_reading(setting: str, reading: str, temperature: ArrayLike) -> Floats:
    """Return what the gauges show at sea level: rpm %, exhaust degC, fuel flow lb/h, nozzle % open.

    Exhaust temperature follows a power of the outside temperature and is held at its limit past the break of
    the rating; both powers are chosen. Fuel flow is the table's own.
    """
    outside = np.asarray(temperature, dtype=np.float64)
    theta = (outside + 273.15) / 288.15
    held = np.minimum(theta / THROTTLE_RATIO, 1.0)
    if reading == "fuel_flow":
        return fuel_flow(setting, 0.0, 0.0) * fuel_flow_temperature_factor(setting, outside - 15.0)
    if setting == "idle":
        return {"rpm": 65.0 * theta**0.25, "exhaust_temperature": 650.0 * theta**0.5 - 273.15}[reading]
    if setting == "run_up":
        return {
            "rpm": np.full(outside.shape, 85.0),
            "exhaust_temperature": 723.0 * theta**0.6 - 273.15,
            "nozzle": 42.0 + 4.0 * (theta - 1) / 0.1,
        }[reading]
    return {
        "rpm": 100.0 * held**0.3,
        "exhaust_temperature": 915.0 * held**0.7 - 273.15,
        "nozzle": 14.0 + 8.0 * (1 - held) / 0.1,
    }[reading]


def cell(value: float, form: str) -> str:
    """Return a number as text, never a minus zero."""
    return format(float(format(value, form)) + 0.0, form)


def grid(corner: tuple[str, str], rows: Floats, columns: Floats, values: Floats, form: str) -> str:
    """Return a table over two axes as text."""
    lines = [",".join([f"{corner[0]} \\ {corner[1]}", *(f"{c:g}" for c in columns)])]
    lines += [
        ",".join([f"{r:g}", *(cell(v, form) for v in line)]) for r, line in zip(rows, values, strict=True)
    ]
    return "\n".join(lines)


def column(axis: str, value: str, points: Floats, values: Floats, form: str) -> str:
    """Return a table over one axis as text."""
    rows = [f"{p:g},{cell(v, form)}" for p, v in zip(points, values, strict=True)]
    return "\n".join([f"{axis},{value}", *rows])


def aerodynamic_tables() -> dict[str, str]:
    """Return lift, drag and maximum lift of each configuration, by file name."""
    files: dict[str, str] = {}
    for name in ("clean", "takeoff", "landing"):
        machs = MACHS if name == "clean" else FLAP_MACHS
        alpha = np.radians(ANGLES)[:, None]
        corner = ("angle_of_attack deg", "mach")
        files[f"{name}_lift.csv"] = grid(corner, ANGLES, machs, lift(name, alpha, machs), ".4f")
        files[f"{name}_drag.csv"] = grid(corner, ANGLES, machs, drag(name, alpha, machs), ".5f")
        peak = maximum_lift(name, machs)
        files[f"{name}_maximum_lift.csv"] = column("mach", "maximum_lift", machs, peak, ".3f")
    return files


def engine_tables() -> dict[str, str]:
    """Return thrust, fuel flow, temperature factors and run-up readings, by file name."""
    files: dict[str, str] = {}
    corner = ("mach", "pressure_altitude ft")
    kinds: dict[str, Callable[..., Floats]] = {"thrust": thrust, "fuel_flow": fuel_flow}
    factors = {"thrust": thrust_temperature_factor, "fuel_flow": fuel_flow_temperature_factor}
    for setting in ("idle", "run_up", "military", "maximum"):
        short = setting == "run_up"
        machs, heights = (RUN_UP_MACHS, RUN_UP_ALTITUDES) if short else (ENGINE_MACHS, ENGINE_ALTITUDES)
        for kind, value in kinds.items():
            values = value(setting, machs[:, None], heights)
            files[f"{setting}_{kind}.csv"] = grid(corner, machs, heights, values, ".0f")
            name, axis = f"{setting}_{kind}_temperature_factor.csv", "isa_deviation delta_degC"
            files[name] = column(axis, "factor", DEVIATIONS, factors[kind](setting, DEVIATIONS), ".4f")
    units = {"rpm": "rpm %", "exhaust_temperature": "degC", "fuel_flow": "lb/h", "nozzle": "nozzle %"}
    for setting in ("idle", "run_up", "military"):
        for reading, unit in units.items():
            if (setting, reading) == ("idle", "nozzle"):
                continue
            form = ".1f" if reading in ("rpm", "nozzle") else ".0f"
            values = run_up_reading(setting, reading, TEMPERATURES)
            name, axis = f"reading_{setting}_{reading}.csv", "outside_temperature degC"
            files[name] = column(axis, unit, TEMPERATURES, values, form)
    return files


def main() -> None:
    """Write every table."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else TABLES
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in (aerodynamic_tables() | engine_tables()).items():
        head = f"# {name}: written by tools/make_dotterel_tables.py, which names the equations and sources.\n"
        (folder / name).write_text(f"{head}{text}\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
