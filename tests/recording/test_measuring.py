"""Measuring a flight: one value for each moment or phase, or why there is none."""

import numpy as np
import pytest
from rule_flights import made_flight, made_recording, pack_with_rules

from sortiewright.recording import load_rules, measure
from sortiewright.sortie import demo_sortie_path, find_figure, load_sortie, plan


@pytest.fixture
def measured(tmp_path):
    """Return a function that takes one made measurement of made columns."""

    def run(keys, columns, *, phases=(), events=(), rate=10.0, **more):
        lines = {"title": "Made", "kind": "number"} | keys
        text = "measurements:\n  made:\n" + "".join(f"    {key}: {value}\n" for key, value in lines.items())
        rules = load_rules(pack_with_rules(tmp_path, text))
        recording = made_recording(columns, rate=rate)
        return measure(recording, made_flight(recording, phases, events), rules, **more)

    return run


def test_at_an_event_a_value_is_taken_between_samples(measured):
    (one,) = measured(
        {"value": "airspeed", "at": "lift_off", "kind": "cas"},
        {"calibrated_airspeed": np.arange(100.0)},
        events=[("lift_off", 5.025)],
    )
    assert (one.value, one.time, one.kind) == (pytest.approx(50.25), 5.025, "cas")


def test_each_event_of_a_name_is_measured(measured):
    found = measured(
        {"title": "Speed", "value": "ground_speed", "at": "touchdown", "kind": "ground_speed"},
        {"ground_speed": np.arange(100.0)},
        events=[("touchdown", 2.0), ("touchdown", 4.0)],
    )
    assert [one.title for one in found] == ["Speed (1 of 2)", "Speed (2 of 2)"]
    assert [one.value for one in found] == pytest.approx([20, 40])


@pytest.mark.parametrize(
    ("take", "value", "time"),
    [
        ("maximum", 5.0, 3.0),
        ("minimum", 1.0, 1.0),
        ("first", 2.0, 0.5),
        ("last", 3.0, 3.9),
        ("mean", 2.75, None),
    ],
)
def test_over_a_phase_it_is_what_take_says(measured, take, value, time):
    load = np.concatenate(([9.0] * 5, [2.0] * 5, [1.0] * 10, [3.0] * 10, [5.0] * 5, [3.0] * 5, [9.0] * 10))
    phases = [("taxi", 0), ("climb", 0.5), ("cruise", 4.0)]
    (one,) = measured(
        {"value": "load_factor_normal", "during": "climb", "take": take},
        {"load_factor_normal": load},
        phases=phases,
    )
    expected = np.mean(load[5:40]) if take == "mean" else value
    assert one.value == pytest.approx(expected)
    assert one.time == (None if time is None else pytest.approx(time))


def test_with_when_the_first_is_where_it_comes_true(measured):
    (one,) = measured(
        {
            "value": "airspeed",
            "when": "distance_from_brake_release >= m(98)",
            "take": "first",
            "kind": "cas",
        },
        {"calibrated_airspeed": np.arange(100.0), "ground_speed": np.full(100, 50.0)},
        events=[("brake_release", 1.0)],
    )
    assert (one.value, one.time) == (pytest.approx(30.0), pytest.approx(3.0))


def test_a_duration_is_how_long_a_condition_was_true_in_all(measured):
    burner = np.zeros(200)
    burner[50:80] = burner[120:130] = 1.0
    (one,) = measured(
        {"value": "afterburner_stage_left > 0", "take": "duration", "kind": "time"},
        {"afterburner_stage_left": burner},
    )
    assert one.value == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        ({"value": "airspeed", "at": "touchdown", "kind": "cas"}, "there was no touchdown on this flight"),
        ({"value": "bank", "during": "taxi", "kind": "angle"}, "the recording has no bank"),
        ({"value": "airspeed", "during": "approach", "kind": "cas"}, "there was no approach on this flight"),
        (
            {"value": "airspeed", "when": "airspeed > kt(900)", "kind": "cas"},
            "this never came: airspeed > kt(900)",
        ),
        (
            {"value": "gear_position > 0", "take": "duration", "kind": "time"},
            "the recording has no gear position",
        ),
    ],
)
def test_what_cannot_be_measured_says_why(measured, keys, problem):
    (one,) = measured(keys, {"calibrated_airspeed": np.full(20, 60.0)}, phases=[("taxi", 0)])

    assert one.value is None
    assert one.problem == problem


def test_the_planned_value_stands_beside_the_measured_one(measured):
    loaded = load_sortie(demo_sortie_path())
    today = plan(loaded.sortie, loaded.pack)
    (one,) = measured(
        {"value": "airspeed", "at": "lift_off", "kind": "cas", "planned": "lift_off_speed"},
        {"calibrated_airspeed": np.full(20, 80.0)},
        events=[("lift_off", 1.0)],
        plan=today,
    )
    assert one.planned == find_figure(today, "lift_off_speed").value
