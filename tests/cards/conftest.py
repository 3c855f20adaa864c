"""Sample plans and rendered card sets, shared by the card tests."""

import importlib.util
import io
from pathlib import Path

import pypdf
import pytest
from read_once import read_page

from sortiewright.cards import render_cards


def load_samples():
    """Return the module beside this file; tests are not a package."""
    spec = importlib.util.spec_from_file_location("sample_plan", Path(__file__).with_name("sample_plan.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SAMPLES = load_samples()


@pytest.fixture(scope="session")
def samples():
    """Return the module of hand-made plans."""
    return SAMPLES


@pytest.fixture(scope="session")
def card_set(tmp_path_factory):
    """Return a function that renders a sample once a session and returns its PDF and its PNG files."""
    made = {}

    def rendered(name="go", scheme="day", paper="a5", units="trade"):
        key = name, scheme, paper, units
        if key not in made:
            folder = tmp_path_factory.mktemp("-".join(key))
            plan = SAMPLES.PLANS[name]()
            files = render_cards(plan, folder, scheme=scheme, paper=paper, units=units, ppi=60)
            pdf = pypdf.PdfReader(io.BytesIO(files[0].read_bytes()))
            made[key] = pdf, files[1:]
        return made[key]

    return rendered


@pytest.fixture(scope="session")
def spans(card_set):
    """Return a function that gives every text of a PDF with its size in points, page by page."""

    def listed(*args, **kwargs):
        return [
            [(one.text.strip(), one.size) for one in read_page(page).words]
            for page in card_set(*args, **kwargs)[0].pages
        ]

    return listed
