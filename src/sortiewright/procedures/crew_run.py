"""A crew run: today's checklists, their log, and the state that both lead to.

One engine for every device: a terminal, two terminals on one file, or a server with a device a seat.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from sortiewright.pack import InputError, Problem, listed
from sortiewright.procedures.events import INSTRUCTOR, Deed, Event, Proposal, Started
from sortiewright.procedures.run_fold import decide, fold, step
from sortiewright.procedures.run_log import PATIENCE, RunLog
from sortiewright.procedures.run_refusals import Already, Refusal
from sortiewright.procedures.run_state import RunState
from sortiewright.procedures.tailored import Checklists, ReadyProcedure

Clock = Callable[[], datetime]


class OtherChecklists(InputError):
    """A log is a run of other checklists than today's; ``differing`` are the titles of the lists."""

    def __init__(self, problem: Problem, differing: tuple[str, ...]) -> None:
        self.differing = differing
        super().__init__([problem])


class CrewRun:
    """A run in progress. Not for several threads: each device or server has one, on one log."""

    def __init__(self, log: RunLog, state: RunState, clock: Clock) -> None:
        self.log = log
        self.state = state
        self._clock = clock

    def propose(self, deed: Deed, actor: str, identity: str = "") -> Event | Refusal | Already:
        """Return the event that a deed became, once it is on the disk, or why it became none.

        ``identity``: a device that may send one proposal twice gives it the same one. What others did first
        is taken in before the deed is judged, and nobody can come between that and the write.
        """
        proposal = Proposal(identity or uuid4().hex, actor, deed)
        with self.log.turn():
            self.state = _taken_in(self.state, self.log.events(self.state.seq))
            outcome = decide(self.state, proposal, self._clock())
            if isinstance(outcome, Event):
                self.log.add(outcome)
        # Only now: had the commit failed, nothing would have happened.
        if isinstance(outcome, Event):
            self.state = step(self.state, outcome)
        return outcome

    def refresh(self) -> bool:
        """Take in what other processes have added, and return whether there was anything."""
        if not self.log.has_changed():
            return False
        before = self.state.seq
        self.state = _taken_in(self.state, self.log.events(before))
        return self.state.seq != before

    def close(self) -> None:
        """Let go of the log."""
        self.log.close()

    def __enter__(self) -> CrewRun:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def start_run(
    checklists: Checklists, path: Path, title: str, *, patience: float = PATIENCE, clock: Clock | None = None
) -> CrewRun:
    """Return a run that begins in a new log; ``InputError`` if the file is there or cannot be written."""
    log = RunLog.create(path, patience=patience)
    return _begun(CrewRun(log, fold(checklists, log.events()), clock or now), title)


def resume_run(
    checklists: Checklists, path: Path, title: str, *, patience: float = PATIENCE, clock: Clock | None = None
) -> CrewRun:
    """Return the run that a log holds, as it stood after its last event.

    Raises ``OtherChecklists`` if the log is of other lists, ``DamagedLog`` with what can be trusted of it, or
    ``InputError`` where it cannot be used at all.
    """
    log = RunLog.open(path, patience=patience)
    try:
        events = log.events()
        check_lists(checklists, events, path)
        return _begun(CrewRun(log, fold(checklists, events), clock or now), title)
    except BaseException:
        log.close()
        raise


def _begun(run: CrewRun, title: str) -> CrewRun:
    if not run.state.started:  # a new log, or one whose device went before it had begun
        lists = run.state.checklists
        run.propose(Started(run_digest(lists), title, list_digests(lists)), INSTRUCTOR)
    return run


def now() -> datetime:
    """Return the time in UTC."""
    return datetime.now(UTC)


def check_lists(checklists: Checklists, events: Iterable[Event], path: Path) -> None:
    """Raise ``OtherChecklists`` if events are of a run of other lists, naming those that differ."""
    begun = next((event.deed for event in events if isinstance(event.deed, Started)), None)
    if begun is None or begun.digest == run_digest(checklists):
        return
    differing = _differing(dict(begun.parts), checklists)
    words = listed(differing, 8) or "what they are made from"
    verb = "differ" if len(differing) > 1 else "differs"
    expected = f"is a run of {begun.title} with other checklists than today's: {words} {verb}"
    hint = "Begin a new run, or plan with the sortie and pack as they were"
    raise OtherChecklists(Problem(path.name, None, "", "", expected, hint), differing)


def run_digest(checklists: Checklists) -> str:
    """Return the digest of today's lists: the tailoring's, or where there is none, one of the lists."""
    return checklists.digest or _digest(list_digests(checklists))


def list_digests(checklists: Checklists) -> tuple[tuple[str, str], ...]:
    """Return (id, digest) of each list."""
    return tuple((one.id, _digest(asdict(one))[:16]) for one in _lists(checklists))


def _digest(content: object) -> str:
    return hashlib.sha256(json.dumps(content, sort_keys=True, default=str).encode()).hexdigest()


def _lists(checklists: Checklists) -> tuple[ReadyProcedure, ...]:
    return (*checklists.normal, *checklists.others)


def _differing(before: dict[str, str], checklists: Checklists) -> tuple[str, ...]:
    """Return the lists that are others than before, by title; those that are gone by id."""
    today = dict(list_digests(checklists))
    titles = {one.id: one.title for one in _lists(checklists)}
    names = [name for name in (*today, *(set(before) - set(today))) if today.get(name) != before.get(name)]
    return tuple(titles.get(name, name.replace("_", " ")) for name in names)


def _taken_in(state: RunState, events: Iterable[Event]) -> RunState:
    for event in events:
        state = step(state, event)
    return state
