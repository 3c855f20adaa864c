"""Cards from a plan: the data that the templates read, and their rendering to PDF and PNG."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from sortiewright import CAUTION
from sortiewright.cards.balance import balance_data
from sortiewright.cards.emergency import emergency_data
from sortiewright.cards.landing import landing_data
from sortiewright.cards.reading import LOOKS, Reading
from sortiewright.cards.runway import runway_data
from sortiewright.cards.schemes import SCHEMES, SchemeName
from sortiewright.cards.sheet import MARGINS, PAPERS, PaperName, Sheet
from sortiewright.cards.takeoff import takeoff_data
from sortiewright.cards.typeface import FAMILY, FONT_FOLDER, TypefaceError, printable
from sortiewright.sortie.figures import Plan
from sortiewright.sortie.units import System, group_thousands

if TYPE_CHECKING:
    import typst

CardName = Literal["takeoff", "landing", "balance", "runway", "emergency"]
Seat = Literal["front", "rear"]
Format = Literal["pdf", "png"]

TITLES: dict[CardName, str] = {
    "takeoff": "Takeoff data",
    "landing": "Landing data",
    "balance": "Weight and balance",
    "runway": "Runway",
    "emergency": "Engine failure on takeoff",
}
TABS: dict[CardName, str] = {
    "takeoff": "TAKEOFF",
    "landing": "LANDING",
    "balance": "BALANCE",
    "runway": "RUNWAY",
    "emergency": "EMERGENCY",
}
SEATS: tuple[Seat, ...] = ("front", "rear")
TEMPLATES = Path(__file__).parent / "templates"
DEFAULT_PPI = 160.0
EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
"""Of a PDF whose plan states no time; never the clock, so that the same plan gives the same file."""


class CardError(Exception):
    """A card could not be made; ``box`` names the box whose text did not fit, where that is the reason."""

    def __init__(self, message: str, *, box: str = "") -> None:
        super().__init__(message)
        self.box = box


def card_data(
    plan: Plan,
    *,
    paper: PaperName = "a5",
    scheme: SchemeName = "day",
    units: System = "trade",
    cards: Sequence[CardName] | None = None,
    seats: Sequence[Seat] = SEATS,
) -> dict[str, Any]:
    """Return everything that the templates print, as JSON types; the same plan gives the same data.

    Raises
    ------
    CardError
        If a name is unknown, the fonts are missing, or a drawing's label is wider than its drawing.
    """
    check_names(paper, scheme, cards or (), seats)
    sheet = Sheet(paper, scheme)
    reading = Reading(plan, units, altimeter="inHg" if plan.extra.get("altimeter") == "inHg" else "hPa")
    try:
        return {
            "style": style_data(sheet),
            "head": head_data(plan),
            "cards": [
                card for name in (cards or tuple(TITLES)) for card in named_card(name, reading, sheet, seats)
            ],
        }
    except OverflowError as overflow:
        raise too_wide(str(overflow)) from None
    except TypefaceError as missing:
        raise CardError(str(missing)) from None


def check_names(paper: str, scheme: str, cards: Iterable[str], seats: Iterable[str]) -> None:
    """Raise CardError for a name that is not one of ours."""
    for what, given, known in (
        ("paper", (paper,), tuple(PAPERS)),
        ("scheme", (scheme,), tuple(SCHEMES)),
        ("card", tuple(cards), tuple(TITLES)),
        ("seat", tuple(seats), SEATS),
    ):
        for name in given:
            if name not in known:
                raise CardError(f"{what} {name!r} is unknown. Choose from {', '.join(known)}.")


def named_card(name: CardName, reading: Reading, sheet: Sheet, seats: Sequence[Seat]) -> list[dict[str, Any]]:
    """Return one kind of card; of the takeoff card one copy a seat."""
    head = {"name": name, "title": TITLES[name], "tab": TABS[name], "place": list(TITLES).index(name)}
    if name == "takeoff":
        return [
            head | {"id": f"takeoff-{seat}", "seat": seat.upper(), "body": takeoff_data(reading, seat)}
            for seat in seats
        ]
    bodies = {
        "landing": lambda: landing_data(reading, sheet),
        "balance": lambda: balance_data(reading, sheet),
        "runway": lambda: runway_data(reading, sheet),
        "emergency": lambda: emergency_data(reading),
    }
    return [head | {"id": name, "seat": "", "body": bodies[name]()}]


def style_data(sheet: Sheet) -> dict[str, Any]:
    """Return the sheet and the look: lengths in points before ``scale``."""
    return {
        "scheme": sheet.scheme,
        "scale": sheet.scale,
        "page": [sheet.page_width, sheet.page_height],
        "margins": MARGINS,
        "sizes": sheet.sizes,
        "colours": SCHEMES[sheet.scheme],
        "family": FAMILY,
    }


def head_data(plan: Plan) -> dict[str, Any]:
    """Return what every page repeats: whose flight, when and where, and on what the numbers rest."""
    runway = plan.runway.designator
    place = f"{plan.aerodrome} {runway}".strip()
    return {
        "callsign": printable(plan.callsign),
        "crew": [[printable(seat), printable(name)] for seat, name in plan.crew],
        "title": printable(plan.title),
        "pack": printable(f"{plan.pack_title or plan.pack_name} {plan.pack_version}".strip()),
        "digest": printable(plan.pack_digest),
        "where": printable(place),
        "when": printable(plan.time),
        "look": LOOKS[plan.verdict],
        "status": printable(book_status(plan)),
        "unchecked": not plan.extra.get("book_points"),
        "caution": printable(plan.caution or CAUTION),
        "remarks": [printable(remark) for remark in plan.remarks],
    }


def book_status(plan: Plan) -> str:
    """Return on what the numbers rest: the pack, its version, and how it compares with its book points.

    ``plan.extra`` may hold ``book_points``, their number, and ``book_worst_error``, a share.
    """
    pack = f"Computed from pack {plan.pack_name} {plan.pack_version}"
    points = plan.extra.get("book_points")
    if not points:
        return f"{pack}, no book points"
    error = plan.extra.get("book_worst_error")
    worst = "" if error is None else f", worst error {group_thousands(100 * float(error), 1)} %"
    return f"{pack}, checked at {points} book points{worst}"


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


def too_wide(box: str) -> CardError:
    """Return the error for a text that does not fit its box."""
    return CardError(
        f"The text of box {box!r} does not fit. Shorten it in the sortie or the pack, or use larger paper.",
        box=box,
    )


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
