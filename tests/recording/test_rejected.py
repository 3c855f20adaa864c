"""Rejected takeoffs held against the plan, each flown by the reference aeroplane integrated over time."""

import json
from dataclasses import replace
from math import factorial
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from debrief_schema import SCHEMA
from reference_path import Rejection
from rejected_flights import plane_of, rejected_flight

from sortiewright.pack import InputError
from sortiewright.performance import RunState, accelerate_to, reject, release
from sortiewright.recording import (
    compare_rejected,
    debrief,
    debrief_to_json,
    flights_of,
    read_recording,
    report_page,
)
from sortiewright.recording.comparison_rejected import planned_stop
from sortiewright.sortie import compute, demo_sortie_path, load_sortie, read_sortie

DATA = Path(__file__).parents[1] / "data"
SPEED = 58.0
"""Ground speed at which the levers close, m/s."""


@pytest.fixture(scope="module")
def sortie():
    return load_sortie(demo_sortie_path())


@pytest.fixture(scope="module")
def numbers(sortie):
    return compute(sortie.sortie, sortie.pack.pack)


@pytest.fixture(scope="module")
def by_the_book(numbers):
    """Return what the plan orders: brakes and chute counted from the closing of the levers."""
    rejected = numbers.takeoff.setup.technique.rejected
    brakes, chute = (one - rejected.recognition for one in (rejected.brakes_on, rejected.chute_commanded))
    return Rejection(SPEED, brakes, chute)


@pytest.fixture(scope="module")
def book(numbers, by_the_book):
    """Return the rejection flown by the book."""
    return rejected_flight(numbers, by_the_book)


# The second road is tests/support/reference_path.py: other forces, integrated over time by DOP853.
def test_a_rejection_by_the_book_is_as_planned(sortie, by_the_book, book):
    flown = book
    ours = compare_rejected(flown.recording, flown.flight, sortie)

    assert ours.differences == ()
    for name, wanted in (
        ("run_to_levers_closed", flown.way.at(flown.closed)[0]),
        ("accelerate_stop_distance", flown.way.distance[-1]),
        ("time_to_levers_closed", flown.closed),
        ("stop_time", flown.way.time[-1] - flown.closed),
    ):
        # The reference agrees with the plan's own physics to 0.2 % (tests/performance/test_reference.py).
        assert ours.value(name).planned == pytest.approx(wanted, rel=3e-3)
        assert ours.value(name).flown == pytest.approx(wanted, rel=3e-3)
    assert ours.value("brakes_delay").flown == pytest.approx(by_the_book.brakes_on, abs=1e-6)
    assert ours.value("chute_delay").flown == pytest.approx(by_the_book.chute, abs=0.06)
    for split in ours.splits:
        assert abs(split.remainder) < 3.0
        assert all(abs(cause.effect) < 1.5 for cause in split.causes)


def test_brake_energy_is_what_the_brakes_of_the_reference_took(sortie, book):
    energy = compare_rejected(book.recording, book.flight, sortie).value("brake_energy")

    # Thrust that runs down and a nose wheel that brakes nothing are not quite the same on both roads.
    assert energy.flown == pytest.approx(energy.planned, rel=0.03)


def test_late_brakes_and_a_chute_left_alone_are_told_as_causes(sortie, numbers, by_the_book, book):
    late = replace(by_the_book, brakes_on=by_the_book.brakes_on + 3.0)
    alone = replace(by_the_book, chute=None)
    both = replace(late, chute=None)
    ways = {
        name: rejected_flight(numbers, order)
        for name, order in (("late", late), ("alone", alone), ("both", both))
    } | {"book": book}
    stop = {name: one.way.distance[-1] - one.way.at(one.closed)[0] for name, one in ways.items()}
    flown = ways["both"]
    ours = compare_rejected(flown.recording, flown.flight, sortie)
    split = next(one for one in ours.splits if one.quantity == "stop_distance")
    effects = {cause.title: cause.effect for cause in split.causes}
    # Shapley 1953, of two causes: the mean over both orders, here by four runs of the reference.
    wanted = {
        "Late brakes": (stop["late"] - stop["book"] + stop["both"] - stop["alone"]) / factorial(2),
        "Chute not used": (stop["alone"] - stop["book"] + stop["both"] - stop["late"]) / factorial(2),
    }

    assert split.difference == pytest.approx(stop["both"] - stop["book"], abs=2.0)
    for title, effect in wanted.items():
        assert effect > 50.0
        assert effects[title] == pytest.approx(effect, rel=0.03, abs=2.0)
    assert sum(effects.values()) + split.remainder == pytest.approx(split.difference, abs=1e-6)
    assert abs(split.remainder) < 4.0


