"""The commands: what they print, in words and as JSON lines, and how they end."""

import asyncio
import json
import socket
import threading
from pathlib import Path

import numpy as np
import polars
import pytest
from cyclopts import CycloptsError

from sortiewright import link
from sortiewright.commands.faults import UsageError
from sortiewright.commands.link import app
from sortiewright.commands.link_shown import value_text
from sortiewright.pack import InputError
from sortiewright.recording import read_recording

FLOWN = Path(__file__).parents[1] / "data" / "recordings" / "flawed_departure.csv.gz"


def free_port():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


BOUND = threading.Event()


@pytest.fixture(autouse=True)
def tells_when_it_listens(monkeypatch):
    """Set ``BOUND`` when a command has its port, so that a feeder's first row is not sent to nobody."""
    BOUND.clear()
    listen = link.listen

    async def told(*arguments, ready, **options):
        def had(port):
            ready(port)
            BOUND.set()

        await listen(*arguments, **options, ready=had)

    monkeypatch.setattr(link, "listen", told)


@pytest.fixture
def command(capsys, monkeypatch, tmp_path):
    """Return a function that runs one ``link`` command and returns what it printed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")

    def ran(*arguments):
        capsys.readouterr()
        app(list(map(str, arguments)), exit_on_error=False, print_error=False, result_action="return_value")
        return capsys.readouterr().out

    return ran


def lines(out):
    return [json.loads(line) for line in out.splitlines()]


class Feeder(threading.Thread):
    """Sends rows to a port, beginning when a command listens there."""

    def __init__(self, port, rows, rate=1.0):
        super().__init__()
        self.port, self.rows, self.rate = port, rows, rate

    def run(self):
        BOUND.wait(30)
        asyncio.run(link.replay(iter(self.rows), port=self.port, rate=self.rate, sender="feeder"))


def while_fed(rows, port, ran, rate=1.0):
    feeder = Feeder(port, rows, rate)
    feeder.start()
    try:
        return ran()
    finally:
        feeder.join()


def test_listening_without_a_feed_ends_in_time_with_its_counts(command):
    out = command("listen", "--for", "0.2", "--port", free_port())

    assert "0 datagrams, 0 used, 0 not used" in out


def test_each_line_of_json_is_an_object_and_the_last_has_the_counts(command):
    port = free_port()
    rows = [link.Row(n / 20, {"pitch": 0.1, "ground_speed": 1.0}) for n in range(20)]
    out = while_fed(rows, port, lambda: command("listen", "--for", "1.8", "--port", port, "--json"))
    said = lines(out)

    assert said[0]["kind"] == "listening"
    assert {"kind": "live", "sender": "feeder"}.items() <= said[1].items()
    assert next(one for one in said if one["kind"] == "values")["values"] == {"ground_speed": 1.0}
    assert said[-1]["kind"] == "counts"
    assert said[-1]["accepted"] == said[-1]["received"] >= 21


def test_takeoff_of_a_recording_is_called_live(command):
    flown = read_recording(FLOWN)
    roll = (flown.time > 60.0) & (np.cumsum(flown.number("calibrated_airspeed") > 90.0) < 20)
    names = ("ground_speed", "calibrated_airspeed", "weight_on_wheels_left", "weight_on_wheels_right")
    columns = {"time": flown.time[roll]} | {name: flown.number(name)[roll] for name in names}
    port, rate = free_port(), 50.0
    rows = list(link.rows_of_columns(columns))
    seconds = 1.5 + (rows[-1].time - rows[0].time) / rate
    out = while_fed(
        rows,
        port,
        lambda: command("listen", "--sortie", "demo", "--for", seconds, "--port", port, "--json"),
        rate,
    )
    calls = {one["name"]: one for one in lines(out) if one["kind"] == "call"}

    assert calls["line_speed"]["wanted"] == pytest.approx(60.066, abs=0.01)  # the demo plan's own figure
    assert calls["rotation_speed"]["value"] >= calls["rotation_speed"]["wanted"]
    assert calls["line_speed"]["time"] < calls["rotation_speed"]["time"]


def test_recording_what_arrives_makes_a_file_that_reads_back(command):
    port = free_port()
    rows = [link.Row(n / 60, {"pitch": n * 1e-3, "canopy_locked": True}) for n in range(60)]
    out = while_fed(rows, port, lambda: command("record", "live.parquet", "--for", "2.2", "--port", port))

    assert "Written: live.parquet, 60 rows" in out
    assert polars.read_parquet("live.parquet")["pitch"].to_list() == [row.values["pitch"] for row in rows]
    assert [path.name for path in Path().iterdir()] == ["live.parquet"]


def test_recording_without_a_feed_makes_no_file(command):
    out = command("record", "live.parquet", "--for", "0.2", "--port", free_port())

    assert "Nothing arrived: no file was made" in out
    assert list(Path().iterdir()) == []


def test_port_that_is_taken_leaves_nothing_behind(command):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
        door.bind(("127.0.0.1", 0))
        port = door.getsockname()[1]
        with pytest.raises(OSError, match=f"UDP 127.0.0.1 port {port}"):
            command("record", "live.parquet", "--for", "1", "--port", port)

    assert list(Path().iterdir()) == []


def test_replay_says_what_was_sent(command):
    out = command("replay", FLOWN, "--rate", "1000", "--for", "20", "--port", free_port(), "--json")

    assert json.loads(out)["rows"] == pytest.approx(400, abs=2)  # 20 s at 20 Hz


def test_recover_puts_a_broken_off_recording_together(command):
    link.PartsWriter(Path("live.parquet")).write([link.Row(0.0, {"pitch": 0.1})])

    assert json.loads(command("recover", "live.parquet", "--json"))["rows"] == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("listen", "--rules"), "need the sortie"),
        (("listen", "--procedure", "takeoff"), "need the sortie"),
        (("listen", "--sortie", "demo", "--procedure", "takeof"), "takeoff"),
        (("listen", "--channel", "pich"), 'Did you mean "pitch"'),
        (("listen", "--entity", "1:2"), "Write site, application and entity: 1:1:7"),
        (("listen", "--entity", "1:2:99999"), "is no entity"),
        (("listen", "--port", "70000"), "--port must be 0 to 65535"),
        (("listen", "--for", "-1"), "--for must be above 0"),
        (("record", "x.parquet", "--for", "-1"), "--for must be above 0"),
        (("replay", "nowhere.csv"), "nowhere.csv"),
        (("replay", FLOWN, "--rate", "0"), "--rate must be above 0"),
        (("recover", "x.parquet"), "nothing to recover"),
    ],
    ids=lambda one: " ".join(map(str, one))[-40:] if isinstance(one, tuple) else "",
)
def test_bad_input_is_said_in_a_sentence(command, arguments, said):
    with pytest.raises((UsageError, InputError, CycloptsError)) as fault:
        command(*arguments)

    assert said in str(fault.value)
    assert list(Path().iterdir()) == []


def test_page_of_the_feed_names_every_cause(project_root):
    page = (project_root / "docs" / "live-feed.md").read_text(encoding="utf-8")

    assert [one for one in (*link.REFUSALS, *link.VALUE_REFUSALS) if f"`{one}`" not in page] == []
    assert (project_root / "examples" / "send_live.py").read_text(encoding="utf-8") in page


def test_values_are_shown_in_units_of_the_trade():
    assert value_text("calibrated_airspeed", 120 * 1852 / 3600) == "120 kt"
    assert value_text("altitude", 304.8) == "1000 ft"  # 1 ft = 0.3048 m exactly (NIST SP 811, B.8)
    assert value_text("outside_air_temperature", 288.15) == "15 degC"
    assert value_text("vertical_speed", 5.08) == "1000 ft/min"
    assert value_text("canopy_locked", True) == "yes"
    assert value_text("drag_chute", "stowed") == "stowed"
    assert value_text("pitch", None) == "-"
