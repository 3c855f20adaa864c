"""What a crew run allows: each deed is held against the state before it may stand.

The rules speak of one deed at a time, so the same ones judge what a device proposes, what a log holds, and
whether an event may be taken back: if every later one would still be allowed without it (``run_fold``).
"""

from __future__ import annotations

from sortiewright.pack import choice_hint
from sortiewright.procedures.events import (
    INSTRUCTOR,
    Answered,
    Cleared,
    Completed,
    Deed,
    Deferred,
    Disagreed,
    Ended,
    Interrupted,
    Joined,
    Left,
    Noted,
    Opened,
    Overridden,
    Resumed,
    Skipped,
    Started,
    TakenUp,
    Undone,
)
from sortiewright.procedures.run_item_rules import judge_item
from sortiewright.procedures.run_list_rules import (
    judge_end,
    judge_interruption,
    judge_opening,
    judge_resumption,
)
from sortiewright.procedures.run_refusals import Already, Judgement, Refusal
from sortiewright.procedures.run_state import RunState, seat_title


def judge(state: RunState, actor: str, deed: Deed) -> Judgement:
    """Return whether a deed may stand in a state. Taking an event back is judged in ``run_fold``."""
    if (fault := of_actor(state, actor)) is not None:
        return fault
    if not state.started:
        return None if isinstance(deed, Started) else Refusal("The run has not been started")
    match deed:
        case Started():
            return _of_start(state, deed)
        case Answered() | Disagreed() | Skipped() | Deferred() | TakenUp() | Cleared() | Overridden():
            return judge_item(state, actor, deed)
        case Opened():
            return judge_opening(state, deed)
        case Interrupted():
            return judge_interruption(state, deed.procedure)
        case Resumed():
            return judge_resumption(state, deed)
        case Ended() | Completed():
            return judge_end(state, deed)
        case Joined() | Left():
            return _of_connection(state, deed)
        case Noted():
            return None if deed.text else Refusal("A note needs words")
        case Undone():
            return Refusal("Nothing was done that could be taken back")


def of_actor(state: RunState, actor: str) -> Refusal | None:
    """Return why somebody takes no part in the run."""
    seats = [key for key, _ in state.checklists.seats]
    if actor in seats or actor == INSTRUCTOR:
        return None
    hint = choice_hint(actor, [*seats, INSTRUCTOR], "seats")
    return Refusal(f'"{actor}" is no seat that is occupied today. {hint}')


def _of_start(state: RunState, deed: Started) -> Judgement:
    return (
        Already("The run has been started")
        if deed.title == state.title
        else Refusal("Another run was started")
    )


def _of_connection(state: RunState, deed: Joined | Left) -> Judgement:
    if (fault := of_actor(state, deed.seat)) is not None:
        return fault
    known = next((one for one in state.connections if one.seat == deed.seat), None)
    joining = isinstance(deed, Joined)
    if known is None:
        return None if joining else Already(f"{seat_title(state, deed.seat)} is not connected")
    return Already("So it is") if known.connected == joining else None
