"""Cards of the sorties that are shipped: real plans, which bring longer words than a hand-made one."""

import io
from pathlib import Path

import pypdf
import pytest

import sortiewright
from sortiewright.cards import render_cards
from sortiewright.sortie import load_sortie, plan

FOLDER = Path(sortiewright.__file__).parent / "sorties"
SORTIES = sorted(path.stem for path in FOLDER.glob("*.yaml"))


@pytest.fixture(scope="module")
def planned():
    """Return a function that plans a shipped sortie once."""
    made = {}

    def of(name):
        if name not in made:
            loaded = load_sortie(FOLDER / f"{name}.yaml")
            made[name] = plan(loaded.sortie, loaded.pack)
        return made[name]

    return of


def test_there_are_shipped_sorties():
    assert len(SORTIES) >= 3


@pytest.mark.parametrize("name", SORTIES)
@pytest.mark.parametrize(
    ("paper", "scheme", "units"),
    [("a5", "day", "trade"), ("half-letter", "night", "trade"), ("letter", "print", "si")],
)
def test_a_shipped_sortie_fits_its_cards(planned, tmp_path, name, paper, scheme, units):
    made = planned(name)
    file = render_cards(made, tmp_path, paper=paper, scheme=scheme, units=units, formats=["pdf"])[0]
    pages = pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages

    # One page after the other until it is found: to read them all takes as long as to typeset them.
    assert any(made.callsign in page.extract_text() for page in pages)
    assert any("Weight and balance" in page.extract_text() for page in pages)
