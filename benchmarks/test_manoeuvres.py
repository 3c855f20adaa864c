"""All manoeuvre numbers of one sortie: turn curves, V-n diagram and excess power over the whole envelope."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from aeroplanes import shipped
from scipy.optimize import brentq

from sortiewright.performance import (
    flight_point,
    flight_setup,
    make_flight_cases,
    manoeuvre_numbers,
    sustained_turn,
)


def test_manoeuvre_numbers_of_one_sortie(benchmark, report_ratio: Callable[[str], None]):
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(16_500.0, drag_index=20.0)
    found = benchmark(manoeuvre_numbers, pack, setup, cases, altitude=4_500.0, mach=0.8, power="maximum")

    assert np.isfinite(found.sustained.turn.rate[0])
    if benchmark.stats is not None:
        report_ratio(
            f"turns, V-n diagram and {found.excess_power.energy_rate.size} points of excess power: "
            f"{benchmark.stats.stats.min * 1e3:.1f} ms"
        )


def test_a_sustained_turn_line_against_brents_method(benchmark, report_ratio: Callable[[str], None]):
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(16_500.0, drag_index=20.0)
    mach = np.linspace(0.45, 1.0, 42)
    found = benchmark(
        sustained_turn, pack, setup, cases, altitude=4_500.0, mach=mach[None, :], power="maximum"
    )

    def spare(load_factor: float, number: float) -> float:
        point = flight_point(
            pack,
            setup,
            cases,
            "maximum",
            mass=cases.mass,
            pressure_altitude=[4_500.0],
            mach=[number],
            load_factor=load_factor,
        )
        return float(np.nan_to_num(point.energy_rate[0], nan=-1.0))

    begin = time.perf_counter()
    roots = [brentq(spare, 1.0, 9.0, args=(number,), xtol=1e-9) for number in mach]
    by_brent = time.perf_counter() - begin

    is_thrust = found.governed_by[0] == "thrust"
    assert np.abs(found.turn.load_factor[0] - roots)[is_thrust].max() < 1e-6
    if benchmark.stats is not None:
        ours = benchmark.stats.stats.min
        report_ratio(
            f"sustained turn at {len(mach)} speeds {ours * 1e3:.2f} ms; brentq {by_brent * 1e3:.0f} ms: "
            f"{by_brent / ours:.0f} times"
        )
