"""A whole plan, warm in this process and cold from a shell."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from reference_takeoff import reference_takeoff

from sortiewright.sortie import load_sortie, plan

# Time of the processor, not of the clock on the wall: the same on a machine that others use as well.
warm = pytest.mark.benchmark(timer=time.process_time)


@warm
def test_a_whole_plan_warm_against_one_takeoff_with_solve_ivp(
    benchmark, demo_sortie: Path, report_ratio: Callable[[str], None]
):
    loaded = load_sortie(demo_sortie)
    day = loaded.sortie.model_copy(update={"route": None})
    result = benchmark(plan, day, loaded.pack)

    assert result.figure("takeoff", "ground_run").value
    from sortiewright.air import standard_air

    frame = loaded.pack.pack.airframe
    arm = frame.mean_chord_leading_edge_arm + 0.295 * frame.mean_chord
    begin = time.process_time()
    reference_takeoff(loaded.pack.pack, 19_500.0, arm, standard_air(100.0))
    a_case = time.process_time() - begin
    if benchmark.stats is not None:
        mean = benchmark.stats.stats.mean
        report_ratio(
            f"whole plan {mean * 1e3:.1f} ms warm; one takeoff with solve_ivp {a_case * 1e3:.1f} ms: "
            f"{a_case / mean:.2f} of it"
        )


@warm
def test_a_whole_plan_with_a_route_of_ten_legs_against_flying_its_climb_with_solve_ivp(
    benchmark, demo_sortie: Path, report_ratio: Callable[[str], None]
):
    """Climb, ten legs, ladder, bingo, and the data of every chart; the takeoff and landing as ever."""
    import numpy as np
    from scipy.integrate import solve_ivp

    from sortiewright.air import mach_from_cas, speed_of_sound, standard_air
    from sortiewright.performance import flight_point, flight_setup, make_flight_cases

    loaded = load_sortie(demo_sortie)
    result = benchmark(plan, loaded.sortie, loaded.pack)
    climb, first = result.flight.climb, result.flight.takeoff

    assert len(loaded.sortie.route.legs) == 10
    assert result.fuel.bingo > 0.0
    assert result.flight.manoeuvres is not None
    pack, setup = loaded.pack.pack, flight_setup(loaded.pack.pack)
    technique, warm = pack.technique.climb, first.isa_deviation

    def mach_at(height: float) -> float:
        return min(technique.mach, float(mach_from_cas(technique.cas, standard_air(height).pressure)))

    def kinetic(height: float) -> float:
        sound = float(speed_of_sound(standard_air(height, warm).temperature))
        return (mach_at(height) * sound) ** 2 / (2.0 * 9.80665)

    def slope(height: float, state: np.ndarray) -> list[float]:
        cases = make_flight_cases(
            climb.mass - state[1], drag_index=first.balance.drag_index, isa_deviation=warm
        )
        at = {"mass": cases.mass, "pressure_altitude": [height], "mach": [mach_at(height)]}
        point = flight_point(pack, setup, cases, technique.power, **at)
        rate = float(point.energy_rate[0]) / (1.0 + (kinetic(height + 5.0) - kinetic(height - 5.0)) / 10.0)
        return [1.0 / rate, float(point.fuel_flow[0]) / rate]

    begin = time.process_time()
    flown = solve_ivp(slope, (climb.altitude[0], climb.altitude[-1]), [0.0, 0.0], rtol=1e-6)
    a_climb = time.process_time() - begin

    # The reference leaves out the path angle.
    assert abs(flown.y[0, -1] / climb.time[-1] - 1.0) < 0.02
    if benchmark.stats is not None:
        least, mean = benchmark.stats.stats.min, benchmark.stats.stats.mean
        report_ratio(
            f"whole plan with ten legs, ladder, bingo and charts' data {mean * 1e3:.1f} ms warm, the least "
            f"{least * 1e3:.1f}; its climb alone with solve_ivp {a_climb * 1e3:.1f} ms: {a_climb / mean:.2f}"
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
