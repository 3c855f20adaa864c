"""Colours of the three card schemes, and the contrast that says whether they can be read."""

from __future__ import annotations

from typing import Literal

SchemeName = Literal["day", "night", "print"]

# Day: warm paper and ink; amber and red mean caution and warning and nothing else. Night: one red family on
# near black, for dark-adapted eyes. Print: black on white, where weight and pattern carry the meaning.
# ``paper`` is what everything stands on; ``*_ink`` is the text on the fill of the same name.
SCHEMES: dict[SchemeName, dict[str, str]] = {
    "day": {
        "paper": "#f8f7f2",
        "shade": "#eceae1",
        "ink": "#16211f",
        "second": "#414d48",
        "rule": "#c9c7ba",
        "line": "#16211f",
        "hatch": "#8f978f",
        "block": "#16211f",
        "block_ink": "#f8f7f2",
        "go": "#0a5a43",
        "go_ink": "#ffffff",
        "caution": "#f2b233",
        "caution_ink": "#16211f",
        "no_go": "#a31616",
        "no_go_ink": "#ffffff",
    },
    "night": {
        "paper": "#0a0403",
        "shade": "#0f0504",
        "ink": "#ff7a5e",
        "second": "#ff6a4d",
        "rule": "#6b2318",
        "line": "#ff6a4d",
        "hatch": "#a83d2a",
        "block": "#ff7a5e",
        "block_ink": "#0a0403",
        "go": "#0a0403",
        "go_ink": "#ff7a5e",
        "caution": "#0a0403",
        "caution_ink": "#ff7a5e",
        "no_go": "#ff7a5e",
        "no_go_ink": "#0a0403",
    },
    "print": {
        "paper": "#ffffff",
        "shade": "#ffffff",
        "ink": "#000000",
        "second": "#000000",
        "rule": "#9a9a9a",
        "line": "#000000",
        "hatch": "#6a6a6a",
        "block": "#000000",
        "block_ink": "#ffffff",
        "go": "#ffffff",
        "go_ink": "#000000",
        "caution": "#ffffff",
        "caution_ink": "#000000",
        "no_go": "#000000",
        "no_go_ink": "#ffffff",
    },
}

TEXT_PAIRS: tuple[tuple[str, str], ...] = (
    ("ink", "paper"),
    ("ink", "shade"),
    ("second", "paper"),
    ("second", "shade"),
    ("block_ink", "block"),
    ("go_ink", "go"),
    ("caution_ink", "caution"),
    ("no_go_ink", "no_go"),
)
"""Every pair of text and ground that the templates use."""


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two ``#rrggbb`` colours, 1 to 21.

    WCAG 2.2 (W3C Recommendation 2023), definitions "contrast ratio" and "relative luminance".
    """
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def luminance(colour: str) -> float:
    """Return the relative luminance of an sRGB colour, 0 black to 1 white."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
