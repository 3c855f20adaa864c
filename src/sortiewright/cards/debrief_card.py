"""The one-page debrief as data: what the template prints."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple
from unicodedata import category

from sortiewright import CAUTION
from sortiewright.cards.debrief_picture import takeoff_picture
from sortiewright.cards.schemes import SCHEMES, SchemeName
from sortiewright.cards.sheet import MILLIMETRE, PAPERS
from sortiewright.cards.typeface import FAMILY, printable
from sortiewright.recording import (
    SEVERITY_WORDS,
    clock,
    difference_shown,
    finding_numbers,
    headline,
    value_shown,
)

if TYPE_CHECKING:
    from sortiewright.recording import Debrief, Finding, Measured

# Points. Read at a desk after the flight, not in it.
SIZES = {
    "note": 8.0,
    "item": 9.5,
    "value": 10.5,
    "heading": 11.5,
    "title": 20.0,
    "verdict": 13.5,
    "row": 16.0,
    "seat": 0.0,
    "unit": 0.0,
}
MARGINS = {"left": 36.0, "right": 36.0, "top": 34.0, "bottom": 30.0}
GAP = 20.0
"""Between the two columns of the lower half."""
LONGEST = 150
"""Signs of a text that the page has room for."""


class Room(NamedTuple):
    """How many of each the page takes."""

    findings: int
    went_well: int
    values: int
    causes: int


def debrief_card_data(
    debrief: Debrief, room: Room, *, paper: str = "a4", scheme: SchemeName = "print"
) -> dict[str, Any]:
    """Return everything that the one page prints, as JSON types; what has no room is counted."""
    width, height, _ = PAPERS["letter" if paper == "letter" else "a4"]
    page = [width * MILLIMETRE, height * MILLIMETRE]
    column = (page[0] - MARGINS["left"] - MARGINS["right"] - GAP) / 2
    findings = [one for _, one in debrief.findings()]
    praise = list(dict.fromkeys(text for one in debrief.flights for text in one.went_well))
    takeoff = next((takeoff for one in debrief.flights for takeoff in one.takeoffs), None)
    return {
        "style": {
            "scheme": scheme,
            "scale": 1.0,
            "page": page,
            "margins": MARGINS,
            "sizes": SIZES,
            "colours": SCHEMES[scheme],
            "family": FAMILY,
        },
        "head": _head(debrief),
        "findings": [_finding(at, one, debrief) for at, one in enumerate(findings[: room.findings], start=1)],
        "more": max(0, len(findings) - room.findings),
        "well": [_clipped(text) for text in praise[: room.went_well]],
        "values": [_value(one) for one in _telling(debrief)[: room.values]],
        "values_title": "Planned against flown" if debrief.plan is not None else "Values noted",
        "planned": debrief.plan is not None,
        "picture": None if takeoff is None else takeoff_picture(takeoff, column, SIZES["note"]),
        "causes": [] if takeoff is None else _causes(takeoff, room.causes),
        "gap": GAP,
        "notes": [_clipped(text) for text in _notes(debrief)],
        "caution": _plain(CAUTION),
    }


def _head(debrief: Debrief) -> dict[str, str]:
    plan, pack = debrief.plan, debrief.pack
    where = "" if plan is None else f"{plan.aerodrome}, runway {plan.runway.designator}, {plan.time}"
    crew = "" if plan is None else ", ".join(f"{seat.lower()} {name}" for seat, name in plan.crew if name)
    of_pack = "" if pack is None else f"pack {pack.pack.name} {pack.pack.version} ({pack.digest[:8]})"
    facts = [where, crew, f"recording {debrief.recording.name}", of_pack]
    return {
        "callsign": _clipped("" if plan is None else plan.callsign, 40),
        "facts": _plain(" · ".join(one for one in facts if one))[:260],
        "headline": _plain(headline(debrief)),
    }


def _finding(number: int, one: Finding, debrief: Debrief) -> dict[str, Any]:
    value, limit = finding_numbers(one, debrief.rules)
    return {
        "look": {"high": "no_go", "medium": "caution", "low": "go"}[one.severity],
        "word": SEVERITY_WORDS[one.severity],
        "title": _clipped(f"{number}  {one.title}", 80),
        "value": _plain(value),
        "limit": _plain(limit),
        "at": clock(one.peak_at),
        "advice": _clipped(one.advice),
    }


def _telling(debrief: Debrief) -> list[Measured]:
    """Return the values that tell most: those that a plan stands beside first, else in the pack's order."""
    known = [each for one in debrief.flights for each in one.measured if each.value is not None]
    return sorted(known, key=lambda each: each.planned is None)


def _value(one: Measured) -> dict[str, str]:
    return {
        "title": _clipped(one.title, 44),
        "flown": _plain(value_shown(one.value, one.kind)),
        "planned": "" if one.planned is None else _plain(value_shown(one.planned, one.kind)),
        "difference": _plain(difference_shown(one)),
    }


def _causes(takeoff: Any, most: int) -> list[dict[str, str]]:
    split = next((one for one in takeoff.splits if one.quantity == "ground_run"), None)
    if split is None:
        return []
    largest = sorted(split.causes, key=lambda one: -abs(one.effect))[:most]
    rest = split.difference - sum(one.effect for one in largest)
    rows = [(one.title, one.effect) for one in largest]
    rows += [("All else", rest), ("Ground run, flown less planned", split.difference)]
    return [
        {
            "title": _clipped(title, 40),
            "effect": _plain(value_shown(effect, "runway_distance", difference=True)),
        }
        for title, effect in rows
    ]


def _notes(debrief: Debrief) -> list[str]:
    unjudged = sum(one.count("not_evaluated") for one in debrief.flights)
    notes = [*debrief.notes]
    if unjudged:
        notes.append(f"{unjudged} rules could not be judged; the page that goes with this one says why.")
    if odd := len(debrief.recording.defects):
        notes.append(f"{odd} oddities in the samples are listed there too.")
    notes += [text for one in debrief.flights for text in one.not_compared[:2]]
    return notes[:4]


def _clipped(text: str, most: int = LONGEST) -> str:
    """Return a text that fits its place; a word is not broken unless it alone is too long."""
    clean = _plain(text)
    if len(clean) <= most:
        return clean
    head = clean[: most - 1]
    cut = head.rfind(" ")
    return f"{head[:cut] if cut > most // 2 else head}…"


def _plain(text: str) -> str:
    """Return a text as it can be set: no control signs, which the typeface maps and a tagged PDF forbids."""
    return printable("".join(" " if category(sign).startswith("C") else sign for sign in text))
