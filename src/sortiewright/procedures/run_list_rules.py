"""What the rules allow with whole lists: opening, interrupting, resuming, and their end."""

from __future__ import annotations

from sortiewright.pack import listed
from sortiewright.procedures.events import Completed, Ended, Opened, Place, Resumed
from sortiewright.procedures.run_refusals import Already, Judgement, Refusal, no_list
from sortiewright.procedures.run_state import (
    RANK,
    RunList,
    RunState,
    first_open,
    incomplete_before,
    is_done,
    latest,
    not_done,
    procedure_of,
    ready,
)
from sortiewright.procedures.tailored import ReadyItem


def judge_opening(state: RunState, deed: Opened) -> Judgement:
    """Return whether a normal list may be begun."""
    procedure = procedure_of(state.checklists, deed.procedure)
    if procedure is None:
        return Refusal(no_list(state, deed.procedure))
    if procedure.kind != "normal":
        return Refusal(f"{procedure.title} is no normal list: it interrupts")
    current = state.current
    if current is not None and current.procedure == procedure.id:
        return Already(f"{procedure.title} is open")
    if deed.reason:
        return None
    if current is not None and RANK[ready(state, current).kind]:
        return Refusal(f"{ready(state, current).title} is open. Complete it, or end it with a reason")
    if procedure.id == state.checklists.go_around:
        return None
    missing = list(incomplete_before(state, procedure.id))
    if current is not None and current.procedure not in missing:
        missing.append(current.procedure)
    if missing:
        titles = [one.title for name in missing if (one := procedure_of(state.checklists, name))]
        what = "is not complete" if len(titles) == 1 else "are not complete"
        them = "it" if len(titles) == 1 else "them"
        words = f"{listed(titles, 4)} {what}. Complete {them} first, or give a reason to go on without"
        return Refusal(words, _remaining(state, current) if current else ())
    return Refusal("The sortie is over: give a reason to go on") if state.over else None


def judge_interruption(state: RunState, name: str, *, branching: bool = False) -> Judgement:
    """Return whether a list may come over the one in hand."""
    procedure = procedure_of(state.checklists, name)
    if procedure is None:
        return Refusal(no_list(state, name))
    if not branching and procedure.kind == "normal":
        return Refusal(f"{procedure.title} is a normal list: open it")
    current = state.current
    if current is not None and current.procedure == name and not branching:
        return Already(f"{procedure.title} is open")
    if any(state.lists[at].procedure == name for at in state.stack):
        return Refusal(
            f"{procedure.title} is open already, below {ready(state, current).title if current else ''}"
        )
    if current is not None and not branching and RANK[procedure.kind] < RANK[ready(state, current).kind]:
        return Refusal(f"{ready(state, current).title} is worse than {procedure.title} and comes first")
    return None


def judge_resumption(state: RunState, deed: Resumed) -> Judgement:
    """Return whether an interrupted list may go on at a place."""
    current = state.current
    if current is None or current.procedure != deed.procedure:
        return Refusal(
            no_list(state, deed.procedure) if current is None else f"{ready(state, current).title} is open"
        )
    procedure = ready(state, current)
    if not current.asks_where:
        return Already(f"{procedure.title} goes on")
    goes_on = first_open(state, current)
    if not deed.at and goes_on is None:
        return None
    index = next((at for at, item in enumerate(procedure.items) if item.id == deed.at), None)
    if index is None:
        wanted = procedure.items[goes_on].challenge if goes_on is not None else "the completion call"
        return Refusal(f"Say where {procedure.title} goes on: at {wanted}, or earlier")
    if goes_on is not None and index > goes_on:
        return Refusal(f"{procedure.items[goes_on].challenge} is not answered yet: go on there, or earlier")
    return None


def judge_end(state: RunState, deed: Ended | Completed) -> Judgement:
    """Return whether a list may be completed or broken off."""
    at = latest(state, deed.procedure)
    if at is None:
        return Refusal(no_list(state, deed.procedure))
    run_list = state.lists[at]
    title = ready(state, run_list).title
    if run_list.end == "complete" or (run_list.end == "ended" and isinstance(deed, Ended)):
        return Already(f"{title} is {run_list.end}")
    if at in state.stack and run_list is not state.current:
        return Refusal(f"{title} is stopped: {_current_title(state)} comes first")
    if isinstance(deed, Ended):
        if run_list.end:
            return Refusal(f"{title} is not open")
        return None if deed.reason else Refusal(f"Ending {title} before it is complete needs a reason")
    if run_list.asks_where:
        return Refusal(f"{title} was interrupted: say first where it goes on")
    return _of_completion(state, run_list)


def _of_completion(state: RunState, run_list: RunList) -> Refusal | None:
    remains = not_done(state, run_list)
    if not remains:
        return None
    procedure = ready(state, run_list)
    words = [
        _still_open(procedure.items[index], run_list.items[index].deferred is not None) for index in remains
    ]
    places = _remaining(state, run_list)
    return Refusal(f"{procedure.title} is not complete: {listed(words, 6)}", places)


def _still_open(item: ReadyItem, deferred: bool) -> str:
    return (
        f"{item.number} {item.challenge} put off until {item.until}"
        if deferred
        else f"{item.number} {item.challenge}"
    )


def _remaining(state: RunState, run_list: RunList) -> tuple[Place, ...]:
    items = ready(state, run_list).items
    return tuple(
        Place(run_list.procedure, item.id, run_list.round)
        for item, so_far in zip(items, run_list.items, strict=True)
        if not is_done(item, so_far)
    )


def _current_title(state: RunState) -> str:
    current = state.current
    return ready(state, current).title if current is not None else "nothing"
