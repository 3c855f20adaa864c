"""The numbers' pages: what decides, the runway with a failing engine, charts, and what if."""

import json
import math
import re
from itertools import pairwise

import numpy as np
import pytest

from sortiewright.desk.numbers_failure import failure_of
from sortiewright.desk.numbers_levers import changed, levers_of, read_variant
from sortiewright.desk.numbers_margins import margins
from sortiewright.sortie import demo_sortie_path, load_sortie, plan

FOOT, KNOT, POUND = 0.3048, 1852.0 / 3600.0, 0.45359237  # m, m/s, kg: NIST SP 811 (2008), appendix B.8


@pytest.fixture(scope="module")
def demo():
    loaded = load_sortie(demo_sortie_path())
    return loaded, plan(loaded.sortie, loaded.pack)


@pytest.fixture(scope="module")
def short_wet():
    loaded = load_sortie(demo_sortie_path().parent / "short_wet.yaml")
    return loaded, plan(loaded.sortie, loaded.pack)


def open_sortie(client, desk, name):
    id = next(entry.id for entry in desk.shelf.entries() if entry.name == name)
    assert client.post("/sortie", data={"sortie": id}, follow_redirects=False).status_code == 303


def number(text):
    return float(re.sub(r"[^0-9.-]", "", text.replace("−", "-").replace("\u202f", "")))


def test_every_id_of_the_page_is_its_own_and_every_link_leads_to_one(owner, desk):
    open_sortie(owner, desk, "short_wet")

    text = owner.get("/numbers").text

    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)


def test_reasons_stand_worst_first_and_lead_to_their_numbers(owner, desk, short_wet):
    open_sortie(owner, desk, "short_wet")

    listed = re.search(r'<ol class="reasons">.*?</ol>', owner.get("/numbers").text, re.DOTALL)[0]

    severities = re.findall(r"mark-(no-go|caution)", listed)
    assert severities == sorted(severities, key=["no-go", "caution"].index)
    assert len(severities) == len(short_wet[1].reasons)
    assert 'href="#figure-critical_field_length"' in listed


def test_every_figure_tells_its_method_once_it_is_opened(owner, desk):
    text = owner.get("/numbers").text

    for section in desk.current.ready.plan.sections:
        for figure in section.figures:
            if figure.method:
                assert figure.method.replace("'", "&#39;").replace("<", "&lt;") in text, figure.name


def test_charts_are_served_by_name_and_by_no_other(owner):
    for name in (
        "stop-or-go",
        "balance",
        "fuel",
        "climb",
        "turn",
        "energy",
        "load-factor",
        "route",
        "landing",
    ):
        answer = owner.get(f"/numbers/charts/{name}", headers={"hx-request": "true"})
        assert answer.status_code == 200
        assert answer.text.lstrip().startswith("<figure><svg"), name
    assert owner.get("/numbers/charts/../../pyproject").status_code in (404, 307)
    assert owner.get("/numbers/charts/nothing").status_code == 404


def test_a_chart_that_a_sortie_lacks_says_why(owner, desk):
    open_sortie(owner, desk, "short_wet")

    assert "needs a route" in owner.get("/numbers/charts/fuel", headers={"hx-request": "true"}).text


# The speeds and distances of the plan itself: the slider must not tell anything else.
def test_the_slider_tells_what_the_plans_curves_hold(demo):
    made = demo[1]
    curves = {curve.name: curve for curve in made.curves}

    failure = failure_of(made, "trade")

    for step in failure.steps[::7]:
        speed = number(step.speed) * KNOT
        for name, point in (("stop_distance", step.stop), ("go_distance", step.lift_off)):
            curve = curves[name]
            exact = float(np.interp(speed, curve.x, curve.y)) / FOOT
            assert exact <= number(point.distance) <= exact + 10.0  # rounds up, to ten feet
    places = [step.at for step in failure.steps]
    assert all(late > early for early, late in pairwise(places))


