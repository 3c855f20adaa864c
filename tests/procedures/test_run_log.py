"""The log of a run: what is in it, who may write, and what is said of files that are no good."""

import os
import random
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from crew_lists import item, listing, sample

from sortiewright.pack import InputError
from sortiewright.procedures.crew_run import OtherChecklists, resume_run, run_digest, start_run
from sortiewright.procedures.events import (
    INSTRUCTOR,
    Answered,
    Event,
    Joined,
    Noted,
    Opened,
    Place,
    Started,
)
from sortiewright.procedures.run_fold import fold
from sortiewright.procedures.run_log import APPLICATION_ID, DamagedLog, OutOfTurn, RunLog, recover_log
from sortiewright.procedures.run_refusals import Already, Refusal

NINE = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
LISTS = sample()


@pytest.fixture
def path(tmp_path):
    return tmp_path / "today.crewrun"


@pytest.fixture
def run(path):
    with start_run(LISTS, path, "Thistle 21") as begun:
        yield begun


@pytest.fixture(scope="module")
def long_log(tmp_path_factory):
    """Return a closed log of a few dozen events, and what it holds."""
    path = tmp_path_factory.mktemp("log") / "long.crewrun"
    with start_run(LISTS, path, "Thistle 21") as begun:
        begun.propose(Opened("before_start"), "front")
        begun.propose(Answered(Place("before_start", "battery")), "front")
        for number in range(60):
            begun.propose(Noted(f"note {number} " + "é" * number), "rear")
        events = begun.log.events()
    return path, events


def noted(seq, text="words"):
    return Event(f"e{seq}", seq, NINE + timedelta(seconds=seq), "front", Noted(text))


def problem(caught):
    (one,) = caught.value.problems
    return str(one)


def test_a_log_gives_back_what_was_appended(path):
    events = [noted(1), noted(2, "ünïcode, \"quotes\", and 'more'")]
    with RunLog.create(path) as log:
        for event in events:
            log.append(event)
        assert list(log.events()) == events
        assert log.events(after=1) == (events[1],)
    with RunLog.open(path) as again:
        assert list(again.events()) == events


# SQLite file format (sqlite.org/fileformat2.html, from memory): user version at offset 60, application id at
# offset 68, both big-endian. Read here by SQLite itself too.
def test_the_file_says_whose_it_is(path, run):
    connection = sqlite3.connect(path)
    try:
        assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    finally:
        connection.close()
    header = path.read_bytes()[:100]
    assert int.from_bytes(header[60:64], "big") == 1
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID


# SQLite's settings decide when a commit has been flushed (sqlite.org/pragma.html, synchronous, from memory):
# EXTRA is 3, and a rollback journal is the journal mode "delete".
def test_every_commit_is_flushed_with_its_journal_and_folder(run):
    settings = [
        run.log._connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("synchronous", "journal_mode")
    ]

    assert settings == [3, "delete"]


def test_a_closed_log_is_one_file(path):
    with start_run(LISTS, path, "Thistle 21") as begun:
        begun.propose(Noted("words"), "front")

    assert [one.name for one in path.parent.iterdir()] == [path.name]


def test_an_event_out_of_turn_is_not_appended(path):
    with RunLog.create(path) as log:
        log.append(noted(1))
        with pytest.raises(OutOfTurn):
            log.append(noted(3))
        with pytest.raises(OutOfTurn):
            log.append(noted(1))
        assert log.events() == (noted(1),)


def test_a_run_goes_on_in_the_same_state(path):
    with start_run(LISTS, path, "Thistle 21") as begun:
        begun.propose(Opened("before_start"), "front")
        begun.propose(Answered(Place("before_start", "battery")), "front")
        before = begun.state
    with resume_run(LISTS, path, "Thistle 21") as again:
        assert again.state == before
        assert again.state.history == before.history


def test_a_proposal_sent_again_after_a_restart_counts_once(path):
    deed = Opened("before_start")
    with start_run(LISTS, path, "Thistle 21") as begun:
        assert isinstance(begun.propose(deed, "front", "tap"), Event)
    with resume_run(LISTS, path, "Thistle 21") as again:
        assert again.propose(deed, "front", "tap") == Already("This was done before")
        assert len(again.log.events()) == 2


def test_a_device_sees_what_another_one_did(path, run):
    with resume_run(LISTS, path, "Thistle 21") as other:
        assert not other.refresh()
        run.propose(Opened("before_start"), "front")
        assert other.refresh()
        assert other.state == run.state
        assert not other.refresh()


