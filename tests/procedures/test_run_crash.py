"""A device that is killed at any instant loses nothing that it has acknowledged.

Two processes, one a seat, work through the lists on one log and say of each event when it is acknowledged.
Both are killed (SIGKILL, on Windows TerminateProcess) at random instants; then the log is opened again.
``SORTIEWRIGHT_FULL=1`` kills a thousand times instead of twenty.
"""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from crew_lists import sample

from sortiewright.procedures.crew_run import resume_run, start_run
from sortiewright.procedures.events import event_from_text, event_to_text
from sortiewright.procedures.run_fold import fold
from sortiewright.procedures.run_log import RunLog

ROUNDS = 500 if os.environ.get("SORTIEWRIGHT_FULL") else 10
SEAT_PROGRAM = Path(__file__).parents[1] / "support" / "crew_seat.py"
SEATS = ("front", "rear")


class Nursery:
    """Starts seats from a process that has imported everything, and kills them."""

    def __init__(self):
        self._process = subprocess.Popen(
            [sys.executable, str(SEAT_PROGRAM)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def _ask(self, line):
        self._process.stdin.write(f"{line}\n")
        self._process.stdin.flush()
        return self._process.stdout.readline().strip()

    def start(self, path, seat, seed, out):
        return int(self._ask(f"{path}\t{seat}\t{seed}\t{out}"))

    def kill(self, child):
        os.kill(child, signal.SIGKILL)

    def bury(self, child):
        assert self._ask(str(child)) == "gone"

    def close(self):
        self._process.stdin.close()
        self._process.wait(30)
        self._process.stdout.close()


class OneByOne:
    """Starts each seat as a program of its own, where there is no fork."""

    def start(self, path, seat, seed, out):
        with out.open("ab") as file:
            return subprocess.Popen(
                [sys.executable, str(SEAT_PROGRAM), str(path), seat, str(seed)], stdout=file
            )

    def kill(self, child):
        child.kill()

    def bury(self, child):
        child.wait(30)

    def close(self):
        pass


@pytest.fixture
def seats():
    found = Nursery() if hasattr(os, "fork") else OneByOne()
    yield found
    found.close()


def said(out):
    """Return the whole lines that a seat has written."""
    whole, _, _ = out.read_text("utf-8").rpartition("\n") if out.exists() else ("", "", "")
    return whole.split("\n") if whole else []


def test_a_run_killed_at_random_loses_no_acknowledged_event_and_resumes_in_the_same_state(seats, tmp_path):
    chance = random.Random(1)
    lists = sample()
    total, before = 0, None
    for number in range(ROUNDS):
        if before is None or len(before) > 120:  # a fresh log now and then: short ones are folded sooner
            path = tmp_path / f"killed-{number}.crewrun"
            start_run(lists, path, "Thistle 21").close()
            before = ()
        outs = [tmp_path / f"{number}-{seat}" for seat in SEATS]
        children = [
            seats.start(path, seat, 2 * number + at, out)
            for at, (seat, out) in enumerate(zip(SEATS, outs, strict=True))
        ]
        end = time.monotonic() + 60
        while not all(map(said, outs)):
            assert time.monotonic() < end
            time.sleep(0.002)
        time.sleep(chance.uniform(0.0, 0.15))
        first, second = chance.sample(children, 2)
        seats.kill(first)
        if chance.random() < 0.5:
            time.sleep(chance.uniform(0.0, 0.02))  # the other one goes on for a moment
        seats.kill(second)
        seats.bury(first)
        seats.bury(second)

        with RunLog.open(path) as log:
            events = log.events()
        texts = [event_to_text(event) for event in events]
        acknowledged = [line for out in outs for line in said(out) if line != "ready"]
        assert set(acknowledged) <= set(texts)
        assert len(set(acknowledged)) == len(acknowledged)
        assert events[: len(before)] == before
        # Each may have been killed between its commit and its word: one event a process, and the start.
        assert len(events) - len(before) - len(acknowledged) in range(3 if before else 4)
        with resume_run(lists, path, "Thistle 21") as run:
            assert run.state == fold(lists, map(event_from_text, texts))
            assert run.state.ignored == ()
        before = events
        total += len(acknowledged)
    print(f"{2 * ROUNDS} processes killed, {total} acknowledged events, none lost")

    assert total > ROUNDS


# sqlite.org/howtocorrupt.html (from memory): a journal that a crash left behind is rolled back, not removed.
@pytest.mark.skipif(not hasattr(os, "fork"), reason="stops a process in the middle of a commit by forking")
def test_a_commit_cut_in_the_middle_is_rolled_back(tmp_path):
    path = tmp_path / "torn.crewrun"
    lists = sample()
    start_run(lists, path, "Thistle 21").close()
    child = os.fork()
    if child == 0:
        with RunLog.open(path) as log, log.turn():
            connection = log._connection
            connection.execute("PRAGMA cache_spill = 1")
            connection.execute("UPDATE events SET text = 'torn' || zeroblob(4000000)")
            os._exit(9 if path.with_name(f"{path.name}-journal").exists() else 1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9

    with resume_run(lists, path, "Thistle 21") as run:
        assert [event.deed.title for event in run.log.events()] == ["Thistle 21"]
