"""Reading an hour at 60 Hz with 40 channels, against bare polars reading the same file."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest
from sampled_flight import flight, write_csv

from sortiewright.pack import load_pack
from sortiewright.recording import flights_of, judge_on, load_rules, measure_on, read_recording, stage_of

CHANNELS, RULES = 40, 60


@pytest.fixture(scope="module")
def hour(tmp_path_factory) -> Path:
    columns = dict(list(flight(3600.0, 60.0).items())[:CHANNELS])
    return write_csv(tmp_path_factory.mktemp("hour") / "hour.csv", columns, digits=7)


def best_of(count: int, work: Callable[[], object]) -> float:
    times = []
    for _ in range(count):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def test_reading_an_hour_against_bare_polars(benchmark, hour: Path, report_ratio: Callable[[str], None]):
    read = benchmark.pedantic(read_recording, (hour,), rounds=5, warmup_rounds=1)

    assert read.rows == 216_000
    assert len(read.source_columns) + 1 == CHANNELS
    if benchmark.stats is not None:
        # Told its types, as any program that knows the file would; guessing them takes polars longer.
        types = dict.fromkeys(pl.read_csv(hour, n_rows=1).columns, pl.Float64)
        bare = best_of(5, lambda: pl.read_csv(hour, schema_overrides=types))
        ours = benchmark.stats.stats.min
        report_ratio(
            f"an hour of {CHANNELS} channels at 60 Hz read and checked in {ours:.2f} s; "
            f"bare polars {bare:.2f} s: {ours / bare:.2f} times"
        )


def test_debriefing_an_hour_against_bare_polars(benchmark, hour: Path, report_ratio: Callable[[str], None]):
    rules = load_rules(load_pack("dotterel"))
    kept = replace(rules, rules=dict(list(rules.rules.items())[:RULES]))

    def debriefed() -> int:
        recording = read_recording(hour)
        found = 0
        for flown in flights_of(recording):
            stage = stage_of(recording, flown, kept)
            found += len(judge_on(stage)[1]) + len(measure_on(stage))
        return found

    found = benchmark.pedantic(debriefed, rounds=5, warmup_rounds=1)

    assert found >= RULES
    if benchmark.stats is not None:
        types = dict.fromkeys(pl.read_csv(hour, n_rows=1).columns, pl.Float64)
        bare = best_of(5, lambda: pl.read_csv(hour, schema_overrides=types))
        ours = benchmark.stats.stats.min
        report_ratio(
            f"an hour of {CHANNELS} channels read, divided and held against {RULES} rules in {ours:.2f} s; "
            f"bare polars reads it in {bare:.2f} s: {ours / bare:.2f} times"
        )
