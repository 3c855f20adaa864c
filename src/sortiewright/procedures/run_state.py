"""Where a crew run stands: which lists are open, who has answered what, what is put off.

A state is frozen and compares by what a crew would see; how it came about (``history``) takes no part.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from sortiewright.procedures.events import Event, Place
from sortiewright.procedures.tailored import Checklists, ReadyItem, ReadyProcedure

ListEnd = Literal["", "complete", "ended", "left"]
RANK = {"normal": 0, "abnormal": 1, "emergency": 2}
"""What may interrupt what: nothing milder than what is open."""
BEFORE_LANDING = "before_landing"
"""Where a go-around leads back to (``Order.go_around``)."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One seat's word on one item: an answer, or a skip with its reason."""

    seat: str
    text: str
    time: datetime
    skipped: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """Something that was said once: who, what, when."""

    who: str
    text: str
    time: datetime


@dataclass(frozen=True, slots=True)
class Release:
    """How a hold came to be released: ``by`` gave it and ``who`` reported it, or ``reason`` overrode it."""

    who: str
    by: str
    reason: str
    time: datetime


@dataclass(frozen=True, slots=True)
class ItemState:
    """What has been said on one item. ``since`` is when it last became awaited."""

    marks: tuple[Mark, ...] = ()
    deferred: Said | None = None
    taken_up: bool = False
    disagreed: Said | None = None
    branched: Said | None = None
    """The answer that was not the wanted one and opened another list."""
    release: Release | None = None
    since: datetime | None = None


@dataclass(frozen=True, slots=True)
class RunList:
    """One list as far as the crew has come; ``items`` are in the order of the procedure's."""

    procedure: str
    items: tuple[ItemState, ...]
    opened: datetime
    round: int = 1
    reason: str = ""
    """Why it was begun though others were incomplete."""
    end: ListEnd = ""
    end_reason: str = ""
    closed: datetime | None = None
    asks_where: bool = False
    """It was interrupted, and the crew must say where it goes on."""


@dataclass(frozen=True, slots=True)
class Connection:
    """Whether a seat has a device on the run, and since when."""

    seat: str
    connected: bool
    since: datetime


@dataclass(frozen=True, slots=True)
class RunState:
    """A crew run at one moment. ``stack``: positions in ``lists`` of the open ones, the one in hand last."""

    checklists: Checklists = field(compare=False, repr=False)
    started: bool = False
    title: str = ""
    lists: tuple[RunList, ...] = ()
    stack: tuple[int, ...] = ()
    waived: tuple[str, ...] = ()
    """Normal lists that the crew passed over with a stated reason."""
    over: bool = False
    """A list led to the end of the sortie."""
    connections: tuple[Connection, ...] = ()
    notes: tuple[Said, ...] = ()
    seq: int = field(default=0, compare=False)
    """Of the last event taken in, undone ones and undoings too."""
    history: tuple[Event, ...] = field(default=(), compare=False, repr=False)
    """The events that count: without undone ones and undoings."""
    known: frozenset[str] = field(default=frozenset(), compare=False, repr=False)
    """Ids of all events taken in."""
    ignored: tuple[str, ...] = field(default=(), compare=False, repr=False)
    """Ids of events that the rules do not allow: another program must have written them."""

    @property
    def current(self) -> RunList | None:
        """The list in hand."""
        return self.lists[self.stack[-1]] if self.stack else None


@dataclass(frozen=True, slots=True)
class Due:
    """An item whose turn it is. ``holding``: its hold comes first; else ``seats`` have still to answer."""

    place: Place
    item: ReadyItem
    seats: tuple[str, ...]
    holding: bool
    since: datetime | None


@dataclass(frozen=True, slots=True)
class Outstanding:
    """An item that was put off, wherever its list stands."""

    place: Place
    title: str
    """Of its list."""
    item: ReadyItem
    taken_up: bool
    said: Said


