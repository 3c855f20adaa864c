"""Print plausibility numbers of the pack `dotterel` by a separate road, apart from the program's own physics.

    PYTHONPATH=src python tools/check_dotterel.py

Sea level, standard day, no wind where nothing else is said. Takeoffs, stops and landings come from the folder
`point_mass`. The figures stand in the pack's notes.md and book.yaml; tests/packs holds them inside the ranges
of the class and beside what the program computes.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, nan, sin

from point_mass.air import FT, KT, LB, LBF, MFT_LBF, G, standard_day
from point_mass.aircraft import Aircraft
from point_mass.book import print_book
from point_mass.engine_out import critical, minimum_control, single_engine_gradient
from point_mass.stopping import land, reject
from point_mass.takeoff import accelerate, speed_at, take_off

from sortiewright.pack import load_pack

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
USUAL_CG = 0.30

PACK = load_pack("dotterel").pack
A, AERO, ENGINE, MASS, WHEELS = PACK.airframe, PACK.aero, PACK.engine, PACK.mass, PACK.wheels
TAKEOFF, LANDING = PACK.technique.takeoff, PACK.technique.landing


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
        path.append((total, (balance / total - A.mean_chord_leading_edge_arm) / A.mean_chord))

    note()
    for group in MASS.feed_order:
        for part in (0.75, 0.5, 0.25, 0.0):
            for tank in set(group) & set(MASS.tanks):
                share[tank] = part
            note()
    return path[0][0], path[0][1], index, [cg for _, cg in path]


def at(weight: float, deviation: float = 0.0, **day: float) -> Aircraft:
    """Return the aircraft of a weight, lb, usual balance, on a standard day or one so many degrees warmer."""
    return Aircraft(PACK, weight * LB, USUAL_CG, standard_day(0.0, deviation, **day))


def takeoff(mass: float, cg: float, index: float = 0.0) -> dict[str, float]:
    """Return speeds, kt, the ground run and the distance to the screen, ft, of a takeoff by the book."""
    one = Aircraft(PACK, mass, cg, index=index)
    flight, line = take_off(one), speed_at(one, 1000 * FT)
    speeds = {"stall": one.stall(TAKEOFF.configuration), "nosewheel": one.nosewheel_lift_off()}
    speeds |= {"rotation": one.rotation(), "lift_off": flight.lift_off_tas, "line_1000_ft": line}
    distances = {"run_ft": flight.ground_run / FT, "screen_ft": flight.to_screen / FT}
    return {name: speed / KT for name, speed in speeds.items()} | distances


def trim_units(one: Aircraft, tas: float, configuration: str = "takeoff", setting: str = "maximum") -> float:
    """Return the trim units that balance level flight, gear up, stick free."""
    record, control = AERO.configurations[configuration], AERO.pitch_control
    power = 2 * one.thrust(setting, tas)
    q_s, alpha, cl = one.pressure(tas) * A.wing_area, 0.05, 0.0
    for _ in range(60):
        cl = (one.weight - power * sin(alpha + A.thrust_inclination)) / q_s
        alpha = one.wings[configuration].angle_of(cl, tas / one.day.sound)
    cm = record.pitching_moment_zero + record.pitching_moment_slope * alpha
    cm += cl * (one.cg_arm - A.moment_reference_arm) / A.mean_chord
    cm += power * (A.centre_of_gravity_height - A.thrust_line_height) / (q_s * A.mean_chord)
    return (-cm / control.moment_per_angle - control.trim_zero_angle) / control.trim_unit_angle


def approach(weight: float, configuration: str) -> dict[str, float]:
    """Return speed, kt, over stall, sink, ft/s, thrust, lbf, and lift over drag, on the glide path."""
    one = at(weight)
    tas, thrust = one.approach(configuration)
    cl, cd = one.coefficients(configuration, LANDING.on_speed_angle_of_attack, tas)
    return {
        "speed": tas / KT,
        "over_stall": tas / one.stall(configuration),
        "sink": tas * sin(LANDING.glide_angle) / FT,
        "thrust": thrust / LBF,
        "lift_to_drag": cl / cd,
    }


def landing_roll(weight: float, reading: float, *, chute: bool) -> tuple[float, float]:
    """Return the roll from touchdown to rest, ft, and the brakes' energy, Mft.lbf."""
    _, roll = land(at(weight, reading=reading), chute=chute)
    return roll.distance / FT, roll.energy / MFT_LBF


def rejected(weight: float, speed: float, *, chute: bool) -> tuple[float, float]:
    """Return the stop of a takeoff rejected at a speed, kt: ft from release, and Mft.lbf into the brakes."""
    one = at(weight)
    stop = reject(one, accelerate(one, speed * KT), chute=chute)
    return stop.distance / FT, stop.energy / MFT_LBF


def energy_without_credit(weight: float, speed: float) -> float:
    """Return the kinetic energy of all braked wheels, Mft.lbf, nothing taken off for drag; lb and kt."""
    return 0.5 * weight * LB * (speed * KT) ** 2 / MFT_LBF


