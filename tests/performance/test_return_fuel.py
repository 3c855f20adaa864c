"""Fuel for the way home: flown forwards, against Breguet and an integrator, and what it depends on."""

import numpy as np
import pytest
from aeroplanes import shipped
from external_checks import check, expected, value
from scipy.integrate import solve_ivp
from ways_home import FOOT, KNOT, MILE, POUND, POWER, ask, breguet_pack, left_at_fix, one_profile

from sortiewright.air import mach_from_cas, speed_of_sound, standard_air
from sortiewright.pack import OutsideTable
from sortiewright.performance import (
    AirAbove,
    CruiseSpeed,
    HomeStarts,
    OutAndBack,
    cruise_distance,
    flight_point,
    flight_setup,
    fly_schedule,
    make_flight_cases,
    out_and_back,
    quickest_climb,
    steady_level_flight,
    two_speed_climb,
    way_home,
)

HOUR, GRAVITY = 3600.0, 9.80665


def bingo(profiles, distance, altitude=20_000.0 * FOOT, mach=0.7, **air):
    asked = ask(profiles, np.atleast_1d(distance), altitude, mach, **air)
    return way_home(shipped("dotterel"), asked.profiles, asked.starts, asked.air, POWER).bingo


# Forwards by climb, cruise and descent of the flight log, whose own cells are about as fine: half a pound is
# held by the root of the mean square, 0.7 lb were found at worst.
@pytest.mark.parametrize(
    ("changes", "air"),
    [
        ({}, {"headwind": 20.0}),
        ({"drag_index": 80.0, "dry_mass": 33_000.0 * POUND}, {"headwind": -20.0, "isa_deviation": 12.0}),
        ({"drag_index": 10.0, "dry_mass": 27_000.0 * POUND}, {"headwind": 40.0, "isa_deviation": -10.0}),
        ({"failed": 1}, {"headwind": 10.0}),
        ({"gear": 1.0, "maximum_cas": 250.0 * KNOT}, {}),
    ],
)
def test_a_way_home_begun_with_bingo_arrives_with_the_recovery_fuel(changes, air):
    pack, random = shipped("dotterel"), np.random.default_rng(11)
    height = random.uniform(1_000.0, 36_000.0, 6) * FOOT
    distance, mach = random.uniform(60.0, 300.0, 6) * MILE, 0.55 + 0.25 * height / 11_000.0
    asked = ask(one_profile(**changes), distance, height, mach, **air)
    limited = asked.profiles.limited()
    way = way_home(pack, asked.profiles, asked.starts, asked.air, POWER)
    asked = ask(limited, asked.starts.distance, asked.starts.altitude, asked.starts.mach, **air)
    left = np.array([left_at_fix(pack, asked, way, row) for row in range(6)]) / POUND

    assert np.abs(left).max() < 0.8
    assert np.sqrt(np.mean(left**2)) < 0.5


def breguet_way(one, distance, mass_at_fix, headwind=0.0, pack=None):
    """Return the way home at one height of an aircraft with constant lift over drag and consumption."""
    altitude = 9_000.0
    mach = value(one, "TAS", KNOT) / float(speed_of_sound(standard_air(altitude).temperature))
    profiles = one_profile(
        dry_mass=mass_at_fix,
        fuel_at_fix=0.0,
        drag_index=0.0,
        fix_altitude=altitude,
        climb_cas=300.0,
        climb_mach=0.89,
        descent_cas=300.0,
        descent_mach=0.89,
        speed=CruiseSpeed("mach", mach),
    )
    asked = ask(profiles, np.atleast_1d(distance), altitude, mach, headwind=headwind)
    pack = pack or breguet_pack(value(one, "L_over_D"), value(one, "TSFC"))
    return way_home(pack, asked.profiles, asked.starts, asked.air, POWER, highest=altitude)


@pytest.mark.parametrize("identity", ["X-H01", "X-H02"])
def test_breguet_range_takes_the_fuel_of_its_ratio_of_weights(identity):
    one, mass = check(identity), 16_000.0
    way = breguet_way(one, one["expected"]["range"]["value"] * MILE, mass)
    ratio = value(one, "W_initial_over_W_final")

    # A relative error of range is one of the logarithm of the ratio: 0.05 % of the source.
    assert np.log((mass + way.cruise_fuel[0]) / mass) == pytest.approx(np.log(ratio), rel=5e-4)
    assert way.time[0] == expected(one, "endurance", HOUR)


