"""The run without a browser: what becomes of presses, whoever sends them however often, and of a restart."""

import re
import shutil
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from run_at_desk import AS_DATA, offered, press, press_all
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.event_stream import Viewer
from sortiewright.desk.run_logs import RunFolder
from sortiewright.desk.run_presence import SeatWatch
from sortiewright.desk.run_proposals import Garbled, asked_of
from sortiewright.desk.run_room import room_of
from sortiewright.procedures.run_state import Connection

HERE = "http://127.0.0.1:4711"


def desk_over(folder):
    return make_app(Shelf(folder), DeskOptions(folder=folder, port=4711))


def client_of(app, cookies=None):
    made = TestClient(app, base_url=HERE, raise_server_exceptions=False, headers={"origin": HERE})
    if cookies is not None:
        made.cookies = cookies
    return made


def entered(app):
    client = client_of(app)
    client.get(f"/enter?token={app.state.desk.sessions.new_token()}", follow_redirects=False)
    return client


# One desk for all tests here, as a plan and its lists take a second; each test begins a run of its own.
@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("sorties")
    shutil.copy(Shelf().demo().file, made / "range.yaml")
    return made


@pytest.fixture(scope="module")
def app(folder):
    shelf = Shelf(folder)
    return make_app(shelf, DeskOptions(folder=folder, port=4711), opened=folder / "range.yaml")


@pytest.fixture(scope="module")
def owner(app):
    return entered(app)


@pytest.fixture
def front(owner):
    assert owner.post("/run/begin", follow_redirects=False).status_code == 303
    return owner


@pytest.fixture
def joined(app):
    def made(seat):
        client = client_of(app)
        answer = client.post("/join", data={"code": app.state.desk.code.code, "seat": seat})
        assert answer.status_code == 200
        return client

    return made


@pytest.fixture
def rear(front, joined):
    return joined("rear")


@pytest.fixture
def room(app):
    return room_of(app.state.desk)


@pytest.fixture
def state(room):
    return lambda: room.state


def open_list(client, name):
    assert press(client, f"open:{name}:::front", "begins here").status_code == 200


def test_a_sortie_without_a_run_offers_to_begin_one(tmp_path):
    owner = entered(desk_over(tmp_path))
    assert any("Begin the run" in owner.get("/run").text or time.sleep(0.1) for _ in range(1200))
    assert press(owner, "answer:walk_round:gear_pins:1:front").status_code == 409
    owner.post("/run/begin")

    assert offered(owner) == ["open:walk_round:::front"]
    # The day of the demonstration sortie, and the id of its file on the shelf.
    assert re.fullmatch(
        r"2026-05-14-demo-[0-9a-f]{6}\.crewrun", next((tmp_path / ".desk" / "runs").glob("*.crewrun")).name
    )


def test_the_same_press_counts_once_however_often_it_is_sent(front, state):
    open_list(front, "walk_round")
    before = state().seq
    answers = [press(front, "answer:walk_round:gear_pins:1:front", id="0123456789abcdef") for _ in range(5)]

    assert [one.json()["outcome"] for one in answers] == ["done", *["already"] * 4]
    assert state().seq == before + 1


def test_both_seats_at_one_item_at_once_make_one_event(front, rear, state):
    open_list(front, "walk_round")
    for item in ("gear_pins", "intake_covers", "pitot_cover", "tyres"):
        assert press(front, f"answer:walk_round:{item}:1:front").json()["outcome"] == "done"
    before, answers = state().seq, []
    place = "answer:walk_round:brakes:1"
    assert offered(rear) == [f"{place}:rear"]
    both = [
        threading.Thread(target=lambda c=client, s=seat: answers.append(press(c, f"{place}:{s}").json()))
        for client, seat in ((front, "front"), (rear, "rear"))
    ]
    for one in both:
        one.start()
    for one in both:
        one.join()

    assert sorted(one["outcome"] for one in answers) == ["already", "done"]
    assert "has answered for all: Brake wear pins" in next(o["words"] for o in answers if o["words"])
    assert state().seq == before + 1


def test_a_seat_answers_for_itself_only_unless_it_is_said_to_sit_alone(front, rear):
    open_list(front, "cockpit_entry")
    deed = "answer:cockpit_entry:rear_seat_pin:1:rear"
    deed = next(one for one in offered(rear) if one.endswith(":rear"))
    assert press(front, deed).status_code == 403
    front.post("/run/both", data={"both": "yes"})
    assert "Answer for one seat only" in front.get("/run").text
    assert press(front, deed).json()["outcome"] == "done"
    front.post("/run/both", data={"both": "no"})

    assert press(front, deed).status_code == 403


def test_a_watcher_sees_the_run_and_presses_nothing(front, joined):
    open_list(front, "walk_round")
    watcher = joined("watcher")
    page = watcher.get("/run").text

    assert "Gear pins" in page
    assert 'name="deed"' not in page
    assert press(watcher, "answer:walk_round:gear_pins:1:front").status_code == 403


