"""Debrief on the desk: a recording taken, mapped, debriefed, shown; and what hostile requests get."""

import asyncio
import gzip
import html
import json
import re
import struct
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.debrief_checklist import checklist_data
from sortiewright.desk.debrief_kept import DebriefOrder, keep_order, order_in
from sortiewright.desk.debrief_shelf import RecordingShelf
from sortiewright.desk.debrief_strips import Strip, window_bytes
from sortiewright.desk.slow_work import Work
from sortiewright.recording import Recording, debrief, example_recording, load_channel_map, read_recording
from sortiewright.sortie import load_sortie

HERE = "http://127.0.0.1:4711"
COLUMN_FIELD = r'<input type="text" class="column-field" name="([^"]+)" value="([^"]*)"'
SAMPLES = Path(__file__).parents[1] / "data/recordings"


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """Return a client of the owner's of a desk that all tests here share."""
    folder = tmp_path_factory.mktemp("sorties")
    app = make_app(Shelf(folder), DeskOptions(folder=folder, port=4711))
    with TestClient(app, base_url=HERE, headers={"origin": HERE}, raise_server_exceptions=False) as made:
        made.get(f"/enter?token={app.state.desk.sessions.new_token()}")
        made.desk = app.state.desk
        yield made


@pytest.fixture(scope="module")
def example(client):
    """Return the path of the made-up example, debriefed."""
    answer = until(client, client.post("/debrief/example"), 'id="strips"')
    return answer.url.path


def until(client, answer, words, seconds=180.0):
    """Return a page once it holds certain words."""
    end = time.monotonic() + seconds
    while words not in answer.text:
        assert time.monotonic() < end, re.sub(r"<[^>]+>", " ", answer.text)[-600:]
        time.sleep(0.1)
        answer = client.get(answer.url)
    return answer


def taken(client, name, content, words='class="map-form"'):
    """Return the page of columns of a recording that was dropped."""
    return until(client, client.post("/debrief/upload", files={"recording": (name, content)}), words)


