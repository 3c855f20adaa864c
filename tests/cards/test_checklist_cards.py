"""Checklist booklets: what stands on the pages, how large, whose answer it is, and what fails."""

import importlib.util
import io
import json
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pypdf
import pytest
from fontTools.ttLib import TTFont
from PIL import Image
from read_once import read_page

from sortiewright import CAUTION
from sortiewright.cards import CardError
from sortiewright.cards.checklist_render import checklist_compiler, render_checklists
from sortiewright.cards.checklist_set import LEAST_ROW, checklist_data
from sortiewright.cards.render import TEMPLATES
from sortiewright.cards.typeface import FONT_FOLDER
from sortiewright.procedures import LeftOut


def load_lists():
    """Return the module beside this file; tests are not a package."""
    path = Path(__file__).with_name("checklist_samples.py")
    spec = importlib.util.spec_from_file_location("checklist_samples", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


LISTS = load_lists()
POINTS = 72 / 25.4
LOOKS = [("day", "a5"), ("night", "a5"), ("print", "letter")]
LENGTHS = (1, 2, 10, 11, 12, 13, 23, 24)


class Booklet(NamedTuple):
    """One seat's booklet: the PDF, a picture a page, and a text a page."""

    pdf: pypdf.PdfReader
    pictures: list[Path]
    texts: list[str]


@pytest.fixture(scope="session")
def booklet(samples, tmp_path_factory):
    """Return a function that renders a seat's booklet once a session and returns its PDF, PNGs and texts."""
    made = {}

    def rendered(seat="front", scheme="day", paper="a5"):
        key = seat, scheme, paper
        if key not in made:
            folder = tmp_path_factory.mktemp("-".join(key))
            files = render_checklists(
                LISTS.checklists(),
                samples.go_plan(),
                folder,
                scheme=scheme,
                paper=paper,
                seats=[seat],
                ppi=50,
            )
            pdf = pypdf.PdfReader(io.BytesIO(files[0].read_bytes()))
            made[key] = Booklet(pdf, files[1:], [flat(page) for page in pdf.pages])
        return made[key]

    return rendered


def flat(page):
    return read_page(page).flat


def texts_titled(texts, title):
    """Return the pages with a title, which stands behind the words of the thumb tab and before the seat."""
    head = re.compile(rf"[A-Z -]*{re.escape(title)} (?:FRONT|REAR) ")
    return [text for text in texts if head.match(text)]


def text_titled(texts, title):
    """Return the first page with a title."""
    return texts_titled(texts, title)[0]


def sizes_of(pdf):
    """Return every text of a PDF with its size in points."""
    return [(one.text.strip(), one.size) for page in pdf.pages for one in read_page(page).words]


def test_there_is_one_booklet_a_seat_with_one_picture_a_page(samples, tmp_path):
    files = render_checklists(LISTS.checklists(), samples.go_plan(), tmp_path, ppi=30)
    pdfs = [path for path in files if path.suffix == ".pdf"]

    assert [path.name for path in pdfs] == [f"checklists-a5-day-{seat}.pdf" for seat in ("front", "rear")]
    for pdf in pdfs:
        pictures = [path for path in files if path.name.startswith(f"{pdf.stem}-")]
        assert len(pypdf.PdfReader(pdf).pages) == len(pictures)
        assert pictures[0].stem.endswith("01-contents")
        assert any(path.stem.endswith("-engine_fire") for path in pictures)


def test_every_page_says_of_which_pack_which_day_and_how_many(booklet):
    texts = booklet().texts

    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text
        assert "Pack dotterel 1.2.0, lists 9c0ffee1, 2031-06-14 09:40 Z" in text


def test_every_item_stands_on_its_list_with_its_fixed_number(booklet):
    text = " ".join(booklet().texts)

    for one in (*LISTS.checklists().normal, *LISTS.checklists().others):
        for item in one.items:
            said = (
                f"{item.number} HOLD"
                if item.hold and not item.response
                else f"{item.number} {item.challenge}"
            )
            assert said in text, said
            assert item.response in text


def test_a_gap_in_the_numbers_shows_what_does_not_apply(booklet):
    page = text_titled(booklet().texts, "Before start")

    assert "4 Battery" in page
    assert "6 Oxygen" in page
    assert not re.search(r"\b5 [A-Z]", page)
    assert "Left out today: Belly tank pump." in page


def test_what_was_left_out_stands_last_with_its_reason(booklet):
    last = booklet().texts[-1]

    assert last.startswith("Left out today")
    assert "Belly tank pump carries('belly_tank') is no" in last
    assert "Arming loaded('belly') is no" in last


def test_the_contents_name_the_page_of_every_list(booklet):
    texts = booklet().texts

    for one in (*LISTS.checklists().normal, *LISTS.checklists().others):
        number = int(re.search(rf"{re.escape(one.title)} [. ]*(\d+)", texts[0])[1])
        assert texts[number - 1] == text_titled(texts, one.title)


def test_the_caution_stands_once_in_a_booklet(booklet):
    assert " ".join(booklet().texts).count(CAUTION) == 1


# UK CAP 676, issue 3 (from memory): start, end and continuation of a list are unmistakable.
@pytest.mark.parametrize(("scheme", "paper"), LOOKS)
def test_a_list_over_several_pages_continues_until_its_completion_call(booklet, scheme, paper):
    pages = texts_titled(booklet("front", scheme, paper).texts, "Before taxi")

    assert len(pages) >= 2
    for at, page in enumerate(pages):
        last = at == len(pages) - 1
        numbers = [int(one) for one in re.findall(r"(\d+) System number", page)]
        assert len(numbers) >= 2
        assert ("Before taxi complete END" in page) == last
        assert ("continued" in page) == (at > 0)
        assert (f"continues with {numbers[-1] + 1} on the next page" in page) == (not last)


def test_every_list_ends_with_its_call_and_says_what_comes_next(booklet):
    texts = booklet().texts

    assert "Before start complete END Next: Start" in text_titled(texts, "Before start")
    assert "Resume where you were interrupted" in " ".join(texts)
    assert "Go on with: Engine fire in flight" in text_titled(texts, "Bleed leak")
    assert "The sortie ends here" in text_titled(texts, "Departure from controlled flight")


# MIL-DTL-23618H(AS), 3.1.5.4: in the order warning, caution, note, before the step, not numbered (read in a
# public copy).
def test_warnings_stand_before_cautions_before_the_item(booklet):
    page = text_titled(booklet().texts, "Start")
    at = [page.index(words) for words in ("WARNING", "Intake suction", "CAUTION", "2 Right engine master")]

    assert at == sorted(at)


def test_a_hold_says_who_is_waited_for(booklet):
    text = text_titled(booklet().texts, "Before start")

    assert "8 HOLD Clear to start Start clearance from: Crew chief" in text


def test_an_emergency_says_when_its_parts_and_what_no_longer_works(booklet):
    text = " ".join(texts_titled(booklet().texts, "Engine fire in flight"))
    words = (
        "WHEN",
        "Fire light on",
        "NOT IF",
        "At once, from memory",
        "Later, when time allows",
        "AFTERWARDS",
    )
    at = [text.index(one) for one in words]

    assert at == sorted(at)
    assert "→ Still on: Ejection" in text


# Common practice for cockpit checklists, no single source: items 14 points by day and 16 by night, notes 10.
@pytest.mark.parametrize(("scheme", "paper"), LOOKS)
def test_items_are_large_and_nothing_is_under_ten_points(booklet, scheme, paper):
    item = 16.0 if scheme == "night" else 14.0
    found = sizes_of(booklet("front", scheme, paper).pdf)

    assert min(size for _, size in found) >= 10.0 - 1e-6
    for words in ("Parking brake", "Seat pins", "START", "Clear to start", "Still on", "Fire handle"):
        assert max(size for text, size in found if words in text) >= item - 1e-6, words


# 12 mm for a gloved finger: common practice, no source.
def test_rows_are_twelve_millimetres_high(booklet):
    assert pytest.approx(12.0) == LEAST_ROW / POINTS
    pdf, _, texts = booklet()
    heights = [
        cm[5] + tm[5] * cm[3] if cm[3] else tm[5]
        for text, _, cm, tm in read_page(pdf.pages[texts.index(text_titled(texts, "Before start"))]).words
        if re.match(r"(Seat pins|Harness|Battery)$", text.strip())
    ]

    assert [abs(a - b) for a, b in pairwise(heights)] == pytest.approx([LEAST_ROW] * 2, abs=0.7)


def test_each_copy_marks_its_own_seat_and_the_others(samples):
    front, rear = (
        checklist_data(LISTS.checklists(), samples.go_plan(), seat=seat)["cards"]
        for seat in ("front", "rear")
    )
    start = next(card for card in front if card["id"] == "before_start")["body"]
    same = next(card for card in rear if card["id"] == "before_start")["body"]
    cells = {
        row["challenge"]: (row["cells"], other["cells"])
        for row, other in zip(start["rows"], same["rows"], strict=True)
    }

    assert cells["Battery"] == (["own", ""], ["other", ""])
    assert cells["Radios"] == (["", "other"], ["", "own"])
    assert cells["Harness"] == (["own", "other"], ["other", "own"])
    assert (start["own"], same["own"]) == (0, 1)


def test_an_answer_that_either_seat_gives_is_one_cell(samples):
    cards = checklist_data(LISTS.checklists(), samples.go_plan(), seat="front")["cards"]
    rows = next(card for card in cards if card["id"] == "start")["body"]["rows"]

    assert [row["challenge"] for row in rows if row["either"]] == ["Oil pressure"]


def test_a_crew_of_one_has_one_column(samples, tmp_path):
    alone = LISTS.checklists(
        seats=("front",), normal=[replace(LISTS.START, items=LISTS.START.items[:4])], others=()
    )
    files = render_checklists(alone, samples.go_plan(), tmp_path, formats=["pdf"])

    assert [path.name for path in files] == ["checklists-a5-day-front.pdf"]
    assert "Rear" not in flat(pypdf.PdfReader(files[0]).pages[1])


def test_emergency_tabs_stand_at_different_heights_and_normal_ones_by_phase(samples):
    cards = checklist_data(LISTS.checklists(), samples.go_plan(), seat="front")["cards"]
    heights = {
        card["title"]: card["tab"]["place"] for card in cards if card["kind"] in ("emergency", "abnormal")
    }
    phases = {card["tab"]["lines"][0]: card["tab"]["place"] for card in cards if card["kind"] == "normal"}

    assert len(set(heights.values())) == len(heights) == 3
    assert phases == {"GROUND": 0.0, "TAKEOFF": 1.0}


def strip_of(path):
    """Return the colours along the left edge of a page, below the head and above the foot."""
    with Image.open(path) as picture:
        tall = picture.height
        part = picture.convert("RGB").crop((1, tall // 4, 3, 3 * tall // 4))
        return {colour for _, colour in part.getcolors(maxcolors=1 << 16)}


@pytest.mark.parametrize(("scheme", "paper"), LOOKS)
def test_only_emergencies_have_the_striped_edge(booklet, scheme, paper):
    pictures = booklet("front", scheme, paper).pictures
    striped = {path.stem.rsplit("-", 1)[1]: len(strip_of(path)) > 1 for path in pictures}

    assert striped["engine_fire"]
    assert striped["ejection"]
    assert not striped["before_start"]
    assert not striped["bleed_leak"]


def test_night_pages_show_nothing_but_red(booklet):
    for path in booklet("front", "night").pictures:
        with Image.open(path) as picture:
            colours = picture.convert("RGB").getcolors(maxcolors=1 << 16)

        assert all(max(green, blue) <= 0.6 * red + 3 for _, (red, green, blue) in colours), path.name


def test_print_pages_are_black_and_white(booklet):
    for path in booklet("front", "print", "letter").pictures:
        with Image.open(path) as picture:
            colours = picture.convert("RGB").getcolors(maxcolors=1 << 16)

        assert all(red == green == blue for _, (red, green, blue) in colours), path.name


@pytest.mark.parametrize("seat", ["front", "rear"])
def test_every_character_has_a_glyph_in_both_weights(booklet, seat):
    covered = set(TTFont(FONT_FOLDER / "B612-Regular.ttf").getBestCmap())
    covered &= set(TTFont(FONT_FOLDER / "B612-Bold.ttf").getBestCmap())
    text = "".join(booklet(seat).texts)

    assert {sign for sign in text if ord(sign) not in covered} == set()


def fonts_of(pdf):
    """Return the names of all fonts in a PDF, without the prefix of a subset."""
    names = set()
    for page in pdf.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            names.add(str(font.get_object()["/BaseFont"]).split("+")[-1])
    return names


def test_only_the_card_typeface_is_used(booklet):
    names = fonts_of(booklet().pdf)

    assert names
    assert all(name.startswith("/B612") or name.startswith("B612") for name in names), names


# ISO 14289-1 (PDF/UA-1): tagged, a language, a title that is displayed.
def test_the_booklet_is_accessible(booklet):
    pdf = booklet().pdf
    root = pdf.trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part>1<" in root["/Metadata"].get_object().get_data()
    assert pdf.metadata.title == "TERN 21: Circuits and one-engine approach, checklists, front seat"


def test_the_same_lists_give_the_same_data_in_json_types_and_the_same_file(samples, tmp_path):
    data = [checklist_data(LISTS.checklists(), samples.go_plan(), seat="rear") for _ in range(2)]
    files = [
        render_checklists(
            LISTS.checklists(), samples.go_plan(), tmp_path / str(n), formats=["pdf"], seats=["rear"]
        )[0].read_bytes()
        for n in range(2)
    ]

    assert data[0] == data[1] == json.loads(json.dumps(data[0]))
    assert files[0] == files[1]


def test_chosen_lists_are_printed_alone(samples, tmp_path):
    files = render_checklists(
        LISTS.checklists(),
        samples.go_plan(),
        tmp_path,
        formats=["png"],
        procedures=["start"],
        seats=["rear"],
        ppi=30,
    )

    assert [path.stem.split("-")[-1] for path in files] == ["contents", "start", "out"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"procedures": ["strat"]}, 'Did you mean "start"?'),
        ({"procedures": ["arming"]}, r"does not apply today: loaded\('belly'\) is no"),
        ({"seats": ["middle"]}, "nobody sits in seat 'middle' today. Occupied: front, rear"),
        ({"paper": "a3"}, "paper 'a3' is unknown"),
        ({"scheme": "dusk"}, "scheme 'dusk' is unknown"),
    ],
)
def test_a_name_that_is_not_there_is_refused(samples, tmp_path, options, said):
    with pytest.raises(CardError, match=said):
        render_checklists(LISTS.checklists(), samples.go_plan(), tmp_path, **options)


