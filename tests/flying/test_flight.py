"""A plan flown in a flight model, and what the rest of the program reads from it.

The truth beside a recording comes from the flight model's own state at each step of the pilot's; the debrief
has the recording's rows alone, and neither knows the other.
"""

import csv
import gzip
import json
import math
import os
from dataclasses import replace

import pytest

from sortiewright.flying import FlightOrder, flaws_of, fly_plan, write_flight
from sortiewright.pack import CHANNELS, InputError
from sortiewright.recording import (
    calibrate_runs,
    compare_takeoff,
    debrief,
    flights_of,
    flown_takeoff,
    planned_takeoff,
    read_recording,
    run_observation,
)
from sortiewright.sortie import compute

FULL = bool(os.environ.get("SORTIEWRIGHT_FULL"))
KNOT, FOOT, POUND = 1852.0 / 3600.0, 0.3048, 0.45359237


@pytest.fixture(scope="module")
def recorded(clean_circuit, tmp_path_factory):
    """Return the clean circuit as its file is read."""
    file, _ = write_flight(clean_circuit, tmp_path_factory.mktemp("flown") / "clean.csv.gz")
    return read_recording(str(file))


def moment(flight, name):
    return next(one for one in flight.truth["moments"] if one["name"] == name)


def test_a_recording_is_read_without_a_map_and_nothing_about_it_is_odd(recorded, clean_circuit):
    assert recorded.defects == ()
    assert recorded.unmapped == ()
    assert set(clean_circuit.names) <= set(CHANNELS)
    assert len(recorded.time) == len(clean_circuit.rows)


@pytest.mark.parametrize(
    ("event", "truth"),
    [
        ("brake_release", "brake_release"),
        ("nosewheel_off", "nosewheel_off"),
        ("gear_up_selected", "gear_up_selected"),
        ("flaps_up_selected", "flaps_up_selected"),
        ("touchdown", "touchdown"),
        ("stopped", "stopped"),
    ],
)
def test_moments_found_in_the_recording_are_those_that_were_flown(recorded, clean_circuit, event, truth):
    flight = flights_of(recorded)[0]
    found = [one.time for one in flight.events if one.name == event]
    flown = moment(clean_circuit, truth)["time"]

    # Rows come every 0.05 s; brake release and the stop are told from speed, the levers from what they move.
    assert min(abs(time - flown) for time in found) < (0.6 if event in ("brake_release", "stopped") else 0.25)


def test_a_flight_without_flaws_has_nothing_to_do_better(recorded, t38_circuits):
    made = debrief(recorded, t38_circuits)

    assert [one.rule for _, one in made.findings()] == []
    assert made.flights[0].not_compared == ()
    assert len(made.flights[0].landings) == 1
    assert made.flights[0].count("held") > 30


# The pack was sampled from this flight model: the plan's takeoff is to be the one flown as planned.
def test_the_takeoff_flown_is_the_one_planned(recorded, t38_circuits):
    compared = compare_takeoff(recorded, flights_of(recorded)[0], t38_circuits)
    lift_off = compared.value("lift_off_speed")

    assert compared.value("ground_run").flown == pytest.approx(compared.value("ground_run").planned, rel=0.06)
    assert lift_off.flown == pytest.approx(lift_off.planned, abs=5 * KNOT)


# The pack is sampled from this model: an honest calibration on its flight finds factors of 1.
def test_calibration_on_the_flight_finds_the_packs_own_thrust_and_drag(recorded, t38_circuits):
    setup, _ = planned_takeoff(compute(t38_circuits.sortie, t38_circuits.pack.pack), "sortie.yaml")
    flown = flown_takeoff(recorded, flights_of(recorded)[0], setup)
    made = calibrate_runs([run_observation(flown, setup)], t38_circuits.pack, setup.technique)

    assert made.factors["thrust"].low < 1.0 < made.factors["thrust"].high
    assert made.factors["drag"].low < 1.0 < made.factors["drag"].high
    assert made.factors["thrust"].value == pytest.approx(1.0, abs=0.02)


