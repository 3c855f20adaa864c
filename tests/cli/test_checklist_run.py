"""The crew run at a terminal: what is typed, what is read, and where it is kept."""

import io
import os
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime

import pytest
from crew_lists import sample

from sortiewright import CAUTION
from sortiewright.commands.checklist_run import todays_lists
from sortiewright.commands.run_files import Wanted, data_folder, log_stem, run_by_date, run_in_file
from sortiewright.commands.run_keyed import KeyedRun
from sortiewright.commands.run_keys import ENTER, ESCAPE
from sortiewright.commands.run_plain import plain_run
from sortiewright.commands.run_screen import in_sight, page_lines
from sortiewright.commands.run_session import Session
from sortiewright.commands.run_verbs import HELP, VERBS, obey
from sortiewright.pack import InputError
from sortiewright.procedures import Noted, Presence, fold, is_finished, resume_run, run_page, start_run
from sortiewright.sortie import demo_sortie_path

BOTH = ("front", "rear")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "today.crewrun"


@pytest.fixture
def session(path):
    with start_run(sample(), path, "Thistle 21") as run:
        yield Session(run, BOTH)


def reads(session, *lines):
    """Return what a session says to each of these lines."""
    session.fetch()
    for line in lines:
        obey(session, line)
    return session.fetch()


def goes_through(session, count=1):
    """Complete this many lists."""
    for _ in range(count):
        obey(session, "open")
        while session.hold() or session.turns():
            hold = session.hold()
            obey(session, f"clear {hold.item.hold.cleared_by}" if hold else f"{session.turns()[0][1]}")
        obey(session, "complete")
    session.fetch()


def test_ok_opens_answers_and_completes(session):
    assert reads(session, "ok") == ["== Before start ==", "1 Battery: ON -- Front seat"]
    assert reads(session, "ok") == [
        "Front seat answered 1 Battery: ON",
        "2 Harness: LOCKED -- Front seat and Rear seat",
    ]
    assert reads(session, "ok", "ok") == [
        "Front seat answered 2 Harness: LOCKED",
        "Rear seat answered 2 Harness: LOCKED",
        "WARNING  Hands crushed: keep clear.",
        "4 Canopy: CLOSED -- Front seat or Rear seat",
    ]
    assert reads(session, "rear says CLOSED, light out") == [
        "Rear seat answered 4 Canopy: CLOSED, light out",
        "5 Seat pins: REMOVED -- Rear seat",
    ]
    assert reads(session, "r", "ok") == [
        "Rear seat answered 5 Seat pins: REMOVED",
        "== Before start complete ==",
    ]


def test_a_hold_is_cleared_by_naming_who_cleared_it(session):
    goes_through(session, 2)
    assert reads(session, "ok") == ["== Taxi ==", "Hold: Chocks out, from Crew chief"]
    (waiting,) = reads(session, "ok")
    assert waiting.startswith("Hold: Chocks out, from Crew chief since ")
    assert reads(session, "clear")[0].startswith("No. Say who cleared it")
    assert reads(session, "clear tower") == ["No. Crew chief clears it, not Tower: Chocks out"]
    assert reads(session, "clear crew") == [
        "Chocks out: cleared by Crew chief",
        "1 Chocks: OUT -- Front seat",
    ]


def test_where_each_seat_has_its_own_item_the_seat_is_named(session):
    goes_through(session)
    obey(session, "ok")

    assert reads(session, "skip no radio") == [
        "Each seat is at its own item: name the seat first, front or rear"
    ]
    assert reads(session, "front skip no radio")[0] == "Front seat left out 1 Radios: no radio"


def test_an_emergency_is_listed_called_ended_and_the_list_resumed(session):
    reads(session, "ok", "ok")

    assert reads(session, "emergency") == [
        "Which one? Write emergency and its number or name",
        "1  Engine fire, emergency",
        "2  Leave aircraft, emergency",
        "3  Electrical fault, abnormal",
        "4  One engine, abnormal",
    ]
    assert reads(session, "emergency engine f") == [
        "== Engine fire ==",
        "When: Signs of engine fire",
        "1 Throttle: OFF -- Front seat",
    ]
    assert reads(session, "end false alarm") == [
        "== Engine fire ended: false alarm ==",
        "Before start was interrupted. Last answered: 1 Battery, ON. Go on at 2 Harness?",
    ]
    assert reads(session, "resume 5")[0].startswith("No. Harness is not answered yet")
    assert reads(session, "ok") == ["2 Harness: LOCKED -- Front seat and Rear seat"]


