"""The debrief as a whole: recordings flown by a flight-dynamics library, and the runway found in them."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from debrief_samples import EVENTS, PHASES, sample_recording
from debrief_schema import SCHEMA
from geographiclib.geodesic import Geodesic
from rule_flights import made_flight

from sortiewright.recording import debrief, debrief_to_json, read_recording, report_page
from sortiewright.recording.debrief_runway import runway_line
from sortiewright.sortie import compute, load_sortie

DATA = Path(__file__).parents[1] / "data"


@pytest.fixture(scope="module")
def sortie():
    return load_sortie(DATA / "sorties" / "t38_departure.yaml")


@pytest.fixture(scope="module")
def debriefed(sortie):
    """Return a function that debriefs a recording of that folder once."""
    made = {}

    def of(name, given=True):
        if (name, given) not in made:
            recording = read_recording(DATA / "recordings" / f"{name}.csv.gz")
            made[name, given] = debrief(recording, sortie if given else None)
        return made[name, given]

    return of


# The truth beside the recordings, from the library that flew them: tests/data/recordings/README.md.
def truth(name):
    return json.loads((DATA / "recordings" / f"{name}.truth.json").read_text(encoding="utf-8"))


def test_a_clean_departure_has_no_finding_and_is_praised(debriefed):
    (flight,) = debriefed("nominal").flights

    assert truth("nominal")["flaws"] == []
    assert flight.findings == ()
    assert flight.went_well


def test_a_flawed_departure_has_findings_worst_first(debriefed):
    (flight,) = debriefed("flawed_departure").flights
    rank = {"high": 0, "medium": 1, "low": 2}
    ranks = [rank[one.severity] for one in flight.findings]

    assert len(flight.findings) >= len(truth("flawed_departure")["flaws"])
    assert ranks == sorted(ranks)


def test_the_takeoff_is_held_against_the_plan(debriefed):
    (takeoff,) = debriefed("nominal").flights[0].takeoffs
    run = truth("nominal")["events"]["liftoff"]["distance_from_brake_release_ft"]

    assert takeoff.value("ground_run").flown / 0.3048 == pytest.approx(run, abs=15)


def test_another_flight_than_the_sortie_is_told_and_its_plan_is_not_used(debriefed):
    made = debriefed("more/touch_and_go")
    (flight,) = made.flights

    assert flight.takeoffs == flight.landings == ()
    assert any("runway 05" in one for one in flight.not_compared)
    assert any("not the flight of the sortie" in one for one in flight.notes)
    assert all(one.planned is None for one in flight.measured)


def test_without_sortie_and_pack_phases_and_events_are_told_and_what_to_give(debriefed):
    made = debriefed("nominal", given=False)

    assert made.flights[0].flight.first("lift_off") is not None
    assert made.flights[0].judged == ()
    assert "--sortie" in made.notes[0]
    assert "no rules were at hand" in report_page(made)


@pytest.mark.parametrize("name", ["nominal", "flawed_departure", "more/touch_and_go", "more/hot_abort"])
def test_every_report_is_made_of_every_recording(debriefed, name):
    made = debriefed(name)

    jsonschema.validate(json.loads(json.dumps(debrief_to_json(made), allow_nan=False)), SCHEMA)
    assert report_page(made).endswith("</html>\n")


# Positions by Karney's geodesics (geographiclib), which our flat frame does not use.
@pytest.mark.parametrize("heading", [0.0, 52.0, 137.5, 268.0])
def test_the_runway_is_laid_through_brake_release_along_the_run(heading):
    recording = sample_recording()
    flight = made_flight(recording, PHASES, EVENTS)
    north = (recording.number("latitude_deg") - 50.0) * 111_230.0
    released = float(np.interp(40.0, recording.time, north))
    points = [Geodesic.WGS84.Direct(50.0, 0.0, heading, one - released) for one in north]
    columns = dict(recording.columns)
    columns["latitude_deg"] = np.array([one["lat2"] for one in points])
    columns["longitude_deg"] = np.array([one["lon2"] for one in points])
    line = runway_line(replace(recording, columns=columns), flight, None)

    assert line.frame.true_heading_deg == pytest.approx(heading, abs=0.02)
    rows = slice(400, 640)
    assert line.along.distance[rows] == pytest.approx(north[rows] - released, abs=0.3)
    assert line.along.offset[rows] == pytest.approx(0.0, abs=0.3)
    assert not line.judges  # its centre line is where the run went: nothing can be off it


def test_a_start_that_was_given_is_where_the_runway_begins(sortie):
    recording = read_recording(DATA / "recordings" / "nominal.csv.gz")
    field = truth("nominal")["conditions"]["field"]
    made = debrief(recording, sortie, runway_start=(field["lat"], field["lon"]))
    line, flight = made.flights[0].runway, made.flights[0].flight
    released = flight.first("brake_release")
    along = np.interp(released.time, recording.time, line.along.distance) / 0.3048

    assert along == pytest.approx(truth("nominal")["events"]["brake_release"]["runway_position_ft"], abs=5)


def test_a_crooked_run_is_judged_by_the_heading_of_the_sortie(sortie):
    recording = read_recording(DATA / "recordings" / "nominal.csv.gz")
    made = debrief(recording, sortie)
    flight = made.flights[0].flight
    released, lift_off = flight.first("brake_release"), flight.first("lift_off")
    time = recording.time
    swing = np.where(
        (time > released.time) & (time < lift_off.time), 1e-4 * np.sin(0.3 * (time - released.time)), 0.0
    )
    columns = {**recording.columns, "latitude_deg": recording.number("latitude_deg") + swing}
    numbers = compute(sortie.sortie, sortie.pack.pack)
    line = runway_line(replace(recording, columns=columns), flight, numbers)

    assert line.frame.true_heading_deg == 52.0
    assert np.abs(line.along.offset[released.row : lift_off.row]).max() > 5.0
