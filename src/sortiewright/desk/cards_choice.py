"""What is to be printed: which cards or lists, for whom, on what, in which colours and units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal, cast
from urllib.parse import urlencode

if TYPE_CHECKING:
    from starlette.datastructures import QueryParams

    from sortiewright.sortie import System

# Spelled out again, so that typing needs no import of the card room; a test holds them equal.
Kind = Literal["cards", "checklists"]
Seat = Literal["front", "rear"]
Paper = Literal["a5", "half-letter", "letter", "a4"]
Scheme = Literal["day", "night", "print"]

KINDS: dict[Kind, str] = {"cards": "Cards", "checklists": "Checklists"}
SEATS: dict[Seat, str] = {"front": "Front", "rear": "Rear"}
PAPERS: dict[Paper, str] = {"a5": "A5", "half-letter": "Half letter", "letter": "Letter", "a4": "A4"}
SCHEMES: dict[Scheme, str] = {"day": "Day", "night": "Night red", "print": "Black on white"}
UNITS = {"trade": "ft, kt, lb", "si": "SI"}
MOST_VALUES = 40


class NotOffered(ValueError):
    """A request asks for something that was never on the page."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be printed. ``cards`` are names of the card room; ``procedure`` empty: every list."""

    kind: Kind = "cards"
    cards: tuple[str, ...] = ()
    seats: tuple[Seat, ...] = tuple(SEATS)
    paper: Paper = "a5"
    scheme: Scheme = "day"
    units: System = "trade"
    procedure: str = ""

    @property
    def missing(self) -> str:
        """What must be chosen before there is anything to print, as a sentence; empty if nothing."""
        if self.kind == "cards" and not self.cards:
            return "Choose at least one card."
        if not self.seats and (self.kind == "checklists" or "takeoff" in self.cards):
            return "Choose at least one seat."
        return ""

    @property
    def query(self) -> str:
        """The same as the page's address carries it."""
        pairs = [(name, value) for name, value in asdict(self).items() if name not in ("cards", "seats")]
        pairs += [("card", one) for one in self.cards] + [("seat", one) for one in self.seats]
        return urlencode(pairs)


def choice_of(query: QueryParams, usual: Choice, cards: Mapping[str, str]) -> Choice:
    """Return the choice that an address carries, ``usual`` without one. ``cards`` are all there are.

    Raises ``NotOffered`` for what the page never offered.
    """
    if "kind" not in query:
        return usual
    if len(query.multi_items()) > MOST_VALUES:
        raise NotOffered("That is more than the page asks for.")
    return Choice(
        kind=_one(query, "kind", KINDS),
        cards=_several(query, "card", cards),
        seats=_several(query, "seat", SEATS),
        paper=_one(query, "paper", PAPERS),
        scheme=_one(query, "scheme", SCHEMES),
        units=_one(query, "units", UNITS),
        procedure=query.get("procedure", "")[:100],
    )


def _one(query: QueryParams, name: str, offered: Any) -> Any:
    given = query.get(name, next(iter(offered)))
    if given not in offered:
        raise NotOffered(f"There is no {name} of that name.")
    return given


def _several(query: QueryParams, name: str, offered: Any) -> Any:
    given = query.getlist(name)
    if any(one not in offered for one in given):
        raise NotOffered(f"There is no {name} of that name.")
    return tuple(one for one in cast("dict[str, str]", offered) if one in given)
