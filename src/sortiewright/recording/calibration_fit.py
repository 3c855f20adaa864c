"""Least squares over factors, with the noise as it is, and what the data cannot tell."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from itertools import combinations
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.calibration_noise import Noise, likely_noises, mixed, stretches_of
from sortiewright.recording.calibration_runs import Linear

Floats = NDArray[np.float64]

KNOWN_ANYHOW: Mapping[str, float] = {"thrust": 0.02, "drag": 0.03, "friction": 0.15, "pitch_rate": 0.2}
"""One standard deviation of each factor where nothing was measured: those that a plan reckons with, and for
the pitch rate common practice, no source."""
MOST_CORRELATED = 0.98  # beyond, two factors trade places at next to no cost
LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0  # beyond, it is another aircraft
PASSES = 3  # of fitting and then weighing the noise anew


class CannotTell(ValueError):
    """The data do not tell the factors asked for; ``reasons`` says why, by factor."""

    def __init__(self, reasons: Mapping[str, str]) -> None:
        self.reasons = dict(reasons)
        super().__init__("\n".join(f"{name} cannot be told: {why}" for name, why in self.reasons.items()))


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of a factor before: mean and one standard deviation."""

    mean: float
    sigma: float


class Model(Protocol):
    """What predicts observations from factors and from parameters of its own."""

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names of the factors, its first parameters."""
        ...

    @property
    def times(self) -> list[Floats]:
        """Return the times of each stretch of observations whose errors may last."""
        ...

    @property
    def observed(self) -> Floats:
        """Return the observations, (n,), stretch after stretch."""
        ...

    @property
    def least_sigma(self) -> float:
        """Return what an observation errs by at least."""
        ...

    def start(self) -> Floats:
        """Return the parameters to begin from."""
        ...

    def at(self, parameters: Floats) -> Linear:
        """Return the prediction there, and how it changes."""
        ...


@dataclass(frozen=True)
class Fit:
    """What came out: the fitted factors, their covariance, and what is left over."""

    names: tuple[str, ...]
    """Of the factors fitted, in the order of ``values``."""
    values: Floats
    covariance: Floats
    statistical: Floats
    """The covariance from the noise alone: what was held or is not quite known taken as certain."""
    parameters: Floats
    left_over: Floats
    noises: tuple[Noise, ...]
    condition: float
    """Of the whitened columns, each of length 1: how nearly one is made up of the others."""
    degrees: int
    """Observations less parameters; what has a prior of its own is no parameter here."""

    def sigma(self, name: str) -> float:
        """Return one standard deviation of a factor."""
        at = self.names.index(name)
        return float(np.sqrt(self.covariance[at, at]))

    def correlation(self, one: str, other: str) -> float:
        """Return the correlation of the errors of two factors, from the noise alone."""
        a, b = self.names.index(one), self.names.index(other)
        c = self.statistical
        return float(c[a, b] / np.sqrt(c[a, a] * c[b, b]))


@dataclass(frozen=True)
class _Task:
    """What is to be fitted: which parameters, and what is known of them before."""

    model: Model
    fitted: list[int]
    beginning: Floats
    rows: list[tuple[int, Prior]]
    """Number among the fitted, and the prior."""
    stretches: list[slice]

    def whole(self, chosen: Floats) -> Floats:
        parameters = self.beginning.copy()
        parameters[self.fitted] = chosen
        return parameters

    def misfit(self, noise: Noise, taken: Floats) -> Callable[[Floats], Floats]:
        def off(chosen: Floats) -> Floats:
            away = (self.model.at(self.whole(chosen)).predicted - self.model.observed) / noise.sigma
            extra = np.array([(chosen[k] - prior.mean) / prior.sigma for k, prior in self.rows])
            return np.concatenate([_without(noise.whitened(away, self.stretches), taken), extra])

        return off

    def slope(self, noise: Noise, taken: Floats) -> Callable[[Floats], Floats]:
        def change(chosen: Floats) -> Floats:
            columns = self.model.at(self.whole(chosen)).jacobian[:, self.fitted] / noise.sigma
            extra = np.zeros((len(self.rows), len(self.fitted)))
            for row, (k, prior) in enumerate(self.rows):
                extra[row, k] = 1.0 / prior.sigma
            return np.vstack([_without(noise.whitened(columns, self.stretches), taken), extra])

        return change

    def taken(self, noise: Noise, chosen: Floats) -> Floats:
        """Return what the loosely known things can explain, as they are fitted too with their own doubt.

        Orthonormal columns, of the whitened observations and below them of each thing's own prior.
        """
        loose = self.model.at(self.whole(chosen)).loosely_known
        own = np.eye(loose.shape[1])
        return np.linalg.qr(np.vstack([noise.whitened(loose, self.stretches) / noise.sigma, own]))[0]

    def noises(self, chosen: Floats, held: Mapping[str, Prior]) -> list[Noise]:
        """Return the likely noises, once what is fitted, loosely known or held has taken its part."""
        linear = self.model.at(self.whole(chosen))
        # Before the first fit the pack's own error is in what is left over: the columns take it out.
        return likely_noises(
            self.model.observed - linear.predicted,
            linear.jacobian[:, self.fitted],
            self.model.times,
            self.model.least_sigma,
            np.concatenate([linear.loosely_known, _doubts(self.model, linear, held)], axis=1),
        )


def _without(values: Floats, taken: Floats) -> Floats:
    """Return whitened values less what ``taken`` spans, with its priors' rows below."""
    below = np.zeros((len(taken) - len(values), *values.shape[1:]))
    whole = np.concatenate([values, below])
    return whole - taken @ (taken.T @ whole)


