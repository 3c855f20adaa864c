"""What the rules allow at an item: answers, skips, deferrals, disagreement, and the release of its hold."""

from __future__ import annotations

from sortiewright.procedures.events import (
    INSTRUCTOR,
    Answered,
    AtItem,
    Cleared,
    Deferred,
    Disagreed,
    Overridden,
    Skipped,
    TakenUp,
)
from sortiewright.procedures.run_list_rules import judge_interruption
from sortiewright.procedures.run_refusals import Already, Judgement, Refusal, no_item
from sortiewright.procedures.run_state import (
    RANK,
    RunList,
    RunState,
    due,
    find,
    holds,
    is_passed,
    ready,
    seat_title,
)
from sortiewright.procedures.tailored import ReadyItem


def judge_item(state: RunState, actor: str, deed: AtItem) -> Judgement:
    """Return whether a deed at an item may stand."""
    found = find(state, deed.place)
    if found is None:
        return Refusal(no_item(state, deed.place))
    at, index = found
    run_list = state.lists[at]
    item = ready(state, run_list).items[index]
    if isinstance(deed, TakenUp):
        return _of_taking_up(state, at, index, item)
    if (settled := _as_wanted(state, actor, deed, run_list, index, item)) is not None:
        return settled
    if (blocked := _not_in_turn(state, deed, at, index, item)) is not None:
        return blocked
    if isinstance(deed, Cleared | Overridden):
        return _of_release(state, actor, deed, item)
    if holds(item, run_list.items[index]):
        return _held(state, item)
    match deed:
        case Answered() | Skipped():
            return _of_mark(state, actor, deed, item)
        case Deferred():
            return _of_deferral(state, actor, item)
        case Disagreed():
            return None if deed.why else Refusal("Say what you see instead")


def _as_wanted(
    state: RunState, actor: str, deed: AtItem, run_list: RunList, index: int, item: ReadyItem
) -> Already | None:
    """Return what there is to say where two devices did the same, or one did it twice."""
    so_far = run_list.items[index]
    if isinstance(deed, Cleared | Overridden) and (release := so_far.release) is not None:
        how = f"{seat_title(state, release.by)} cleared it" if release.by else "It was overridden"
        return Already(f"{how}: {item.hold.awaits if item.hold else item.challenge}")
    if isinstance(deed, Answered) and deed.wanted:
        if any(mark.seat == actor for mark in so_far.marks):
            return Already(f"{seat_title(state, actor)} has answered: {item.challenge}")
        if item.any_one and so_far.marks and actor in item.seats:
            return Already(
                f"{seat_title(state, so_far.marks[0].seat)} has answered for all: {item.challenge}"
            )
    if isinstance(deed, Deferred) and so_far.deferred is not None and not so_far.taken_up:
        return Already(f"It is put off: {item.challenge}")
    return None


def _not_in_turn(state: RunState, deed: AtItem, at: int, index: int, item: ReadyItem) -> Refusal | None:
    """Return why an item's turn is not now. What has been answered may be disagreed with at any time."""
    run_list = state.lists[at]
    so_far = run_list.items[index]
    if so_far.deferred is not None and not so_far.taken_up:
        return Refusal(f"{item.challenge} is put off until: {item.until}. Take it up again first")
    turns = due(state)
    if any(one.place == deed.place for one in turns):
        return None
    title = ready(state, run_list).title
    if at not in state.stack and not so_far.taken_up:
        return Refusal(f"{title} is not open")
    current = state.current
    if current is None or current is not run_list:
        return Refusal(
            f"{title} is stopped: {ready(state, current).title if current else 'nothing'} comes first"
        )
    if run_list.asks_where:
        return Refusal(f"{title} was interrupted: say first where it goes on")
    if isinstance(deed, Disagreed) and so_far.marks:
        return None
    if is_passed(item, so_far):
        return Refusal(f"{item.challenge} has been answered")
    first = turns[0] if turns else None
    if first is None:
        return Refusal(f"It is not the turn of {item.challenge}")
    if first.holding and first.item.hold is not None:
        return _held(state, first.item)
    return Refusal(f"{first.item.challenge} comes first", (first.place,))


def _of_mark(state: RunState, actor: str, deed: Answered | Skipped, item: ReadyItem) -> Judgement:
    if actor not in item.seats:
        who = " or ".join(seat_title(state, seat) for seat in item.seats)
        return Refusal(f"{who} answers {item.challenge}, not {seat_title(state, actor)}")
    if isinstance(deed, Skipped):
        return None if deed.reason else Refusal(f"Leaving out {item.challenge} needs a reason")
    if deed.wanted:
        return None
    if item.branch is None:
        return Refusal(f"{item.challenge} names no other list: say what you see instead")
    return judge_interruption(state, item.branch.go, branching=True)


def _of_deferral(state: RunState, actor: str, item: ReadyItem) -> Refusal | None:
    if not item.until:
        return Refusal(
            f"The list names no later moment for {item.challenge}. Answer it, or skip it with a reason"
        )
    if actor not in item.seats:
        return Refusal(f"{seat_title(state, actor)} does not answer {item.challenge}")
    return None


def _of_taking_up(state: RunState, at: int, index: int, item: ReadyItem) -> Judgement:
    so_far = state.lists[at].items[index]
    if so_far.deferred is None:
        return Refusal(f"{item.challenge} is not put off")
    if so_far.taken_up:
        return Already(f"It is taken up: {item.challenge}")
    current = state.current
    if current is not None and current is not state.lists[at] and RANK[ready(state, current).kind]:
        return Refusal(f"{ready(state, current).title} comes first")
    return None


def _of_release(state: RunState, actor: str, deed: Cleared | Overridden, item: ReadyItem) -> Refusal | None:
    if item.hold is None:
        return Refusal(f"{item.challenge} waits for nobody")
    giver = item.hold.cleared_by
    if isinstance(deed, Overridden):
        who = item.hold.cleared_by_title
        return None if deed.reason else Refusal(f"Going on without {who} needs a reason: {item.hold.awaits}")
    if not deed.by:
        return Refusal(f"Say who cleared it. {_held(state, item).reason}")
    if deed.by != giver:
        return Refusal(
            f"{item.hold.cleared_by_title} clears it, not {seat_title(state, deed.by)}: {item.hold.awaits}"
        )
    if giver in [key for key, _ in state.checklists.seats] and actor not in (giver, INSTRUCTOR):
        return Refusal(f"{item.hold.cleared_by_title} clears it on its own device: {item.hold.awaits}")
    return None


def _held(state: RunState, item: ReadyItem) -> Refusal:
    assert item.hold is not None
    who = item.hold.cleared_by_title or seat_title(state, item.hold.cleared_by)
    return Refusal(f"Hold: {item.hold.awaits}. {who} clears it, or override it with a reason")
