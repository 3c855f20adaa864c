"""A sortie's cards, as PDF and PNG."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.output import Steps, System, print_text, remark
from sortiewright.commands.plan import exit_code, verdict_text

if TYPE_CHECKING:
    from sortiewright.sortie import Plan

# Spelled out again, so that the help needs no import of the card room; a test holds them equal.
Paper = Literal["a5", "half-letter", "letter", "a4"]
Scheme = Literal["day", "night", "print"]
Card = Literal["takeoff", "landing", "balance", "runway", "emergency"]
Seat = Literal["front", "rear"]
Format = Literal["pdf", "png"]

FORMATS: tuple[Format, ...] = ("pdf", "png")
SEATS: tuple[Seat, ...] = ("front", "rear")


def cards(
    sortie: SortieFile,
    /,
    *,
    out: Annotated[Path, Parameter(metavar="folder")],
    paper: Paper = "a5",
    scheme: Scheme = "day",
    units: System = "trade",
    format: Annotated[tuple[Format, ...], Parameter(negative="", show_default=False)] = FORMATS,
    card: Annotated[tuple[Card, ...], Parameter(negative="")] = (),
    seat: Annotated[tuple[Seat, ...], Parameter(negative="", show_default=False)] = SEATS,
) -> int:
    """Cards of a sortie for the kneeboard: one PDF, and one PNG a page.

    Example: sortiewright cards demo --out cards --paper a5 --scheme night

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie such as demo.
    out
        Where to write; made where it is missing.
    paper
        Size of a page.
    scheme
        Colours: day, red on black for night, or black on white.
    units
        Units on the cards.
    format
        Write only this; both where absent.
    card
        Only this card; may be given several times. All where absent.
    seat
        Only this seat's copy of the takeoff card; both where absent.
    """
    from sortiewright import sortie as room

    with Steps(2 + len(format)) as step:
        step("reading the sortie")
        loaded = room.load_sortie(sortie)
        step("computing")
        made = room.plan(loaded.sortie, loaded.pack)
        files = render(
            made, out, step, paper=paper, scheme=scheme, units=units, format=format, card=card, seat=seat
        )
    print_text(verdict_text(made))
    for file in files:
        print(file)
    for one in made.remarks:
        remark(f"Remark: {one}")
    return exit_code(made)


def render(
    plan: Plan,
    folder: Path,
    step: Steps,
    *,
    paper: Paper = "a5",
    scheme: Scheme = "day",
    units: System = "trade",
    format: tuple[Format, ...] = FORMATS,
    card: tuple[Card, ...] = (),
    seat: tuple[Seat, ...] = SEATS,
) -> list[Path]:
    """Write the cards, a format at a time, and return the files."""
    from sortiewright.cards import render_cards

    files: list[Path] = []
    for one in format:
        step(f"cards as {one.upper()}")
        files += render_cards(
            plan,
            folder,
            paper=paper,
            scheme=scheme,
            formats=(one,),
            units=units,
            cards=card or None,
            seats=seat,
        )
    return files