def _doubts(model: Model, linear: Linear, held: Mapping[str, Prior]) -> Floats:
    """Return what one standard deviation of each held factor changes the prediction by, (n, held)."""
    each = [linear.jacobian[:, model.names.index(name)] * prior.sigma for name, prior in held.items()]
    return np.stack(each, axis=1) if each else np.zeros((len(model.observed), 0))


def fit_factors(
    model: Model,
    free: Sequence[str],
    priors: Mapping[str, Prior],
    held: Mapping[str, Prior],
    *,
    passes: int = PASSES,
    begin: Floats | None = None,
) -> Fit:
    """Return the factors ``free`` that explain the observations best; the others stay at ``held``.

    Generalised least squares: residuals are whitened by the likeliest noise, the fit is repeated as the noise
    is weighed anew. Intervals are over all likely noises. With no ``passes`` it is one linear step from
    ``begin`` (the pack as it is where None): enough to see what the data can tell.
    """
    optimize: Any = import_module("scipy.optimize")  # half a second, and without types

    factors = [model.names.index(name) for name in free]
    beginning = model.start() if begin is None else begin.copy()
    for name, prior in held.items():
        beginning[model.names.index(name)] = prior.mean
    rows = [(list(free).index(name), prior) for name, prior in priors.items() if name in free]
    fitted = [*factors, *range(len(model.names), len(beginning))]
    task = _Task(model, fitted, beginning, rows, stretches_of(model.times))
    bounds = np.full((2, len(fitted)), [[-np.inf], [np.inf]])
    bounds[:, : len(factors)] = [[LEAST_FACTOR], [MOST_FACTOR]]
    chosen = beginning[fitted]
    for _ in range(passes):
        noise = task.noises(chosen, held)[0]
        taken = task.taken(noise, chosen)
        solved = optimize.least_squares(
            task.misfit(noise, taken),
            chosen,
            jac=task.slope(noise, taken),
            bounds=bounds,
            xtol=1e-7,
            x_scale="jac",
        )
        chosen = np.asarray(solved.x, dtype=np.float64)
    return _weighed(task, chosen, len(factors), tuple(free), held)


