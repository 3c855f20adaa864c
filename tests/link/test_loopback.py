"""A recording sent over loopback arrives whole: nothing that the socket delivered is lost."""

import asyncio
import inspect
import json
import socket
import sys
from pathlib import Path

import numpy as np
import pytest
from feed_noise import datagrams

from sortiewright.commands import link as command
from sortiewright.link import Intake, LiveState, RowAssembler, listen, replay, rows_of_columns
from sortiewright.link.listening import open_socket
from sortiewright.recording import read_recording

NOMINAL = Path(__file__).parents[1] / "data" / "recordings" / "nominal.csv.gz"


async def over_loopback(columns, *, rate, noise=()):
    """Return intake, rows and what was sent, after a replay with noise from the same address beside it."""
    intake, rows = Intake(), RowAssembler()
    port = asyncio.get_running_loop().create_future()
    listening = asyncio.create_task(listen(intake, rows.add, port=0, ready=port.set_result))
    sent = await replay(rows_of_columns(columns), port=await port, rate=rate, sender="test")
    if noise:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
            for one in noise:
                door.sendto(one, ("127.0.0.1", port.result()))
                await asyncio.sleep(0)
    expected = sent.datagrams + sent.hellos + len(noise)
    for _ in range(100):
        if intake.counts.received >= expected:
            break
        await asyncio.sleep(0.02)
    listening.cancel()
    return intake, rows.rest(), sent


def sixty_hertz(seconds):
    """Return the sample recording's columns at 60 Hz from the takeoff on, words and truths as they stand."""
    flown = read_recording(NOMINAL)
    time = np.arange(int(seconds * 60)) / 60
    columns = {"time": time}
    for name, column in flown.columns.items():
        if np.asarray(column).dtype.kind in "UO" or set(np.unique(column)) <= {0.0, 1.0}:
            columns[name] = np.asarray(column)[np.searchsorted(flown.time, 100.0 + time)]
        else:
            columns[name] = np.interp(100.0 + time, flown.time, column)
    return columns


def test_replay_at_60_hz_sent_twenty_times_as_fast_arrives_row_for_row():
    """Twenty seconds here; docs/live-feed.md says how ten minutes through the commands went."""
    columns = sixty_hertz(20)
    intake, rows, sent = asyncio.run(over_loopback(columns, rate=20.0))

    assert sent.rows == 1200 == len(rows)
    assert intake.counts.received == sent.datagrams + sent.hellos == intake.counts.accepted
    assert intake.counts.missing == 0
    assert [row.time for row in rows] == pytest.approx(list(columns["time"]), abs=1e-9)
    for name in ("pitch", "calibrated_airspeed", "latitude_deg", "gross_mass"):
        assert [row.values[name] for row in rows] == list(columns[name])


def test_flood_from_another_sender_does_not_stop_the_one_that_is_listened_to():
    columns = {"time": np.arange(60) / 60, "pitch": np.linspace(0.0, 1.0, 60)}
    noise = [one for _, one in datagrams(7, 300)]
    intake, rows, _ = asyncio.run(over_loopback(columns, rate=10.0, noise=noise))

    assert [row.values["pitch"] for row in rows] == list(columns["pitch"])
    assert intake.counts.adds_up
    assert intake.counts.refused["other_sender"] > 100


def test_missing_values_of_a_recording_are_missing_on_the_feed():
    columns = {
        "time": np.arange(3.0) / 60,
        "pitch": np.array([0.1, np.nan, 0.3]),
        "canopy_locked": np.array([1.0, np.nan, 0.0]),
        "drag_chute": np.array(["stowed", "", "deployed"]),
        "no_channel": np.zeros(3),
    }
    _, rows, _ = asyncio.run(over_loopback(columns, rate=1.0))

    assert [row.values for row in rows] == [
        {"pitch": 0.1, "canopy_locked": True, "drag_chute": "stowed"},
        {"pitch": None, "canopy_locked": None, "drag_chute": None},
        {"pitch": 0.3, "canopy_locked": False, "drag_chute": "deployed"},
    ]


def test_nothing_is_bound_beyond_this_machine_unless_it_is_asked_for():
    defaults = [inspect.signature(one).parameters for one in (listen, replay)]
    commands = [inspect.signature(one).parameters["bind"].default for one in (command.listen, command.record)]

    assert {one["host"].default for one in defaults} | set(commands) == {"127.0.0.1"}
    with open_socket(defaults[0]["host"].default, 0) as door:
        assert door.getsockname()[0] == "127.0.0.1"


def test_port_in_use_is_said_with_its_number():
    with open_socket("127.0.0.1", 0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(OSError, match=f"UDP 127.0.0.1 port {port}"):
            open_socket("127.0.0.1", port)


def test_fault_of_the_program_in_a_callback_is_not_swallowed():
    class Fault(Exception):
        pass

    def broken(update):
        raise Fault

    async def fed():
        port = asyncio.get_running_loop().create_future()
        task = asyncio.create_task(listen(Intake(), broken, port=0, seconds=5, ready=port.set_result))
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
            door.sendto(b'{"t": 0, "seq": 0, "v": {}}', ("127.0.0.1", await port))
        await task

    with pytest.raises(Fault):
        asyncio.run(fed())


@pytest.mark.parametrize("rate", [0.0, -1.0, float("nan"), float("inf")])
def test_rate_that_is_no_pace_is_refused(rate):
    with pytest.raises(ValueError, match="positive"):
        asyncio.run(replay(iter(()), rate=rate))


def test_sender_example_of_the_page_is_understood(project_root):
    code = (project_root / "examples" / "send_live.py").read_text(encoding="utf-8")
    assert len(code.splitlines()) <= 20

    async def run():
        intake, state = Intake(), LiveState()
        port = asyncio.get_running_loop().create_future()
        task = asyncio.create_task(
            listen(
                intake,
                lambda update: state.take(update.values, update.time, update.arrived),
                port=0,
                ready=port.set_result,
            )
        )
        process = await asyncio.create_subprocess_exec(sys.executable, "-c", code, str(await port), "0.3")
        await process.wait()
        await asyncio.sleep(0.1)
        task.cancel()
        return intake.counts, state

    counts, state = asyncio.run(run())
    assert counts.accepted == counts.received > 10
    assert json.dumps(counts.values_refused) == "{}"
    # The example sends 120 kt; 1 kt = 1852/3600 m/s (NIST SP 811, B.8).
    assert state.latest["calibrated_airspeed"].value == pytest.approx(120 * 1852 / 3600)