def fields_of(page):
    """Return what a browser would send of the form with the map, as it stands."""
    form = re.search(r"<form[^>]*map-form.*?</form>", page.text, re.DOTALL)[0]
    found = {name: html.unescape(text) for name, text in re.findall(COLUMN_FIELD, form)}
    for name, options in re.findall(r'<select name="([^"]+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        choices = re.findall(r"<option([^>]*)>([^<]*)", options)
        attributes, text = next((one for one in choices if " selected" in one[0]), choices[0])
        value = re.search(r'value="([^"]*)"', attributes)
        found[name] = value[1] if value else text
    return found | dict.fromkeys(re.findall(r'type="checkbox" name="([^"]+)" checked', form), "on")


def test_a_stranger_comes_from_the_plan_to_a_debrief_with_one_button(client, example):
    page = client.get(example)

    assert page.text.count('class="finding-button"') >= 4
    assert "Rotation too late" in page.text
    assert "made up from the plan, nobody flew it" in page.text
    assert "Planned against flown" in page.text
    assert "Not compared" not in page.text
    assert "to do better" in client.get("/ribbon?here=debrief").text


@pytest.mark.parametrize("sortie", ["demo", "trainer_circuits", "short_wet"])
def test_the_example_is_flown_as_its_own_sortie_and_lands_on_its_runway(sortie, tmp_path):
    loaded = load_sortie(Path(Shelf().demo().file).with_name(f"{sortie}.yaml"))
    (tmp_path / "flight.csv").write_bytes(example_recording(loaded))
    made = debrief(read_recording(tmp_path / "flight.csv"), loaded)

    assert len(made.flights) == 1
    assert len(made.flights[0].takeoffs) == 1
    assert len(made.flights[0].landings) == 1
    assert made.flights[0].not_compared == ()


def test_a_debrief_outlives_the_server_and_the_sortie_s_changes(tmp_path):
    def started():
        app = make_app(Shelf(tmp_path), DeskOptions(folder=tmp_path, port=4711))
        client = TestClient(app, base_url=HERE, headers={"origin": HERE}, raise_server_exceptions=False)
        client.__enter__()
        client.get(f"/enter?token={app.state.desk.sessions.new_token()}")
        return client

    first = started()
    shown = until(first, first.post("/debrief/example"), 'id="strips"')
    place = shown.url.path
    listed = re.search(r'<ul class="kept">.*?</ul>', first.get("/debrief").text, re.DOTALL)[0]
    first.__exit__(None, None, None)
    second = started()
    demo = Path(Shelf().demo().file).read_text("utf-8")
    second.portal.call(second.app.state.desk.show_draft, demo.replace("Range detail", "Another day"))
    relisted = re.search(r'<ul class="kept">.*?</ul>', second.get("/debrief").text, re.DOTALL)[0]
    again = until(second, second.get(place), 'id="strips"')
    second.post(f"{place}/forget")
    second.__exit__(None, None, None)

    assert "to do better" in listed
    assert relisted == listed
    findings = re.compile(r'class="finding-button".*?</button>', re.DOTALL)
    assert findings.findall(again.text) == findings.findall(shown.text)
    assert "Range detail" in again.text.partition("<h1>")[2]
    assert list((tmp_path / ".desk" / "recordings").iterdir()) == []


@pytest.mark.parametrize("text", ["", "[]", "{", '{"sortie_id": 1}', "null", "[" * 100_000])
def test_an_order_that_cannot_be_read_is_none(tmp_path, text):
    (tmp_path / "debrief.json").write_text(text, "utf-8")

    assert order_in(tmp_path) is None


def test_an_order_is_kept_as_it_was(tmp_path):
    for order in (
        DebriefOrder("demo-1", "title: a\n", "trade", True, (57.25, -4.5), ("high", "low")),
        DebriefOrder("", "", "si"),
    ):
        keep_order(tmp_path, order)

        assert order_in(tmp_path) == order


def test_the_reports_are_those_of_the_recording_room(client, example):
    page, pdf, data = (client.get(f"{example}/report.{kind}") for kind in ("html", "pdf", "json"))

    assert page.text.startswith("<!doctype html>")
    assert pdf.content[:5] == b"%PDF-"  # ISO 32000-1, 7.5.2
    assert json.loads(data.content)
    assert page.headers["content-disposition"].endswith('-debrief.html"')


def test_findings_come_worst_first(client, example):
    severities = re.findall(r'<li class="finding (\w+)"', client.get(example).text)

    assert severities == sorted(severities, key=["high", "medium", "low"].index)


def test_a_dropped_recording_shows_its_columns_and_is_debriefed_by_them(client):
    page = taken(client, "nominal.csv.gz", (SAMPLES / "nominal.csv.gz").read_bytes())
    fields = fields_of(page)
    answer = client.post(page.url, data=fields | {"do": "debrief"})
    until(client, answer, 'id="strips"')
    written = client.get(f"{page.url.path}.yaml")

    assert "certain" in page.text
    assert "nominal.csv.gz" in page.text
    assert written.headers["content-disposition"] == 'attachment; filename="nominal-map.yaml"'
    assert "velocities/vc-kts" in written.text


def test_a_column_that_two_could_be_is_asked_for_and_the_answer_is_kept(client, tmp_path):
    rows = "\n".join(f"{at / 10:.1f},{at},{at + 3},{40 + at % 7}" for at in range(400))
    page = taken(client, "two.csv", f"time s,ias_kt,indicated airspeed kt,pitch deg\n{rows}\n".encode())
    fields = fields_of(page)
    name = next(key for key in fields if key.startswith("column-") and fields[key] == "ias_kt")
    again = client.post(page.url, data=fields | {name: "Indicated  airspeed KT", "do": "check"})
    again = until(client, again, 'class="map-form"')
    (tmp_path / "map.yaml").write_bytes(client.get(f"{page.url.path}.yaml").content)
    kept = load_channel_map(tmp_path / "map.yaml")

    assert "need your word" in page.text
    assert "could be it too" in page.text
    assert kept.channels[name.removeprefix("column-")].column == "indicated airspeed kt"


def test_a_gzip_that_would_fill_the_disk_is_refused_where_it_is_dropped(client, monkeypatch):
    monkeypatch.setattr("sortiewright.desk.debrief_shelf.LARGEST_CONTENT", 1_000_000)
    before = client.get("/debrief").text.count("bomb")
    bomb = gzip.compress(b"1,2\n" * 500_000)
    refused = client.post("/debrief/upload", files={"recording": ("bomb.csv.gz", bomb)})

    assert refused.status_code == 422
    assert "bomb.csv.gz: this gzip unpacks to more than 0.001 GB." in refused.text
    assert client.get("/debrief").text.count("bomb") == before


def test_a_name_that_is_no_column_is_said_beside_its_channel_and_stays_to_be_mended(client, example):
    page = until(client, client.get(f"{example}/map"), 'class="map-form"')
    refused = client.post(page.url, data=fields_of(page) | {"column-pitch": "pich <deg>", "do": "debrief"})

    assert refused.status_code == 422
    assert "No column is called &#39;pich &lt;deg&gt;&#39;" in refused.text
    assert 'name="column-pitch" value="pich &lt;deg&gt;"' in refused.text


# Some simulators write every value they have: one page may not list them for each channel.
def test_of_a_thousand_columns_a_page_lists_some_and_finds_the_others(client):
    names = ["time s", "airspeed kt", *(f"value {n:04d}" for n in range(1000))]
    rows = "\n".join(",".join([f"{at / 10}", str(at), *["1"] * 1000]) for at in range(30))
    page = taken(client, "wide.csv", f"{','.join(names)}\n{rows}\n".encode())
    listed = re.search(r'<datalist id="columns" data-find="([^"]+)">(.*?)</datalist>', page.text, re.DOTALL)
    found = client.get(listed[1], params={"find": "0987 VALUE"}).json()
    many = client.get(listed[1], params={"find": "value"}).json()
    chosen = client.post(page.url, data=fields_of(page) | {"column-pitch": "value 0987", "do": "check"})

    assert listed[2].count("<option>") == 400
    assert len(page.content) < 100_000
    assert found == ["value 0987"]
    assert len(many) == 60
    assert 'name="column-pitch" value="value 0987"' in until(client, chosen, 'class="map-form"').text


def test_a_fault_of_the_map_is_said_beside_its_channel_and_its_text_stays(client):
    page = taken(client, "nominal.csv.gz", (SAMPLES / "nominal.csv.gz").read_bytes())
    text = "time: {column: x}\nchannels:\n  pitch: {column: x, unit: furlong}\n"
    refused = client.post(page.url, data={"text": text, "do": "check"})

    assert refused.status_code == 422
    assert "furlong" in refused.text
    assert "the map:3" in refused.text
    assert 'class="asks faulty"' in refused.text or 'class=" faulty"' in refused.text


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("noise.csv", bytes(range(256)) * 50),
        ("empty.csv.gz", gzip.compress(b"", mtime=0)),
        ("broken.parquet", b"PAR1" + b"\x00" * 100 + b"PAR1"),
        ("words.csv", b"a,b\nx,y\nz,w\n"),
        ("../../../etc/passwd", b"root:x:0:0"),
    ],
)
def test_what_is_no_recording_is_refused_in_words_without_a_place_of_this_machine(client, name, content):
    page = taken(client, name, content, words="cannot be read")

    assert "recording.data" not in page.text
    assert str(client.desk.options.folder) not in page.text
    assert "Traceback" not in page.text
    assert name.rpartition("/")[2] in page.text


