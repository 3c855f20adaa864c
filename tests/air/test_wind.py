import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sortiewright.air import (
    NoWindSolution,
    Wind,
    approach_gust_increment,
    decode_metar,
    operational_wind_factors,
    runway_wind,
    track_and_ground_speed,
    wind_triangle,
)

# Group C; the file names the source of each check.
CHECKS = {
    one["id"]: one
    for one in json.loads(
        (Path(__file__).parents[1] / "data" / "external_checks" / "group_c.json").read_text(encoding="utf-8")
    )["checks"]
}
KNOT = 1852.0 / 3600.0


def approx(check, name, unit=1.0):
    expected = check["expected"][name]["value"]
    return pytest.approx(expected * unit, abs=check["tol"][name]["abs"] * unit, rel=0.0)


def value(check, name):
    return check["inputs"][name]["value"]


@pytest.mark.parametrize("name", ["X-C01", "X-C02", "X-C03"])
def test_wind_along_and_across_a_runway(name):
    check = CHECKS[name]
    wind = Wind(value(check, "wind_from"), value(check, "wind_speed") * KNOT)
    resolved = runway_wind(wind, value(check, "runway_heading"))

    assert resolved.headwind == approx(check, "headwind", KNOT)
    assert resolved.crosswind == approx(check, "crosswind_from_right", KNOT)


def test_the_gust_along_and_across_a_runway():
    check = CHECKS["X-C02"]
    gust = value(check, "gust") * KNOT
    resolved = runway_wind(
        Wind(value(check, "wind_from"), value(check, "wind_speed") * KNOT, gust),
        value(check, "runway_heading"),
    )

    assert -resolved.tailwind_limit == approx(check, "gust_headwind", KNOT)
    assert resolved.headwind_for_distance == approx(check, "gust_headwind", KNOT)
    assert resolved.crosswind_limit == approx(check, "gust_crosswind_from_right", KNOT)


@pytest.mark.parametrize("name", ["X-C04", "X-C05", "X-C06"])
def test_wind_triangle(name):
    check = CHECKS[name]
    solved = wind_triangle(
        value(check, "true_course"),
        value(check, "TAS") * KNOT,
        value(check, "wind_from"),
        value(check, "wind_speed") * KNOT,
    )

    assert solved.wind_correction_angle_deg == approx(check, "wind_correction_angle_right_positive")
    assert solved.true_heading_deg == approx(check, "true_heading")
    assert solved.ground_speed == approx(check, "groundspeed", KNOT)


def test_track_and_ground_speed():
    check = CHECKS["X-C07"]
    flown = track_and_ground_speed(
        value(check, "true_heading"),
        value(check, "TAS") * KNOT,
        value(check, "wind_from"),
        value(check, "wind_speed") * KNOT,
    )

    assert flown.ground_speed == approx(check, "groundspeed", KNOT)
    assert flown.track_deg == approx(check, "track")


def test_a_wind_too_strong_for_the_course_is_refused():
    check = CHECKS["X-C08"]

    with pytest.raises(NoWindSolution, match=r"crosswind 41\.16 m/s exceeds true airspeed 30\.87 m/s"):
        wind_triangle(
            value(check, "true_course"),
            value(check, "TAS") * KNOT,
            value(check, "wind_from"),
            value(check, "wind_speed") * KNOT,
        )


def test_half_the_gust_factor_is_added_on_approach():
    check = CHECKS["X-C09"]
    wind = decode_metar(f"{check['inputs']['wind'].replace('/', '')}KT 9999 NSC 15/05 Q1013").wind
    increment = approach_gust_increment(wind)

    assert wind.gust - wind.speed == approx(check, "gust_factor", KNOT)
    assert increment == approx(check, "increment", KNOT)
    assert value(check, "approach_speed") * KNOT + increment == approx(check, "speed_to_fly", KNOT)


def test_operational_wind_factors():
    check = CHECKS["X-C10"]
    headwind, tailwind = value(check, "headwind_component"), value(check, "tailwind_component")
    scheduled = operational_wind_factors(np.array([headwind, -tailwind]) * KNOT)

    assert scheduled[0] == approx(check, "headwind_credited", KNOT)
    assert -scheduled[1] == approx(check, "tailwind_charged", KNOT)


DIRECTIONS = st.floats(0.0, 360.0)
SPEEDS = st.floats(0.0, 60.0)
HEADINGS = st.floats(0.0, 360.0)


@given(DIRECTIONS, SPEEDS, HEADINGS)
def test_parts_of_the_wind_make_up_the_wind(direction, speed, heading):
    resolved = runway_wind(Wind(direction, speed), heading)

    assert np.hypot(resolved.headwind, resolved.crosswind) == pytest.approx(speed, abs=1e-9)


@given(DIRECTIONS, SPEEDS, HEADINGS)
def test_the_opposite_runway_has_the_opposite_wind(direction, speed, heading):
    one, other = runway_wind(Wind(direction, speed), np.array([heading, heading + 180.0])).headwind
    right, left = runway_wind(Wind(direction, speed), np.array([heading, heading + 180.0])).crosswind

    assert one == pytest.approx(-other, abs=1e-9)
    assert right == pytest.approx(-left, abs=1e-9)