def test_an_item_put_off_is_reminded_of_and_taken_up(session):
    reads(session, *["ok"] * 5)
    assert reads(session, "later") == ["Rear seat put off 5 Seat pins"]
    assert reads(session, "ok")[0].startswith("No. Before start is not complete: 5 Seat pins put off until")
    assert "Put off until Before line-up: Seat pins (Before start)" in reads(
        session, "open after because pins come out at the runway"
    )
    assert reads(session, "rear take") == [
        "Rear seat took up 5 Seat pins",
        "5 Seat pins: REMOVED -- Rear seat",
    ]
    assert ("seat_pins", "rear") in [(one.place.item, seat) for one, seat in session.turns()]


def test_undo_takes_back_the_last_thing_done_here(session):
    reads(session, "ok", "ok")

    assert reads(session, "undo") == [
        "Taken back: Front seat answered 1 Battery: ON",
        "1 Battery: ON -- Front seat",
    ]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("fly", '"fly" is no command. Write help for all of them'),
        ("opne", '"opne" is no command. Did you mean "open"?'),
        ("o", '"o" may be ok, override or open: write more of it'),
        ("open before_strat", 'No list is called "before_strat". Did you mean "before_start"?'),
        ("open a because x", None),
        ("emergency e", '"e" may be Engine fire or Electrical fault: write more of it'),
        ("take", "Nothing is put off"),
        ("clear tower", "Nothing is held"),
        ("override x", "Nothing is held"),
        ("end x", "No list is open"),
        ("complete", "No list is open"),
        ("resume 2", "No list waits to be resumed"),
        ("disagree", "Write the number of the item, then what you see: disagree 4 light is out"),
        ("skip x", "No item is awaited now"),
        ("undo", "Nothing that was done here can be taken back now"),
        ("note", "No. A note needs words"),
    ],
)
def test_what_cannot_be_done_is_said(session, line, words):
    said = reads(session, line)

    assert words is None or said[0] == words


def test_a_terminal_answers_for_its_own_seat_only(path, session):
    rear = Session(resume_run(sample(), path, "Thistle 21"), ("rear",))
    obey(session, "ok")
    assert rear.refresh()

    assert reads(rear, "front") == ["This terminal is for Rear seat, not for Front seat"]
    assert reads(rear, "ok") == ["Front seat is awaited: Battery"]
    rear.run.close()


def test_help_names_every_command():
    assert [verb for verb in VERBS if verb not in HELP] == []


def test_plain_mode_prints_one_short_line_a_change_and_ends_with_its_input(session, capsys):
    plain_run(session, io.StringIO("ok\n\nfront\nnote wind has backed\nquit\nok\n"), lambda: None)

    assert capsys.readouterr().out.splitlines() == [
        "== Before start ==",
        "1 Battery: ON -- Front seat",
        "Front seat answered 1 Battery: ON",
        "2 Harness: LOCKED -- Front seat and Rear seat",
        "Front seat noted: wind has backed",
    ]


def shown(session, **more):
    return [line.plain.rstrip() for line in page_lines(run_page(session.state), session.seats, **more)]


# WCAG 2.1, success criterion 1.4.1: colour is not the only means of telling states apart (from memory).
def test_every_state_of_an_item_has_its_own_sign(session):
    goes_through(session, 2)
    reads(session, "ok", "clear crew chief", "skip no crew chief in sight")
    page = "\n".join(shown(session))

    assert "[-]  1    Chocks" in page
    assert "[>]  2    Brakes" in page
    assert "F?" in page
    reads(session, "ok", "ok", "ok")
    assert "[#]  1    Clearance" in "\n".join(shown(session))
    assert "[ ]  2    Trim" in "\n".join(shown(session))


def test_the_screen_says_who_is_awaited_since_when(session):
    goes_through(session, 2)
    obey(session, "ok")
    now = datetime(2030, 1, 1, tzinfo=UTC)

    assert any(
        "HOLD  Chocks out, from Crew chief (waiting since " in line for line in shown(session, now=now)
    )


