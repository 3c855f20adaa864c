"""Cards on the desk: chosen, seen, downloaded, put into a folder; and what a hostile request gets."""

import io
import re
import time
import zipfile

import pytest
from PIL import Image
from starlette.testclient import TestClient

from sortiewright.cards.card_set import SEATS, TITLES
from sortiewright.cards.schemes import SCHEMES
from sortiewright.cards.sheet import PAPERS
from sortiewright.desk import DeskOptions, Shelf, cards_choice, make_app
from sortiewright.desk.cards_folder import CardFolder, FolderRefused, checked_folder
from sortiewright.desk.cards_press import every_card

HERE = "http://127.0.0.1:4711"
ONE = {"kind": "cards", "card": "runway", "seat": "front", "paper": "a5", "scheme": "day", "units": "trade"}


def clients_of(folder):
    """Yield a function that makes a client of the owner's at an address; all share one desk and one loop."""
    app = make_app(Shelf(folder), DeskOptions(folder=folder, port=4711))
    opened = []

    def client(address="127.0.0.1"):
        made = TestClient(
            app,
            base_url=HERE,
            headers={"origin": HERE},
            raise_server_exceptions=False,
            client=(address, 5000),
        )
        if not opened:
            made.__enter__()
            opened.append(made)
        made.portal = opened[0].portal  # the desk runs in one loop, and answers every device in it
        made.get(f"/enter?token={app.state.desk.sessions.new_token()}", follow_redirects=False)
        return made

    client.desk = app.state.desk
    yield client
    for one in opened:
        one.__exit__(None, None, None)


@pytest.fixture
def at(folder):
    """Return what makes clients of a desk that a test may change."""
    yield from clients_of(folder)


@pytest.fixture(scope="module")
def at_one(tmp_path_factory):
    """Return what makes clients of a desk that tests share."""
    yield from clients_of(tmp_path_factory.mktemp("sorties"))


@pytest.fixture(scope="module")
def client(at_one):
    """Return one client of it."""
    return at_one()


