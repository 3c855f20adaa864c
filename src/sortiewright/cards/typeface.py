"""The card typeface: how wide a text is set, and which characters can be printed at all."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path

FONT_FOLDER = Path(__file__).parents[1] / "assets" / "fonts"
FAMILY = "B612"
REPLACEMENT = "?"


class TypefaceError(Exception):
    """The fonts of the cards are not there."""


@cache
def advances(bold: bool) -> dict[int, float]:
    """Return the width of every character of the typeface by code point, in shares of the type size."""
    # matplotlib is slow to import, and only drawings need its font reader.
    from matplotlib.ft2font import FT2Font, LoadFlags

    path = FONT_FOLDER / f"B612-{'Bold' if bold else 'Regular'}.ttf"
    if not path.is_file():
        raise TypefaceError(
            f"{path.name} is missing from the package's fonts. Build the package once (pip install -e .): "
            "its build hook makes the fonts."
        )
    font = FT2Font(str(path))
    units = font.units_per_EM
    return {
        code: font.load_char(code, flags=LoadFlags.NO_SCALE).horiAdvance / units
        for code in font.get_charmap()
    }


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of one line of text without kerning, in the unit of ``size``."""
    widths = advances(bold)
    return size * sum(widths.get(ord(sign), 1.0) for sign in text)


def printable(text: str) -> str:
    """Return the text in characters that both weights have.

    A letter the typeface lacks loses its accent, or becomes a question mark; a line break or a run of spaces
    becomes one space.
    """
    regular, bold = advances(False), advances(True)

    def has(sign: str) -> bool:
        return ord(sign) in regular and ord(sign) in bold

    signs: list[str] = []
    for sign in unicodedata.normalize("NFC", re.sub(r"[ \t\r\n\f\v]+", " ", text).strip()):
        if has(sign):
            signs.append(sign)
            continue
        plain = [part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part)]
        signs.extend(part if has(part) else REPLACEMENT for part in plain)
    return "".join(signs)
