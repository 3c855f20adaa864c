"""Speed over distance of a landing: the plan's line, what was flown, and the moments on both."""

import re
from dataclasses import replace
from html import unescape
from itertools import combinations

import numpy as np
import pytest
from debrief_samples import sample_landing
from hypothesis import given
from hypothesis import strategies as st
from reference_path import landing_way
from reference_takeoff import Aeroplane
from rule_flights import made_flight, made_recording

from sortiewright.air import Air
from sortiewright.recording import (
    FlightDebrief,
    RunMark,
    RunwayFrame,
    compare_landing,
    report_page,
)
from sortiewright.recording.debrief_record import Debrief
from sortiewright.recording.report_pictures import landing_picture_of
from sortiewright.sortie import compute, demo_sortie_path, load_sortie

TOUCHDOWN, RATE, FLARE = 20.0, 20.0, 5.0
"""Touchdown on the clock, s; samples a second; seconds from 50 ft to touchdown."""
METRE = 1.0 / 111_319.5  # deg of latitude, on the sphere of the flat frame: good to half a percent


@pytest.fixture(scope="module")
def sortie():
    return load_sortie(demo_sortie_path())


@pytest.fixture(scope="module")
def numbers(sortie):
    return compute(sortie.sortie, sortie.pack.pack)


@pytest.fixture(scope="module")
def flown(numbers):
    """Return a landing by the book, flown by the reference aeroplane, and its roll."""
    place, mass = numbers.landing_conditions, numbers.loads.landing_balance.mass
    air = Air(float(place.air.pressure), float(place.air.temperature))
    wind = float(place.wind.headwind_for_distance)
    index = float(numbers.loads.landing_balance.drag_index)
    slope = float(np.arctan(place.runway.slope))
    plane = Aeroplane(numbers.pack, mass, air, wind, slope, index, place.runway_condition_reading)
    row = numbers.landings[0]
    speed = float(row.result.touchdown_ground_speed[row.row])
    way = landing_way(plane, speed)
    time = np.arange(0.0, TOUCHDOWN + way.time[-1] + 3.0, 1.0 / RATE)
    since = time - TOUCHDOWN
    ground = np.where(
        since < 0.0, speed + 0.6 * np.minimum(-since, FLARE), np.interp(since, way.time, way.speed)
    )
    ground = np.where(since > way.time[-1], 0.0, ground)
    technique = numbers.pack.technique.landing
    nose_down = float(
        np.interp(-plane.tas_from_cas(technique.aerobrake_until_cas) + wind, -way.speed, way.time)
    )
    columns = {
        "ground_speed": ground,
        "calibrated_airspeed": ground + wind,
        "gross_mass": mass,
        "true_heading_deg": place.runway.true_heading_deg,
        "wind_speed": wind,
        "wind_from_deg": place.runway.true_heading_deg,
        "brake_left": 1.0 * (since > nose_down),
    }
    recording = made_recording({**columns, "altitude": np.full(len(time), place.runway.elevation)}, rate=RATE)
    events = [
        ("gate_50_ft", TOUCHDOWN - FLARE),
        ("touchdown", TOUCHDOWN),
        ("chute_out", TOUCHDOWN + technique.chute_delay),
        ("brakes_on", TOUCHDOWN + nose_down),
        ("stopped", TOUCHDOWN + float(way.time[-1])),
    ]
    flight = made_flight(recording, [("flare", 0.0), ("landing_roll", TOUCHDOWN)], events)
    return recording, flight, way


@pytest.fixture(scope="module")
def compared(flown, sortie):
    return compare_landing(flown[0], flown[1], sortie)


# The second road: tests/support/reference_path.py, the roll over time by DOP853.
def test_the_planned_line_is_the_roll_of_the_reference_aeroplane(compared, flown, numbers):
    curves, way = compared.picture.curves, flown[2]
    row = numbers.landings[0]
    air = float(row.result.air_distance[row.row])
    for time in (1.0, 3.0, 6.0, 10.0, 15.0):
        distance, speed = way.at(time)
        planned = np.interp(air + distance, curves.distance, curves.planned_ground_speed)
        assert planned == pytest.approx(speed, abs=0.5)
    ends = curves.distance[np.flatnonzero(np.isfinite(curves.planned_ground_speed))[-1]]
    assert ends == pytest.approx(float(row.result.total[row.row]), abs=3.0)
    assert np.interp(0.0, curves.distance, curves.planned_cas) == pytest.approx(
        float(row.result.approach_cas[row.row]), abs=0.2
    )


def test_the_flown_line_is_what_was_flown(compared, flown):
    curves, way = compared.picture.curves, flown[2]
    speed = way.speed[0]
    air = FLARE * (speed + 0.3 * FLARE)
    for time in (0.5, 2.0, 8.0, 12.0):
        distance, wanted = way.at(time)
        actual = np.interp(air + distance, curves.distance, curves.flown_ground_speed)
        assert actual == pytest.approx(wanted, abs=0.5)