def test_what_comes_out_of_turn_is_refused_in_words(front):
    open_list(front, "walk_round")
    answer = press(front, "answer:walk_round:tyres:1:front")

    assert answer.status_code == 409
    assert answer.json()["words"] == "Gear pins comes first"


def test_nothing_passes_a_hold_but_a_clearance_or_a_reason(front, rear, state):
    open_list(front, "power_on")
    clear = offered(front)[0]
    assert re.fullmatch("clear:power_on:.*:front:crew_chief", clear)
    item = clear.split(":")[2]
    answer = f"answer:power_on:{item}:1:front"

    assert "Crew chief clears it" in press(front, answer).json()["words"]
    assert press(front, clear.replace("crew_chief", "tower")).status_code == 409
    assert press(front, f"override:power_on:{item}:1:front").json()["words"].startswith("Going on without")
    assert press(rear, clear.replace(":front:", ":rear:")).json()["outcome"] == "done"
    assert press(front, answer).json()["outcome"] == "done"


def test_two_seats_come_to_the_end_of_the_sortie_by_what_they_are_offered(front, rear):
    open_list(front, "shutdown")
    press_all([front, rear])

    assert "All lists are done" in front.get("/run").text


def test_a_run_goes_on_after_a_restart_even_if_the_sortie_was_changed_meanwhile(front, folder, state):
    open_list(front, "walk_round")
    press(front, "answer:walk_round:gear_pins:1:front")
    before = state()
    file = folder / "range.yaml"
    text = file.read_text("utf-8")
    file.write_text(text.replace("Thistle", "Plover"), "utf-8")
    app = desk_over(folder)
    page = client_of(app, front.cookies).get("/run").text
    file.write_text(text, "utf-8")

    assert "1 of 10" in page
    assert room_of(app.state.desk).state == before


def test_a_damaged_log_is_told_and_what_can_be_read_of_it_goes_on(front, folder, room):
    open_list(front, "walk_round")
    press(front, "answer:walk_round:gear_pins:1:front")
    log = folder / ".desk" / "runs" / f"{room.id}.crewrun"
    damaged = log.read_bytes().replace(b'"answered"', b'"ANSWERED"')
    log.write_bytes(damaged)
    page = client_of(desk_over(folder), front.cookies).get("/run").text

    assert "is damaged" in page
    assert "do again what comes next" in page
    assert "0 of 10" in page
    assert log.read_bytes() == damaged


def test_a_run_that_was_put_away_is_taken_up_by_its_id(front, room):
    open_list(front, "walk_round")
    id = room.id
    front.post("/run/away")
    assert "Begin a new run" in front.get("/run").text
    assert front.post("/run/go-on", data={"run": "../" + id}).status_code == 404
    front.post("/run/go-on", data={"run": id})

    assert "0 of 10" in front.get("/run").text


def test_a_new_run_never_writes_over_another(front, room):
    first = room.folder.folder / f"{room.id}.crewrun"
    written = first.read_bytes()
    front.post("/run/begin")

    assert room.id != first.stem
    assert first.read_bytes() == written


NONSENSE = [
    "",
    "answer",
    "answer::::",
    "answer:walk_round:gear_pins:1:nobody",
    "answer:walk_round:gear_pins:1:rear",
    "answer:walk_round:gear_pins:99999999999:front",
    "answer:walk_round:gear_pins:-1:front",
    "answer:walk_round:\x00:1:front",
    "answer:../../etc:passwd:1:front",
    "answer:no_such_list:x:1:front",
    "call:no_such_list:::front",
    "call:walk_round:::front",
    "open:abort:::front",
    "complete:walk_round:::front",
    "undo::0123456789abcdef::front",
    "started:x:::front",
    "joined:x:::rear",
    "note::::front",
    "skip:walk_round:gear_pins:1:front",
    "a" * 3000,
    "é:é:é:1:front",
]


def test_a_press_that_makes_no_sense_is_refused_and_changes_nothing(front, state):
    open_list(front, "walk_round")
    before = state()
    for deed in NONSENSE:
        answer = press(front, deed)
        assert 400 <= answer.status_code < 500, deed
        assert answer.json()["outcome"] == "refused", deed
    for id in ("short", "a" * 65, "0123456789abcde\n", "../../../../key", "é" * 16):
        assert press(front, "note::::front", "words", id=id).status_code == 400

    assert state() == before


HOSTILE = [
    ("/run/begin", b"\xff\xfe"),
    ("/run/go-on", b"run=%00"),
    ("/run/go-on", b"run=" + b"a" * 900_000),
    ("/run/deeds", b"&" * 5000),
    ("/run/deeds", b"deed=a&deed=b"),
    ("/run/deeds", b'--x\r\ncontent-disposition: form-data; name="deed"; filename="a"\r\n\r\n--x--'),
    ("/run/listen", b"port=80"),
    ("/run/listen", b"port=99999999999"),
    ("/run/listen", "port=٤٧١٠".encode()),
    ("/run/both", b"both=%ff"),
    ("/run/away", b"a[]=1"),
]
KINDS = ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain"]