def test_breguet_fuel_for_a_range_backwards():
    one = check("X-H03")
    way = breguet_way(one, value(one, "range", MILE), value(one, "final_weight", POUND))

    assert way.bingo[0] == expected(one, "fuel", POUND)


def test_distance_for_fuel_in_still_air_and_against_wind():
    one = check("X-H04")
    tas, flow, mass = value(one, "TAS", KNOT), value(one, "fuel_flow", POUND / HOUR), 20_000.0
    pack = breguet_pack(mass * 0.9 / HOUR / flow, 0.9)
    unit, short = MILE / (1_000.0 * POUND), 1_000.0
    for name, wind in (("air_nm_per_1000lb", 0.0), ("ground_nm_per_1000lb", value(one, "headwind", KNOT))):
        way = breguet_way(one, short, mass, wind, pack)

        assert short / way.cruise_fuel[0] == expected(one, name, unit)
        assert short / way.time[0] == pytest.approx(tas - wind, rel=1e-6)


def test_a_way_home_is_that_of_an_integrator_run_backwards():
    # scipy's RK45 over height and distance on the forces alone: no cells, polynomials or tables of a climb.
    # The schedules leave no level speed change to make.
    pack, setup, wind = shipped("dotterel"), flight_setup(shipped("dotterel")), 15.0
    profiles = one_profile(speed=CruiseSpeed("mach", 0.72), cruise_altitude=9_144.0)
    begin, distance = 1_000.0, 150.0 * MILE
    asked = ask(profiles, [distance], begin, 0.9, headwind=wind)
    way = way_home(pack, profiles, asked.starts, asked.air, POWER)

    def rates(power, mass, height, mach_of):
        def tas(at):
            return mach_of(at) * float(speed_of_sound(standard_air(at).temperature))

        speed, slope = tas(height), (tas(height + 1.0) - tas(height - 1.0)) / 2.0
        climb, cosine = 0.0, 1.0
        for _ in range(4):
            point = flight_point(
                pack,
                setup,
                make_flight_cases(mass, drag_index=30.0),
                power,
                mass=mass,
                pressure_altitude=height,
                mach=mach_of(height),
                load_factor=cosine,
            )
            climb = float(point.energy_rate[0]) / (1.0 + speed * slope / GRAVITY)
            cosine = np.sqrt(1.0 - (climb / speed) ** 2)
        return -float(point.fuel_flow[0]) / climb, (speed * cosine - wind) / climb

    def leg(power, mass, from_height, to_height, mach_of):
        def both(height, state):
            return rates(power, state[0], height, mach_of)

        path = solve_ivp(both, (from_height, to_height), [mass, 0.0], rtol=1e-5, atol=1e-2, max_step=800.0)
        return path.y[0, -1], abs(path.y[1, -1])

    def at_cas(cas, most):
        return lambda height: min(most, float(mach_from_cas(cas, standard_air(height).pressure)))

    level = float(way.altitude[0])
    top, down = leg("idle", float(profiles.mass_at_fix[0]), 1_500.0 * FOOT, level, at_cas(280.0 * KNOT, 0.72))

    def start(cruise):
        def burn(_, state):
            flight = steady_level_flight(
                pack,
                setup,
                make_flight_cases(state[0], drag_index=30.0),
                mass=state[0],
                pressure_altitude=level,
                mach=0.72,
            )
            return [float(flight.fuel_flow[0]) / (float(flight.tas[0]) - wind)]

        heavy = solve_ivp(burn, (0.0, cruise), [top], rtol=1e-8).y[0, -1]
        mass, up = leg("military", heavy, level, begin, at_cas(350.0 * KNOT, 0.85))
        return mass, up + cruise + down - distance

    cruise = 0.5 * distance
    for _ in range(3):  # what is climbed in hardly depends on the mass: each leaves a hundredth
        mass, over = start(cruise)
        cruise -= over
    fuel = mass - float(profiles.dry_mass[0])

    assert abs(over) < 100.0
    assert level == pytest.approx(30_000.0 * FOOT)
    assert way.bingo[0] == pytest.approx(fuel, rel=1e-3)


