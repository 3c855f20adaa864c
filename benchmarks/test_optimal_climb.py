"""The minimum-time climb against a general-purpose transcription library (dymos, extra ``bench``)."""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from interceptor import DATA, START_MASS, interceptor

from sortiewright.air import geopotential_altitude, speed_of_sound, standard_air
from sortiewright.performance import (
    OptimalClimb,
    flight_setup,
    make_flight_cases,
    optimal_climb,
    optimised_climb,
)

REFERENCE_SEGMENTS = 15  # 30 take some ten times as long, for 0.6 s less


def interceptor_climb() -> OptimalClimb:
    pack = interceptor()
    low, high = (float(geopotential_altitude(height)) for height in DATA["path_limits"]["h_m"])
    return optimised_climb(
        pack,
        flight_setup(pack),
        make_flight_cases(START_MASS),
        "military",
        altitude=low,
        mach=float(DATA["initial"]["v_m_s"] / speed_of_sound(standard_air(low).temperature)),
        to_altitude=high,
        to_mach=DATA["final"]["Mach"],
        maximum_mach=DATA["path_limits"]["Mach"][1],
        angles_of_attack=tuple(np.radians(DATA["path_limits"]["alpha_deg"])),
        load_factors=None,
    )


def test_minimum_time_climb_against_a_transcription_library(
    benchmark, report_ratio: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
):
    pytest.importorskip("casadi")
    climbs: list[float] = []
    flights: list[float] = []
    monkeypatch.setattr(optimal_climb, "fly_load_factors", clocked(optimal_climb.fly_load_factors, flights))
    best = benchmark.pedantic(clocked(interceptor_climb, climbs), rounds=3, warmup_rounds=1)

    assert 321.0 <= best.total_time <= 326.0
    if benchmark.stats is None:
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library's own, about its own settings
        pytest.importorskip("dymos")
        from reference_climb import reference_climb

        reference = reference_climb(REFERENCE_SEGMENTS)

    assert reference.converged
    assert best.total_time == pytest.approx(reference.total_time, rel=0.01)
    # Seconds of processors, which other work on the machine does not stretch as it does the clock's. Ours
    # has the energy climb in it, which it begins from. The reference is not flown again.
    ours, flown = float(np.mean(climbs)), float(np.mean(flights))
    report_ratio(
        f"minimum-time climb, seconds of processors: {best.total_time:.1f} s found in {ours - flown:.2f} and "
        f"flown again in {flown:.2f} ({benchmark.stats.stats.mean:.2f} of the clock); dymos with "
        f"{REFERENCE_SEGMENTS} segments {reference.total_time:.1f} s in {reference.processor_seconds:.2f} "
        f"({reference.seconds:.2f} of the clock): {reference.processor_seconds / (ours - flown):.1f} times "
        f"faster, {reference.processor_seconds / ours:.1f} with the flight"
    )


def clocked(function: Callable[..., Any], spent: list[float]) -> Callable[..., Any]:
    """Return the function, noting the seconds of processors that each call took."""

    def call(*given: Any) -> Any:
        begin = time.process_time()
        found = function(*given)
        spent.append(time.process_time() - begin)
        return found

    return call
