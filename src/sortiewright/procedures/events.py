"""What can happen in a crew run, as a log keeps it: who did what, and when.

A deed is what a device proposes and, once the rules let it stand, what the log holds for good. Nothing that
follows from it is written down: the state is always the fold over the deeds (``run_fold``).
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from typing import Any, cast

INSTRUCTOR = "instructor"
"""Who may do everything that a seat may but answer."""


@dataclass(frozen=True, slots=True)
class Place:
    """An item of a list; ``round`` counts how often that list has been begun, so that a late answer of an
    earlier round never falls on this one."""

    procedure: str
    item: str
    round: int = 1


@dataclass(frozen=True, slots=True)
class Started:
    """The run begins: which lists it is of. ``parts`` has a digest of each list, to say which one differs."""

    digest: str
    title: str
    parts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """A normal list is begun, or taken up where it was left; ``reason``: why, if others are incomplete."""

    procedure: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """The acting seat answers. Not ``wanted``: the state is another, and the item's branch is taken."""

    place: Place
    text: str = ""
    wanted: bool = True


@dataclass(frozen=True, slots=True)
class Disagreed:
    """Somebody does not see what was answered or is wanted: the item is open again."""

    place: Place
    why: str


@dataclass(frozen=True, slots=True)
class Skipped:
    """The acting seat leaves its answer out and says why."""

    place: Place
    reason: str


@dataclass(frozen=True, slots=True)
class Deferred:
    """The item is put off until the moment that the list names."""

    place: Place


@dataclass(frozen=True, slots=True)
class TakenUp:
    """A deferred item is asked again."""

    place: Place


@dataclass(frozen=True, slots=True)
class Cleared:
    """The item's hold is released: ``by`` is who gave the clearance, the actor is who says so."""

    place: Place
    by: str


@dataclass(frozen=True, slots=True)
class Overridden:
    """The crew goes on past a hold that nobody released."""

    place: Place
    reason: str


@dataclass(frozen=True, slots=True)
class Interrupted:
    """An abnormal or emergency list comes over everything; ``at`` is the item where the list below stops."""

    procedure: str
    at: str = ""


@dataclass(frozen=True, slots=True)
class Resumed:
    """The crew has said where an interrupted list goes on: the item awaited, or an earlier one."""

    procedure: str
    at: str


@dataclass(frozen=True, slots=True)
class Ended:
    """A list is broken off and will not be completed."""

    procedure: str
    reason: str


@dataclass(frozen=True, slots=True)
class Completed:
    """The completion call."""

    procedure: str


@dataclass(frozen=True, slots=True)
class Undone:
    """An earlier event is taken back."""

    event: str


@dataclass(frozen=True, slots=True)
class Joined:
    """A seat has a device on the run."""

    seat: str


@dataclass(frozen=True, slots=True)
class Left:
    """A seat has no device any more; its items wait."""

    seat: str


@dataclass(frozen=True, slots=True)
class Noted:
    """Words for the debrief."""

    text: str


Deed = (
    Started
    | Opened
    | Answered
    | Disagreed
    | Skipped
    | Deferred
    | TakenUp
    | Cleared
    | Overridden
    | Interrupted
    | Resumed
    | Ended
    | Completed
    | Undone
    | Joined
    | Left
    | Noted
)
AtItem = Answered | Disagreed | Skipped | Deferred | TakenUp | Cleared | Overridden


@dataclass(frozen=True, slots=True)
class Proposal:
    """A deed that a device would like to stand. The device makes the id: one sent twice counts once."""

    id: str
    actor: str
    deed: Deed


@dataclass(frozen=True, slots=True)
class Event:
    """A deed that stands. ``id`` is the proposal's, ``time`` is UTC, ``seq`` counts from 1 without a gap."""

    id: str
    seq: int
    time: datetime
    actor: str
    deed: Deed


KINDS: dict[str, type[Deed]] = {
    "started": Started,
    "opened": Opened,
    "answered": Answered,
    "disagreed": Disagreed,
    "skipped": Skipped,
    "deferred": Deferred,
    "taken up": TakenUp,
    "cleared": Cleared,
    "overridden": Overridden,
    "interrupted": Interrupted,
    "resumed": Resumed,
    "ended": Ended,
    "completed": Completed,
    "undone": Undone,
    "joined": Joined,
    "left": Left,
    "noted": Noted,
}
_NAMES = {kind: name for name, kind in KINDS.items()}


def kind_of(deed: Deed) -> str:
    """Return the deed's word: ``answered``."""
    return _NAMES[type(deed)]


def event_to_text(event: Event) -> str:
    """Return the event as one line of JSON, always the same for the same event."""
    record: dict[str, Any] = {
        "id": event.id,
        "seq": event.seq,
        "time": event.time.astimezone(UTC).isoformat(timespec="microseconds"),
        "actor": event.actor,
        "kind": kind_of(event.deed),
    }
    for part in fields(event.deed):
        value = getattr(event.deed, part.name)
        record[part.name] = [value.procedure, value.item, value.round] if part.name == "place" else value
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"))


def event_from_text(text: str) -> Event:
    """Return the event that a line of JSON holds; ``ValueError`` where it holds none."""
    record: Any = json.loads(text)
    if not isinstance(record, dict):
        raise ValueError("an event is a mapping")
    read = _Reader(cast("dict[str, Any]", record))
    kind = KINDS.get(read.text("kind"))
    if kind is None:
        raise ValueError("no such kind of event")
    time = datetime.fromisoformat(read.text("time"))
    if time.tzinfo is None:
        raise ValueError("a time without UTC")
    values = {part.name: read.field(part.name, str(part.type)) for part in fields(kind)}
    deed = kind(**values)
    return Event(read.text("id"), read.number("seq"), time.astimezone(UTC), read.text("actor"), deed)


class _Reader:
    """Reads a record field by field, each of the type it must have."""

    def __init__(self, record: dict[str, Any]) -> None:
        self.record = record

    def field(self, name: str, kind: str) -> Any:
        match kind:
            case "Place":
                return self.place(name)
            case "bool":
                return self.of_type(name, bool)
            case "str":
                return self.text(name)
            case _:
                return self.pairs(name)

    def of_type(self, name: str, kind: type) -> Any:
        value = self.record.get(name)
        if type(value) is not kind:
            raise ValueError(f"{name} is no {kind.__name__}")
        return value

    def text(self, name: str) -> str:
        return self.of_type(name, str)

    def number(self, name: str) -> int:
        return self.of_type(name, int)

    def place(self, name: str) -> Place:
        match self.record.get(name):
            case [str(procedure), str(item), int(count)]:
                return Place(procedure, item, count)
            case _:
                raise ValueError(f"{name} is no place")

    def pairs(self, name: str) -> tuple[tuple[str, str], ...]:
        found: list[tuple[str, str]] = []
        for one in self.of_type(name, list):
            match one:
                case [str(first), str(second)]:
                    found.append((first, second))
                case _:
                    raise ValueError(f"{name} is no list of pairs")
        return tuple(found)
