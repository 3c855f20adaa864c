"""How often a fit's 95 % intervals hold known factors: ``python tests/support/fit_campaign.py 600 2026``.

Each trial gives a pack other factors, makes thirty rows of it, and lets them err as their tolerances say, or
by a multiple of it: ``fit_campaign.py 600 2026 dotterel 2``. ``told`` as a fifth word fits whatever the rows
tell, not a list of factors. Beside each share stands what the same errors give through a model that is
straight, where theory has 95 % exactly: what it is short of that, chance is; what the fit is short of it, the
fit.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy import stats
from whinchat_points import CASES, TOLERANCES, cases, noisy, text_of

from sortiewright.pack import LoadedPack, load_pack, with_factors
from sortiewright.pack_fitting import CannotFit, FitPoint, fit_pack, in_unit, predicted, read_fit_points
from sortiewright.pack_fitting.pack_model import PackModel

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

FIELD = ("mass", "pressure_altitude", "temperature")
WING, WHEELS = (*FIELD, "configuration"), (*FIELD, "runway_condition_reading")
BY_CAS, BY_MACH = ("mass", "pressure_altitude", "cas"), ("mass", "pressure_altitude", "mach")
DOTTEREL = [
    *cases("ground_run", "ft", FIELD, (40e3, 0, 15), (46e3, 0, 30), (50e3, 2000, 20)),
    *cases("ground_run", "ft", FIELD, (43e3, 4000, 25), (38e3, 1000, 0), (48e3, 0, 5)),
    *cases("distance_to_screen", "ft", FIELD, (42e3, 0, 15), (48e3, 3000, 25), (45e3, 0, 35)),
    *cases("lift_off_speed", "kt", FIELD, (39e3, 0, 15), (44e3, 0, 15), (49e3, 0, 15)),
    *cases("stall_speed", "kt", WING, (40e3, 0, 15, "clean"), (46e3, 0, 15, "clean")),
    *cases("stall_speed", "kt", WING, (40e3, 0, 15, "takeoff"), (46e3, 0, 15, "takeoff")),
    *cases("stall_speed", "kt", WING, (36e3, 0, 15, "landing"), (40e3, 0, 15, "landing")),
    *cases("rate_of_climb", "ft/min", BY_CAS, (44e3, 5000, 350), (43e3, 15000, 350)),
    *cases("rate_of_climb", "ft/min", BY_CAS, (42e3, 25000, 300), (45e3, 10000, 400)),
    *cases("fuel_flow", "lb/h", BY_MACH, (42e3, 15000, 0.6), (40e3, 25000, 0.75), (44e3, 20000, 0.7)),
    *cases("approach_speed", "kt", FIELD, (36e3, 0, 15), (40e3, 0, 15)),
    *cases("landing_roll", "ft", WHEELS, (36e3, 0, 15, 23), (39e3, 2000, 15, 23), (37e3, 0, 15, 12)),
]
"""Thirty rows of the shipped jet with burner."""

CAMPAIGNS: Mapping[str, tuple[list[dict[str, object]], Mapping[str, float]]] = {
    "whinchat": (CASES, SPREAD),
    "dotterel": (
        DOTTEREL,
        {
            "thrust.maximum": 0.03,
            "thrust.military": 0.03,
            "drag.clean": 0.05,
            "fuel_flow": 0.04,
            "maximum_lift.takeoff": 0.03,
            "braking_friction": 0.1,
        },
    ),
}
"""By pack: its rows, and what its factors truly are."""


@dataclass
class Shares:
    """Whether intervals held, by factor, and whether those of the straight model did."""

    fitted: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    straight: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    refused: int = 0

    def mean(self, which: str = "fitted") -> float:
        """Return the share of all intervals."""
        return float(np.mean([one for held in getattr(self, which).values() for one in held]))


class Straight:
    """Least squares through the slopes at the pack as it is: exact normal theory."""

    def __init__(self, loaded: LoadedPack, points: Sequence[FitPoint], names: Sequence[str]) -> None:
        model = PackModel(loaded.pack, points)
        slopes = model.changes({}, names, model.at({}))
        self.names, self.felt = names, np.abs(slopes).sum(axis=1) > 0.0
        self.slopes = slopes[self.felt]
        self.covariance = np.linalg.inv(self.slopes.T @ self.slopes)
        self.degrees = len(self.slopes) - len(names)

    def held(self, errors: np.ndarray) -> np.ndarray:
        """Return whether 95 % intervals hold for these errors of the rows, in standard deviations."""
        off = self.covariance @ self.slopes.T @ errors[self.felt]
        rest = errors[self.felt] - self.slopes @ off
        sigma = np.sqrt(np.diag(self.covariance) * (rest @ rest) / self.degrees)
        return np.abs(off) <= stats.t.ppf(0.975, self.degrees) * sigma


def campaign(
    count: int,
    seed: int,
    folder: Path,
    *,
    pack: str = "whinchat",
    scale: float = 1.0,
    told: bool = False,
) -> Shares:
    """Return how often intervals held in ``count`` trials; ``scale`` multiplies the rows' errors."""
    loaded, generator = load_pack(pack), np.random.default_rng(seed)
    rows, spreads = CAMPAIGNS[pack]
    file, shares = folder / "points.csv", Shares()
    file.write_text(text_of([1.0] * len(rows), cases=rows), encoding="utf-8")
    bare = read_fit_points(file, loaded.pack)
    plain = predicted(loaded.pack, bare)
    file.write_text(text_of(_written(plain, bare), cases=rows), encoding="utf-8")
    straight = Straight(loaded, read_fit_points(file, loaded.pack), list(spreads))
    half = np.array([TOLERANCES[str(case["unit"])] / 2 for case in rows])
    for _ in range(count):
        truth = {name: 1.0 + spread * generator.standard_normal() for name, spread in spreads.items()}
        values = np.array(_written(predicted(with_factors(loaded.pack, truth), bare), bare))
        read = noisy(values, generator, cases=rows, scale=scale)
        file.write_text(text_of(read, cases=rows), encoding="utf-8")
        try:
            fit = fit_pack(loaded, read_fit_points(file, loaded.pack), free=None if told else list(spreads))
        except (CannotFit, ValueError) as fault:
            print(fault)
            shares.refused += 1
            continue
        for name, one in fit.factors.items():
            shares.fitted[name].append(one.low <= truth.get(name, 1.0) <= one.high)
        for name, held in zip(spreads, straight.held((read / values - 1.0) / half), strict=True):
            shares.straight[name].append(bool(held))
    return shares


def _written(values: Sequence[float] | np.ndarray, points: Sequence[FitPoint]) -> list[float]:
    return [in_unit(float(value), row.unit, row.quantity) for value, row in zip(values, points, strict=True)]


def main() -> None:
    """Print the share of intervals that hold, on the whole and by factor."""
    words = dict(enumerate(sys.argv))
    count, seed = int(words.get(1, "600")), int(words.get(2, "2026"))
    pack, scale, told = words.get(3, "whinchat"), float(words.get(4, "1")), words.get(5) == "told"
    began = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        shares = campaign(count, seed, Path(folder), pack=pack, scale=scale, told=told)
    print(
        f"{pack}, errors times {scale:g}, seed {seed}: {count - shares.refused} of {count} fits, "
        f"{time.process_time() - began:.0f} s; {100 * shares.mean():.2f} % hold, "
        f"{100 * shares.mean('straight'):.2f} % of the straight model"
    )
    for name, held in shares.fitted.items():
        beside = f"{100 * np.mean(shares.straight[name]):6.1f} %" if shares.straight[name] else ""
        print(f"{name:24} {100 * np.mean(held):6.1f} % {beside}   {len(held)}")


if __name__ == "__main__":
    main()
