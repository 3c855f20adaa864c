"""A pack's rules: reading them, and what is said of those that are wrong."""

import re
from typing import get_args

import pytest
from rule_flights import pack_with_rules

from sortiewright.pack import InputError
from sortiewright.recording import load_rules
from sortiewright.recording.judging_names import EVENTS_SAID, PHASES_SAID
from sortiewright.recording.moments import EventName, PhaseName
from sortiewright.recording.rule_derived import DERIVED
from sortiewright.recording.rule_limits import keys_of_numbers
from sortiewright.recording.time_functions import TIME_FUNCTIONS

GOOD = """\
rules:
  taxi_fast:
    title: Taxi too fast
    during: [taxi, taxi_in]
    value: ground_speed
    above: {low: kt(25), medium: kt(30), high: kt(40)}
    lasts: 2 s
    advice: Slow to a walking pace before the turn.
    source: common practice, no source
  gear_overspeed:
    title: Gear overspeed
    when: gear_position > 0
    value: airspeed
    above: {medium: limit_gear_speed, high: limit_gear_speed + kt(15)}
    lasts: 1 s
    advice: Select the gear up before the limit.
measurements:
  lift_off_speed:
    title: Lift-off speed
    value: airspeed
    at: lift_off
    kind: cas
    planned: lift_off_speed
"""


def faults(folder, text, name="dotterel"):
    with pytest.raises(InputError) as caught:
        load_rules(pack_with_rules(folder, text, name))
    return [str(problem) for problem in caught.value.problems]


def rule(**keys):
    lines = {"title": "Made", "advice": "Do better."} | keys
    return "rules:\n  made:\n" + "".join(f"    {key}: {value}\n" for key, value in lines.items())


def measurement(**keys):
    lines = {"title": "Made"} | keys
    return "measurements:\n  made:\n" + "".join(f"    {key}: {value}\n" for key, value in lines.items())


def test_rules_are_read_with_their_source_and_place(tmp_path):
    rules = load_rules(pack_with_rules(tmp_path, GOOD))

    assert list(rules.rules) == ["taxi_fast", "gear_overspeed"]
    assert list(rules.measurements) == ["lift_off_speed"]
    assert rules.rules["taxi_fast"].source == "common practice, no source"
    assert rules.rules["gear_overspeed"].place == "rules/made.yaml:10"
    assert rules.rules["taxi_fast"].unit == "m/s"
    assert len(rules.digest) == 64


def test_a_pack_without_the_folder_has_no_rules(tmp_path):
    pack = pack_with_rules(tmp_path, {})

    assert load_rules(pack).rules == {}


