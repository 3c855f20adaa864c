"""One seat of a crew as a process: works through the sample lists on a log, prints what is acknowledged.

Alone: ``crew_seat.py LOG SEAT SEED``. As a nursery: ``crew_seat.py``, then on standard input lines of
``LOG SEAT SEED OUT`` (tab between them), each answered with the id of a process whose output goes to OUT, and
``PID``, answered when that process is gone. A nursery imports once for all of them; it needs ``os.fork``.
"""

import os
import random
import sys
from pathlib import Path

from crew_lists import sample

from sortiewright.procedures.crew_run import resume_run
from sortiewright.procedures.events import (
    Answered,
    Cleared,
    Completed,
    Ended,
    Event,
    Interrupted,
    Noted,
    Opened,
    Resumed,
    Undone,
    event_to_text,
)
from sortiewright.procedures.run_fold import last_undoable
from sortiewright.procedures.run_state import due, first_open, next_list, ready


def next_deed(state, seat, chance):
    """Return something that this seat may do now, mostly what the lists ask for."""
    if chance.random() < 0.05 and (event := last_undoable(state, [seat])) is not None:
        return Undone(event.id)
    current = state.current
    if current is None:
        following = next_list(state)
        return Opened(following.id if following else "before_start", "once more")
    if current.asks_where:
        at = first_open(state, current)
        return Resumed(current.procedure, ready(state, current).items[at].id if at is not None else "")
    if chance.random() < 0.03:
        return Interrupted("engine_fire")
    for turn in due(state):
        if turn.holding:
            return Cleared(turn.place, turn.item.hold.cleared_by)
        if seat in turn.seats:
            return Answered(turn.place)
    if due(state):
        return Ended(current.procedure, "enough") if chance.random() < 0.02 else Noted("waiting")
    return Completed(current.procedure)


def main(path, seat, seed):
    """Work until killed."""
    chance = random.Random(int(seed))
    with resume_run(sample(), Path(path), "Thistle 21", patience=60) as run:
        print("ready", flush=True)
        while True:
            run.refresh()
            outcome = run.propose(next_deed(run.state, seat, chance), seat)
            if isinstance(outcome, Event):
                print(event_to_text(outcome), flush=True)


def nursery():
    """Fork a process for each line that asks for one."""
    for line in sys.stdin:
        match line.rstrip("\n").split("\t"):
            case [path, seat, seed, out]:
                if (child := os.fork()) == 0:
                    os.dup2(os.open(out, os.O_WRONLY | os.O_CREAT | os.O_APPEND), 1)
                    main(path, seat, seed)
                print(child, flush=True)
            case [child]:
                os.waitpid(int(child), 0)
                print("gone", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:]) if len(sys.argv) > 1 else nursery()
