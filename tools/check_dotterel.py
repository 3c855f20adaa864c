"""Print plausibility numbers of the pack `dotterel` by a short road, apart from the program's own physics.

    PYTHONPATH=src python tools/check_dotterel.py

Moment balance, Euler steps and fixed points only, sea level, standard day, no wind. The figures stand in the
pack's notes.md; tests/packs/test_dotterel_tables.py holds them inside the class's ranges.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np

from sortiewright.pack.load import load_pack

G = 9.80665
LB = 0.45359237
LBF = LB * G
KT = 1852 / 3600
FT = 0.3048
RHO = 1.225
SOUND = 340.294
FT_LBF = 1.3558179483

WING_TANKS = {"left_inboard": "wing_tank", "right_inboard": "wing_tank"}
BELLY_TANK = {"belly": "belly_tank"}
BOMBS = {"left_outboard": "triple_rack_plover", "right_outboard": "triple_rack_plover"}
BODY = {
    "left_cheek": "redwing_sighting_pod",
    "right_cheek": "curlew_missile",
    "left_rear_body": "curlew_missile",
    "right_rear_body": "curlew_missile",
}
LOADS: dict[str, dict[str, str]] = {
    "clean": {},
    "practice": {"left_outboard": "triple_rack_pipit", "right_outboard": "triple_rack_pipit"},
    "belly tank": BELLY_TANK,
    "wing tanks": WING_TANKS,
    "wing tanks, pod": WING_TANKS | {"belly": "sandpiper_reconnaissance_pod"},
    "gun and bombs": WING_TANKS | BOMBS | {"belly": "woodpecker_gun_pod"},
    "heaviest": WING_TANKS | BELLY_TANK | BOMBS | BODY,
}

PACK = load_pack("dotterel").pack
A, AERO, ENGINE, MASS, WHEELS = PACK.airframe, PACK.aero, PACK.engine, PACK.mass, PACK.wheels
TAKEOFF, LANDING = PACK.technique.takeoff, PACK.technique.landing
S, CHORD = A.wing_area, A.mean_chord
ALPHAS = np.radians(np.linspace(-6, 26, 3201))


def load(stores: Mapping[str, str], external: float = 1.0) -> tuple[float, float, float, list[float]]:
    """Return takeoff mass, kg, share of mean chord of the CG, drag index, and the CG along the fuel burn."""
    mass, moment, index = MASS.basic_mass, MASS.basic_mass * MASS.basic_arm, 0.0
    fixed = [(seat.standard_mass, seat.arm) for seat in MASS.seats.values()]
    fixed += [(station.fixed_mass, station.arm) for station in MASS.stations.values()]
    for name, key in stores.items():
        store, station = PACK.stores[key], MASS.stations[name]
        fuel = store.fuel_capacity * external
        if key not in station.carries or store.mass + store.fuel_capacity > station.maximum_load:
            raise ValueError(f"{name} does not carry {key}")
        fixed += [(store.mass, station.arm), (fuel, station.arm + store.fuel_arm_offset)]
        index += store.drag_index
    mass += sum(m for m, _ in fixed)
    moment += sum(m * arm for m, arm in fixed)
    share = dict.fromkeys(MASS.tanks, 1.0)
    path: list[tuple[float, float]] = []

    def note() -> None:
        full = [(t.capacity * share[k], t.arm, t.arm_empty or t.arm, share[k]) for k, t in MASS.tanks.items()]
        total = mass + sum(fuel for fuel, *_ in full)
        balance = moment + sum(fuel * (empty + (arm - empty) * part) for fuel, arm, empty, part in full)
        path.append((total, (balance / total - A.mean_chord_leading_edge_arm) / CHORD))

    note()
    for group in MASS.feed_order:
        for part in (0.75, 0.5, 0.25, 0.0):
            for tank in set(group) & set(MASS.tanks):
                share[tank] = part
            note()
    return path[0][0], path[0][1], index, [cg for _, cg in path]


def thrust(setting: str, tas: float, deviation: float = 0.0) -> float:
    """Return the thrust of both engines, N."""
    power = ENGINE.settings[setting]
    factor = power.thrust_temperature_factor
    return 2 * float(power.thrust(tas / SOUND, 0.0)) * (float(factor(deviation)) if factor else 1.0)


@cache
def least_drag(configuration: str) -> float:
    """Return the drag coefficient at zero lift, Mach 0.2."""
    table = AERO.configurations[configuration]
    alpha = float(np.interp(0.0, table.lift(ALPHAS, 0.2), ALPHAS))
    return float(table.drag(alpha, 0.2))


def coefficients(
    configuration: str, alpha: float, tas: float, *, near_ground: bool = False
) -> tuple[float, float]:
    """Return CL and CD with the gear down; near the ground by Anderson's factor on the drag due to lift."""
    table = AERO.configurations[configuration]
    cl, cd = float(table.lift(alpha, tas / SOUND)), float(table.drag(alpha, tas / SOUND))
    if near_ground:
        x = (16 * A.wing_height / A.span) ** 2
        least = least_drag(configuration)
        cd = least + (cd - least) * x / (1 + x)
    return cl, cd + AERO.gear.drag


