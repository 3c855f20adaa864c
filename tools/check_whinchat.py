"""Print plausibility numbers of the pack `whinchat` by a separate road, apart from the program's own physics.

    PYTHONPATH=src python tools/check_whinchat.py

Takeoffs, stops and landings come from the folder `point_mass`. The figures stand in the pack's notes.md and
book.yaml; tests/packs holds them beside what the program computes.
"""

from __future__ import annotations

from math import inf, isfinite

from point_mass.air import FT, KT, LB, Day, standard_day
from point_mass.aircraft import Aircraft
from point_mass.book import print_book
from point_mass.stopping import Rest, land, reject
from point_mass.takeoff import accelerate, take_off

from sortiewright.pack import load_pack

PACK = load_pack("whinchat").pack
USUAL_CG = 0.257
SEA_LEVEL, WARM = standard_day(), standard_day(0.0, 15.0)
HIGH = standard_day(4000 * FT, 15.0)


def at(weight: float, day: Day = SEA_LEVEL, cg: float = USUAL_CG) -> Aircraft:
    """Return the aircraft of a weight, lb, on a day."""
    return Aircraft(PACK, weight * LB, cg, day)


def takeoff(weight: float, day: Day = SEA_LEVEL) -> dict[str, float]:
    """Return speeds, kt calibrated, and distances, ft, of a takeoff by the book."""
    one = at(weight, day)
    flight = take_off(one)
    return {
        "nosewheel": day.cas(one.nosewheel_lift_off()) / KT,
        "lift_off": day.cas(flight.lift_off_tas) / KT,
        "over_stall": flight.lift_off_tas / one.stall(PACK.technique.takeoff.configuration),
        "run_ft": flight.ground_run / FT,
        "screen_ft": flight.to_screen / FT,
    }


def rejected(weight: float, speed: float, reading: float = 23.0, day: Day | None = None) -> Rest:
    """Return the stop of a takeoff rejected at a ground speed, kt."""
    one = at(weight, day or standard_day(reading=reading))
    return reject(one, accelerate(one, speed * KT), chute=False)


def refusal_speed(weight: float, reading: float, runway: float) -> float:
    """Return the highest speed, kt, from which the stop fits in a runway, ft; inf if even from lift-off."""
    one = at(weight, standard_day(reading=reading))
    low, high = 0.0, take_off(one).lift_off_tas / KT
    if rejected(weight, high, reading).distance <= runway * FT:
        return inf
    for _ in range(14):
        speed = 0.5 * (low + high)
        fits = rejected(weight, speed, reading).distance <= runway * FT
        low, high = (speed, high) if fits else (low, speed)
    return low


def print_takeoffs() -> None:
    """Print takeoffs by mass and day, and what the balance does to the nose."""
    print("| mass, lb | day | nosewheel lift-off, kt | lift-off, kt | over stall | run, ft | 50 ft, ft |")
    print("|---|---|---|---|---|---|---|")
    days = {"standard": SEA_LEVEL, "30 degC": WARM, "4,000 ft, 15 degC above standard": HIGH}
    for name, day in days.items():
        for weight in (6500, 7400, 7900):
            found = takeoff(weight, day)
            speeds = f"{found['nosewheel']:.0f} | {found['lift_off']:.0f} | {found['over_stall']:.2f}"
            print(f"| {weight:,} | {name} | {speeds} | {found['run_ft']:,.0f} | {found['screen_ft']:,.0f} |")
    noses = [
        f"{100 * cg:.1f} %MAC {at(7400, cg=cg).nosewheel_lift_off() / KT:.0f}" for cg in (0.235, 0.26, 0.3)
    ]
    print("\nNosewheel lift-off at 7,400 lb, kt:", ", ".join(noses))


def print_stops() -> None:
    """Print landings and rejected takeoffs with the energy into the brakes."""
    print("\nLanding, standard day: approach, touchdown kt; 50 ft to stop, ft and MJ, RCR 23; 12; 5:\n")
    for weight in (6500, 7400, 7900):
        fast = at(weight).approach()[0] / KT
        text = f"{fast:.0f}, {fast * PACK.technique.landing.touchdown_speed_share:.0f}"
        for reading in (23.0, 12.0, 5.0):
            air, roll = land(at(weight, standard_day(reading=reading)), chute=False)
            text += f"; {(air + roll.distance) / FT:,.0f}, {roll.energy / 1e6:.1f}"
        print(f"- {weight:,} lb: {text}")

    print("\nTakeoff rejected at rotation speed, RCR 23: ft from release, brake energy MJ:\n")
    tailwind = standard_day(headwind=-10 * KT)
    days = {"standard": SEA_LEVEL, "tailwind 10 kt": tailwind, "4,000 ft, 15 degC above standard": HIGH}
    for weight in (6500, 7340, 7900):
        for name, day in days.items():
            speed = (at(weight, day).rotation() - day.headwind) / KT
            stop = rejected(weight, speed, day=day)
            print(f"- {weight:,} lb, {name}, {speed:.0f} kt over the ground:", end=" ")
            print(f"{stop.distance / FT:,.0f}, {stop.energy / 1e6:.1f}")

    print("\nRefusal speed at 7,400 lb on 6,000 ft, RCR 23; 12; 5, kt:", end=" ")
    speeds = [refusal_speed(7400, reading, 6000) for reading in (23.0, 12.0, 5.0)]
    print("; ".join(f"{speed:.0f}" if isfinite(speed) else "above lift-off" for speed in speeds))


def main() -> None:
    """Print all of it as Markdown."""
    print_takeoffs()
    print_stops()
    print_book(PACK)


if __name__ == "__main__":
    main()
