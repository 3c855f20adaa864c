"""Booklets of the sorties that are shipped, and the command that writes them."""

import io
import os
from pathlib import Path

import pypdf
import pytest

import sortiewright
from sortiewright.cards.checklist_render import render_checklists
from sortiewright.cli import run
from sortiewright.procedures import load_procedures, tailor_checklists
from sortiewright.sortie import load_sortie, plan

FOLDER = Path(sortiewright.__file__).parent / "sorties"
SORTIES = sorted(path.stem for path in FOLDER.glob("*.yaml"))
LOOKS = [("a5", "day", "trade"), ("half-letter", "night", "trade"), ("letter", "print", "si")]
BOOKLETS = [(name, *look) for look in LOOKS for name in SORTIES]
FULL = bool(os.environ.get("SORTIEWRIGHT_FULL"))
SOME = [(name, *LOOKS[number % len(LOOKS)]) for number, name in enumerate(SORTIES)]
"""A booklet takes five seconds: each sortie in one look, each look twice, and of its lists every second one,
by turns; so every list is printed at least once. SORTIEWRIGHT_FULL=1 prints all."""


@pytest.fixture(scope="module")
def tailored():
    """Return a function that plans a shipped sortie and tailors its lists, in units."""
    made = {}
    procedures = {}

    def of(name, units):
        if name not in made:
            loaded = load_sortie(FOLDER / f"{name}.yaml")
            pack = loaded.pack.pack.name
            procedures.setdefault(pack, load_procedures(loaded.pack))
            made[name] = procedures[pack], loaded.sortie, plan(loaded.sortie, loaded.pack)
        known, sortie, planned = made[name]
        return tailor_checklists(known, sortie, planned, units), planned

    return of


def booklet_holds_its_lists(lists, planned, folder, paper, scheme, every=1, first=0):
    """Write a seat's booklet of every or every n-th list: each is there, with its items and its call."""
    chosen = [*lists.normal, *lists.others][first::every]
    file = render_checklists(
        lists,
        planned,
        folder,
        paper=paper,
        scheme=scheme,
        formats=["pdf"],
        seats=[lists.seats[0][0]],
        procedures=[one.id for one in chosen],
    )[0]
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages)
    flat = " ".join(text.split())

    assert planned.callsign in flat
    for one in chosen:
        assert one.complete in flat, one.id
        for item in one.items:
            assert " ".join(item.challenge.split()) in flat, item.challenge


@pytest.mark.parametrize("name", ["demo", "trainer_circuits"])
def test_a_booklet_holds_what_was_tailored(tailored, tmp_path, name):
    booklet_holds_its_lists(*tailored(name, "trade"), tmp_path, "a5", "night", every=6)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "paper", "scheme", "units"), BOOKLETS if FULL else SOME)
def test_the_booklet_of_a_shipped_sortie_fits_its_pages(tailored, tmp_path, name, paper, scheme, units):
    turn = {} if FULL else {"every": 2, "first": SORTIES.index(name) % 2}
    booklet_holds_its_lists(*tailored(name, units), tmp_path, paper, scheme, **turn)


@pytest.fixture
def command(capsys, monkeypatch, tmp_path):
    """Return a function that runs one command line in an empty folder: exit code, output, complaints."""
    monkeypatch.chdir(tmp_path)

    def ran(*arguments):
        capsys.readouterr()
        return run(arguments), *capsys.readouterr()

    return ran


def test_the_command_writes_a_booklet_a_seat(command):
    options = ("--checklists", "--procedure", "line_up", "--procedure", "ejection")
    code, out, _ = command("cards", "demo", "--out", "mine", *options)
    pdfs = sorted(path.name for path in Path("mine").glob("*.pdf"))

    assert code == 0
    assert pdfs == ["checklists-a5-day-front.pdf", "checklists-a5-day-rear.pdf"]
    assert str(Path("mine") / pdfs[0]) in out
    assert f"{len(list(Path('mine').glob('*.png')))} pages as PNG in mine" in out


def test_a_list_asked_for_by_a_wrong_name_is_named_with_the_nearest(command):
    code, _, err = command("cards", "demo", "--out", "mine", "--format", "pdf", "--procedure", "line_upp")

    assert code == 2
    assert 'Did you mean "line_up"?' in err
    assert not Path("mine").exists()


def test_cards_and_checklists_are_not_chosen_at_once(command):
    code, _, err = command("cards", "demo", "--out", "mine", "--card", "landing", "--checklists")

    assert code == 2
    assert "give one of them" in err
