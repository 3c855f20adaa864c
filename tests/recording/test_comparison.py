"""Takeoffs and landings as flown against their plans."""

import json
from dataclasses import replace
from itertools import permutations
from math import cos, radians, sin

import numpy as np
import pytest
from reference_takeoff import Aeroplane, G

from sortiewright.air import Air
from sortiewright.pack import InputError, load_pack
from sortiewright.recording import (
    Event,
    Flight,
    Recording,
    compare_landing,
    compare_takeoff,
    flights_of,
    read_recording,
)
from sortiewright.recording.causes import shapley_values
from sortiewright.sortie import compute, demo_sortie_path, load_sortie

FOOT, KNOT, POUND = 0.3048, 1852 / 3600, 0.45359237
NAMES = ("nominal", "flawed_departure")


@pytest.fixture(scope="module")
def data(project_root):
    return project_root / "tests" / "data"


@pytest.fixture(scope="module")
def sortie(data):
    return load_sortie(data / "sorties" / "t38_departure.yaml")


@pytest.fixture(scope="module")
def flights(data):
    read = {name: read_recording(data / "recordings" / f"{name}.csv.gz") for name in NAMES}
    return {name: (recording, flights_of(recording)[0]) for name, recording in read.items()}


@pytest.fixture(scope="module")
def truths(data):
    folder = data / "recordings"
    return {name: json.loads((folder / f"{name}.truth.json").read_text("utf-8"))["events"] for name in NAMES}


@pytest.fixture(scope="module")
def compared(flights, sortie):
    return {name: compare_takeoff(recording, flight, sortie) for name, (recording, flight) in flights.items()}


# Truth: events at the exact step of the flight model that flew the recordings (tests/data/recordings).
# Events are told to a sample, 0.05 s, which at lift-off is 15 ft.
@pytest.mark.parametrize("name", NAMES)
def test_distances_and_times_are_those_of_the_flight_model(name, compared, truths):
    ours, truth = compared[name], truths[name]
    release = truth["brake_release"]["t_s"]

    for value, event in (("ground_run", "liftoff"), ("distance_to_screen", "height_50ft")):
        wanted = truth[event]["distance_from_brake_release_ft"] * FOOT
        assert ours.value(value).flown == pytest.approx(wanted, abs=15 * FOOT)
    for value, event in (("time_to_lift_off", "liftoff"), ("time_to_screen", "height_50ft")):
        assert ours.value(value).flown == pytest.approx(truth[event]["t_s"] - release, abs=0.1)


@pytest.mark.parametrize("name", NAMES)
def test_speeds_and_fuel_are_those_of_the_flight_model(name, compared, truths):
    ours, truth = compared[name], truths[name]

    for value, event in (
        ("rotation_speed", "rotation_start"),
        ("nosewheel_lift_off_speed", "nosewheel_off"),
        ("lift_off_speed", "liftoff"),
    ):
        assert ours.value(value).flown == pytest.approx(truth[event]["cas_kt"] * KNOT, abs=1.0 * KNOT)
    # Weight is written to a tenth of a pound.
    burnt = (truth["brake_release"]["weight_lb"] - truth["liftoff"]["weight_lb"]) * POUND
    assert ours.value("fuel_to_lift_off").flown == pytest.approx(burnt, abs=0.3 * POUND)
    # The pack's fuel flow was sampled from the same flight model.
    assert ours.value("fuel_to_lift_off").planned == pytest.approx(burnt, rel=0.03)


@pytest.mark.parametrize("name", NAMES)
def test_curve_of_the_flight_passes_through_the_true_speeds(name, compared, truths):
    curves = compared[name].curves

    for speed in (60, 80, 100, 120):
        event = truths[name][f"cas_{speed}"]
        at = event["distance_from_brake_release_ft"] * FOOT
        ground = np.interp(at, curves.distance, curves.flown_ground_speed)
        assert ground == pytest.approx(event["gs_kt"] * KNOT, abs=0.5 * KNOT)