def test_air_load_and_place_are_those_of_the_sortie(recorded, clean_circuit, t38_circuits):
    first = {
        name: recorded.number(name)[0] for name in ("outside_air_temperature", "gross_mass", "fuel_mass")
    }

    assert first["outside_air_temperature"] == pytest.approx(293.15, abs=0.1)
    # ISO 2533 by hand: 1015 hPa at 1,503 ft of field is a pressure altitude of 1,455 ft.
    assert recorded.number("pressure_altitude")[0] == pytest.approx(1455 * FOOT, abs=10 * FOOT)
    # t38_departure.yaml: 7,574 lb empty, 1,762 and 1,900 lb of fuel at brake release; the run-up burns some.
    assert first["gross_mass"] == pytest.approx(11_236 * POUND, rel=0.006)
    assert first["fuel_mass"] == pytest.approx(3_662 * POUND, rel=0.02)
    assert clean_circuit.truth["takeoff_mass"] == pytest.approx(11_236 * POUND, abs=0.1)
    assert moment(clean_circuit, "brake_release")["side_offset"] == pytest.approx(0.0, abs=0.5)
    assert abs(moment(clean_circuit, "touchdown")["side_offset"]) < 3.0


def test_speeds_flown_are_the_plans(clean_circuit, t38_circuits):
    # technique.yaml of the sampled pack: rotation 140 kt, flaps up 200 kt, gear 4.4 s after lift-off.
    lift_off = moment(clean_circuit, "lift_off")["time"]

    assert moment(clean_circuit, "rotation_begins")["calibrated_airspeed"] == pytest.approx(
        140 * KNOT, abs=0.6
    )
    assert moment(clean_circuit, "flaps_up_selected")["calibrated_airspeed"] == pytest.approx(
        200 * KNOT, abs=0.6
    )
    assert moment(clean_circuit, "gear_up_selected")["time"] - lift_off == pytest.approx(4.4, abs=0.1)


def test_the_same_order_gives_the_same_bytes_and_the_truth_is_json(clean_circuit, tmp_path):
    one, truth = write_flight(clean_circuit, tmp_path / "a.csv.gz")
    other, _ = write_flight(clean_circuit, tmp_path / "b.csv.gz")
    plain, _ = write_flight(clean_circuit, tmp_path / "c.csv")
    rows = list(csv.reader(gzip.decompress(one.read_bytes()).decode().splitlines()))

    assert one.read_bytes() == other.read_bytes()
    assert plain.read_bytes() == gzip.decompress(one.read_bytes())
    assert len({len(row) for row in rows}) == 1
    assert json.loads(truth.read_text(encoding="utf-8"))["flaws"] == []
    times = [float(row[0]) for row in rows[2:]]
    assert times == sorted(times)


FLAWS_AND_RULES = {
    # flaw as asked for: (with a circuit, with a taxi, rule of the sampled pack that tells of it)
    "late_rotation": (False, False, "late_rotation"),
    "early_rotation": (False, False, "early_rotation"),
    "over_rotation": (False, False, "over_rotation"),
    "gear_late": (False, False, "gear_late"),
    "engine_failure=110": (False, False, "fast_abort"),
    "engine_failure_stop=130": (False, False, "abort_brake_energy"),
    "engine_failure_go=90": (False, False, "failure_continued"),
    "fast_taxi": (False, True, "taxi_fast"),
    "gear_down_late": (True, False, "gear_down_late"),
    "unstable_approach": (True, False, "approach_sink"),
    "hard_landing": (True, False, "hard_landing"),
    "long_landing": (True, False, "long_landing"),
}
ALWAYS = ("late_rotation",)


@pytest.mark.parametrize("flaw", FLAWS_AND_RULES if FULL else ALWAYS)
def test_a_flaw_asked_for_is_found_by_the_debrief(fly_t38, t38_circuits, tmp_path, flaw):
    circuit, taxies, rule = FLAWS_AND_RULES[flaw]
    flown = fly_t38(flaw, circuit=circuit, taxies=taxies)
    file, _ = write_flight(flown, tmp_path / "flown.csv.gz")
    found = {one.rule for _, one in debrief(read_recording(str(file)), t38_circuits, anyway=True).findings()}

    assert rule in found
    assert flown.truth["flaws"][0]["name"] == flaw.partition("=")[0]


