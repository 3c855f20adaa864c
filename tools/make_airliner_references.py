"""Write reference values of an open aircraft performance model, for tests of the pack `airliner_sampled`.

    pip install openap==2.6.2
    python tools/make_airliner_references.py tests/data/airliner_references

Only the library, NumPy and SciPy are needed; nothing of sortiewright is used. Points are off the nodes of the
pack's tables. Climbs and descents are the library's thrust, drag and fuel functions, stepped through time by
one second; thrust in a climb is the library's at the rate of climb of that step. Speeds and heights of the
profile are the means which the library has from recorded flights. A second set of climbs is flown with the
thrust that the pack's tables hold, of a stated mass's rate of climb: only the integrator is left to differ.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from functools import lru_cache
from itertools import product
from pathlib import Path

import numpy as np
from make_airliner_pack import climb_rating
from openap import WRAP, Drag, FuelFlow, Thrust, aero, prop
from scipy.optimize import brentq

TYPE = "A320"
THRUST, DRAG, FUEL, PROFILE = Thrust(TYPE), Drag(TYPE), FuelFlow(TYPE), WRAP(TYPE)
AIRCRAFT = prop.aircraft(TYPE)
MASSES = (55_000.0, 65_000.0, 75_000.0)
STEP = 1.0  # s
MILE = 1852.0
MOST_LIFT = 0.9  # the library has no stall; none is asked for more
MOST_MACH, MOST_CAS = AIRCRAFT["mmo"], AIRCRAFT["vmo"] * aero.kts
START_HEIGHT, START_CAS = 1_500.0 * aero.ft, 250.0 * aero.kts
Speed = Callable[[float], float]  # of height m: true airspeed m/s
Power = Callable[[float, float, float], float]  # of true airspeed m/s, height m and rate m/s: thrust N


def drag_at(mass: float, tas: float, height: float, rate: float = 0.0) -> float:
    """Return drag, N; SI."""
    return float(DRAG.clean(mass, tas / aero.kts, height / aero.ft, rate / aero.fpm))


def climb_thrust(tas: float, height: float, rate: float) -> float:
    """Return climb thrust, N, at a rate of climb; SI."""
    return float(THRUST.climb(tas / aero.kts, height / aero.ft, rate / aero.fpm))


def idle_thrust(tas: float, height: float, rate: float) -> float:
    """Return idle thrust, N; SI."""
    return float(THRUST.descent_idle(tas / aero.kts, height / aero.ft))


def table_thrust(tas: float, height: float, rate: float) -> float:
    """Return the climb thrust that the pack's tables hold, N; SI."""
    return _rated(tas / aero.kts, height / aero.ft)


_rated = lru_cache(maxsize=4)(climb_rating)  # asked again for each guess of the rate of climb


def lift_coefficient(mass: float, tas: float, height: float) -> float:
    """Return the lift coefficient of level flight; SI."""
    return mass * aero.g0 / (0.5 * float(aero.density(height)) * tas**2 * AIRCRAFT["wing"]["area"])


def level_rows() -> Iterable[tuple[float, ...]]:
    """Return mass, altitude ft, Mach number, drag N and fuel flow kg/s of level flight in the envelope."""
    masses = (50_000.0, 58_000.0, 66_000.0, 74_000.0)
    altitudes = (1_700.0, 8_900.0, 16_300.0, 23_800.0, 31_100.0, 36_400.0, 38_700.0)
    for mass, altitude, mach in product(masses, altitudes, (0.37, 0.44, 0.52, 0.61, 0.69, 0.77, 0.81)):
        height = altitude * aero.ft
        tas = float(aero.mach2tas(mach, height))
        drag = drag_at(mass, tas, height)
        if lift_coefficient(mass, tas, height) > MOST_LIFT or float(aero.tas2cas(tas, height)) > MOST_CAS:
            continue
        if drag < float(THRUST.cruise(tas / aero.kts, altitude)):
            yield mass, altitude, mach, drag, float(FUEL.enroute(mass, tas / aero.kts, altitude))


