"""The pack as a book: every value with its source, every list, and the search over all of it."""

import re
import time
from types import SimpleNamespace

import pytest
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.reference_book import Found
from sortiewright.desk.reference_contents import make_book
from sortiewright.desk.reference_grids import grids_of, table_at
from sortiewright.desk.reference_notes import note_parts
from sortiewright.desk.reference_search import Index, folded, marked
from sortiewright.desk.reference_units import as_written, heading, in_si
from sortiewright.sortie import demo_sortie_path, load_sortie, plan


@pytest.fixture(scope="module")
def opened():
    loaded = load_sortie(demo_sortie_path())
    return SimpleNamespace(loaded=loaded, plan=plan(loaded.sortie, loaded.pack), digest="demo")


@pytest.fixture(scope="module")
def book(opened):
    return make_book(opened, "trade")


@pytest.fixture(scope="module")
def reader(tmp_path_factory):
    """Return a client that was let in, once the book is there; for all tests, as that is slow."""
    app = make_app(Shelf(tmp_path_factory.mktemp("none")), DeskOptions(port=4711))
    client = TestClient(app, base_url="http://127.0.0.1:4711", raise_server_exceptions=False)
    client.get(f"/enter?token={app.state.desk.sessions.new_token()}")
    for _ in range(1200):
        if "Opening the book" not in client.get("/reference").text:
            return client
        time.sleep(0.1)
    raise AssertionError("the book never opened")


def entries_of(book, chapter):
    return {one.id: one for section in book.by_name[chapter].sections for one in section.entries}


# packs/dotterel: the files themselves say what is written, from where, and in which line.
def test_a_value_stands_as_its_file_has_it_with_source_and_line(book, opened):
    folder = opened.loaded.pack.folder
    speed = entries_of(book, "limits")["gear_speed"]
    limit = entries_of(book, "wheels")["tyre_speed_limit"]

    assert (speed.value, speed.note) == ("250\u202fkt", "Gear down or travelling")
    assert limit.value == "220\u202fkt"
    assert limit.source == "class range 200 to 240 kt ground speed"
    file, line = limit.place.split(":")
    assert (folder / file).read_text("utf-8").splitlines()[int(line) - 1].startswith("tyre_speed_limit:")


def test_every_source_that_the_pack_gives_is_in_the_book(book, opened):
    told = " ".join(
        f"{section.words} {' '.join(f'{one.source} {one.note}' for one in section.entries)}"
        for chapter in book.chapters
        for section in chapter.sections
    )

    missing = [key for key, one in opened.loaded.pack.sources.items() if one.text and one.text not in told]
    assert missing == []


def test_every_procedure_and_every_item_is_in_the_book(book, opened):
    folder = opened.loaded.pack.folder / "procedures"
    texts = [
        file.read_text("utf-8") for file in folder.glob("*.yaml") if file.stem not in ("controls", "order")
    ]

    titles = sum(len(re.findall(r"^  title: ", text, re.MULTILINE)) for text in texts)
    items = sum(len(re.findall(r"^ +- (?:\{ *)?id: ", text, re.MULTILINE)) for text in texts)
    assert len(book.lists) == titles
    assert sum(len(one.items) for one in book.lists) == items


def test_what_does_not_apply_today_stays_in_the_book_and_says_why(book):
    gone = [item for one in book.lists for item in one.items if item.left_out]

    assert gone
    assert all(item.left_out.startswith("Not today: ") for item in gone)
    assert all(item.challenge for item in gone)


def test_memory_items_are_those_that_the_files_mark(book, opened):
    marked_in_files = sum(
        file.read_text("utf-8").count("memory: true")
        for file in (opened.loaded.pack.folder / "procedures").glob("*.yaml")
    )

    assert sum(len(one.memory_items) for one in book.lists) == marked_in_files


@pytest.mark.parametrize(
    ("text", "written", "si"),
    [
        # 1 kt = 1852/3600 m/s, 1 lb = 0.45359237 kg: NIST SP 811 (2008), appendix B.8.
        ("250 kt", "250\u202fkt", "128.6\u202fm/s"),
        ("26300 lb", "26\u202f300\u202flb", "11\u202f929\u202fkg"),
        ("-0.5 in", "−0.5\u202fin", "−0.0127\u202fm"),
        ("22 deg", "22°", "0.384\u202frad"),
        ("1.75", "1.75", ""),
        ("0.0042 1/deg", "0.0042\u202fper °", "0.2406\u202fper rad"),
        ("10 %", "10\u202f%", ""),
        ("run_up", "run up", ""),
        ("Taxi in, no wait.", "Taxi in, no wait.", ""),
    ],
)
def test_a_quantity_is_printed_as_written_and_in_si(text, written, si):
    assert as_written(text) == written
    assert in_si(text) == si


def test_a_key_becomes_a_title():
    assert heading("gear_up_least_cas") == "Gear up least CAS"


def test_every_table_of_the_book_can_be_read_in_both_systems(book, opened):
    assert len(book.tables) > 20
    for entry in book.tables.values():
        table = table_at(opened.loaded.pack, entry.table)
        for system in ("trade", "si"):
            for _, grid in grids_of(table, system):
                assert all(len(row) == len(grid.heads) for row in grid.rows)


