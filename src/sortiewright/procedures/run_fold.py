"""From events to the state of a run, and from a proposal to an event: both pure.

``fold`` is the one road from a log to what a crew sees; ``step`` takes it one event further. An event that
the rules do not allow changes nothing, so that no log, whoever wrote it, leads to a state that they exclude.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from sortiewright.procedures.events import (
    INSTRUCTOR,
    Answered,
    Deed,
    Deferred,
    Disagreed,
    Event,
    Interrupted,
    Joined,
    Left,
    Proposal,
    Skipped,
    Started,
    Undone,
    kind_of,
)
from sortiewright.procedures.run_deeds import applied, cleaned
from sortiewright.procedures.run_refusals import Already, Judgement, Refusal
from sortiewright.procedures.run_rules import judge, of_actor
from sortiewright.procedures.run_state import RunState, find, first_open, ready, seat_title
from sortiewright.procedures.run_words import event_words
from sortiewright.procedures.tailored import Checklists

OF_THE_SEAT = Answered | Disagreed | Skipped | Deferred
"""What only the seat that did it may take back; the rest concerns the crew."""


def fold(checklists: Checklists, events: Iterable[Event]) -> RunState:
    """Return the state that events lead to, in their order."""
    state = RunState(checklists)
    for event in events:
        state = step(state, event)
    return state


def step(state: RunState, event: Event) -> RunState:
    """Return the state after one more event."""
    if event.id in state.known:
        return state
    after = _after(state, event)
    if after is None:
        return replace(_counted(state, state, event), ignored=(*state.ignored, event.id))
    return _counted(after, state, event)


def decide(state: RunState, proposal: Proposal, time: datetime) -> Event | Refusal | Already:
    """Return the event that a proposal becomes, or why it becomes none.

    A proposal whose id is known has been acknowledged before and becomes none again.
    """
    if proposal.id in state.known:
        return Already("This was done before")
    deed = cleaned(proposal.deed)
    if isinstance(deed, Interrupted):
        deed = replace(deed, at=_place_in_hand(state))
    found = _judged(state, proposal.actor, deed)
    if found is not None:
        return found
    return Event(proposal.id, state.seq + 1, time, proposal.actor, _in_full(state, deed))


def last_undoable(state: RunState, actors: Iterable[str]) -> Event | None:
    """Return the last event of these actors that can be taken back."""
    own = set(actors)
    for event in reversed(state.history):
        if isinstance(event.deed, Started | Joined | Left) or event.actor not in own:
            continue
        return event if _judged(state, event.actor, Undone(event.id)) is None else None
    return None


def _judged(state: RunState, actor: str, deed: Deed) -> Judgement:
    if not isinstance(deed, Undone):
        return judge(state, actor, deed)
    outcome = _taken_back(state, actor, deed)
    return None if isinstance(outcome, RunState) else outcome


def _after(state: RunState, event: Event) -> RunState | None:
    """Return the state after an event, or None where the rules do not allow it."""
    if isinstance(event.deed, Undone):
        outcome = _taken_back(state, event.actor, event.deed)
        return outcome if isinstance(outcome, RunState) else None
    if judge(state, event.actor, event.deed) is not None:
        return None
    return replace(applied(state, event), history=(*state.history, event))


def _counted(after: RunState, before: RunState, event: Event) -> RunState:
    return replace(after, seq=event.seq, known=before.known | {event.id}, ignored=before.ignored)


def _taken_back(state: RunState, actor: str, deed: Undone) -> RunState | Refusal | Already:
    """Return the state of a run in which an event never was, or why it cannot be taken back."""
    target = next((event for event in state.history if event.id == deed.event), None)
    if target is None:
        return Already("It was taken back") if deed.event in state.known else Refusal("No such event")
    if isinstance(target.deed, Started | Joined | Left):
        return Refusal(f"{kind_of(target.deed).capitalize()} cannot be taken back")
    if (fault := of_actor(state, actor)) is not None:
        return fault
    if isinstance(target.deed, OF_THE_SEAT) and actor not in (target.actor, INSTRUCTOR):
        return Refusal(f"{seat_title(state, target.actor)} takes back its own")
    without = fold(state.checklists, (event for event in state.history if event.id != target.id))
    if without.ignored:
        stuck = next(event for event in state.history if event.id == without.ignored[0])
        return Refusal(f"Take back first what was done since: {event_words(state, stuck)}")
    return without


def _in_full(state: RunState, deed: Deed) -> Deed:
    """Return an answer without words with those of the list, so that a log can be read without it."""
    if not isinstance(deed, Answered) or deed.text or not deed.wanted:
        return deed
    found = find(state, deed.place)
    return replace(deed, text=ready(state, state.lists[found[0]]).items[found[1]].response) if found else deed


def _place_in_hand(state: RunState) -> str:
    current = state.current
    at = first_open(state, current) if current is not None else None
    return ready(state, current).items[at].id if current is not None and at is not None else ""
