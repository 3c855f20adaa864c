"""A sortie's cards, as PDF and PNG."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import Steps, System, print_text, remark
from sortiewright.commands.plan import exit_code, verdict_text

if TYPE_CHECKING:
    from sortiewright.procedures import Checklists
    from sortiewright.sortie import LoadedSortie, Plan

# Spelled out again, so that the help needs no import of the card room; a test holds them equal.
Paper = Literal["a5", "half-letter", "letter", "a4"]
Scheme = Literal["day", "night", "print"]
Card = Literal[
    "takeoff",
    "landing",
    "balance",
    "runway",
    "flight_log",
    "climb_cruise",
    "divert",
    "performance",
    "emergency",
]
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
    checklists: Annotated[bool, Parameter(negative="")] = False,
    procedure: Annotated[tuple[str, ...], Parameter(negative="", metavar="name")] = (),
) -> int:
    """Cards of a sortie for the kneeboard, or its checklists: PDF, and one PNG a page.

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
        Only this seat's copy of the takeoff card and of the checklists; both where absent.
    checklists
        Today's checklists instead of the cards: a booklet for each seat.
    procedure
        Only this checklist; may be given several times.
    """
    from sortiewright import sortie as room

    wants_lists = checklists or bool(procedure)
    if wants_lists and card:
        raise UsageError("--card chooses among the cards, --procedure among the checklists: give one of them")
    remarks: tuple[str, ...] = ()
    with Steps(2 + len(format)) as step:
        step("reading the sortie")
        loaded = room.load_sortie(sortie)
        step("computing")
        made = room.plan(loaded.sortie, loaded.pack)
        if wants_lists:
            lists = tailored(loaded, made, units)
            remarks = lists.remarks
            files = render_lists(
                lists,
                made,
                out,
                step,
                paper=paper,
                scheme=scheme,
                format=format,
                seat=seat,
                procedure=procedure,
            )
        else:
            files = render(
                made, out, step, paper=paper, scheme=scheme, units=units, format=format, card=card, seat=seat
            )
    print_text(verdict_text(made))
    # A booklet has a hundred pages: their names would bury its own.
    pages = [file for file in files if file.suffix == ".png"] if wants_lists else []
    for file in files:
        if file not in pages:
            print(file)
    if pages:
        print(f"{len(pages)} pages as PNG in {out}")
    for one in (*made.remarks, *remarks):
        remark(f"Remark: {one}")
    return exit_code(made)


def tailored(loaded: LoadedSortie, plan: Plan, units: System) -> Checklists:
    """Return the sortie's checklists; raises ``InputError`` where its pack has none, or they have faults."""
    from sortiewright.procedures import load_procedures, tailor_checklists

    return tailor_checklists(load_procedures(loaded.pack), loaded.sortie, plan, units)


def render_lists(
    checklists: Checklists,
    plan: Plan,
    folder: Path,
    step: Steps,
    *,
    paper: Paper = "a5",
    scheme: Scheme = "day",
    format: tuple[Format, ...] = FORMATS,
    seat: tuple[Seat, ...] = SEATS,
    procedure: tuple[str, ...] = (),
) -> list[Path]:
    """Write the checklists of the seats that are taken, a format at a time, and return the files."""
    from sortiewright.cards import render_checklists

    occupied = [key for key, _ in checklists.seats]
    wanted = occupied if seat == SEATS else seat  # a pack may name its seats otherwise
    files: list[Path] = []
    for one in format:
        step(f"checklists as {one.upper()}")
        files += render_checklists(
            checklists,
            plan,
            folder,
            paper=paper,
            scheme=scheme,
            formats=(one,),
            seats=wanted,
            procedures=procedure or None,
        )
    return files


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