def stall_speed(mass: float, configuration: str) -> float:
    """Return the power-off stall speed, m/s."""
    tas = 60.0
    for _ in range(20):
        peak = float(AERO.configurations[configuration].maximum_lift(tas / SOUND))
        tas = float(np.sqrt(2 * mass * G / (RHO * S * peak)))
    return tas


def nosewheel_lift_off(mass: float, cg: float, setting: str = "maximum") -> float:
    """Return the speed at which full aft stick takes the load off the nosewheel, m/s."""
    configuration = AERO.configurations[TAKEOFF.configuration]
    alpha, height, friction = A.static_ground_attitude, A.centre_of_gravity_height, WHEELS.rolling_friction
    to_cg = A.main_wheel_arm - (A.mean_chord_leading_edge_arm + cg * CHORD)
    to_reference = A.main_wheel_arm - A.moment_reference_arm
    cm = configuration.pitching_moment_zero + configuration.pitching_moment_slope * alpha
    cm += AERO.gear.pitching_moment + AERO.pitch_control.moment_per_angle * AERO.pitch_control.full_aft_angle
    tas = 60.0
    for _ in range(60):
        cl, cd = coefficients(TAKEOFF.configuration, alpha, tas, near_ground=True)
        bracket = (
            CHORD * cm + cl * (to_reference + friction * height) + cd * (A.moment_reference_height - height)
        )
        need = mass * G * (to_cg + friction * height) + thrust(setting, tas) * (A.thrust_line_height - height)
        tas = float(np.sqrt(2 * need / (RHO * S * bracket)))
    return tas


def trim_units(
    mass: float, cg: float, tas: float, configuration: str = "takeoff", setting: str = "maximum"
) -> float:
    """Return the trim units that balance level flight, gear up, stick free."""
    table, control, power = AERO.configurations[configuration], AERO.pitch_control, thrust(setting, tas)
    q_s, alpha, cl = 0.5 * RHO * tas**2 * S, 0.05, 0.0
    for _ in range(60):
        cl = (mass * G - power * np.sin(alpha + A.thrust_inclination)) / q_s
        alpha = float(np.interp(cl, table.lift(ALPHAS, tas / SOUND), ALPHAS))
    reference = (A.moment_reference_arm - A.mean_chord_leading_edge_arm) / CHORD
    cm = table.pitching_moment_zero + table.pitching_moment_slope * alpha + cl * (cg - reference)
    cm += power * (A.centre_of_gravity_height - A.thrust_line_height) / (q_s * CHORD)
    return float((-cm / control.moment_per_angle - control.trim_zero_angle) / control.trim_unit_angle)


def takeoff(mass: float, cg: float, index: float = 0.0) -> dict[str, float]:
    """Return speeds, kt, and the ground run, ft: run-up, release, military, maximum, rotation, lift-off."""
    lift_nose = nosewheel_lift_off(mass, cg)
    rotate = float(TAKEOFF.rotation_speed(mass)) if TAKEOFF.rotation_speed else lift_nose
    change, step = ENGINE.transients, 0.02
    spool = 0.6 * change.idle_to_military  # what is left of it from 85 %
    tas = run = time = 0.0
    attitude, line = A.static_ground_attitude, 0.0
    while time < 90:
        share = min(time / spool, 1.0)
        lit = float(np.clip((time - spool - change.light_delay) / change.light_to_full, 0, 1))
        power = thrust("run_up", tas) * (1 - share) + thrust("military", tas) * share
        power = power * (1 - lit) + thrust("maximum", tas) * lit
        if tas >= max(rotate, lift_nose):
            attitude = min(attitude + TAKEOFF.pitch_rate * step, TAKEOFF.takeoff_attitude)
        cl, cd = coefficients(TAKEOFF.configuration, attitude, tas, near_ground=True)
        q_s, inclination = 0.5 * RHO * tas**2 * S, attitude + A.thrust_inclination
        load_on_wheels = mass * G - q_s * cl - power * np.sin(inclination)
        if load_on_wheels <= 0:
            break
        drag = q_s * (cd + index * AERO.drag_per_index)
        tas += step * (power * np.cos(inclination) - drag - WHEELS.rolling_friction * load_on_wheels) / mass
        run, time = run + tas * step, time + step
        line = tas if run < 1000 * FT else line
    attitude_deg = float(np.degrees(attitude))
    speeds = {"nosewheel": lift_nose, "rotation": rotate, "lift_off": tas, "line_1000_ft": line}
    rest = {"run_ft": run / FT, "attitude_deg": attitude_deg, "time": time}
    return {k: float(v) / KT for k, v in speeds.items()} | rest


