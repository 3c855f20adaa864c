"""A chart written to a file: SVG as text, or PNG and PDF by the typesetter."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.cards.card_set import CardError
from sortiewright.cards.chart_svg import data_svg
from sortiewright.cards.render import EPOCH, TEMPLATES, compiled
from sortiewright.cards.schemes import SCHEMES, SchemeName
from sortiewright.cards.typeface import FAMILY, FONT_FOLDER

if TYPE_CHECKING:
    from datetime import datetime

FORMATS = ("svg", "png", "pdf")
MARGIN = 12.0
PPI = 200.0


def write_chart(
    drawing: dict[str, Any],
    path: Path,
    *,
    title: str,
    scheme: SchemeName = "day",
    time: datetime = EPOCH,
    ppi: float = PPI,
) -> Path:
    """Return the file written: a drawing's ``data`` as SVG, PNG or PDF, as the path's ending says.

    Raises
    ------
    CardError
        For another ending, missing fonts, or a text that does not fit its box.
    """
    ending = path.suffix.lower().removeprefix(".")
    if ending not in FORMATS:
        known = ", ".join(f".{one}" for one in FORMATS)
        raise CardError(f"{path.name} ends in none of {known}: the ending says what is written")
    path.parent.mkdir(parents=True, exist_ok=True)
    if ending == "svg":
        path.write_text(data_svg(drawing, scheme), encoding="utf-8")
        return path
    path.write_bytes(_typeset(drawing, title, scheme, ending, time, ppi))
    return path


def _typeset(
    drawing: dict[str, Any], title: str, scheme: SchemeName, ending: str, time: datetime, ppi: float
) -> bytes:
    # typst is a large binary, needed only once something is rendered.
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    if FAMILY not in fonts.families():
        raise CardError(f"The card fonts ({FAMILY}) are missing. Build the package once (pip install -e .)")
    margins = dict.fromkeys(("left", "right", "top", "bottom"), MARGIN)
    size = [drawing["width"] + 2 * MARGIN, drawing["height"] + 2 * MARGIN]
    style = {
        "scheme": scheme,
        "scale": 1.0,
        "page": size,
        "margins": margins,
        "sizes": {"note": drawing["size"]},
        "colours": SCHEMES[scheme],
        "family": FAMILY,
    }
    data = {"title": title, "style": style, "drawing": drawing}
    compiler = typst.Compiler(
        str(TEMPLATES / "chart.typ"),
        root=str(TEMPLATES),
        font_paths=fonts,
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
    )
    options: dict[str, Any] = {"format": "png", "ppi": ppi}
    if ending == "pdf":
        options = {"format": "pdf", "pdf_standards": ["ua-1"], "timestamp": time}
    made = compiled(compiler, **options)
    if isinstance(made, list):
        made = made[0]
    if not made:
        raise CardError("the typesetter gave no page")
    return made