def made(client, query, seconds=180.0):
    """Return the page of a choice once its cards are made, and their id."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        page = client.get("/cards", params=query)
        assert page.status_code == 200
        if found := re.search(r"/cards/([0-9a-f]{20})/pages\.zip", page.text):
            return page, found[1]
        time.sleep(0.1)
    raise AssertionError(re.sub(r"<[^>]+>", " ", page.text)[-900:])


def test_the_page_offers_what_the_card_room_has():
    assert every_card() == TITLES
    assert tuple(cards_choice.SEATS) == SEATS
    assert set(cards_choice.PAPERS) == set(PAPERS)
    assert set(cards_choice.SCHEMES) == set(SCHEMES)


# ISO 216: A5 is 148 by 210 mm. ANSI/ASME Y14.1: Letter is 8.5 by 11 in. At 200 dots an inch of 25.4 mm.
@pytest.mark.parametrize(("paper", "size"), [("a5", (1165, 1654)), ("letter", (1700, 2200))])
def test_a_page_is_seen_in_the_size_of_its_paper(client, paper, size):
    _, id = made(client, ONE | {"paper": paper})
    answer = client.get(f"/cards/{id}/page/1")
    seen = Image.open(io.BytesIO(answer.content)).size

    assert answer.headers["content-type"] == "image/png"
    assert all(abs(one - other) <= 1 for one, other in zip(seen, size, strict=True))


def test_the_zip_holds_every_page_and_the_document_is_a_pdf(client):
    page, id = made(client, ONE | {"card": ["takeoff", "runway"], "seat": ["front", "rear"]})
    archive = zipfile.ZipFile(io.BytesIO(client.get(f"/cards/{id}/pages.zip").content))
    document = client.get(f"/cards/{id}/document/1")

    assert archive.testzip() is None
    assert len(archive.namelist()) == page.text.count('class="page-link"')
    assert document.content[:5] == b"%PDF-"  # ISO 32000-1, 7.5.2
    assert document.headers["content-disposition"] == 'attachment; filename="cards-a5-day.pdf"'
    assert client.get(f"/cards/{id}/print").text.count("<img") == len(archive.namelist())


def test_the_same_plan_is_printed_once_and_a_changed_one_anew(at):
    client = at()
    _, first = made(client, ONE)
    _, again = made(client, ONE)
    file = next(client_file for client_file in at.desk.shelf.folder.glob("*.yaml"))
    entry = at.desk.shelf.entry_of(file)
    client.post("/sortie", data={"sortie": entry.id})
    file.write_text(file.read_text("utf-8").replace("Thistle 21", "Thistle 44"), "utf-8")
    _, changed = made(client, ONE)

    assert first == again
    assert changed != first


def test_one_checklist_is_printed_for_one_seat(client):
    offered = re.findall(r'<option value="([a-z0-9_]+)"', client.get("/cards", params=ONE).text)
    choice = {"kind": "checklists", "procedure": offered[0], "seat": "rear", "paper": "a5", "scheme": "night"}
    page, id = made(client, choice | {"units": "trade"})

    assert client.get(f"/cards/{id}/document/1").content[:5] == b"%PDF-"
    assert 1 <= page.text.count('class="page-link"') <= 12
    assert client.get(f"/cards/{id}/document/2").status_code == 404


def test_nothing_chosen_is_said_and_not_an_error(client):
    page = client.get("/cards", params={"kind": "cards", "paper": "a5", "scheme": "day", "units": "trade"})

    assert page.status_code == 200
    assert "Choose at least one card." in page.text


def test_a_sortie_without_numbers_has_no_cards_and_says_where_to_mend_it(at):
    client = at()
    file = next(iter(at.desk.shelf.folder.glob("*.yaml")))
    file.write_text("title: nothing else", "utf-8")
    client.post("/sortie", data={"sortie": at.desk.shelf.entry_of(file).id})
    page = client.get("/cards")

    assert page.status_code == 200
    assert "No cards without numbers" in page.text


@pytest.mark.parametrize(
    "query",
    [
        {"kind": "booklet"},
        {"kind": "cards", "paper": "../../etc"},
        {"kind": "cards", "card": ["runway", "x" * 3000]},
        {"kind": "cards", "seat": "boss"},
        {"kind": "cards", "units": "\x00"},
        {"kind": "cards", "card": ["runway"] * 60},
    ],
)
def test_what_was_never_offered_is_refused(client, query):
    assert client.get("/cards", params=query).status_code == 400


@pytest.mark.parametrize(
    "path",
    ["nothing/pages.zip", "nothing/page/1", "nothing/document/1", "..%2f..%2fx/page/1", "x/page/99999999"],
)
def test_cards_that_are_not_there_are_not_found(client, path):
    assert client.get(f"/cards/{path}").status_code == 404


def test_cards_go_straight_into_the_folder_that_was_named_once(at, tmp_path):
    client, target = at(), tmp_path / "kneeboard"
    target.mkdir()
    (target / "notes.txt").write_text("mine", "utf-8")
    _, id = made(client, ONE | {"card": ["runway", "emergency"]})
    answer = client.post(f"/cards/{id}/folder", data={"folder": str(target)})
    both = {one.name for one in target.iterdir()}
    _, id = made(client, ONE)
    client.post(f"/cards/{id}/folder")
    left = {one.name for one in target.iterdir()}

    assert answer.status_code == 200
    assert "3 files are in" in answer.text
    assert {"cards-a5-day.pdf", "cards-a5-day-01-runway.png", "cards-a5-day-02-emergency.png"} <= both
    # A card of before beside the new ones would show another day's numbers.
    assert left == {"notes.txt", "cards-a5-day.pdf", "cards-a5-day-01-runway.png"}
    assert CardFolder(at.desk.options.data_folder).path == str(target)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "whole path"),
        ("kneeboard", "whole path, from the root"),
        ("/nowhere/at/all", "no such folder"),
        ("/\x00", "no path"),
        ("/" + "x" * 2000, "no path"),
        ("~nobody-of-that-name/x", "cannot be reached"),
    ],
)
def test_a_folder_that_cannot_be_used_is_refused_in_words(typed, said):
    with pytest.raises(FolderRefused, match=said):
        checked_folder(typed)


def test_a_refused_folder_is_said_beside_its_field_and_what_was_typed_stays(at, tmp_path):
    client = at()
    _, id = made(client, ONE)
    (tmp_path / "a file").write_text("x", "utf-8")
    answer = client.post(f"/cards/{id}/folder", data={"folder": str(tmp_path / "a file")})

    assert answer.status_code == 422
    assert "That is a file, not a folder." in answer.text
    assert f'value="{tmp_path / "a file"}"' in answer.text
    assert 'aria-invalid="true"' in answer.text


def test_no_other_device_and_nobody_else_writes_into_a_folder(at, tmp_path):
    client = at()
    _, id = made(client, ONE)
    elsewhere = at("192.168.1.20")
    crew = TestClient(elsewhere.app, base_url=HERE, headers={"origin": HERE}, client=("127.0.0.1", 5001))
    crew.portal = client.portal
    crew.post("/join", data={"code": at.desk.code.code, "seat": "rear"})
    answers = [one.post(f"/cards/{id}/folder", data={"folder": str(tmp_path)}) for one in (elsewhere, crew)]

    assert [one.status_code for one in answers] == [403, 403]
    assert not list(tmp_path.glob("*.pdf"))
    assert 'id="folder"' not in made(crew, ONE)[0].text