def procedure_of(checklists: Checklists, procedure: str) -> ReadyProcedure | None:
    """Return today's list of that id."""
    if checklists.by_id:
        return checklists.by_id.get(procedure)
    return next((one for one in (*checklists.normal, *checklists.others) if one.id == procedure), None)


def ready(state: RunState, run_list: RunList) -> ReadyProcedure:
    """Return the procedure of a list that has been opened."""
    found = procedure_of(state.checklists, run_list.procedure)
    assert found is not None  # the rules open no other
    return found


def seat_title(state: RunState, key: str) -> str:
    """Return a seat's or party's title: ``Front seat``."""
    named = dict((*state.checklists.parties, *state.checklists.seats))
    return named.get(key) or key.replace("_", " ")


def latest(state: RunState, procedure: str) -> int | None:
    """Return the position of a procedure's last round in ``lists``."""
    found = (at for at in range(len(state.lists) - 1, -1, -1) if state.lists[at].procedure == procedure)
    return next(found, None)


def find(state: RunState, place: Place) -> tuple[int, int] | None:
    """Return the positions of a place's list and item, if its list was opened and this is its last round."""
    at = latest(state, place.procedure)
    if at is None or state.lists[at].round != place.round:
        return None
    items = ready(state, state.lists[at]).items
    return next(((at, index) for index, item in enumerate(items) if item.id == place.item), None)


def holds(item: ReadyItem, so_far: ItemState) -> bool:
    """Return whether the item still waits for its hold."""
    return item.hold is not None and so_far.release is None


def awaited_seats(item: ReadyItem, so_far: ItemState) -> tuple[str, ...]:
    """Return the seats that have still to answer an item."""
    marked = {mark.seat for mark in so_far.marks}
    return () if item.any_one and marked else tuple(seat for seat in item.seats if seat not in marked)


def is_done(item: ReadyItem, so_far: ItemState) -> bool:
    """Return whether nothing is left to say on an item."""
    return so_far.deferred is None and not holds(item, so_far) and not awaited_seats(item, so_far)


def is_passed(item: ReadyItem, so_far: ItemState) -> bool:
    """Return whether the list may go on past an item: it is done, or put off and not taken up."""
    return (so_far.deferred is not None and not so_far.taken_up) or (
        not holds(item, so_far) and not awaited_seats(item, so_far)
    )


def bind(earlier: ReadyItem, later: ReadyItem, pace: str) -> bool:
    """Return whether an item must be passed before a later one may be answered.

    Apart, a seat's items bind only its own, shared items bind all their seats, and holds bind everybody.
    """
    if pace != "apart" or earlier.hold is not None or later.hold is not None:
        return True
    return not set(earlier.seats).isdisjoint(later.seats)


def due_in(state: RunState, run_list: RunList) -> tuple[int, ...]:
    """Return the positions of the items of a list whose turn it is, were the list in hand."""
    procedure = ready(state, run_list)
    open_items: list[ReadyItem] = []
    found: list[int] = []
    for index, (item, so_far) in enumerate(zip(procedure.items, run_list.items, strict=True)):
        if is_passed(item, so_far):
            continue
        if not any(bind(earlier, item, procedure.pace) for earlier in open_items):
            found.append(index)
        open_items.append(item)
    return tuple(found)


def due(state: RunState) -> tuple[Due, ...]:
    """Return every item whose turn it is: in the list in hand, and deferred ones taken up from lists left."""
    found: list[Due] = []
    current = state.current
    if current is not None and not current.asks_where:
        found += [_due_at(state, current, index) for index in due_in(state, current)]
    if len(state.stack) <= 1 and not _is_special(state, current):
        found += [
            _due_at(state, one, index)
            for one in _open_ended(state)
            for index, so_far in enumerate(one.items)
            if so_far.taken_up and not is_passed(ready(state, one).items[index], so_far)
        ]
    return tuple(found)


