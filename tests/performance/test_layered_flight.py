import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.air import WindLevel, standard_air, winds_over
from sortiewright.pack import load_pack
from sortiewright.performance import (
    DescentSchedule,
    FlightCases,
    Stretch,
    climb_stretches,
    descent_stretches,
    flight_point,
    flight_setup,
    fly_descent,
    fly_layered,
    fly_schedule,
    layered_path,
    level_speed_range,
    make_flight_cases,
    schedule_mach,
    steady_level_flight,
    two_speed_climb,
)

PACK = load_pack("dotterel").pack
SETUP = flight_setup(PACK)
KNOT, FOOT = 1852.0 / 3600.0, 0.3048
MASS, INDEX = 18_500.0, 24.0
STILL = winds_over([], isa_deviation=8.0)


def settled(path, sweeps=6):
    flight = None
    for _ in range(sweeps):
        flight = fly_layered(PACK, SETUP, [path], [MASS], [INDEX], [flight])[0]
    return flight


def ends(flight):
    return flight.time[-1], flight.fuel[-1], flight.air_distance[-1]


# The other road: climb_path, which differentiates energy height along its own line in cells of half the size.
def test_a_climb_in_even_air_is_the_schedule_s_climb():
    cas, mach, low, high = 350 * KNOT, 0.84, 300.0, 8_500.0
    stretches, end = climb_stretches(low, 0.40, high, cas=cas, schedule=mach)
    mine = settled(layered_path(stretches, STILL, 0.0, "military"))
    cases = make_flight_cases(MASS, drag_index=INDEX, isa_deviation=8.0)
    theirs = fly_schedule(
        PACK,
        SETUP,
        cases,
        two_speed_climb("military", cas=cas, mach=mach),
        altitude=low,
        mach=0.40,
        to_altitude=high,
    )

    assert end == pytest.approx(float(theirs.mach[0, -1]), abs=1e-9)
    wanted = theirs.time[0, -1], theirs.fuel[0, -1], theirs.air_distance[0, -1]
    assert ends(mine) == pytest.approx(wanted, rel=1e-3)


def test_a_descent_in_even_air_is_the_schedule_s_descent():
    cas, mach, high, low = 300 * KNOT, 0.80, 9_000.0, 900.0
    stretches, end = descent_stretches(high, 0.84, low, cas=cas, schedule=mach)
    mine = settled(layered_path(stretches, STILL, 0.0, "idle"))
    cases = make_flight_cases(MASS, drag_index=INDEX, isa_deviation=8.0)
    theirs = fly_descent(
        PACK, SETUP, cases, DescentSchedule(cas, mach), altitude=high, mach=0.84, to_altitude=low
    )

    assert end == pytest.approx(float(theirs.mach[0, -1]), abs=1e-9)
    wanted = theirs.time[0, -1], theirs.fuel[0, -1], theirs.air_distance[0, -1]
    assert ends(mine) == pytest.approx(wanted, rel=1.5e-3)


def test_half_the_cells_change_a_climb_by_less_than_a_tenth_of_a_percent():
    stretches, _ = climb_stretches(100.0, 0.50, 9_000.0, cas=350 * KNOT, schedule=0.80)
    coarse, fine = (
        settled(layered_path(stretches, STILL, 0.0, "military", cell_height=height))
        for height in (1_000.0, 250.0)
    )

    assert ends(coarse) == pytest.approx(ends(fine), rel=1e-3)


# Kinetic energy over weight is V^2/2g: in all the difference of its ends, at each node V dV/g by hand.
def test_the_energy_a_speed_change_gains_is_that_of_its_speeds():
    path = layered_path([Stretch(1_000.0, 1_000.0, mach_line=(0.5, 0.8))], STILL, 0.0, "military")
    speeds = path.tas[-1] ** 2 - path.tas[0] ** 2
    half_a_cell = (path.tas[1] - path.tas[0]) / 2.0

    assert path.gaining.sum() == pytest.approx(speeds / (2 * 9.80665), rel=1e-12)
    assert path.gaining == pytest.approx(path.node_tas * half_a_cell / 9.80665, rel=1e-9)
    assert path.climbing.sum() == 0.0


# Hydrostatic balance by hand: geometric height over pressure altitude is T over T standard at each node.
def test_warm_air_is_thicker():
    cold, warm = (
        layered_path(
            [Stretch(0.0, 2_000.0, mach=0.5)], winds_over([], isa_deviation=dev), 0.0, "military", 0.0, 50.0
        ).climbing.sum()
        for dev in (0.0, 20.0)
    )
    heights = np.linspace(0.0, 2_000.0, 4_001)
    temperatures = np.asarray(standard_air(heights).temperature)
    thicker = np.trapezoid((temperatures + 20.0) / temperatures, heights)

    assert cold == pytest.approx(2_000.0, rel=1e-9)
    assert warm == pytest.approx(thicker, rel=1e-7)