def test_two_seats_that_answer_at_once_both_end_well(path, run):
    run.propose(Opened("before_start"), "front")
    with resume_run(LISTS, path, "Thistle 21") as other:
        for name, seat in (("battery", "front"), ("harness", "front"), ("harness", "rear")):
            run.propose(Answered(Place("before_start", name)), seat)
        canopy = Answered(Place("before_start", "canopy"))  # the other device has not looked since
        first, second = run.propose(canopy, "front"), other.propose(canopy, "rear")

        assert isinstance(first, Event)
        assert second == Already("Front seat has answered for all: Canopy")
        run.refresh()
        assert run.state == other.state


def test_a_stale_proposal_is_judged_by_what_has_happened_since(path, run):
    run.propose(Opened("before_start"), "front")
    with resume_run(LISTS, path, "Thistle 21") as other:
        run.propose(Answered(Place("before_start", "battery"), "no volts", wanted=False), "front")

        assert isinstance(other.propose(Answered(Place("before_start", "battery")), "front"), Refusal)
        assert other.state == run.state


def test_two_devices_begin_one_run(path):
    runs = []

    def begin():
        try:
            runs.append(start_run(LISTS, path, "Thistle 21").log.events())
        except InputError:
            runs.append(resume_run(LISTS, path, "Thistle 21").log.events())

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    with RunLog.open(path) as log:
        assert [type(event.deed) for event in log.events()] == [Started]
    assert len(runs) == 4


WRITER = """
import sys
from pathlib import Path
sys.path[:0] = {support!r}
from crew_lists import sample
from sortiewright.procedures.crew_run import resume_run
from sortiewright.procedures.events import Noted
with resume_run(sample(), Path({path!r}), "Thistle 21", patience=60) as run:
    for number in range({count}):
        run.propose(Noted(f"{{number}}"), {seat!r}, f"{seat}{{number}}")
"""


def test_two_processes_that_write_at_once_lose_nothing(path, run):
    count = 40
    support = [str(Path(__file__).parents[1] / "support")]
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER.format(support=support, path=str(path), count=count, seat=seat)]
        )
        for seat in ("front", "rear")
    ]
    assert [one.wait(120) for one in writers] == [0, 0]
    run.refresh()

    events = run.log.events()
    assert [event.seq for event in events] == list(range(1, 2 * count + 2))
    for seat in ("front", "rear"):
        own = [event.deed.text for event in events if event.actor == seat]
        assert own == [str(number) for number in range(count)]
    assert run.state == fold(LISTS, events)


def test_a_log_that_another_program_holds_is_named(path, run):
    blocker = sqlite3.connect(path, isolation_level=None)
    blocker.execute("BEGIN EXCLUSIVE")
    try:
        start = time.monotonic()
        with pytest.raises(InputError) as caught:
            resume_run(LISTS, path, "Thistle 21", patience=0.1)
        assert time.monotonic() - start < 5
    finally:
        blocker.close()

    assert problem(caught) == (
        "today.crewrun  is held by another program that does not let go of it. "
        "Close the other program, then try again"
    )


def test_a_proposal_that_could_not_be_written_changes_nothing(path):
    with start_run(LISTS, path, "Thistle 21", patience=0.1) as begun:
        before = begun.state
        blocker = sqlite3.connect(path, isolation_level=None)
        blocker.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError):
            begun.propose(Opened("before_start"), "front", "tap")
        blocker.close()

        assert begun.state == before
        assert isinstance(begun.propose(Opened("before_start"), "front", "tap"), Event)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty, so it is no log of a crew run"),
        (b"time,speed\n", "is no log of a crew run"),
        (b"SQLite format 3\x00" + b"\x00" * 20, "is no log of a crew run"),
        (b"\xff" * 5000, "is no log of a crew run"),
    ],
)
def test_what_is_no_log_is_refused(path, content, words):
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        RunLog.open(path)

    assert words in problem(caught)
    assert path.read_bytes() == content


def test_the_database_of_another_program_is_left_alone(path):
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE events (seq)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(InputError) as caught:
        RunLog.open(path)

    assert "is a database of another program" in problem(caught)
    assert path.read_bytes() == before


def test_a_log_of_a_newer_version_is_refused(path):
    RunLog.create(path).close()
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 7")
    connection.close()
    with pytest.raises(InputError) as caught:
        RunLog.open(path)

    assert "was written by a newer version (format 7; this one reads 1)" in problem(caught)


def test_a_log_that_is_not_there_or_already_there_is_said(path, tmp_path):
    with pytest.raises(InputError, match="No such file"):
        RunLog.open(path)
    RunLog.create(path).close()
    with pytest.raises(InputError, match="is there already"):
        RunLog.create(path)
    with pytest.raises(InputError, match="cannot be used"):
        RunLog.create(tmp_path / "nowhere" / "today.crewrun")
    with pytest.raises(InputError):
        RunLog.open(tmp_path)


