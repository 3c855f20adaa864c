"""Sixty rules on an hour at 60 Hz, and the same formulas with a library for signal temporal logic."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from long_flight import long_flight, many_rules
from rule_flights import made_flight, made_recording, pack_with_rules
from stl_library import library_says

from sortiewright.expressions import PLAIN, Vocabulary, parse_expression
from sortiewright.recording import judge, load_rules
from sortiewright.recording.rule_columns import FlightValues, SharedColumns
from sortiewright.recording.time_functions import TIME_FUNCTIONS


def test_sixty_rules_on_an_hour_and_on_ten(benchmark, tmp_path: Path, report_ratio: Callable[[str], None]):
    rules = load_rules(pack_with_rules(tmp_path, many_rules()))
    recording, flight = long_flight(1.0)
    findings, judged = benchmark(judge, recording, flight, rules)

    assert len(judged) == 60
    assert findings
    if benchmark.stats is not None:
        longer = long_flight(10.0)
        ten = min(timed(lambda: judge(*longer, rules)) for _ in range(3))
        one = benchmark.stats.stats.min
        report_ratio(
            f"60 rules on an hour at 60 Hz {one * 1e3:.0f} ms; on ten hours {ten / one:.1f} times as long"
        )


def timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (
            "gear_position > 0.5 and not flap_position > 0.5",
            "(gear_position > 0.5) and (not (flap_position > 0.5))",
        ),
        (
            "held(gear_position > 0.5, s(2)) or within(flap_position > 0.9, s(5))",
            "(historically[0:2s](gear_position > 0.5)) or (once[0:5s](flap_position > 0.9))",
        ),
    ],
)
def test_formulas_against_a_library_for_temporal_logic(
    benchmark, ours: str, theirs: str, report_ratio: Callable[[str], None]
):
    random = np.random.default_rng(4)
    columns = {name: random.random(36_000) for name in ("gear_position", "flap_position")}
    recording = made_recording(columns, rate=10.0)
    flight = made_flight(recording)
    expression = parse_expression(ours, Vocabulary(dict.fromkeys(columns, PLAIN), TIME_FUNCTIONS))

    def verdicts() -> np.ndarray:
        return SharedColumns(FlightValues(recording, flight, {}), frozenset()).truths(expression, True).yes

    yes = benchmark(verdicts)
    begin = time.perf_counter()
    wanted = library_says(theirs, columns)
    theirs_took = time.perf_counter() - begin

    assert (yes == wanted)[60:].all()
    if benchmark.stats is not None:
        mean = benchmark.stats.stats.mean
        report_ratio(f"{ours}: {mean * 1e3:.2f} ms for 36,000 samples; rtamt {theirs_took / mean:.0f} times")