def test_no_name_of_a_file_leads_out_of_its_folder(tmp_path):
    async def once():
        yield b"x"

    shelf = RecordingShelf(tmp_path)
    kept = asyncio.run(shelf.add("..\\..\\../evil\n\u202e.csv", once()))

    assert kept.name == "evil.csv"
    assert [one.relative_to(tmp_path).parts[0] for one in tmp_path.rglob("*")] == ["recordings"] * 4
    assert shelf.find("../recordings") is None


def test_no_file_chosen_is_said_beside_the_field(client):
    answer = client.post("/debrief/upload", files={"other": ("a", b"b")})

    assert answer.status_code == 422
    assert "Choose a recording" in answer.text


@pytest.mark.parametrize(
    "path",
    ["nothing", "nothing/map", "nothing/strips", "..%2f..", "0123456789ab/flight.json", "nothing/map.yaml"],
)
def test_a_recording_that_is_not_there_is_not_found(client, path):
    assert client.get(f"/debrief/{path}").status_code == 404
    assert client.post("/debrief/nothing/map", data={"do": "debrief"}).status_code == 404


@pytest.mark.parametrize(
    "query",
    [
        "channels=pitch&begin=0&end=1",
        "channels=pitch&begin=nan&end=1&width=100",
        "channels=pitch&begin=5&end=1&width=100",
        "channels=pitch&begin=0&end=inf&width=100",
        "channels=../secret&begin=0&end=1&width=100",
        "channels=&begin=0&end=1&width=100",
    ],
)
def test_a_window_that_is_none_is_refused(client, example, query):
    assert client.get(f"{example}/strips?{query}").status_code == 400


