"""Phases of real trajectories against an independent labeller's, and single phases against what was made."""

from __future__ import annotations

import numpy as np
import pytest
from labelled_trajectories import Labelled, labelled
from made_flights import Maker, departure, full_stop, parked

from sortiewright.recording import flights_of

WORDS = ("ground", "climb", "level", "descent")


@pytest.fixture(scope="module")
def trajectories() -> list[Labelled]:
    return labelled()


def agreement(trajectories: list[Labelled], window: int, word: str = "") -> float:
    """Return the share of samples labelled alike, of all or of those to which the labeller gives a word."""
    theirs = np.concatenate([one.theirs[window] for one in trajectories])
    ours = np.concatenate([one.ours for one in trajectories])
    counted = theirs == word if word else theirs != ""
    return float((theirs == ours)[counted].mean())


# Source: real flights recorded by the OpenSky Network, as packaged in traffic 2.13; labels of OpenAP 2.6.2's
# fuzzy labeller. tools/label_trajectories.py made the excerpt. Its labels are of 60 s each as it comes, or of
# 20 s, which is the time over which ours are told.
@pytest.mark.parametrize(("window", "least"), [(60, 0.95), (20, 0.975)])
def test_ground_climb_level_and_descent_of_real_flights_are_those_of_an_independent_labeller(
    trajectories, window, least
):
    assert sum(len(one.time) for one in trajectories) > 30_000
    assert agreement(trajectories, window) > least


# An approach counts as descent here, level parts of it too: the labeller calls those level.
@pytest.mark.parametrize(
    ("word", "least"), [("ground", 0.98), ("climb", 0.98), ("level", 0.85), ("descent", 0.97)]
)
def test_each_of_the_four_is_found_where_the_labeller_sees_it(trajectories, word, least):
    assert agreement(trajectories, 20, word) > least


def test_no_flight_of_them_is_labelled_otherwise_as_a_whole(trajectories):
    each = [float((one.ours == one.theirs[20])[one.theirs[20] != ""].mean()) for one in trajectories]

    assert min(each) > 0.9


def phases_at(maker: Maker, moment: float, **recorded) -> str:
    recording = maker.recording(**recorded)
    flights = flights_of(recording)
    return next(
        phase.name for flight in flights for phase in flight.phases if phase.begins <= moment < phase.ends
    )


@pytest.fixture(scope="module")
def flown() -> Maker:
    return full_stop(departure(parked()).climb_to(2500.0).level(80.0).climb_to(450.0).level(60.0))


@pytest.mark.parametrize(
    ("event", "later", "phase"),
    [
        ("engine_start", 2.0, "start"),
        ("moves", 10.0, "taxi"),
        ("stops", 5.0, "hold"),
        ("lined_up", 1.0, "line_up"),
        ("run_up", 3.0, "run_up"),
        ("brake_release", 5.0, "takeoff_roll"),
        ("rotation_begins", 1.0, "rotation"),
        ("lift_off", 1.0, "lift_off"),
        ("gear_up_selected", 2.0, "clean_up"),
        ("climb", 30.0, "climb"),
        ("level", 30.0, "cruise"),
        ("descent", 40.0, "descent"),
        ("gear_down", 20.0, "approach"),
        ("levers_closed", 1.0, "flare"),
        ("touchdown", 0.5, "touchdown"),
        ("brakes_on", 3.0, "landing_roll"),
        ("stopped", -10.0, "taxi_in"),
        ("shut_down", 0.7, "shutdown"),
        ("shut_down", 15.0, "parked"),
    ],
)
def test_a_moment_lies_in_the_phase_that_was_flown(flown, event, later, phase):
    assert phases_at(flown, flown.truth[event][0] + later) == phase


@pytest.mark.parametrize("rate", [4.0, 60.0])
def test_phases_hold_at_low_and_high_rates(flown, rate):
    assert phases_at(flown, flown.truth["descent"][0] + 40.0, rate=rate) == "descent"
    assert phases_at(flown, flown.truth["rotation_begins"][0] + 1.0, rate=rate) == "rotation"


def test_the_times_of_a_run_are_those_of_its_events(flown):
    (flight,) = flights_of(flown.recording())
    by_name = {phase.name: phase for phase in flight.phases}
    moment = {event.name: event.time for event in flight.events}

    assert by_name["takeoff_roll"].begins == moment["brake_release"]
    assert by_name["takeoff_roll"].ends == by_name["rotation"].begins == moment["rotation_begins"]
    assert by_name["rotation"].ends == moment["lift_off"]


def test_hard_turns_are_manoeuvring_and_gentle_ones_are_not():
    maker = departure(parked()).climb_to(2500.0).level(60.0).note("turns").level(40.0).level(60.0)
    recording = maker.recording()
    time, begin = recording.time, maker.truth["turns"][0]
    turning = (time > begin) & (time < begin + 40.0)
    for degrees, name in ((70.0, "manoeuvre"), (30.0, "cruise")):
        columns = {**recording.columns, "bank": np.where(turning, np.radians(degrees), 0.0)}
        (flight,) = flights_of(type(recording)("turn", time, columns, recording.breaks))
        at = next(phase.name for phase in flight.phases if phase.begins <= begin + 20.0 < phase.ends)

        assert at == name


def test_a_drag_chute_is_a_phase_of_its_own():
    maker = full_stop(departure(parked()).climb_to(450.0).level(30.0))
    recording = maker.recording()
    begin = maker.truth["touchdown"][0] + 4.0
    words = np.where((recording.time > begin) & (recording.time < begin + 6.0), "deployed", "stowed")
    (flight,) = flights_of(
        type(recording)("chute", recording.time, {**recording.columns, "drag_chute": words}, recording.breaks)
    )
    (chute,) = [phase for phase in flight.phases if phase.name == "chute"]

    assert (chute.begins, chute.ends) == pytest.approx((begin, begin + 6.0), abs=0.1)
    assert flight.first("chute_out").time == pytest.approx(begin, abs=0.05)