def level_mach(setting: str, pressure_altitude_ft: float, mass: float = 36_000 * LB) -> float:
    """Return the highest Mach number in level flight, clean, nan where there is none."""
    height = pressure_altitude_ft * FT
    theta = max(1 - 0.0065 * height / 288.15, 216.65 / 288.15)
    beyond = exp(-max(height - 11_000, 0) / 6341.62)
    pressure, power = 101325 * theta**5.25588 * beyond, ENGINE.settings[setting]
    wing, best = Aircraft(PACK, mass, USUAL_CG).wings["clean"], nan
    for step in range(40, 180):
        mach = step / 100
        q_s = 0.7 * pressure * mach**2 * A.wing_area
        alpha = wing.angle_of(mass * G / q_s, mach)
        enough = 2 * float(power.thrust(mach, height))
        if alpha == alpha and enough >= q_s * wing.drag(alpha, mach):
            best = mach
    return best


def print_takeoffs() -> None:
    """Print the takeoffs of the named loads, and what their balance does to the nose."""
    columns = "load|lb|%MAC, over the burn|stall|nosewheel|rotation|lift-off|1,000 ft|run, ft|50 ft, ft"
    print(f"| {columns.replace('|', ' | ')} |\n|{'---|' * (columns.count('|') + 1)}")
    for name, stores in LOADS.items():
        mass, cg, index, path = load(stores)
        path = path + load(stores, external=0.0)[3]
        found = takeoff(mass, cg, index)
        keys = ("stall", "nosewheel", "rotation", "lift_off", "line_1000_ft", "run_ft", "screen_ft")
        cgs = f"{100 * cg:.1f}, {100 * min(path):.1f} to {100 * max(path):.1f}"
        print(f"| {name} | {mass / LB:,.0f} | {cgs} |", " | ".join(f"{found[k]:,.0f}" for k in keys), "|")

    print("\nNosewheel lift-off, kt / trim units at 200 kt in takeoff flap / at 350 kt clean:\n")
    for weight in (32_000, 38_000, 46_000, 52_000):
        cells: list[str] = []
        for cg in (0.25, 0.28, 0.30, 0.32, 0.34):
            one = Aircraft(PACK, weight * LB, cg)
            slow, fast = trim_units(one, 200 * KT), trim_units(one, 350 * KT, "clean", "military")
            cells.append(f"{100 * cg:.0f} %MAC {one.nosewheel_lift_off() / KT:.0f}/{slow:.1f}/{fast:.1f}")
        print(f"- {weight:,} lb:", ", ".join(cells))


def print_failures() -> None:
    """Print critical field lengths, stops and their brake energy, and climbs on one engine."""
    print("\nCritical field length, ft, and critical engine failure speed, kt, with chute, RCR 23; 12:\n")
    for weight in (38_000, 43_000, 48_000):
        pairs = [critical(at(weight, reading=reading), chute=True) for reading in (23.0, 12.0)]
        text = "; ".join(f"{length / FT:,.0f} at {cas / KT:.0f}" for length, cas in pairs)
        print(f"- {weight:,} lb: {text}")

    print("\nTakeoff rejected, RCR 23, with chute; without: ft from release, brake energy Mft.lbf;")
    print("kinetic energy at the event:\n")
    for weight in (38_000, 43_000, 48_000, 53_000):
        for speed in (120, 140):
            stops = [rejected(weight, speed, chute=chute) for chute in (True, False)]
            text = "; ".join(f"{run:,.0f}, {heat:.1f}" for run, heat in stops)
            print(f"- {weight:,} lb, {speed} kt: {text}; {energy_without_credit(weight, speed):.1f}")

    print(f"\nMinimum control ground speed {minimum_control(at(38_000)) / KT:.0f} kt.")
    print("\nOne engine, climb gradient: standard day, 20 degC warmer:\n")
    for weight in (38_000, 43_000, 48_000, 53_000):
        for gear in (True, False):
            climbs = [single_engine_gradient(at(weight, warmer), gear=gear) for warmer in (0.0, 20.0)]
            print(f"- {weight:,} lb, gear {'down' if gear else 'up'}:", ", ".join(f"{c:.3f}" for c in climbs))


def print_landings() -> None:
    """Print approaches and landing rolls."""
    print("\nApproach: speed kt, over stall, sink ft/s, thrust lbf, L/D:\n")
    for weight in (28_000, 31_000, 35_000, 39_500):
        for configuration in ("landing", "clean"):
            found = approach(weight, configuration)
            print(f"- {weight:,} lb {configuration}:", ", ".join(f"{v:.4g}" for v in found.values()))

    print("\nLanding roll ft and brake energy Mft.lbf, with chute; without:\n")
    for weight in (31_000, 39_500):
        for reading in (23, 12, 5):
            rolls = [landing_roll(weight, reading, chute=chute) for chute in (True, False)]
            text = "; ".join(f"{run:,.0f}, {heat:.1f}" for run, heat in rolls)
            print(f"- {weight:,} lb, RCR {reading}: {text}")


def main() -> None:
    """Print all of it as Markdown."""
    print_takeoffs()
    print_landings()
    print_failures()
    print("\nHighest level Mach number, clean, 36,000 lb: military, maximum:\n")
    for height in (0, 10_000, 25_000, 36_000, 45_000):
        fastest = [level_mach(setting, height) for setting in ("military", "maximum")]
        print(f"- {height:,} ft:", ", ".join("none" if m != m else f"{m:.2f}" for m in fastest))
    print_book(PACK)


if __name__ == "__main__":
    main()