def test_a_log_of_other_checklists_names_those_that_differ(path):
    start_run(LISTS, path, "Thistle 21").close()
    changed = sample()
    other = listing("taxi", item("chocks", 1, response="AWAY"))
    lists = type(changed)(
        (*changed.normal[:2], other, *changed.normal[3:]), changed.others[:-2], changed.seats, changed.parties
    )
    with pytest.raises(OtherChecklists) as caught:
        resume_run(lists, path, "Thistle 21")

    assert set(caught.value.differing) == {"Taxi", "one engine", "go around"}
    assert "is a run of Thistle 21 with other checklists than today's: Taxi" in problem(caught)
    assert run_digest(lists) != run_digest(LISTS)


def change(path, statement, *values):
    connection = sqlite3.connect(path)
    connection.execute(statement, values)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    ("statement", "values", "kept"),
    [
        ("UPDATE events SET text = replace(text, 'note 20', 'note 99') WHERE seq = 24", (), 23),
        ("UPDATE events SET chain = 'abc' WHERE seq = 24", (), 23),
        ("UPDATE events SET id = 'another' WHERE seq = 24", (), 23),
        ("UPDATE events SET text = ? WHERE seq = 24", (b"\xff\xfe",), 23),
        ("UPDATE events SET text = ? WHERE seq = 24", ("[" * 100_000,), 23),
        ("DELETE FROM events WHERE seq = 24", (), 23),
        ("DELETE FROM events WHERE seq = 1", (), 0),
        ("DROP TABLE events", (), 0),
        ("ALTER TABLE events RENAME COLUMN chain TO link", (), 0),
    ],
)
def test_everything_before_the_first_changed_row_is_trusted(long_log, tmp_path, statement, values, kept):
    source, events = long_log
    path = shutil.copy(source, tmp_path / "damaged.crewrun")
    change(path, statement, *values)
    with pytest.raises(DamagedLog) as caught:
        RunLog.open(path)

    assert caught.value.events == events[:kept]
    assert "damaged.crewrun  is damaged" in problem(caught)


def test_a_damaged_log_is_copied_and_stays_as_it_is(long_log, tmp_path):
    source, events = long_log
    path = shutil.copy(source, tmp_path / "damaged.crewrun")
    change(path, "DELETE FROM events WHERE seq = 40")
    before = path.read_bytes()
    with pytest.raises(DamagedLog) as caught:
        resume_run(LISTS, path, "Thistle 21")
    saved = recover_log(caught.value, tmp_path / "saved.crewrun")

    assert path.read_bytes() == before
    assert saved.events == events[:39]
    with resume_run(LISTS, saved.path, "Thistle 21") as run:
        assert run.state == fold(LISTS, events[:39])


def readable(path):
    """Return the events that opening a file gives, and whether it was opened without a complaint."""
    try:
        with RunLog.open(path, patience=0.1) as log:
            return log.events(), True
    except DamagedLog as damaged:
        return damaged.events, False
    except InputError:
        return (), False


# Also longer, with SORTIEWRIGHT_FULL=1: 2,000 files.
@pytest.mark.parametrize("seed", range(20 if os.environ.get("SORTIEWRIGHT_FULL") else 2))
def test_flipped_bytes_are_never_an_event_nor_a_silent_loss_nor_a_traceback(long_log, tmp_path, seed):
    source, events = long_log
    whole = source.read_bytes()
    chance = random.Random(seed)
    path = tmp_path / "flipped.crewrun"
    kept = []
    for _ in range(100):
        content = bytearray(whole)
        for _ in range(chance.choice([1, 1, 2, 8, 64])):
            content[chance.randrange(len(content))] = chance.randrange(256)
        path.write_bytes(content)
        found, is_whole = readable(path)
        kept.append(len(found))
        assert found == events[: len(found)]
        assert not is_whole or found == events
    assert sum(kept) > 0.2 * len(kept) * len(events)


@pytest.mark.parametrize("seed", range(2))
def test_a_log_cut_short_is_never_taken_for_whole(long_log, tmp_path, seed):
    source, events = long_log
    whole = source.read_bytes()
    chance = random.Random(seed)
    path = tmp_path / "short.crewrun"
    for length in [0, 1, 99, 100, 4096, *(chance.randrange(len(whole)) for _ in range(60))]:
        path.write_bytes(whole[:length])
        found, is_whole = readable(path)
        assert not is_whole
        assert found == events[: len(found)]


def test_the_seats_that_are_there_are_kept_too(path, run):
    run.propose(Joined("rear"), INSTRUCTOR)
    with resume_run(LISTS, path, "Thistle 21") as again:
        assert [(one.seat, one.connected) for one in again.state.connections] == [("rear", True)]
