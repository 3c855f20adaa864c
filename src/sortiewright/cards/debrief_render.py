"""The one-page debrief as a PDF."""

from __future__ import annotations

import json
from datetime import UTC
from typing import TYPE_CHECKING

from sortiewright.cards.card_set import CardError
from sortiewright.cards.debrief_card import Room, debrief_card_data
from sortiewright.cards.render import EPOCH, TEMPLATES, compiled
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.typeface import FAMILY, FONT_FOLDER, TypefaceError

if TYPE_CHECKING:
    from sortiewright.recording import Debrief

ROOMS = (
    Room(9, 5, 24, 7, 3),
    Room(9, 5, 24, 7, 2),
    Room(9, 4, 20, 4, 2),
    Room(9, 4, 16, 3, 2),
    Room(8, 3, 16, 3, 2),
    Room(8, 3, 14, 2, 2),
    Room(9, 4, 16, 5),
    Room(8, 4, 13, 5),
    Room(7, 4, 11, 4),
    Room(6, 3, 9, 3),
    Room(4, 2, 7, 2),
    Room(3, 1, 4, 1),
)
"""What is tried in turn until it fits one page."""


def render_debrief(debrief: Debrief, *, paper: str = "a4", scheme: SchemeName = "print") -> bytes:
    """Return the debrief on one page, tagged for accessibility; what has no room there is counted.

    Raises ``CardError`` where the fonts are missing or even the shortest does not fit.
    """
    # typst is a large binary, needed only once something is rendered.
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    started = debrief.recording.started or EPOCH
    for room in ROOMS:
        try:
            data = debrief_card_data(debrief, room, paper=paper, scheme=scheme)
        except TypefaceError as missing:
            raise CardError(str(missing)) from None
        if FAMILY not in fonts.families():
            raise CardError(
                f"The card fonts ({FAMILY}) are missing. Build the package once (pip install -e .)"
            )
        compiler = typst.Compiler(
            str(TEMPLATES / "debrief.typ"),
            root=str(TEMPLATES),
            font_paths=fonts,
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
        )
        if json.loads(compiler.query("<pages>", "value"))[0] > 1:
            continue
        timestamp = started if started.tzinfo else started.replace(tzinfo=UTC)
        made = compiled(compiler, format="pdf", pdf_standards=["ua-1"], timestamp=timestamp)
        if isinstance(made, bytes):
            return made
    raise CardError("the debrief does not fit one page")
