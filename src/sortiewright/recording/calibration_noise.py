"""How samples err together: what is left over after a fit, as white noise and noise that lasts.

Samples a twentieth of a second apart err in the same direction while a gust lasts, so they tell less than as
many that err independently. The leftover is taken as the sum of white noise and noise whose correlation falls
with exp(-dt/T). Shares and T are weighed by the restricted likelihood, which does not mistake what the fit
took away for small noise (Patterson and Thompson, Biometrika 58, 1971, 545-554; from memory). Not one pair is
taken but all of a grid, each by its likelihood.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LASTING = (0.02, 0.05, 0.1, 0.25, 0.5, 1.0)  # T as shares of the longest stretch
SHARES = (0.3, 0.6, 0.9, 0.97, 0.99, 0.999)  # of the variance that lasts
WHITE_ODDS = 9.0  # before any sample is seen: noise is white nine times as likely as it is lasting
LEAST_WEIGHT = 1e-4  # of a pair that is still counted
SCORING_STEPS, SCORED = 20, 1e-6


@dataclass(frozen=True, slots=True)
class Noise:
    """One pair: ``share`` of the variance lasts ``lasts`` s; ``sigma`` is of one sample; ``weight`` of 1."""

    lasts: float
    share: float
    sigma: float
    weight: float
    whiteners: tuple[Floats, ...]
    """By stretch: the inverse of the Cholesky factor of the correlation."""

    def whitened(self, values: Floats, stretches: Sequence[slice]) -> Floats:
        """Return values (n,) or (n, p) whose errors are independent and of the size ``sigma``."""
        parts = [white @ values[rows] for white, rows in zip(self.whiteners, stretches, strict=True)]
        return np.concatenate(parts)


def likely_noises(
    left_over: Floats,
    columns: Floats,
    times: Sequence[Floats],
    least_sigma: float = 0.0,
    doubts: Floats | None = None,
) -> list[Noise]:
    """Return the pairs that explain what a fit left over, the likeliest first.

    ``left_over`` (n,) are the residuals of the stretches one after another, ``columns`` (n, p) what each
    fitted parameter changes them by, ``times`` s of each stretch. Stretches err independently; those of one
    sample each have white noise only. ``least_sigma`` is what is known to be in the observations at least.
    ``doubts`` (n, c) are what one standard deviation of each thing that is not quite known, a weight or a
    wind, changes the residuals by: that part of them is no noise, and is not counted as such.
    """
    stretches = stretches_of(times)
    longest = max(float(np.ptp(one)) for one in times)
    rounded = [tuple(round(float(second - one[0]), 6) for second in one) for one in times]
    found: list[tuple[float, Noise]] = []
    lasting = [(part * longest, share) for part in LASTING for share in SHARES] if longest > 0.0 else []
    for lasts, share in [(longest, 0.0), *lasting]:
        pairs = [_whitener(one, lasts, share) for one in rounded]
        noise = Noise(lasts, share, 1.0, 0.0, tuple(white for white, _ in pairs))
        design, values = noise.whitened(columns, stretches), noise.whitened(left_over, stretches)
        q, r = np.linalg.qr(design)
        rest = values - q @ (q.T @ values)
        spread = np.zeros((len(values), 0)) if doubts is None else noise.whitened(doubts, stretches)
        free = max(len(values) - columns.shape[1], 1)
        variance, cost = _noise_variance(rest, spread - q @ (q.T @ spread), free, least_sigma**2)
        diagonal = np.maximum(np.abs(np.diag(r)), 1e-30)
        likelihood = -0.5 * (cost + sum(d for _, d in pairs) + 2.0 * np.log(diagonal).sum())
        likelihood -= np.log(WHITE_ODDS * len(lasting)) if share > 0.0 else 0.0
        found.append((likelihood, Noise(lasts, share, float(np.sqrt(variance)), 0.0, noise.whiteners)))
    best = max(likelihood for likelihood, _ in found)
    weights = np.exp([likelihood - best for likelihood, _ in found])
    weights = np.where(weights < LEAST_WEIGHT * weights.sum(), 0.0, weights)
    weights /= weights.sum()
    noises = [
        Noise(noise.lasts, noise.share, noise.sigma, float(weight), noise.whiteners)
        for weight, (_, noise) in zip(weights, found, strict=True)
        if weight > 0.0
    ]
    return sorted(noises, key=lambda noise: -noise.weight)


def _noise_variance(rest: Floats, spread: Floats, free: int, least: float) -> tuple[float, float]:
    """Return the likeliest variance of the noise, and minus twice its log likelihood but for constants.

    Of ``rest`` (n,), with ``free`` dimensions, the part along the doubts (n, c) has their variance and the
    noise's, the other the noise's alone. Fisher's scoring on the logarithm; without doubts the first step is
    the answer, the mean square.
    """
    squared, turn = np.linalg.eigh(spread.T @ spread)
    seen = squared > 1e-12 * max(float(squared[-1]), 1e-30) if len(squared) else squared > 0.0
    doubted = squared[seen][-free:]
    part = ((turn[:, seen].T @ (spread.T @ rest))[-free:]) ** 2 / doubted
    whole = float(rest @ rest)
    others, squares = free - len(doubted), max(whole - float(part.sum()), 0.0)
    floor = max(least, 1e-30)
    variance = max(whole / free, floor)
    for _ in range(SCORING_STEPS):
        share = variance / (variance + doubted)
        slope = float((share * (1.0 - part / (variance + doubted))).sum()) + others - squares / variance
        step = slope / max(float(share @ share) + others, 1e-12)
        variance = max(variance * math.exp(min(max(-step, -1.0), 1.0)), floor)
        if abs(step) < SCORED or variance == floor:
            break
    cost = float((np.log(variance + doubted) + part / (variance + doubted)).sum())
    return variance, cost + others * math.log(variance) + squares / variance


def stretches_of(times: Sequence[Floats]) -> list[slice]:
    """Return the rows of each stretch in values laid one after another."""
    ends = np.cumsum([0, *(len(one) for one in times)])
    return [slice(int(a), int(b)) for a, b in pairwise(ends)]


@lru_cache(maxsize=512)
def _whitener(times: tuple[float, ...], lasts: float, share: float) -> tuple[Floats, float]:
    """Return the inverse Cholesky factor of the correlation of samples, and the log of its determinant."""
    at = np.array(times)
    if share == 0.0:
        return np.eye(len(at)), 0.0
    apart = np.abs(at[:, None] - at)
    correlation = share * np.exp(-apart / lasts) + (1.0 - share) * np.eye(len(at))
    factor = np.linalg.cholesky(correlation)
    white: Floats = np.asarray(np.linalg.solve(factor, np.eye(len(at))), dtype=np.float64)
    return white, float(2.0 * np.log(np.diag(factor)).sum())


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line: value at the mean of the abscissae, slope, and its standard deviation."""

    middle: float
    slope: float
    slope_sigma: float