def test_every_moment_stands_on_its_line(compared, flown, numbers):
    marks = {(one.name, one.run): one for one in compared.picture.marks}
    curves = compared.picture.curves
    both = {
        (name, run) for name in ("touchdown", "chute", "brakes_on", "stop") for run in ("planned", "flown")
    }

    assert set(marks) == both | {("gate_50", "flown")}
    assert compared.picture.origin == "50 ft of height"
    for (_, run), mark in marks.items():
        values = curves.planned_ground_speed if run == "planned" else curves.flown_ground_speed
        assert np.interp(mark.distance, curves.distance, values) == pytest.approx(mark.speed, abs=0.8)
    row = numbers.landings[0]
    assert marks["touchdown", "planned"].distance == pytest.approx(float(row.result.air_distance[row.row]))
    # Brakes come on as the nose comes down, on both.
    assert marks["brakes_on", "planned"].speed == pytest.approx(marks["brakes_on", "flown"].speed, abs=0.6)
    assert marks["stop", "planned"].distance - marks["touchdown", "planned"].distance == pytest.approx(
        flown[2].distance[-1], abs=3.0
    )


def test_with_the_threshold_given_distance_counts_from_there(flown, sortie):
    recording, flight, way = flown
    along = np.concatenate([[0.0], np.cumsum(recording.number("ground_speed")[1:] / RATE)])
    before = np.interp(TOUCHDOWN, recording.time, along) - 400.0
    heading = np.radians(float(recording.number("true_heading_deg")[0]))
    columns = {
        **recording.columns,
        "latitude_deg": (along - before) * np.cos(heading) * METRE,
        "longitude_deg": (along - before) * np.sin(heading) * METRE,
    }
    frame = RunwayFrame(0.0, 0.0, float(np.degrees(heading)))
    anywhere = compare_landing(
        replace(recording, columns=columns), flight, sortie, threshold=frame, anyway=True
    )
    marks = {(one.name, one.run): one for one in anywhere.picture.marks}

    assert anywhere.picture.origin == "threshold"
    assert marks["touchdown", "flown"].distance == pytest.approx(400.0, abs=4.0)
    assert marks["stop", "flown"].distance == pytest.approx(400.0 + way.distance[-1], abs=6.0)


def test_without_a_height_both_touchdowns_are_laid_on_one_place(flown, sortie):
    recording, flight, _ = flown
    events = tuple(one for one in flight.events if one.name != "gate_50_ft")
    ours = compare_landing(recording, replace(flight, events=events), sortie)
    marks = {(one.name, one.run): one for one in ours.picture.marks}

    assert ours.picture.origin == "touchdown as planned"
    assert marks["touchdown", "flown"].distance == pytest.approx(marks["touchdown", "planned"].distance)


def test_a_gap_in_the_landing_leaves_no_picture(flown, sortie):
    recording, flight, _ = flown
    broken = replace(recording, breaks=np.array([int((TOUCHDOWN + 4.0) * RATE)], dtype=np.intp))

    assert compare_landing(broken, flight, sortie).picture is None


def labels_of(picture):
    """Return the rectangles of the labels, in units of the picture: a sign of 13 pixels is 7.3 wide."""
    boxes = []
    for anchor, inner in re.findall(
        r'<text class="label [a-z]+" text-anchor="([a-z]+)">(.*?)</text>', picture
    ):
        lines = re.findall(r'<tspan x="([-0-9.]+)" y="([-0-9.]+)">(.*?)</tspan>', inner)
        wide = 7.3 * max(len(unescape(text)) for _, _, text in lines)
        x, top, bottom = float(lines[0][0]), float(lines[0][1]) - 11.0, float(lines[-1][1]) + 3.0
        boxes.append((x - wide, x, top, bottom) if anchor == "end" else (x, x + wide, top, bottom))
    return boxes


@given(
    st.lists(st.floats(0.0, 1500.0), min_size=4, max_size=4),
    st.lists(st.floats(0.0, 1350.0), min_size=3, max_size=3),
)
def test_labels_of_the_picture_never_lie_on_one_another(flown, planned):
    names = ("50 ft", "touchdown", "chute", "brakes on")
    marks = [
        RunMark(title.replace(" ", "_"), title, style, at, 75.0 * (1.0 - at / 1500.0) ** 0.5)
        for style, places in (("flown", sorted(flown)), ("planned", sorted(planned)))
        for title, at in zip(names, places, strict=False)
    ]
    stops = (RunMark("stop", "stop", "flown", 1500.0, 0.0), RunMark("stop", "stop", "planned", 1350.0, 0.0))
    boxes = labels_of(landing_picture_of(sample_landing((*marks, *stops)), "trade"))

    assert len(boxes) == 10  # nine moments and the threshold
    for one, other in combinations(boxes, 2):
        beside = one[1] <= other[0] or other[1] <= one[0]
        above = one[3] <= other[2] or other[3] <= one[2]
        assert beside or above
    for left, right, top, bottom in boxes:
        assert left >= 0.0
        assert right <= 960.0
        assert top >= 20.0
        assert bottom <= 420.0 - 48.0


@pytest.mark.parametrize(("units", "sign"), [("trade", "kt"), ("si", "m/s")])
def test_the_page_draws_it_with_its_moments_named(compared, flown, units, sign):
    recording, flight, _ = flown
    made = Debrief(recording, (FlightDebrief(flight, landings=(compared,)),), units=units)
    page = report_page(made)

    for one in (
        "touchdown planned",
        "chute flown",
        "brakes on planned",
        "stop flown",
        f"ground speed, {sign}",
    ):
        assert one in page
    assert "Speed over distance of the landing, from 50 ft of height." in page
