"""Guidelines on abnormal and emergency lists: when, what first, what after, and what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sortiewright.procedures.guidelines_marks import Mark, Marks, lists, places
from sortiewright.procedures.schema import Procedure

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures

MOST_MEMORY_ITEMS = 6
"""Of one list. Common practice, no source; the studies say few, and give no number."""
PARTS = ("immediate", "follow-up", "deferred")


def without_entry(procedures: Procedures) -> Marks:
    """Mark lists that do not say by what the crew knows that this is the one."""
    for name, procedure in lists(procedures, "abnormal", "emergency"):
        if not procedure.entry.strip():
            yield Mark(name, None, "has no entry: say which lights, sounds or readings call for it")


def without_status(procedures: Procedures) -> Marks:
    """Mark lists after which the crew is not told what no longer works."""
    for name, procedure in lists(procedures, "abnormal", "emergency"):
        if not procedure.status:
            yield Mark(name, None, "has no status: say what no longer works, or what to keep in mind")


def without_way_on(procedures: Procedures) -> Marks:
    """Mark lists that end without saying where the crew goes."""
    for name, procedure in lists(procedures, "abnormal", "emergency"):
        if not procedure.then:
            yield Mark(name, None, "leads nowhere: write then: resume, end, or the next procedure")


def late_memory_items(procedures: Procedures) -> Marks:
    """Mark memory items that stand below one that is read: nobody finds them there from memory."""
    for name, procedure in lists(procedures):
        read = next((at for at, item in enumerate(procedure.items) if not item.memory), len(procedure.items))
        for at, item in enumerate(procedure.items):
            if item.memory and at > read:
                yield Mark(name, at, f"a memory item below item {read + 1}, which is read: move it up")


def many_memory_items(procedures: Procedures) -> Marks:
    """Mark lists with more memory items than come to mind in their order."""
    for name, procedure in lists(procedures):
        count = sum(item.memory for item in procedure.items)
        if count > MOST_MEMORY_ITEMS:
            text = f"has {count} memory items; keep {MOST_MEMORY_ITEMS}, let the rest be read"
            yield Mark(name, None, text)


def parts_out_of_order(procedures: Procedures) -> Marks:
    """Mark items of an earlier part below those of a later one: immediate, follow-up, deferred."""
    for name, procedure in lists(procedures, "abnormal", "emergency"):
        furthest = 0
        for at, part in enumerate(item_parts(procedure)):
            if part < furthest:
                yield Mark(name, at, f"{PARTS[part]}, below an item that is {PARTS[furthest]}")
            furthest = max(furthest, part)


def item_parts(procedure: Procedure) -> list[int]:
    """Return the part of each item by rank; an item without one belongs where the item above does."""
    ranks: list[int] = []
    for item in procedure.items:
        part = item.part or ("immediate" if item.memory else None)
        ranks.append(PARTS.index(part) if part else ranks[-1] if ranks else 0)
    return ranks


def bare_branches(procedures: Procedures) -> Marks:
    """Mark branches whose case is not in words: the card could only say where, not when."""
    for name, at, item in places(procedures):
        if item.if_not and not item.if_not.case.strip():
            yield Mark(name, at, f"leads to {item.if_not.go} without a case: say in words when")
