"""Charts and routes written to files: names, endings, what is refused, and the plan's tables of a route."""

import inspect
import json
import sys
from typing import get_args
from xml.etree import ElementTree

import pytest

from sortiewright.cards import CHARTS, chart_of
from sortiewright.cards.charts import ChartName
from sortiewright.sortie import clock, demo_sortie_path, load_sortie, plan


@pytest.fixture(scope="module")
def demo_plan():
    loaded = load_sortie(demo_sortie_path())
    return plan(loaded.sortie, loaded.pack)


def test_the_list_says_what_each_chart_shows(command):
    ran = command("chart", "demo", "--list")

    assert ran.code == 0
    assert [line.split()[0] for line in ran.out.splitlines()] == list(CHARTS)


def test_choices_are_those_of_the_card_room():
    module = sys.modules["sortiewright.commands.chart"]

    assert set(get_args(module.Chart)) == set(CHARTS) == set(get_args(ChartName))
    hint = inspect.signature(chart_of, eval_str=True).parameters["scheme"].annotation
    assert set(get_args(module.Scheme)) == set(get_args(hint))


@pytest.mark.parametrize("of", ["route", "fuel", "turn", "stop-or-go"])
def test_a_chart_is_written_where_it_is_wanted(command, tmp_path, of):
    ran = command("chart", "demo", "--of", of, "--out", "charts/one.svg", "--scheme", "night")

    assert ran.code == 0, ran.err
    assert ran.out.strip().endswith("one.svg")
    assert ElementTree.parse(tmp_path / "charts" / "one.svg").getroot().tag.endswith("svg")


def test_without_a_name_it_has_the_charts(command, tmp_path):
    assert command("chart", "demo", "--of", "climb").code == 0
    assert (tmp_path / "climb.svg").exists()


def test_a_turn_is_drawn_at_the_height_asked_for_also_without_a_route(command, tmp_path):
    for sortie in ("demo", "short_wet"):
        ran = command("chart", sortie, "--of", "turn", "--altitude", "20000", "--mach", "0.8")
        assert ran.code == 0, ran.err
        assert "20\u202f000" in (tmp_path / "turn.svg").read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("demo", "--of", "fuel", "--out", "fuel.bmp"), "ends in none of .svg, .png, .pdf"),
        (("short_wet", "--of", "route"), "needs a route"),
        (("demo", "--of", "fuel", "--mach", "0.8"), "--mach is of the charts energy, load-factor, turn only"),
        (("demo", "--of", "turn", "--power", "full"), '"full" is no power setting of the pack: idle'),
        (("demo", "--of", "turn", "--altitude", "90000"), "is outside"),
    ],
)
def test_what_cannot_be_drawn_says_why(command, arguments, words):
    ran = command("chart", *arguments)

    assert ran.code == 2
    assert words in " ".join(ran.err.split())
    assert "Traceback" not in ran.err


# RFC 7946, section 3.3: a FeatureCollection has an array of features.
def test_the_route_is_geojson_unless_its_ending_says_otherwise(command, tmp_path, demo_plan):
    ran = command("route", "demo")
    names = [one["properties"]["name"] for one in json.loads(ran.out)["features"]]

    assert ran.code == 0
    assert names[: len(demo_plan.route.points)] == [point.name for point in demo_plan.route.points]
    assert command("route", "demo", "--out", "one.gpx").code == 0
    root = ElementTree.parse(tmp_path / "one.gpx").getroot()
    assert root.tag == "{http://www.topografix.com/GPX/1/1}gpx"
    assert command("route", "demo", "--format", "gpx").out.startswith("<?xml")


def test_a_sortie_without_a_route_has_none_to_write(command):
    ran = command("route", "short_wet")

    assert ran.code == 2
    assert "the sortie has no route" in ran.err


def test_the_plan_prints_the_log_and_the_ladder(command, demo_plan):
    lines = command("plan", "demo").out.splitlines()
    log = lines[lines.index(next(line for line in lines if line.startswith("Flight log"))) :]
    ladder = lines[lines.index(next(line for line in lines if line.startswith("Fuel ladder"))) :]

    for row in demo_plan.route.rows:
        assert any(clock(row.at) in line for line in log[2 : 2 + len(demo_plan.route.rows)])
    assert any("DUNAN" in line for line in ladder[2 : 2 + len(demo_plan.fuel.ladder)])
    assert any(line.startswith("Bingo by distance") for line in ladder)
    assert max(len(line) for line in lines) <= 80