def test_an_empty_aircraft_has_no_booklet(samples, tmp_path):
    with pytest.raises(CardError, match="nobody sits"):
        render_checklists(LISTS.checklists(seats=()), samples.go_plan(), tmp_path)


def spoilt(**changes):
    """Return lists of which one has one item with some fields changed, or a list field."""
    item = replace(LISTS.item(3, "Flaps", "TAKEOFF"), **{k: v for k, v in changes.items() if k != "title"})
    title = changes.get("title", "Taxi")
    return LISTS.checklists(
        normal=[LISTS.procedure("taxi", title, [item, LISTS.item(4, "Lights", "ON")])], others=()
    )


@pytest.mark.parametrize(
    ("changes", "box"),
    [
        ({"challenge": "Antidisestablishmentarianismfloccinaucinihil"}, "taxi 3"),
        ({"response": "ANTIDISESTABLISHMENTARIANISMFLOCCINAUCINIHIL"}, "taxi 3"),
        ({"response": "much too long " * 20}, "taxi 3"),
        ({"warnings": ("The same hazard again and again, do not read it. " * 40,)}, "taxi 3"),
        ({"title": "A title that goes on and on far beyond what any head could ever hold"}, "head: A title"),
    ],
)
def test_text_that_does_not_fit_names_its_box(samples, tmp_path, changes, box):
    with pytest.raises(CardError, match=re.escape(box)) as caught:
        render_checklists(spoilt(**changes), samples.go_plan(), tmp_path, formats=["pdf"], seats=["front"])

    assert caught.value.box.startswith(box)


