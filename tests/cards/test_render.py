"""Rendered cards: what stands on the pages, how large, how accessible, and what fails."""

import io
import re
import shutil
from dataclasses import replace

import pypdf
import pytest
from PIL import Image
from read_once import read_page

from sortiewright import CAUTION
from sortiewright.cards import CardError, card_data, render, render_cards, render_one
from sortiewright.sortie import Reason, RunwayMark, Verdict

SAMPLE_NAMES = ["go", "no_go", "single_engine", "long_names"]


def flat(page):
    return read_page(page).flat


def whole(pdf):
    return " ".join(flat(page) for page in pdf.pages)


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize("scheme", ["day", "night"])
def test_the_pdf_opens_and_has_a_png_for_each_numbered_page(card_set, name, scheme):
    pdf, pictures = card_set(name, scheme)

    assert len(pdf.pages) == len(pictures) >= 9
    for number, page in enumerate(pdf.pages, start=1):
        assert f"page {number} of {len(pdf.pages)}" in flat(page)


def test_pictures_are_named_by_card(card_set):
    names = [path.stem for path in card_set("go")[1]]

    assert names[0] == "cards-a5-day-01-takeoff-front"
    assert names[-1].endswith("-emergency")


@pytest.mark.parametrize("scheme", ["day", "night", "print"])
def test_the_first_page_decides(card_set, scheme):
    text = flat(card_set("no_go", scheme)[0].pages[0])

    for words in ("Takeoff data", "TERN 21", "Skerrow 27", "NO-GO", "8 790 ft against 7 900 ft", "118", "92"):
        assert words in text


def test_every_number_of_the_takeoff_is_on_the_cards(card_set):
    text = whole(card_set("go")[0])

    for words in (
        "132",
        "141",
        "154",
        "138",
        "4.2 units",
        "takeoff, 20°",
        "2 870",
        "4 110",
        "7 280",
        "6 760",
    ):
        assert words in text
    for words in ("630", "4 800", "30 to 45 psi", "185", "1 190", "24.6 Mft·lbf", "38 600", "148", "12 190"):
        assert words in text


def test_si_units_are_shown_when_asked_for(card_set):
    text = whole(card_set("go", units="si")[0])

    assert "875 m" in text.replace("\u202f", " ")
    assert " kt" not in text.split("Computed for")[0]


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_caution_stands_once_in_a_set(card_set, name):
    assert whole(card_set(name)[0]).count(CAUTION) == 1


def test_every_page_says_on_what_the_numbers_rest(card_set):
    for page in card_set("go")[0].pages:
        assert "Computed from pack dotterel 1.2.0, checked at 14 book points, worst error 2.8 %" in flat(page)


def test_a_pack_without_book_points_says_so_on_its_first_page(card_set):
    assert "no book points" in flat(card_set("single_engine")[0].pages[0])


# Common practice for cockpit checklists, no single source: 14 points in fair light, more in poor,
# never under 10.
@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize(("scheme", "item"), [("day", 14.0), ("print", 14.0), ("night", 16.0)])
def test_no_text_is_under_ten_points_and_items_are_large(spans, samples, name, scheme, item):
    pages = spans(name, scheme)
    data = card_data(samples.PLANS[name](), scheme=scheme)
    sizes = [size for page in pages for _, size in page]
    takeoff = data["cards"][0]["body"]

    assert min(sizes) >= 10.0 - 1e-6
    for row in (*takeoff["speeds"], *takeoff["climb_away"], *data["cards"][-1]["body"]["status"]):
        wanted = [row["title"].split()[0], row["number"].split()[0]]
        for words in wanted:
            assert any(words in text and size >= item - 1e-6 for page in pages for text, size in page), words
    for step in (*data["cards"][-1]["body"]["stop"], *data["cards"][-1]["body"]["go"]):
        assert any(step["value"] in text and size >= item for page in pages for text, size in page)


@pytest.mark.parametrize(
    ("paper", "width", "height"),
    [("a5", 148, 210), ("half-letter", 139.7, 215.9), ("letter", 215.9, 279.4), ("a4", 210, 297)],
)
def test_pages_have_the_size_of_the_paper(samples, paper, width, height):
    made = render_one(samples.go_plan(), "emergency", paper=paper)
    box = pypdf.PdfReader(io.BytesIO(made)).pages[0].mediabox

    assert float(box.width) == pytest.approx(width * 72 / 25.4, abs=0.5)
    assert float(box.height) == pytest.approx(height * 72 / 25.4, abs=0.5)


@pytest.mark.parametrize("paper", ["half-letter", "letter", "a4"])
@pytest.mark.parametrize("scheme", ["day", "night"])
def test_long_names_fit_every_paper(card_set, paper, scheme):
    pdf, _ = card_set("long_names", scheme, paper)

    assert "SANDERLING 117" in flat(pdf.pages[0])


