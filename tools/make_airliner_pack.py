"""Write the test pack `airliner_sampled` from an open aircraft performance model.

    pip install openap==2.6.2
    python tools/make_airliner_pack.py tests/data/packs/airliner_sampled

Only the library and NumPy are needed; nothing of sortiewright is used. The library's drag polar becomes lift
and drag tables, its thrust functions become power settings over Mach number and pressure altitude, and its
fuel flow at that thrust their fuel flow. What it does not have, a ground roll, brakes, a balance, is invented
and says so: the pack is for numbers in the air.

What a table cannot say is settled here once:

- Lift over angle of attack. The library knows lift only. A straight line is invented with its zero at such an
  angle that thrust, which the library puts along the path, has next to no part across it in climb and cruise.
- Thrust in a climb depends on the rate of climb. It is tabulated at the rate which it gives, in steady climb,
  at 65 t; other masses climb at another rate, and the error is what the tests measure.
- Fuel flow bends over thrust, and a pack's runs straight between settings: six settings lie between idle and
  the cruise rating.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from openap import Drag, FuelFlow, Thrust, aero, prop

TYPE = "A320"
SOURCE = "openap 2.6.2, A320 with CFM56-5B4"
REFERENCE_MASS = 65_000.0  # kg, whose rate of climb the climb thrust is tabulated at
RATE_ROUNDS = 60
PARTS = (0.12, 0.26, 0.42, 0.58, 0.74, 0.87)  # of the way from idle thrust to the cruise rating

LIFT_SLOPE = 5.5  # 1/rad, invented
ZERO_LIFT_ANGLE = -4.0  # deg, invented
ANGLES = np.arange(-6.0, 9.01, 0.5)  # deg
AERO_MACHS = (0.0, 0.85)
SLOWEST = 0.2  # Mach number; a pack's tables begin at 0, and hold this value below
ENGINE_MACHS = np.array([0.0, *np.round(np.arange(SLOWEST, 0.851, 0.05), 2)])
# Between 30,000 and 30,001 ft the library's thrust has a step.
HEIGHTS = np.array([*np.arange(0.0, 30_001.0, 2_500.0), 30_001.0, *np.arange(32_500.0, 45_001.0, 2_500.0)])

THRUST, DRAG, FUEL = Thrust(TYPE), Drag(TYPE), FuelFlow(TYPE)
AIRCRAFT = prop.aircraft(TYPE)
Rating = Callable[[float, float], float]  # of true airspeed kt and altitude ft: thrust of both engines, N


def true_airspeed(mach: float, altitude: float) -> float:
    """Return knots of a Mach number, or of the slowest, at an altitude, ft."""
    return float(aero.mach2tas(max(mach, SLOWEST), altitude * aero.ft)) / aero.kts


def climb_rating(tas: float, altitude: float) -> float:
    """Return climb thrust at the rate of steady climb that it gives at the reference mass."""
    rate = 0.0
    for _ in range(RATE_ROUNDS):
        thrust = float(THRUST.climb(tas, altitude, rate))
        drag = float(DRAG.clean(REFERENCE_MASS, tas, altitude, rate))
        steady = tas * aero.kts * (thrust - drag) / (REFERENCE_MASS * aero.g0) / aero.fpm
        change = max(steady, 0.0) - rate
        rate += 0.8 * change
        if abs(change) < 1e-3:
            break
    return float(THRUST.climb(tas, altitude, rate))


def cruise_rating(tas: float, altitude: float) -> float:
    """Return the most thrust in level flight."""
    return float(THRUST.cruise(tas, altitude))


def idle_rating(tas: float, altitude: float) -> float:
    """Return the thrust in a descent at idle."""
    return float(THRUST.descent_idle(tas, altitude))


def part_rating(share: float) -> Rating:
    """Return the thrust a share of the way from idle to the cruise rating."""
    return lambda tas, altitude: (
        idle_rating(tas, altitude) + share * (cruise_rating(tas, altitude) - idle_rating(tas, altitude))
    )


def grid(first: str, rows: Sequence[float], second: str, columns: Sequence[float], value, form: str) -> str:
    """Return a table over two axes as the text of a CSV file."""
    lines = [f"# {SOURCE}", ",".join([f"{first} \\ {second}", *(f"{one:g}" for one in columns)])]
    for row in rows:
        lines.append(",".join([f"{row:g}", *(format(value(row, column), form) for column in columns)]))
    return "\n".join(lines) + "\n"


def lift_coefficient(angle: float) -> float:
    """Return the invented lift at an angle of attack, deg."""
    return LIFT_SLOPE * float(np.radians(angle - ZERO_LIFT_ANGLE))


def aero_tables() -> dict[str, str]:
    """Return lift, drag and maximum lift."""
    polar = DRAG.polar["clean"]

    def drag(angle: float, _: float) -> float:
        return polar["cd0"] + polar["k"] * lift_coefficient(angle) ** 2

    first, second = "angle_of_attack deg", "mach"
    return {
        "lift": grid(first, ANGLES, second, AERO_MACHS, lambda angle, _: lift_coefficient(angle), ".6f"),
        "drag": grid(first, ANGLES, second, AERO_MACHS, drag, ".7f"),
        "maximum_lift": "\n".join(
            [f"# invented for tests; {SOURCE} has none", "mach,maximum_lift", "0,1.3", "0.85,1.3", ""]
        ),
    }


def engine_tables(ratings: dict[str, Rating]) -> dict[str, str]:
    """Return thrust, N, and fuel flow, kg/s, of one engine at each setting."""
    number, tables = AIRCRAFT["engine"]["number"], {}
    for name, rating in ratings.items():

        def thrust(mach: float, altitude: float, rating: Rating = rating) -> float:
            return rating(true_airspeed(mach, altitude), altitude)

        def flow(mach: float, altitude: float, rating: Rating = rating) -> float:
            return float(FUEL.at_thrust(rating(true_airspeed(mach, altitude), altitude)))

        first, second = "mach", "pressure_altitude ft"
        tables[f"{name}_thrust"] = grid(
            first, ENGINE_MACHS, second, HEIGHTS, lambda m, h, f=thrust: f(m, h) / number, ".1f"
        )
        tables[f"{name}_fuel_flow"] = grid(
            first, ENGINE_MACHS, second, HEIGHTS, lambda m, h, f=flow: f(m, h) / number, ".6f"
        )
    return tables


def engine_text(ratings: dict[str, Rating]) -> str:
    """Return engine.yaml."""
    lines = [f"count: {AIRCRAFT['engine']['number']}", "settings:"]
    for name in ratings:
        lines += [
            f"  {name}:",
            f"    title: {name.replace('_', ' ').capitalize()}",
            "    augmented: false",
            f'    thrust: {{file: tables/{name}_thrust.csv, unit: N, source: "{SOURCE}"}}',
            f'    fuel_flow: {{file: tables/{name}_fuel_flow.csv, unit: kg/s, source: "{SOURCE}"}}',
        ]
    lines += ["idle: idle", "military: cruise", "maximum: climb", "transients:"]
    for name in ("idle_to_military", "military_to_idle", "failure_decay"):
        lines.append(f"  {name}: {{value: 3 s, source: invented for tests}}")
    return "\n".join(lines) + "\n"


def airframe_text() -> str:
    """Return airframe.yaml."""
    wing, invented = AIRCRAFT["wing"], "invented for tests"
    values = {
        "wing_area": (f"{wing['area']} m2", SOURCE),
        "span": (f"{wing['span']} m", SOURCE),
        "mean_chord": (f"{wing['mac']} m", SOURCE),
        "mean_chord_leading_edge_arm": ("16 m", invented),
        "wing_height": ("3 m", invented),
        "moment_reference_arm": ("17 m", invented),
        "moment_reference_height": ("3 m", invented),
        "main_wheel_arm": ("18 m", invented),
        "nose_wheel_arm": ("5 m", invented),
        "centre_of_gravity_height": ("3 m", invented),
        "thrust_line_height": ("2 m", invented),
        "thrust_inclination": ("0 deg", "the library puts thrust along the path"),
        "engine_side_arm": ("5.7 m", invented),
        "static_ground_attitude": ("0 deg", invented),
        "tail_strike_attitude": ("11 deg", invented),
    }
    return "".join(f'{name}: {{value: {one}, source: "{said}"}}\n' for name, (one, said) in values.items())


def write(folder: Path) -> None:
    """Write the sampled files of the pack; those by hand stand beside them."""
    ratings: dict[str, Rating] = {"idle": idle_rating}
    ratings |= {f"part_{round(100 * share)}": part_rating(share) for share in PARTS}
    ratings |= {"cruise": cruise_rating, "climb": climb_rating}
    files = {f"tables/{name}.csv": text for name, text in (aero_tables() | engine_tables(ratings)).items()}
    files |= {"engine.yaml": engine_text(ratings), "airframe.yaml": airframe_text()}
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
