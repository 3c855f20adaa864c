"""The route as GeoJSON and GPX: held to the rules of the two formats, and to the route itself."""

from __future__ import annotations

import dataclasses
import json
import re
from datetime import datetime
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from route_sortie import flown

from sortiewright.sortie.route_files import route_geojson, route_gpx
from sortiewright.sortie.route_flown import PlacedPoint

NAMESPACE = "{http://www.topografix.com/GPX/1/1}"
RELEASE = ("{to: BRENT}", "{to: BRENT, then: [{orbit: {time: 5 min}}, {release: [belly]}]}")
THIN = (
    "{to: ALFER, flight_level: 200}",
    '{to: {latitude: 56.3, longitude: -7.2, title: "A & <B>"}, flight_level: 200}',
)

# Order and names of elements: GPX 1.1 schema, https://www.topografix.com/GPX/1/1/gpx.xsd, types gpxType,
# metadataType, rteType, trkType, trksegType and wptType.
POINT = ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"]
ORDER = {
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"],
    "rte": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"],
    "trk": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"],
    "trkseg": ["trkpt", "extensions"],
    "rtept": POINT,
    "trkpt": POINT,
    **{leaf: [] for leaf in ("name", "ele", "time")},
}
REPEATED = {"rtept", "trkpt", "rte", "trk", "trkseg", "wpt", "link"}
# xsd:dateTime with the Z that the schema's documentation asks for.
CLOCK = re.compile(r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$")


def check_gpx(element):
    name = element.tag.removeprefix(NAMESPACE)
    assert element.tag.startswith(NAMESPACE)
    children = [child.tag.removeprefix(NAMESPACE) for child in element]
    places = [ORDER[name].index(child) for child in children]
    assert places == sorted(places), f"children of {name} stand in the order of the schema"
    assert not {child for child in children if children.count(child) > 1} - REPEATED
    attributes = {"gpx": {"version", "creator"}, "rtept": {"lat", "lon"}, "trkpt": {"lat", "lon"}}
    assert set(element.attrib) == attributes.get(name, set())
    if name in ("rtept", "trkpt"):
        assert -90.0 <= float(element.attrib["lat"]) <= 90.0
        assert -180.0 <= float(element.attrib["lon"]) < 180.0  # longitudeType: maxExclusive
    if name == "time":
        assert CLOCK.match(element.text)
    if name == "ele":
        assert re.match(r"^-?\d+(\.\d+)?$", element.text)  # xsd:decimal knows no exponent and no NaN
    for child in element:
        check_gpx(child)


@pytest.mark.parametrize("changes", [(), (RELEASE,), (THIN,)])
def test_the_gpx_keeps_to_the_published_schema(changes):
    root = ElementTree.fromstring(route_gpx(flown(*changes), title="Round & back", sea_level=10.0))

    assert root.attrib["version"] == "1.1"
    check_gpx(root)


def test_the_gpx_holds_every_point_and_the_track_with_its_times():
    route = flown(RELEASE)
    root = ElementTree.fromstring(route_gpx(route, sea_level=20.0))
    names = [point.find(f"{NAMESPACE}name").text for point in root.iter(f"{NAMESPACE}rtept")]
    track = list(root.iter(f"{NAMESPACE}trkpt"))
    times = [datetime.fromisoformat(point.find(f"{NAMESPACE}time").text) for point in track]

    assert names == [point.name for point in route.points]
    assert len(track) == len(route.track_elapsed)
    assert times == sorted(times)
    assert abs((times[-1] - route.rows[-1].at).total_seconds()) < 1.0
    heights = [float(point.find(f"{NAMESPACE}ele").text) for point in track]
    assert max(heights) == pytest.approx(20_000 * 0.3048 - 20.0, abs=0.1)


def check_position(position):
    # RFC 7946, 3.1.1: longitude, latitude, and height if there is one; 4: WGS 84, decimal degrees.
    assert len(position) in (2, 3)
    assert -180.0 <= position[0] <= 180.0
    assert -90.0 <= position[1] <= 90.0
    assert all(isinstance(part, float | int) and np.isfinite(part) for part in position)


def check_geojson(text):
    def refuse(word):
        raise AssertionError(f"{word} is no JSON (RFC 8259, section 6)")

    whole = json.loads(text, parse_constant=refuse)
    # RFC 7946, 3.3: a FeatureCollection has features; 3.2: each has geometry and properties. 7.1: members of
    # one kind of object are not used in another. 4: crs is gone.
    assert set(whole) == {"type", "features"}
    assert whole["type"] == "FeatureCollection"
    for feature in whole["features"]:
        assert set(feature) == {"type", "geometry", "properties"}
        assert feature["type"] == "Feature"
        geometry = feature["geometry"]
        assert set(geometry) == {"type", "coordinates"}
        lines = {"Point": [[geometry["coordinates"]]], "LineString": [geometry["coordinates"]]}
        lines = lines.get(geometry["type"], geometry["coordinates"])
        for line in lines:
            # 3.1.4: a line has two positions or more.
            assert geometry["type"] == "Point" or len(line) >= 2
            for position in line:
                check_position(position)
            for before, after in pairwise(line):
                assert abs(after[0] - before[0]) <= 180.0  # 3.1.9: cut at the antimeridian
    return whole


@pytest.mark.parametrize("changes", [(), (RELEASE,), (THIN,)])
def test_the_geojson_keeps_to_rfc_7946(changes):
    route = flown(*changes)
    whole = check_geojson(route_geojson(route, title="Round & back"))
    points = [one for one in whole["features"] if one["geometry"]["type"] == "Point"]

    assert [one["properties"]["name"] for one in points] == [point.name for point in route.points]
    assert points[0]["geometry"]["coordinates"] == [-5.083, 56.214]
    assert points[2]["properties"]["time"].startswith("2026-05-14T09:")
    assert whole["features"][-1]["geometry"]["type"] == "LineString"


def test_a_track_across_the_180th_meridian_is_cut_there():
    route = flown()
    longitude = np.linspace(175.0, 185.0, len(route.track_longitude_deg))
    wrapped = (longitude + 180.0) % 360.0 - 180.0
    points = tuple(PlacedPoint(point.name, point.latitude_deg, 179.0) for point in route.points)
    across = dataclasses.replace(route, track_longitude_deg=wrapped, points=points)
    line = check_geojson(route_geojson(across))["features"][-1]["geometry"]

    assert line["type"] == "MultiLineString"
    assert [part[0][0] for part in line["coordinates"]] == [175.0, -180.0]
    assert line["coordinates"][0][-1][0] == 180.0
    assert line["coordinates"][0][-1][1:] == line["coordinates"][1][0][1:]


def test_a_route_that_stops_is_written_as_far_as_it_goes():
    route = flown(("{to: BRENT}", "{to: BRENT, flight_level: 350}"))
    whole = check_geojson(route_geojson(route))

    assert whole["features"][-1]["properties"]["complete"] is False
    check_gpx(ElementTree.fromstring(route_gpx(route)))