def power_rows() -> Iterable[tuple[float | str, ...]]:
    """Return thrust N, fuel flow kg/s and steady rate of climb m/s at the three ratings."""
    for mass, altitude, mach in product(MASSES, (3_700.0, 13_600.0, 21_100.0, 33_900.0), (0.48, 0.63, 0.77)):
        height = altitude * aero.ft
        tas = float(aero.mach2tas(mach, height))
        if lift_coefficient(mass, tas, height) > MOST_LIFT or float(aero.tas2cas(tas, height)) > MOST_CAS:
            continue
        rate = rate_of_climb(mass, tas, height, 1.0, climb_thrust)
        thrusts = {
            "climb": climb_thrust(tas, height, rate),
            "cruise": float(THRUST.cruise(tas / aero.kts, altitude)),
            "idle": float(THRUST.descent_idle(tas / aero.kts, altitude)),
        }
        for name, thrust in thrusts.items():
            yield name, mass, altitude, mach, thrust, float(FUEL.at_thrust(thrust)), rate


def rate_of_climb(mass: float, tas: float, height: float, gaining: float, power: Power) -> float:
    """Return the rate of climb, m/s: excess power over weight, over ``gaining``, the part of speed in it."""
    rate = 0.0
    for _ in range(60):
        excess = power(tas, height, max(rate, 0.0)) - drag_at(mass, tas, height, rate)
        change = tas * excess / (mass * aero.g0) / gaining - rate
        rate += 0.8 * change
        if abs(change) < 1e-7:
            break
    return rate


def schedule(cas: float, mach: float) -> Speed:
    """Return constant CAS below and constant Mach number above."""
    return lambda height: min(float(aero.cas2tas(cas, height)), float(aero.mach2tas(mach, height)))


def fly(
    mass: float, height: float, to_height: float, speed: Speed, power: Power
) -> tuple[float, float, float]:
    """Return time s, fuel kg and distance m along a schedule, by the midpoint rule over time."""
    time = fuel = distance = 0.0
    up = to_height > height

    def slopes(h: float, burnt: float) -> tuple[float, float, float]:
        tas = speed(h)
        gaining = 1.0 + tas / aero.g0 * (speed(h + 0.5) - speed(h - 0.5))
        rate = rate_of_climb(mass - burnt, tas, h, gaining, power)
        flow = float(FUEL.at_thrust(power(tas, h, max(rate, 0.0))))
        return rate, flow, float(np.sqrt(tas**2 - rate**2))

    while (height < to_height) if up else (height > to_height):
        first = slopes(height, fuel)
        middle = slopes(height + 0.5 * STEP * first[0], fuel + 0.5 * STEP * first[1])
        step = min(STEP, (to_height - height) / middle[0])
        height, fuel = height + step * middle[0], fuel + step * middle[1]
        time, distance = time + step, distance + step * middle[2]
        if step < STEP:
            break
    return time, fuel, distance


def accelerate(mass: float, height: float, cas: float, to_cas: float) -> tuple[float, float, float]:
    """Return time s, fuel kg and distance m of a level acceleration at the cruise rating."""
    time = fuel = distance = 0.0
    tas, goal = float(aero.cas2tas(cas, height)), float(aero.cas2tas(to_cas, height))
    while tas < goal:
        thrust = float(THRUST.cruise(tas / aero.kts, height / aero.ft))
        gain = (thrust - drag_at(mass - fuel, tas, height)) / (mass - fuel)
        step = min(0.1, (goal - tas) / gain)
        tas, time = tas + step * gain, time + step
        fuel, distance = fuel + step * float(FUEL.at_thrust(thrust)), distance + step * tas
        if step < 0.1:
            break
    return time, fuel, distance


def climb_rows(power: Power = climb_thrust) -> Iterable[tuple[float, ...]]:
    """Return start mass, CAS m/s, Mach number and top m, then time s, fuel kg and distance m.

    From 1,500 ft and 250 kt: the acceleration, then the climb to the height at which cruise begins.
    """
    top = 1_000.0 * PROFILE.cruise_init_alt()["default"]
    usual = PROFILE.climb_const_vcas()["default"], PROFILE.climb_const_mach()["default"]
    slow = PROFILE.climb_const_vcas()["minimum"], PROFILE.climb_const_mach()["minimum"]
    for mass, (cas, mach) in product(MASSES, (usual, slow)):
        begun = accelerate(mass, START_HEIGHT, START_CAS, cas)
        flown = fly(mass - begun[1], START_HEIGHT, top, schedule(cas, mach), power)
        yield mass, cas, mach, top, *(a + b for a, b in zip(begun, flown, strict=True))


def table_climb_rows() -> Iterable[tuple[float, ...]]:
    """Return the same climbs with the thrust that the pack's tables hold."""
    return climb_rows(table_thrust)


