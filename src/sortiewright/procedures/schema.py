"""What a pack's ``procedures/`` folder may say: controls, procedures, and what must never happen.

Names of seats are the pack's own (``mass.seats``). Conditions are texts in the language of ``expressions``:
``when`` speaks of the sortie, ``needs``, ``never``, ``first``, ``before`` and ``holds`` of controls and
states,
``seen`` of channels.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from sortiewright.pack import Model

Kind = Literal["normal", "abnormal", "emergency"]
Style = Literal["do-confirm", "read-do"]
Pace = Literal["together", "apart"]
Part = Literal["immediate", "follow-up", "deferred"]
RESUME, END = "resume", "end"
"""Where a procedure leads: back to where it was called from, or to the end of the sortie."""


def _as_list(raw: Any) -> Any:
    return (raw,) if isinstance(raw, str) else raw


Texts = Annotated[tuple[str, ...], BeforeValidator(_as_list)]
"""One text, or a list of them."""


class Control(Model):
    """A switch, handle, lever or pin that somebody moves by hand; ``positions`` are its placard's words."""

    title: str
    panel: str = ""
    """Where it is: cards and the run show it, and the lint follows the hand across panels."""
    seats: Texts = ()
    """Seats that reach it; empty: every seat, or people outside."""
    positions: Annotated[tuple[str, ...], Field(min_length=2)]
    at_start: Texts
    """Where it stands cold and dark; several where that is not known: the proof tries each."""


class State(Model):
    """Something true of the aircraft that no hand sets: weight on wheels, an engine running."""

    title: str
    values: Annotated[tuple[str, ...], Field(min_length=2)]
    at_start: str


class Party(Model):
    """Somebody who is not in the aircraft and can clear a hold: crew chief, marshaller, tower."""

    title: str


class Hold(Model):
    """The list stops until somebody else says so."""

    awaits: str
    """What is waited for, in words: Clearance to taxi."""
    cleared_by: str
    """A party, or a seat."""
    after: str = ""
    """A condition on controls and states without which it is not given."""
    sets: dict[str, str] = Field(default_factory=dict[str, str])
    """Controls that others move, and states that come about, before it is given."""


class Branch(Model):
    """Where the crew goes if an item's answer is not the one wanted."""

    go: str
    """A procedure."""
    case: str = ""
    """In words, as the card prints it: No light within 20 seconds."""


class Item(Model):
    """One line of a list: challenge and response, and everything that hangs on it."""

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    challenge: str
    response: str = ""
    """The state wanted; ``{name}`` stands for a figure of the plan. Empty only beside a hold."""
    seat: Texts = ()
    """Who answers: one seat, or several; empty beside a hold only."""
    any_one: bool = False
    """Of several seats, whoever is first answers for all."""
    when: str = ""
    part: Part | None = None
    """Of an abnormal or emergency procedure; immediate where ``memory`` is set."""
    memory: bool = False
    """Done from memory at once, then confirmed from the page."""
    killer: bool = False
    """If missed, likely loss of the aircraft or of people."""
    warnings: Texts = ()
    cautions: Texts = ()
    notes: Texts = ()
    """Each stands before the item: injury or death, damage, worth emphasis."""
    hold: Hold | None = None
    """Waits before the item may be answered."""
    sets: dict[str, str] = Field(default_factory=dict[str, str])
    """Controls and states, and where they stand once the item is answered."""
    needs: str = ""
    """A condition on controls and states that must be true when the item's turn comes."""
    seen: str = ""
    """A condition on channels by which a live feed confirms the item."""
    if_not: Branch | None = None
    until: str = ""
    """The crew may put the item off; in words, until when: Before line-up."""
    again: str = ""
    """Why the same thing stands in another list too."""
    open_answer: str = ""
    """Why the response cannot name a state or a value."""
    why: str = ""
    """What the amplified procedure says."""


class Procedure(Model):
    """One list: title, who it is for, its items, and how it ends."""

    title: str
    kind: Kind = "normal"
    style: Style = "do-confirm"
    pace: Pace = "together"
    """Together: item by item. Apart: each seat goes through its own, and holds and shared items join them."""
    phase: str = ""
    """Part of the sortie, for tabs and for what applies when: ground, takeoff, flight, landing, ..."""
    when: str = ""
    entry: str = ""
    """The moment or the symptoms that call for it."""
    not_if: str = ""
    """What looks alike and is another procedure."""
    applies_in: Texts = ()
    """Normal procedures or phases during which an abnormal or emergency procedure may be called."""
    items: Annotated[tuple[Item, ...], Field(min_length=1)]
    complete: str = ""
    """The call at its end; ``{title} complete`` where empty."""
    then: str = ""
    """Where an abnormal or emergency procedure leads: resume, end, or a procedure. Normal ones follow
    ``order``."""
    status: Texts = ()
    """What no longer works, or what to keep in mind, after an abnormal or emergency procedure."""


class Invariant(Model):
    """What must hold whatever the crew is asked to do. One of three forms.

    ``never``: no moment at which this is true. ``first`` with ``before``: ``before`` never becomes true
    unless
    ``first`` has been true earlier. ``holds`` with ``at_start_of`` or ``at_end_of`` a procedure. ``when``
    limits it to some sorties.
    """

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    why: str
    never: str = ""
    first: str = ""
    before: str = ""
    holds: str = ""
    at_start_of: str = ""
    at_end_of: str = ""
    when: str = ""


class Cockpit(Model):
    """``controls.yaml``: what can be moved, what can be so, who else is there."""

    controls: dict[str, Control]
    states: dict[str, State] = Field(default_factory=dict[str, State])
    parties: dict[str, Party] = Field(default_factory=dict[str, Party])


class Order(Model):
    """``order.yaml``: the normal procedures of a sortie in their order, and what must hold all along."""

    sortie: Annotated[tuple[str, ...], Field(min_length=1)]
    go_around: str = ""
    """The normal procedure that may follow ``before_landing`` instead of landing, and leads back."""
    unchanged: dict[str, str] = Field(default_factory=dict[str, str])
    """Controls that no procedure sets, each with the reason."""
    lint: dict[str, str] = Field(default_factory=dict[str, str])
    """Findings of the lint that stand, each with the reason: ``guideline procedure.item: reason``."""
    invariants: tuple[Invariant, ...] = ()
    sources: str = ""
    """Where the lists come from: 'common practice, no source' and what else."""