def test_a_window_of_any_size_is_answered(client, example):
    for begin, end, width in ((-1e30, 1e30, 1e30), (5.0, 5.0, -3), (1e9, 2e9, 100), (1e-300, 2e-300, 0.5)):
        window = {"channels": "pitch", "begin": begin, "end": end, "width": width}
        answer = client.get(f"{example}/strips", params=window)
        assert answer.status_code == 200
        assert len(answer.content) < 100_000


@pytest.mark.parametrize(
    "change",
    [
        {"column-pitch": "99999"},
        {"column-pitch": "-7"},
        {"column-pitch": "x" * 5000},
        {"column-time": "-1"},
        {"unit-pitch": "furlong"},
        {"unit-time": "fortnight"},
        {"latitude": "north", "longitude": "1"},
        {"latitude": "91", "longitude": "1"},
        {"text": "a: [" * 3000},
        {"text": "x" * 300_000},
    ],
)
def test_a_map_with_nonsense_in_it_is_refused_and_starts_nothing(client, example, change):
    page = until(client, client.get(f"{example}/map"), 'class="map-form"')
    answer = client.post(page.url, data=fields_of(page) | change | {"do": "debrief"})

    assert answer.status_code == 422
    assert 'class="problem' in answer.text


def test_reports_of_other_kinds_and_runs_that_are_not_kept_are_not_found(client, example):
    assert client.get(f"{example}/report.exe").status_code == 404
    assert client.get(f"{example}/checklist.json?run=../../x").status_code == 404


def test_a_run_that_was_kept_stands_beside_the_recording(client, example):
    client.post("/run/begin")
    kept = client.desk.parts["run"].folder.ids() if "run" in client.desk.parts else ()
    run = kept[0]
    page, data = client.get(example), client.get(f"{example}/checklist.json?run={run}").json()

    assert f"<option>{run}</option>" in page.text
    assert data["events"][0]["time"] == 0.0
    assert "cannot be matched" in data["matched"]


def test_a_debrief_can_be_stopped_and_begun_again(client):
    begun = client.post("/debrief/example", follow_redirects=False).headers["location"]
    client.post(f"{begun}/stop")
    work = client.desk.parts["debrief"].debriefs[begun.rpartition("/")[2]]
    page = client.get(begun)

    assert work.state in ("cancelled", "done")
    assert "Stopped." in page.text or 'id="strips"' in page.text
    assert until(client, client.get(f"{begun}/map"), 'class="map-form"').status_code == 200


def test_a_recording_is_deleted_with_all_that_was_kept_of_it(client):
    page = taken(client, "short.csv", b"time s,pitch deg\n0,1\n1,2\n2,3\n")
    id = page.url.path.split("/")[2]
    client.post(f"/debrief/{id}/forget")

    assert client.get(f"/debrief/{id}").status_code == 404
    assert not (client.desk.options.data_folder / "recordings" / id).exists()


def test_a_watcher_drops_no_recording(client):
    watcher = TestClient(client.app, base_url=HERE, headers={"origin": HERE})
    watcher.portal = client.portal
    watcher.post("/join", data={"code": client.desk.code.code, "seat": "watcher"})

    assert watcher.post("/debrief/example").status_code == 403