def test_a_tab_that_is_too_long_for_the_edge_is_named(samples, tmp_path):
    lists = LISTS.checklists(normal=[replace(LISTS.START, phase="interdisciplinary" * 4)], others=())

    with pytest.raises(CardError, match="tab: INTERDIS"):
        render_checklists(lists, samples.go_plan(), tmp_path)


@pytest.mark.parametrize(("paper", "scheme"), [("a5", "day"), ("half-letter", "night")])
def test_lists_of_any_length_leave_no_item_alone_and_lose_none(samples, paper, scheme):
    hurts = ("It hurts: keep away from it.",)
    lists = [
        LISTS.procedure(
            f"list_{count}",
            f"List of {count}",
            [
                LISTS.item(n, f"Item {n}", "STATE", warnings=hurts * (n % 5 == count % 5))
                for n in range(1, count + 1)
            ],
            entry="Always",
        )
        for count in LENGTHS
    ]
    booklet = LISTS.checklists(normal=lists, others=(), left_out=())
    compiler = checklist_compiler(
        checklist_data(booklet, samples.go_plan(), seat="front", paper=paper, scheme=scheme)
    )
    pages = [flat(page) for page in pypdf.PdfReader(io.BytesIO(compiler.compile(format="pdf"))).pages]
    for count in LENGTHS:
        mine = [page for page in pages if f"List of {count} FRONT" in page]
        numbers = [[int(one) for one in re.findall(r"Item (\d+)", page)] for page in mine]

        assert [one for page in numbers for one in page] == list(range(1, count + 1))
        assert all(len(page) >= 2 for page in numbers) or count == 1
        assert f"List of {count} complete END" in mine[-1]


