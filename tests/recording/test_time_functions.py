"""Functions of time and derived values, on columns made by hand."""

import numpy as np
import pytest
from rule_flights import made_flight, made_recording

from sortiewright.expressions import ExpressionError, Truth, parse_expression
from sortiewright.pack import load_pack
from sortiewright.recording import AlongRunway, rule_vocabulary
from sortiewright.recording.rule_columns import FlightValues, SharedColumns
from sortiewright.recording.rule_limits import pack_numbers

KNOT = 1852 / 3600
FOOT = 0.3048


@pytest.fixture(scope="module")
def pack():
    return load_pack("dotterel").pack


@pytest.fixture(scope="module")
def evaluate(pack):
    """Return a function that evaluates a text on made columns: masks for a condition, floats for a number."""
    vocabulary = rule_vocabulary(pack)

    def run(text, columns, events=(), runway=None, **more):
        recording = made_recording(columns, **more)
        flight = made_flight(recording, (), events)
        values = FlightValues(recording, flight, pack_numbers(pack), None, runway)
        expression = parse_expression(text, vocabulary, None)
        shared = SharedColumns(values, frozenset())
        is_number = expression.atoms == ()
        return shared.numbers(expression, True) if is_number else shared.truths(expression, True)

    return run


def verdicts(truth: Truth):
    return "".join("1" if yes else "0" if no else "?" for yes, no in zip(truth.yes, truth.no, strict=True))


def test_held_is_unknown_until_its_window_is_full_unless_it_is_false_in_it(evaluate):
    gear = np.array([1, 1, 1, 1, 1, 0, 1, 1, 1, 1.0])

    held, not_held = (
        evaluate(f"held(gear_position {sign} 0.5, s(0.2))", {"gear_position": gear}) for sign in "><"
    )
    assert verdicts(held) == "??11100011"
    assert verdicts(not_held) == "0000000000"


def test_within_is_unknown_until_its_window_is_full_unless_it_is_true_in_it(evaluate):
    gear = np.array([0, 0, 0, 1, 0, 0, 0, 0])

    assert verdicts(evaluate("within(gear_position > 0.5, s(0.2))", {"gear_position": gear})) == "??011100"


def test_windows_begin_anew_at_a_break(evaluate):
    gear = np.ones(8)
    said = evaluate("held(gear_position > 0.5, s(0.2))", {"gear_position": gear}, breaks=[4])

    assert verdicts(said) == "??11??11"


@pytest.mark.parametrize("rate", [10.0, 20.0, 60.0])
def test_the_rate_of_a_straight_line_is_its_slope(evaluate, rate):
    time = np.arange(0, 5, 1 / rate)
    rates = evaluate("rate(pitch)", {"pitch": 0.1 + 0.03 * time}, rate=rate)

    assert rates == pytest.approx(0.03)


def test_the_rate_is_not_taken_over_a_break(evaluate):
    pitch = np.concatenate((np.zeros(20), np.full(20, 0.3)))

    assert evaluate("rate(pitch)", {"pitch": pitch}, breaks=[20]) == pytest.approx(0.0)


def test_the_rate_on_an_uneven_clock_is_that_of_the_samples(evaluate):
    time = np.cumsum(np.random.default_rng(1).uniform(0.01, 0.4, 200))

    assert evaluate("rate(pitch)", {"pitch": 0.02 * time}, time=time) == pytest.approx(0.02)


def test_a_coarse_column_gives_no_more_than_its_step_over_the_span(evaluate):
    time = np.arange(0, 10, 1 / 60)
    pitch = np.radians(np.round(2 * time))  # 2 degrees a second, in whole degrees
    rates = np.degrees(evaluate("rate(pitch)", {"pitch": pitch}, rate=60.0))

    assert rates.max() <= 4.0 + 1e-9  # neighbours would give 30


def test_there_is_no_rate_of_a_speed(pack):
    with pytest.raises(ExpressionError, match="takes no rate of a speed"):
        parse_expression("rate(airspeed) > 0", rule_vocabulary(pack))


def test_change_is_what_it_says(evaluate):
    speed = np.arange(0, 10.0)  # 10 m/s2 at 10 Hz
    change = evaluate("change(ground_speed, s(0.35))", {"ground_speed": speed})

    assert np.isnan(change[:4]).all()
    assert change[4:] == pytest.approx(3.5)


