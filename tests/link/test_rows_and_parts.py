"""Rows in order from messages out of order; a file that grows on disk and survives being killed."""

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import polars
import pytest

from sortiewright.link import ColumnHistory, PartsWriter, Row, RowAssembler, Update, parts_folder, recover
from sortiewright.pack import InputError
from sortiewright.recording import read_recording

WRITER = Path(__file__).parents[1] / "support" / "feed_writer.py"


def rows(first, count):
    return [
        Row(n / 60, {"pitch": n * 0.5, "canopy_locked": n % 2 == 0, "drag_chute": "stowed"})
        for n in range(first, first + count)
    ]


def test_messages_of_one_moment_become_one_row():
    made = RowAssembler()
    made.add(Update(1.0, 0.0, {"pitch": 0.1}))
    made.add(Update(1.0, 0.01, {"bank": 0.2}))

    assert made.ready(0.1) == []
    assert made.ready(0.3) == [Row(1.0, {"pitch": 0.1, "bank": 0.2})]


def test_shuffled_messages_give_the_rows_in_order():
    draw = random.Random(1)
    made, got = RowAssembler(), []
    order = list(range(600))
    for start in range(0, 600, 10):  # within a sixth of a second
        part = order[start : start + 10]
        draw.shuffle(part)
        order[start : start + 10] = part
    for arrived, number in enumerate(order):
        made.add(Update(number / 60, arrived / 60, {"pitch": float(number)}))
        got += made.ready(arrived / 60)
    got += made.rest()

    assert [row.values["pitch"] for row in got] == list(range(600))
    assert made.late == 0


def test_value_stands_for_two_seconds_and_then_is_missing():
    made = RowAssembler()
    made.add(Update(0.0, 0.0, {"pitch": 0.1}))
    for second in (1.0, 2.0, 2.5):
        made.add(Update(second, second, {"bank": 0.0}))

    assert [row.values.get("pitch") for row in made.rest()] == [0.1, 0.1, 0.1, None]


def test_update_that_comes_after_its_row_was_given_out_is_counted():
    made = RowAssembler()
    made.add(Update(1.0, 0.0, {"pitch": 0.1}))
    made.ready(1.0)
    made.add(Update(0.5, 1.1, {"pitch": 0.0}))

    assert made.late == 1
    assert made.rest() == []


def test_history_has_the_columns_of_all_rows():
    history = ColumnHistory()
    for start in range(0, 1000, 10):
        history.add(rows(start, 10))
    history.add([Row(99.0, {"bank": 1.0})])
    columns = history.columns()

    assert history.rows == 1001
    assert columns["pitch"][:-1] == pytest.approx(np.arange(1000) * 0.5)
    assert np.isnan(columns["pitch"][-1])
    assert np.isnan(columns["bank"][:-1]).all()
    assert set(columns["drag_chute"]) == {"stowed", ""}


@pytest.mark.parametrize("parts", [1, 7, 300])
def test_closed_file_holds_every_row_whatever_its_parts(tmp_path, parts):
    path = tmp_path / "flight.parquet"
    writer = PartsWriter(path)
    for number in range(parts):
        writer.write(rows(number * 3, 3))
    made = writer.close()

    table = polars.read_parquet(path)
    assert made.rows == parts * 3 == table.height
    assert table["pitch"].to_list() == [n * 0.5 for n in range(parts * 3)]
    assert [path.name for path in tmp_path.iterdir()] == ["flight.parquet"]


def test_written_file_is_read_as_a_recording_in_si(tmp_path):
    path = tmp_path / "flight.parquet"
    writer = PartsWriter(path)
    values = {"altitude": 458.0, "pitch": 0.01, "true_heading_deg": 232.0, "weight_on_wheels_left": True}
    writer.write([Row(n / 20, values | {"ground_speed": n * 0.2}) for n in range(200)])
    writer.close()
    read = read_recording(path)

    assert read.number("altitude") == pytest.approx(458.0)
    assert read.number("ground_speed") == pytest.approx(np.arange(200) * 0.2)
    assert read.number("weight_on_wheels_left") == pytest.approx(1.0)


def test_file_or_parts_that_are_there_are_not_written_over(tmp_path):
    path = tmp_path / "flight.parquet"
    PartsWriter(path).write(rows(0, 3))
    with pytest.raises(InputError, match="link recover"):
        PartsWriter(path)
    recover(path)
    with pytest.raises(InputError, match="is there already"):
        PartsWriter(path)
    with pytest.raises(InputError, match="nothing to recover"):
        recover(path)


def test_part_that_is_broken_costs_itself_only_and_stays_to_be_looked_at(tmp_path):
    path = tmp_path / "flight.parquet"
    writer = PartsWriter(path)
    for number in range(3):
        writer.write(rows(number * 3, 3))
    broken = sorted(parts_folder(path).iterdir())[1]
    broken.write_bytes(broken.read_bytes()[:-20])
    made = recover(path)

    assert made.unreadable == (broken.name,)
    assert polars.read_parquet(path)["pitch"].to_list() == [0.0, 0.5, 1.0, 3.0, 3.5, 4.0]
    assert broken.exists()


def test_kill_between_joining_parts_and_removing_them_doubles_nothing(tmp_path):
    path = tmp_path / "flight.parquet"
    writer = PartsWriter(path)
    for number in range(119):
        writer.write(rows(number, 1))
    kept = {part.name: part.read_bytes() for part in parts_folder(path).iterdir()}
    writer.write(rows(119, 1))  # the 120th joins them
    for name, content in list(kept.items())[:50]:
        (parts_folder(path) / name).write_bytes(content)
    (parts_folder(path) / "0000121-0000121.parquet.unfinished").write_bytes(b"PAR1")

    assert recover(path).rows == 120


ROUNDS = 20 if os.environ.get("SORTIEWRIGHT_FULL") else 1


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_process_that_is_killed_loses_less_than_two_seconds(tmp_path, seed):
    path = tmp_path / "flight.parquet"
    process = subprocess.Popen([sys.executable, str(WRITER), str(path)], stdout=subprocess.PIPE, text=True)
    with process:
        assert process.stdout.readline() == "begun\n"
        time.sleep(random.Random(seed).uniform(1.5, 3.0))
        process.kill()  # SIGKILL; on Windows TerminateProcess
        lived = float(process.stdout.read().splitlines()[-1])
    made = recover(path)
    table = polars.read_parquet(path)

    assert not made.unreadable
    assert table["time"].is_sorted()
    assert lived - table["time"][-1] < 2.0
    steps = table["time"].diff().drop_nulls()
    assert steps.max() == pytest.approx(1 / 60, abs=1e-6)  # nothing lost within
