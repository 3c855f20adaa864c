"""Write tests/data/handbook_points/whinchat.csv: python tests/support/make_handbook_points.py

The rows are of an aircraft that is whinchat but for ``TRUTH``, read with errors, and one with a slip of the
pen: a thousand feet a minute too few.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from whinchat_points import CASES, noisy, text_of

from sortiewright.pack import load_pack, with_factors
from sortiewright.pack_fitting import in_unit, predicted, read_fit_points

FILE = Path(__file__).resolve().parents[1] / "data" / "handbook_points" / "whinchat.csv"
TRUTH = {
    "thrust.takeoff_power": 1.04,
    "drag.clean": 0.94,
    "fuel_flow": 0.96,
    "maximum_lift.landing": 1.03,
    "braking_friction": 0.88,
}
SEED, SLIP = 7, 17
DIGITS = 4


def main() -> None:
    """Write the file."""
    loaded = load_pack("whinchat")
    with tempfile.TemporaryDirectory() as folder:
        bare = Path(folder) / "cases.csv"
        bare.write_text(text_of([1.0] * len(CASES)), encoding="utf-8")
        cases = read_fit_points(bare, loaded.pack)
    exact = predicted(with_factors(loaded.pack, TRUTH), cases)
    values = [in_unit(value, case.unit, case.quantity) for value, case in zip(exact, cases, strict=True)]
    read = [float(f"{value:.{DIGITS}g}") for value in noisy(values, np.random.default_rng(SEED))]
    read[SLIP] -= 1000.0
    head = (
        "# Rows of an invented handbook: whinchat with known factors and errors, by\n"
        "# tests/support/make_handbook_points.py. Row P18 has a slip of the pen.\n"
    )
    FILE.write_text(head + text_of(read), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