# tests/data/packs/t38_sampled/README.md: a pack sampled from this flight model; agreement of a plain
# integration on such tables with the model over 12 conditions: 0.5 % in distance to rotation.
def test_planned_run_of_the_pack_agrees_with_the_flight_on_the_wheels(compared, truths):
    curves = compared["nominal"].curves
    for speed in (100, 120):
        at = truths["nominal"][f"cas_{speed}"]["distance_from_brake_release_ft"] * FOOT
        planned = np.interp(at, curves.distance, curves.planned_ground_speed)
        # Light turbulence moves the recorded wind by up to 1 kt.
        assert planned == pytest.approx(truths["nominal"][f"cas_{speed}"]["gs_kt"] * KNOT, rel=0.02)


@pytest.mark.parametrize("name", NAMES)
def test_causes_and_remainder_add_up_to_the_difference(name, compared):
    assert len(compared[name].splits) == 2
    for split in compared[name].splits:
        total = sum(cause.effect for cause in split.causes) + split.remainder

        assert total == pytest.approx(split.difference, abs=1e-6)
        assert split.difference == pytest.approx(compared[name].value(split.quantity).difference, abs=1e-6)
        assert all(cause.sigma >= 0.0 and cause.how for cause in split.causes)


# What was done on purpose stands in the truth: rotation at 160 kt instead of 140, 4 kt of headwind.
def test_flawed_departure_was_long_for_its_late_rotation_and_short_for_its_wind(compared):
    split = compared["flawed_departure"].splits[0]
    effects = {cause.name: cause.effect for cause in split.causes}

    assert max(effects, key=effects.get) == "rotation"
    assert next(cause.title for cause in split.causes if cause.name == "rotation") == "Late rotation"
    assert effects["headwind"] < -30.0
    # 20 kt at the true speeds and distances of 140 and 160 kt: 687 ft, less what a longer rotation adds back.
    assert 0.5 * 687 * FOOT < effects["rotation"] < 687 * FOOT
    assert abs(split.remainder) < 0.02 * 1030.0


def test_forces_that_one_run_cannot_tell_apart_are_named(compared):
    split = compared["nominal"].splits[0]

    assert "friction" in split.untold
    assert next(cause.title for cause in split.causes if cause.name == "thrust") == "Thrust or friction"


# Shapley 1953: the mean, over all orders of the players, of what each adds.
def test_shares_of_causes_are_the_mean_over_all_orders():
    values = np.random.default_rng(3).normal(size=16)
    wanted = np.zeros(4)
    orders = list(permutations(range(4)))
    for order in orders:
        acting = 0
        for cause in order:
            wanted[cause] += (values[acting | 1 << cause] - values[acting]) / len(orders)
            acting |= 1 << cause

    assert shapley_values(values) == pytest.approx(wanted)
    assert wanted.sum() == pytest.approx(values[-1] - values[0])


def changed(recording, **columns):
    return replace(recording, columns={**recording.columns, **columns})


def without(recording, *names):
    return replace(recording, columns={k: v for k, v in recording.columns.items() if k not in names})


def keys(error):
    return [problem.key for problem in error.value.problems]


@pytest.mark.parametrize(
    ("channel", "change", "key"),
    [
        ("gross_mass", lambda values: values * 1.05, "weight"),
        ("wind_speed", lambda values: values * 0.0 + 9.0, "weather"),
        ("true_heading_deg", lambda values: (values + 40.0) % 360.0, "runway"),
        ("latitude_deg", lambda values: values + 1.0, "runway"),
        ("altitude", lambda values: values + 200.0, "runway"),
    ],
)
def test_another_flight_than_planned_is_refused_by_name(channel, change, key, flights, sortie):
    recording, flight = flights["nominal"]
    other = changed(recording, **{channel: change(recording.number(channel))})
    if channel == "wind_speed":
        other = changed(other, wind_from_deg=recording.number("true_heading_deg"))
    with pytest.raises(InputError) as error:
        compare_takeoff(other, flight, sortie)

    assert key in keys(error)
    assert "--anyway" in str(error.value)

    anyway = compare_takeoff(other, flight, sortie, anyway=True)
    assert key in [one.name for one in anyway.differences]


