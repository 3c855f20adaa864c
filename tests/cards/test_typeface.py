"""The card typeface: widths as the font file has them, and only characters that it has."""

import json

import pytest
from fontTools.ttLib import TTFont
from read_once import read_page

from sortiewright.cards import card_data
from sortiewright.cards.typeface import FONT_FOLDER, printable, text_width

SAMPLE_NAMES = ["go", "no_go", "single_engine", "long_names"]


def font(weight):
    return TTFont(FONT_FOLDER / f"B612-{weight}.ttf")


@pytest.mark.parametrize("weight", ["Regular", "Bold"])
def test_text_width_is_the_sum_of_the_fonts_advances(weight):
    opened = font(weight)
    cmap, advances = opened.getBestCmap(), opened["hmtx"]
    text = "Lift-off 154\u202fkt, 5\u202f030 ft left"
    expected = sum(advances[cmap[ord(sign)]][0] for sign in text) / opened["head"].unitsPerEm

    assert text_width(text, 10.0, bold=weight == "Bold") == pytest.approx(10.0 * expected)


def test_letters_that_the_typeface_lacks_are_replaced():
    assert printable("Łucja Brzęczyk\nα 漢") == "?ucja Brzeczyk ? ?"


def test_narrow_spaces_survive():
    assert printable("3\u202f420 ft") == "3\u202f420 ft"


def texts(value):
    if isinstance(value, dict):
        for one in value.values():
            yield from texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from texts(one)
    elif isinstance(value, str):
        yield value


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize("units", ["trade", "si"])
def test_every_character_of_the_data_has_a_glyph(samples, name, units):
    data = json.loads(json.dumps(card_data(samples.PLANS[name](), units=units)))
    covered = set(font("Regular").getBestCmap()) & set(font("Bold").getBestCmap())

    assert {sign for text in texts(data["cards"]) for sign in text if ord(sign) not in covered} == set()


# What the templates add by themselves is only seen in the PDF.
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_every_character_of_the_pdf_has_a_glyph(card_set, name):
    covered = set(font("Regular").getBestCmap()) & set(font("Bold").getBestCmap())
    text = "".join(read_page(page).text for page in card_set(name)[0].pages).replace("\n", "")

    assert {sign for sign in text if ord(sign) not in covered} == set()
