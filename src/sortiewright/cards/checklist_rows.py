"""One checklist as the template prints it: its items as rows, and how it begins and ends."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.typeface import printable
from sortiewright.procedures import Checklists, ReadyItem, ReadyProcedure

STYLES = {"do-confirm": "done from flow, now confirm", "read-do": "read, then do"}
APART = "each seat its own"
MEMORY = "At once, from memory"
PARTS = {"immediate": "Immediate", "follow-up": "Then", "deferred": "Later, when time allows"}
WAYS_ON = {"resume": "Resume where you were interrupted", "end": "The sortie ends here"}
MOST_NAMES = 4
"""Items left out that a list names itself; more are counted."""


def list_body(procedure: ReadyProcedure, checklists: Checklists, seat: str) -> dict[str, Any]:
    """Return everything that one list prints on one seat's copy."""
    occupied = [key for key, _ in checklists.seats]
    how = STYLES.get(procedure.style, procedure.style)
    how = how if procedure.kind == "normal" else f"{procedure.kind}: {how}"
    how = how[:1].upper() + how[1:]
    return {
        "id": procedure.id,
        "how": printable(f"{how}; {APART}" if procedure.pace == "apart" else how),
        "entry": printable(procedure.entry),
        "not_if": printable(procedure.not_if),
        "seats": [printable(key.replace("_", " ").capitalize()) for key in occupied],
        "own": occupied.index(seat),
        "rows": rows(procedure, occupied, seat),
        "any_killer": any(item.killer for item in procedure.items),
        "status": [printable(line) for line in procedure.status],
        "call": printable(procedure.complete or f"{procedure.title} complete"),
        "then": printable(way_on(procedure, checklists)),
        "left_out": printable(left_out_here(procedure)),
    }


def rows(procedure: ReadyProcedure, occupied: list[str], seat: str) -> list[dict[str, Any]]:
    """Return the items in order; the first of each part of an emergency carries the part's heading."""
    found: list[dict[str, Any]] = []
    last = ""
    for item in procedure.items:
        heading = part_heading(item, last)
        found.append(
            item_row(item, procedure.id, occupied, seat) | {"heading": "" if heading == last else heading}
        )
        last = heading
    return found


def part_heading(item: ReadyItem, last: str) -> str:
    """Return under which heading an item stands; one without a part stands where the item above does."""
    if item.memory:
        return MEMORY
    if item.part in PARTS:
        return PARTS[item.part]
    return PARTS["follow-up"] if last == MEMORY else last


def item_row(item: ReadyItem, procedure: str, occupied: list[str], seat: str) -> dict[str, Any]:
    """Return one item: number, challenge, response, whose it is, and what stands around it."""
    hold = item.hold
    branch = item.branch
    return {
        "box": f"{procedure} {item.number}: {printable(item.challenge)}",
        "number": str(item.number),
        "challenge": printable(item.challenge),
        "response": printable(item.response),
        "problem": printable(item.problem),
        "cells": [cell(item, key, seat) for key in occupied],
        "either": item.any_one and len(item.seats) > 1,
        "memory": item.memory,
        "killer": item.killer,
        "advice": [
            {"word": word, "text": printable(text)}
            for word, texts in (
                ("WARNING", item.warnings),
                ("CAUTION", item.cautions),
                ("NOTE", item.notes),
            )
            for text in texts
        ],
        "hold": {"awaits": printable(hold.awaits), "by": printable(hold.cleared_by_title)} if hold else None,
        "branch": {
            "case": printable(branch.case or "If not"),
            "title": printable(branch.title or branch.go),
        }
        if branch
        else None,
        "until": printable(item.until),
    }


def cell(item: ReadyItem, key: str, seat: str) -> str:
    """Return what a seat's cell of an item shows on a copy: ``own`` answer, the ``other`` seat's, or none."""
    if key not in item.seats:
        return ""
    return "own" if key == seat else "other"


def way_on(procedure: ReadyProcedure, checklists: Checklists) -> str:
    """Return where the crew goes from the end of a list, in words; empty where there is nothing to say."""
    if procedure.then in WAYS_ON:
        return WAYS_ON[procedure.then]
    everything = (*checklists.normal, *checklists.others)
    if procedure.then:
        title = next((one.title for one in everything if one.id == procedure.then), procedure.then)
        return f"Go on with: {title}"
    names = [one.id for one in checklists.normal]
    if procedure.id in names and names.index(procedure.id) + 1 < len(names):
        return f"Next: {checklists.normal[names.index(procedure.id) + 1].title}"
    return ""


def left_out_here(procedure: ReadyProcedure) -> str:
    """Return which items do not apply today, so that a gap in the numbers is no surprise."""
    gone = [one.title for one in procedure.left_out if not one.unknown]
    if not gone:
        return ""
    more = f" and {len(gone) - MOST_NAMES} more" if len(gone) > MOST_NAMES else ""
    return f"Left out today: {', '.join(gone[:MOST_NAMES])}{more}."
