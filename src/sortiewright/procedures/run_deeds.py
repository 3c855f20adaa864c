"""What each deed changes, once the rules have let it stand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import datetime
from typing import TypeVar

from sortiewright.procedures.events import (
    Answered,
    Cleared,
    Completed,
    Deed,
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
    Resumed,
    Skipped,
    Started,
    TakenUp,
    Undone,
)
from sortiewright.procedures.run_state import (
    Connection,
    ItemState,
    ListEnd,
    Mark,
    Release,
    RunList,
    RunState,
    Said,
    awaited_seats,
    due_in,
    find,
    first_open,
    incomplete_before,
    is_passed,
    latest,
    procedure_of,
    ready,
)
from sortiewright.procedures.tailored import ReadyItem, ReadyProcedure

LONGEST_TEXT = 500
"""Characters of a reason or note; longer ones are cut, for they come from a keyboard by mistake."""
AnyDeed = TypeVar("AnyDeed", bound=Deed)


def cleaned(deed: AnyDeed) -> AnyDeed:
    """Return a deed whose texts are one line each, without what could steer a terminal."""
    texts = {part.name: getattr(deed, part.name) for part in fields(deed)}
    return replace(deed, **{name: _one_line(text) for name, text in texts.items() if isinstance(text, str)})


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text[:LONGEST_TEXT]).split())


def applied(state: RunState, event: Event) -> RunState:
    """Return the state after an event that the rules allow; ``Undone`` is not among these."""
    return _timed(state, _changed(state, event), event.time)


def _changed(state: RunState, event: Event) -> RunState:
    time, actor, deed = event.time, event.actor, event.deed
    match deed:
        case Started(_, title):
            return replace(state, started=True, title=title)
        case Answered() | Skipped() | Disagreed() | Deferred() | TakenUp() | Cleared() | Overridden():
            return _item_changed(state, event)
        case Opened(procedure, reason):
            return _opened(state, procedure, reason, time)
        case Interrupted(procedure):
            return _pushed(state, procedure, time)
        case Resumed(procedure, at):
            return _resumed(state, procedure, at)
        case Ended(procedure, reason):
            return _ended(state, procedure, "ended", reason, time)
        case Completed(procedure):
            return _ended(state, procedure, "complete", "", time)
        case Joined(seat) | Left(seat):
            return _connected(state, seat, isinstance(deed, Joined), time)
        case Noted(text):
            return replace(state, notes=(*state.notes, Said(actor, text, time)))
        case Undone():
            raise ValueError("an undoing is folded, not applied")


def _item_changed(state: RunState, event: Event) -> RunState:
    deed = event.deed
    assert isinstance(deed, Answered | Skipped | Disagreed | Deferred | TakenUp | Cleared | Overridden)
    found = find(state, deed.place)
    assert found is not None  # the rules have seen to it
    at, index = found
    item = ready(state, state.lists[at]).items[index]
    seats = [key for key, _ in state.checklists.seats]
    after = _with_item(state, at, index, lambda so_far: _said(so_far, event, item, seats))
    if isinstance(deed, Answered) and not deed.wanted and item.branch is not None:
        return _branched(after, item.branch.go, event.time)
    return after


def _branched(state: RunState, name: str, time: datetime) -> RunState:
    """Return the state in another list: over this one, or instead of it where it is a normal one."""
    target = procedure_of(state.checklists, name)
    if target is not None and target.kind == "normal":
        return _begun(_left(state, f"for {target.title}", time), name, "", time)
    return _pushed(state, name, time)


def _said(so_far: ItemState, event: Event, item: ReadyItem, seats: list[str]) -> ItemState:
    """Return an item's state after a word on it."""
    time, actor = event.time, event.actor
    match event.deed:
        case Answered(_, text, wanted=False):
            return replace(so_far, marks=(), branched=Said(actor, text, time))
        case Answered(_, text):
            return _marked(so_far, Mark(actor, text or item.response, time), item, seats)
        case Skipped(_, reason):
            return _marked(so_far, Mark(actor, reason, time, skipped=True), item, seats)
        case Disagreed(_, why):
            return replace(so_far, marks=(), disagreed=Said(actor, why, time), since=None)
        case Deferred():
            return replace(so_far, marks=(), deferred=Said(actor, item.until, time), taken_up=False)
        case TakenUp():
            return replace(so_far, taken_up=True, since=None)
        case Cleared(_, by):
            return replace(so_far, release=Release(actor, by, "", time))
        case Overridden(_, reason):
            return replace(so_far, release=Release(actor, "", reason, time))
        case _:
            return so_far


def _marked(so_far: ItemState, mark: Mark, item: ReadyItem, seats: list[str]) -> ItemState:
    # In the order of the seats, not of the answers: who was quicker is in the times.
    marks = tuple(sorted((*so_far.marks, mark), key=lambda one: seats.index(one.seat)))
    marked = replace(so_far, marks=marks, disagreed=None)
    if awaited_seats(item, marked):
        return replace(marked, disagreed=so_far.disagreed)
    return replace(marked, deferred=None, taken_up=False)