def recording_of(values, breaks=(), rate=10.0):
    values = np.asarray(values, dtype=float)
    return Recording(
        "made", np.arange(len(values)) / rate, {"pitch": values}, np.asarray(breaks, dtype=np.intp)
    )


def unpacked(content):
    """Return times and the first line of a window, as the page's script reads them."""
    length = struct.unpack("<I", content[:4])[0]
    head = json.loads(content[4 : 4 + length])
    at, points = 4 + length, head["points"]
    assert at % 8 == 0  # a Float64Array begins at a multiple of its size (ECMA-262, 23.2.5.1)
    return np.frombuffer(content, np.dtype(np.float64).newbyteorder("<"), points, at), np.frombuffer(
        content, np.dtype(np.float32).newbyteorder("<"), points, at + 8 * points
    )


PITCH = Strip("pitch", "Pitch", "°", 1.0, 0.0, 1)


def test_no_peak_is_lost_however_few_pixels_there_are():
    values = np.zeros(100_000)
    values[[7, 51_234, 99_990]] = 5.0, -3.0, 9.0
    times, line = unpacked(window_bytes(recording_of(values), [PITCH], 0.0, 1e5, 300))

    assert {5.0, -3.0, 9.0} <= set(line.tolist())
    assert len(times) <= 2 * 300
    assert np.all(np.diff(times) > 0.0)


def test_a_close_window_holds_the_samples_themselves_and_one_on_either_side():
    times, line = unpacked(window_bytes(recording_of(np.arange(1000.0)), [PITCH], 10.0, 11.0, 300))

    assert times[0] == pytest.approx(9.9)
    assert times[-1] >= 11.0
    assert line == pytest.approx(times * 10.0, rel=1e-6)


@pytest.mark.parametrize("width", [50, 2000])
def test_a_line_is_broken_where_the_samples_do_not_go_on(width):
    _, line = unpacked(window_bytes(recording_of(np.ones(1000), [400]), [PITCH], 0.0, 100.0, width))

    assert np.isnan(line).sum() == 1


def test_work_that_is_cancelled_stops_at_its_next_step_and_says_so_at_once():
    async def run():
        reached, told = [], []
        begun = asyncio.Event()
        loop = asyncio.get_running_loop()

        def make(step):
            step("one")
            reached.append("one")
            loop.call_soon_threadsafe(begun.set)
            time.sleep(0.2)
            step("two")
            reached.append("two")

        work = Work(2, lambda: told.append(1))
        work.begin(make, (ValueError,), asyncio.Semaphore(1))
        await begun.wait()
        work.cancel()
        said = work.state
        await asyncio.sleep(0.5)
        return said, work.state, reached, told

    said, state, reached, told = asyncio.run(run())

    assert said == state == "cancelled"
    assert reached == ["one"]
    assert told


def test_work_that_fails_says_a_known_fault_in_its_words_and_hides_any_other(caplog):
    async def run(error):
        def make(step):
            raise error

        work = Work(1, lambda: None)
        work.begin(make, (ValueError,), asyncio.Semaphore(1))
        await work.within(5.0)
        return work.state, work.fault

    assert asyncio.run(run(ValueError("no time column"))) == ("failed", "no time column")
    state, fault = asyncio.run(run(KeyError("secret")))

    assert state == "failed"
    assert "secret" not in fault
    assert "secret" in caplog.text


@pytest.mark.parametrize(("begun", "first"), [(None, 0.0), (-90.0, 90.0), (-86_400.0, 0.0)])
def test_a_checklist_stands_beside_the_recording_where_the_clocks_are_known(monkeypatch, begun, first):
    start = datetime(2026, 5, 14, 9, 40, tzinfo=UTC)
    events = [
        SimpleNamespace(time=start + timedelta(seconds=at), actor="front", deed=object()) for at in (0, 30)
    ]
    started = None if begun is None else start + timedelta(seconds=begun)
    recording = Recording("r", np.arange(600.0), {}, np.array([], dtype=np.intp), started=started)
    monkeypatch.setattr("sortiewright.procedures.event_words", lambda state, event: "said", raising=False)
    data = checklist_data(SimpleNamespace(history=tuple(events)), recording)

    assert [one["time"] for one in data["events"]] == [first, first + 30.0]
