"""Events in words, for the crew and the debrief."""

from __future__ import annotations

from sortiewright.procedures.events import (
    Answered,
    Cleared,
    Completed,
    Deferred,
    Disagreed,
    Ended,
    Event,
    Interrupted,
    Joined,
    Left,
    Noted,
    Opened,
    Overridden,
    Place,
    Resumed,
    Skipped,
    Started,
    TakenUp,
    Undone,
)
from sortiewright.procedures.run_state import RunState, procedure_of, seat_title


def event_words(state: RunState, event: Event) -> str:
    """Return an event in a few words: ``Front seat answered Flaps: TAKEOFF``."""
    match event.deed:
        case Joined(seat):
            return f"{seat_title(state, seat)} is connected"
        case Left(seat):
            return f"{seat_title(state, seat)} is not connected"
        case _:
            return f"{seat_title(state, event.actor)} {deed_words(state, event)}"


def deed_words(state: RunState, event: Event) -> str:
    """Return what was done, as a sentence goes on after its actor."""
    match event.deed:
        case Answered(place, text, wanted):
            return f"answered {_item(state, place)}: {text if wanted else f'no, {text}'.rstrip(', ')}"
        case Disagreed(place, why):
            return f"disagreed on {_item(state, place)}: {why}"
        case Skipped(place, reason):
            return f"left out {_item(state, place)}: {reason}"
        case Deferred(place):
            return f"put off {_item(state, place)}"
        case TakenUp(place):
            return f"took up {_item(state, place)}"
        case Cleared(place, by):
            return f"reported {_item(state, place)} cleared by {seat_title(state, by)}"
        case Overridden(place, reason):
            return f"went on without the clearance at {_item(state, place)}: {reason}"
        case Opened(procedure, reason):
            return f"opened {_title(state, procedure)}{f', {reason}' if reason else ''}"
        case Interrupted(procedure):
            return f"called {_title(state, procedure)}"
        case Resumed(procedure):
            return f"resumed {_title(state, procedure)}"
        case Ended(procedure, reason):
            return f"ended {_title(state, procedure)}: {reason}"
        case Completed(procedure):
            return f"completed {_title(state, procedure)}"
        case Started(_, title):
            return f"started {title}"
        case Joined(seat):
            return f"connected {seat_title(state, seat)}"
        case Left(seat):
            return f"lost {seat_title(state, seat)}"
        case Noted(text):
            return f"noted: {text}"
        case Undone():
            return "took something back"


def _title(state: RunState, procedure: str) -> str:
    found = procedure_of(state.checklists, procedure)
    return found.title if found else procedure


def _item(state: RunState, place: Place) -> str:
    found = procedure_of(state.checklists, place.procedure)
    item = next((one for one in found.items if one.id == place.item), None) if found else None
    return f"{item.number} {item.challenge}" if item else f"{place.procedure}.{place.item}"