def test_a_stopped_list_and_a_seat_that_is_away_are_in_sight(session):
    session.join()
    reads(session, "ok", "emergency fire", "emergency engine_fire")
    session.lose("rear")
    page = "\n".join(shown(Session(session.run, ("front",))))

    assert "STOPPED  Before start, at 1 Battery" in page
    assert "//// EMERGENCY  Engine fire ////" in page
    assert "Rear seat NOT CONNECTED since " in page


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_the_screen_fits_the_terminal(session, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    goes_through(session)
    obey(session, "ok")

    assert max(map(len, shown(session))) <= columns


def test_what_does_not_fit_the_height_is_around_the_item_awaited(session):
    reads(session, *["ok"] * 5)
    lines = in_sight(page_lines(run_page(session.state), BOTH), 6)
    texts = [line.plain for line in lines]

    assert len(lines) == 6
    assert any(text.startswith("[>]") for text in texts)
    assert any(text.startswith("== Before start") for text in texts)


class Fingers:
    """Keys pressed one after the other, then no more."""

    def __init__(self, *keys):
        self.keys = list(keys)

    def read(self, timeout):
        if not self.keys:
            raise EOFError
        return self.keys.pop(0)


class Paper:
    """A screen that keeps what was drawn."""

    def __init__(self):
        self.pages = []

    def height(self):
        return 24

    def draw(self, lines):
        self.pages.append("\n".join(line.plain for line in lines))


def presses(session, *keys):
    paper = Paper()
    KeyedRun(session, Fingers("any", *keys), paper, lambda: None).loop()
    return paper.pages


def test_single_keys_run_a_list(session):
    presses(session, ENTER, "f", "f", "r", ENTER, "r", ENTER)

    assert [one.end for one in session.state.lists] == ["complete"]


def test_a_key_asks_for_the_reason_and_escape_thinks_better_of_it(session):
    pages = presses(session, ENTER, "s", *"no", ESCAPE, "s", *"hot", "back", ENTER)

    assert "Leave it out: why? no_" in "\n".join(pages)
    assert session.state.lists[0].items[0].marks[0].text == "ho"


def test_an_emergency_is_called_with_two_keys(session):
    presses(session, ENTER, "e", "1")

    assert session.state.current.procedure == "engine_fire"


def test_a_hold_is_cleared_from_a_menu_of_everybody(session):
    goes_through(session, 2)
    pages = presses(session, ENTER, "c", "2", "c", "1")

    assert "1  Crew chief" in "\n".join(pages)
    assert session.state.current.items[0].release.by == "crew_chief"


def test_another_list_is_opened_with_a_reason(session):
    presses(session, ENTER, "l", "3", *"late", ENTER)

    assert session.state.current.procedure == "taxi"
    assert session.state.current.reason == "late"


def test_the_other_keys_do_what_the_help_says(session):
    presses(
        session,
        ENTER,
        "n",
        *"dead",
        ENTER,
        "x",
        *"it is back",
        ENTER,
        "b",
        "1",
        "u",
        "m",
        *"hm",
        ENTER,
        "?",
        "any",
    )
    presses(
        session, ":", *"resume", ENTER, ENTER, "d", *"1 no", ENTER, "p", "t", "o", ENTER, "arrow", "", "q"
    )

    assert [one.text for one in session.state.notes] == ["hm"]
    assert session.is_over


@pytest.fixture
def wanted():
    return Wanted(sample(), "Thistle 21", "2026-05-14-thistle-21")


def test_a_log_is_named_by_date_and_callsign_for_every_file_system():
    assert log_stem("2026-05-14", "Thistle 21") == "2026-05-14-thistle-21"
    assert log_stem("2026-05-14", "../Ünï:*?") == "2026-05-14-n"
    assert log_stem("2026-05-14", "") == "2026-05-14"
    assert len(log_stem("2026-05-14", "a" * 500)) < 60


# XDG Base Directory Specification 0.8 (from memory): data go to $XDG_DATA_HOME, else ~/.local/share; a
# relative path there is invalid and to be ignored.
@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="those systems have their own places")
def test_runs_are_kept_where_the_user_keeps_data(monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    assert data_folder() == tmp_path / ".local" / "share" / "sortiewright"
    monkeypatch.setenv("XDG_DATA_HOME", "relative")
    assert data_folder() == tmp_path / ".local" / "share" / "sortiewright"
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert data_folder() == tmp_path / "data" / "sortiewright"


def test_an_unfinished_run_goes_on_and_says_so(wanted, tmp_path):
    run, said = run_by_date(wanted, new=False, folder=tmp_path)
    assert said[0].startswith("A new run, kept in ")
    obey(Session(run, BOTH), "ok")
    state = run.state
    run.close()
    again, said = run_by_date(wanted, new=False, folder=tmp_path)

    assert said[0] == f"Going on with the run in {tmp_path / '2026-05-14-thistle-21.crewrun'}"
    assert said[1].endswith("Front seat opened Before start")
    assert again.state == state
    again.close()


def test_a_new_run_is_begun_beside_an_unfinished_one_only_when_asked(wanted, tmp_path):
    run_by_date(wanted, new=False, folder=tmp_path)[0].close()
    run, _ = run_by_date(wanted, new=True, folder=tmp_path)
    run.close()

    assert run.log.path.name == "2026-05-14-thistle-21-2.crewrun"
    again, said = run_by_date(wanted, new=False, folder=tmp_path)
    again.close()
    assert "thistle-21-2.crewrun" in said[0]


def test_after_a_finished_run_a_new_one_begins(wanted, tmp_path):
    run, _ = run_by_date(wanted, new=False, folder=tmp_path)
    goes_through(Session(run, BOTH), 6)
    run.close()
    again, said = run_by_date(wanted, new=False, folder=tmp_path)
    again.close()

    assert said[0] == "The run in 2026-05-14-thistle-21.crewrun is finished"


def test_a_run_of_other_lists_is_kept_and_said(wanted, tmp_path):
    run_by_date(wanted, new=False, folder=tmp_path)[0].close()
    lists = sample()
    fewer = type(lists)(lists.normal[1:], lists.others, lists.seats, lists.parties, by_id=lists.by_id)
    run, said = run_by_date(Wanted(fewer, "Thistle 21", wanted.stem), new=False, folder=tmp_path)
    run.close()

    assert "before start differs" in said[0]
    assert run.log.path.name == "2026-05-14-thistle-21-2.crewrun"


@pytest.mark.parametrize("named", [True, False])
def test_a_damaged_log_is_recovered_into_another_and_said(wanted, tmp_path, named):
    run, _ = run_by_date(wanted, new=False, folder=tmp_path)
    for number in range(30):
        run.propose(Noted(f"note {number}"), "front")
    path = run.log.path
    run.close()
    content = bytearray(path.read_bytes())
    at = content.index(b'"note 12"')
    content[at + 1 : at + 5] = b"NOTE"
    path.write_bytes(content)

    again, said = (
        run_in_file(wanted, path, new=False) if named else run_by_date(wanted, new=False, folder=tmp_path)
    )
    again.close()
    assert "is damaged: event 14 is not as it was written. 13 events before it can be read" in said[0]
    assert said[1].startswith(f"The 13 that can be read are copied to {again.log.path}")
    assert said[-1].endswith("Front seat noted: note 11")
    assert path.read_bytes() == content


def test_a_named_log_is_never_overwritten(wanted, path, tmp_path):
    run_in_file(wanted, path, new=False)[0].close()
    with pytest.raises(InputError, match="is there already"):
        run_in_file(wanted, path, new=True)
    with pytest.raises(InputError, match="lies in a folder that is not there"):
        run_in_file(wanted, tmp_path / "nowhere" / "a.crewrun", new=False)


def test_a_seat_that_gives_no_sign_is_noticed_and_one_that_does_is_not(path):
    clock = [0.0]
    front = Presence(path, ["front"], lambda: clock[0])
    rear = Presence(path, ["rear"], lambda: clock[0])
    silent = []
    for second in range(30):
        clock[0] = float(second)
        front.give()
        if second < 10:
            rear.give()
        silent.append((front.is_silent("rear"), rear.is_silent("front")))

    assert [one for one, _ in silent].index(True) in range(15, 20)
    assert not any(other for _, other in silent)
    front.stop()
    rear.stop()
    assert list(path.parent.iterdir()) == []


def environment(tmp_path):
    places = dict.fromkeys(("XDG_DATA_HOME", "LOCALAPPDATA", "HOME"), str(tmp_path))
    return {**os.environ, **places, "PYTHONIOENCODING": "utf-8"}


@pytest.fixture(scope="module")
def demo():
    """Return the lists and the plan of the demo sortie, made once: they take longer than all else here."""
    return todays_lists(str(demo_sortie_path()), "trade")


@pytest.fixture
def run_command(command, demo, monkeypatch, tmp_path):
    """Return a function that runs the command with lines on its standard input."""
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path))
    monkeypatch.setattr(sys.modules["sortiewright.commands.checklist_run"], "todays_lists", lambda *_: demo)

    def ran(*arguments, lines=""):
        monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
        return command("checklist", "run", "demo", *arguments)

    return ran