def approach(mass: float, configuration: str) -> dict[str, float]:
    """Return speed, kt, sink, ft/s, thrust, lbf, and trim at 30 %MAC on the glide path, on-speed."""
    alpha, glide, tas = LANDING.on_speed_angle_of_attack, LANDING.glide_angle, 75.0
    power, cl, cd = 0.0, 1.0, 1.0
    for _ in range(40):
        cl, cd = coefficients(configuration, alpha, tas)
        q_s = 0.5 * RHO * tas**2 * S
        power = (q_s * cd - mass * G * np.sin(glide)) / np.cos(alpha + A.thrust_inclination)
        normal = mass * G * np.cos(glide) - power * np.sin(alpha + A.thrust_inclination)
        tas = float(np.sqrt(2 * normal / (RHO * S * cl)))
    return {
        "speed": tas / KT,
        "over_stall": tas / stall_speed(mass, configuration),
        "sink": float(tas * np.sin(glide) / FT),
        "thrust": float(power / LBF),
        "lift_to_drag": cl / cd,
    }


def landing_roll(mass: float, reading: float, *, chute: bool) -> tuple[float, float]:
    """Return the roll from touchdown to rest, ft, and the brakes' energy, Mft.lbf."""
    tas = LANDING.touchdown_speed_share * approach(mass, "landing")["speed"] * KT
    canopy, run, time, energy, step = WHEELS.chute, 0.0, 0.0, 0.0, 0.02
    until = LANDING.aerobrake_until_cas or 0.0
    while tas > 0.5 and time < 200:
        nose_up = tas > until
        alpha = LANDING.aerobrake_angle_of_attack if nose_up else A.static_ground_attitude
        cl, cd = coefficients("landing", alpha or 0.0, tas, near_ground=True)
        q = 0.5 * RHO * tas**2
        drag = q * S * (cd + AERO.speedbrake.drag)
        if chute and canopy and time > LANDING.chute_delay + canopy.inflation_time:
            drag += q * canopy.drag_area
        load_on_wheels = max(mass * G - q * S * cl, 0.0)
        brakes = 0.0
        if not nose_up and time > LANDING.free_roll_time:
            wanted = float(WHEELS.braking_friction(reading)) * load_on_wheels * (1 - WHEELS.nose_load_share)
            brakes = min(wanted, WHEELS.maximum_brake_force or np.inf)
        rolling = WHEELS.rolling_friction * load_on_wheels * (WHEELS.nose_load_share if brakes else 1.0)
        energy += brakes * tas * step
        tas += step * (thrust("idle", tas) - drag - rolling - brakes) / mass
        run, time = run + tas * step, time + step
    return run / FT, energy / FT_LBF / 1e6


def minimum_control_ground_speed() -> float:
    """Return the speed at which the rudder alone balances full thrust on one side, m/s."""
    control = AERO.directional_control
    if control is None:
        raise ValueError("the pack has no directional control")
    tas, arm = 50.0, A.engine_side_arm
    for _ in range(40):
        side = S * A.span * control.rudder_yawing_moment - ENGINE.windmilling_drag_area * arm
        tas = float(np.sqrt(2 * thrust("maximum", tas) / 2 * arm / side / RHO))
    return tas


def single_engine_gradient(mass: float, *, gear: bool, deviation: float = 0.0, index: float = 0.0) -> float:
    """Return the steady climb gradient on one engine at maximum, takeoff flap, at the book's speed.

    Standard density: a warmer day is seen in the thrust only.
    """
    name, control = TAKEOFF.configuration, AERO.directional_control
    tas = TAKEOFF.single_engine_climb_cas_over_stall * stall_speed(mass, name)
    q_s, power, alpha = 0.5 * RHO * tas**2 * S, thrust("maximum", tas, deviation) / 2, 0.15
    for _ in range(40):
        cl = (mass * G - power * np.sin(alpha + A.thrust_inclination)) / q_s
        alpha = float(np.interp(cl, AERO.configurations[name].lift(ALPHAS, tas / SOUND), ALPHAS))
    _, cd = coefficients(name, alpha, tas)
    dead = q_s / S * ENGINE.windmilling_drag_area
    yaw = (power + dead) * A.engine_side_arm / (q_s * A.span)
    cd += index * AERO.drag_per_index - (0.0 if gear else AERO.gear.drag)
    cd += (control.asymmetric_drag_factor if control else 0.0) * yaw**2
    return float((power - q_s * cd - dead) / (mass * G))


