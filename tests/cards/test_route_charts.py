"""Route, profile, fuel and climb charts: to scale, legible, and what was computed."""

import functools
import math
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from geographiclib.geodesic import Geodesic

from sortiewright.cards import (
    CHARTS,
    NEEDS_ROUTE,
    SCHEMES,
    CardError,
    chart_of,
    climb_chart,
    fuel_chart,
    profile_chart,
    route_chart,
    write_chart,
)
from sortiewright.cards.chart_route import plan_view
from sortiewright.cards.chart_svg import drawing_svg
from sortiewright.cards.labels import Box
from sortiewright.sortie import demo_sortie_path, load_sortie, plan, read_sortie

SORTIES = demo_sortie_path().parent
NAUTICAL_MILE, POUND = 1852.0, 0.45359237
# Eleven turning points within some 10 nmi: a chart that cannot name them is of no use.
CROWDED = {f"POINT{n}": (56.60 + 0.04 * math.sin(n), -5.40 + 0.07 * math.cos(2.1 * n)) for n in range(10)}


@functools.cache
def planned(name):
    if name == "crowded":
        text = (SORTIES / "demo.yaml").read_text("utf-8")
        text = text[: text.index("  points:")]
        places = "".join(
            f"    {name}: {{latitude: {lat:.4f}, longitude: {lon:.4f}}}\n"
            for name, (lat, lon) in CROWDED.items()
        )
        legs = "".join(f"    - {{to: {name}, altitude: 3000 ft, cas: 350 kt}}\n" for name in CROWDED)
        loaded = read_sortie(f"{text}  points:\n{places}  legs:\n{legs}    - {{to: ZZCH}}\n", "a", Path())
    else:
        loaded = load_sortie(SORTIES / f"{name}.yaml")
    return plan(loaded.sortie, loaded.pack)


def drawn(chart, name, **options):
    made = planned(name)
    if chart == "fuel":
        return fuel_chart(made.fuel, made.route, **options)[0]
    if chart == "climb":
        return climb_chart(made.flight, **options)[0]
    return {"route": route_chart, "profile": profile_chart}[chart](made.route, **options)[0]


def said(drawing):
    return " ".join(line for part in drawing.parts if part["kind"] == "text" for line in part["lines"])


@pytest.mark.parametrize("name", ["demo", "trainer_navigation", "crowded"])
@pytest.mark.parametrize("chart", ["route", "profile", "fuel", "climb"])
@pytest.mark.parametrize(("width", "text_size"), [(480.0, 10.0), (369.0, 10.0), (369.0, 12.0)])
def test_texts_lie_on_the_picture_and_none_covers_another(chart, name, width, text_size):
    for system in ("trade", "si"):
        drawing = drawn(chart, name, system=system, width=width, text_size=text_size)
        page = Box(-1.0, -1.0, drawing.width + 2.0, drawing.height + 2.0)

        assert all(box.within(page) for box in drawing.text_boxes)
        covered = [pair for pair in combinations(drawing.text_boxes, 2) if pair[0].overlaps(pair[1])]
        assert covered == []


@pytest.mark.parametrize("name", ["demo", "trainer_navigation", "crowded"])
def test_every_point_of_the_route_is_named_on_it(name):
    words = said(drawn("route", name, times=False))

    assert all(point.name in words for point in planned(name).route.points)


@pytest.mark.parametrize("name", ["demo", "trainer_navigation"])
def test_every_point_of_the_route_is_named_on_the_fuel_chart(name):
    words = said(drawn("fuel", name))

    assert all(point.name in words for point in planned(name).route.points[1:])


# geographiclib (Karney 2013) is the reference for distances: the plain chart may be a hundredth off.
@pytest.mark.parametrize("name", ["demo", "trainer_navigation"])
def test_distances_on_the_chart_are_to_scale(name):
    drawing, points = plan_view(planned(name).route)[0], planned(name).route.points
    bar = next(p["points"] for p in drawing.parts if p["kind"] == "path" and p["role"] == "limit")
    length = next(
        float(part["lines"][0].split("\u202f")[0])
        for part in drawing.parts
        if part["kind"] == "text" and part["lines"][0].endswith("nmi")
    )
    scale = length * NAUTICAL_MILE / (bar[1][0] - bar[0][0])
    marks = [part["at"] for part in drawing.parts if part["kind"] == "mark"]

    assert len(marks) >= len(points) - 1
    for (one, other), (here, there) in zip(pairwise(points[: len(marks)]), pairwise(marks), strict=True):
        real = Geodesic.WGS84.Inverse(
            one.latitude_deg, one.longitude_deg, other.latitude_deg, other.longitude_deg
        )["s12"]
        assert math.dist(here, there) * scale == pytest.approx(real, rel=0.006)