def outstanding(state: RunState) -> tuple[Outstanding, ...]:
    """Return every deferred item, oldest first."""
    found = [
        Outstanding(Place(one.procedure, item.id, one.round), procedure.title, item, so_far.taken_up, said)
        for one in _last_rounds(state)
        if one.end != "complete"
        for procedure in [ready(state, one)]
        for item, so_far in zip(procedure.items, one.items, strict=True)
        if (said := so_far.deferred) is not None
    ]
    return tuple(sorted(found, key=lambda one: one.said.time))


def first_open(state: RunState, run_list: RunList) -> int | None:
    """Return the position of the first item that is not passed: where an interrupted list goes on."""
    items = ready(state, run_list).items
    pairs = zip(items, run_list.items, strict=True)
    return next((at for at, (item, so_far) in enumerate(pairs) if not is_passed(item, so_far)), None)


def re_read(state: RunState, run_list: RunList) -> tuple[int, ...]:
    """Return the positions of the last two items answered before the first open one."""
    at = first_open(state, run_list)
    items = ready(state, run_list).items
    before = range(len(items) if at is None else at)
    return tuple(index for index in before if is_done(items[index], run_list.items[index]))[-2:]


def not_done(state: RunState, run_list: RunList) -> tuple[int, ...]:
    """Return the positions of the items that keep a list from being complete."""
    pairs = zip(ready(state, run_list).items, run_list.items, strict=True)
    return tuple(at for at, (item, so_far) in enumerate(pairs) if not is_done(item, so_far))


def incomplete_before(state: RunState, procedure: str) -> tuple[str, ...]:
    """Return the normal lists due before one that nobody completed, ended, left or waived."""
    settled = {one.procedure for one in _last_rounds(state) if one.end} | set(state.waived)
    missing: list[str] = []
    for one in state.checklists.normal:
        if one.id == procedure:
            break
        if one.id != state.checklists.go_around and one.id not in settled:
            missing.append(one.id)
    return tuple(missing)


def next_list(state: RunState) -> ReadyProcedure | None:
    """Return the normal list that is to be opened next; None after the last, or while a list is open."""
    if state.stack or state.over:
        return None
    go_around = state.checklists.go_around
    normal = [one for one in state.checklists.normal if one.id != go_around]
    begun = [one for one in state.lists if ready(state, one).kind == "normal"]
    if not begun:
        return normal[0] if normal else None
    if begun[-1].procedure == go_around:
        led_back = procedure_of(state.checklists, BEFORE_LANDING)
        earlier = [one.procedure for one in begun if one.procedure != go_around]
        return led_back or (procedure_of(state.checklists, earlier[-1]) if earlier else None)
    order = [one.id for one in normal]
    later = normal[order.index(begun[-1].procedure) + 1 :]
    return next((one for one in later if not _is_behind(state, one.id, begun[-1].round)), None)


def is_finished(state: RunState) -> bool:
    """Return whether the run has come to its end: the last normal list is behind it, or a list led there."""
    return state.over or (bool(state.lists) and not state.stack and next_list(state) is None)


def _due_at(state: RunState, run_list: RunList, index: int) -> Due:
    item, so_far = ready(state, run_list).items[index], run_list.items[index]
    place = Place(run_list.procedure, item.id, run_list.round)
    return Due(place, item, awaited_seats(item, so_far), holds(item, so_far), so_far.since)


def _last_rounds(state: RunState) -> list[RunList]:
    return list({one.procedure: one for one in state.lists}.values())


def _open_ended(state: RunState) -> list[RunList]:
    return [one for one in _last_rounds(state) if one.end in ("left", "ended")]


def _is_behind(state: RunState, procedure: str, round_: int) -> bool:
    """Return whether a list was completed out of order, in this round through the lists."""
    at = latest(state, procedure)
    return at is not None and state.lists[at].end == "complete" and state.lists[at].round >= round_


def _is_special(state: RunState, run_list: RunList | None) -> bool:
    return run_list is not None and ready(state, run_list).kind != "normal"
