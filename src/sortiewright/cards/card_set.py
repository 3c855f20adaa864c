"""The card set as data: everything that the templates print, worked out from the plan alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Literal

from sortiewright import CAUTION
from sortiewright.cards.balance import balance_data
from sortiewright.cards.climb_cruise import climb_cruise_data
from sortiewright.cards.divert import divert_data
from sortiewright.cards.emergency import emergency_data
from sortiewright.cards.flight_log import flight_log_data
from sortiewright.cards.landing import landing_data
from sortiewright.cards.performance import performance_data
from sortiewright.cards.reading import LOOKS, Reading
from sortiewright.cards.runway import runway_data
from sortiewright.cards.schemes import SCHEMES, SchemeName
from sortiewright.cards.sheet import MARGINS, PAPERS, PaperName, Sheet
from sortiewright.cards.takeoff import takeoff_data
from sortiewright.cards.typeface import FAMILY, TypefaceError, printable
from sortiewright.sortie import Plan, System

CardName = Literal[
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

TITLES: dict[CardName, str] = {
    "takeoff": "Takeoff data",
    "landing": "Landing data",
    "balance": "Weight and balance",
    "runway": "Runway",
    "flight_log": "Flight log",
    "climb_cruise": "Climb and cruise",
    "divert": "Bingo and divert",
    "performance": "Performance",
    "emergency": "Engine failure on takeoff",
}
TABS: dict[CardName, str] = {
    "takeoff": "TAKEOFF",
    "landing": "LANDING",
    "balance": "BALANCE",
    "runway": "RUNWAY",
    "flight_log": "LOG",
    "climb_cruise": "CLIMB",
    "divert": "DIVERT",
    "performance": "TURNS",
    "emergency": "EMERGENCY",
}
PLACES: dict[CardName, int] = {
    "takeoff": 0,
    "landing": 1,
    "balance": 2,
    "runway": 3,
    "flight_log": 0,
    "climb_cruise": 1,
    "divert": 2,
    "performance": 3,
    "emergency": 4,
}
"""Where the thumb tab stands: five are as many as have room."""
SEATS: tuple[Seat, ...] = ("front", "rear")


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
                card for name in (cards or cards_of(plan)) for card in named_card(name, reading, sheet, seats)
            ],
        }
    except OverflowError as overflow:
        raise too_wide(str(overflow)) from None
    except TypefaceError as missing:
        raise CardError(str(missing)) from None


def cards_of(plan: Plan) -> tuple[CardName, ...]:
    """Return the cards that a plan has something for: those of the route only where it was flown."""
    flown = plan.route is not None and len(plan.route.rows) > 0
    has = {
        "flight_log": flown,
        "climb_cruise": flown and plan.flight is not None,
        "divert": flown and plan.fuel is not None,
        "performance": flown and plan.flight is not None,
    }
    return tuple(name for name in TITLES if has.get(name, True))


def _missing(plan: Plan) -> str:
    told = next((reason.text for reason in plan.reasons if reason.figure in ("route_length", "bingo")), "")
    return told or "the sortie has no route"


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
    """Return one kind of card; of the takeoff card one copy a seat.

    Raises CardError for a card of which the plan has nothing.
    """
    if name not in cards_of(reading.plan):
        raise CardError(f"There is no {TITLES[name].lower()} card: {_missing(reading.plan)}.")
    head = {"name": name, "title": TITLES[name], "tab": TABS[name], "place": PLACES[name]}
    if name == "takeoff":
        return [
            head | {"id": f"takeoff-{seat}", "seat": seat.upper(), "body": takeoff_data(reading, seat)}
            for seat in seats
        ]
    bodies = {
        "landing": lambda: landing_data(reading, sheet),
        "balance": lambda: balance_data(reading, sheet),
        "runway": lambda: runway_data(reading, sheet),
        "flight_log": lambda: flight_log_data(reading, sheet),
        "climb_cruise": lambda: climb_cruise_data(reading, sheet),
        "divert": lambda: divert_data(reading, sheet),
        "performance": lambda: performance_data(reading, sheet),
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
    worst = "" if error is None else f", worst error {100 * float(error):.1f} %"
    return f"{pack}, checked at {points} book points{worst}"


def too_wide(box: str) -> CardError:
    """Return the error for a text that does not fit its box."""
    return CardError(
        f"The text of box {box!r} does not fit. Shorten it in the sortie or the pack, or use larger paper.",
        box=box,
    )