def test_a_failure_fits_exactly_as_far_as_the_runway_goes(short_wet):
    made = short_wet[1]
    refusal = made.figure("engine_failure", "refusal_speed").value / KNOT
    least = made.figure("engine_failure", "minimum_go_speed").value / KNOT

    failure = failure_of(made, "trade")

    for step in failure.steps:
        speed = number(step.speed)
        assert step.stop.fits == (speed <= refusal + 0.3) or abs(speed - refusal) < 0.5
        assert step.lift_off.fits == (speed >= least - 0.3) or abs(speed - least) < 0.5
    (band,) = [band for band in failure.bands if band.covers == "neither"]
    low, high = (float(part) for part in re.findall(r"\d+", band.words))
    assert (low, high) == (math.floor(refusal) + 1, math.ceil(least) - 1)
    assert all(step.way_out == "Neither fits" for step in failure.steps if step.covers == "neither")


def test_the_slider_never_briefs_what_does_not_fit(demo, short_wet):
    for made in (demo[1], short_wet[1]):
        for step in failure_of(made, "trade").steps:
            if step.way_out == "As briefed: stop":
                assert step.stop.fits
            if step.way_out == "As briefed: go on":
                assert step.lift_off.fits


def test_the_slider_stands_in_the_page_with_all_its_steps(owner, desk):
    text = owner.get("/numbers").text

    data = json.loads(re.search(r'id="failure-steps" hidden>(.*?)</pre>', text, re.DOTALL)[1])
    whole = [long(step, data["endings"]) for step in data["steps"]]
    assert whole == [step.data() for step in failure_of(desk.current.ready.plan, "trade").steps]
    assert f'max="{len(whole) - 1}"' in text


def long(short, endings):
    """Return a step of the page as it was before its texts were shortened."""
    if isinstance(short, list):
        return [long(one, endings) for one in short]
    return short[:-1] + endings[ord(short[-1]) - ord("a")] if isinstance(short, str) else short


# The budget of a page with all its files: 300 kB; a third of that over the air, where a browser takes gzip.
def test_the_page_with_all_its_charts_is_light(owner):
    page = owner.get("/numbers")
    files = set(re.findall(r'(?:href|src)="(/assets/[^"]+)"', page.text))
    style = next(one for one in files if one.endswith("tokens.css"))
    files |= {
        f"{style.rpartition('/')[0]}/{one}" for one in re.findall(r'url\("([^"]+)"\)', owner.get(style).text)
    }
    charts = [
        owner.get(f"{address}?width=wide", headers={"hx-request": "true"})
        for address in re.findall(r'hx-get="(/numbers/charts/[^"]+)"', page.text)
    ]
    answers = [page, *charts, *(owner.get(address) for address in sorted(files))]

    assert len(charts) == 9
    assert sum(len(one.content) for one in answers) < 300_000
    assert sum(int(one.headers["content-length"]) for one in answers) < 120_000


def test_margins_are_what_the_plan_leaves(demo):
    loaded, made = demo

    found = {margin.name: margin for margin in margins(made, loaded.pack.pack, loaded.sortie)}

    # 8,200 ft of runway, 150 ft of it behind the aircraft: sorties/demo.yaml.
    room = (8200 - 150) * FOOT
    run = made.figure("takeoff", "ground_run").value
    assert found["ground_run"].left == pytest.approx(room - run)
    # 53,500 lb: packs/dotterel/mass.yaml.
    mass = made.figure("loading", "takeoff_mass").value
    assert found["takeoff_mass"].left == pytest.approx(53500 * POUND - mass)
    shares = [margin.share for margin in margins(made, loaded.pack.pack, loaded.sortie)]
    assert shares == sorted(shares)


