"""How often a fit's 95 % intervals hold known factors: ``python tests/support/fit_campaign.py 600 2026``.

Each trial gives whinchat other factors, makes thirty rows of it, and lets them err as their tolerances say.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from whinchat_points import CASES, noisy, text_of

from sortiewright.pack import load_pack, with_factors
from sortiewright.pack_fitting import CannotFit, fit_pack, in_unit, predicted, read_fit_points

SPREAD = {
    "thrust.takeoff_power": 0.03,
    "drag.clean": 0.05,
    "drag.takeoff": 0.05,
    "fuel_flow": 0.04,
    "maximum_lift.takeoff": 0.03,
    "braking_friction": 0.1,
    "rotation_speed": 0.015,
    "drag_per_index": 0.1,
}
"""Factors fitted, and the standard deviation of what they truly are."""


def campaign(count: int, seed: int, folder: Path) -> np.ndarray:
    """Whether each interval held the truth, (trials that were told, factors)."""
    loaded, generator = load_pack("whinchat"), np.random.default_rng(seed)
    file = folder / "points.csv"
    file.write_text(text_of([1.0] * len(CASES)), encoding="utf-8")
    cases = read_fit_points(file, loaded.pack)
    held: list[list[bool]] = []
    for _ in range(count):
        truth = {name: 1.0 + spread * generator.standard_normal() for name, spread in SPREAD.items()}
        exact = predicted(with_factors(loaded.pack, truth), cases)
        values = [in_unit(value, case.unit, case.quantity) for value, case in zip(exact, cases, strict=True)]
        file.write_text(text_of(noisy(values, generator)), encoding="utf-8")
        try:
            fit = fit_pack(loaded, read_fit_points(file, loaded.pack), free=list(SPREAD))
        except CannotFit as fault:
            print(fault)
            continue
        held.append([one.low <= truth[name] <= one.high for name, one in fit.factors.items()])
    return np.array(held)


def main() -> None:
    """Print the share of intervals that hold, on the whole and by factor."""
    count, seed = (int(sys.argv[k]) if len(sys.argv) > k else usual for k, usual in ((1, 600), (2, 2026)))
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        held = campaign(count, seed, Path(folder))
    print(f"{len(held)} of {count} fits, {time.perf_counter() - began:.0f} s: {100 * held.mean():.2f} % hold")
    for name, share in zip(SPREAD, held.mean(axis=0), strict=True):
        print(f"{name:24} {100 * share:.1f} %")


if __name__ == "__main__":
    main()
