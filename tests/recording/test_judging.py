"""Judging a flight by rules: findings, severities, and what cannot be judged."""

import numpy as np
import pytest
from rule_flights import made_flight, made_recording, pack_with_rules

from sortiewright.recording import judge, load_rules

KNOT = 1852 / 3600
RATE = 10.0


@pytest.fixture
def judged(tmp_path):
    """Return a function that judges one made rule on made columns."""

    def run(rule, columns, *, phases=(), events=(), breaks=(), time=None, **more):
        lines = {"title": "Made rule", "advice": "Do better."} | rule
        text = "rules:\n  made:\n" + "".join(f"    {key}: {value}\n" for key, value in lines.items())
        rules = load_rules(pack_with_rules(tmp_path, text))
        recording = made_recording(columns, rate=RATE, breaks=breaks, time=time)
        findings, (outcome,) = judge(recording, made_flight(recording, phases, events), rules, **more)
        return findings, outcome

    return run


def pulse(rows, first, last, high, low=0.0):
    """Return a column that is high from one row to another, both included."""
    column = np.full(rows, float(low))
    column[first : last + 1] = high
    return column


def test_a_value_over_its_limit_is_found_with_its_peak(judged):
    speed = np.interp(np.arange(0, 20, 0.1), [0, 5, 10, 20], [0, 0, 40 * KNOT, 0])
    findings, outcome = judged(
        {"value": "ground_speed", "above": "{low: kt(25), medium: kt(30), high: kt(45)}", "lasts": "2 s"},
        {"ground_speed": speed},
        phases=[("taxi", 0)],
    )
    (finding,) = findings

    assert outcome.outcome == "broken"
    assert (finding.severity, finding.phase, finding.unit) == ("medium", "taxi", "m/s")
    assert finding.value == pytest.approx(40 * KNOT)
    assert finding.limit == pytest.approx(30 * KNOT)
    assert finding.peak_at == pytest.approx(10)
    assert finding.text == "Made rule: 40 kt, above 30 kt, for 3.8 s during taxi."


def test_begin_and_end_are_where_the_line_between_samples_meets_the_limit(judged):
    time = np.arange(0, 20, 0.1)
    speed = np.interp(time, [0, 20], [0, 20.0])  # 1 m/s2: 7.03 m/s at 7.03 s
    findings, _ = judged(
        {"value": "ground_speed", "above": '{low: "m_per_s(7.03)"}'}, {"ground_speed": speed}
    )

    assert findings[0].begins == pytest.approx(7.03)
    assert findings[0].ends == pytest.approx(19.9)


def test_what_is_shorter_than_lasts_is_no_finding(judged):
    rule = {"wrong_if": "gear_position < 1", "lasts": "1 s"}

    for rows, expected in ((10, "held"), (11, "broken")):  # 0.9 s and 1.0 s from first to last sample
        findings, outcome = judged(rule, {"gear_position": pulse(100, 20, 20 + rows - 1, 0.5, low=1)})
        assert outcome.outcome == expected
        assert len(findings) == (expected == "broken")


def test_a_severity_counts_only_if_its_own_limit_was_passed_for_so_long(judged):
    load = pulse(200, 50, 80, 8.0, low=1) + pulse(200, 60, 61, 3.0)
    rule = {"value": "load_factor_normal", "above": '{low: "7.5", high: "10"}', "lasts": "0.5 s"}

    (finding,), _ = judged(rule, {"load_factor_normal": load})
    assert (finding.severity, finding.limit, finding.value) == ("low", 7.5, 11.0)

    load = pulse(200, 50, 80, 8.0, low=1) + pulse(200, 60, 66, 3.0)
    (finding,), _ = judged(rule, {"load_factor_normal": load})
    assert (finding.severity, finding.limit, finding.value) == ("high", 10.0, 11.0)


def test_findings_closer_than_merge_are_one(judged):
    gear = pulse(300, 50, 60, 0.5, low=1)
    gear[75:90] = 0.5

    assert len(judged({"wrong_if": "gear_position < 1"}, {"gear_position": gear})[0]) == 1
    assert len(judged({"wrong_if": "gear_position < 1", "merge": "1 s"}, {"gear_position": gear})[0]) == 2


def test_nothing_lasts_over_a_break(judged):
    gear = pulse(100, 40, 55, 0.5, low=1)
    rule = {"wrong_if": "gear_position < 1", "lasts": "1 s"}

    assert judged(rule, {"gear_position": gear})[1].outcome == "broken"
    assert judged(rule, {"gear_position": gear}, breaks=[48])[1].outcome == "held"


def test_a_pause_in_the_clock_is_not_time_spent(judged):
    time = np.arange(100) / RATE
    time[50:] += 600
    gear = pulse(100, 47, 53, 0.5, low=1)

    findings, outcome = judged(
        {"wrong_if": "gear_position < 1", "lasts": "5 s"}, {"gear_position": gear}, time=time, breaks=[50]
    )
    assert (findings, outcome.outcome) == ((), "held")


