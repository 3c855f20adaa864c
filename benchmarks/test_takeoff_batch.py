"""A batch of takeoffs against a general-purpose integrator, one case at a time
(scipy.integrate.solve_ivp)."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from reference_takeoff import reference_takeoff

from sortiewright.air import standard_air
from sortiewright.pack import load_pack
from sortiewright.performance import Cases, Takeoff, fly_takeoff, in_pieces, make_cases, takeoff_setup

CASES = 100_000
REFERENCE_CASES = 6


def conditions(count: int) -> tuple[Cases, dict[str, np.ndarray]]:
    random = np.random.default_rng(20260514)
    values = {
        "mass": random.uniform(14_000.0, 22_000.0, count),
        "pressure_altitude": random.uniform(0.0, 1_500.0, count),
        "isa_deviation": random.uniform(-20.0, 25.0, count),
        "headwind": random.uniform(-5.0, 12.0, count),
    }
    pack = load_pack("dotterel").pack
    frame = pack.airframe
    arm = frame.mean_chord_leading_edge_arm + 0.295 * frame.mean_chord
    air = standard_air(values["pressure_altitude"], values["isa_deviation"])
    return make_cases(values["mass"], arm, air, headwind=values["headwind"]), values


def test_a_batch_of_takeoffs_against_one_at_a_time_with_solve_ivp(
    benchmark, report_ratio: Callable[[str], None]
):
    pack = load_pack("dotterel").pack
    cases, values = conditions(CASES)

    def batch() -> Takeoff:
        return in_pieces(cases, lambda part: fly_takeoff(takeoff_setup(pack, part)))

    result = benchmark.pedantic(batch, rounds=3, warmup_rounds=1)
    begin = time.perf_counter()
    for row in range(REFERENCE_CASES):
        air = standard_air(values["pressure_altitude"][row], values["isa_deviation"][row])
        reference = reference_takeoff(
            pack, values["mass"][row], cases.balance_arm[row], air, headwind=values["headwind"][row]
        )

        assert abs(result.ground_run[row] / reference.ground_run - 1.0) < 0.002
    a_case = (time.perf_counter() - begin) / REFERENCE_CASES
    if benchmark.stats is not None:
        mean = benchmark.stats.stats.mean
        report_ratio(
            f"{CASES} takeoffs in {mean:.2f} s; solve_ivp {a_case * 1e3:.1f} ms a case: "
            f"{a_case * CASES / mean:.0f} times faster"
        )
