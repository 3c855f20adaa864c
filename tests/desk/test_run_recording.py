"""The live feed recorded from the page: whole when it is stopped, all but its end when the desk is killed."""

import asyncio
import socket
import time

import numpy as np
import pytest
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk import run_recording as recording_room
from sortiewright.desk.debrief_shelf import RecordingShelf
from sortiewright.desk.run_recording import FeedRecording
from sortiewright.link import PartsWriter, Update, hello_text, sample_texts
from sortiewright.recording import read_recording

HERE = "http://127.0.0.1:4711"
PATIENCE = 20.0  # s; however busy the machine
SPEEDS = np.linspace(0.0, 80.0, 120)


def updates():
    now = time.monotonic()
    return [Update(at / 20, now, {"calibrated_airspeed": float(speed)}) for at, speed in enumerate(SPEEDS)]


@pytest.fixture
def shelf(tmp_path):
    return RecordingShelf(tmp_path)


def recorded(shelf, *, is_killed=False):
    """Return a recording made of the updates; what ``is_killed`` leaves is taken up by the next desk."""

    async def run():
        made = FeedRecording(shelf)
        await made.start()
        for update in updates():
            made.take(update)
        if not is_killed:
            await made.stop()
            return made
        end = time.monotonic() + PATIENCE
        while not any((shelf.folder / "feed").rglob("*-*.parquet")):
            assert time.monotonic() < end
            await asyncio.sleep(0.02)
        return made  # the loop ends, and with it the task that writes

    return asyncio.run(run())


def speeds_of(shelf, kept):
    return read_recording(shelf.file(kept)).columns["calibrated_airspeed"]


def test_what_came_is_a_recording_like_any_other(shelf):
    made = recorded(shelf)

    assert [one.id for one in shelf.entries()] == [made.last.id]
    assert made.last.name.startswith("live-feed-20")
    assert made.said == ""
    assert speeds_of(shelf, made.last) == pytest.approx(SPEEDS)
    assert list((shelf.folder / "feed").iterdir()) == []


def test_nothing_came_and_nothing_is_kept(shelf):
    async def run():
        made = FeedRecording(shelf)
        await made.start()
        await made.stop()
        return made

    made = asyncio.run(run())
    assert made.last is None
    assert made.said == "Nothing came, so nothing was recorded."
    assert shelf.entries() == ()


def test_a_desk_that_is_killed_leaves_what_the_next_one_lays_down(shelf, monkeypatch):
    recorded(shelf, is_killed=True)
    told = []
    assert shelf.entries() == ()
    monkeypatch.setattr(recording_room, "SILENT", 0.0)
    asyncio.run(FeedRecording(shelf).take_up(lambda: told.append("laid down")))

    (kept,) = shelf.entries()
    assert told == ["laid down"]
    assert speeds_of(shelf, kept) == pytest.approx(SPEEDS[: len(speeds_of(shelf, kept))])
    assert len(speeds_of(shelf, kept)) > 1


def test_what_another_desk_is_recording_is_left_to_it(shelf):
    writer = PartsWriter(shelf.folder / "feed" / "2026-11-25-093000.parquet")
    laid, left = FeedRecording(shelf)._take_up()

    assert (laid, left) == (0, 1)
    assert writer.folder.is_dir()


def test_a_disk_that_takes_nothing_more_is_told_and_ends_the_recording(shelf, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    async def run():
        made = FeedRecording(shelf)
        monkeypatch.setattr(recording_room, "_write", full)
        monkeypatch.setattr(recording_room, "WRITTEN_EVERY", 0.02)
        await made.start()
        end = time.monotonic() + PATIENCE
        while made.is_on:
            assert time.monotonic() < end
            await asyncio.sleep(0.02)
        return made

    assert asyncio.run(run()).said.startswith("The recording has stopped: No space left on device.")


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sorties")
    app = make_app(Shelf(folder), DeskOptions(folder=folder, port=4711))
    with TestClient(app, base_url=HERE, headers={"origin": HERE}, raise_server_exceptions=False) as made:
        made.get(f"/enter?token={app.state.desk.sessions.new_token()}")
        yield made


def test_a_crew_records_a_feed_on_the_page_of_the_run_and_finds_it_at_debrief(client):
    assert client.post("/run/record").status_code == 409
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    assert "Record the live feed" in client.post("/run/listen", data={"port": str(port)}).text
    assert "<b>Recording</b> since" in client.post("/run/record").text
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as simulation:
        simulation.sendto(hello_text("x", {}, "a simulation"), ("127.0.0.1", port))
        feed = client.app.state.desk.parts["run"].feed
        end = time.monotonic() + PATIENCE
        sequence = 0
        while len(feed.state.latest) < 1 or sequence < 40:
            assert time.monotonic() < end
            for text in sample_texts(sequence / 20, sequence, {"calibrated_airspeed": 20.0 + sequence}):
                simulation.sendto(text, ("127.0.0.1", port))
            sequence += 1
            time.sleep(0.005)
    stopped = client.post("/run/stop-recording").text

    assert 'Recorded: <a href="/debrief/' in stopped
    assert "live-feed-20" in client.get("/debrief").text
    assert "Listening at port" in stopped
    client.post("/run/stop-listening")


def test_only_the_device_that_started_the_desk_records(client):
    client.post("/seat", data={"seat": "front"})
    app = client.app
    rear = TestClient(app, base_url=HERE, headers={"origin": HERE}, raise_server_exceptions=False)
    rear.portal = client.portal
    rear.post("/join", data={"code": app.state.desk.code.code, "seat": "rear"}, follow_redirects=False)

    for path in ("/run/record", "/run/stop-recording"):
        assert rear.post(path).status_code == 403
