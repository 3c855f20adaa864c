"""A run as a device shows it: plain values, no rules. The terminal and a web page draw the same."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sortiewright.procedures.events import Place
from sortiewright.procedures.run_calls import completion_call, resume_text
from sortiewright.procedures.run_state import (
    ItemState,
    Outstanding,
    RunList,
    RunState,
    due,
    first_open,
    holds,
    is_done,
    next_list,
    not_done,
    outstanding,
    ready,
    seat_title,
)
from sortiewright.procedures.tailored import ReadyItem, ReadyProcedure

Status = Literal["done", "left out", "put off", "due", "hold", "later"]
"""Later: not yet its turn, or locked by a hold."""


@dataclass(frozen=True, slots=True)
class SeatCell:
    """One seat of a row: ``due`` and not ``said`` means that it is awaited."""

    seat: str
    said: bool
    due: bool


@dataclass(frozen=True, slots=True)
class RunRow:
    """One line of a list on a device."""

    place: Place
    item: ReadyItem
    status: Status
    cells: tuple[SeatCell, ...]
    words: str
    """What was said, or what is waited for."""
    since: datetime | None
    held: bool = False
    """Its hold is not released yet."""


@dataclass(frozen=True, slots=True)
class ListPage:
    """A list on a device; ``question`` asks where it goes on, ``call`` is what ends it."""

    procedure: ReadyProcedure
    round: int
    rows: tuple[RunRow, ...]
    question: str
    call: str
    remaining: int


@dataclass(frozen=True, slots=True)
class SeatLine:
    """Whether a seat is there: None where it never was."""

    seat: str
    title: str
    connected: bool | None
    since: datetime | None


@dataclass(frozen=True, slots=True)
class RunPage:
    """All that a device shows of a run."""

    title: str
    page: ListPage | None
    stopped: tuple[str, ...]
    """Titles of the lists under the one in hand, with the item at which each stopped."""
    following: ReadyProcedure | None
    outstanding: tuple[Outstanding, ...]
    seats: tuple[SeatLine, ...]
    over: bool


def run_page(state: RunState) -> RunPage:
    """Return what a device shows of a run."""
    current = state.current
    below = [state.lists[at] for at in state.stack[:-1]]
    return RunPage(
        state.title,
        None if current is None else list_page(state, current),
        tuple(_stopped(state, one) for one in reversed(below)),
        next_list(state),
        outstanding(state),
        tuple(_seat_line(state, key, title) for key, title in state.checklists.seats),
        state.over,
    )


def list_page(state: RunState, run_list: RunList) -> ListPage:
    """Return a list that was opened, line by line."""
    procedure = ready(state, run_list)
    turns = {one.place for one in due(state)}
    pairs = zip(procedure.items, run_list.items, strict=True)
    return ListPage(
        procedure,
        run_list.round,
        tuple(_row(state, run_list, item, so_far, turns) for item, so_far in pairs),
        resume_text(state, run_list) if run_list.asks_where else "",
        completion_call(state, run_list),
        len(not_done(state, run_list)),
    )


def _row(state: RunState, run_list: RunList, item: ReadyItem, so_far: ItemState, turns: set[Place]) -> RunRow:
    place = Place(run_list.procedure, item.id, run_list.round)
    said = {mark.seat for mark in so_far.marks}
    is_due = place in turns
    status = _status(item, so_far, is_due)
    awaited = status == "due"
    cells = tuple(SeatCell(seat, seat in said, awaited and seat not in said) for seat in item.seats)
    return RunRow(place, item, status, cells, _words(state, item, so_far), so_far.since, holds(item, so_far))


def _status(item: ReadyItem, so_far: ItemState, is_due: bool) -> Status:
    if so_far.deferred is not None and not so_far.taken_up:
        return "put off"
    if is_done(item, so_far):
        return "left out" if so_far.marks and all(mark.skipped for mark in so_far.marks) else "done"
    if not is_due:
        return "later"
    return "hold" if holds(item, so_far) else "due"


def _words(state: RunState, item: ReadyItem, so_far: ItemState) -> str:
    """Return what there is to say of an item beside its challenge and response."""
    words: list[str] = []
    if item.hold is not None:
        words.append(_hold_words(state, item, so_far))
    if (said := so_far.disagreed) is not None:
        words.append(f"{seat_title(state, said.who)} disagrees: {said.text}")
    if (said := so_far.branched) is not None and not so_far.marks:
        words.append(f"{seat_title(state, said.who)}: no{f', {said.text}' if said.text else ''}")
    if so_far.deferred is not None:
        words.append(f"put off until {item.until}")
    for mark in so_far.marks:
        if mark.skipped:
            words.append(f"{seat_title(state, mark.seat)} left it out: {mark.text}")
        elif mark.text != item.response:
            words.append(f"{seat_title(state, mark.seat)}: {mark.text}")
    return ". ".join(words)


def _hold_words(state: RunState, item: ReadyItem, so_far: ItemState) -> str:
    assert item.hold is not None
    release = so_far.release
    if release is None:
        who = item.hold.cleared_by_title or seat_title(state, item.hold.cleared_by)
        return f"{item.hold.awaits}, from {who}"
    if release.by:
        return f"{item.hold.awaits}: cleared by {seat_title(state, release.by)}"
    return f"{item.hold.awaits}: overridden, {release.reason}"


def _stopped(state: RunState, run_list: RunList) -> str:
    procedure = ready(state, run_list)
    at = first_open(state, run_list)
    if at is None:
        return procedure.title
    return f"{procedure.title}, at {procedure.items[at].number} {procedure.items[at].challenge}"


def _seat_line(state: RunState, key: str, title: str) -> SeatLine:
    known = next((one for one in state.connections if one.seat == key), None)
    return SeatLine(key, title, known.connected if known else None, known.since if known else None)
