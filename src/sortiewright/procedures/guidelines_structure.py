"""Guidelines on the make of a list: how long, in what order, who takes part, how it ends."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from sortiewright.procedures.guidelines_marks import Mark, Marks, in_order, lists, places, plain, quoted
from sortiewright.procedures.schema import Procedure

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures

MOST_ITEMS = 12
"""Of one list, or of one part of an abnormal one. Common practice, no source: no study gives a number."""
MOST_LATE_ITEMS = 7
"""Of a list done just before takeoff. Common practice, no source."""
LEAST_FOR_THIRDS = 4
"""Items of a list that is long enough to have an early and a late part."""
LEAST_FOR_TWO = 3
"""Items from which on a list is more than a reminder for one seat."""
FILLERS = frozenset(
    ("the", "a", "of", "and", "to", "in", "for", "complete", "completed", "done", "list", "checklist")
)


def long_lists(procedures: Procedures) -> Marks:
    """Mark lists with more items than are kept in mind as one piece."""
    for name, procedure in lists(procedures):
        parts = Counter(item.part or ("immediate" if item.memory else "") for item in procedure.items)
        for part, count in parts.items():
            if count > MOST_ITEMS:
                where = f"its {part} part has" if part and procedure.kind != "normal" else "has"
                conditional = sum(bool(item.when) for item in procedure.items)
                some = f", {conditional} of them conditional" if conditional else ""
                yield Mark(name, None, f"{where} {count} items{some}; split it at {MOST_ITEMS} or fewer")


def late_killers(procedures: Procedures) -> Marks:
    """Mark critical items in the last third of a normal list, where interruptions find them undone."""
    for name, procedure in lists(procedures, "normal"):
        count = len(procedure.items)
        for at, item in enumerate(procedure.items):
            if item.killer and count >= LEAST_FOR_THIRDS and 3 * (at + 1) > 2 * count:
                yield Mark(
                    name, at, f"critical, and item {at + 1} of {count}: move it up, or repeat it later"
                )


def long_last_lists(procedures: Procedures) -> Marks:
    """Mark lists just before takeoff that are longer than a crew can give them there."""
    for name, procedure in last_lists(procedures):
        if (count := len(procedure.items)) > MOST_LATE_ITEMS:
            text = (
                f"stands last before takeoff with {count} items; keep {MOST_LATE_ITEMS}, do the rest earlier"
            )
            yield Mark(name, None, text)


def last_lists(procedures: Procedures) -> list[tuple[str, Procedure]]:
    """Return the lists from before takeoff to line-up, as their names or the order say.

    Where no name says line-up, the list that stands before the first of phase takeoff.
    """
    ordered = list(in_order(procedures))
    named = [one for one in ordered if re.search(r"before_?take_?off|line_?up", one[0])]
    if named:
        return named
    first = next((at for at, (_, one) in enumerate(ordered) if one.phase == "takeoff"), 0)
    return ordered[first - 1 : first]


def one_seat(procedures: Procedures) -> Marks:
    """Mark lists that one seat does alone, so that nobody hears what is missed."""
    seats = procedures.pack.mass.seats
    if len(seats) < 2:
        return
    for name, procedure in lists(procedures):
        answering = {seat for item in procedure.items for seat in item.seat}
        answering |= {item.hold.cleared_by for item in procedure.items if item.hold}
        absent = [seat for seat in seats if seat not in answering]
        if absent and len(procedure.items) >= LEAST_FOR_TWO:
            yield Mark(name, None, f"the {' and the '.join(absent)} seat answers nothing in it")


def unclear_endings(procedures: Procedures) -> Marks:
    """Mark lists whose completion call does not tell them from the others."""
    calls: dict[str, str] = {}
    for name, procedure in lists(procedures):
        call = procedure.complete or f"{procedure.title} complete"
        said = plain(call)
        if not plain(procedure.title):
            yield Mark(name, None, "has no title, so no call can name it as complete")
        elif said in calls:
            yield Mark(name, None, f"ends with the call of {calls[said]}: {quoted(call)}")
        elif not (set(said.split()) - FILLERS) & (set(plain(procedure.title).split()) - FILLERS):
            text = f"its call {quoted(call)} does not name the list {quoted(procedure.title)}"
            yield Mark(name, None, text)
        calls.setdefault(said, name)


def style_by_kind(procedures: Procedures) -> Marks:
    """Mark normal lists that are read as a script, and others that are done from memory of a flow."""
    for name, procedure in lists(procedures):
        wanted = "do-confirm" if procedure.kind == "normal" else "read-do"
        if procedure.style != wanted:
            yield Mark(name, None, f"is {procedure.kind} and {procedure.style}; {wanted} is wanted")


def hidden_holds(procedures: Procedures) -> Marks:
    """Mark items that wait for somebody outside without being a hold."""
    waits = re.compile(
        r"\b(clearance|cleared (?:to|for|by)|permission|hand signal|thumbs?[ -]up|signal from)\b",
        re.I,
    )
    for name, at, item in places(procedures, "normal"):
        said = f"{item.challenge} {item.response}"
        if item.hold is None and (found := waits.search(said)):
            text = f"{quoted(found[0])} comes from somebody else: make it a hold, which says from whom"
            yield Mark(name, at, text)


def unexplained_killers(procedures: Procedures) -> Marks:
    """Mark critical items without a reason: the amplified procedure has nothing to say of them."""
    for name, at, item in places(procedures):
        if item.killer and not item.why:
            yield Mark(name, at, "critical, and nothing says why: write why")