def descent_rows() -> Iterable[tuple[float, ...]]:
    """Return the same of descents at idle, from the height of cruise to 1,500 ft."""
    top = 1_000.0 * PROFILE.cruise_alt()["default"]
    cas, mach = PROFILE.descent_const_vcas()["default"], PROFILE.descent_const_mach()["default"]
    for mass in MASSES[:2]:
        yield mass, cas, mach, top, *fly(mass, top, START_HEIGHT, schedule(cas, mach), idle_thrust)


def leg_rows() -> Iterable[tuple[float, ...]]:
    """Return start mass, altitude ft, Mach number, distance m, then time s and fuel kg of cruise legs."""
    for mass, altitude, mach, miles in (
        (72_000.0, 33_000.0, 0.78, 1_500.0),
        (64_000.0, 37_000.0, 0.76, 1_000.0),
        (60_000.0, 21_000.0, 0.62, 400.0),
    ):
        tas, fuel, steps = float(aero.mach2tas(mach, altitude * aero.ft)), 0.0, 2_000
        time = miles * MILE / tas
        for _ in range(steps):
            first = float(FUEL.enroute(mass - fuel, tas / aero.kts, altitude))
            half = fuel + 0.5 * first * time / steps
            fuel += float(FUEL.enroute(mass - half, tas / aero.kts, altitude)) * time / steps
        yield mass, altitude, mach, miles * MILE, time, fuel


def best_range_rows() -> Iterable[tuple[float, ...]]:
    """Return mass, altitude ft and its best Mach number by the library's fuel flow, and m/kg there.

    At stated altitudes: without wave drag the library's best altitude lies where its thrust ends.
    """
    machs = np.arange(0.4, MOST_MACH + 1e-9, 0.0005)
    for mass, altitude in product(MASSES, (15_000.0, 25_000.0, 35_000.0)):
        height = altitude * aero.ft
        tas = np.asarray(aero.mach2tas(machs, height))
        flow = np.asarray(FUEL.enroute(mass, tas / aero.kts, altitude))
        held = np.asarray(DRAG.clean(mass, tas / aero.kts, altitude)) < THRUST.cruise(
            tas / aero.kts, altitude
        )
        value = np.where(held, tas / flow, 0.0)
        best = int(np.argmax(value))
        yield mass, altitude, float(machs[best]), float(value[best])


def ceiling_rows() -> Iterable[tuple[float, ...]]:
    """Return mass, rate ft/min and the altitude ft where climb thrust leaves it at the best Mach number.

    Where it lies under 44,000 ft, to stay inside the tables of the pack.
    """
    machs = np.arange(0.4, MOST_MACH + 1e-9, 0.0005)
    for mass, rate in product(MASSES, (100.0, 500.0)):

        def excess(altitude: float, mass: float = mass, rate: float = rate) -> float:
            tas = np.asarray(aero.mach2tas(machs, altitude * aero.ft))
            thrust = np.asarray(THRUST.climb(tas / aero.kts, altitude, rate))
            drag = np.asarray(DRAG.clean(mass, tas / aero.kts, altitude, rate))
            return float(np.max(tas * (thrust - drag))) / (mass * aero.g0) - rate * aero.fpm

        if excess(44_000.0) < 0.0:
            yield mass, rate, float(brentq(excess, 30_001.0, 44_000.0))


FILES = {
    "level.csv": ("mass_kg,altitude_ft,mach,drag_N,fuel_flow_kg_s", level_rows),
    "power.csv": ("setting,mass_kg,altitude_ft,mach,thrust_N,fuel_flow_kg_s,rate_m_s", power_rows),
    "climbs.csv": ("mass_kg,cas_m_s,mach,top_m,time_s,fuel_kg,distance_m", climb_rows),
    "table_climbs.csv": ("mass_kg,cas_m_s,mach,top_m,time_s,fuel_kg,distance_m", table_climb_rows),
    "descents.csv": ("mass_kg,cas_m_s,mach,top_m,time_s,fuel_kg,distance_m", descent_rows),
    "legs.csv": ("mass_kg,altitude_ft,mach,distance_m,time_s,fuel_kg", leg_rows),
    "best_range.csv": ("mass_kg,altitude_ft,mach,specific_range_m_kg", best_range_rows),
    "ceilings.csv": ("mass_kg,rate_ft_min,altitude_ft", ceiling_rows),
}


def write(folder: Path) -> None:
    """Write one CSV a kind."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, (header, rows) in FILES.items():
        lines = [",".join(one if isinstance(one, str) else f"{one:.8g}" for one in row) for row in rows()]
        (folder / name).write_text("\n".join([header, *lines, ""]), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
