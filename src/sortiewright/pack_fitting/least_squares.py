"""Least squares over factors with bounds and priors: the fit, its covariance, and which rows disagree.

Rows err independently, each in proportion to its tolerance. By how much on the whole, the misfit itself says:
intervals are Student's, with the rows that are left over as degrees of freedom.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_fitting.pack_model import PackModel

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

PASSES = 12
SETTLED = 3e-3  # of a standard deviation
NEAR = 0.3  # of a standard deviation: so close by, slopes are what they were
HALVINGS = 6
LEAST_INFORMATION = 1e-12  # of a factor none of the rows changes with: a variance beyond all, and finite
LEAST_SCATTER = 1e-6  # of the tolerances: rows that our own physics made fit without any


@dataclass(frozen=True, slots=True)
class FactorPrior:
    """What is known of a factor before the points: mean and one standard deviation."""

    mean: float
    sigma: float


@dataclass(frozen=True)
class Fitted:
    """Factors that explain the rows best, and how far each row is off."""

    names: tuple[str, ...]
    values: Floats
    covariance: Floats
    """Without the misfit's scale: as if each row's sigma were right."""
    scatter: float
    """By how much the misfit is larger than the tolerances say: 1 where they are right."""
    degrees: int
    """Rows and priors less factors."""
    left_over: Floats
    """Computed less printed, in units of each row's sigma, of all rows."""
    slopes: Floats
    used: Rows
    condition: float

    def sigma(self, name: str) -> float:
        """Return one standard deviation of a factor."""
        at = self.names.index(name)
        return float(self.scatter * np.sqrt(self.covariance[at, at]))

    def correlation(self, one: str, other: str) -> float:
        """Return the correlation of the errors of two factors."""
        a, b, c = self.names.index(one), self.names.index(other), self.covariance
        return float(c[a, b] / np.sqrt(c[a, a] * c[b, b]))


def fit_rows(
    model: PackModel,
    names: Sequence[str],
    priors: Mapping[str, FactorPrior],
    used: Rows,
    begin: Mapping[str, float] | None = None,
    *,
    passes: int = PASSES,
) -> Fitted:
    """Return the fit of the named factors to the rows ``used``; the others stay 1.

    Gauss and Newton's steps, cut at the bounds of each factor and halved while the misfit grows. With no
    ``passes`` the factors stay where they begin, and only what the rows can tell is found.
    """
    values = np.array([(begin or {}).get(name, 1.0) for name in names])
    low = np.array([model.factors[name].least for name in names])
    high = np.array([model.factors[name].most for name in names])
    here = model.at(_named(names, values))
    slopes, is_far = model.changes(_named(names, values), names, here), False
    for _ in range(passes):
        if is_far:
            slopes, is_far = model.changes(_named(names, values), names, here), False
        design, wanted = _with_priors(slopes[used], (model.observed - here)[used], names, priors, values)
        step = _step(design, wanted, values, low, high)
        values, here, moved = _best_step(model, names, priors, used, values, here, step)
        spread = np.sqrt(np.diag(_inverse(design.T @ design)))
        is_far = is_far or bool(np.any(np.abs(step) > NEAR * spread))
        if not moved or np.all(np.abs(step) <= SETTLED * spread):
            break
    if is_far:
        slopes = model.changes(_named(names, values), names, here)
    return _weighed(model, tuple(names), priors, used, values, here, slopes)


def _named(names: Sequence[str], values: Floats) -> dict[str, float]:
    return dict(zip(names, values.tolist(), strict=True))


def _with_priors(
    slopes: Floats, wanted: Floats, names: Sequence[str], priors: Mapping[str, FactorPrior], values: Floats
) -> tuple[Floats, Floats]:
    """Return the rows with a row below for each prior."""
    rows, right = [slopes], [wanted]
    for k, name in enumerate(names):
        if name in priors:
            row = np.zeros((1, len(names)))
            row[0, k] = 1.0 / priors[name].sigma
            rows.append(row)
            right.append(np.array([(priors[name].mean - values[k]) / priors[name].sigma]))
    return np.vstack(rows), np.concatenate(right)


