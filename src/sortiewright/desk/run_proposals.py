"""What a device asks for, from the text of a button: ``answer:taxi:brakes:1:front``.

Its parts are the kind, the list, the item, the round of the list and the seat that acts; of a clearance also
who gave it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from uuid import uuid4

from sortiewright.procedures import (
    Answered,
    Cleared,
    Completed,
    Deed,
    Deferred,
    Disagreed,
    Ended,
    Interrupted,
    Noted,
    Opened,
    Overridden,
    Place,
    Resumed,
    Skipped,
    TakenUp,
    Undone,
)

LONGEST_DEED = 400
LONGEST_WORDS = 500
NAME = re.compile(r"[\w.-]{0,80}", re.ASCII)
IDENTITY = re.compile(r"[A-Za-z0-9-]{8,64}")


class Garbled(ValueError):
    """A request names no deed; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A deed that a device asks for, the seat that acts, and what tells it from every other."""

    kind: str
    deed: Deed
    seat: str
    identity: str


WANTS_WORDS = {
    "say": "Answer in your own words",
    "no": "What do you see instead?",
    "not": "Not so. What do you see?",
    "skip": "Why is it left out?",
    "override": "Why go on without the clearance?",
    "open": "Why out of order?",
    "end": "Why is it broken off?",
    "note": "For the debrief",
}
"""Deeds that come with words, and what asks for them."""
OFFERED = {
    "skip": ("Not fitted", "Done before", "Not wanted today"),
    "not": ("Not so", "Light is out", "Cannot see it"),
    "no": ("Not so", "Light is out", "Cannot see it"),
    "override": ("Cleared by hand signal", "Radio failed", "Nobody there to clear it"),
    "end": ("Called by mistake", "Cause is gone", "Another list comes first"),
    "open": ("Changed plan", "Done from memory", "Taken later"),
    "say": (),
    "note": ("Ask about this", "Well done", "Late"),
}
"""Words that need no keyboard; whoever wears gloves presses one of these."""


def asked_of(deed: object, words: object, identity: object) -> Asked:
    """Return what a form asks for; raises ``Garbled``. A form without an identity gets one of its own."""
    text = deed if isinstance(deed, str) else ""
    said = words if isinstance(words, str) else ""
    if len(text) > LONGEST_DEED or len(said) > LONGEST_WORDS:
        raise Garbled(f"That is too long: at most {LONGEST_WORDS} characters.")
    parts = text.split(":")
    if len(parts) not in (5, 6) or not all(NAME.fullmatch(part) for part in parts):
        raise Garbled("The desk does not know what was pressed.")
    kind, procedure, item, round_, seat = parts[:5]
    made = _deed(kind, procedure, item, round_, parts[5] if len(parts) == 6 else said.strip())
    return Asked(kind, made, seat, _identity(identity))


def _identity(identity: object) -> str:
    if identity in (None, ""):
        return uuid4().hex
    if not isinstance(identity, str) or not IDENTITY.fullmatch(identity):
        raise Garbled("The press has no name by which it can be told from others.")
    return identity


def _deed(kind: str, procedure: str, item: str, round_: str, words: str) -> Deed:
    made = _of_item(kind, procedure, item, round_, words) or _of_list(kind, procedure, item, words)
    if made is None:
        raise Garbled("The desk does not know what was pressed.")
    return made


def _of_item(kind: str, procedure: str, item: str, round_: str, words: str) -> Deed | None:
    place = Place(procedure, item, int(round_) if round_.isdecimal() and len(round_) < 6 else 0)
    match kind:
        case "answer" | "say":
            return Answered(place, words)
        case "no":
            return Answered(place, words, wanted=False)
        case "not":
            return Disagreed(place, words)
        case "skip":
            return Skipped(place, words)
        case "later":
            return Deferred(place)
        case "take":
            return TakenUp(place)
        case "clear":
            return Cleared(place, words)
        case "override":
            return Overridden(place, words)
        case _:
            return None


def _of_list(kind: str, procedure: str, item: str, words: str) -> Deed | None:
    match kind:
        case "open":
            return Opened(procedure, words)
        case "call":
            return Interrupted(procedure)
        case "resume":
            return Resumed(procedure, item)
        case "complete":
            return Completed(procedure)
        case "end":
            return Ended(procedure, words)
        case "note":
            return Noted(words)
        case "undo":
            return Undone(item)
        case _:
            return None