def test_another_pack_than_planned_is_refused(flights, sortie):
    recording, flight = flights["nominal"]
    with pytest.raises(InputError, match="dotterel") as error:
        compare_takeoff(recording, flight, sortie, recorded_pack=load_pack("dotterel"))

    assert keys(error) == ["pack"]


def test_all_differences_are_named_at_once(flights):
    recording, flight = flights["nominal"]
    with pytest.raises(InputError) as error:
        compare_takeoff(recording, flight, load_sortie(demo_sortie_path()))

    assert {"runway", "weight"} <= set(keys(error))


def test_what_is_not_recorded_is_taken_from_the_plan_and_said(flights, sortie):
    recording, flight = flights["nominal"]
    bare = without(
        recording,
        "gross_mass",
        "wind_speed",
        "wind_from_deg",
        "true_airspeed",
        "outside_air_temperature",
        "pressure_altitude",
        "pitch",
        "fuel_mass",
        "calibrated_airspeed",
    )
    comparison = compare_takeoff(bare, flight, sortie)
    said = " ".join(comparison.remarks)

    for what in ("Gross weight", "wind", "temperature", "Pressure altitude", "Rotation"):
        assert what in said
    assert comparison.value("lift_off_speed").flown is None
    assert comparison.value("ground_run").flown == pytest.approx(3267.1 * FOOT, abs=15 * FOOT)
    assert {cause.name for cause in comparison.splits[0].causes} <= {"thrust", "drag", "power"}


def test_gap_in_the_run_is_refused(flights, sortie):
    recording, flight = flights["nominal"]
    row = int(np.searchsorted(recording.time, flight.first("brake_release").time + 5.0))
    broken = replace(recording, breaks=np.array([row], dtype=np.intp))
    with pytest.raises(InputError, match="a gap or a pause lies in it"):
        compare_takeoff(broken, flight, sortie)


def test_recording_without_a_takeoff_is_refused(flights, sortie):
    recording, flight = flights["nominal"]
    with pytest.raises(InputError, match="no lift-off"):
        compare_takeoff(recording, replace(flight, events=()), sortie)
    with pytest.raises(InputError, match="no touchdown"):
        compare_landing(recording, flight, sortie)


MASS, TOUCHDOWN, BRAKED_FROM, BRAKE_FORCE = 3890.0, 70.0, 60.0, 15_000.0
CALM = Air(np.array(96_108.7), np.array(293.15))