def test_north_is_up_and_east_is_right():
    drawing, points = drawn("route", "demo"), planned("demo").route.points
    marks = [part["at"] for part in drawing.parts if part["kind"] == "mark"][: len(points)]
    by_name = {point.name: at for point, at in zip(points, marks, strict=False)}

    assert by_name["RANGE"][1] < by_name["GARVEL"][1]
    assert by_name["MOY"][0] > by_name["SKARVE"][0]


def test_the_fuel_line_ends_at_what_is_left():
    made, drawing = planned("demo"), drawn("fuel", "demo")
    words = said(drawing)

    left = math.floor(made.fuel.ladder[-1].planned / POUND / 10) * 10
    assert f"Approach {left:,}".replace(",", "\u202f") in words
    assert "Bingo from there" in words
    assert "Minimum 1\u202f600" in words


@pytest.mark.parametrize("scheme", list(SCHEMES))
def test_a_chart_is_well_formed_svg_with_words_for_who_cannot_see_it(scheme):
    made = planned("demo")
    for drawing, words in (route_chart(made.route), fuel_chart(made.fuel, made.route)):
        text = drawing_svg(drawing, scheme, words)
        root = ElementTree.fromstring(text)

        assert root.get("role") == "img"
        assert "SKARVE" in root.get("aria-label")
        assert SCHEMES[scheme]["paper"] in text


@pytest.mark.parametrize("name", list(CHARTS))
def test_every_chart_is_drawn_of_a_sortie_with_a_route(name, tmp_path):
    data = chart_of(planned("demo"), name)
    path = write_chart(data, tmp_path / f"{name}.svg", title=name)

    assert data["parts"]
    assert data["alternative"]
    assert ElementTree.parse(path).getroot().tag.endswith("svg")


@pytest.mark.parametrize("ending", ["png", "pdf"])
def test_a_chart_is_typeset(ending, tmp_path):
    path = write_chart(
        chart_of(planned("demo"), "route"), tmp_path / f"new/route.{ending}", title="Route", scheme="night"
    )

    assert path.read_bytes().startswith({"png": b"\x89PNG", "pdf": b"%PDF"}[ending])


@pytest.mark.parametrize("name", sorted(NEEDS_ROUTE))
def test_a_sortie_without_a_route_has_no_chart_of_it(name):
    with pytest.raises(CardError, match="needs a route"):
        chart_of(planned("short_wet"), name)


def test_an_unknown_ending_or_chart_is_refused(tmp_path):
    with pytest.raises(CardError, match=r"\.svg, \.png, \.pdf"):
        write_chart(chart_of(planned("demo"), "runway"), tmp_path / "runway.gif", title="")
    with pytest.raises(CardError, match="Choose from route, profile"):
        chart_of(planned("demo"), "map")


def turns(points):
    """Return by how many degrees a line turns at each of its points."""
    headings = [math.atan2(y1 - y0, x1 - x0) for (x0, y0), (x1, y1) in pairwise(points)]
    return [abs(math.degrees(one - other)) for one, other in pairwise(headings)]


@pytest.mark.parametrize("name", ["demo", "trainer_navigation"])
def test_the_climb_is_a_smooth_line_through_what_was_computed(name):
    path = planned(name).flight.climb
    curve = next(
        part["points"] for part in drawn("climb", name, width=600.0).parts if part["role"] == "curve"
    )
    computed = [(float(at), float(up)) for at, up in zip(path.time, path.altitude, strict=True) if at == at]
    knots = curve[:: (len(curve) - 1) // (len(computed) - 1)]
    across = (curve[-1][0] - curve[0][0]) / (computed[-1][0] - computed[0][0])
    up = (curve[-1][1] - curve[0][1]) / (computed[-1][1] - computed[0][1])

    for (x, y), (at, high) in zip(knots, computed, strict=True):
        assert x - curve[0][0] == pytest.approx(across * (at - computed[0][0]), abs=0.05)
        assert y - curve[0][1] == pytest.approx(up * (high - computed[0][1]), abs=0.05)
    assert max(turns(curve)) < 4.0 < max(turns(knots))