def _weighed(
    task: _Task, chosen: Floats, count: int, names: tuple[str, ...], held: Mapping[str, Prior]
) -> Fit:
    """Return the fit with its covariance, over all likely noises.

    What is loosely known, weight and wind, is fitted with the doubt in it as its prior: what it explains is
    neither noise, nor doubted a second time. What is held is not fitted, but its doubt is carried into the
    intervals (consider covariance: Tapley, Schutz and Born, Statistical Orbit Determination, 2004, section
    6.3; from memory).
    """
    model, fitted = task.model, task.fitted
    linear = model.at(task.whole(chosen))
    left_over = model.observed - linear.predicted
    columns = np.concatenate([linear.jacobian[:, fitted], linear.loosely_known], axis=1)
    priors = [*task.rows, *((k, Prior(0.0, 1.0)) for k in range(len(fitted), columns.shape[1]))]
    begun = np.concatenate([chosen, np.zeros(linear.loosely_known.shape[1])])
    doubt = _doubts(model, linear, held)
    noises = task.noises(chosen, held)
    offsets: list[Floats] = []
    covariances: list[Floats] = []
    plain: list[Floats] = []
    for noise in noises:
        design = noise.whitened(columns, task.stretches) / noise.sigma
        information = design.T @ design
        right = design.T @ (noise.whitened(left_over, task.stretches) / noise.sigma)
        for k, prior in priors:
            information[k, k] += prior.sigma**-2
            right[k] += (prior.mean - begun[k]) * prior.sigma**-2
        inverse = _inverse(information)
        gain = inverse @ (design.T @ (noise.whitened(doubt, task.stretches) / noise.sigma))
        offsets.append(inverse @ right)
        plain.append(_inverse(information[: len(fitted), : len(fitted)]))
        covariances.append(inverse + gain @ gain.T)
    weights = np.array([noise.weight for noise in noises])
    offset, covariance = mixed(np.array(offsets), np.array(covariances), weights)
    statistical = mixed(np.array(offsets)[:, : len(fitted)], np.array(plain), weights)[1]
    final = chosen + offset[: len(fitted)]
    final[:count] = np.clip(final[:count], LEAST_FACTOR, MOST_FACTOR)
    parameters = task.whole(final)
    design = noises[0].whitened(linear.jacobian[:, fitted], task.stretches)
    lengths = np.maximum(np.linalg.norm(design, axis=0), 1e-30)
    return Fit(
        names,
        parameters[fitted[:count]],
        covariance[:count, :count],
        statistical[:count, :count],
        parameters,
        left_over - columns @ offset,
        tuple(noises),
        float(np.linalg.cond(design / lengths)),
        max(len(model.observed) - len(fitted), 1),
    )


def _inverse(information: Floats) -> Floats:
    """Return the inverse of a symmetric matrix; a direction without information gets a huge variance."""
    scale = np.sqrt(np.maximum(np.diag(information), 1e-300))
    values, vectors = np.linalg.eigh(information / np.outer(scale, scale))
    return (vectors / np.maximum(values, 1e-14)) @ vectors.T / np.outer(scale, scale)


def untold(fit: Fit) -> dict[str, str]:
    """Return why a factor is not told by the data, for each that is not; the worst first."""
    reasons: dict[str, str] = {}
    worst_first = sorted(fit.names, key=lambda name: -fit.sigma(name) / KNOWN_ANYHOW[name])
    for one, other in combinations(worst_first, 2):
        correlation = fit.correlation(one, other)
        if not abs(correlation) <= MOST_CORRELATED and one not in reasons:
            sense = "more of one and less of the other" if correlation < 0 else "more of both, or less,"
            reasons[one] = (
                f"it cannot be told from {other}: {sense} gives the same run "
                f"(correlation of their errors {correlation:+.3f}, condition number {fit.condition:.0f})"
            )
    for name in worst_first:
        sigma, known = fit.sigma(name), KNOWN_ANYHOW[name]
        if not sigma <= known and name not in reasons:
            reasons[name] = (
                f"the data leave it open by ± {100 * sigma:.1f} %, more than the ± {100 * known:.0f} % to "
                "which it is known without them"
            )
    return {name: reasons[name] for name in worst_first if name in reasons}
