"""What a pack gives for rows: the numbers that the program's other commands give, and the laws they obey."""

import numpy as np
import pytest

from sortiewright.pack_fitting import predicted, read_fit_points
from sortiewright.performance import check_book

HEAD = (
    "quantity,value,unit,mass,centre_of_gravity,pressure_altitude,to_altitude,isa_deviation,temperature,"
    "headwind,slope,drag_index,runway_condition_reading,cas,mach,configuration\n"
    ",,,lb,%,ft,ft,delta_degC,degC,kt,%,,,kt,,\n"
)


@pytest.fixture
def give(tmp_path, whinchat):
    """Return a function that gives the prediction for rows of CSV."""

    def given(*lines):
        file = tmp_path / "points.csv"
        file.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
        return predicted(whinchat.pack, read_fit_points(file, whinchat.pack))

    return given


# The pack's book points come from tools/check_whinchat.py, which shares no code with the program; the
# tolerances are the book's own.
def test_field_rows_hold_the_separate_calculation(give, whinchat):
    found = give(
        "ground_run,1,ft,7400,25.7,0,,,15,0,0,0,23,,,",
        "ground_run,1,ft,7900,25.7,4000,,15,,8,1,0,23,,,",
        "distance_to_screen,1,ft,6500,25,0,,,0,-5,0,0,23,,,",
        "lift_off_speed,1,kt,7400,25.7,0,,,15,0,0,0,23,,,",
        "stall_speed,1,kt,7400,,0,,,15,0,0,0,23,,,takeoff",
        "stall_speed,1,kt,6500,,4000,,,,0,0,0,23,,,landing",
        "approach_speed,1,kt,7400,,0,,,15,0,0,0,23,,,",
        "landing_roll,1,ft,6500,,0,,,15,0,0,0,12,,,",
        "landing_distance,1,ft,7000,,4000,,,25,10,0,0,23,,,",
    )
    foot, knot = 0.3048, 1852 / 3600
    book = [1500 * foot, 2580 * foot, 2220 * foot, 98.5 * knot, 83.7 * knot, 73.9 * knot, 104.7 * knot,
            3860 * foot, 3265 * foot]  # fmt: skip

    assert all(one.holds for one in check_book(whinchat))
    assert found == pytest.approx(book, rel=0.01)


# Second road: the same climb flown over 200 ft by quadrature; height over time is the mean rate.
@pytest.mark.parametrize("deviation", [0, 20])
def test_rate_of_climb_is_height_over_time(give, deviation):
    rate, time = give(
        f"rate_of_climb,1,ft/min,7000,,10000,,{deviation},,,,,,230,,",
        f"time_to_climb,1,min,7000,,9900,10100,{deviation},,,,,,230,,",
    )
    # In warm air a foot of pressure altitude is more than a foot: T over the standard T, 268.34 K at
    # 10,000 ft (ICAO Doc 7488).
    risen = 200 * 0.3048 * (1 + deviation / 268.34)

    assert rate == pytest.approx(risen / time, rel=2e-3)


# At constant Mach number below the tropopause the air slows with height, so the climb is faster than specific
# excess power alone; at constant CAS it is slower. Factors at Mach 0.5: -0.133 M^2 and about 0.57 M^2
# (Hale, Introduction to Aircraft Performance, 1984; from memory).
def test_climb_at_constant_mach_is_faster_than_at_constant_cas(give):
    from sortiewright.air import cas_from_mach, standard_air

    cas = float(cas_from_mach(0.5, standard_air(5000 * 0.3048).pressure)) * 3600 / 1852
    by_cas, by_mach = give(
        f"rate_of_climb,1,ft/min,7000,,5000,,,,,,,,{cas:.6f},,",
        "rate_of_climb,1,ft/min,7000,,5000,,,,,,,,,0.5,",
    )

    assert by_mach / by_cas == pytest.approx((1 + 0.567 * 0.25) / (1 - 0.133 * 0.25), rel=0.02)


def test_rows_come_back_in_their_order_whatever_they_are_about(give):
    lines = [
        "fuel_flow,1,lb/h,6800,,15000,,,,,,,,,0.4,",
        "ground_run,1,ft,7400,,0,,,15,0,0,0,23,,,",
        "approach_speed,1,kt,7400,,0,,,15,0,0,0,23,,,",
    ]

    assert give(*lines)[::-1] == pytest.approx(give(*lines[::-1]), rel=1e-9)


def test_row_that_cannot_be_flown_is_no_number(give):
    assert not np.isfinite(give("fuel_flow,1,lb/h,7900,,38000,,,,,,,,,0.70,"))[0]