def test_bingo_rises_with_distance():
    for profiles in (one_profile(), one_profile(speed=CruiseSpeed("cas", 300.0 * KNOT))):
        fuel = bingo(profiles, np.arange(45.0, 400.0, 3.0) * MILE)

        assert (np.diff(fuel) > 0.0).all()


# From 20,000 ft the descent alone reaches some 30 nmi: nearer than that no wind changes the fuel.
@pytest.mark.parametrize(("distance", "height"), [(30.0, 3_000.0), (120.0, 20_000.0), (350.0, 20_000.0)])
def test_bingo_rises_with_headwind_home_and_with_drag_index(distance, height):
    way, high = distance * MILE, height * FOOT
    winds = (-40.0, -20.0, 0.0, 20.0, 40.0)
    wind = [bingo(one_profile(), way, high, headwind=one)[0] for one in winds]
    drag = [bingo(one_profile(drag_index=one), way, high)[0] for one in (0.0, 20.0, 40.0, 80.0)]

    assert (np.diff(wind) > 0.0).all()
    assert (np.diff(drag) > 0.0).all()


def test_more_fuel_to_be_left_takes_more_than_itself():
    less = bingo(one_profile(), 200.0 * MILE)[0]
    more = bingo(one_profile(fuel_at_fix=3_000.0 * POUND), 200.0 * MILE)[0]

    assert more - less > 1_000.0 * POUND


def test_gear_down_costs_more_and_keeps_its_speed_limit():
    profiles = one_profile(gear=1.0, maximum_cas=250.0 * KNOT)
    asked = ask(profiles, [150.0 * MILE], 20_000.0 * FOOT, 0.6)
    way = way_home(shipped("dotterel"), profiles, asked.starts, asked.air, POWER)
    limit = mach_from_cas(250.0 * KNOT, standard_air(way.altitude[0]).pressure)

    assert way.bingo[0] > bingo(one_profile(), 150.0 * MILE)[0]
    assert way.mach[0] <= limit + 1e-9


def test_one_engine_goes_down_to_a_height_it_can_hold():
    asked = ask(one_profile(failed=1), [200.0 * MILE], 38_000.0 * FOOT, 0.8)
    pack = shipped("dotterel")
    way = way_home(pack, asked.profiles, asked.starts, asked.air, POWER)
    setup, cases = flight_setup(pack, failed_engines=1), make_flight_cases(14_500.0, drag_index=30.0)
    mach = np.linspace(0.4, 0.9, 40)

    def held(altitude):
        level = steady_level_flight(
            pack, setup, cases, mass=14_500.0, pressure_altitude=altitude, mach=mach[None, :]
        )
        return bool(np.isfinite(level.fuel_flow).any())

    assert not held(38_000.0 * FOOT)
    assert held(float(way.altitude[0]))
    assert np.isfinite(way.bingo[0])


def test_a_dead_engine_is_drag_and_thrust_as_in_flight_with_it():
    # The same by the flight functions' own dead engine: forwards from bingo.
    pack = shipped("dotterel")
    profiles = quickest_climb(
        pack, one_profile(failed=1), AirAbove(np.zeros(1), np.zeros(1)), POWER
    ).limited()
    asked = ask(profiles, [120.0 * MILE], 3_000.0 * FOOT, 0.5)
    way = way_home(pack, profiles, asked.starts, asked.air, POWER)

    assert float(profiles.climb_cas[0]) < 350.0 * KNOT
    assert float(way.altitude[0]) > 3_000.0 * FOOT
    assert left_at_fix(pack, asked, way, 0) / POUND == pytest.approx(0.0, abs=1.0)


def test_wind_by_level_moves_the_level():
    profiles, heights = one_profile(), np.array([0.0, 6_000.0, 9_000.0])
    calm = ask(profiles, [250.0 * MILE], 5_000.0, 0.7)
    rows = calm.starts

    def level(strong):
        wind = np.array([[0.0, 0.0, strong]])
        starts = HomeStarts(rows.profile, rows.distance, rows.altitude, rows.mach, wind, 0.0 * wind)
        air = AirAbove(heights, np.zeros(3))
        return way_home(shipped("dotterel"), profiles, starts, air, POWER)

    assert level(120.0).altitude[0] < level(0.0).altitude[0]
    assert level(120.0).bingo[0] > level(0.0).bingo[0]


