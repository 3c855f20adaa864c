"""The colours of the desk are those of the cards, and can be read in flight."""

import re

import pytest

from sortiewright.cards import SCHEMES, contrast
from sortiewright.desk.served_files import FOLDERS

SAME = {
    "desk": "shade",
    "card": "paper",
    "ink": "ink",
    "second": "second",
    "rule": "rule",
    "hatch": "hatch",
    "block": "block",
    "block-ink": "block_ink",
    "go": "go",
    "go-ink": "go_ink",
    "caution": "caution",
    "caution-ink": "caution_ink",
    "no-go": "no_go",
    "no-go-ink": "no_go_ink",
    "edge": "line",
}


def tokens():
    """Return the colours of each scheme, in the order in which tokens.css gives them."""
    text = (FOLDERS[0] / "tokens.css").read_text("utf-8")
    blocks = [
        dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", block))
        for block in re.split(r"\{", text)
        if "--ink" in block
    ]
    return dict(zip(("day", "night", "print"), blocks, strict=True))


@pytest.mark.parametrize("scheme", ["day", "night", "print"])
def test_the_desk_has_the_colours_of_the_cards(scheme):
    ours, cards = tokens()[scheme], SCHEMES[scheme]
    # At night the desk is what cards lie on: paper and shade change places.
    swapped = {"paper": "shade", "shade": "paper"} if scheme == "night" else {}

    assert {name: ours[name] for name in SAME} == {
        name: cards[swapped.get(theirs, theirs)] for name, theirs in SAME.items()
    }


# WCAG 2.2 success criterion 1.4.6 (AAA): 7:1 for text that is read in flight.
@pytest.mark.parametrize("scheme", ["day", "night", "print"])
@pytest.mark.parametrize("ground", ["desk", "card"])
@pytest.mark.parametrize("text", ["ink", "second"])
def test_text_stands_out_seven_to_one(scheme, ground, text):
    colours = tokens()[scheme]

    assert contrast(colours[text], colours[ground]) >= 7.0


# WCAG 2.2 success criterion 1.4.11: 3:1 for what must be told apart and for focus.
@pytest.mark.parametrize("scheme", ["day", "night", "print"])
@pytest.mark.parametrize("line", ["edge", "focus", "line-1", "line-2", "line-3", "line-4"])
def test_lines_stand_out_three_to_one(scheme, line):
    colours = tokens()[scheme]

    assert contrast(colours[line], colours["card"]) >= 3.0
    assert contrast(colours[line], colours["desk"]) >= 3.0


# 14 CFR 25.1322(e): red for warning alerts, amber or yellow for caution alerts, and both kept for alerting.
def test_by_day_nothing_but_warning_is_red_and_nothing_but_caution_amber():
    import colorsys

    for name, colour in tokens()["day"].items():
        red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
        hue, _, saturation = colorsys.rgb_to_hls(red, green, blue)
        if saturation > 0.45 and name not in ("no-go", "caution"):
            assert 0.2 < hue < 0.9, name


def test_no_style_uses_a_colour_that_is_not_a_token():
    allowed = {"#f8f7f2", "#16211f", "#ff7a5e", "#0a0403"}  # the QR code, which a camera must read
    for file in FOLDERS[0].glob("*.css"):
        if file.name != "tokens.css":
            text = re.sub(r"/\*.*?\*/", "", file.read_text("utf-8"), flags=re.DOTALL)
            found = set(re.findall(r"#[0-9a-f]{3,8}\b(?=[^{}]*[;}])", text))
            assert found <= allowed, file.name