def test_a_hostile_form_is_refused_without_a_fault(front):
    for path, body in HOSTILE:
        for kind in KINDS:
            headers = {"content-type": kind, **AS_DATA}
            answer = front.post(path, content=body, headers=headers, follow_redirects=False)
            assert answer.status_code < 500, (path, kind)


def test_a_question_is_asked_only_for_what_takes_words(owner):
    for deed in ("", "answer:a:b:1:front", "skip", "skip:::::", "nothing:a:b:1:front"):
        assert owner.get("/run/ask", params={"deed": deed}).status_code == 404


def test_words_go_into_the_log_as_one_plain_line(front, state):
    press(front, "note::::front", "a\x1b[2Jb\r\n<script>alert(1)</script>" + "x" * 300)
    said = state().notes[-1].text

    assert said.isprintable()
    page = front.get("/run").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def test_a_stranger_sees_nothing_of_a_run(stranger):
    for path in ("/run", "/run/emergencies", "/run/ask?deed=note::::front"):
        assert stranger.get(path).status_code == 403
    for path in ("begin", "go-on", "away", "deeds", "both", "listen", "stop-listening"):
        assert stranger.post(f"/run/{path}").status_code == 403


def test_only_the_device_that_started_the_desk_opens_a_port(joined):
    for path in ("listen", "stop-listening"):
        assert joined("front").post(f"/run/{path}", data={"port": "47999"}).status_code == 403


def test_a_form_without_a_script_does_the_same(front, state):
    answer = front.post("/run/deeds", data={"deed": "open:walk_round:::front"}, follow_redirects=False)
    assert answer.status_code == 303
    asked = front.get("/run/ask", params={"deed": "skip:walk_round:gear_pins:1:front"}).text

    assert "Why is it left out?" in asked
    assert 'value="skip:walk_round:gear_pins:1:front"' in asked
    refused = front.post("/run/deeds", data={"deed": "answer:walk_round:tyres:1:front"})
    assert refused.status_code == 409
    assert "Gear pins comes first" in refused.text


def test_a_desk_that_keeps_nothing_runs_all_the_same():
    app = make_app(Shelf(), DeskOptions(port=4711))
    client = TestClient(app, base_url="http://127.0.0.1:4711", headers={"origin": "http://127.0.0.1:4711"})
    client.get(f"/enter?token={app.state.desk.sessions.new_token()}")
    client.post("/run/begin")
    open_list(client, "walk_round")

    assert "0 of 10" in client.get("/run").text
    assert "This desk keeps nothing" in client.get("/run").text


def test_a_run_folder_knows_its_own_logs_only(tmp_path):
    folder = RunFolder(tmp_path)
    (tmp_path / "runs").mkdir()
    (tmp_path / "elsewhere.crewrun").write_bytes(b"x")
    (tmp_path / "runs" / "in-hand").write_text("../elsewhere", "utf-8")

    assert folder.in_hand() == ""
    assert folder.go_on("../elsewhere", None, "x") is None


def test_a_deed_is_read_part_by_part():
    asked = asked_of("skip:taxi:brakes:2:rear", " not fitted ", "0123456789")

    assert (asked.kind, asked.seat, asked.identity) == ("skip", "rear", "0123456789")
    assert (asked.deed.place.procedure, asked.deed.place.item, asked.deed.place.round) == (
        "taxi",
        "brakes",
        2,
    )
    assert asked.deed.reason == "not fitted"
    for text in (None, 5, "skip:taxi:brakes:2", "skip:taxi:brakes:2:rear:x:y", "skip:ta xi:b:1:rear"):
        with pytest.raises(Garbled):
            asked_of(text, "", "")


def test_a_seat_without_a_page_is_gone_after_seven_seconds_and_not_before(front, state, tmp_path):
    now = [100.0]
    watch = SeatWatch(tmp_path / "log.crewrun", ["front", "rear"], lambda: now[0])
    nobody = replace(state(), connections=())
    somebody = replace(state(), connections=(Connection("front", True, datetime.now(UTC)),))

    assert watch.changes(nobody, {"front"}) == [("front", True)]
    assert watch.changes(somebody, {"front"}) == []
    now[0] += 6.9
    assert watch.changes(somebody, set()) == []
    now[0] += 0.2
    watch.changes(somebody, set())  # its sign is taken away, and a terminal on the same log may give one
    now[0] += 7.1
    assert watch.changes(somebody, set()) == [("front", False)]


def test_who_answers_for_both_seats_is_there_in_both():
    watch = SeatWatch()
    watch.both.add("a")
    viewers = {"a": Viewer("front", "trade"), "b": Viewer("watcher", "trade")}

    def own(seat, both):
        return ("front", "rear") if both else ()

    assert watch.present(viewers, own) == {"front", "rear"}