def _step(design: Floats, wanted: Floats, values: Floats, low: Floats, high: Floats) -> Floats:
    """Return the step to the least squares of the straight model, within the bounds."""
    optimize: Any = import_module("scipy.optimize")  # half a second, and without types

    length = np.maximum(np.linalg.norm(design, axis=0), 1e-12)
    slack = 1e-9  # the solver wants room between its bounds
    found = optimize.lsq_linear(
        design / length,
        wanted,
        bounds=((low - values - slack) * length, (high - values + slack) * length),
        method="bvls",
    )
    step: Floats = np.asarray(found.x, dtype=np.float64) / length
    return np.clip(values + step, low, high) - values


def _best_step(
    model: PackModel,
    names: Sequence[str],
    priors: Mapping[str, FactorPrior],
    used: Rows,
    values: Floats,
    here: Floats,
    step: Floats,
) -> tuple[Floats, Floats, bool]:
    """Return the values after as much of a step as lessens the misfit, and what they predict."""
    before = _misfit(model, names, priors, used, values, here)
    for halving in range(HALVINGS):
        tried = values + step * 0.5**halving
        try:
            there = model.at(_named(names, tried))
        except ValueError:  # a factor too far out: the aircraft does not fly, or a table ends
            continue
        if _misfit(model, names, priors, used, tried, there) <= before:
            return tried, there, True
    return values, here, False


def _misfit(
    model: PackModel,
    names: Sequence[str],
    priors: Mapping[str, FactorPrior],
    used: Rows,
    values: Floats,
    here: Floats,
) -> float:
    none = np.zeros((len(used), len(names)))
    _, off = _with_priors(none, (model.observed - here)[used], names, priors, values)
    return float(off @ off)


def _weighed(
    model: PackModel,
    names: tuple[str, ...],
    priors: Mapping[str, FactorPrior],
    used: Rows,
    values: Floats,
    here: Floats,
    slopes: Floats,
) -> Fitted:
    design, off = _with_priors(slopes[used], (model.observed - here)[used], names, priors, values)
    degrees = max(len(off) - len(names), 1)
    lengths = np.maximum(np.linalg.norm(design, axis=0), 1e-30)
    scatter = max(float(np.sqrt(off @ off / degrees)), LEAST_SCATTER)
    return Fitted(
        names,
        values,
        _inverse(design.T @ design),
        scatter,
        degrees,
        here - model.observed,
        slopes,
        used,
        float(np.linalg.cond(design / lengths)),
    )


def _inverse(information: Floats) -> Floats:
    """Return the inverse of a symmetric matrix; a direction without information gets a huge variance."""
    scale = np.sqrt(np.maximum(np.diag(information), LEAST_INFORMATION))
    values, vectors = np.linalg.eigh(information / np.outer(scale, scale))
    inverse: Floats = (vectors / np.maximum(values, 1e-14)) @ vectors.T / np.outer(scale, scale)
    return inverse


def misfit(fit: Fitted, observed: Floats) -> float:
    """Return the root mean square of what the rows used are off by, as a share of each value printed."""
    return float(np.sqrt(np.mean((fit.left_over / observed)[fit.used] ** 2)))


def studentised(fit: Fitted, least_scatter: float = LEAST_SCATTER) -> Floats:
    """Return each row's leftover over its standard deviation in a fit without that row, (rows,).

    Externally studentised residuals, t of ``degrees - 1`` where all is well: Belsley, Kuh and Welsch,
    Regression Diagnostics, 1980, equation 2.26; from memory. A row that was not used is held against the fit
    without it outright. With a ``least_scatter`` of 1 the rows err by their tolerances at least.
    """
    leverage: Floats = ((fit.slopes @ fit.covariance) * fit.slopes).sum(axis=1)
    is_used = np.isin(np.arange(len(fit.left_over)), fit.used)
    rest = fit.degrees * fit.scatter**2
    free = np.maximum(1.0 - leverage, 1e-9)
    without = np.where(
        is_used, (rest - fit.left_over**2 / free) / max(fit.degrees - 1, 1), rest / fit.degrees
    )
    spread = np.sqrt(np.maximum(without, least_scatter**2) * np.where(is_used, free, 1.0 + leverage))
    # A row that alone holds a factor up is met exactly: it can disagree with nothing.
    return np.where(is_used & (leverage > 1.0 - 1e-6), 0.0, fit.left_over / spread)


def student(share: float, degrees: int) -> float:
    """Return the quantile of Student's t."""
    special: Any = import_module("scipy.special")  # without types

    return float(special.stdtrit(degrees, share))
