"""Plans made in the air that was recorded, rolling takeoffs, and rotation under its two names."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from reference_takeoff import Aeroplane, Engines, march

from sortiewright.air import Air
from sortiewright.performance import fly_takeoff
from sortiewright.recording import (
    Tolerances,
    altimeter_setting,
    compare_takeoff,
    debrief,
    flights_of,
    read_recording,
)
from sortiewright.recording.comparison_takeoff import from_rolling
from sortiewright.sortie import compute, demo_sortie_path, load_sortie, read_sortie

DATA = Path(__file__).parents[1] / "data"
FOOT, KNOT = 0.3048, 1852.0 / 3600.0


def sortie_text(**changes):
    """Return the departure's sortie with changes of its text: old text to new."""
    text = (DATA / "sorties" / "t38_departure.yaml").read_text("utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    return text


@pytest.fixture(scope="module")
def sortie():
    return load_sortie(DATA / "sorties" / "t38_departure.yaml")


@pytest.fixture(scope="module")
def nominal():
    recording = read_recording(DATA / "recordings" / "nominal.csv.gz")
    return recording, flights_of(recording)[0]


# Altimeter setting of the US National Weather Service (from memory):
# A = (p - 0.3) (1 + (1013.25^0.190284 0.0065 / 288) h / (p - 0.3)^0.190284)^(1 / 0.190284), hPa and m.
@pytest.mark.parametrize(
    ("pressure", "elevation"), [(961.1, 458.0), (842.0, 1560.0), (1027.0, 12.0), (700.0, 2900.0)]
)
def test_altimeter_setting_is_that_of_the_weather_service(pressure, elevation):
    n, less = 0.190284, pressure - 0.3
    wanted = less * (1.0 + 1013.25**n * 0.0065 / 288.0 * elevation / less**n) ** (1.0 / n)

    assert altimeter_setting(100.0 * pressure, elevation) / 100.0 == pytest.approx(wanted, abs=0.8)


# Why such a flight is no other flight: hydrostatics of a column 20 K warmer than ISO 2533 throughout, 1013.25
# hPa at the sea: p = p0 (1 - 0.0065 h / 308.15)^5.25588.
def test_a_simulation_with_a_warm_column_is_out_of_the_tolerance_over_a_high_field():
    field = 5_000 * FOOT
    warm = 101_325.0 * (1.0 - 0.0065 * field / 308.15) ** 5.25588
    planned = 101_325.0 * (1.0 - 0.0065 * field / 288.15) ** 5.25588

    assert warm - planned == pytest.approx(1_030.0, abs=10.0)
    assert warm - planned > Tolerances().pressure
    # Brought down to the sea by the standard atmosphere it grows by (p0 / p)^(1 - 1 / 5.25588).
    at_sea = (warm - planned) * (101_325.0 / planned) ** (1.0 - 1.0 / 5.25588)
    assert altimeter_setting(warm, field) - 101_325.0 == pytest.approx(at_sea, rel=0.02)


@pytest.fixture(scope="module")
def hot(nominal):
    """Return the flight in air 15 K warmer, with 9 hPa more over the field."""
    recording, flight = nominal
    columns = {
        **recording.columns,
        "outside_air_temperature": recording.number("outside_air_temperature") + 15.0,
        "pressure_altitude": recording.number("pressure_altitude") - 80.0,
    }
    return replace(recording, columns=columns), flight


# The other road is a sortie on whose file that air is written: read, checked and planned from its text.
def test_a_flight_in_other_air_is_planned_in_it_and_not_refused(hot, sortie):
    recording, flight = hot
    ours = compare_takeoff(recording, flight, sortie)
    row = int(np.searchsorted(recording.time, flight.first("brake_release").time))
    # ISO 2533: p = p0 (1 - 0.0065 h / 288.15)^5.25588.
    level = float(recording.number("pressure_altitude")[row])
    pressure = 101_325.0 * (1.0 - 0.0065 * level / 288.15) ** 5.25588
    setting = altimeter_setting(pressure, 1503 * FOOT)
    warm = float(recording.number("outside_air_temperature")[row])
    written = sortie_text(
        **{"Q1015": f"Q1015\n  temperature: {warm - 273.15:.3f} degC\n  qnh: {setting / 100:.3f} hPa"}
    )
    other = read_sortie(written, "other.yaml", DATA / "sorties")
    planned = compute(other.sortie, other.pack.pack).takeoff.takeoff

    assert ours.differences == ()
    for name in ("ground_run", "distance_to_screen"):
        assert ours.value(name).planned == pytest.approx(float(getattr(planned, name)[0]), rel=1e-4)
    (said,) = [one for one in ours.remarks if one.startswith("Takeoff is planned with the air")]
    assert f"{warm - 273.15:.0f} °C" in said
    assert f"{pressure / 100:.0f} hPa" in said
    assert "the sortie has 20 °C and 961 hPa" in said


def test_the_plan_of_the_whole_debrief_is_made_in_that_air(hot, sortie):
    recording, _ = hot
    (flight,) = debrief(recording, sortie).flights
    (takeoff,) = flight.takeoffs
    noted = {one.name: one for one in flight.measured}

    assert [one.startswith("Takeoff is planned with the air") for one in flight.planned_with] == [True]
    assert flight.not_compared == ()
    assert noted["ground_run"].planned == pytest.approx(takeoff.value("ground_run").planned, rel=1e-6)


def test_air_within_what_may_be_compared_stays_the_sorties(nominal, sortie):
    ours = compare_takeoff(*nominal, sortie)

    assert not any("planned with" in one for one in ours.remarks)
    assert {"air"} <= {cause.name for cause in ours.splits[0].causes}


def test_air_of_no_field_is_refused_by_name(nominal, sortie):
    recording, _ = nominal
    columns = {**recording.columns, "outside_air_temperature": np.full(recording.rows, 420.0)}
    made = debrief(replace(recording, columns=columns), sortie)

    assert any("temperature was" in one for one in made.flights[0].not_compared)


@pytest.fixture(scope="module")
def cold():
    """Return the flight model's rolling takeoff with a sortie of its day but for the air, and its truth."""
    truth = json.loads((DATA / "recordings" / "unseen" / "rolling_cold.truth.json").read_text("utf-8"))
    day, fuel = truth["day"], truth["fuel_lb"]
    changes = {
        "elevation: 1503 ft": f"elevation: {day['elevation_ft']} ft",
        "true_heading: 52 deg": f"true_heading: {day['heading_deg']} deg",
        '"05"': '"27"',
        "tank_1: 1762 lb, tank_2: 1900 lb": f"tank_1: {fuel[0]} lb, tank_2: {fuel[1]} lb",
        "00000KT": f"268{day['headwind_kt']:02d}KT",
    }
    recording = read_recording(DATA / "recordings" / "unseen" / "rolling_cold.csv.gz")
    return recording, read_sortie(sortie_text(**changes), "cold.yaml", DATA / "sorties"), truth


# Truth: tests/data/recordings/unseen/README.md, moments and places at the flight model's own steps.
def test_a_rolling_takeoff_is_held_against_a_run_from_its_own_speed(cold):
    recording, sortie, truth = cold
    ours = compare_takeoff(recording, flights_of(recording)[0], sortie)
    release, lift_off = truth["events"]["brake_release"], truth["events"]["liftoff"]

    assert ours.flown.start_speed == pytest.approx(release["gs_kt"] * KNOT, abs=1.0 * KNOT)
    assert ours.value("ground_run").flown == pytest.approx(
        lift_off["distance_from_brake_release_ft"] * FOOT, abs=25 * FOOT
    )
    # The pack was sampled from this model (tests/data/packs/t38_sampled/README.md); rotation was its own.
    assert ours.value("ground_run").planned == pytest.approx(
        lift_off["distance_from_brake_release_ft"] * FOOT, rel=0.04
    )
    (said,) = [one for one in ours.remarks if "rolling takeoff" in one]
    assert "12 kt over the ground" in said
    assert any(f"altimeter setting {truth['day']['qnh_hpa']} hPa" in one for one in ours.remarks)


def test_causes_of_a_rolling_takeoff_add_up_and_leave_little(cold):
    recording, sortie, _ = cold
    ours = compare_takeoff(recording, flights_of(recording)[0], sortie)
    split = ours.splits[0]

    assert sum(one.effect for one in split.causes) + split.remainder == pytest.approx(
        split.difference, abs=1e-6
    )
    assert abs(split.remainder) < 0.03 * ours.value("ground_run").flown


# The second road: tests/support/reference_takeoff.py, the run in the three-point attitude over time.
@pytest.mark.parametrize("speed", [6.0, 15.0])
def test_planned_run_from_a_rolling_start_is_that_of_the_reference_aeroplane(speed):
    loaded = load_sortie(demo_sortie_path())
    numbers = compute(loaded.sortie, loaded.pack.pack)
    setup = from_rolling(numbers.takeoff.setup, speed)
    case, pack = setup.cases, loaded.pack.pack
    technique = setup.technique
    plane = Aeroplane(
        pack,
        float(case.mass[0]),
        Air(float(case.pressure[0]), float(case.temperature[0])),
        float(case.headwind[0]),
        float(case.slope[0]),
        float(case.drag_index[0]),
    )
    engines, polar = Engines(plane, technique), plane.polar(pack.aero.configurations[technique.configuration])
    alpha, gear = pack.airframe.static_ground_attitude, pack.aero.gear
    tilt = alpha + pack.airframe.thrust_inclination

    def running(time, state):
        tas = state[1] + plane.wind
        pressure = 0.5 * plane.density * tas**2 * pack.airframe.wing_area
        lift, least, induced = polar(alpha, tas)
        parasite = least + gear.drag + plane.index * pack.aero.drag_per_index
        drag = pressure * (parasite + induced * plane.ground_effect(0.0))
        thrust = engines.count * engines.one(time, tas)
        load = plane.weight - pressure * (lift + gear.lift) - thrust * np.sin(tilt)
        push = thrust * np.cos(tilt) - drag - plane.along_weight
        return state[1], (push - pack.wheels.rolling_friction * max(load, 0.0)) / plane.mass

    rotation = float(setup.rotation_speed[0])
    time, state = march(running, [0.0, speed], 0.0, engines.kinks, lambda _, s: rotation - s[1])
    ours = fly_takeoff(setup)

    assert ours.rotation_time[0] == pytest.approx(time, rel=1e-3)
    assert ours.rotation_distance[0] == pytest.approx(state[0], rel=1e-3)


def test_a_touch_and_go_is_not_compared_and_the_reason_is_a_sentence(sortie):
    recording = read_recording(DATA / "recordings" / "more" / "touch_and_go.csv.gz")
    (flight,) = debrief(recording, sortie, anyway=True).flights

    assert flight.takeoffs == ()
    assert any("took off again from a landing roll" in one for one in flight.not_compared)


# tests/data/packs/t38_sampled/technique.yaml briefs 140 kt at every weight.
def test_rotation_has_one_number_under_each_of_its_two_names(nominal, sortie):
    (flight,) = debrief(nominal[0], sortie).flights
    (takeoff,) = flight.takeoffs
    noted = {one.name: one for one in flight.measured}

    assert takeoff.value("rotation_speed").planned == pytest.approx(140 * KNOT)
    assert takeoff.value("nosewheel_lift_off_speed").planned > 145 * KNOT
    for name in ("rotation_speed", "nosewheel_lift_off_speed"):
        assert noted[name].planned == pytest.approx(takeoff.value(name).planned, abs=1e-9)
        assert noted[name].title == takeoff.value(name).title
    assert any("Rotation is briefed at 140 kt" in one for one in takeoff.remarks)
