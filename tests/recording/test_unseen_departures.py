"""Departures on other days, with other loads and other faults than those of the first recordings.

Flown by a script of ours (tools/departures) in the flight-dynamics library JSBSim 1.3.3 with its model T38.
The truth files hold every event at the model's own step of 1/120 s, and the faults that were put in. The
recordings have 8 to 12 rows a second. Those in ``confirming`` were flown once the rules stood as they do.
"""

from __future__ import annotations

import functools
import json
from dataclasses import replace
from math import atan2, degrees, hypot
from pathlib import Path

import pytest

from sortiewright.pack import load_pack
from sortiewright.recording import debrief, flights_of, judge, load_rules, measure, read_recording
from sortiewright.sortie import load_sortie

DATA = Path(__file__).resolve().parents[1] / "data"
TRUTHS = {
    path.name.removesuffix(".truth.json"): path
    for folder in ("unseen", "confirming")
    for path in sorted((DATA / "recordings" / folder).glob("*.truth.json"))
}
NAMES = list(TRUTHS)
FOOT, KNOT = 0.3048, 1852 / 3600
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
    recording = read_recording(TRUTHS[name].with_name(f"{name}.csv.gz"))
    (flight,) = flights_of(recording)
    return recording, flight, json.loads(TRUTHS[name].read_text(encoding="utf-8"))


@functools.cache
def found(name):
    recording, flight, _ = flown(name)
    findings, _ = judge(recording, flight, rules())
    return {one.rule for one in findings}


def test_clean_and_faulty_departures_are_here():
    faults = [len(flown(name)[2]["flaws"]) for name in NAMES]

    assert sum(not many for many in faults) == 3 + 7
    assert sum(many >= 5 for many in faults) == 3
    assert sum(many > 0 for many in faults) == 3 + 11


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


# 15 ft, as of the task, or half a row if that is more: up to 18 ft at 10 rows a second with wind from behind.
@pytest.mark.parametrize("name", [one for one in NAMES if "liftoff" in flown(one)[2]["events"]])
def test_the_ground_run_is_within_fifteen_feet(name):
    recording, flight, truth = flown(name)
    run = next(one.value for one in measure(recording, flight, rules()) if one.name == "ground_run")
    lift_off = truth["events"]["liftoff"]
    half_a_row = lift_off["gs_kt"] * KNOT / FOOT * 0.5 / truth["rate_hz"]

    assert run / FOOT == pytest.approx(
        lift_off["distance_from_brake_release_ft"], abs=max(15.0, half_a_row + 3.0)
    )


@pytest.mark.parametrize("name", [one for one in NAMES if not flown(one)[2]["flaws"]])
def test_nothing_is_found_on_a_clean_departure(name):
    assert found(name) == set()


@pytest.mark.parametrize("name", [one for one in NAMES if flown(one)[2]["flaws"]])
def test_every_fault_is_found_and_nothing_that_did_not_follow_from_it(name):
    truth = flown(name)[2]

    assert set(truth["rules"]) - found(name) - NEED_A_PLAN == set()
    assert found(name) - set(truth["rules"]) - set(truth["may"]) == set()


NEED_A_PLAN = {"takeoff_crosswind", "takeoff_off_centre"}


def sortie_of(truth, folder):
    """Return the sortie of a departure: its day as a report of the weather has it, its fuel at release."""
    day, events = truth["day"], truth["events"]
    ahead, left = day["headwind_kt"], day["crosswind_from_left_kt"]
    wind_from = (day["heading_deg"] - degrees(atan2(left, ahead))) % 360.0
    warm = f"{round(day['temperature_c']):03d}".replace("-", "M").removeprefix("0")
    report = (
        f"METAR ZZCH 141000Z {10 * round(wind_from / 10.0):03d}{round(hypot(ahead, left)):02d}KT 9999 SKC "
        f"{warm}/M30 Q{round(day['qnh_hpa']):04d}"
    )
    # The sample sortie has 3,662 lb of fuel at 11,236 lb.
    fuel = events["brake_release"]["weight_lb"] - (11_236 - 3_662)
    text = (DATA / "sorties" / "t38_departure.yaml").read_text("utf-8")
    changes = {
        "../packs/t38_sampled": (DATA / "packs" / "t38_sampled").as_posix(),
        "tank_1: 1762 lb, tank_2: 1900 lb": f"tank_1: {0.5 * fuel:.0f} lb, tank_2: {0.5 * fuel:.0f} lb",
        "36.412": str(day["lat"]),
        "-116.2035": str(day["lon"]),
        "1503 ft": f"{day['elevation_ft']:.0f} ft",
        "true_heading: 52 deg": f"true_heading: {day['heading_deg']} deg",
        '"05"': f'"{round(day["heading_deg"] / 10) or 36:02d}"',
        "METAR ZZCH 141000Z 00000KT 9999 SKC 20/05 Q1015": report,
    }
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    if truth["technique"]["takeoff_throttle"] <= 0.5:
        text += "takeoff: {power: military}\n"
    (folder / "sortie.yaml").write_text(text, encoding="utf-8")
    return load_sortie(folder / "sortie.yaml")


# Wind, runway, lift-off speed and ground run are judged against the plan of that day.
@pytest.mark.parametrize(
    "name", ["strong_cross", "left_low", "early_downwind", "gale_ahead", "across_the_date_line", "arctic"]
)
def test_with_the_plan_of_its_day_a_departure_is_judged_whole(name, tmp_path):
    recording, _, truth = flown(name)
    debriefed = debrief(
        recording, sortie_of(truth, tmp_path), runway_start=(truth["day"]["lat"], truth["day"]["lon"])
    )
    (flight,) = debriefed.flights
    rules = {one.rule for one in flight.findings}

    assert flight.not_compared == ()
    assert set(truth["rules"]) - rules == set()
    assert rules - set(truth["rules"]) - set(truth["may"]) == set()


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


# The wheel skips as its load goes: it left the runway for good when it left it last.
def test_a_nosewheel_that_touches_once_more_leaves_the_runway_then():
    recording, _, truth = flown("warm_crosswind")
    leaves = truth["events"]["nosewheel_off"]["t_s"]
    nose = recording.number("weight_on_wheels_nose").copy()
    nose[(recording.time > leaves + 0.6) & (recording.time < leaves + 0.9)] = 1.0
    skipping = replace(recording, columns={**recording.columns, "weight_on_wheels_nose": nose})
    (flight,) = flights_of(skipping)

    assert flight.first("nosewheel_off").time == pytest.approx(leaves + 0.9, abs=0.1)
    assert flight.first("rotation_begins").time == pytest.approx(
        truth["events"]["rotation_start"]["t_s"], abs=0.2
    )


# Levers closed at 55 kt for 4 s and forward again: one takeoff, not one given up and another.
def test_power_taken_off_in_the_run_is_no_rejected_takeoff():
    _, flight, _ = flown("eased_slow")

    assert [one.name for one in flight.events].count("brake_release") == 1
    assert "rejected_takeoff" not in {phase.name for phase in flight.phases}
    assert "climb" in {phase.name for phase in flight.phases}


def test_power_taken_off_before_a_takeoff_is_given_up_is_one_attempt():
    _, flight, truth = flown("eased_then_stopped")

    assert [phase.name for phase in flight.phases].count("rejected_takeoff") == 1
    assert flight.first("levers_closed").time == pytest.approx(
        truth["events"]["throttles_closed"]["t_s"], abs=0.2
    )
