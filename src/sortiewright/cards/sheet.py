"""Sheets of paper and the sizes of type on them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sortiewright.cards.schemes import SchemeName

PaperName = Literal["a5", "half-letter", "letter", "a4"]

MILLIMETRE = 72 / 25.4  # points

# Width, height in mm, and how much larger everything on it is drawn than on the kneeboard sizes: the big
# sheets keep the small ones' composition. ISO 216 (A sizes) and ANSI/ASME Y14.1 (letter, and half of it).
PAPERS: dict[PaperName, tuple[float, float, float]] = {
    "a5": (148.0, 210.0, 1.0),
    "half-letter": (139.7, 215.9, 1.0),
    "a4": (210.0, 297.0, math.sqrt(2)),
    "letter": (215.9, 279.4, 279.4 / 215.9),
}

# Points on a kneeboard sheet. ``item`` and larger is what is read in flight, ``note`` is read at the desk.
# Least sizes for cockpit checklists: 14 points in fair light, more in poor, never under 10 (common practice).
DAY_SIZES: dict[str, float] = {
    "note": 10.0,
    "tab": 10.0,
    "item": 14.0,
    "value": 18.0,
    "speed": 22.0,
    "heading": 14.0,
    "title": 20.0,
    "verdict": 34.0,
    "decision": 62.0,
    "row": 30.5,
    "line": 24.0,
    "unit": 44.0,
    "seat": 44.0,
}
NIGHT_SIZES: dict[str, float] = {
    "note": 12.0,
    "tab": 12.0,
    "item": 16.0,
    "value": 20.0,
    "speed": 24.0,
    "heading": 16.0,
    "title": 22.0,
    "verdict": 36.0,
    "decision": 66.0,
    "row": 32.0,
    "line": 27.0,
    "unit": 50.0,
    "seat": 50.0,
}

MARGINS = {"left": 20.0, "right": 30.0, "top": 66.0, "bottom": 40.0}


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper as a card sees it: lengths in points before ``scale``, which enlarges everything."""

    paper: PaperName
    scheme: SchemeName

    @property
    def scale(self) -> float:
        """How much larger everything is drawn than on a kneeboard sheet."""
        return PAPERS[self.paper][2]

    @property
    def page_width(self) -> float:
        """Of the whole sheet."""
        return PAPERS[self.paper][0] * MILLIMETRE / self.scale

    @property
    def page_height(self) -> float:
        """Of the whole sheet."""
        return PAPERS[self.paper][1] * MILLIMETRE / self.scale

    @property
    def width(self) -> float:
        """Between the margins."""
        return self.page_width - MARGINS["left"] - MARGINS["right"]

    @property
    def height(self) -> float:
        """Between the margins."""
        return self.page_height - MARGINS["top"] - MARGINS["bottom"]

    @property
    def sizes(self) -> dict[str, float]:
        """Sizes of type and of rows, points before ``scale``."""
        return NIGHT_SIZES if self.scheme == "night" else DAY_SIZES
