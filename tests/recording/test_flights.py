"""Several sorties, attempts, circuits: made by plain kinematics, at many rates, noisy, with parts missing."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_flights import Maker, departure, full_stop, parked

from sortiewright.recording import Flight, PhaseLimits, Recording, flight_lines, flights_of, phase_limits_of

GROUND_PHASES = {"parked", "start", "taxi", "hold", "line_up", "run_up", "takeoff_roll", "rejected_takeoff",
                 "rotation", "touchdown", "landing_roll", "chute", "taxi_in", "shutdown"}  # fmt: skip


def one_sortie() -> Maker:
    return full_stop(departure(parked()).climb_to(1000.0).level(60.0, turn=180.0).climb_to(450.0).level(40.0))


def circuits() -> Maker:
    maker = departure(parked()).climb_to(400.0).level(40.0, turn=180.0)
    maker.approach_to(60.0).go_around().climb_to(400.0).level(60.0, turn=360.0)
    maker.approach_to(4.0).land().go(0.5).roll(78.0, release=False).rotate_and_lift()
    return full_stop(maker.climb_to(400.0).level(60.0, turn=360.0))


def rejected_then_flown() -> Maker:
    maker = (
        parked()
        .start()
        .stand(10.0)
        .taxi(30.0, turn=60.0)
        .stand(10.0)
        .line_up_and_run_up()
        .roll(50.0)
        .give_up()
    )
    maker.taxi_clear().taxi(60.0, turn=200.0).stand(5.0).line_up_and_run_up()
    maker.roll(75.0).rotate_and_lift().clean_up().climb_to(1000.0).level(60.0)
    return full_stop(maker)


def two_sorties() -> Maker:
    first = full_stop(departure(parked()).climb_to(600.0).level(30.0)).stand(60.0)
    return full_stop(departure(first).climb_to(500.0).level(30.0))


def names(flight: Flight) -> list[str]:
    return [phase.name for phase in flight.phases]


def times(flights: tuple[Flight, ...], name: str) -> list[float]:
    return [event.time for flight in flights for event in flight.events if event.name == name]


def is_in_order(wanted: list[str], found: list[str]) -> bool:
    rest = iter(found)
    return all(name in rest for name in wanted)


TOLD = (
    "brake_release", "rotation_begins", "lift_off", "height_50_ft", "gear_up_selected", "gear_up",
    "flaps_up_selected", "flaps_up", "gear_down", "levers_closed", "touchdown", "bounce", "brakes_on",
    "go_around_begins", "lined_up",
)  # fmt: skip
MADE = {
    "one_sortie": one_sortie, "circuits": circuits, "rejected": rejected_then_flown, "two": two_sorties,
}  # fmt: skip


@pytest.fixture(scope="module")
def made() -> dict[str, Maker]:
    return {name: make() for name, make in MADE.items()}


# The maker's own moments, which the code under test does not see. No source outside: kinematics made here.
@pytest.mark.parametrize("rate", [5.0, 8.0, 20.0, 33.0, 60.0])
@pytest.mark.parametrize("which", MADE)
def test_made_moments_are_found_at_any_rate_each_as_often_as_it_was_made(made, which, rate):
    maker = made[which]
    flights = flights_of(maker.recording(rate=rate, seed=int(rate)))

    for name in TOLD:
        wanted, found = maker.truth.get(name, []), times(flights, name)
        if name == "levers_closed":  # those of the touch-and-go are no end of a flight
            wanted = [moment for moment in wanted if any(abs(moment - one) < 1.0 for one in found)]
        assert len(found) == len(wanted), (name, found, wanted)
        assert found == pytest.approx(wanted, abs=0.12 + 1.0 / rate), name


def test_a_sortie_has_its_phases_in_order():
    (flight,) = flights_of(one_sortie().recording())

    assert is_in_order(
        ["parked", "start", "taxi", "hold", "line_up", "run_up", "takeoff_roll", "rotation", "lift_off",
         "clean_up",
         "climb", "cruise", "descent", "cruise", "approach", "flare", "touchdown", "landing_roll", "taxi_in",
         "shutdown", "parked"],
        names(flight),
    )  # fmt: skip
    assert "unknown" not in names(flight)
    assert "rejected_takeoff" not in names(flight)


def test_a_rejected_takeoff_is_a_roll_a_rejection_and_no_flight():
    (flight,) = flights_of(rejected_then_flown().recording())
    found = names(flight)

    assert found.count("rejected_takeoff") == 1
    assert found.count("takeoff_roll") == 2
    assert is_in_order(
        ["takeoff_roll", "rejected_takeoff", "taxi", "line_up", "takeoff_roll", "lift_off"], found
    )


def test_a_rejection_alone_is_one_sortie_without_flight():
    maker = (
        parked()
        .start()
        .stand(5.0)
        .taxi(20.0)
        .stand(5.0)
        .line_up_and_run_up()
        .roll(40.0)
        .give_up()
        .stand(20.0)
    )
    (flight,) = flights_of(maker.recording())

    assert flight.first("lift_off") is None
    assert flight.first("levers_closed") is not None
    assert "rejected_takeoff" in names(flight)


@pytest.mark.parametrize("top", [22.0, 30.0, 60.0])
def test_rejections_from_taxi_speed_to_flying_speed_are_found(top):
    maker = (
        parked().start().stand(5.0).taxi(20.0).stand(5.0).line_up_and_run_up().roll(top).give_up().stand(20.0)
    )
    (flight,) = flights_of(maker.recording(rate=10.0))

    assert flight.first("levers_closed") is not None
    assert flight.first("levers_closed").time == pytest.approx(maker.truth["levers_closed"][0], abs=0.2)


def test_a_fast_taxi_is_no_rejected_takeoff():
    maker = parked().start().stand(5.0).taxi(60.0, speed=21.0).stand(30.0)
    (flight,) = flights_of(maker.recording())

    assert "rejected_takeoff" not in names(flight)
    assert "takeoff_roll" not in names(flight)


def test_a_touch_and_go_is_one_sortie_with_two_landings():
    flights = flights_of(circuits().recording())

    assert len(flights) == 1
    assert len(times(flights, "touchdown")) == 2
    assert is_in_order(
        ["approach", "go_around", "approach", "flare", "touchdown", "takeoff_roll", "rotation", "lift_off",
         "approach", "touchdown", "landing_roll", "taxi_in"],
        names(flights[0]),
    )  # fmt: skip


def test_a_low_pass_with_the_gear_up_is_no_go_around():
    maker = (
        departure(parked()).climb_to(600.0).level(40.0).climb_to(60.0).level(10.0).climb_to(700.0).level(30.0)
    )
    flights = flights_of(full_stop(maker).recording())

    assert times(flights, "go_around_begins") == []


def test_a_sortie_ends_where_the_engines_are_shut_down():
    maker = two_sorties()
    flights = flights_of(maker.recording())

    assert len(flights) == 2
    assert flights[0].end == flights[1].begin
    assert maker.truth["shut_down"][0] < flights[1].phases[0].begins < maker.truth["engine_start"][1]
    assert [flight.first("lift_off") is not None for flight in flights] == [True, True]


def test_a_sortie_ends_after_standing_long_where_engines_are_not_recorded():
    first = full_stop(departure(parked()).climb_to(400.0).level(30.0)).stand(310.0)
    flights = flights_of(
        full_stop(departure(first).climb_to(400.0)).recording(rate=5.0, without=("engine", "thr"))
    )

    assert len(flights) == 2


def test_a_full_stop_and_another_takeoff_without_shutdown_are_one_sortie():
    maker = (
        departure(parked()).climb_to(400.0).level(30.0).approach_to(4.0).land().roll_out(10.0).taxi_clear()
    )
    maker.taxi(30.0, turn=120.0).stand(10.0).line_up_and_run_up().roll(75.0).rotate_and_lift().clean_up()
    flights = flights_of(full_stop(maker.climb_to(400.0).level(30.0)).recording())

    assert len(flights) == 1
    assert len(times(flights, "lift_off")) == 2


def test_a_recording_that_goes_on_elsewhere_is_another_sortie():
    first = departure(parked()).climb_to(1000.0).level(30.0).recording(rate=10.0)
    second = departure(parked()).climb_to(500.0).recording(rate=10.0)
    joined = Recording(
        "joined",
        np.concatenate((first.time, second.time + first.time[-1] + 5.0)),
        {name: np.concatenate((first.columns[name], second.columns[name])) for name in first.columns},
        np.array([first.rows], dtype=np.intp),
    )
    flights = flights_of(joined)

    assert [(flight.begin, flight.end) for flight in flights] == [(0, first.rows), (first.rows, joined.rows)]


def test_a_recording_loaded_again_with_more_fuel_is_another_sortie():
    recording = departure(parked()).climb_to(1000.0).level(60.0).recording(rate=10.0)
    row = recording.rows - 300
    fuel = np.linspace(2000.0, 1900.0, recording.rows) + np.where(
        np.arange(recording.rows) >= row, 500.0, 0.0
    )
    loaded = replace(
        recording,
        columns={**recording.columns, "fuel_mass": fuel},
        breaks=np.array([row], dtype=np.intp),
    )

    assert [flight.begin for flight in flights_of(loaded)] == [0, row]


def test_a_pause_does_not_end_a_sortie():
    maker = one_sortie()
    paused = maker.recording(pause_at=maker.truth["climb"][0] + 5.0)

    assert len(flights_of(paused)) == 1


def test_a_bounce_is_counted_and_is_no_flight():
    maker = departure(parked()).climb_to(400.0).level(30.0)
    flights = flights_of(full_stop(maker, bounce=True).recording())

    assert len(times(flights, "touchdown")) == 1
    assert times(flights, "bounce") == pytest.approx(maker.truth["bounce"], abs=0.1)


def test_weight_on_wheels_that_flickers_at_lift_off_counts_to_its_last_moment():
    maker = departure(parked(), flicker=True).climb_to(400.0)
    flights = flights_of(maker.recording(rate=50.0))

    assert times(flights, "lift_off") == pytest.approx(maker.truth["lift_off"], abs=0.05)


def test_a_rolling_takeoff_says_that_it_is_one():
    maker = parked().start().stand(5.0).taxi(20.0).stand(5.0).go(4.0, brake=0.0, throttle=0.3, speed=8.0)
    maker.go(10.0, heading=170.0, throttle=0.08).go(4.0).note("power").roll(75.0, release=False)
    (flight,) = flights_of(maker.rotate_and_lift().clean_up().climb_to(400.0).recording())
    release = flight.first("brake_release")

    assert release is not None
    assert release.basis.startswith("rolling")
    assert release.time == pytest.approx(maker.truth["power"][0], abs=0.1)
    assert any("Rolling takeoff" in note for note in flight.notes)


def test_a_recording_that_begins_on_the_run_has_its_lift_off():
    maker = Maker(engines_on=1.0, throttle=1.0, brake=0.0, speed=40.0)
    (flight,) = flights_of(
        maker.roll(75.0, release=False).rotate_and_lift().clean_up().climb_to(500.0).recording()
    )

    assert flight.first("brake_release") is None
    assert flight.first("lift_off") is not None
    assert any("begins on the takeoff run" in note for note in flight.notes)


def test_a_recording_in_the_air_only_is_said_to_be_one():
    maker = (
        Maker(engines_on=1.0, speed=120.0, height=800.0, gear=0.0, flap=0.0)
        .level(60.0)
        .climb_to(1500.0)
        .level(60.0)
    )
    (flight,) = flights_of(maker.recording())

    assert not set(names(flight)) & GROUND_PHASES
    assert any("begins in the air" in note for note in flight.notes)
    assert any("ends in the air" in note for note in flight.notes)


def test_a_fast_jet_standing_on_its_tail_is_in_the_air():
    # Ground speed falls to nothing in a vertical climb; height and airspeed say that this is no parking.
    maker = departure(parked()).climb_to(1500.0).level(20.0)
    before = maker.speed
    maker.go(6.0, speed=2.0, height=3000.0, pitch=1.4).go(6.0, speed=before, height=3200.0, pitch=0.0).level(
        30.0
    )
    recording = full_stop(maker.climb_to(450.0)).recording(without=("weight",))

    assert len(times(flights_of(recording), "touchdown")) == 1


def test_missing_samples_are_filled_and_said():
    recording = one_sortie().recording()
    holes = np.random.default_rng(3).random(recording.rows) < 0.3
    columns = {name: np.where(holes, np.nan, values) for name, values in recording.columns.items()}
    (whole,), (found,) = flights_of(recording), flights_of(replace(recording, columns=columns))

    assert found.first("lift_off").time == pytest.approx(whole.first("lift_off").time, abs=0.2)
    assert any("lacks 30 %" in note for note in found.notes)


@pytest.mark.parametrize("rows", [0, 1, 2, 3])
def test_next_to_no_samples_are_no_error(rows):
    recording = Recording(
        "few", np.arange(float(rows)), {"ground_speed": np.zeros(rows)}, np.empty(0, dtype=np.intp)
    )

    assert len(flights_of(recording)) == (1 if rows >= 2 else 0)


def test_a_recording_without_channels_is_unknown_and_says_so():
    recording = Recording("bare", np.arange(100.0), {}, np.empty(0, dtype=np.intp))
    (flight,) = flights_of(recording)

    assert set(names(flight)) == {"unknown"}
    assert any("No speed" in note for note in flight.notes)


CHANNELS = sorted(parked().recording().columns)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 2**31),
    rows=st.integers(2, 400),
    kept=st.sets(st.sampled_from(CHANNELS)),
    breaks=st.sets(st.integers(1, 399), max_size=4),
)
def test_any_recording_divides_into_all_of_its_rows(seed, rows, kept, breaks):
    random = np.random.default_rng(seed)
    columns = {}
    for name in kept:
        walk = np.cumsum(random.standard_normal(rows)) * random.choice([0.01, 1.0, 50.0])
        columns[name] = np.where(
            random.random(rows) < 0.1, np.nan, (walk > 0.0).astype(float) if "wheels" in name else walk
        )
    at = np.array(sorted(row for row in breaks if row < rows), dtype=np.intp)
    flights = flights_of(Recording("any", np.cumsum(random.random(rows) + 0.01), columns, at))

    edge = 0
    for flight in flights:
        assert flight.begin == edge
        edge = flight.end
        assert [(phase.begin, phase.end) for phase in flight.phases] == [
            (first, last) for first, last in _stretches(flight.labels, flight.begin)
        ]
        assert all(flight.begin <= event.row < flight.end for event in flight.events)
        assert all(a.time <= b.time for a, b in zip(flight.events, flight.events[1:], strict=False))
    assert edge == rows


def _stretches(labels: np.ndarray, begin: int) -> list[tuple[int, int]]:
    edges = [0, *(np.flatnonzero(np.diff(labels)) + 1).tolist(), len(labels)]
    return [(begin + first, begin + last) for first, last in pairwise(edges)]


def test_every_phase_and_event_is_a_line_of_text():
    flights = flights_of(two_sorties().recording())
    lines = flight_lines(flights)

    count = sum(1 + len(flight.phases) + len(flight.events) + len(flight.notes) for flight in flights)
    assert len([line for line in lines if line]) == count
    assert not any("_" in line for line in lines if " s  " in line and "by " not in line)


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_limits_take_over_what_a_pack_says(name):
    from sortiewright.pack import load_pack

    pack = load_pack(name).pack
    limits = phase_limits_of(pack)

    assert limits.screen_height == pack.technique.takeoff.screen_height
    assert limits.flare_height == pack.technique.landing.threshold_height
    assert limits.nose_least_speed <= PhaseLimits().nose_least_speed