def test_every_fault_of_a_file_is_told_with_its_line(tmp_path):
    text = GOOD.replace("taxi_in", "taxying_in").replace("limit_gear_speed, high", "limit_gear_sped, high")
    text = text.replace("at: lift_off", "at: lift_of").replace("kind: cas", "kind: speed")

    assert faults(tmp_path, text) == [
        'rules/made.yaml:4  rules.taxi_fast.during: "taxying_in" is none of the phases. '
        'Did you mean "taxi_in"?',
        'rules/made.yaml:14  rules.gear_overspeed.above.medium: "limit_gear_sped" is not a known name. '
        'Did you mean "limit_gear_speed"?',
        'rules/made.yaml:21  measurements.lift_off_speed.at: "lift_of" is none of the events. '
        'Did you mean "lift_off"?',
        'rules/made.yaml:22  measurements.lift_off_speed.kind: "speed" is none of the kinds. '
        'Did you mean "wind_speed"?',
    ]


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ({}, "rules.made: says nothing that is wrong"),
        (
            {"wrong_if": "on_ground", "value": "airspeed", "above": "{low: kt(5)}"},
            "has both wrong_if and value",
        ),
        ({"value": "airspeed"}, "rules.made.value: needs above or below beside it"),
        ({"value": "airspeed", "above": "{}"}, "rules.made.above: holds no level"),
        ({"wrong_if": "on_ground", "above": "{low: kt(5)}"}, "needs value beside it, not wrong_if"),
        ({"value": "airspeed", "above": "{low: deg(5)}"}, '"deg(5)" is an angle, a speed is wanted'),
        ({"value": "on_ground", "above": "{low: '0'}"}, '"on_ground" is a condition, a number is wanted'),
        (
            {"value": "airspeed", "above": "{low: kt(5)}", "severity": "high"},
            '"high" is said by the level that is passed',
        ),
        ({"wrong_if": "airspeed"}, "is a speed, a condition is wanted"),
        ({"wrong_if": "on_ground", "severity": "grave"}, '"grave" is not one of: low, medium, high'),
        ({"wrong_if": "on_ground", "title": "''"}, "rules.made.title: is empty"),
        ({"wrong_if": "on_ground", "advice": "''"}, "rules.made.advice: is empty"),
        ({"wrong_if": "on_ground", "after": "lift_off", "at": "touchdown"}, "stands beside at"),
        ({"wrong_if": "on_ground", "window": "3 s"}, "needs an event to begin at. Write after: lift_off"),
        ({"wrong_if": "on_ground", "at": "lift_off", "lasts": "2 s"}, "2 s cannot pass at one moment"),
        ({"wrong_if": "on_ground", "lasts": "2"}, "has no unit"),
        ({"wrong_if": "held(on_ground, 2)"}, "Write s(2) or minutes(2)"),
        ({"wrong_if": "since('lift_of') > s(1)"}, 'Did you mean "lift_off"?'),
        ({"wrong_if": "fuel_in('left_win') > 0"}, 'Did you mean "left_wing"?'),
        ({"wrong_if": "planned_wind > 0"}, "This figure is words, there is no value to compare"),
        ({"wrong_if": "airspeed > planned_rotation_sped"}, 'Did you mean "planned_rotation_speed"?'),
        ({"wrong_iff": "on_ground"}, '"wrong_iff" is not a known key. Did you mean "wrong_if"?'),
    ],
)
def test_a_rule_that_is_wrong_says_what_to_mend(tmp_path, keys, fault):
    assert any(fault in one for one in faults(tmp_path, rule(**keys))), faults(tmp_path, rule(**keys))


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ({"value": "airspeed", "kind": "angle"}, '"angle" does not show what value is: a speed'),
        ({"value": "airspeed", "kind": "cas", "take": "greatest"}, "is not one of: maximum, minimum"),
        ({"value": "airspeed", "kind": "cas", "at": "lift_off", "take": "first"}, "no meaning at one moment"),
        ({"value": "airspeed", "kind": "cas", "planned": "lift_off_sped"}, 'Did you mean "lift_off_speed"?'),
        ({"value": "airspeed", "kind": "cas", "planned": "ground_run"}, "is of the kind runway_distance"),
        ({"value": "airspeed", "kind": "time", "take": "duration"}, "is a speed, a condition is wanted"),
        ({"value": "on_ground", "kind": "cas", "take": "duration"}, "does not show what value is"),
        ({"value": "on_ground", "kind": "number"}, "is a condition, a number is wanted"),
    ],
)
def test_a_measurement_that_is_wrong_says_what_to_mend(tmp_path, keys, fault):
    found = faults(tmp_path, measurement(**keys))
    assert any(fault in one for one in found), found


def test_a_limit_that_the_pack_does_not_give_is_named(tmp_path):
    text = rule(wrong_if="ground_speed > limit_minimum_control_ground_speed")

    (fault,) = faults(tmp_path, text, "whinchat")
    assert "whinchat does not give limits.minimum_control_ground_speed" in fault


def test_one_name_in_two_files_is_a_fault(tmp_path):
    text = rule(wrong_if="on_ground")

    (fault,) = faults(tmp_path, {"a.yaml": text, "b.yaml": text})
    assert fault == 'rules/b.yaml:2  rules.made: "made" stands in another file too. See rules/a.yaml:2'


def test_a_file_with_another_ending_is_remarked(tmp_path):
    rules = load_rules(pack_with_rules(tmp_path, {"a.yaml": GOOD, "b.yml": GOOD}))

    assert rules.remarks == ("rules/b.yml  this file is not read. Name it b.yaml",)


def test_what_is_no_yaml_is_a_fault_with_its_line(tmp_path):
    (fault,) = faults(tmp_path, "rules:\n  made: [\n")

    assert fault.startswith("rules/made.yaml:")


def test_the_page_names_every_derived_value_number_and_function(project_root):
    page = (project_root / "docs" / "rules.md").read_text("utf-8")
    names = [*DERIVED, *keys_of_numbers()]

    assert [name for name in names if f"| `{name}` |" not in page] == []
    assert [name for name in TIME_FUNCTIONS if f"`{name}(" not in page] == []


def test_the_examples_of_the_page_are_rules(tmp_path, project_root):
    page = (project_root / "docs" / "rules.md").read_text("utf-8")
    first, line_speed = re.findall(r"```yaml\n(.*?)```", page, re.S)

    rules = load_rules(pack_with_rules(tmp_path, first + line_speed))
    assert list(rules.rules) == ["taxi_fast", "gear_overspeed", "canopy_open_at_power"]
    assert list(rules.measurements) == ["lift_off_speed", "line_speed"]


def test_every_phase_and_event_has_words():
    assert set(get_args(PhaseName)) - {"unknown"} == set(PHASES_SAID)
    assert set(get_args(EventName)) == set(EVENTS_SAID)