@given(DIRECTIONS, SPEEDS, HEADINGS)
def test_a_wind_mirrored_on_the_runway_comes_from_the_other_side(direction, speed, heading):
    mirrored = (2.0 * heading - direction) % 360.0
    here, there = runway_wind(Wind(direction, speed), heading), runway_wind(Wind(mirrored, speed), heading)

    assert here.headwind == pytest.approx(there.headwind, abs=1e-9)
    assert here.crosswind == pytest.approx(-there.crosswind, abs=1e-9)


@given(DIRECTIONS, SPEEDS, st.floats(0.0, 30.0), HEADINGS)
def test_a_gust_never_helps(direction, speed, more, heading):
    steady = runway_wind(Wind(direction, speed), heading)
    gusty = runway_wind(Wind(direction, speed, speed + more), heading)

    assert gusty.headwind_for_distance <= steady.headwind_for_distance
    assert gusty.tailwind_limit >= steady.tailwind_limit >= 0.0
    assert gusty.crosswind_limit >= steady.crosswind_limit >= 0.0


# Second road: the worst of the sector by trying every direction in it.
@given(DIRECTIONS, st.floats(1.0, 30.0), HEADINGS, DIRECTIONS, st.floats(1.0, 359.0))
def test_limits_are_the_worst_over_the_variable_sector(direction, speed, heading, start, width):
    wind = Wind(direction, speed, None, start, (start + width) % 360.0)
    resolved = runway_wind(wind, heading)
    directions = np.append(start + np.linspace(0.0, (wind.variable_to_deg - start) % 360.0, 2_001), direction)
    angle = np.radians(directions - heading)

    assert resolved.tailwind_limit == pytest.approx(
        max(0.0, (-speed * np.cos(angle)).max()), abs=speed * 2e-5
    )
    assert resolved.crosswind_limit == pytest.approx(np.abs(speed * np.sin(angle)).max(), abs=speed * 2e-5)


# Common practice, no source: 240 variable 150 to 330 at 10 gusting 20 passes straight across runway 24
# on both sides, and never behind it.
def test_a_sector_across_the_runway_counts_the_whole_gust_as_crosswind():
    resolved = runway_wind(Wind(240.0, 10.0, 20.0, 150.0, 330.0), 240.0)

    assert resolved.crosswind_limit == pytest.approx(20.0)
    assert resolved.tailwind_limit == pytest.approx(0.0, abs=1e-9)
    assert resolved.headwind_for_distance == pytest.approx(10.0)


# Common practice, no source.
def test_a_variable_wind_counts_whole_on_every_side_and_gives_no_headwind():
    resolved = runway_wind(Wind(None, 3.0, 6.0), np.array([0.0, 90.0, 215.0]))

    assert resolved.headwind_for_distance.tolist() == [-6.0] * 3
    assert resolved.tailwind_limit.tolist() == [6.0] * 3
    assert resolved.crosswind_limit.tolist() == [6.0] * 3


@given(HEADINGS, DIRECTIONS, SPEEDS, st.floats(60.0, 300.0))
def test_flying_the_heading_of_the_triangle_makes_good_its_course(course, direction, speed, tas):
    assume(speed < 0.95 * tas)
    solved = wind_triangle(course, tas, direction, speed)
    flown = track_and_ground_speed(solved.true_heading_deg, tas, direction, speed)

    off_course = (flown.track_deg - course + 180.0) % 360.0 - 180.0
    assert off_course == pytest.approx(0.0, abs=1e-7)
    assert flown.ground_speed == pytest.approx(solved.ground_speed, rel=1e-9)


@given(st.lists(st.tuples(HEADINGS, DIRECTIONS, st.floats(0.0, 50.0)), min_size=1, max_size=6))
def test_a_batch_of_triangles_equals_its_single_cases(cases):
    course, direction, speed = np.array(cases).T
    batch = wind_triangle(course, 120.0, direction, speed)

    for i in range(len(cases)):
        single = wind_triangle(course[i], 120.0, direction[i], speed[i])
        assert batch.ground_speed[i] == pytest.approx(single.ground_speed, rel=1e-13)
        assert batch.true_heading_deg[i] == pytest.approx(single.true_heading_deg, abs=1e-9)


@given(DIRECTIONS, HEADINGS)
def test_a_heading_is_a_compass_reading(direction, course):
    heading = wind_triangle(course, 100.0, direction, 40.0).true_heading_deg

    assert 0.0 <= heading < 360.0


def test_the_first_course_without_solution_is_named():
    with pytest.raises(NoWindSolution, match=r"^at index 1: crosswind 80 m/s exceeds true airspeed 60 m/s"):
        wind_triangle([0.0, 0.0, 0.0], 60.0, 90.0, [10.0, 80.0, 90.0])
    with pytest.raises(NoWindSolution, match=r"^at index 0, 1: headwind 70 m/s leaves no ground speed"):
        wind_triangle([[180.0, 0.0]], 60.0, 0.0, 70.0)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((361.0, 5.0), "wind direction_from_deg 361 is outside 0 to 360"),
        ((10.0, -1.0), "wind speed -1 m/s must be zero or more"),
        ((10.0, float("nan")), "wind speed nan m/s must be zero or more"),
        ((10.0, 8.0, 5.0), "gust 5 m/s is below the mean speed 8 m/s"),
        ((10.0, 8.0, None, 350.0), "needs both variable_from_deg and variable_to_deg"),
    ],
)
def test_a_wind_that_cannot_be_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        Wind(*arguments)
