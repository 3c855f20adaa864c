"""What the rules answer when a deed does not stand, and the words for what is not there."""

from __future__ import annotations

from dataclasses import dataclass

from sortiewright.pack import suggestion
from sortiewright.procedures.events import Place
from sortiewright.procedures.run_state import RunState, latest, procedure_of


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a deed does not stand, in words for the crew; ``remains``: the items that stand in its way."""

    reason: str
    remains: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class Already:
    """There is nothing to do: things are as the deed would have them; ``words`` say how that came about."""

    words: str


Judgement = Refusal | Already | None
"""None: the deed may stand."""


def no_list(state: RunState, name: str) -> str:
    """Return why a list cannot be spoken of: it does not apply today, is not open, or does not exist."""
    left_out = next((one for one in state.checklists.left_out if one.id == name), None)
    if left_out is not None:
        return f"{left_out.title} does not apply today: {left_out.because}"
    procedure = procedure_of(state.checklists, name)
    if procedure is not None:
        return f"{procedure.title} has not been opened"
    known = [one.id for one in (*state.checklists.normal, *state.checklists.others)]
    return f'No list is called "{name}". {suggestion(name, known)}'.rstrip()


def no_item(state: RunState, place: Place) -> str:
    """Return why a place is none of the run's."""
    procedure = procedure_of(state.checklists, place.procedure)
    if procedure is None or latest(state, place.procedure) is None:
        return no_list(state, place.procedure)
    names = [item.id for item in procedure.items]
    if place.item not in names:
        return f'{procedure.title} has no item "{place.item}". {suggestion(place.item, names)}'.rstrip()
    return f"{procedure.title} was begun again since: answer it anew"