def structure(node, kind):
    node = node.get_object()
    if isinstance(node, list):
        for one in node:
            yield from structure(one, kind)
    elif isinstance(node, dict):
        if node.get("/S") == kind:
            yield node
        if "/K" in node:
            yield from structure(node["/K"], kind)


# ISO 14289-1 (PDF/UA-1): tagged, a language, a title that is displayed, alternative text for figures.
def test_the_pdf_is_accessible(card_set):
    pdf, _ = card_set("go")
    root = pdf.trailer["/Root"]
    figures = list(structure(root["/StructTreeRoot"]["/K"], "/Figure"))

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part>1<" in root["/Metadata"].get_object().get_data()
    assert pdf.metadata.title == "TERN 21: Circuits and one-engine approach"
    assert len(figures) >= 4
    assert all(str(figure["/Alt"]).strip() for figure in figures)
    assert len(list(structure(root["/StructTreeRoot"]["/K"], "/H1"))) == 6


def test_the_same_plan_gives_the_same_file(samples):
    assert render_one(samples.go_plan(), "runway") == render_one(samples.go_plan(), "runway")


def test_the_time_in_the_file_is_the_plans_own(card_set):
    assert card_set("go")[0].metadata.creation_date_raw.startswith("D:20310614094000")


def test_resolution_follows_ppi(samples, tmp_path):
    files = render_cards(samples.go_plan(), tmp_path, formats=["png"], cards=["runway"], ppi=72)

    assert [path.name for path in files] == ["cards-a5-day-01-runway.png"]
    with Image.open(files[0]) as picture:
        size = picture.size
    assert size == pytest.approx((148 * 72 / 25.4, 210 * 72 / 25.4), abs=1)


def test_a_plan_of_nothing_renders(samples, tmp_path):
    plan = replace(
        samples.go_plan(),
        sections=(),
        load=(),
        balance=(),
        envelope=(),
        landings=(),
        curves=(),
        crew=(),
        time="",
    )
    plan = replace(plan, runway=replace(plan.runway, marks=(), cables=()))

    assert len(render_cards(plan, tmp_path, formats=["pdf"])) == 1


@pytest.mark.parametrize(
    ("changes", "box"),
    [
        ({"callsign": "X" * 60}, "head: callsign"),
        ({"time": "the fourteenth of June at twenty to ten"}, "head: time"),
        ({"aerodrome": "Aerodrome " * 30}, "head: place"),
        ({"pack_name": "dotterel " * 40}, "foot: status"),
        (
            {"reasons": (Reason(Verdict.NO_GO, "too long " * 60),), "verdict": Verdict.NO_GO},
            "takeoff: verdict",
        ),
    ],
)
def test_text_that_does_not_fit_names_its_box(samples, tmp_path, changes, box):
    with pytest.raises(CardError, match=re.escape(box)) as caught:
        render_cards(replace(samples.go_plan(), **changes), tmp_path)

    assert caught.value.box == box


def test_a_label_wider_than_its_drawing_names_its_box(samples, tmp_path):
    mark = RunwayMark("rotation", "Rotation " * 20, 700.0, "takeoff")
    plan = replace(samples.go_plan(), runway=replace(samples.RUNWAY, marks=(mark,)))

    with pytest.raises(CardError, match="runway") as caught:
        render_cards(plan, tmp_path)

    assert caught.value.box.startswith("runway: Rotation")


def test_a_warning_of_the_typesetter_is_an_error(samples, tmp_path, monkeypatch):
    shutil.copytree(render.TEMPLATES, tmp_path / "templates")
    main = tmp_path / "templates" / "cards.typ"
    main.write_text(main.read_text("utf-8") + '\n#text(font: "No Such Face")[x]\n', "utf-8")
    monkeypatch.setattr(render, "TEMPLATES", tmp_path / "templates")

    with pytest.raises(CardError, match="no such face"):
        render_cards(samples.go_plan(), tmp_path)


def test_missing_fonts_are_named_with_the_remedy(samples, tmp_path, monkeypatch):
    monkeypatch.setattr(render, "FONT_FOLDER", tmp_path)

    with pytest.raises(CardError, match="pip install"):
        render_cards(samples.go_plan(), tmp_path)


# Packages from the network would make a card depend on the day it is printed.
def test_templates_import_nothing_from_outside():
    texts = [path.read_text("utf-8") for path in sorted(render.TEMPLATES.glob("*.typ"))]

    assert len(texts) >= 8
    assert not any("@" in line for text in texts for line in re.findall(r"#(?:import|include).*", text))
