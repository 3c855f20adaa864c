"""A batch of takeoffs against a flight model of JSBSim stepped through the same ones, each on one core."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from sortiewright.air import standard_air
from sortiewright.pack import load_pack
from sortiewright.performance import Cases, fly_takeoff, make_cases, takeoff_setup

pytest.importorskip("jsbsim")
from sortiewright.pack_sampling import FlightModel

CASES, PIECE = 100_000, 2048
STEPPED = 5
T38 = Path(__file__).parents[1] / "tests" / "data" / "packs" / "t38_sampled"
FOOT = 0.3048
FULL, HALF_TANKS, STANDING = 1.0, 1000.0, 3.2  # throttle command; lb in each; ft of the balance point


def conditions() -> Cases:
    random = np.random.default_rng(20261125)
    air = standard_air(random.uniform(0.0, 1_500.0, CASES), random.uniform(-20.0, 25.0, CASES))
    return make_cases(
        random.uniform(4_000.0, 5_200.0, CASES), 8.085, air, headwind=random.uniform(-4.0, 10.0, CASES)
    )


def stepping_time(model: FlightModel, seconds: float) -> float:
    """Return the processor time of stepping the model through a takeoff of this length, s.

    Nothing but the library's own steps: no pilot, no reading, no loading of the model, no run-up.
    """
    for name, value in (
        ("ic/terrain-elevation-ft", 0.0),
        ("ic/h-sl-ft", STANDING),
        ("ic/vt-kts", 0.0),
        ("ic/alpha-deg", 0.0),
        ("propulsion/tank/contents-lbs", HALF_TANKS),
        ("propulsion/tank[1]/contents-lbs", HALF_TANKS),
    ):
        model.write(name, value)
    model.start()
    model.let_go()
    model.write("propulsion/set-running", -1.0)
    for name in ("fcs/throttle-cmd-norm", "fcs/throttle-cmd-norm[1]"):
        model.write(name, FULL)
    run, steps = model.executive.run, round(seconds / model.step_time)
    begin = time.process_time()
    for _ in range(steps):
        run()
    spent = time.process_time() - begin
    assert model.read("velocities/v-north-fps") * FOOT > 50.0, "the model did not accelerate"
    return spent


def test_a_batch_of_takeoffs_against_a_flight_model_stepped(benchmark, report_ratio: Callable[[str], None]):
    pack = load_pack(T38).pack
    cases = conditions()
    starts = range(0, CASES, PIECE)

    def batch() -> tuple[float, float]:
        """Return the processor time of all cases, and their mean time to the screen: on one core."""
        begin = time.process_time()
        parts = [
            fly_takeoff(takeoff_setup(pack, cases.take(slice(start, start + PIECE)))) for start in starts
        ]
        spent = time.process_time() - begin
        times = np.concatenate([part.time_to_screen for part in parts])
        assert np.isfinite(times).all()
        return spent, float(times.mean())

    spent, seconds = benchmark.pedantic(batch, rounds=1, warmup_rounds=1)
    model = FlightModel("T38")
    model.place(mach=0.3, altitude=0.0)
    # Turn and turn about, so that what else the machine does weighs on both alike; the least of each counts.
    stepped = min(stepping_time(model, seconds) for _ in range(STEPPED))
    for _ in range(2):
        spent = min(spent, batch()[0])
        stepped = min(stepped, stepping_time(model, seconds))
    a_case = spent / CASES
    report_ratio(
        f"{CASES} takeoffs of {seconds:.0f} s in {spent:.2f} s of one core, {a_case * 1e6:.0f} us each; "
        f"stepped by JSBSim at {1 / model.step_time:.0f} Hz {stepped * 1e3:.1f} ms: "
        f"{stepped / a_case:.0f} times faster"
    )