@given(speed=st.floats(0.0, 60.0), blows_from=st.floats(0.0, 360.0), course=st.floats(0.0, 360.0))
def test_wind_changes_the_ground_covered_and_nothing_else(speed, blows_from, course):
    windy = winds_over([WindLevel(0.0, blows_from, speed), WindLevel(12_000.0, blows_from, speed)])
    stretches, _ = climb_stretches(300.0, 0.55, 7_000.0, cas=350 * KNOT, schedule=0.84)
    still = winds_over([])
    one = settled(layered_path(stretches, still, course, "military"), 2)
    other = settled(layered_path(stretches, windy, course, "military"), 2)

    assert ends(other) == pytest.approx(ends(one), rel=1e-12)
    drift = speed * np.cos(np.radians(blows_from - course)) * one.time[-1]
    # A crosswind takes a little more of it: the nose points into the wind.
    assert other.ground_distance[-1] <= one.ground_distance[-1] - drift + 1e-6
    most = speed**2 / 100.0 * one.time[-1]
    assert other.ground_distance[-1] >= one.ground_distance[-1] - drift - most - 1e-6


def test_many_paths_at_once_are_the_same_as_one_at_a_time():
    up, _ = climb_stretches(300.0, 0.55, 7_000.0, cas=350 * KNOT, schedule=0.84)
    down, _ = descent_stretches(7_000.0, 0.80, 900.0, cas=300 * KNOT, schedule=0.80)
    paths = [layered_path(up, STILL, 0.0, "military"), layered_path(down, STILL, 0.0, "idle", 1.0)]
    paths.append(layered_path(up, STILL, 0.0, "military"))
    mass, index = [18_000.0, 17_000.0, 21_000.0], [0.0, 10.0, 40.0]
    together = fly_layered(PACK, SETUP, paths, mass, index, [None] * 3)

    for number in range(3):
        alone = fly_layered(PACK, SETUP, [paths[number]], [mass[number]], [index[number]], [None])[0]
        assert ends(together[number]) == pytest.approx(ends(alone), rel=1e-12)


def test_a_climb_that_power_does_not_carry_ends_where_it_does_not():
    stretches, _ = climb_stretches(300.0, 0.55, 15_000.0, cas=350 * KNOT, schedule=0.84)
    flight = settled(layered_path(stretches, winds_over([]), 0.0, "military"))

    assert not flight.is_whole
    assert np.isfinite(flight.time[: flight.cells_flown + 1]).all()
    assert np.isnan(flight.time[flight.cells_flown + 1 :]).all()


def test_excess_speed_becomes_height_and_never_energy_out_of_nothing():
    stretches, end = climb_stretches(300.0, 0.85, 6_000.0, cas=350 * KNOT, schedule=0.84)
    path = layered_path(stretches, winds_over([]), 0.0, "military")

    assert (path.gaining > 0.0).all()
    assert end == pytest.approx(schedule_mach(350 * KNOT, 0.84, 6_000.0))
    assert settled(path).is_whole


def test_a_small_change_of_height_is_flown_at_the_cas_there_is():
    up, mach_up = climb_stretches(300.0, 0.6, 800.0, cas=350 * KNOT, schedule=0.84)
    down, mach_down = descent_stretches(800.0, mach_up, 300.0, cas=300 * KNOT, schedule=0.80)

    assert [len(up), len(down)] == [1, 1]
    assert mach_up > 0.6
    assert mach_down == pytest.approx(0.6, abs=1e-9)


# By the functions that found it: at both ends one more thousandth of Mach cannot be flown.
@pytest.mark.parametrize("altitude", [500.0, 6_000.0, 10_000.0])
def test_the_range_of_speeds_ends_where_level_flight_does(altitude):
    case = make_flight_cases(18_000.0)
    low, high = level_speed_range(PACK, SETUP, case, altitude=altitude)

    def flies(mach):
        level = steady_level_flight(
            PACK, SETUP, case, mass=18_000.0, pressure_altitude=altitude, mach=np.array([mach])
        )
        return bool(np.isfinite(level.fuel_flow[0]))

    assert flies(low)
    assert not flies(low - 1.01e-3)
    assert flies(high)
    assert not flies(high + 1.01e-3)


def test_there_is_no_range_of_speeds_above_the_ceiling():
    assert level_speed_range(PACK, SETUP, make_flight_cases(24_000.0), altitude=14_500.0) is None


def test_limits_bound_the_range_of_speeds():
    case = make_flight_cases(18_000.0)
    low, high = level_speed_range(
        PACK, SETUP, case, altitude=3_000.0, maximum_mach=0.7, most_angle=np.radians(9.0)
    )
    level = steady_level_flight(PACK, SETUP, case, mass=18_000.0, pressure_altitude=3_000.0, mach=low)

    assert high == 0.7
    assert level.angle_of_attack[0] == pytest.approx(np.radians(9.0), abs=np.radians(0.1))


def test_a_batch_of_nodes_has_its_own_temperature_at_each():
    deviations = np.array([-10.0, 0.0, 15.0])
    ones = np.ones(3)
    cases = FlightCases(18_000.0 * ones, 0.0 * ones, deviations, 0.0 * ones, ones, ones, ones)
    together = flight_point(
        PACK, SETUP, cases, "military", mass=18_000.0, pressure_altitude=4_000.0, mach=0.7
    )
    single = [
        flight_point(
            PACK,
            SETUP,
            make_flight_cases(18_000.0, isa_deviation=deviation),
            "military",
            mass=18_000.0,
            pressure_altitude=4_000.0,
            mach=0.7,
        ).energy_rate[0]
        for deviation in deviations
    ]

    assert together.energy_rate == pytest.approx(single, rel=1e-12)
