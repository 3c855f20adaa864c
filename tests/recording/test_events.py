"""Moments against those that a flight-dynamics library wrote at its own 120 steps a second."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sortiewright.recording import Flight, Recording, flights_of, read_recording

DATA = Path(__file__).parent.parent / "data" / "recordings"
FOOT = 0.3048
SAMPLES = ("nominal", "flawed_departure")

# Ours on the left, the truth file's on the right, and how far apart they may be, s. The recordings have 20
# rows a second. Taxi begins in the truth with the throttle, here with motion; the burner goes out there with
# the command, here when the lever, moved in 3 s, has come below the burner range.
MOMENTS = {
    "holds": ("hold_short_stop", 0.2),
    "lined_up": ("lined_up_stopped", 0.2),
    "brake_release": ("brake_release", 0.05),
    "afterburner_lit": ("afterburner_light", 0.05),
    "rotation_begins": ("rotation_start", 0.05),
    "nosewheel_off": ("nosewheel_off", 0.05),
    "lift_off": ("liftoff", 0.05),
    "height_35_ft": ("height_35ft", 0.05),
    "height_50_ft": ("height_50ft", 0.05),
    "gear_up_selected": ("gear_up_selected", 0.05),
    "gear_up": ("gear_up_complete", 0.05),
    "flaps_up_selected": ("flaps_up_selected", 0.05),
    "flaps_up": ("flaps_up_complete", 0.05),
    "taxi_begins": ("taxi_start", 2.0),
    "afterburner_out": ("afterburner_off", 2.0),
}


def truth(name: str) -> dict:
    return json.loads((DATA / f"{name}.truth.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module", params=SAMPLES)
def sample(request) -> tuple[str, Recording, Flight]:
    recording = read_recording(DATA / f"{request.param}.csv.gz")
    (flight,) = flights_of(recording)
    return request.param, recording, flight


def without(recording: Recording, *beginnings: str) -> Recording:
    columns = {name: values for name, values in recording.columns.items() if not name.startswith(beginnings)}
    return replace(recording, columns=columns)


def only(recording: Recording, *names: str) -> Recording:
    return replace(recording, columns={name: recording.columns[name] for name in names})


def moment(flight: Flight, name: str) -> float:
    event = flight.first(name)
    assert event is not None, f"no {name}"
    return event.time


# Source: the truth files beside the recordings, made by JSBSim 1.3.3 (model T38) at its own steps.
def test_moments_of_the_flown_departures_are_those_of_the_flight_model(sample):
    name, _, flight = sample
    events = truth(name)["events"]

    off = {ours: moment(flight, ours) - events[theirs]["t_s"] for ours, (theirs, _) in MOMENTS.items()}

    assert {ours: round(value, 3) for ours, value in off.items() if abs(value) > MOMENTS[ours][1]} == {}


def test_each_moment_of_a_clean_departure_is_told_once(sample):
    _, _, flight = sample
    names = [event.name for event in flight.events]

    assert {name: names.count(name) for name in MOMENTS} == dict.fromkeys(MOMENTS, 1)
    assert "engine_failed" not in names
    assert "levers_closed" not in names
    assert "go_around_begins" not in names


# Source: as above; the issue asks for 15 ft.
def test_ground_run_between_brake_release_and_lift_off_is_that_of_the_flight_model(sample):
    name, recording, flight = sample
    time, speed = recording.time, recording.number("ground_speed")
    path = np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time))))
    run = np.interp(moment(flight, "lift_off"), time, path) - np.interp(
        moment(flight, "brake_release"), time, path
    )

    assert run / FOOT == pytest.approx(truth(name)["derived"]["ground_roll_ft"], abs=15.0)


def test_run_up_begins_with_the_levers(sample):
    name, _, flight = sample
    (run_up,) = [phase for phase in flight.phases if phase.name == "run_up"]

    assert run_up.begins == pytest.approx(truth(name)["events"]["run_up_start"]["t_s"], abs=0.15)
    assert run_up.ends == pytest.approx(moment(flight, "brake_release"), abs=1e-9)


def test_phases_of_a_departure_follow_in_their_order(sample):
    _, _, flight = sample
    names = [phase.name for phase in flight.phases]

    assert names[:11] == [
        "parked", "taxi", "hold", "line_up", "run_up", "takeoff_roll", "rotation", "lift_off", "clean_up",
        "climb", *names[10:11],
    ]  # fmt: skip
    assert set(names[10:]) <= {"cruise"}


# What is told without a channel, against the same truth.
@pytest.mark.parametrize(
    ("missing", "name", "theirs", "near", "basis"),
    [
        (("brake",), "brake_release", "brake_release", 0.25, "first motion"),
        (("stick",), "rotation_begins", "rotation_start", 1.6, "pitch rate"),
        (("stick", "pitch_rate"), "rotation_begins", "rotation_start", 1.6, "pitch rate"),
        (("weight",), "lift_off", "liftoff", 0.9, "height and climb"),
        (("weight",), "nosewheel_off", "nosewheel_off", 1.6, "pitch"),
        (("weight", "height"), "lift_off", "liftoff", 0.9, "height and climb"),
        (("height",), "height_50_ft", "height_50ft", 0.2, "height"),
        (("afterburner",), "afterburner_lit", "afterburner_light", 0.5, "fuel flow at full engine speed"),
        (("engine_speed",), "brake_release", "brake_release", 0.05, "brakes"),
        (("engine", "fan", "fuel_flow", "throttle"), "brake_release", "brake_release", 0.05, "brakes"),
        (("ground_speed", "wheel_speed"), "brake_release", "brake_release", 0.5, "brakes"),
    ],
)
def test_a_missing_channel_has_a_stand_in_that_says_so(sample, missing, name, theirs, near, basis):
    which, recording, _ = sample
    (flight,) = flights_of(without(recording, *missing))
    event = flight.first(name)

    assert event is not None
    assert event.basis == basis
    assert event.time == pytest.approx(truth(which)["events"][theirs]["t_s"], abs=near)


def test_missing_weight_on_wheels_speed_and_power_are_remarked_on(sample):
    _, recording, _ = sample
    (flight,) = flights_of(without(recording, "weight", "ground_speed", "throttle", "engine", "fan"))
    said = " ".join(flight.notes)

    assert "No weight on wheels" in said
    assert "airspeed stands in" in said
    assert "No channel shows power" in said


def test_a_recording_of_height_and_speed_alone_has_its_takeoff(sample):
    name, recording, _ = sample
    (flight,) = flights_of(only(recording, "altitude", "ground_speed"))

    assert moment(flight, "lift_off") == pytest.approx(truth(name)["events"]["liftoff"]["t_s"], abs=1.0)
    assert "takeoff_roll" in [phase.name for phase in flight.phases]


@pytest.mark.parametrize("every", [2, 5, 10, 20])
def test_fewer_rows_a_second_move_moments_by_no_more_than_their_distance(sample, every):
    name, recording, _ = sample
    thin = replace(
        recording,
        time=recording.time[::every],
        columns={channel: values[::every] for channel, values in recording.columns.items()},
    )
    (flight,) = flights_of(thin)
    events = truth(name)["events"]

    for ours in ("brake_release", "lift_off", "height_50_ft", "gear_up_selected", "gear_up"):
        assert moment(flight, ours) == pytest.approx(
            events[MOMENTS[ours][0]]["t_s"], abs=0.05 * every + 0.05
        ), ours


def test_lone_false_samples_change_no_moment(sample):
    _, recording, flight = sample
    random = np.random.default_rng(5)
    columns = dict(recording.columns)
    for channel, wrong in (("ground_speed", 300.0), ("height_above_ground", 500.0), ("pitch", 1.0)):
        values = columns[channel].copy()
        values[random.choice(np.arange(10, len(values) - 10, 40), 25, replace=False)] = wrong
        columns[channel] = values
    wheels = columns["weight_on_wheels_left"].copy()
    airborne = np.flatnonzero(columns["height_above_ground"] > 100.0)
    wheels[random.choice(airborne, 5)] = 1.0
    columns["weight_on_wheels_left"] = wheels
    (spoilt,) = flights_of(replace(recording, columns=columns))

    for ours in ("brake_release", "rotation_begins", "lift_off", "height_50_ft", "gear_up"):
        assert moment(spoilt, ours) == pytest.approx(moment(flight, ours), abs=0.06), ours
    assert [phase.name for phase in spoilt.phases] == [phase.name for phase in flight.phases]
    assert spoilt.first("touchdown") is None


def test_a_pause_in_the_climb_moves_what_comes_after_it_and_nothing_else(sample):
    _, recording, flight = sample
    row = int(np.searchsorted(recording.time, moment(flight, "flaps_up"))) + 100
    later = recording.time + np.where(np.arange(recording.rows) >= row, 300.0, 0.0)
    (paused,) = flights_of(replace(recording, time=later, breaks=np.array([row], dtype=np.intp)))

    for event in flight.events:
        moved = 300.0 if event.row >= row else 0.0
        # What is told by a trend is told on a grid of a second, which the pause shifts by one sample.
        near = 0.06 if event.basis == "height trend" else 1e-6
        assert moment(paused, event.name) == pytest.approx(event.time + moved, abs=near), event.name


def test_lift_off_in_a_gap_is_said_to_be_unknown(sample):
    _, recording, flight = sample
    lift_off = moment(flight, "lift_off")
    kept = (recording.time < lift_off - 3.0) | (recording.time > lift_off + 6.0)
    cut = replace(
        recording,
        time=recording.time[kept],
        columns={channel: values[kept] for channel, values in recording.columns.items()},
        breaks=np.array([np.flatnonzero(~kept)[0]], dtype=np.intp),
    )
    (found,) = flights_of(cut)

    assert found.first("lift_off") is None
    assert any("fell into a gap" in note for note in found.notes)
    assert found.first("brake_release") is not None


# Source: moments written by tools/fly_recordings.py from JSBSim 1.3.3 at its own steps: another model and
# other pilots than the samples'. Wheels bounce there: the first lasting change counts.
FLOWN = [
    ("hot_abort", "run_up", "run_up", 0, 0.2),
    ("hot_abort", "brake_release", "brake_release", 0, 0.05),
    ("hot_abort", "levers_closed", "levers_closed", 0, 0.05),
    ("hot_abort", "brakes_on", "brakes_on", 0, 0.05),
    ("hot_abort", "stopped", "stopped", 0, 0.2),
    ("engine_out", "engine_failed", "engine_failed", 0, 0.1),
    ("engine_out", "brake_release", "brake_release", 0, 0.1),
    ("engine_out", "rotation_begins", "rotation_begins", 0, 0.1),
    ("engine_out", "lift_off", "mains_off", 0, 0.1),
    ("engine_out", "height_50_ft", "height_50_ft", 0, 0.1),
    ("touch_and_go", "touchdown", "mains_on", 0, 0.1),
    ("touch_and_go", "nosewheel_down", "nose_on", -1, 0.1),
    ("touch_and_go", "rotation_begins", "rotation_begins", 0, 0.1),
    ("touch_and_go", "lift_off", "mains_off", 0, 0.1),
    ("touch_and_go", "height_50_ft", "height_50_ft", 0, 0.1),
    ("touch_and_go", "gear_up_selected", "gear_up_selected", 0, 0.1),
    ("trainer_circuit", "brake_release", "brake_release", 0, 0.1),
    ("trainer_circuit", "rotation_begins", "rotation_begins", 0, 0.1),
    ("trainer_circuit", "nosewheel_off", "nose_off", 0, 0.1),
    ("trainer_circuit", "lift_off", "mains_off", 0, 0.1),
    ("trainer_circuit", "height_50_ft", "height_50_ft", 0, 0.1),
    ("trainer_circuit", "gear_up", "gear_up", 0, 0.1),
    ("trainer_circuit", "gear_down", "gear_down", 0, 0.1),
    ("trainer_circuit", "go_around_begins", "go_around_begins", 0, 0.1),
    ("trainer_circuit", "levers_closed", "levers_closed", 0, 0.1),
    ("trainer_circuit", "touchdown", "mains_on", 0, 0.1),
    ("trainer_circuit", "nosewheel_down", "nose_on", -1, 0.1),
    ("trainer_circuit", "brakes_on", "brakes_on", 0, 0.1),
    ("trainer_circuit", "stopped", "stopped", 0, 0.2),
]


@pytest.fixture(scope="module")
def flown() -> dict[str, Flight]:
    names = sorted({row[0] for row in FLOWN})
    return {name: flights_of(read_recording(DATA / "more" / f"{name}.csv.gz"))[0] for name in names}


@pytest.mark.parametrize(("which", "ours", "theirs", "index", "near"), FLOWN)
def test_moments_of_other_flown_recordings_are_those_of_the_flight_model(
    flown, which, ours, theirs, index, near
):
    said = json.loads((DATA / "more" / f"{which}.truth.json").read_text(encoding="utf-8"))["events"]
    moments = [event["t_s"] for event in said if event["name"] == theirs]
    found = (
        [phase.begins for phase in flown[which].phases if phase.name == ours]
        if ours == "run_up"
        else [event.time for event in flown[which].events if event.name == ours]
    )

    assert found, f"no {ours}"
    assert found[0] == pytest.approx(moments[index], abs=near)


def test_an_engine_failure_says_which_engine(flown):
    failures = [event for event in flown["engine_out"].events if event.name == "engine_failed"]

    assert [event.basis for event in failures] == ["speed of the left engine"]


def test_the_second_run_of_a_touch_and_go_begins_with_the_lever(flown):
    said = json.loads((DATA / "more" / "touch_and_go.truth.json").read_text(encoding="utf-8"))["events"]
    (power,) = [event["t_s"] for event in said if event["name"] == "power_up"]
    (roll,) = [phase for phase in flown["touch_and_go"].phases if phase.name == "takeoff_roll"]

    assert roll.begins == pytest.approx(power, abs=0.1)


def test_no_engine_fails_where_none_did(flown):
    assert all(flown[name].first("engine_failed") is None for name in flown if name != "engine_out")
