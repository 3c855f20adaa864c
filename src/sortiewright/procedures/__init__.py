"""Procedures: a pack's checklists, those of today's sortie, and what must hold whatever a crew has to do.

``load_procedures`` reads a pack's folder ``procedures/``; ``tailor_checklists`` returns what a crew of one
sortie reads; ``start_run`` and ``resume_run`` go through it; ``prove`` shows that a pack's invariants hold.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sortiewright.procedures.crew_run import (
        CrewRun,
        OtherChecklists,
        resume_run,
        start_run,
    )
    from sortiewright.procedures.events import (
        Answered,
        Cleared,
        Completed,
        Deed,
        Deferred,
        Disagreed,
        Ended,
        Event,
        Interrupted,
        Joined,
        Left,
        Noted,
        Opened,
        Overridden,
        Place,
        Resumed,
        Skipped,
        Started,
        TakenUp,
        Undone,
    )
    from sortiewright.procedures.guidelines import (
        Finding,
        lint,
    )
    from sortiewright.procedures.loading import (
        Procedures,
        has_procedures,
        load_procedures,
    )
    from sortiewright.procedures.places import (
        ProcedurePlaces,
    )
    from sortiewright.procedures.presence import (
        Presence,
    )
    from sortiewright.procedures.proof import (
        ProofResult,
        prove,
    )
    from sortiewright.procedures.proof_findings import (
        ProofFinding,
    )
    from sortiewright.procedures.proof_story import (
        Story,
    )
    from sortiewright.procedures.run_calls import (
        CallOut,
        call_outs,
    )
    from sortiewright.procedures.run_fold import (
        fold,
        last_undoable,
    )
    from sortiewright.procedures.run_log import (
        DamagedLog,
        RunLog,
        recover_log,
    )
    from sortiewright.procedures.run_refusals import (
        Already,
        Refusal,
    )
    from sortiewright.procedures.run_state import (
        Due,
        RunState,
        due,
        is_finished,
        next_list,
        outstanding,
        seat_title,
    )
    from sortiewright.procedures.run_view import (
        ListPage,
        RunPage,
        RunRow,
        SeatCell,
        run_page,
    )
    from sortiewright.procedures.run_words import (
        event_words,
    )
    from sortiewright.procedures.schema import (
        Branch,
        Cockpit,
        Control,
        Hold,
        Invariant,
        Item,
        Order,
        Party,
        Procedure,
        State,
    )
    from sortiewright.procedures.tailored import (
        Checklists,
        FilledBranch,
        FilledHold,
        LeftOut,
        ReadyItem,
        ReadyProcedure,
    )
    from sortiewright.procedures.tailoring import (
        digest_of,
        tailor_checklists,
    )
    from sortiewright.procedures.vocabulary import (
        control_vocabulary,
        fact_values,
        sortie_vocabulary,
    )

# Imported when first asked for: a running checklist needs no schema, and the schema costs 0.2 s of pydantic.
_LATE = {
    name: module
    for module, names in {
        "crew_run": "CrewRun OtherChecklists resume_run start_run",
        "events": (
            "Answered Cleared Completed Deed Deferred Disagreed Ended Event Interrupted Joined "
            "Left Noted Opened Overridden Place Resumed Skipped Started TakenUp Undone"
        ),
        "guidelines": "Finding lint",
        "loading": "Procedures has_procedures load_procedures",
        "places": "ProcedurePlaces",
        "presence": "Presence",
        "proof": "ProofResult prove",
        "proof_findings": "ProofFinding",
        "proof_story": "Story",
        "run_calls": "CallOut call_outs",
        "run_fold": "fold last_undoable",
        "run_log": "DamagedLog RunLog recover_log",
        "run_refusals": "Already Refusal",
        "run_state": "Due RunState due is_finished next_list outstanding seat_title",
        "run_view": "ListPage RunPage RunRow SeatCell run_page",
        "run_words": "event_words",
        "schema": "Branch Cockpit Control Hold Invariant Item Order Party Procedure State",
        "tailored": "Checklists FilledBranch FilledHold LeftOut ReadyItem ReadyProcedure",
        "tailoring": "digest_of tailor_checklists",
        "vocabulary": "control_vocabulary fact_values sortie_vocabulary",
    }.items()
    for name in names.split()
}


def __getattr__(name: str) -> Any:
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"sortiewright.procedures.{_LATE[name]}"), name)
    globals()[name] = value
    return value


__all__ = [
    "Already",
    "Answered",
    "Branch",
    "CallOut",
    "Checklists",
    "Cleared",
    "Cockpit",
    "Completed",
    "Control",
    "CrewRun",
    "DamagedLog",
    "Deed",
    "Deferred",
    "Disagreed",
    "Due",
    "Ended",
    "Event",
    "FilledBranch",
    "FilledHold",
    "Finding",
    "Hold",
    "Interrupted",
    "Invariant",
    "Item",
    "Joined",
    "Left",
    "LeftOut",
    "ListPage",
    "Noted",
    "Opened",
    "Order",
    "OtherChecklists",
    "Overridden",
    "Party",
    "Place",
    "Presence",
    "Procedure",
    "ProcedurePlaces",
    "Procedures",
    "ProofFinding",
    "ProofResult",
    "ReadyItem",
    "ReadyProcedure",
    "Refusal",
    "Resumed",
    "RunLog",
    "RunPage",
    "RunRow",
    "RunState",
    "SeatCell",
    "Skipped",
    "Started",
    "State",
    "Story",
    "TakenUp",
    "Undone",
    "call_outs",
    "control_vocabulary",
    "digest_of",
    "due",
    "event_words",
    "fact_values",
    "fold",
    "has_procedures",
    "is_finished",
    "last_undoable",
    "lint",
    "load_procedures",
    "next_list",
    "outstanding",
    "prove",
    "recover_log",
    "resume_run",
    "run_page",
    "seat_title",
    "sortie_vocabulary",
    "start_run",
    "tailor_checklists",
]
