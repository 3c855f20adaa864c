"""What a guideline hands back, and how guidelines walk through the lists."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from sortiewright.procedures.schema import Control, Item, Procedure

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures


class Mark(NamedTuple):
    """One place at which a guideline is not kept."""

    procedure: str
    item: int | None
    """Index into the procedure's items; None where the list as a whole is meant."""
    text: str
    """What is wrong there and what to do, a sentence or two without the place."""


Marks = Iterator[Mark]
Finder = Callable[["Procedures"], Marks]


class Place(NamedTuple):
    """An item where it stands."""

    procedure: str
    at: int
    item: Item


def places(procedures: Procedures, *kinds: str) -> Iterator[Place]:
    """Yield every item of the procedures of some kinds, of all where none is named, in the files' order."""
    for name, procedure in lists(procedures, *kinds):
        for at, item in enumerate(procedure.items):
            yield Place(name, at, item)


def lists(procedures: Procedures, *kinds: str) -> Iterator[tuple[str, Procedure]]:
    """Yield every procedure of some kinds with its name."""
    for name, procedure in procedures.procedures.items():
        if not kinds or procedure.kind in kinds:
            yield name, procedure


def in_order(procedures: Procedures) -> Iterator[tuple[str, Procedure]]:
    """Yield the normal procedures of a sortie in their order, those that the order names and that exist."""
    known = procedures.procedures
    yield from ((name, known[name]) for name in procedures.order.sortie if name in known)


def controls_of(procedures: Procedures, item: Item) -> dict[str, Control]:
    """Return the controls that an item is about: those it sets, else the one that its challenge names."""
    controls = procedures.cockpit.controls
    moved = {name: controls[name] for name in item.sets if name in controls}
    if moved:
        return moved
    asked = plain(item.challenge)
    return {
        name: control
        for name, control in controls.items()
        if asked in (plain(control.title), plain(name.replace("_", " ")))
    }


def plain(text: str) -> str:
    """Return a text without case, signs and extra spaces, for comparison."""
    return " ".join("".join(sign if sign.isalnum() else " " for sign in text.casefold()).split())


def quoted(text: str) -> str:
    """Return a text as a finding quotes it, cut short."""
    words = " ".join(text.split()).replace('"', "'")
    return f'"{words if len(words) <= 60 else words[:57] + "..."}"'