MOST_POINTS = 60


def straight_line(time: Floats, values: Floats) -> Line:
    """Return the line through samples whose errors may last."""
    at, binned = in_bins(time, values, MOST_POINTS)
    centred = at - time.mean()
    columns = np.stack([np.ones_like(centred), centred], axis=1)
    if len(at) <= 3:
        middle, slope = np.linalg.lstsq(columns, binned, rcond=None)[0]
        return Line(float(middle), float(slope), float("inf"))
    estimates: list[Floats] = []
    covariances: list[Floats] = []
    weights: list[float] = []
    for noise in likely_noises(binned, columns, [at]):
        design, wanted = noise.whiteners[0] @ columns, noise.whiteners[0] @ binned
        inverse: Floats = np.asarray(np.linalg.inv(design.T @ design), dtype=np.float64)
        estimates.append(inverse @ design.T @ wanted)
        covariances.append(inverse * noise.sigma**2)
        weights.append(noise.weight)
    mean, spread = mixed(np.array(estimates), np.array(covariances), np.array(weights))
    return Line(float(mean[0]), float(mean[1]), float(np.sqrt(spread[1, 1])))


def mixed(estimates: Floats, covariances: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return mean and covariance over estimates (k, p) with covariances (k, p, p) by their weights (k,)."""
    mean = weights @ estimates
    off = estimates - mean
    return mean, np.tensordot(weights, covariances + off[:, :, None] * off[:, None, :], axes=1)


def in_bins(time: Floats, values: Floats, most: int) -> tuple[Floats, Floats]:
    """Return means of as many neighbouring samples as leave at most ``most`` points; a rest is left out."""
    each = -(-len(time) // most)
    count = len(time) // each
    rows = slice(0, count * each)
    return time[rows].reshape(count, each).mean(axis=1), values[rows].reshape(count, each).mean(axis=1)
