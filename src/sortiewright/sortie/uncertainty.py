"""How far a number may be off: one condition at a time is moved, and the effects are combined.

No number is published bare. The stated errors are common practice, no source; they are taken as independent,
and the combination is the root sum of squares (JCGM 100:2008, GUM, 5.1.2).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance import Cases
from sortiewright.sortie.figures import Section

Floats = NDArray[np.float64]

KNOT = 1852.0 / 3600.0


@dataclass(frozen=True, slots=True)
class Error:
    """A condition that may be off: by a share of itself, or by an amount in SI."""

    name: str
    words: str
    share: float = 0.0
    amount: float = 0.0


ERRORS = (
    Error("thrust_factor", "thrust 2 %", share=-0.02),
    Error("drag_factor", "drag 3 %", share=0.03),
    Error("friction_factor", "wheel friction 15 %", share=-0.15),
    Error("mass", "weight 1 %", share=0.01),
    Error("headwind", "wind 5 kt", amount=-5.0 * KNOT),
)
WORDS = "± for " + ", ".join(error.words for error in ERRORS)


def with_errors(cases: Cases) -> Cases:
    """Return each case followed by itself with one condition off, in the order of ``ERRORS``."""
    each = len(ERRORS) + 1
    batch = cases.repeated(each)
    changed: dict[str, Floats] = {}
    for row, error in enumerate(ERRORS, 1):
        values: Floats = np.array(changed.get(error.name, getattr(batch, error.name)))
        values[row::each] = values[row::each] * (1.0 + error.share) + error.amount
        changed[error.name] = values
    return replace(batch, **changed)


def half_width(values: Floats) -> float | None:
    """Return the root sum of squares of the effects, given the value as planned and then one an error.

    None where the planned value or an effect is unknown or infinite: there is no honest width then.
    """
    if not np.isfinite(values).all():
        return None
    return float(np.sqrt(np.sum((values[1:] - values[0]) ** 2)))


def with_bounds(section: Section, widths: Mapping[str, float | None]) -> Section:
    """Return the section with low and high on the figures that have a half-width."""
    figures = tuple(
        replace(
            figure,
            low=figure.value - width,
            high=figure.value + width,
            method=f"{figure.method}; {WORDS}" if figure.method else WORDS,
        )
        if (width := widths.get(figure.name)) is not None
        and figure.value is not None
        and np.isfinite(figure.value)
        else figure
        for figure in section.figures
    )
    return replace(section, figures=figures)
