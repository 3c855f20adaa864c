"""An hour and ten hours at 60 Hz with 40 channels read and debriefed, against bare polars reading the same.

Bare polars reads between the rounds, so that both meet the machine as it is; of each the best round counts.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from sampled_flight import flight

from sortiewright.pack import load_pack
from sortiewright.recording import (
    Flight,
    Recording,
    Rules,
    flights_of,
    judge_on,
    load_rules,
    measure_on,
    read_recording,
    stage_of,
)

CHANNELS, RULES, RATE, DIGITS = 40, 60, 60.0, 7
ROUNDS = {1: 7, 10: 3}


@pytest.fixture(scope="module")
def hour(tmp_path_factory) -> Path:
    return written(tmp_path_factory.mktemp("hour") / "hour.csv", 1)


@pytest.fixture(scope="module")
def ten_hours(tmp_path_factory) -> Path:
    return written(tmp_path_factory.mktemp("ten") / "ten_hours.csv", 10)


def written(path: Path, hours: int) -> Path:
    columns = dict(list(flight(hours * 3600.0, RATE).items())[:CHANNELS])
    pl.DataFrame({name: rounded(values) for name, values in columns.items()}).write_csv(path)
    return path


def rounded(values: np.ndarray) -> np.ndarray:
    """Return numbers with so few digits as recorders write."""
    size = np.abs(np.where(values == 0.0, 1.0, values))
    tenths = 10.0 ** np.maximum(DIGITS - 1 - np.floor(np.log10(size)), 0.0)
    return np.round(values * tenths) / tenths


@pytest.fixture(scope="module")
def sixty() -> Rules:
    rules = load_rules(load_pack("dotterel"))
    return replace(rules, rules=dict(list(rules.rules.items())[:RULES]))


@dataclass
class Bare:
    """Polars told the file's types, as any program that knows it would; guessing them takes longer."""

    file: Path
    times: list[float] = field(default_factory=list)

    def __post_init__(self):
        self.types = dict.fromkeys(pl.read_csv(self.file, n_rows=1).columns, pl.Float64)

    def __call__(self) -> None:
        begin = time.perf_counter()
        pl.read_csv(self.file, schema_overrides=self.types)
        self.times.append(time.perf_counter() - begin)


def judged(recording: Recording, flights: tuple[Flight, ...], rules: Rules) -> int:
    stages = (stage_of(recording, flown, rules) for flown in flights)
    return sum(len(judge_on(stage)[1]) + len(measure_on(stage)) for stage in stages)


def debriefed(file: Path, rules: Rules) -> int:
    recording = read_recording(file)
    return judged(recording, flights_of(recording), rules)


def test_reading_an_hour_against_bare_polars(benchmark, hour: Path, report_ratio: Callable[[str], None]):
    bare = Bare(hour)
    read = benchmark.pedantic(read_recording, (hour,), setup=bare, rounds=ROUNDS[1], warmup_rounds=1)

    assert read.rows == 216_000
    assert len(read.source_columns) + 1 == CHANNELS
    if benchmark.stats is not None:
        ours, theirs = benchmark.stats.stats.min, min(bare.times)
        report_ratio(
            f"an hour of {CHANNELS} channels at 60 Hz read and checked in {ours:.2f} s; "
            f"bare polars {theirs:.2f} s: {ours / theirs:.2f} times"
        )


@pytest.mark.parametrize("hours", [1, 10])
def test_debriefing_against_bare_polars(
    benchmark, hours: int, sixty: Rules, request, report_ratio: Callable[[str], None]
):
    file: Path = request.getfixturevalue("hour" if hours == 1 else "ten_hours")
    bare = Bare(file)
    found = benchmark.pedantic(debriefed, (file, sixty), setup=bare, rounds=ROUNDS[hours], warmup_rounds=1)

    assert found >= RULES
    if benchmark.stats is not None:
        ours, theirs = benchmark.stats.stats.min, min(bare.times)
        report_ratio(
            f"{hours} h of {CHANNELS} channels read, divided and held against {RULES} rules in {ours:.2f} s; "
            f"bare polars reads it in {theirs:.2f} s: {ours / theirs:.2f} times; "
            f"greatest memory {peak_memory(file):.2f} GB"
        )


def test_the_cost_of_ten_hours_over_that_of_one(
    benchmark, hour: Path, ten_hours: Path, sixty: Rules, report_ratio: Callable[[str], None]
):
    one, ten = (stage_times(file, sixty, ROUNDS[hours]) for file, hours in ((hour, 1), (ten_hours, 10)))
    benchmark.pedantic(read_recording, (hour,))

    assert one.keys() == ten.keys()
    if benchmark.stats is not None:
        ratios = (f"{name} {ten[name] / one[name]:.1f}" for name in one)
        report_ratio(f"ten hours over one: {', '.join(ratios)} times as long")


def stage_times(file: Path, rules: Rules, rounds: int) -> dict[str, float]:
    """Return the best time of each part of a debrief, and that of bare polars, s."""
    bare = Bare(file)
    parts: dict[str, list[float]] = {"reading": [], "flights": [], "rules": []}
    for _ in range(rounds):
        bare()
        marks = [time.perf_counter()]
        recording = read_recording(file)
        marks.append(time.perf_counter())
        flights = flights_of(recording)
        marks.append(time.perf_counter())
        judged(recording, flights, rules)
        marks.append(time.perf_counter())
        for taken, begin, end in zip(parts.values(), marks, marks[1:], strict=False):
            taken.append(end - begin)
    return {"bare polars": min(bare.times)} | {name: min(taken) for name, taken in parts.items()}


ALONE = f"""
import sys
from dataclasses import replace
from pathlib import Path
from sortiewright.pack import load_pack
from sortiewright.recording import flights_of, judge_on, load_rules, measure_on, read_recording, stage_of

rules = load_rules(load_pack("dotterel"))
rules = replace(rules, rules=dict(list(rules.rules.items())[:{RULES}]))
recording = read_recording(sys.argv[1])
for flown in flights_of(recording):
    stage = stage_of(recording, flown, rules)
    judge_on(stage), measure_on(stage)
status = Path("/proc/self/status")
if status.exists():
    line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
    print(int(line.split()[1]) / 1e6)
else:
    import resource
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e9)
"""
"""A debrief that prints its greatest memory: Linux counts it in kB for the process, macOS in bytes."""


def peak_memory(file: Path) -> float:
    """Return the most memory that a process of its own takes to debrief a file, GB; NaN on Windows."""
    if sys.platform == "win32":
        return float("nan")
    command = [sys.executable, "-c", ALONE, str(file)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
