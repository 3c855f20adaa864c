"""A run as one device shows it: the list in hand with a cell for each seat, and what it can do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sortiewright.procedures import (
    Due,
    Event,
    Joined,
    Left,
    ListPage,
    Place,
    ReadyItem,
    ReadyProcedure,
    RunPage,
    RunRow,
    RunState,
    Started,
    due,
    event_words,
    run_page,
    seat_title,
)

CellState = Literal["none", "said", "left", "own", "other", "spare"]
"""none: not this seat's item; spare: another seat has answered for it."""
LATEST = 6
"""Events that are told."""
KINDS = {"abnormal": "Abnormal", "emergency": "Emergency"}
PHASES = ("ground", "takeoff", "flight", "approach", "landing")


@dataclass(frozen=True, slots=True)
class Cell:
    """One seat of a row; ``deed`` is what a press does, empty where it does nothing."""

    seat: str
    title: str
    state: CellState
    due: bool
    deed: str


@dataclass(frozen=True, slots=True)
class Line:
    """One item of the list in hand."""

    row: RunRow
    item: ReadyItem
    place: str
    """``list:item:round``, as deeds name it."""
    status: str
    cells: tuple[Cell, ...]
    is_own: bool
    begins_part: str
    """The part of an emergency list that begins here."""
    giver: str
    waits: str
    """What its hold waits for, and from whom."""
    since: datetime | None


@dataclass(frozen=True, slots=True)
class Turn:
    """An item that this device answers now, for one of its seats."""

    place: str
    item: ReadyItem
    seat: str
    seat_title: str


@dataclass(frozen=True, slots=True)
class Held:
    """A hold at which the list stands; ``deed`` is empty where another seat's device must clear it."""

    place: str
    item: ReadyItem
    awaits: str
    giver: str
    deed: str
    since: datetime | None


