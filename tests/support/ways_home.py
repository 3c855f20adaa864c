"""Ways home for tests: how they are asked for, and one flown forwards by the flight log's functions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from aeroplanes import make_pack

from sortiewright.pack import Pack, make_table
from sortiewright.performance import (
    AirAbove,
    CruiseSpeed,
    DescentSchedule,
    HomePower,
    HomeProfiles,
    HomeStarts,
    SpeedChange,
    SteadySpeed,
    WayHome,
    cruise_distance,
    flight_setup,
    fly_descent,
    fly_schedule,
    make_flight_cases,
)
from sortiewright.performance.return_cases import scheduled_mach

FOOT, MILE, POUND, KNOT = 0.3048, 1852.0, 0.45359237, 1852.0 / 3600.0
POWER = HomePower("military", "military", "idle")
FARTHEST = CruiseSpeed()
SUB_LEGS = 12  # of the cruise flown forwards: one step of its own would be as rough as what it checks


@dataclass(frozen=True)
class Asked:
    """A batch of ways home in constant wind and deviation."""

    profiles: HomeProfiles
    starts: HomeStarts
    air: AirAbove


def one_profile(
    *,
    dry_mass=29_000.0 * POUND,
    drag_index=30.0,
    fuel_at_fix=2_000.0 * POUND,
    fix_altitude=1_500.0 * FOOT,
    gear=0.0,
    failed=0,
    climb_cas=350.0 * KNOT,
    climb_mach=0.85,
    descent_cas=280.0 * KNOT,
    descent_mach=0.8,
    maximum_cas=600.0 * KNOT,
    maximum_mach=1.1,
    cruise_altitude=np.nan,
    speed=FARTHEST,
) -> HomeProfiles:
    """Return one profile of the fast jet."""
    each = (dry_mass, drag_index, fuel_at_fix, fix_altitude, gear)
    rest = (climb_cas, climb_mach, descent_cas, descent_mach, maximum_cas, maximum_mach, cruise_altitude)
    return HomeProfiles(
        *(np.array([one]) for one in each),
        np.array([failed], dtype=np.intp),
        *(np.array([one], dtype=float) for one in rest),
        (speed,),
    )


def ask(profiles, distance, altitude, mach, *, headwind=0.0, isa_deviation=0.0) -> Asked:
    """Return ways of these distances m, from pressure altitudes m and Mach numbers, all of one profile."""
    distance, altitude, mach = (
        np.array(part, dtype=float) for part in np.broadcast_arrays(distance, altitude, mach)
    )
    count = len(distance)
    wind = np.broadcast_to(np.asarray(headwind, dtype=float), (count,))[:, None]
    starts = HomeStarts(
        np.zeros(count, dtype=np.intp), distance, altitude, mach, wind.copy(), np.zeros((count, 1))
    )
    return Asked(profiles, starts, AirAbove(np.zeros(1), np.array([isa_deviation])))


def left_at_fix(pack: Pack, asked: Asked, way: WayHome, row: int, power: HomePower = POWER) -> float:
    """Return the fuel, kg, over the reserve with which a way home arrives that starts with bingo.

    Level and Mach number are those found; the cruise is as long as is left between climb and descent.
    """
    profile, starts = asked.profiles, asked.starts
    wind, warm = float(starts.headwind[row, 0]), float(asked.air.isa_deviation[0])
    setup = flight_setup(pack, gear=float(profile.gear[0]), failed_engines=int(profile.failed[0]))
    mass = float(profile.dry_mass[0] + way.bingo[row])
    level, number = float(way.altitude[row]), float(way.mach[row])
    begin, speed = float(starts.altitude[row]), float(starts.mach[row])
    cas, mach = float(profile.climb_cas[0]), float(profile.climb_mach[0])
    down = DescentSchedule(float(profile.descent_cas[0]), float(profile.descent_mach[0]), power.descent)

    def cases(kilograms: float):
        index = float(profile.drag_index[0])
        return make_flight_cases(kilograms, drag_index=index, isa_deviation=warm, headwind=wind)

    gone = 0.0
    if level > begin + 0.5:
        speed = min(speed, float(scheduled_mach(np.array(cas), np.array(mach), np.array(begin))))
        climb = (SpeedChange(power.climb, cas, mach), SteadySpeed(power.climb, cas, mach))
        path = fly_schedule(
            pack, setup, cases(mass), climb, altitude=begin, mach=speed, to_altitude=level, cell_height=100.0
        )
    else:
        path = fly_descent(pack, setup, cases(mass), down, altitude=begin, mach=speed, to_altitude=level)
    parts = [path]
    if float(path.mach[0, -1]) < number - 1e-6:
        faster = (SpeedChange(power.climb, None, number),)
        parts.append(
            fly_schedule(
                pack,
                setup,
                cases(float(path.mass[0, -1])),
                faster,
                altitude=level,
                mach=float(path.mach[0, -1]),
                to_altitude=level,
            )
        )
    gone = sum(float(part.ground_distance(wind)[0, -1]) for part in parts)
    mass = float(parts[-1].mass[0, -1])
    left = float(starts.distance[row] + way.past_fix[row] - way.descent_distance[row]) - gone
    for _ in range(SUB_LEGS):
        leg = cruise_distance(
            pack, setup, cases(mass), left / SUB_LEGS, altitude=level, mach=number, power=power.level
        )
        mass -= float(leg.fuel[0])
    fix = float(profile.fix_altitude[0])
    path = fly_descent(pack, setup, cases(mass), down, altitude=level, mach=number, to_altitude=fix)
    return float(path.mass[0, -1]) - float(profile.mass_at_fix[0])


def breguet_pack(glide: float, consumption: float) -> Pack:
    """Return a pack of constant lift over drag and constant fuel flow over thrust (lb/h/lbf), at any Mach.

    Angles of attack are thousandths: thrust has no part across the path.
    """
    machs, heights = [0.0, 0.9], [-600.0, 15_000.0]
    axis = np.linspace(-0.001, 0.006, 141)
    pack = make_pack(
        wing_area=60.0, lift=lambda a: a, drag=lambda a: 0.0, maximum_lift=2.0, thrust=0.0, engines=1
    )
    lift = np.repeat(1_000.0 * axis[:, None], 2, axis=1)
    aero = {"angle_of_attack": axis, "mach": machs}
    tables = {
        "lift": make_table("lift", aero, lift),
        "drag": make_table("drag", aero, np.abs(lift) / glide),
    }
    configuration = pack.aero.configurations["only"].model_copy(update=tables)

    def setting(thrust: float):
        engine = {"mach": machs, "pressure_altitude": heights}
        flow = thrust / 9.80665 * consumption / 3600.0
        tables = {
            "thrust": make_table("thrust", engine, np.full((2, 2), thrust)),
            "fuel_flow": make_table("fuel_flow", engine, np.full((2, 2), flow)),
        }
        return pack.engine.settings["idle"].model_copy(update=tables)

    settings = {"idle": setting(0.0), "military": setting(200e3)}
    return pack.model_copy(
        update={
            "aero": pack.aero.model_copy(update={"configurations": {"only": configuration}}),
            "engine": pack.engine.model_copy(update={"settings": settings}),
        }
    )
