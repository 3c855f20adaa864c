"""What the crew did on its checklists, on the recording's clock: the run's log beside the samples."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sortiewright.procedures import RunState
    from sortiewright.recording import Recording

FAR = 3600.0  # s before and after a recording in which a run still belongs to it


def checklist_data(state: RunState, recording: Recording) -> dict[str, Any]:
    """Return the run's events with their times on the recording's clock, and how the clocks were matched.

    Where the recording does not say when it began, or the run was on another day, the run's begin is laid on
    the recording's; the page lets the crew shift it.
    """
    from sortiewright.procedures import event_words

    events = state.history
    if not events:
        return {"events": [], "matched": "The run has no events."}
    zero, matched = _zero(events[0].time, events[-1].time, recording)
    start = float(recording.time[0])
    return {
        "events": [
            {
                "time": start + (one.time - zero).total_seconds(),
                "words": event_words(state, one),
                "actor": one.actor,
                "kind": type(one.deed).__name__.lower(),
            }
            for one in events
        ],
        "matched": matched,
    }


def _zero(first: datetime, last: datetime, recording: Recording) -> tuple[datetime, str]:
    """Return the moment of the recording's first sample on the run's clock, and how it is known."""
    begun = recording.started
    if begun is not None:
        begun = begun if begun.tzinfo else begun.replace(tzinfo=UTC)
        span = float(recording.time[-1] - recording.time[0])
        before, after = (first - begun).total_seconds(), (last - begun).total_seconds()
        if after > -FAR and before < span + FAR:
            return begun, "Both clocks are known: the run stands where it was."
    return first, "The clocks cannot be matched: the run's first event is laid on the recording's beginning."
