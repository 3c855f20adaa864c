"""A pack, and rows of an aircraft that differs from it by known factors."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from whinchat_points import CASES, text_of

from sortiewright.pack import LoadedPack, load_pack, with_factors
from sortiewright.pack_fitting import FitPoint, in_unit, predicted, read_fit_points


@pytest.fixture(scope="session")
def whinchat() -> LoadedPack:
    """Return the shipped pack."""
    return load_pack("whinchat")


@pytest.fixture
def rows(tmp_path: Path, whinchat: LoadedPack) -> Callable[..., tuple[FitPoint, ...]]:
    """Return a function that gives the rows of an aircraft with these factors, each value changed at will."""

    def made(factors, change=lambda values: values, cases=CASES) -> tuple[FitPoint, ...]:
        file = tmp_path / "points.csv"
        file.write_text(text_of([1.0] * len(cases), cases=cases), encoding="utf-8")
        bare = read_fit_points(file, whinchat.pack)
        exact = predicted(with_factors(whinchat.pack, factors), bare)
        values = [in_unit(value, row.unit, row.quantity) for value, row in zip(exact, bare, strict=True)]
        file.write_text(text_of(change(np.array(values)), cases=cases), encoding="utf-8")
        return read_fit_points(file, whinchat.pack)

    return made
