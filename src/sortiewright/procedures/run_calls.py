"""What is said aloud as a run goes on: from the state before and after, nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sortiewright.procedures.events import Place
from sortiewright.procedures.run_state import (
    Due,
    RunList,
    RunState,
    due,
    find,
    first_open,
    outstanding,
    re_read,
    ready,
    seat_title,
)
from sortiewright.procedures.tailored import ReadyItem

Sort = Literal[
    "list", "entry", "challenge", "hold", "released", "disagreement", "re-read", "completion", "reminder"
]


@dataclass(frozen=True, slots=True)
class CallOut:
    """Something to say. ``seats`` are those it is said to; empty: everybody."""

    sort: Sort
    text: str
    seats: tuple[str, ...] = ()
    place: Place | None = None


def call_outs(before: RunState, after: RunState) -> tuple[CallOut, ...]:
    """Return what is to be said between two states of a run, in the order in which it is said."""
    return (
        *_ends(before, after),
        *_disagreements(before, after),
        *_beginnings(before, after),
        *_releases(before, after),
        *_turns(before, after),
    )


def challenge_text(item: ReadyItem) -> str:
    """Return an item's challenge with what stands before it."""
    heads = [("Warning", item.warnings), ("Caution", item.cautions), ("Note", item.notes)]
    spoken = [f"{head}: {text.rstrip('.')}." for head, texts in heads for text in texts]
    return " ".join([*spoken, item.challenge])


def completion_call(state: RunState, run_list: RunList) -> str:
    """Return the call that ends a list."""
    procedure = ready(state, run_list)
    return procedure.complete or f"{procedure.title} complete"


def reminders(state: RunState) -> tuple[CallOut, ...]:
    """Return a reminder of each item that was put off."""
    return tuple(
        CallOut(
            "reminder", f"Put off until {one.item.until}: {one.item.challenge} ({one.title})", (), one.place
        )
        for one in outstanding(state)
        if not one.taken_up
    )


def resume_text(state: RunState, run_list: RunList) -> str:
    """Return what is re-read before an interrupted list goes on, and the question where it does."""
    procedure = ready(state, run_list)
    read = [procedure.items[index] for index in re_read(state, run_list)]
    words = ". ".join(
        f"{item.number} {item.challenge}, {_last_word(run_list, procedure.items.index(item))}"
        for item in read
    )
    at = first_open(state, run_list)
    place = (
        f"{procedure.items[at].number} {procedure.items[at].challenge}"
        if at is not None
        else "the completion call"
    )
    before = f"Last answered: {words}. " if words else ""
    return f"{procedure.title} was interrupted. {before}Go on at {place}?"


def _last_word(run_list: RunList, index: int) -> str:
    marks = run_list.items[index].marks
    return ("left out" if marks[-1].skipped else marks[-1].text) if marks else "released"


def _ends(before: RunState, after: RunState) -> list[CallOut]:
    found: list[CallOut] = []
    for at, now in enumerate(after.lists):
        was = before.lists[at].end if at < len(before.lists) else ""
        if now.end == "complete" and was != "complete":
            found.append(CallOut("completion", completion_call(after, now)))
            status = ready(after, now).status
            found += [CallOut("completion", line) for line in status]
        if now.end == "ended" and was != "ended":
            found.append(CallOut("completion", f"{ready(after, now).title} ended: {now.end_reason}"))
    return found


def _disagreements(before: RunState, after: RunState) -> list[CallOut]:
    found: list[CallOut] = []
    for at, now in enumerate(after.lists):
        earlier = before.lists[at].items if at < len(before.lists) else ()
        for index, so_far in enumerate(now.items):
            said = so_far.disagreed
            if said is None or (index < len(earlier) and earlier[index].disagreed == said):
                continue
            item = ready(after, now).items[index]
            words = f"{seat_title(after, said.who)} disagrees on {item.challenge}: {said.text}"
            found.append(CallOut("disagreement", words, (), Place(now.procedure, item.id, now.round)))
    return found


def _beginnings(before: RunState, after: RunState) -> list[CallOut]:
    """Return the title of a list that came on top, or the question where an interrupted one goes on."""
    current = after.current
    if current is None or (
        before.stack == after.stack and before.current and before.current.asks_where == current.asks_where
    ):
        return []
    if current.asks_where:
        return [CallOut("re-read", resume_text(after, current))]
    if before.stack == after.stack:
        return []
    procedure = ready(after, current)
    begun = CallOut("list", procedure.title)
    if procedure.kind == "normal":
        return [begun, *reminders(after)]
    # The crew makes sure that it is this one: CAP 676.
    told = ("When", procedure.entry), ("Not if", procedure.not_if)
    return [begun, *(CallOut("entry", f"{head}: {text}") for head, text in told if text)]


def _releases(before: RunState, after: RunState) -> list[CallOut]:
    found: list[CallOut] = []
    for one in due(before):
        at = find(after, one.place)
        release = after.lists[at[0]].items[at[1]].release if at else None
        if one.holding and release is not None and one.item.hold is not None:
            by = (
                f"cleared by {seat_title(after, release.by)}"
                if release.by
                else f"overridden: {release.reason}"
            )
            found.append(CallOut("released", f"{one.item.hold.awaits}: {by}", (), one.place))
    return found


def _turns(before: RunState, after: RunState) -> list[CallOut]:
    """Return the challenge of each item whose turn has come, or what its hold waits for."""
    known = {(one.place, one.holding, one.since) for one in due(before)}
    return [_turn(after, one) for one in due(after) if (one.place, one.holding, one.since) not in known]


def _turn(state: RunState, one: Due) -> CallOut:
    if one.holding and one.item.hold is not None:
        who = one.item.hold.cleared_by_title or seat_title(state, one.item.hold.cleared_by)
        return CallOut("hold", f"Hold: {one.item.hold.awaits}, from {who}", (), one.place)
    return CallOut("challenge", challenge_text(one.item), one.seats, one.place)