def test_weight_and_wind_are_told_as_causes(sortie, numbers, by_the_book, book):
    mass = 1.015 * numbers.takeoff.setup.cases.mass[0]
    wind = numbers.takeoff.setup.cases.headwind[0] - 3.0
    flown = rejected_flight(numbers, by_the_book, plane_of(numbers, mass=float(mass), wind=float(wind)))
    ours = compare_rejected(flown.recording, flown.flight, sortie)
    run = next(one for one in ours.splits if one.quantity == "run_to_levers_closed")
    effects = {cause.name: cause.effect for cause in run.causes}

    # Heavier is longer; to a speed over the ground less headwind is shorter, as drag is less.
    assert effects["mass"] > 3.0
    assert effects["headwind"] < 0.0
    assert run.difference == pytest.approx(
        flown.way.at(flown.closed)[0] - book.way.at(book.closed)[0], abs=2.0
    )
    assert abs(run.remainder) < 2.0


def test_weak_thrust_is_told_as_the_cause_of_a_long_run(sortie, numbers, by_the_book, book):
    weak = plane_of(numbers)
    weak.thrust_of = {name: lambda tas, of=of: 0.93 * of(tas) for name, of in weak.thrust_of.items()}
    flown = rejected_flight(numbers, replace(by_the_book, speed=72.0), weak)
    strong = rejected_flight(numbers, replace(by_the_book, speed=72.0))
    ours = compare_rejected(flown.recording, flown.flight, sortie)
    run = next(one for one in ours.splits if one.quantity == "run_to_levers_closed")
    longer = flown.way.at(flown.closed)[0] - strong.way.at(strong.closed)[0]
    told = sum(one.effect for one in run.causes if one.name in ("thrust", "drag", "friction", "power"))

    # A run to 140 kt does not tell thrust from friction: together they must be the whole of it.
    assert longer > 30.0
    assert run.difference == pytest.approx(longer, abs=2.0)
    assert told == pytest.approx(longer, rel=0.1)
    assert max(run.causes, key=lambda one: one.effect).name == "thrust"
    assert abs(run.remainder) < 3.0


def test_planned_stop_is_that_of_an_event_after_which_the_levers_close_at_that_speed(numbers):
    setup = numbers.takeoff.setup
    event = accelerate_to(setup, release(setup), np.array([SPEED]))
    recognition = setup.technique.rejected.recognition
    # The speed at which the levers close: the run goes on for that long.
    speeds = np.linspace(SPEED, SPEED + 12.0, 200)
    rows = setup.take(np.zeros(len(speeds), dtype=np.intp))
    start = RunState(
        *(np.repeat(getattr(event, name), len(speeds)) for name in ("time", "distance", "speed"))
    )
    times = accelerate_to(rows, start, speeds).time
    closing = float(np.interp(event.time[0] + recognition, times, speeds))
    ours = planned_stop(setup, closing, chute=True)
    by_event = reject(setup, event, chute=True)

    assert ours.stop.distance[0] == pytest.approx(by_event.distance[0], rel=1e-3)
    assert ours.stop.time[0] == pytest.approx(by_event.time[0], rel=1e-3)


def test_a_rejection_that_began_rolling_is_held_against_a_run_from_that_speed(sortie, numbers, by_the_book):
    flown = rejected_flight(numbers, replace(by_the_book, start_speed=9.0))
    ours = compare_rejected(flown.recording, flown.flight, sortie)

    # 9 m/s is 17.5 kt.
    assert any("rolling" in one and "17 kt" in one for one in ours.remarks)
    run = ours.value("run_to_levers_closed")
    assert run.planned == pytest.approx(flown.way.at(flown.closed)[0], rel=5e-3)
    assert run.flown == pytest.approx(flown.way.at(flown.closed)[0], rel=5e-3)


def test_one_that_taxies_on_is_compared_down_to_its_speed(sortie, book):
    flown = book
    events = tuple(one for one in book.flight.events if one.name != "stopped")
    ours = compare_rejected(book.recording, replace(book.flight, events=events), sortie)
    last = float(
        np.interp(
            -10.0,
            -flown.way.speed[flown.way.time > flown.closed + 8.0],
            flown.way.distance[flown.way.time > flown.closed + 8.0],
        )
    )

    assert "did not stop" in " ".join(ours.remarks)
    assert ours.value("accelerate_stop_distance").planned == pytest.approx(last, rel=0.01)
    assert ours.value("accelerate_stop_distance").flown == pytest.approx(last, rel=0.01)
    assert [split.quantity for split in ours.splits] == ["run_to_levers_closed"]


def test_what_cannot_be_compared_says_why_in_a_sentence(sortie, book):
    events = tuple(one for one in book.flight.events if one.name != "levers_closed")
    with pytest.raises(InputError, match="neither levers nor power tell when it was given up"):
        compare_rejected(book.recording, replace(book.flight, events=events), sortie)
    with pytest.raises(InputError, match="no rejected takeoff is found"):
        compare_rejected(book.recording, replace(book.flight, phases=()), sortie)
    columns = {**book.recording.columns, "true_heading_deg": np.full(book.recording.rows, 5.0)}
    with pytest.raises(InputError, match="flown on heading 005 true"):
        compare_rejected(replace(book.recording, columns=columns), book.flight, sortie)