@dataclass(frozen=True, slots=True)
class Told:
    """An event in words."""

    time: datetime
    words: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a device shows of a run. ``own`` are the seats that it answers for."""

    page: RunPage
    state: RunState
    own: tuple[str, ...]
    lines: tuple[Line, ...]
    turns: tuple[Turn, ...]
    held: Held | None
    waiting: tuple[str, ...]
    """Titles of the seats that others answer for and that are awaited."""
    goes_on: Line | None
    """Where an interrupted list goes on."""
    told: tuple[Told, ...]
    undo: Event | None
    undo_words: str

    @property
    def seat(self) -> str:
        """The seat in whose name this device does what concerns the whole crew; empty for a watcher."""
        return self.own[0] if self.own else ""

    @property
    def list(self) -> ListPage | None:
        """The list in hand."""
        return self.page.page

    @property
    def is_special(self) -> bool:
        """Whether it is an abnormal or emergency list."""
        return self.page.page is not None and self.page.page.procedure.kind != "normal"


def sheet_of(state: RunState, own: Sequence[str]) -> Sheet:
    """Return what a device shows that answers for these seats; none: it watches."""
    page = run_page(state)
    turns = due(state)
    lines = _lines(state, page, tuple(own))
    mine = _turns(state, turns, own)
    holding = next((one for one in turns if one.holding), None)
    awaited = [one for turn in turns if not turn.holding for one in turn.seats if one not in own]
    last = _last_of(state, own)
    return Sheet(
        page,
        state,
        tuple(own),
        lines,
        mine,
        None if holding is None else _held(state, holding, own),
        tuple(seat_title(state, one) for one in dict.fromkeys(awaited)),
        _goes_on(page, lines),
        tuple(Told(one.time, event_words(state, one)) for one in _done(state)[-LATEST:][::-1]),
        last,
        "" if last is None else event_words(state, last),
    )


def own_seats(state: RunState, seat: str, *, both: bool) -> tuple[str, ...]:
    """Return the keys of the seats that a device answers for; none where its seat is empty today.

    Seats that a pack calls otherwise than front and rear are taken in their order.
    """
    keys = [key for key, _ in state.checklists.seats]
    if seat not in ("front", "rear"):
        return ()
    if not {"front", "rear"} & set(keys):
        keys = [keys[at] for at in (("front", "rear").index(seat),) if at < len(keys)] if not both else keys
        return tuple(keys)
    own = [key for key in keys if key == seat]
    return (*own, *(key for key in keys if key != seat)) if both else tuple(own)


def place_text(place: Place) -> str:
    """Return a place as deeds name it."""
    return f"{place.procedure}:{place.item}:{place.round}"


def grouped(state: RunState) -> list[tuple[str, list[ReadyProcedure]]]:
    """Return the abnormal and emergency lists by the phase of flight in which they happen."""
    special = [one for one in state.checklists.others if one.kind != "normal"]
    phases = [*PHASES, *sorted({one.phase for one in special} - set(PHASES))]
    by_phase = {phase: [one for one in special if one.phase == phase] for phase in phases}
    worst_first = {
        phase: sorted(lists, key=lambda one: one.kind != "emergency") for phase, lists in by_phase.items()
    }
    return [(phase.capitalize(), lists) for phase, lists in worst_first.items() if lists]


def here(state: RunState) -> list[ReadyProcedure]:
    """Return the abnormal and emergency lists that belong to the list in hand, or to the one that follows."""
    page = run_page(state)
    now = page.page.procedure if page.page is not None else page.following
    if now is None:
        return []
    special = [one for one in state.checklists.others if one.kind != "normal" and one.id != now.id]
    return sorted(
        (one for one in special if {now.id, now.phase} & set(one.applies_in)),
        key=lambda one: one.kind != "emergency",
    )


def normal_lists(state: RunState) -> list[tuple[ReadyProcedure, str]]:
    """Return every normal list in order with how far it has come, the go-around last."""
    ends = {one.procedure: one.end or "open" for one in state.lists}
    lists = state.checklists
    around = [one for one in (*lists.normal, *lists.others) if one.id == lists.go_around]
    every = [*(one for one in lists.normal if one.id != lists.go_around), *around[:1]]
    return [(one, ends.get(one.id, "")) for one in every]


def _lines(state: RunState, page: RunPage, own: tuple[str, ...]) -> tuple[Line, ...]:
    if page.page is None:
        return ()
    part, found = "", list[Line]()
    for row in page.page.rows:
        begins = row.item.part if row.item.part != part else ""
        part = row.item.part
        found.append(_line(state, row, own, begins, asks=bool(page.page.question)))
    return tuple(found)


def _line(state: RunState, row: RunRow, own: tuple[str, ...], begins: str, *, asks: bool) -> Line:
    hold = row.item.hold
    giver = "" if hold is None else hold.cleared_by_title or seat_title(state, hold.cleared_by)
    return Line(
        row,
        row.item,
        place_text(row.place),
        row.status,
        tuple(_cell(row, key, title, own, asks=asks) for key, title in state.checklists.seats),
        bool(set(own) & set(row.item.seats)),
        begins,
        giver,
        "" if hold is None else hold.awaits,
        row.since,
    )


def _cell(row: RunRow, key: str, title: str, own: tuple[str, ...], *, asks: bool) -> Cell:
    mine = next((one for one in row.cells if one.seat == key), None)
    if mine is None:
        return Cell(key, title, "none", due=False, deed="")
    if mine.said:
        return Cell(key, title, "left" if row.status == "left out" else "said", due=False, deed="")
    if row.item.any_one and any(one.said for one in row.cells):
        return Cell(key, title, "spare", due=False, deed="")
    is_own = key in own
    # Pressed out of turn it is refused with what comes first; below a hold there is nothing to press.
    can_press = is_own and not row.held and not asks and row.status in ("due", "later")
    deed = f"answer:{place_text(row.place)}:{key}" if can_press else ""
    return Cell(key, title, "own" if is_own else "other", due=mine.due, deed=deed)


def _turns(state: RunState, turns: Sequence[Due], own: Sequence[str]) -> tuple[Turn, ...]:
    """Return the first item that each seat of this device has to answer."""
    found: list[Turn] = []
    for seat in own:
        turn = next((one for one in turns if not one.holding and seat in one.seats), None)
        if turn is None or (turn.item.any_one and any(one.item is turn.item for one in found)):
            continue
        found.append(Turn(place_text(turn.place), turn.item, seat, seat_title(state, seat)))
    return tuple(found)


def _held(state: RunState, turn: Due, own: Sequence[str]) -> Held:
    assert turn.item.hold is not None
    hold = turn.item.hold
    seats = [key for key, _ in state.checklists.seats]
    giver = hold.cleared_by
    actor = giver if giver in seats else (own[0] if own else "")
    deed = f"clear:{place_text(turn.place)}:{actor}:{giver}" if actor in own else ""
    title = hold.cleared_by_title or seat_title(state, giver)
    return Held(place_text(turn.place), turn.item, hold.awaits, title, deed, turn.since)


def _goes_on(page: RunPage, lines: Sequence[Line]) -> Line | None:
    if page.page is None or not page.page.question:
        return None
    return next((one for one in lines if one.status == "later"), None)


def _done(state: RunState) -> list[Event]:
    return [one for one in state.history if not isinstance(one.deed, Started)]


def _last_of(state: RunState, own: Sequence[str]) -> Event | None:
    """Return the last event that these seats may ask to take back; whether it can be is judged then."""
    mine = (one for one in reversed(_done(state)) if not isinstance(one.deed, Joined | Left))
    return next((one for one in mine if one.actor in own), None)