def test_two_items_stay_with_the_end_of_a_list_where_an_even_split_would_leave_one(samples):
    hurts = ("It hurts for a long time, and no remedy is known: keep hands away from it.",) * 3
    items = [LISTS.item(n, f"Item {n}", "STATE", warnings=hurts * (n < 3)) for n in (1, 2, 3)]
    lists = LISTS.checklists(normal=[LISTS.procedure("long", "Long", items)], others=(), left_out=())
    compiler = checklist_compiler(checklist_data(lists, samples.go_plan(), seat="front"))
    pages = [flat(page) for page in pypdf.PdfReader(io.BytesIO(compiler.compile(format="pdf"))).pages]

    assert [re.findall(r"Item (\d)", page) for page in pages[1:]] == [["1"], ["2", "3"]]


def test_remarks_of_what_is_not_known_stand_on_the_first_page(samples):
    lists = LISTS.checklists(remarks=("Whether it is night is not known",))
    start = replace(
        LISTS.START, left_out=(LeftOut("lamp", "Taxi lamp", "at_night", "no time", unknown=True),)
    )
    data = checklist_data(replace(lists, normal=(start,)), samples.go_plan(), seat="front")

    assert data["cards"][0]["body"]["remarks"] == ["Whether it is night is not known"]
    # What is kept because nobody knows is not left out.
    assert data["cards"][1]["body"]["left_out"] == ""
    assert data["cards"][-1]["body"]["groups"][0]["title"] == "Whole lists"


# Packages from the network would make a card depend on the day it is printed.
def test_templates_of_checklists_import_nothing_from_outside():
    texts = [path.read_text("utf-8") for path in sorted(TEMPLATES.glob("*checklist*.typ"))]

    assert len(texts) >= 4
    assert not any("@" in line for text in texts for line in re.findall(r"#(?:import|include).*", text))
