"""Least squares with noise that lasts and things loosely known, against the textbook's whole matrices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import multivariate_normal

from sortiewright.recording.calibration_fit import Prior, fit_factors
from sortiewright.recording.calibration_noise import likely_noises
from sortiewright.recording.calibration_runs import Linear

TIMES = [np.arange(0.0, 4.0, 0.1), np.arange(0.0, 3.0, 0.1)]
COUNT = sum(len(one) for one in TIMES)


@dataclass
class Straight:
    """Observations that are linear in two factors, and in one loosely known thing of each stretch."""

    observed: np.ndarray
    columns: np.ndarray
    loose: np.ndarray
    times = TIMES
    names = ("thrust", "drag")
    least_sigma = 0.0

    def start(self):
        return np.ones(2)

    def at(self, parameters):
        return Linear(self.columns @ parameters, self.columns, self.loose)


@pytest.fixture
def columns():
    random = np.random.default_rng(3)
    return random.standard_normal((COUNT, 2)) + np.linspace(0.0, 3.0, COUNT)[:, None]


@pytest.fixture
def loose():
    along = np.concatenate(TIMES)
    first = np.arange(COUNT) < len(TIMES[0])
    return 0.3 * np.stack([along * first, along * ~first], axis=1)


@pytest.fixture
def made(columns, loose):
    random = np.random.default_rng(4)
    noise = 0.1 * random.standard_normal(COUNT)
    return Straight(columns @ [1.02, 0.97] + loose @ random.standard_normal(2) + noise, columns, loose)


# Aitken's generalised least squares with the whole covariance V = s2 I + C C' of noise and of what is loosely
# known: covariance of the estimates (X' V^-1 X)^-1 (Rao, Linear Statistical Inference, 2nd ed., 4a.2).
def test_fit_with_loosely_known_things_is_generalised_least_squares(made):
    fit = fit_factors(made, ("thrust", "drag"), {}, {})
    sigma = fit.noises[0].sigma
    whole = np.linalg.inv(sigma**2 * np.eye(COUNT) + made.loose @ made.loose.T)
    covariance = np.linalg.inv(made.columns.T @ whole @ made.columns)

    assert fit.noises[0].share == 0.0
    assert fit.noises[0].weight > 0.99
    assert fit.values == pytest.approx(covariance @ made.columns.T @ whole @ made.observed, abs=2e-4)
    assert fit.covariance == pytest.approx(covariance, rel=0.03)


# What is held is not fitted: the estimate is that without it, its variance that of the noise and of the doubt
# that comes through, K V K' with V = s2 I + C C' + D D'.
def test_doubt_in_a_held_factor_comes_through_the_estimate(made):
    fit = fit_factors(made, ("thrust",), {}, {"drag": Prior(1.0, 0.05)})
    sigma = fit.noises[0].sigma
    doubt = 0.05 * made.columns[:, [1]]
    known = sigma**2 * np.eye(COUNT) + made.loose @ made.loose.T
    inverse = np.linalg.inv(known)
    thrust = made.columns[:, [0]]
    gain = np.linalg.inv(thrust.T @ inverse @ thrust) @ thrust.T @ inverse

    assert fit.values == pytest.approx(gain @ (made.observed - made.columns[:, 1]), abs=2e-3)
    assert fit.covariance == pytest.approx(gain @ (known + doubt @ doubt.T) @ gain.T, rel=0.03)


# The restricted likelihood is that of contrasts free of the fitted parameters (Patterson and Thompson, 1971;
# from memory): here of an orthonormal set, by SciPy's multivariate normal, over the variance of the noise.
def test_variance_of_the_noise_has_the_greatest_restricted_likelihood(made):
    contrasts = np.linalg.svd(made.columns)[0][:, 2:]
    left, through = contrasts.T @ made.observed, contrasts.T @ made.loose

    def cost(log_variance):
        covariance = np.exp(log_variance) * np.eye(COUNT - 2) + through @ through.T
        return -multivariate_normal.logpdf(left, np.zeros(COUNT - 2), covariance)

    best = minimize_scalar(cost, bounds=(-10.0, 2.0), method="bounded", options={"xatol": 1e-8})
    noises = likely_noises(made.observed, made.columns, made.times, 0.0, made.loose)
    white = next(noise for noise in noises if noise.share == 0.0)

    assert white.sigma**2 == pytest.approx(np.exp(best.x), rel=1e-4)


# Without doubts it is what every textbook has: squares left over, by the degrees of freedom.
def test_variance_of_white_noise_is_the_mean_square_of_what_is_left(made):
    left = made.observed - made.columns @ np.linalg.lstsq(made.columns, made.observed, rcond=None)[0]
    noises = likely_noises(made.observed, made.columns, made.times)

    for noise in noises:
        if noise.share == 0.0:
            assert noise.sigma**2 == pytest.approx(left @ left / (COUNT - 2), rel=1e-9)
    assert noises


def test_noise_is_never_smaller_than_what_is_known_to_be_there(made):
    quiet = Straight(made.columns @ [1.0, 1.0], made.columns, made.loose)
    noises = likely_noises(quiet.observed, quiet.columns, quiet.times, 0.2, quiet.loose)

    assert min(noise.sigma for noise in noises) == pytest.approx(0.2)
