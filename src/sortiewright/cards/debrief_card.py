"""The one-page debrief as data: what the template prints."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple
from unicodedata import category

from sortiewright import CAUTION
from sortiewright.cards.debrief_picture import landing_picture, rejected_picture, takeoff_picture
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
from sortiewright.sortie import System

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
VALUES_SHARE = 0.57
"""Of the lower half's width that the values have; the pictures have the rest."""
GAP = 20.0
"""Between the two columns of the lower half."""
LEAST_EFFECT = 1.6  # m: less would round to nought
LONGEST = 150
"""Signs of a text that the page has room for."""


class Room(NamedTuple):
    """How many of each the page takes."""

    findings: int
    went_well: int
    values: int
    causes: int
    pictures: int = 1


def debrief_card_data(
    debrief: Debrief, room: Room, *, paper: str = "a4", scheme: SchemeName = "print"
) -> dict[str, Any]:
    """Return everything that the one page prints, as JSON types; what has no room is counted."""
    width, height, _ = PAPERS["letter" if paper == "letter" else "a4"]
    page = [width * MILLIMETRE, height * MILLIMETRE]
    column = (1.0 - VALUES_SHARE) * (page[0] - MARGINS["left"] - MARGINS["right"] - GAP)
    findings = [one for _, one in debrief.findings()]
    praise = list(dict.fromkeys(text for one in debrief.flights for text in one.went_well))
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
        "values": [_value(one, debrief.units) for one in _telling(debrief)[: room.values]],
        "values_title": "Planned against flown" if debrief.plan is not None else "Values noted",
        "planned": debrief.plan is not None,
        "pictures": _pictures(debrief, column, room.pictures),
        "causes": _causes(debrief, room.causes),
        "gap": GAP,
        "values_share": VALUES_SHARE,
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
    value, limit = finding_numbers(one, debrief.rules, debrief.units)
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


def _value(one: Measured, units: System) -> dict[str, str]:
    return {
        "title": _clipped(one.title, 44),
        "flown": _plain(value_shown(one.value, one.kind, units=units)),
        "planned": "" if one.planned is None else _plain(value_shown(one.planned, one.kind, units=units)),
        "difference": _plain(difference_shown(one, units)),
    }


def _pictures(debrief: Debrief, width: float, most: int) -> list[dict[str, Any]]:
    """Return speed over distance of the first takeoff, the first rejected one and the last landing."""
    flights, size, units = debrief.flights, SIZES["note"], debrief.units
    takeoffs = [one for flight in flights for one in flight.takeoffs][:1]
    rejected = [one for flight in flights for one in flight.rejected][:1]
    landings = [one for flight in flights for one in flight.landings if one.picture][-1:]
    low = min(len(takeoffs) + len(rejected) + len(landings), most) > 1
    made = [
        *(("The takeoff run", takeoff_picture(one, width, size, units, low=low)) for one in takeoffs),
        *(("The rejected takeoff", rejected_picture(one, width, size, units, low=low)) for one in rejected),
        *(("The landing", landing_picture(one, width, size, units, low=low)) for one in landings),
    ]
    return [{"title": title, "drawing": drawing} for title, drawing in made[:most]]


def _causes(debrief: Debrief, most: int) -> dict[str, Any] | None:
    """Return what made the first takeoff's run longer, or else the stop of a rejected one."""
    splits = [
        split
        for flight in debrief.flights
        for compared in (*flight.takeoffs, *flight.rejected)
        for split in compared.splits
    ]
    for quantity, what in (("ground_run", "run"), ("stop_distance", "stop")):
        split = next((one for one in splits if one.quantity == quantity), None)
        if split is None:
            continue
        telling = [one for one in split.causes if abs(one.effect) >= LEAST_EFFECT]
        largest = sorted(telling, key=lambda one: -abs(one.effect))[:most]
        rest = split.difference - sum(one.effect for one in largest)
        whole = "Ground run" if what == "run" else "Stop"
        rows = [(one.title, one.effect) for one in largest]
        rows += [("All else", rest), (f"{whole}, flown less planned", split.difference)]
        return {
            "title": f"What made the {what} longer (+) or shorter:",
            "rows": [
                {
                    "title": _clipped(title, 40),
                    "effect": _plain(
                        value_shown(effect, "runway_distance", difference=True, units=debrief.units)
                    ),
                }
                for title, effect in rows
            ],
        }
    return None


def _notes(debrief: Debrief) -> list[str]:
    unjudged = sum(one.count("not_evaluated") for one in debrief.flights)
    notes = [*debrief.notes, *(text for one in debrief.flights for text in one.planned_with)]
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