def test_the_command_takes_a_pipe_and_goes_on_where_it_was(run_command):
    first, second = run_command(lines="ok\n"), run_command(lines="quit\n")

    assert (first.code, second.code) == (0, 0)
    assert first.out.startswith(CAUTION)
    assert first.out.count(CAUTION) == 1
    assert "A new run, kept in " in first.out
    assert "Going on with the run in " in second.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--seat", "reer"), '"reer" is no seat that is taken today. Did you mean "rear"?'),
        (("--log", "nowhere/a.crewrun"), "lies in a folder that is not there"),
        (("--log", "notes.txt"), "notes.txt  is no log of a crew run"),
        (("--log", "."), "cannot be used"),
    ],
)
def test_bad_input_is_told_in_one_line(run_command, tmp_path, arguments, words):
    (tmp_path / "notes.txt").write_text("not a log\n", "utf-8")
    ran = run_command(*arguments)

    assert ran.code == 2
    assert words in ran.err
    assert len(ran.err.splitlines()) == 1


@pytest.mark.slow
def test_the_demo_is_run_from_its_first_list_to_its_last(demo, path):
    lists, _ = demo
    with start_run(lists, path, "Thistle 21") as run:
        session = Session(run, BOTH)
        goes_through(session, len([one for one in lists.normal if one.id != lists.go_around]))

        assert is_finished(run.state)
        assert {one.end for one in run.state.lists} == {"complete"}
        answered = [item for one in run.state.lists for item in one.items if item.marks]
        assert len(answered) > 100