def test_chute_that_is_not_recorded_is_said(sortie, book):
    columns = {name: values for name, values in book.recording.columns.items() if name != "drag_chute"}
    ours = compare_rejected(replace(book.recording, columns=columns), book.flight, sortie)

    assert any("drag chute" in one and "not recorded" in one for one in ours.remarks)
    assert "chute" not in [cause.name for cause in ours.splits[1].causes]


def test_the_picture_passes_through_what_was_flown_and_names_its_moments(sortie, book):
    flown = book
    ours = compare_rejected(flown.recording, flown.flight, sortie)
    marks = {(one.name, one.run): one for one in ours.marks}

    assert set(marks) == {
        (name, run)
        for name in ("levers_closed", "brakes_on", "chute", "stop")
        for run in ("planned", "flown")
    }
    for (_, run), mark in marks.items():
        if run == "planned":
            continue
        speed = float(np.interp(mark.distance, ours.curves.distance, ours.curves.flown_ground_speed))
        assert speed == pytest.approx(mark.speed, abs=0.5)
    for time in (4.0, flown.closed, flown.closed + 6.0):
        distance, speed = flown.way.at(time)
        for values in (ours.curves.flown_ground_speed, ours.curves.planned_ground_speed):
            assert float(np.interp(distance, ours.curves.distance, values)) == pytest.approx(speed, abs=0.6)


@pytest.fixture(scope="module")
def abort_sortie():
    """Return the day on which the flight model rejected its takeoff: tests/data/recordings/more/README.md."""
    text = (DATA / "sorties" / "t38_departure.yaml").read_text("utf-8")
    for old, new in (
        ("latitude: 36.412", "latitude: 10.0"),
        ("longitude: -116.2035", "longitude: 20.0"),
        ("elevation: 1503 ft", "elevation: 800 ft"),
        ("true_heading: 52 deg", "true_heading: 20 deg"),
        ('"05"', '"02"'),
        ("tank_1: 1762 lb, tank_2: 1900 lb", "tank_1: 1949 lb, tank_2: 1949 lb"),
    ):
        assert old in text
        text = text.replace(old, new)
    return read_sortie(text, "abort.yaml", DATA / "sorties")


# Truth: the flight model's own steps (tests/data/recordings/more/hot_abort.truth.json).
def test_a_rejection_by_a_flight_model_is_told_with_its_times(abort_sortie):
    recording = read_recording(DATA / "recordings" / "more" / "hot_abort.csv.gz")
    (flight,) = debrief(recording, abort_sortie).flights
    truth = json.loads((DATA / "recordings" / "more" / "hot_abort.truth.json").read_text("utf-8"))["events"]
    at = {one["name"]: one["t_s"] for one in truth}
    (ours,) = flight.rejected

    assert ours.value("time_to_levers_closed").flown == pytest.approx(
        at["levers_closed"] - at["brake_release"], abs=0.1
    )
    assert ours.value("brakes_delay").flown == pytest.approx(at["brakes_on"] - at["levers_closed"], abs=0.1)
    assert ours.value("stop_time").flown == pytest.approx(at["stopped"] - at["levers_closed"], abs=0.15)
    # Ground speed summed over the samples between these moments, another way than the program's.
    time, speed = recording.time, recording.number("ground_speed")
    inside = (time > at["levers_closed"]) & (time <= at["stopped"])
    assert ours.value("stop_distance").flown == pytest.approx(float(speed[inside].sum()) / 20.0, rel=0.01)
    assert flight.takeoffs == ()
    assert flight.not_compared == ()


def test_another_runway_makes_a_rejected_takeoff_another_flight():
    recording = read_recording(DATA / "recordings" / "more" / "hot_abort.csv.gz")
    made = debrief(recording, load_sortie(DATA / "sorties" / "t38_departure.yaml"))
    (flight,) = made.flights

    assert flight.rejected == ()
    assert any("Rejected takeoff: flown on heading" in one for one in flight.not_compared)
    assert any("not the flight of the sortie" in one for one in flight.notes)


@pytest.mark.parametrize("units", ["trade", "si"])
def test_every_report_holds_it(abort_sortie, units):
    recording = read_recording(DATA / "recordings" / "more" / "hot_abort.csv.gz")
    made = debrief(recording, abort_sortie, units=units)
    data = json.loads(json.dumps(debrief_to_json(made), allow_nan=False))
    page = report_page(made)

    jsonschema.validate(data, SCHEMA)
    (rejected,) = data["flights"][0]["rejected_takeoffs"]
    assert {one["name"] for one in rejected["moments"]} == {"levers_closed", "brakes_on", "stop"}
    for text in (
        "Rejected takeoff at 0:32.5",
        "levers closed flown",
        "stop planned",
        "Levers closed to the stop",
    ):
        assert text in page


def test_flights_without_a_rejection_have_none():
    recording = read_recording(DATA / "recordings" / "nominal.csv.gz")
    (flight,) = flights_of(recording)
    with pytest.raises(InputError, match="no rejected takeoff"):
        compare_rejected(recording, flight, load_sortie(DATA / "sorties" / "t38_departure.yaml"))
