"""Descent by schedule."""

import numpy as np
import pytest
from aeroplanes import make_pack, shipped
from conditions import FOOT, POUND

from sortiewright.air import cas_from_mach, standard_air
from sortiewright.performance.climb_schedule import schedule_cas
from sortiewright.performance.descent import DescentSchedule, fly_descent
from sortiewright.performance.level_flight import flight_setup, make_flight_cases

KNOT, GRAVITY = 1852.0 / 3600.0, 9.80665
CASES = make_flight_cases([32_000.0 * POUND, 38_000.0 * POUND], drag_index=[0.0, 30.0])
SCHEDULE = DescentSchedule(300.0 * KNOT, 0.8)


def descend(cases=CASES, schedule=SCHEDULE, speedbrake=0.0, **how):
    pack = shipped("dotterel")
    ends = {"altitude": 35_000.0 * FOOT, "mach": 0.8, "to_altitude": 2_000.0 * FOOT} | how
    return fly_descent(pack, flight_setup(pack, speedbrake=speedbrake), cases, schedule, **ends)


# Statics of a glide (Anderson, Aircraft Performance and Design, section 5.10.3, from memory): tan(angle) is
# drag over lift. At constant Mach number in the isothermal stratosphere the speed is constant, so the whole
# descent is one straight glide.
def test_glide_angle_is_drag_over_lift():
    glide, low, high, mach = 6.0, 11_500.0, 14_000.0, 0.5
    pack = make_pack(
        wing_area=60.0,
        lift=lambda alpha: 1_000.0 * alpha,
        drag=lambda alpha: 1_000.0 * abs(alpha) / glide,
        maximum_lift=2.0,
        thrust=0.0,
        alphas=np.linspace(-0.001, 0.006, 141),
    )
    flown = fly_descent(
        pack,
        flight_setup(pack),
        make_flight_cases(10_000.0),
        DescentSchedule(1_000.0, mach),
        altitude=high,
        mach=mach,
        to_altitude=low,
    )

    assert flown.air_distance[0, -1] == pytest.approx(glide * (high - low), rel=1e-3)
    way = np.hypot(flown.air_distance[0, -1], high - low)
    assert flown.time[0, -1] == pytest.approx(
        way / (mach * float(standard_air(low).speed_of_sound)), rel=1e-3
    )


def test_speedbrake_comes_down_sooner_and_nearer():
    clean, braked = descend(), descend(speedbrake=1.0)

    assert (braked.time[:, -1] < 0.7 * clean.time[:, -1]).all()
    assert (braked.air_distance[:, -1] < 0.7 * clean.air_distance[:, -1]).all()
    assert (braked.fuel[:, -1] < clean.fuel[:, -1]).all()


def test_more_drag_comes_down_sooner():
    flown = descend(make_flight_cases(35_000.0 * POUND, drag_index=np.linspace(0.0, 80.0, 5)))

    assert (np.diff(flown.time[:, -1]) < 0.0).all()


def test_schedule_is_held_and_speed_taken_off_at_the_end():
    flown = descend(to_cas=230.0 * KNOT, mach=0.88)
    cas = schedule_cas(flown)

    assert cas[:, -1] == pytest.approx(np.full(2, 230.0 * KNOT), rel=1e-9)
    coming_down = flown.pressure_altitude < 35_000.0 * FOOT - 1.0
    assert cas[coming_down].max() <= 300.0 * KNOT + 1e-6
    assert (flown.mach[coming_down] <= 0.8 + 1e-9).all()
    assert flown.reached.all()


# Fuel and time only grow; what is burnt is what is missing.
def test_fuel_is_conserved_in_the_descent():
    flown = descend()

    assert flown.mass[:, 0] - flown.mass[:, -1] == pytest.approx(flown.fuel[:, -1], rel=1e-12)
    assert (np.diff(flown.time, axis=1) >= 0.0).all()


def test_a_slow_start_holds_its_mach_number_until_the_airspeed_is_there():
    flown = descend(mach=0.6)
    slow = cas_from_mach(0.6, standard_air(flown.pressure_altitude).pressure) < 300.0 * KNOT

    assert flown.mach[slow] == pytest.approx(np.full(int(slow.sum()), 0.6), abs=1e-9)
    assert schedule_cas(flown)[:, -1] == pytest.approx(np.full(2, 300.0 * KNOT), rel=1e-9)
    assert flown.reached.all()


def test_full_power_does_not_come_down():
    flown = descend(schedule=DescentSchedule(300.0 * KNOT, 0.8, "military"))

    assert not flown.reached.any()


def test_headwind_shortens_the_way_over_ground_only():
    flown = descend()
    wind = np.array([[0.0], [20.0]])

    assert flown.ground_distance(wind)[:, -1] == pytest.approx(
        flown.air_distance[:, -1] - wind[:, 0] * flown.time[:, -1], rel=1e-12
    )