@pytest.mark.parametrize("seconds", [0.0, 0.1, 0.3, 0.75, 1.6, 5.0])
def test_highest_and_lowest_are_those_of_the_window(evaluate, seconds):
    numbers = np.random.default_rng(2).normal(size=100)
    columns = {"load_factor_normal": numbers}
    highest = evaluate(f"highest(load_factor_normal, s({seconds}))", columns, breaks=[40])
    lowest = evaluate(f"lowest(load_factor_normal, s({seconds}))", columns, breaks=[40])

    for row in range(100):
        first = max(40 if row >= 40 else 0, row - int(round(10 * seconds, 6)))
        assert highest[row] == numbers[first : row + 1].max()
        assert lowest[row] == numbers[first : row + 1].min()


def test_at_and_since_are_unknown_before_their_event_and_of_the_latest_after(evaluate):
    speed = np.arange(20.0)
    events = [("touchdown", 0.55), ("touchdown", 1.2)]
    at = evaluate("at('touchdown', ground_speed)", {"ground_speed": speed}, events)
    since = evaluate("since('touchdown')", {"ground_speed": speed}, events)

    assert np.isnan(at[:6]).all()
    assert at[6:12] == pytest.approx(5.5)
    assert at[12:] == pytest.approx(12.0)
    assert since[6] == pytest.approx(0.05)
    assert since[-1] == pytest.approx(0.7)


def test_at_finds_an_event_that_comes_late_in_a_recording(evaluate):
    at = evaluate("at('lift_off', ground_speed)", {"ground_speed": np.arange(1000.0)}, [("lift_off", 70.0)])

    assert np.isnan(at[:700]).all()
    assert at[700:] == pytest.approx(700.0)


def test_an_event_between_two_readings_across_north_takes_the_nearer(evaluate):
    heading = np.array([358.0, 359.0, 1.0, 2.0])
    at = evaluate("at('lift_off', true_heading_deg)", {"true_heading_deg": heading}, [("lift_off", 0.18)])

    assert at[-1] == 1.0


def test_count_counts_and_is_unknown_with_any_of_them(evaluate):
    columns = {"gear_position": np.array([0, 1, np.nan]), "flap_position": np.array([1.0, 1.0, 1.0])}

    counted = evaluate("count(gear_position > 0.5, flap_position > 0.5)", columns)
    assert counted[:2].tolist() == [1.0, 2.0]
    assert np.isnan(counted[2])


# Derived values.


def test_the_airspeed_is_calibrated_or_else_indicated(evaluate):
    both = {"calibrated_airspeed": np.array([80.0, np.nan]), "indicated_airspeed": np.array([81.0, 82.0])}

    assert evaluate("airspeed", both).tolist() == [80.0, 82.0]


def test_on_ground_is_weight_on_any_wheel(evaluate):
    columns = {
        "weight_on_wheels_nose": np.array([1, 0, 0, np.nan, np.nan]),
        "weight_on_wheels_left": np.array([1, 1, 0, 0, np.nan]),
    }

    assert verdicts(evaluate("on_ground", columns)) == "1100?"
    assert verdicts(evaluate("airborne", columns)) == "0011?"


def test_a_turn_through_north_has_the_rate_of_any_turn(evaluate):
    heading = (350 + 3 * np.arange(0, 10, 0.1)) % 360

    assert np.degrees(evaluate("turn_rate", {"true_heading_deg": heading})) == pytest.approx(3.0)


def test_drift_is_track_less_heading_and_the_wind_is_split_along_it(evaluate):
    columns = {
        "track_deg": np.full(3, 2.0),
        "true_heading_deg": np.full(3, 357.0),
        "ground_speed": np.array([4.0, 60.0, 60.0]),
        "wind_speed": np.full(3, 10.0),
        "wind_from_deg": np.full(3, 27.0),
    }

    assert np.degrees(evaluate("drift_angle", columns))[1:] == pytest.approx(5.0)
    assert np.isnan(evaluate("drift_angle", columns)[0])
    # The wind comes from 30 degrees right of the nose: cosine and sine of 30 degrees.
    assert evaluate("headwind", columns) == pytest.approx(10 * 3**0.5 / 2)
    assert evaluate("crosswind", columns) == pytest.approx(5.0)


def test_energy_height_adds_what_the_speed_is_worth(evaluate):
    columns = {"altitude": np.full(2, 1000.0), "true_airspeed": np.full(2, 200.0)}

    # h + V2 / 2 g (Rutowski 1954), with g as in ISO 2533.
    assert evaluate("energy_height", columns) == pytest.approx(1000 + 200**2 / (2 * 9.80665))


