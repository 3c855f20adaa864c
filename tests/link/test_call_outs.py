"""What is called on the takeoff run and when limits are passed: once each, at the right moment."""

import math
from functools import cache

import pytest

from sortiewright.link import CallOuts, PlannedSpeeds, limit_calls
from sortiewright.pack import load_pack

KNOT = 1852 / 3600  # m/s, exact (NIST SP 811, B.8)
SPEEDS = PlannedSpeeds(
    line_marker=300.0,
    line_speed=60.0,
    line_speed_minimum=58.0,
    decision_speed=70.0,
    refusal_speed=75.0,
    rotation_speed=72.0,
)


def run(acceleration=6.0, seconds=16.0, rate=20, begins=0.0, speed_at_start=0.0, **more):
    """Yield moments of a run with constant acceleration after standing for a second; no wind."""
    for number in range(int(seconds * rate)):
        time = number / rate
        speed = speed_at_start + acceleration * max(time - 1.0, 0.0)
        yield begins + time, values(speed, **more)


def values(speed, wheels=True, **more):
    return {
        "ground_speed": speed,
        "calibrated_airspeed": speed,
        "weight_on_wheels_left": wheels,
        "weight_on_wheels_right": wheels,
    } | more


def called(moments, calls=None):
    calls = calls or CallOuts(SPEEDS)
    return [call for time, now in moments for call in calls.look(time, now)]


def test_speeds_are_called_once_each_in_their_order():
    assert [one.name for one in called(run())] == [
        "line_speed",
        "decision_speed",
        "rotation_speed",
        "refusal_speed",
    ]


def test_line_speed_is_that_of_uniform_acceleration_at_the_marker():
    line = called(run())[0]

    # v = sqrt(2 a s), from rest with constant acceleration
    assert line.value == pytest.approx(math.sqrt(2 * 6.0 * 300.0), abs=0.02)
    assert line.time == pytest.approx(1.0 + math.sqrt(2 * 300.0 / 6.0), abs=0.06)
    assert line.tone == "note"
    assert line.text == "Line speed 117, 113 at least wanted"


def test_slow_line_is_said_with_the_speed_that_was_wanted():
    line = called(run(acceleration=5.0))[0]

    assert line.tone == "check"
    assert line.text == "Line speed 106, wanted 113 at least"  # sqrt(3000) m/s is 106.47 kt


def test_rounding_never_makes_a_slow_line_look_fast_enough():
    least = 58.0 - 1e-3
    calls = CallOuts(PlannedSpeeds(line_marker=300.0, line_speed_minimum=least))
    slow = called(run(acceleration=(58.0 - 0.3) ** 2 / 600.0), calls)[0]

    shown, wanted = (int(word) for word in slow.text.replace(",", "").split() if word.isdigit())
    assert shown < wanted


def test_run_that_did_not_begin_from_a_standstill_has_no_line_speed():
    moving = (one for one in run(speed_at_start=8.0, acceleration=3.0, seconds=20.0))
    line = called(moving)[0]

    assert line.value is None
    assert "standstill" in line.text


def test_taxi_then_stop_then_takeoff_counts_from_the_stop():
    taxi = [(time / 20, values(10.0)) for time in range(2000)]
    line = called([*taxi, *run(begins=100.0)])[0]

    assert line.value == pytest.approx(60.0, abs=0.05)


def test_second_takeoff_is_called_again():
    calls = CallOuts(SPEEDS)
    first = called(run(), calls)
    stopping = [(20 + n / 20, values(max(60.0 - n / 5, 0.0))) for n in range(400)]

    assert [one.name for one in called(stopping, calls)] == []
    assert [one.name for one in called(run(begins=60.0), calls)] == [one.name for one in first]


def test_nothing_is_called_in_the_air_or_on_landing():
    landing = [(n / 20, values(90.0 - n / 20, wheels=n > 200)) for n in range(1600)]

    assert called(landing) == []


def test_moment_without_values_ends_nothing_and_calls_nothing_twice():
    moments = [one for time, now in run() for one in ((time, now), (time + 0.01, {"pitch": 0.0}))]

    assert len(called(moments)) == 4


@cache
def limits_of_dotterel():
    return limit_calls(load_pack("dotterel").pack.limits)


def flown(calls, **columns):
    """Return the names called over moments 0.1 s apart."""
    rows = zip(*columns.values(), strict=True)
    moments = ((n / 10, dict(zip(columns, row, strict=True))) for n, row in enumerate(rows))
    return [one.name for one in called(moments, calls)]


def test_limit_is_called_once_while_it_is_passed_and_again_after_it_was_left():
    calls = CallOuts(PlannedSpeeds(), limits_of_dotterel())
    # The pack's gear limit is 250 kt: over it, a knot under it, over it, well under it, over it.
    speeds = [255.0] * 10 + [249.0] * 5 + [255.0] * 10 + [200.0] * 5 + [255.0] * 10
    airspeed = [one * KNOT for one in speeds]
    gear = [1.0] * len(speeds)

    assert flown(calls, calibrated_airspeed=airspeed, gear_position=gear) == ["gear_speed", "gear_speed"]


def test_one_wild_sample_is_no_exceedance():
    calls = CallOuts(PlannedSpeeds(), limits_of_dotterel())
    load = [1.0] * 5 + [40.0] + [1.0] * 5

    assert flown(calls, load_factor_normal=load, gross_mass=[15_000.0] * 11) == []


@pytest.mark.parametrize(
    ("columns", "name"),
    [
        ({"calibrated_airspeed": 710 * KNOT}, "maximum_cas"),
        ({"mach_number": 1.8}, "maximum_mach"),
        ({"canopy_position": 1.0, "ground_speed": 50 * KNOT}, "canopy_open_ground_speed"),
        ({"load_factor_normal": -3.0}, "load_factor_negative"),
        ({"load_factor_normal": 7.0, "gross_mass": 20_000.0}, "load_factor_positive"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_each_limit_of_the_pack_is_called(columns, name):
    calls = CallOuts(PlannedSpeeds(), limits_of_dotterel())

    assert flown(calls, **{key: [value] * 10 for key, value in columns.items()}) == [name]


def test_gear_that_is_up_has_no_speed_limit():
    calls = CallOuts(PlannedSpeeds(), limits_of_dotterel())

    assert flown(calls, calibrated_airspeed=[300 * KNOT] * 10, gear_position=[0.0] * 10) == []


def test_load_factor_without_a_weight_is_not_judged():
    calls = CallOuts(PlannedSpeeds(), limits_of_dotterel())

    assert flown(calls, load_factor_normal=[9.0] * 10) == []
