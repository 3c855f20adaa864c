"""Flight log, climb and cruise, divert and performance cards: what stands on them; when there are none."""

import io
import re

import pypdf
import pytest
from read_once import read_page

from sortiewright.cards import CardError, card_data, render_cards
from sortiewright.cards.card_set import TITLES, cards_of
from sortiewright.sortie import Kind, demo_sortie_path, load_sortie, plan, show

CARDS = ("flight_log", "climb_cruise", "divert", "performance")


@pytest.fixture(scope="module")
def planned():
    made = {}

    def of(name):
        if name not in made:
            loaded = load_sortie(demo_sortie_path().with_name(f"{name}.yaml"))
            made[name] = plan(loaded.sortie, loaded.pack)
        return made[name]

    return of


@pytest.fixture(scope="module")
def pages(planned, tmp_path_factory):
    """Return a function that gives the texts of a card's pages, each with its size in points."""
    read = {}

    def of(name, scheme, paper="a5", card=CARDS):
        key = name, scheme, paper, card
        if key not in read:
            folder = tmp_path_factory.mktemp("cards")
            file = render_cards(
                planned(name), folder, paper=paper, scheme=scheme, formats=["pdf"], cards=list(card)
            )[0]
            read[key] = [spans(page) for page in pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages]
        return read[key]

    return of


def spans(page):
    return [(one.text, one.size) for one in read_page(page).words]


def whole(found):
    return re.sub(r"\s+", " ", " ".join(text for page in found for text, _ in page)).replace("\u202f", " ")


def plain(text):
    return text.replace("\u202f", " ")


@pytest.mark.parametrize("scheme", ["day", "night", "print"])
def test_the_log_has_every_point_with_its_time_and_fuel(pages, planned, scheme):
    words = whole(pages("demo", scheme, card=("flight_log",)))
    made = planned("demo")

    for leg in range(10):
        row = [one for one in made.route.rows_of_leg(leg) if one.distance > 0.0][-1]
        assert row.end.name in words
        assert f"{row.at:%H:%M:%S}" in words
        assert plain(show(row.fuel_aboard, Kind.MASS, rounding="down").number) in words
    assert "Dry passes" in words


def test_the_divert_card_says_bingo_joker_and_each_way_home(pages, planned):
    words, made = whole(pages("demo", "day", card=("divert",))), planned("demo")

    for name in ("bingo", "joker", "minimum_fuel", "bingo_one_engine", "bingo_trapped_external"):
        assert plain(show(made.figure("fuel", name)).number) in words, name
    assert "External fuel trapped" in words
    assert "60 nmi" in words
    assert "No alternate is given" in words


def test_the_climb_card_has_a_table_and_the_ceilings(pages, planned):
    words, made = whole(pages("demo", "day", card=("climb_cruise",))), planned("demo")

    assert "350 kt, then Mach 0.8" in words
    for name in ("service_ceiling_takeoff", "one_engine_ceiling", "range_altitude"):
        assert plain(show(made.figure("flight", name)).number) in words, name


def test_the_performance_card_has_three_charts(planned):
    data = card_data(planned("demo"), cards=["performance"])["cards"][0]["body"]

    assert [chart["title"] for chart in data["charts"]] == [
        "Rate of turn",
        "Specific excess power",
        "Load factor and speed",
    ]
    assert data["figures"]


# Common practice for cockpit checklists, no single source: 14 points in fair light, more in poor, never under
# 10; a log's details may be smaller than what is read in a glance.
@pytest.mark.parametrize(("scheme", "item"), [("day", 14.0), ("print", 14.0), ("night", 16.0)])
def test_no_text_is_under_ten_points_and_what_is_read_in_flight_is_large(pages, planned, scheme, item):
    found = pages("demo", scheme)
    made = planned("demo")
    large = " ".join(text for page in found for text, size in page if size >= item - 1e-6)

    assert min(size for page in found for _, size in page) >= 10.0 - 1e-6
    for leg in range(10):
        row = [one for one in made.route.rows_of_leg(leg) if one.distance > 0.0][-1]
        assert row.end.name in large
        assert f"{row.at:%H:%M:%S}" in large


@pytest.mark.parametrize("paper", ["half-letter", "letter"])
@pytest.mark.parametrize("name", ["demo", "trainer_navigation"])
def test_the_cards_fit_every_paper(pages, name, paper):
    assert len(pages(name, "night", paper)) >= 7


def test_a_sortie_without_a_route_has_the_five_cards_of_before(planned):
    assert cards_of(planned("short_wet")) == ("takeoff", "landing", "balance", "runway", "emergency")
    assert cards_of(planned("demo")) == tuple(TITLES)


@pytest.mark.parametrize("card", CARDS)
def test_a_card_of_the_route_is_refused_where_there_is_none(planned, tmp_path, card):
    with pytest.raises(CardError, match="the sortie has no route"):
        render_cards(planned("short_wet"), tmp_path, cards=[card])


def test_a_name_too_long_for_the_log_names_its_box(planned, tmp_path):
    from dataclasses import replace

    made = planned("demo")
    rows = tuple(
        replace(row, end=replace(row.end, name="UNPRONOUNCEABLE" * 4)) if row.leg == 1 else row
        for row in made.route.rows
    )
    points = tuple(
        replace(point, name="UNPRONOUNCEABLE" * 4) if n == 2 else point
        for n, point in enumerate(made.route.points)
    )

    with pytest.raises(CardError) as caught:
        render_cards(
            replace(made, route=replace(made.route, rows=rows, points=points)), tmp_path, cards=["flight_log"]
        )

    assert "UNPRON" in caught.value.box or "route" in caught.value.box