def test_height_lost_counts_from_the_highest_point_since_lift_off(evaluate):
    altitude = np.array([100, 100, 110, 130, 120, 125, 140, 90.0])

    lost = evaluate("height_lost", {"altitude": altitude}, [("lift_off", 0.2)])
    assert np.isnan(lost[:2]).all()
    assert lost[2:].tolist() == [0, 0, 10, 5, 0, 50]


def test_the_distance_from_brake_release_is_that_of_a_steady_acceleration(evaluate):
    time = np.arange(0, 20, 0.05)
    speed = 4.0 * np.maximum(0, time - 3.02)
    away = evaluate(
        "distance_from_brake_release", {"ground_speed": speed}, [("brake_release", 3.02)], rate=20.0
    )

    assert np.isnan(away[: int(3.02 * 20)]).all()
    # s = a t2 / 2; the sample interval in which the acceleration begins costs a millimetre or two.
    assert away[-1] == pytest.approx(2.0 * (time[-1] - 3.02) ** 2, abs=0.01)


def test_a_sample_without_speed_does_not_lose_the_way(evaluate):
    speed = np.full(100, 50.0)
    speed[30:33] = np.nan
    away = evaluate("distance_from_brake_release", {"ground_speed": speed}, [("brake_release", 0.0)])

    assert np.isnan(away[30:33]).all()
    assert away[-1] == pytest.approx(50 * 9.9)


def test_over_a_break_the_way_is_between_positions_and_unknown_without(evaluate):
    rows = 100
    # A hundredth of a degree of latitude at the equator is 1105.74 m (WGS 84; NIMA TR8350.2, 110.574 km a
    # degree, from memory).
    latitude = np.concatenate((np.zeros(50), np.full(50, 0.01)))
    columns = {"ground_speed": np.full(rows, 50.0)}
    events = [("brake_release", 0.0)]
    with_place = columns | {"latitude_deg": latitude, "longitude_deg": np.zeros(rows)}

    away = evaluate("distance_from_brake_release", with_place, events, breaks=[50])
    assert away[-1] == pytest.approx(50 * 9.8 + 1105.74, abs=0.01)
    assert np.isnan(evaluate("distance_from_brake_release", columns, events, breaks=[50])[50:]).all()


def test_the_place_on_a_runway_is_what_was_given(evaluate):
    runway = AlongRunway(np.array([100.0, 200.0]), np.array([1.0, -2.0]))
    columns = {"ground_speed": np.zeros(2)}

    assert evaluate("runway_position", columns, runway=runway).tolist() == [100.0, 200.0]
    assert evaluate("side_offset", columns, runway=runway).tolist() == [1.0, -2.0]


# Numbers of the pack.


def test_a_limit_by_weight_is_read_at_the_weight_of_each_moment(evaluate):
    pound = 0.45359237
    mass = np.array([26000, 29000, 38000, 54000, 20000]) * pound
    limit = evaluate("limit_load_factor_positive", {"gross_mass": mass})

    # limits.yaml of the pack: 7.5 at 26,000 lb, 7.2 at 32,000 lb, 6.2 at 38,000 lb, 4.3 at 54,000 lb
    assert limit[:4] == pytest.approx([7.5, 7.35, 6.2, 4.3])
    assert np.isnan(limit[4])  # outside its data, nothing is extrapolated


def test_every_limit_of_a_pack_has_a_name(pack):
    from sortiewright.pack import Limits

    keys = {number.key for number in pack_numbers(pack).values()}
    lacking = [
        name
        for name in Limits.model_fields
        if getattr(pack.limits, name) and not any(key.startswith(f"limits.{name}") for key in keys)
    ]
    assert lacking == []


def test_a_number_of_the_pack_is_the_one_in_its_file(pack):
    numbers = pack_numbers(pack)

    assert numbers["limit_gear_speed"].value == pytest.approx(250 * KNOT)
    assert numbers["limit_flap_speed_landing"].value == pytest.approx(220 * KNOT)
    assert numbers["limit_angle_of_attack_clean"].value == pytest.approx(np.radians(22))
    assert numbers["limit_sink_rate_touchdown"].value == pytest.approx(14 * FOOT)
    assert numbers["limit_tyre_speed"].value == pytest.approx(220 * KNOT)
    assert numbers["technique_takeoff_attitude"].value == pytest.approx(np.radians(11))
    assert numbers["limit_brake_energy_danger"].value == pytest.approx(42e6 * FOOT * 4.4482216152605)