def _with_item(state: RunState, at: int, index: int, change: Callable[[ItemState], ItemState]) -> RunState:
    run_list = state.lists[at]
    items = (*run_list.items[:index], change(run_list.items[index]), *run_list.items[index + 1 :])
    return _with_list(state, at, replace(run_list, items=items))


def _with_list(state: RunState, at: int, run_list: RunList) -> RunState:
    return replace(state, lists=(*state.lists[:at], run_list, *state.lists[at + 1 :]))


def _opened(state: RunState, name: str, reason: str, time: datetime) -> RunState:
    """Return the state with a normal list in hand; whatever was open is left."""
    if reason:
        state = replace(state, waived=tuple(sorted({*state.waived, *incomplete_before(state, name)})))
    why = reason or f"for {_title(state, name)}"
    return _begun(replace(_left(state, why, time), over=False), name, reason, time)


def _left(state: RunState, reason: str, time: datetime) -> RunState:
    for at in state.stack:
        state = _with_list(state, at, replace(state.lists[at], end="left", end_reason=reason, closed=time))
    return replace(state, stack=())


def _begun(state: RunState, name: str, reason: str, time: datetime) -> RunState:
    """Return the state with a list on top: a new round of it, or the one that was left."""
    procedure = procedure_of(state.checklists, name)
    assert procedure is not None
    at = latest(state, name)
    if at is not None and state.lists[at].end == "left":
        again = replace(state.lists[at], end="", end_reason="", closed=None, asks_where=True)
        return replace(_with_list(state, at, again), stack=(*state.stack, at))
    round_ = 1 if at is None else state.lists[at].round + 1
    fresh = RunList(name, tuple(ItemState() for _ in procedure.items), time, round_, reason)
    return replace(state, lists=(*state.lists, fresh), stack=(*state.stack, len(state.lists)))


def _pushed(state: RunState, name: str, time: datetime) -> RunState:
    """Return the state with a list over the one in hand, which will ask where it goes on."""
    if state.stack:
        at = state.stack[-1]
        state = _with_list(state, at, replace(state.lists[at], asks_where=True))
    return _begun(state, name, "", time)


def _resumed(state: RunState, name: str, place: str) -> RunState:
    at = state.stack[-1]
    run_list = state.lists[at]
    names = [item.id for item in ready(state, run_list).items]
    start = names.index(place) if place in names else len(names)
    if start == first_open(state, run_list):
        start = len(names)  # at the item awaited: what stands after it was answered out of this order
    # From an earlier one on, all is asked again. A clearance stays given; an item put off stays put off.
    again = (replace(one, marks=(), since=None) for one in run_list.items[start:])
    items = (*run_list.items[:start], *again)
    return _with_list(state, at, replace(run_list, items=items, asks_where=False))


def _ended(state: RunState, name: str, end: ListEnd, reason: str, time: datetime) -> RunState:
    at = latest(state, name)
    assert at is not None
    run_list = state.lists[at]
    state = _with_list(state, at, replace(run_list, end=end, end_reason=reason, closed=time))
    if at not in state.stack:
        return state
    state = replace(state, stack=state.stack[:-1])
    return _led_on(state, ready(state, run_list), end, time)


def _led_on(state: RunState, procedure: ReadyProcedure, end: ListEnd, time: datetime) -> RunState:
    """Return the state after a list's ``then``: back to what it interrupted, the end, or the next list."""
    if procedure.kind == "normal" or procedure.then in ("", "resume") or end == "ended":
        return state
    if procedure.then == "end":
        return replace(_left(state, f"{procedure.title} ends the sortie", time), over=True)
    target = procedure_of(state.checklists, procedure.then)
    if target is None or any(state.lists[at].procedure == target.id for at in state.stack):
        return state
    if target.kind == "normal":
        return _begun(_left(state, f"for {target.title}", time), target.id, "", time)
    return _begun(state, target.id, "", time)


def _connected(state: RunState, seat: str, connected: bool, time: datetime) -> RunState:
    others = [one for one in state.connections if one.seat != seat]
    every = [*others, Connection(seat, connected, time)]
    return replace(state, connections=tuple(sorted(every, key=lambda one: one.seat)))


def _timed(before: RunState, state: RunState, time: datetime) -> RunState:
    """Return the state in which each item whose turn has come says since when."""
    current = state.current
    turns = set(due_in(state, current)) if current is not None and not current.asks_where else set[int]()
    for at, run_list in enumerate(state.lists):
        if run_list is not current and at < len(before.lists) and run_list is before.lists[at]:
            continue  # nothing of it has changed, and it is not its turn
        items = tuple(
            _item_timed(item, so_far, so_far.taken_up or (run_list is current and index in turns), time)
            for index, (item, so_far) in enumerate(
                zip(ready(state, run_list).items, run_list.items, strict=True)
            )
        )
        if items != run_list.items:
            state = _with_list(state, at, replace(run_list, items=items))
    return state


def _item_timed(item: ReadyItem, so_far: ItemState, is_due: bool, time: datetime) -> ItemState:
    if is_passed(item, so_far):
        return so_far
    since = (so_far.since or time) if is_due else None
    return so_far if since == so_far.since else replace(so_far, since=since)


def _title(state: RunState, name: str) -> str:
    procedure = procedure_of(state.checklists, name)
    return procedure.title if procedure is not None else name
