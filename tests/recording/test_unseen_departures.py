"""Departures on other days, with other loads and other faults than those of the first recordings.

Flown by a script of ours (tools/departures) in the flight-dynamics library JSBSim 1.3.3 with its model T38.
The truth files hold every event at the model's own step of 1/120 s, and the faults that were put in. The
recordings have 10 or 12 rows a second.
"""

from __future__ import annotations

import functools
import json
from dataclasses import replace
from pathlib import Path

import pytest

from sortiewright.pack import load_pack
from sortiewright.recording import flights_of, judge, load_rules, measure, read_recording

DATA = Path(__file__).resolve().parents[1] / "data"
FOLDER = DATA / "recordings" / "unseen"
NAMES = sorted(path.name.removesuffix(".truth.json") for path in FOLDER.glob("*.truth.json"))
FOOT = 0.3048
EVENTS = {
    "brake_release": "brake_release",
    "afterburner_light": "afterburner_lit",
    "engine_failed": "engine_failed",
    "rotation_start": "rotation_begins",
    "nosewheel_off": "nosewheel_off",
    "liftoff": "lift_off",
    "height_35ft": "height_35_ft",
    "height_50ft": "height_50_ft",
    "gear_up_selected": "gear_up_selected",
    "gear_up_complete": "gear_up",
    "flaps_up_selected": "flaps_up_selected",
    "afterburner_off": "afterburner_out",
    "throttles_closed": "levers_closed",
    "brakes_applied": "brakes_on",
    "stopped": "stopped",
}
"""What the truth calls an event, and what we call it."""


@functools.cache
def rules():
    return load_rules(load_pack(DATA / "packs" / "t38_sampled"))


@functools.cache
def flown(name):
    """Return a recording, its flight, and the truth."""
    recording = read_recording(FOLDER / f"{name}.csv.gz")
    (flight,) = flights_of(recording)
    return recording, flight, json.loads((FOLDER / f"{name}.truth.json").read_text(encoding="utf-8"))


@functools.cache
def found(name):
    recording, flight, _ = flown(name)
    findings, _ = judge(recording, flight, rules())
    return {one.rule for one in findings}


def test_clean_and_faulty_departures_are_here():
    faults = [len(flown(name)[2]["flaws"]) for name in NAMES]

    assert sum(not many for many in faults) == 3
    assert sum(many >= 5 for many in faults) == 3


# The tolerance is that of the task: 0.2 s.
@pytest.mark.parametrize("name", NAMES)
def test_every_event_is_within_a_fifth_of_a_second(name):
    _, flight, truth = flown(name)
    off = {}
    for theirs, ours in EVENTS.items():
        if theirs in truth["events"]:
            event = flight.first(ours)
            off[ours] = None if event is None else event.time - truth["events"][theirs]["t_s"]

    assert len(off) >= 6
    assert {ours: much for ours, much in off.items() if much is None or abs(much) > 0.2} == {}


@pytest.mark.parametrize("name", NAMES)
def test_no_event_of_a_takeoff_is_made_up(name):
    _, flight, truth = flown(name)
    made_up = [
        ours for theirs, ours in EVENTS.items() if theirs not in truth["events"] and flight.first(ours)
    ]

    assert made_up == []


# 15 ft, as of the task; half a row at 12 rows a second is up to 12 ft at lift-off.
@pytest.mark.parametrize("name", [one for one in NAMES if "liftoff" in flown(one)[2]["events"]])
def test_the_ground_run_is_within_fifteen_feet(name):
    recording, flight, truth = flown(name)
    run = next(one.value for one in measure(recording, flight, rules()) if one.name == "ground_run")
    wanted = truth["events"]["liftoff"]["distance_from_brake_release_ft"]

    assert run / FOOT == pytest.approx(wanted, abs=15)


@pytest.mark.parametrize("name", [one for one in NAMES if not flown(one)[2]["flaws"]])
def test_nothing_is_found_on_a_clean_departure(name):
    assert found(name) == set()


@pytest.mark.parametrize("name", [one for one in NAMES if flown(one)[2]["flaws"]])
def test_every_fault_is_found_and_nothing_that_did_not_follow_from_it(name):
    truth = flown(name)[2]

    assert set(truth["rules"]) - found(name) == set()
    assert found(name) - set(truth["rules"]) - set(truth["may"]) == set()


def test_flaps_that_never_left_nought_are_flaps_up():
    recording, _, _ = flown("no_flap_stop")

    assert set(recording.number("flap_position").tolist()) == {0.0}


# The pull at 108 kt is 5 s before the nose can rise.
def test_a_stick_pulled_long_before_the_nose_can_rise_is_early_rotation():
    _, flight, truth = flown("early_and_high")
    waited = flight.first("nosewheel_off").time - flight.first("rotation_begins").time

    assert waited > 4.5
    assert flight.first("rotation_begins").time == pytest.approx(
        truth["events"]["rotation_start"]["t_s"], abs=0.2
    )


def test_a_hop_of_the_nosewheel_is_not_its_lift_off():
    recording, _, truth = flown("warm_crosswind")
    leaves = truth["events"]["nosewheel_off"]["t_s"]
    nose = recording.number("weight_on_wheels_nose").copy()
    nose[(recording.time > leaves - 3.0) & (recording.time < leaves - 2.4)] = 0.0
    hopping = replace(recording, columns={**recording.columns, "weight_on_wheels_nose": nose})
    (flight,) = flights_of(hopping)

    assert flight.first("nosewheel_off").time == pytest.approx(leaves, abs=0.2)
