"""A whole plan, warm in this process and cold from a shell."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from reference_takeoff import reference_takeoff

from sortiewright.sortie import load_sortie, plan


def test_a_whole_plan_warm_against_one_takeoff_with_solve_ivp(
    benchmark, demo_sortie: Path, report_ratio: Callable[[str], None]
):
    loaded = load_sortie(demo_sortie)
    result = benchmark(plan, loaded.sortie, loaded.pack)

    assert result.figure("takeoff", "ground_run").value
    from sortiewright.air import standard_air

    frame = loaded.pack.pack.airframe
    arm = frame.mean_chord_leading_edge_arm + 0.295 * frame.mean_chord
    begin = time.perf_counter()
    reference_takeoff(loaded.pack.pack, 19_500.0, arm, standard_air(100.0))
    a_case = time.perf_counter() - begin
    if benchmark.stats is not None:
        mean = benchmark.stats.stats.mean
        report_ratio(
            f"whole plan {mean * 1e3:.1f} ms warm; one takeoff with solve_ivp {a_case * 1e3:.1f} ms: "
            f"{a_case / mean:.2f} of it"
        )


def test_a_plan_from_a_cold_shell_against_importing_numpy(
    benchmark, demo_sortie: Path, report_ratio: Callable[[str], None]
):
    command = [sys.executable, "-m", "sortiewright.cli", "plan", str(demo_sortie), "--json"]

    def cold() -> int:
        return subprocess.run(command, capture_output=True, check=False).returncode

    code = benchmark.pedantic(cold, rounds=5, warmup_rounds=1)

    assert code == 0
    times = []
    for _ in range(5):
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import numpy"], check=True)
        times.append(time.perf_counter() - begin)
    if benchmark.stats is not None:
        mean = benchmark.stats.stats.mean
        report_ratio(
            f"plan from a cold shell {mean:.2f} s; importing numpy {min(times):.2f} s: "
            f"{mean / min(times):.1f} times"
        )
