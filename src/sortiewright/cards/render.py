"""Cards rendered to PDF and PNG by typst; whatever would print badly is an error instead."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from sortiewright.cards.card_set import SEATS, CardError, CardName, Seat, card_data, too_wide
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.sheet import PaperName
from sortiewright.cards.typeface import FAMILY, FONT_FOLDER
from sortiewright.sortie import Plan, System

if TYPE_CHECKING:
    import typst

Format = Literal["pdf", "png"]

TEMPLATES = Path(__file__).parent / "templates"
DEFAULT_PPI = 160.0
EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
"""Of a PDF whose plan states no time; never the clock, so that the same plan gives the same file."""


def render_cards(
    plan: Plan,
    folder: Path,
    *,
    paper: PaperName = "a5",
    scheme: SchemeName = "day",
    formats: Sequence[Format] = ("pdf", "png"),
    units: System = "trade",
    cards: Sequence[CardName] | None = None,
    seats: Sequence[Seat] = SEATS,
    ppi: float = DEFAULT_PPI,
) -> list[Path]:
    """Return the files written into ``folder``: one PDF of the whole set, one PNG a page.

    Raises
    ------
    CardError
        If a text does not fit its box (``box`` names it), the typesetter warns, or the fonts are missing.
    """
    data = card_data(plan, paper=paper, scheme=scheme, units=units, cards=cards, seats=seats)
    compiler = new_compiler(data)
    folder.mkdir(parents=True, exist_ok=True)
    stem = f"cards-{paper}-{scheme}"
    written: list[Path] = []
    if "pdf" in formats:
        path = folder / f"{stem}.pdf"
        path.write_bytes(compile_pdf(compiler, plan))
        written.append(path)
    if "png" in formats:
        pages = compile_png(compiler, ppi)
        names = page_names(compiler, len(pages))
        for number, (name, page) in enumerate(zip(names, pages, strict=True), start=1):
            path = folder / f"{stem}-{number:02d}-{name}.png"
            path.write_bytes(page)
            written.append(path)
    return written


def render_one(
    plan: Plan,
    card: CardName,
    *,
    paper: PaperName = "a5",
    scheme: SchemeName = "day",
    units: System = "trade",
    seat: Seat = "front",
) -> bytes:
    """Return one card as a PDF; raises as ``render_cards`` does."""
    data = card_data(plan, paper=paper, scheme=scheme, units=units, cards=(card,), seats=(seat,))
    return compile_pdf(new_compiler(data), plan)


def new_compiler(data: dict[str, Any]) -> typst.Compiler:
    """Return a typesetter that knows our templates and fonts and nothing of the machine's."""
    # typst is a large binary, needed only once something is rendered.
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    if FAMILY not in fonts.families():
        raise CardError(
            f"The card fonts ({FAMILY}) are missing. Build the package once (pip install -e .): its build "
            "hook makes them."
        )
    return typst.Compiler(
        str(TEMPLATES / "cards.typ"),
        root=str(TEMPLATES),
        font_paths=fonts,
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
    )


def compile_pdf(compiler: typst.Compiler, plan: Plan) -> bytes:
    """Return the PDF, tagged for accessibility (PDF/UA-1, ISO 14289-1)."""
    made = compiled(compiler, format="pdf", pdf_standards=["ua-1"], timestamp=plan_time(plan))
    if not isinstance(made, bytes):
        raise CardError("the typesetter gave no PDF")
    return made


def compile_png(compiler: typst.Compiler, ppi: float) -> list[bytes]:
    """Return one PNG a page."""
    made = compiled(compiler, format="png", ppi=ppi)
    if made is None:
        raise CardError("the typesetter gave no pages")
    return [made] if isinstance(made, bytes) else made


def compiled(compiler: typst.Compiler, **options: Any) -> bytes | list[bytes] | None:
    """Return what the typesetter makes; a warning is an error, and an overflow names its box."""
    import typst

    try:
        made, warnings = compiler.compile_with_warnings(**options)
    except typst.TypstError as error:
        overflow = re.search(r"overflow: ([^\"]+)", error.message)
        if overflow:
            raise too_wide(overflow[1].strip()) from None
        raise CardError(f"the card templates do not compile: {error.diagnostic}") from None
    if warnings:
        raise CardError("the typesetter warns: " + "; ".join(warning.message for warning in warnings))
    return made


def page_names(compiler: typst.Compiler, count: int) -> list[str]:
    """Return the card that each page belongs to."""
    starts = {
        int(mark["page"]): str(mark["card"]) for mark in json.loads(compiler.query("<card-start>", "value"))
    }
    names: list[str] = []
    for page in range(1, count + 1):
        names.append(starts.get(page, names[-1] if names else "cards"))
    return names


def plan_time(plan: Plan) -> datetime:
    """Return the plan's own time, or a fixed one where it states none that can be read."""
    try:
        time = datetime.fromisoformat(plan.time.strip().replace(" Z", "+00:00").replace("Z", "+00:00"))
    except ValueError:
        return EPOCH
    return time if time.tzinfo else time.replace(tzinfo=UTC)
