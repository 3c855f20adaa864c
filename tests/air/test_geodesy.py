import json
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sortiewright.air import BESSEL, GRS80, destination, geodesic, great_circle_distance

# Group J, geodesy; the file names the source of each check.
CHECKS = {
    one["id"]: one
    for one in json.loads(
        (Path(__file__).parents[1] / "data" / "external_checks" / "group_j.json").read_text(encoding="utf-8")
    )["checks"]
}
NAUTICAL_MILE = 1852.0


def approx(check, name, unit=1.0):
    expected = check["expected"][name]["value"]
    return pytest.approx(expected * unit, abs=check["tol"][name]["abs"] * unit, rel=0.0)


def sexagesimal(text):
    """Degrees of '37 57 03.7', southern and western negative."""
    sign = -1.0 if text.startswith("-") or text.endswith(("S", "W")) else 1.0
    numbers = [float(one) for one in re.findall(r"[\d.]+", text)]
    return sign * sum(one / 60.0**i for i, one in enumerate(numbers))


def test_inverse_on_wgs84():
    check = CHECKS["X-J01"]
    line = geodesic(*check["inputs"]["p1"], *check["inputs"]["p2"])

    assert line.distance == approx(check, "distance")
    # This one tolerance is in metres beside a value in nautical miles.
    tolerance = check["tol"]["distance_nm"]
    assert tolerance["units"] == "m"
    in_miles = check["expected"]["distance_nm"]["value"] * NAUTICAL_MILE
    assert line.distance == pytest.approx(in_miles, abs=tolerance["abs"], rel=0.0)
    assert line.initial_course_deg == approx(check, "azimuth1")
    assert line.final_course_deg == approx(check, "azimuth2")


def test_direct_on_wgs84():
    check = CHECKS["X-J02"]
    inputs = check["inputs"]
    end = destination(*inputs["p1"], inputs["azimuth"]["value"], inputs["distance"]["value"])

    assert end.latitude_deg == approx(check, "lat2")
    assert end.longitude_deg == approx(check, "lon2")
    assert end.final_course_deg == approx(check, "azimuth2")


def test_inverse_on_the_bessel_ellipsoid():
    check = CHECKS["X-J03"]
    latitude_1, longitude_1 = (sexagesimal(one) for one in check["inputs"]["p1"].split(","))
    latitude_2, longitude_2 = (sexagesimal(one) for one in check["inputs"]["p2"].split(","))
    line = geodesic(latitude_1, longitude_1, latitude_2, longitude_2, BESSEL)

    assert check["inputs"]["a"]["value"] == BESSEL.equatorial_radius
    assert check["inputs"]["1/f"] == pytest.approx(1.0 / BESSEL.flattening, rel=1e-12)
    assert line.distance == approx(check, "distance")
    # The file gives no tolerance for the courses, so it is the last digit they are printed with.
    last_digit = 0.00001 / 3600.0
    assert line.initial_course_deg == pytest.approx(
        sexagesimal(check["expected"]["azimuth1"]), abs=last_digit
    )
    assert line.final_course_deg == pytest.approx(sexagesimal(check["expected"]["azimuth2"]), abs=last_digit)


def test_inverse_on_the_grs80_ellipsoid():
    check = CHECKS["X-J04"]
    points = [sexagesimal(one.strip()) for name in ("p1", "p2") for one in check["inputs"][name].split(",")]
    line = geodesic(*points, GRS80)

    assert line.distance == approx(check, "distance")
    last_digit = 0.01 / 3600.0
    assert line.initial_course_deg == pytest.approx(
        sexagesimal(check["expected"]["azimuth1"]), abs=last_digit
    )
    back = (line.final_course_deg + 180.0) % 360.0
    assert back == pytest.approx(sexagesimal(check["expected"]["reverse_azimuth"]), abs=last_digit)


def test_length_and_course_of_a_route_leg():
    check = CHECKS["X-J05"]
    line = geodesic(*check["inputs"]["p1"], *check["inputs"]["p2"])

    assert line.distance == approx(check, "distance", NAUTICAL_MILE)
    assert line.initial_course_deg == approx(check, "initial_course")
    assert line.final_course_deg == approx(check, "final_course")


@pytest.mark.parametrize("name", ["X-J06", "X-J07"])
def test_a_fix_by_radial_and_distance(name):
    check = CHECKS[name]
    inputs = check["inputs"]
    fix = destination(
        *inputs["p1"], inputs["true_bearing"]["value"], inputs["distance"]["value"] * NAUTICAL_MILE
    )

    assert fix.latitude_deg == approx(check, "lat")
    assert fix.longitude_deg == approx(check, "lon")


LATITUDES, LONGITUDES = st.floats(-85.0, 85.0), st.floats(-180.0, 180.0)


@given(LATITUDES, LONGITUDES, st.floats(0.0, 359.0), st.floats(1.0, 5e6))
def test_the_way_back_leads_home(latitude, longitude, course, distance):
    end = destination(latitude, longitude, course, distance)
    line = geodesic(latitude, longitude, end.latitude_deg, end.longitude_deg)
    home = destination(end.latitude_deg, end.longitude_deg, line.final_course_deg + 180.0, line.distance)

    assert line.distance == pytest.approx(distance, abs=1e-6)
    assert home.latitude_deg == pytest.approx(latitude, abs=1e-9)


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_distance_does_not_depend_on_the_direction(lat_1, lon_1, lat_2, lon_2):
    there, back = geodesic(lat_1, lon_1, lat_2, lon_2), geodesic(lat_2, lon_2, lat_1, lon_1)

    assert there.distance == pytest.approx(back.distance, abs=1e-6)


# Sphere against ellipsoid: the two differ by at most about the flattening, 0.6 percent (from memory).
@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_the_sphere_is_close_to_the_ellipsoid(lat_1, lon_1, lat_2, lon_2):
    exact = geodesic(lat_1, lon_1, lat_2, lon_2).distance
    assume(exact < 1.9e7)

    assert great_circle_distance(lat_1, lon_1, lat_2, lon_2) == pytest.approx(exact, rel=6e-3, abs=0.01)


def test_a_batch_of_legs_equals_its_single_cases():
    latitudes, longitudes = np.array([[10.0], [-40.0]]), np.array([0.0, 179.0, -20.0])
    batch = geodesic(latitudes, longitudes, 5.0, 5.0)
    ends = destination(latitudes, longitudes, 33.0, 1e5)

    assert batch.distance.shape == ends.latitude_deg.shape == (2, 3)
    for i in range(2):
        for j in range(3):
            single = geodesic(latitudes[i, 0], longitudes[j], 5.0, 5.0)
            assert batch.initial_course_deg[i, j] == single.initial_course_deg
            end = destination(latitudes[i, 0], longitudes[j], 33.0, 1e5)
            assert ends.longitude_deg[i, j] == end.longitude_deg


def test_no_legs_are_no_error():
    assert geodesic([], [], 5.0, 5.0).distance.shape == (0,)


@pytest.mark.parametrize("function", [geodesic, destination, great_circle_distance])
def test_a_latitude_beyond_the_pole_is_refused(function):
    with pytest.raises(ValueError, match=r"latitude -115 deg is outside -90 to 90 \(latitude first"):
        function(-115.0, 36.0, 1.0, 1.0)


def test_a_position_that_is_not_a_number_is_refused():
    with pytest.raises(ValueError, match="not a finite number"):
        geodesic(1.0, np.nan, 1.0, 1.0)