@pytest.mark.slow
def test_two_terminals_share_one_run(tmp_path):
    log = tmp_path / "today.crewrun"
    program = "from sortiewright.cli import main; main()"
    arguments = ["checklist", "run", "demo", "--plain", "--log", str(log), "--seat"]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True, "encoding": "utf-8"}
    panes = []
    try:
        for seat in BOTH:
            command = [sys.executable, "-c", program, *arguments, seat]
            panes.append(subprocess.Popen(command, env=environment(tmp_path), **pipes))
            wait_for(log, f'"joined","seat":"{seat}"')
        write(panes[0], "open")
        wait_for(log, '"opened"')
        write(panes[1], "note seen from behind")
        write(panes[1], "quit")
        rear, _ = panes[1].communicate(timeout=180)
        front = ""
        while "not connected" not in front:
            front += panes[0].stdout.readline()
        front += panes[0].communicate("quit\n", timeout=180)[0]
    finally:
        for one in panes:
            one.kill()
            one.communicate()

    assert "== Walk-round ==" in rear
    assert "Rear seat noted: seen from behind" in front


def write(pane, line):
    pane.stdin.write(f"{line}\n")
    pane.stdin.flush()


def wait_for(log, words):
    end = time.monotonic() + 180
    while not log.exists() or words.encode() not in log.read_bytes():
        assert time.monotonic() < end, words
        time.sleep(0.05)


def test_a_log_that_is_held_is_said_and_the_crew_tries_again(path):
    with start_run(sample(), path, "Thistle 21", patience=0.1) as run:
        session = Session(run, BOTH)
        blocker = sqlite3.connect(path, isolation_level=None)
        blocker.execute("BEGIN IMMEDIATE")
        assert reads(session, "ok")[0].startswith("Not done. today.crewrun  is held by another program")
        blocker.close()
        assert reads(session, "ok")[0] == "== Before start =="


def test_a_log_that_is_damaged_meanwhile_is_said_once(path, session):
    other = resume_run(sample(), path, "Thistle 21")
    connection = sqlite3.connect(path)
    connection.execute("INSERT INTO events VALUES (2, 'x', 'x', 'x')")
    connection.commit()
    connection.close()
    watching = Session(other, BOTH)

    assert not watching.refresh()
    assert not watching.refresh()
    assert ["is damaged" in line for line in watching.fetch()] == [True]
    other.close()


def test_what_was_kept_can_be_folded_again(session, path):
    goes_through(session)
    events = session.run.log.events()

    assert fold(sample(), events) == session.state