def test_every_flaw_has_a_row_in_the_guide(project_root):
    page = (project_root / "docs" / "fly.md").read_text(encoding="utf-8")

    for flaw, (_, _, rule) in FLAWS_AND_RULES.items():
        row = next(line for line in page.splitlines() if line.startswith(f"| `{flaw.partition('=')[0]}"))
        assert f"`{rule}`" in row


@pytest.mark.parametrize(
    ("flaws", "changes", "said"),
    [
        (["hard_landing"], {"circuit": False}, "hard_landing needs a landing: leave out --no-circuit"),
        (["fast_taxi"], {"taxies": False}, "fast_taxi needs a taxi: leave out --no-taxi"),
        (["levers_late"], {}, "levers_late needs a rejected takeoff"),
        ([], {"model": "T83"}, 'Did you mean "T38" or "T37"?'),
        ([], {"model": "SGS"}, "has no engine"),
        ([], {"model": "X15"}, "has rocket engines"),
        ([], {"model": "J3Cub"}, "takeoff on a tail wheel is not modelled"),
        ([], {"model": "c172p"}, "the plan's takeoff weight is 11,236 lb"),
    ],
)
def test_what_cannot_be_flown_is_said(t38_circuits, flaws, changes, said):
    order = replace(FlightOrder("T38", flaws_of(flaws)), **changes)

    with pytest.raises(InputError) as error:
        fly_plan(t38_circuits, order)

    assert said in str(error.value)


def test_a_failure_below_decision_speed_is_a_stop_and_above_it_a_takeoff(fly_t38):
    stopped = {one["name"] for one in fly_t38("engine_failure=60", circuit=False).truth["moments"]}

    assert {"engine_failed", "levers_closed", "stopped"} <= stopped
    assert "lift_off" not in stopped
    if FULL:
        went = {one["name"] for one in fly_t38("engine_failure=147", circuit=False).truth["moments"]}
        assert {"engine_failed", "lift_off", "screen_height"} <= went


@pytest.mark.skipif(
    not FULL, reason="four more models are sampled and flown, two minutes: SORTIEWRIGHT_FULL=1"
)
@pytest.mark.parametrize("model", ["737", "c172p", "pc7", "T37"])
def test_other_kinds_of_aircraft_are_flown_round_and_landed(model, tmp_path):
    from sortiewright.pack_sampling import pack_files, sample_model, write_pack_folder
    from sortiewright.sortie import load_sortie

    write_pack_folder(tmp_path / "pack", pack_files(sample_model(model)))
    (tmp_path / "sortie.yaml").write_text(SORTIE, encoding="utf-8")
    flown = fly_plan(load_sortie(str(tmp_path / "sortie.yaml")), FlightOrder(model, anyway=True))
    touchdown = moment(flown, "touchdown")
    file, _ = write_flight(flown, tmp_path / "flown.csv.gz")
    sortie = load_sortie(str(tmp_path / "sortie.yaml"))
    made = debrief(read_recording(str(file)), sortie, anyway=True).flights[0]

    assert len(made.takeoffs) == 1
    assert len(made.landings) == 1
    assert abs(touchdown["side_offset"]) < 5.0
    assert 0.0 < touchdown["runway_position"] < 900.0
    assert -touchdown["vertical_speed"] < 2.0
    assert math.degrees(touchdown["pitch"]) > 0.0
    assert moment(flown, "stopped")


SORTIE = """
title: Circuit in a sampled model
callsign: Thistle 21
date: 2026-05-14
time: 10:00Z
pack: ./pack
aerodrome:
  name: Corran Head
  latitude: 56.214
  longitude: -5.083
  elevation: 212 ft
  runways:
    - {designator: "26", true_heading: 258 deg, length: 10000 ft, width: 150 ft}
runway: "26"
weather:
  metar: METAR ZZCH 140950Z 25009KT 9999 FEW030 17/08 Q1010
"""