def test_a_lever_is_read_in_the_readers_units(demo):
    loaded = demo[0]
    levers = levers_of(loaded.sortie, loaded.pack.pack)

    trade = read_variant("a", {"a.fuel": "8 000", "a.temperature": "-5"}, levers, "trade")
    si = read_variant("a", {"a.fuel": "3628.7"}, levers, "si")

    assert trade.values["fuel"] == pytest.approx(8000 * POUND)
    assert trade.values["temperature"] == pytest.approx(268.15)
    assert si.values["fuel"] == pytest.approx(3628.7)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("fuel", "x"),
        ("fuel", "-1"),
        ("fuel", "1e999"),
        ("fuel", "nan"),
        ("reading", "27"),
        ("runway", "99"),
        ("power", "../idle"),
        ("temperature", "400"),
        ("wind_from", "200"),
    ],
)
def test_a_lever_that_cannot_be_read_says_so_beside_itself(demo, field, text):
    loaded = demo[0]

    variant = read_variant("b", {f"b.{field}": text}, levers_of(loaded.sortie, loaded.pack.pack), "trade")

    assert variant.problems
    assert not variant.is_used


def test_a_variant_is_the_plan_of_the_changed_sortie(owner, desk, demo):
    loaded, made = demo
    power = loaded.pack.pack.engine.military
    variant = read_variant("a", {"a.power": power}, levers_of(loaded.sortie, loaded.pack.pack), "trade")
    other = plan(changed(loaded.sortie, variant), loaded.pack)

    text = owner.get(f"/numbers/what-if?a.power={power}").text

    run, planned = (one.figure("takeoff", "ground_run").value for one in (other, made))
    assert run > 1.5 * planned  # military power: less than two thirds of the thrust
    row = re.search(r'<th scope="row">Ground run</th>.*?</tr>', text, re.DOTALL)[0]
    shown = [number(one) for one in re.findall(r'class="number">(?:<svg.*?</svg>)?\s*([^<]+)<', row)]
    assert shown[0] == pytest.approx(planned / FOOT, abs=10)
    assert shown[1] == pytest.approx(run / FOOT, abs=10)
    assert "sign-more" in row


def test_what_moves_most_stands_first(owner):
    text = owner.get("/numbers/what-if?a.reading=5").text

    first = re.search(r"largest change first.*?<tbody>\s*<tr><th scope=\"row\">(.*?)</th>", text, re.DOTALL)[
        1
    ]
    assert first == "Runway beyond a stop"


def test_two_variants_stand_side_by_side_and_the_sortie_stays(owner, desk):
    before = desk.current.ready or owner.get("/numbers")
    text = owner.get("/numbers/what-if?a.power=military&b.fuel=8000").text

    assert text.count("Variant A") >= 2
    assert text.count("Variant B") >= 2
    assert owner.get("/numbers").text.count("not saved") == 0
    assert before is not None
    assert desk.current.ready.is_draft is False


def test_a_quick_change_fills_the_variant_that_is_still_free(owner):
    text = owner.get("/numbers/what-if?a.power=military").text

    assert "a.power=military&amp;b.reading=12" in text


def test_hostile_levers_end_in_words_and_never_in_a_fault(owner):
    for query in (
        "a.fuel=" + "9" * 4000,
        "a.fuel=%00&b.runway=%ff",
        "a.wind_from=0&a.wind_speed=199",
        "a.temperature=-90&a.reading=0",
        "a.temperature=65&a.fuel=0",
        "a.=1&.=2&a.nothing=3&a.fuel=1&a.fuel=2",
        "a.fuel=<script>alert(1)</script>",
    ):
        answer = owner.get(f"/numbers/what-if?{query}")
        assert answer.status_code == 200, query
        assert "<script>alert" not in answer.text


def test_without_a_plan_the_pages_say_what_to_do_next(owner, desk, folder):
    file = folder / "range detail.yaml"
    open_sortie(owner, desk, "range detail")
    file.write_text(file.read_text("utf-8").replace("pack: dotterel", "pack: dottrel"), "utf-8")

    for path in ("/numbers", "/numbers/what-if", "/numbers/charts/turn"):
        answer = owner.get(path)
        assert answer.status_code == 200
    assert "Mend it in Prepare" in owner.get("/numbers").text
    assert "Mend it in Prepare" in owner.get("/numbers/what-if").text