# packs/dotterel/tables/maximum_thrust.csv: Mach 0 at sea level 12,600 lbf, at Mach 1 and 30,000 ft 7,083 lbf.
def test_a_table_is_read_in_the_units_of_its_file(book, opened):
    entry = book.tables["engine.settings.maximum.thrust"]
    ((label, grid),) = grids_of(table_at(opened.loaded.pack, entry.table), "trade")

    assert label == "in lbf"
    at = {row[0]: dict(zip(grid.heads[1:], row[1:], strict=True)) for row in grid.rows}
    assert at["0.0"]["0"] == "12\u202f600"
    assert at["1.0"]["30\u202f000"] == "7\u202f083"


def test_the_search_finds_a_limit_first(book):
    results = book.index.search("gear speed")

    assert results.found[0].path == "/reference/limits#gear_speed"
    assert "".join(text for _, text in results.found[0].value) == "250\u202fkt"


def test_every_word_must_be_found_and_case_and_accents_do_not_matter():
    index = Index(
        [Found("/a", "Limits", "Gear speed", "250 kt", "Down or travelling"), Found("/b", "", "Café", "")]
    )

    assert [one.path for one in index.search("GEAR 250 travel").found] == ["/a"]
    assert [one.path for one in index.search("cafe").found] == ["/b"]
    assert index.search("gear flap").found == ()
    assert index.search("  ").count == 0


def test_marks_stand_where_the_words_are_and_lose_no_letter():
    text = "Gear speed, gear handle (GEAR)"

    pieces = marked(text, [folded("gear")])

    assert "".join(part for _, part in pieces) == text
    assert [part for is_marked, part in pieces if is_marked] == ["Gear", "gear", "GEAR"]


def test_notes_are_read_as_headings_paragraphs_lists_and_tables():
    parts = note_parts(
        "Before.\n\n# One\nA **bold** `word`\nand *more*.\n\n- first\n- second\n\n"
        "| a | b |\n|---|---|\n| 1 | 2 |\n"
    )

    assert [part.title for part in parts] == ["Notes", "One"]
    assert [block.kind for block in parts[1].blocks] == ["p", "ul", "table"]
    assert ("b", "bold") in parts[1].blocks[0].rows[0][0]
    assert len(parts[1].blocks[2].rows) == 2


def test_the_contents_lead_to_every_chapter_and_every_chapter_is_there(reader):
    text = reader.get("/reference").text

    paths = re.findall(r'href="(/reference/[a-z]+)"', text)
    assert len(paths) >= 14
    for path in paths:
        answer = reader.get(path)
        assert answer.status_code == 200, path
        ids = re.findall(r'\bid="([^"]+)"', answer.text)
        assert len(ids) == len(set(ids)), path


def test_every_place_that_the_search_knows_is_an_id_of_its_page(reader, book):
    pages = {}
    for chapter in book.chapters:
        for found in chapter.search:
            path, _, id = found.path.partition("#")
            if path not in pages:
                pages[path] = set(re.findall(r'\bid="([^"]+)"', reader.get(path).text))
            assert not id or id in pages[path], found.path


def test_the_search_answers_a_part_of_a_page_with_marks(reader):
    answer = reader.get("/reference/search?q=gear+speed", headers={"hx-request": "true"})

    assert answer.status_code == 200
    assert "<mark>Gear</mark>" in answer.text
    assert "<html" not in answer.text
    plain = reader.get("/reference/search?q=gear", follow_redirects=False)
    assert plain.headers["location"] == "/reference?q=gear"


def test_hostile_words_and_names_are_refused_or_found_nowhere(reader):
    for query in ("<script>alert(1)</script>", "a" * 5000, "\x00", "(((", "é" * 300, "%", '"><img src=x>'):
        answer = reader.get("/reference", params={"q": query})
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "<img src=x" not in answer.text
    for path in (
        "/reference/nothing",
        "/reference/lists/..%2f..%2fetc",
        "/reference/tables/limits.__class__",
        "/reference/tables/engine.settings",
        "/reference/drawings/..%2Flift",
        "/reference/drawings/nothing",
        "/reference/limits%00",
    ):
        assert reader.get(path).status_code == 404, path


def test_a_drawing_is_a_picture_in_the_readers_colours(reader):
    answer = reader.get("/reference/drawings/envelope")

    assert answer.headers["content-type"] == "image/png"
    assert answer.content.startswith(b"\x89PNG")


def test_without_a_pack_the_book_says_what_to_do_next(owner, desk, folder):
    file = folder / "range detail.yaml"
    id = next(entry.id for entry in desk.shelf.entries() if entry.name == "range detail")
    owner.post("/sortie", data={"sortie": id})
    file.write_text(file.read_text("utf-8").replace("pack: dotterel", "pack: dottrel"), "utf-8")

    assert "Mend it in Prepare" in owner.get("/reference").text
    assert owner.get("/reference/limits").status_code == 404
