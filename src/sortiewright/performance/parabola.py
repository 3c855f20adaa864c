"""Parabolas through three values, and their weighted sums: cheap stand-ins for tables over a short range."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Parabola = tuple[Floats, Floats, Floats]
"""c0, c1, c2 of c0 + c1 u + c2 u^2."""


def parabola(at_0: Floats, at_half: Floats, at_1: Floats) -> Parabola:
    """Return the parabola through the values at u = 0, 1/2 and 1."""
    c2 = 2.0 * (at_1 - 2.0 * at_half + at_0)
    return at_0, at_1 - at_0 - c2, c2


def combine(weights: Mapping[str, Floats], parabolas: Mapping[str, Parabola]) -> Parabola:
    """Return the weighted sum of named parabolas."""
    c0: Floats | float = 0.0
    c1: Floats | float = 0.0
    c2: Floats | float = 0.0
    for name, weight in weights.items():
        p0, p1, p2 = parabolas[name]
        c0, c1, c2 = c0 + weight * p0, c1 + weight * p1, c2 + weight * p2
    return np.asarray(c0), np.asarray(c1), np.asarray(c2)
