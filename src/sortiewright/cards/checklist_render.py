"""Checklists rendered to PDF and PNG: a booklet for each seat."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.cards.card_set import CardError
from sortiewright.cards.checklist_set import checklist_data
from sortiewright.cards.render import (
    DEFAULT_PPI,
    TEMPLATES,
    Format,
    compile_pdf,
    compile_png,
    page_names,
)
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.sheet import PaperName
from sortiewright.cards.typeface import FONT_FOLDER
from sortiewright.procedures import Checklists
from sortiewright.sortie import Plan

if TYPE_CHECKING:
    import typst


def render_checklists(
    checklists: Checklists,
    plan: Plan,
    folder: Path,
    *,
    paper: PaperName = "a5",
    scheme: SchemeName = "day",
    formats: Sequence[Format] = ("pdf", "png"),
    seats: Sequence[str] | None = None,
    procedures: Sequence[str] | None = None,
    ppi: float = DEFAULT_PPI,
) -> list[Path]:
    """Return the files written into ``folder``: a PDF for each seat, and one PNG a page.

    ``seats`` are keys of occupied seats, all of them where None; ``procedures`` chooses lists by name. What
    the lists show in which units was settled when they were tailored.

    Raises
    ------
    CardError
        If a text does not fit its box (``box`` names it), the typesetter warns, the fonts are missing, or a
        seat or a list is not there today.
    """
    occupied = [key for key, _ in checklists.seats]
    if not occupied:
        raise CardError("nobody sits in the aircraft, so there is nobody to read a list")
    written: list[Path] = []
    for seat in occupied if seats is None else seats:
        data = checklist_data(checklists, plan, seat=seat, paper=paper, scheme=scheme, procedures=procedures)
        compiler = checklist_compiler(data)
        folder.mkdir(parents=True, exist_ok=True)
        stem = f"checklists-{paper}-{scheme}-{seat}"
        if "pdf" in formats:
            written.append(folder / f"{stem}.pdf")
            written[-1].write_bytes(compile_pdf(compiler, plan))
        if "png" in formats:
            pages = compile_png(compiler, ppi)
            names = page_names(compiler, len(pages))
            digits = max(2, len(str(len(pages))))
            for number, (name, page) in enumerate(zip(names, pages, strict=True), start=1):
                written.append(folder / f"{stem}-{number:0{digits}d}-{name}.png")
                written[-1].write_bytes(page)
    return written


def checklist_compiler(data: dict[str, Any]) -> typst.Compiler:
    """Return a typesetter of the checklists' template, with our fonts only."""
    # typst is a large binary, needed only once something is rendered.
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    return typst.Compiler(
        str(TEMPLATES / "checklists.typ"),
        root=str(TEMPLATES),
        font_paths=fonts,
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
    )