def made_landing(pack, rate=20.0):
    """A landing whose roll is integrated with the reference aeroplane's forces and a known brake force."""
    plane = Aeroplane(pack, MASS, CALM)
    frame = pack.airframe
    polar = plane.polar(pack.aero.configurations["landing"])
    idle = plane.thrust_of["idle"]

    def slowing(v):
        pressure = 0.5 * plane.density * v**2 * frame.wing_area
        lift, least, induced = polar(frame.static_ground_attitude, v)
        gear = pack.aero.gear
        drag = pressure * (least + gear.drag + plane.ground_effect(0.0) * induced)
        brake = BRAKE_FORCE if v < BRAKED_FROM else 0.0
        # A braked wheel does not roll freely besides: then only the nosewheel does.
        free = pack.wheels.nose_load_share if brake else 1.0
        rolling = pack.wheels.rolling_friction * free * (MASS * G - pressure * (lift + gear.lift))
        return drag + rolling + brake - pack.engine.count * idle(v), brake

    air, step = 10.0, 1.0 / rate / 10.0
    speeds, brakes, work = [TOUCHDOWN], [0.0], 0.0
    while speeds[-1] > 0.5:
        force, brake = slowing(speeds[-1])
        work += brake * speeds[-1] * step
        speeds.append(speeds[-1] - force / MASS * step)
        brakes.append(float(brake > 0.0))
    roll, used = np.array(speeds[::10]), np.array(brakes[::10])
    before = np.full(int(air * rate), TOUCHDOWN)
    ground_speed = np.concatenate([before, roll, np.zeros(20)])
    braked = np.concatenate([0.0 * before, used, np.zeros(20)])
    time = np.arange(len(ground_speed)) / rate
    columns = {
        "ground_speed": ground_speed,
        "calibrated_airspeed": ground_speed * 0.97,
        "brake_left": braked,
        "gross_mass": np.full(len(time), MASS),
        "pressure_altitude": np.full(len(time), 445.0),
        "outside_air_temperature": np.full(len(time), 293.15),
        "true_heading_deg": np.full(len(time), 52.0),
        "wind_speed": np.zeros(len(time)),
        "wind_from_deg": np.zeros(len(time)),
    }
    stop = air + len(roll) / rate
    events = (
        Event("gate_50_ft", air - 6.0, int((air - 6.0) * rate)),
        Event("touchdown", air, int(air * rate)),
        Event("stopped", stop, int(stop * rate)),
    )
    flight = Flight(0, len(time), (), events, np.zeros(len(time), dtype=np.intp))
    distance = float(np.sum(speeds) * step)
    return Recording("made.csv", time, columns, np.array([], dtype=np.intp)), flight, distance, work


# A second road: the roll integrated with the reference aeroplane, the brakes' work force by distance.
def test_landing_roll_and_brake_energy_are_those_that_were_flown(sortie):
    recording, flight, distance, work = made_landing(sortie.pack.pack)
    landing = compare_landing(recording, flight, sortie)

    assert landing.differences == ()
    assert landing.value("ground_roll").flown == pytest.approx(distance, rel=0.003)
    assert landing.value("brake_energy").flown == pytest.approx(work, rel=0.02)
    assert landing.value("touchdown_speed").flown == pytest.approx(0.97 * TOUCHDOWN)
    assert landing.value("air_distance").flown == pytest.approx(6.0 * TOUCHDOWN)


def test_brakes_not_used_take_no_energy(sortie):
    recording, flight, _, _ = made_landing(sortie.pack.pack)
    idle = changed(recording, brake_left=np.zeros(recording.rows))

    assert compare_landing(idle, flight, sortie).value("brake_energy").flown == 0.0


def test_planned_landing_is_that_of_the_plan(sortie):
    recording, flight, _, _ = made_landing(sortie.pack.pack)
    planned = compute(sortie.sortie, sortie.pack.pack).landings[0].result
    landing = compare_landing(recording, flight, sortie)

    assert landing.value("ground_roll").planned == pytest.approx(float(planned.ground_roll[0]))
    assert landing.value("landing_distance").planned == pytest.approx(float(planned.total[0]))


def test_touch_and_go_has_no_roll(sortie):
    recording, flight, _, _ = made_landing(sortie.pack.pack)
    again = replace(flight, events=(*flight.events[:2], Event("lift_off", 14.0, 280)))
    landing = compare_landing(recording, again, sortie)

    assert landing.value("ground_roll").flown is None
    assert "took off again" in " ".join(landing.remarks)


def test_headwind_is_along_the_run_not_the_whole_wind(flights, sortie):
    recording, flight = flights["nominal"]
    across = changed(
        recording,
        wind_speed=np.full(recording.rows, 8.0),
        wind_from_deg=np.full(recording.rows, (52.0 + 60.0) % 360.0),
    )
    flown = compare_takeoff(across, flight, sortie).flown
    # Heading wanders by a degree, which at this angle is 1.5 % of 8 m/s.
    assert flown.headwind.value == pytest.approx(8.0 * cos(radians(60.0)), abs=8.0 * sin(radians(1.5)))
