"""Colours: contrast of every pair of text and ground, and one red family at night."""

import pytest
from PIL import Image

from sortiewright.cards import SCHEMES, contrast
from sortiewright.cards.schemes import TEXT_PAIRS


# WCAG 2.2, definition of contrast ratio: 1 to 21. The grey #767676 is the lightest that passes 4.5:1 on
# white, at 4.54:1 (from memory: widely published example).
def test_contrast_is_that_of_the_web_guidelines():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#ffffff", "#767676") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") < 4.5


# WCAG 2.2, success criterion 1.4.6 (level AAA): at least 7:1.
@pytest.mark.parametrize("scheme", list(SCHEMES))
@pytest.mark.parametrize("pair", TEXT_PAIRS)
def test_text_stands_out_from_its_ground(scheme, pair):
    colours = SCHEMES[scheme]

    assert contrast(colours[pair[0]], colours[pair[1]]) >= 7.0


def test_every_scheme_has_the_same_colours():
    assert len({frozenset(colours) for colours in SCHEMES.values()}) == 1


def colours_of(path):
    with Image.open(path) as picture:
        return picture.convert("RGB").getcolors(maxcolors=1 << 24)


@pytest.mark.parametrize("name", ["go", "no_go", "single_engine"])
def test_night_cards_show_nothing_but_red(card_set, name):
    for path in card_set(name, "night")[1]:
        colours = colours_of(path)

        assert all(max(green, blue) <= 0.6 * red + 3 for _, (red, green, blue) in colours), path.name


def test_print_cards_are_black_and_white(card_set):
    for path in card_set("no_go", "print")[1]:
        colours = colours_of(path)

        assert all(red == green == blue for _, (red, green, blue) in colours), path.name