def test_no_level_above_the_highest_wind_is_taken():
    profiles = one_profile()
    asked = ask(profiles, [300.0 * MILE], 5_000.0, 0.7)
    highest = 20_000.0 * FOOT
    way = way_home(shipped("dotterel"), profiles, asked.starts, asked.air, POWER, highest=highest)

    assert way.altitude[0] <= highest + 1.0


def test_the_height_asked_for_is_flown_where_there_is_room_for_it():
    profiles = one_profile(cruise_altitude=25_500.0 * FOOT)
    asked = ask(profiles, [20.0 * MILE, 200.0 * MILE], 3_000.0 * FOOT, 0.6)
    way = way_home(shipped("dotterel"), profiles, asked.starts, asked.air, POWER)

    assert way.altitude[1] == pytest.approx(25_500.0 * FOOT)
    assert way.altitude[0] < 15_000.0 * FOOT


def test_high_over_the_fix_the_descent_alone_is_flown_off_past_it():
    asked = ask(one_profile(), [1.0], 30_000.0 * FOOT, 0.7)
    way = way_home(shipped("dotterel"), asked.profiles, asked.starts, asked.air, POWER)

    assert way.past_fix[0] > 10_000.0
    assert way.cruise_distance[0] == 0.0
    assert way.bingo[0] > 2_000.0 * POUND


def test_an_aircraft_with_too_much_drag_has_no_way_home():
    fuel = bingo(one_profile(drag_index=4_000.0), 100.0 * MILE)

    assert np.isnan(fuel).all()


def test_a_start_above_the_tables_is_refused():
    with pytest.raises(OutsideTable, match="pressure_altitude"):
        bingo(one_profile(), 100.0 * MILE, altitude=20_000.0)


def test_speeds_that_are_asked_for_are_flown():
    level = 20_000.0 * FOOT
    sound = float(speed_of_sound(standard_air(level).temperature))
    for speed, number in (
        (CruiseSpeed("mach", 0.7), 0.7),
        (CruiseSpeed("cas", 150.0), float(mach_from_cas(150.0, standard_air(level).pressure))),
        (CruiseSpeed("tas", 200.0), 200.0 / sound),
        (CruiseSpeed("ground_speed", 200.0), 220.0 / sound),
    ):
        profiles = one_profile(speed=speed, cruise_altitude=level)
        asked = ask(profiles, [150.0 * MILE], level, 0.7, headwind=20.0)
        way = way_home(shipped("dotterel"), profiles, asked.starts, asked.air, POWER)

        assert way.mach[0] == pytest.approx(number, abs=1e-9)


def test_out_and_back_uses_what_is_aboard():
    # Flown by climb, cruise out, and the way home from there: within the 1 % the answer promises.
    pack, level, wind, mass = shipped("dotterel"), 30_000.0 * FOOT, 25.0, 19_000.0
    profiles = one_profile(speed=CruiseSpeed("mach", 0.8), cruise_altitude=level)
    setup, number = flight_setup(pack), 0.8
    asked = ask(profiles, [150.0 * MILE], level, number, headwind=-wind)
    home = way_home(pack, profiles, asked.starts, asked.air, POWER)
    way = OutAndBack(
        profiles,
        mass,
        0.0,
        np.array([level]),
        np.array([number]),
        np.array([wind]),
        np.zeros(1),
        home.descent_fuel,
        home.descent_distance,
    )
    radius, at = out_and_back(pack, way, asked.air, POWER)

    cases = make_flight_cases(mass, drag_index=30.0, headwind=wind)
    begin = float(mach_from_cas(350.0 * KNOT, standard_air(0.0).pressure))
    climb = two_speed_climb("military", cas=350.0 * KNOT, mach=0.85)
    up = fly_schedule(pack, setup, cases, climb, altitude=0.0, mach=begin, to_altitude=level)
    cases = make_flight_cases(up.mass[:, -1], drag_index=30.0, headwind=wind)
    out = cruise_distance(pack, setup, cases, radius - up.air_distance[0, -1], altitude=level, mach=number)
    left = float(cases.mass[0] - out.fuel[0] - profiles.dry_mass[0])
    asked = ask(profiles, [radius], level, number, headwind=-wind)
    back = way_home(pack, profiles, asked.starts, asked.air, POWER)

    assert at == level
    assert radius > 150.0 * MILE
    assert back.bingo[0] == pytest.approx(left, abs=0.01 * (mass - float(profiles.mass_at_fix[0])))