def test_a_rule_is_judged_in_its_phases_only(judged):
    speed = pulse(300, 50, 250, 40 * KNOT)
    phases = [("parked", 0), ("taxi", 10), ("takeoff_roll", 15)]
    (finding,), _ = judged(
        {"during": "taxi", "value": "ground_speed", "above": "{low: kt(25)}"},
        {"ground_speed": speed},
        phases=phases,
    )
    assert (finding.begins, finding.ends) == pytest.approx((10.0, 14.9))


def test_several_phases_that_follow_each_other_are_one_run(judged):
    speed = pulse(300, 120, 170, 40 * KNOT)
    phases = [("parked", 0), ("taxi", 10), ("hold", 15), ("takeoff_roll", 20)]
    rule = {"during": "[hold, taxi]", "value": "ground_speed", "above": "{low: kt(25)}", "lasts": "4 s"}

    assert len(judged(rule, {"ground_speed": speed}, phases=phases)[0]) == 1


def test_at_an_event_numbers_are_taken_between_samples(judged):
    speed = np.arange(0, 20, 0.1) * 10  # 10 m/s2
    (finding,), _ = judged(
        {"at": "lift_off", "value": "airspeed", "above": '{low: "m_per_s(77.2)", medium: "m_per_s(77.3)"}'},
        {"calibrated_airspeed": speed},
        events=[("lift_off", 7.725)],
        phases=[("takeoff_roll", 0)],
    )
    assert finding.value == pytest.approx(77.25)
    assert (finding.begins, finding.ends, finding.peak_at) == (7.725,) * 3
    assert finding.severity == "low"
    assert finding.text.endswith(", at lift-off.")


def test_each_event_of_a_name_is_judged(judged):
    findings, _ = judged(
        {"at": "touchdown", "value": "-vertical_speed", "above": "{low: ft_per_s(6)}"},
        {"vertical_speed": np.linspace(0, -5, 200)},
        events=[("touchdown", 2.0), ("touchdown", 10.0), ("touchdown", 15.0)],
    )
    assert [one.begins for one in findings] == [10.0, 15.0]


def test_after_an_event_a_rule_is_judged_for_its_window(judged):
    bank = np.full(300, np.radians(40))
    (finding,), _ = judged(
        {"after": "lift_off", "window": "5 s", "value": "abs(bank)", "above": "{medium: deg(30)}"},
        {"bank": bank},
        events=[("lift_off", 10.0)],
    )
    assert (finding.begins, finding.ends) == pytest.approx((10.0, 15.0))


def test_both_sides_of_a_value_may_have_limits(judged):
    pitch = np.radians(np.concatenate((np.full(50, 8.0), np.full(50, 3.0), np.full(50, 14.0))))
    findings, _ = judged(
        {"value": "pitch", "above": "{low: deg(12)}", "below": "{high: deg(5)}", "merge": "0.5 s"},
        {"pitch": pitch},
    )
    assert [(one.severity, round(np.degrees(one.limit))) for one in findings] == [("high", 5), ("low", 12)]
    assert ", below 5.0°, for 5.0 s" in findings[0].text


def test_a_missing_channel_leaves_a_rule_not_evaluated(judged):
    rule = {"value": "load_factor_normal", "above": "{low: limit_load_factor_positive}"}
    findings, outcome = judged(rule, {"gross_mass": np.full(10, 17000.0)})

    assert (findings, outcome.outcome) == ((), "not_evaluated")
    assert outcome.because == "the recording has no load factor normal"


@pytest.mark.parametrize(
    ("rule", "because"),
    [
        (
            {"during": "chute", "wrong_if": "gear_position < 1"},
            "there was no deceleration by chute on this flight",
        ),
        ({"at": "touchdown", "wrong_if": "gear_position < 1"}, "there was no touchdown on this flight"),
        ({"after": "touchdown", "wrong_if": "gear_position < 1"}, "there was no touchdown on this flight"),
        ({"wrong_if": "since('touchdown') > s(3)"}, "there was no touchdown on this flight"),
        ({"wrong_if": "airspeed > planned_rotation_speed"}, "no plan was given"),
        ({"wrong_if": "side_offset > ft(15)"}, "no runway was given"),
        ({"when": "gear_position < 0", "wrong_if": "airspeed > 0"}, "this never came: gear_position < 0"),
        ({"when": "hook_position > 0", "wrong_if": "airspeed > 0"}, "the recording has no hook position"),
        ({"wrong_if": "fuel_in('left_wing') > 0"}, "the recording has no fuel in left wing"),
        ({"wrong_if": "airborne"}, "the recording has no weight on wheels"),
        ({"wrong_if": "height_lost > ft(20)"}, "the recording has no altitude"),
        (
            {"wrong_if": "distance_from_brake_release > 0"},
            "there was no brake release on this flight",
        ),
        ({"wrong_if": "energy_height > 0"}, "the recording has no altitude"),
    ],
)
def test_what_is_missing_is_named(judged, rule, because):
    columns = {
        "gear_position": np.ones(50),
        "calibrated_airspeed": np.full(50, 60.0),
        "ground_speed": np.zeros(50),
    }
    _, outcome = judged(rule, columns, phases=[("taxi", 0)])

    assert outcome.outcome == "not_evaluated"
    assert outcome.because == because