def level_mach(setting: str, pressure_altitude_ft: float, mass: float = 36_000 * LB) -> float:
    """Return the highest Mach number in level flight, clean, nan where there is none."""
    height = pressure_altitude_ft * FT
    theta = max(1 - 0.0065 * height / 288.15, 216.65 / 288.15)
    pressure = 101325 * theta**5.25588 * np.exp(-max(height - 11_000, 0) / 6341.62)
    table, power = AERO.configurations["clean"], ENGINE.settings[setting]
    best = np.nan
    for mach in np.arange(0.4, 1.8, 0.01):
        q_s = 0.7 * pressure * mach**2 * S
        lift = table.lift(ALPHAS, mach)
        rising = slice(0, int(np.argmax(lift)) + 1)
        if mass * G / q_s < lift.max():
            alpha = np.interp(mass * G / q_s, lift[rising], ALPHAS[rising])
            if 2 * float(power.thrust(mach, height)) >= q_s * float(table.drag(alpha, mach)):
                best = mach
    return float(best)


def main() -> None:
    """Print all of it as Markdown."""
    print(
        "| load | lb | %MAC, over the burn | stall | nosewheel | rotation | lift-off | 1,000 ft | run, ft |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for name, stores in LOADS.items():
        mass, cg, index, path = load(stores)
        path = path + load(stores, external=0.0)[3]
        found = {"stall": stall_speed(mass, TAKEOFF.configuration) / KT} | takeoff(mass, cg, index)
        keys = ("stall", "nosewheel", "rotation", "lift_off", "line_1000_ft", "run_ft")
        cgs = f"{100 * cg:.1f}, {100 * min(path):.1f} to {100 * max(path):.1f}"
        print(f"| {name} | {mass / LB:,.0f} | {cgs} |", " | ".join(f"{found[k]:.0f}" for k in keys), "|")

    cgs = (0.25, 0.28, 0.30, 0.32, 0.34)
    print("\nNosewheel lift-off, kt / trim units at 200 kt in takeoff flap / at 350 kt clean")
    for weight in (32_000, 38_000, 46_000, 52_000):
        cells: list[str] = []
        for cg in cgs:
            mass = weight * LB
            speed, slow = nosewheel_lift_off(mass, cg) / KT, trim_units(mass, cg, 200 * KT)
            fast = trim_units(mass, cg, 350 * KT, "clean", "military")
            cells.append(f"{100 * cg:.0f} %MAC {speed:.0f}/{slow:.1f}/{fast:.1f}")
        print(f"{weight:,} lb:", ", ".join(cells))

    print("\nApproach: speed kt, over stall, sink ft/s, thrust lbf, L/D")
    for weight in (28_000, 31_000, 35_000, 39_500):
        for configuration in ("landing", "clean"):
            found = approach(weight * LB, configuration)
            print(f"{weight:,} lb {configuration}:", ", ".join(f"{v:.4g}" for v in found.values()))

    print("\nLanding roll ft and brake energy Mft.lbf, with chute; without")
    for weight in (31_000, 39_500):
        for reading in (23, 12, 5):
            rolls = [landing_roll(weight * LB, reading, chute=chute) for chute in (True, False)]
            print(
                f"{weight:,} lb, RCR {reading}:", "; ".join(f"{run:,.0f}, {heat:.1f}" for run, heat in rolls)
            )

    print(f"\nMinimum control ground speed {minimum_control_ground_speed() / KT:.0f} kt")
    print("\nOne engine, climb gradient: standard day, 20 degC warmer")
    for weight in (38_000, 46_000, 53_000):
        for gear in (True, False):
            climbs = [single_engine_gradient(weight * LB, gear=gear, deviation=d) for d in (0.0, 20.0)]
            print(f"{weight:,} lb, gear {'down' if gear else 'up'}:", ", ".join(f"{c:.3f}" for c in climbs))

    print("\nHighest level Mach number, clean, 36,000 lb: military, maximum")
    for height in (0, 10_000, 25_000, 36_000, 45_000):
        print(f"{height:,} ft:", ", ".join(f"{level_mach(s, height):.2f}" for s in ("military", "maximum")))


if __name__ == "__main__":
    main()
