"""Verdicts of rtamt, a library for monitoring signal temporal logic (D. Nickovic, BSD licence)."""

from __future__ import annotations

import sys
import types
import typing
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

# Its parser imports TextIO from typing.io, which warns before Python 3.13 and is gone after.
_module = types.ModuleType("typing.io")
_module.TextIO = typing.TextIO
sys.modules["typing.io"] = _module

import rtamt  # noqa: E402


def library_says(
    formula: str, columns: Mapping[str, NDArray[np.float64]], period: float = 0.1
) -> NDArray[np.bool_]:
    """Return for each sample, ``period`` seconds apart, whether the formula's robustness is positive."""
    monitor = rtamt.StlDiscreteTimeSpecification()
    for name in columns:
        monitor.declare_var(name, "float")
    monitor.set_sampling_period(round(1000 * period), "ms", 0.1)
    monitor.spec = formula
    monitor.parse()
    samples = {name: column.tolist() for name, column in columns.items()}
    rows = len(next(iter(samples.values())))
    return np.array([one for _, one in monitor.evaluate({"time": list(range(rows))} | samples)]) > 0
