"""Calibration: factors on thrust, drag, friction and rotation that bring the pack to what was flown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import LoadedPack, Overlay, OverlayFactor, OverlayFactors, TakeoffTechnique
from sortiewright.recording.calibration_fit import (
    KNOWN_ANYHOW,
    CannotTell,
    Fit,
    Model,
    Prior,
    fit_factors,
    untold,
)
from sortiewright.recording.calibration_points import HandbookPoint, PointModel
from sortiewright.recording.calibration_runs import RunModel, RunObservation

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
BOOK_ROTATION = 0.05  # share; common practice, no source
ONE_ROTATION = "The pitch rate is of one rotation: how much others differ, it does not say"
RUN_METHOD = (
    "ground speed over time from settled thrust to the nose rising, generalised least squares through the "
    "program's own ground run; noise white and lasting, weighed by restricted likelihood; 95 % intervals "
    "carry the doubt in weight, wind and what was held"
)
POINT_METHOD = (
    "published values, least squares through the program's own takeoff; errors of the points independent, of "
    "half their tolerance, or as large as the misfit says where that is more; 95 % intervals carry the doubt "
    "in what was held"
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A factor with one standard deviation and its 95 % interval."""

    value: float
    sigma: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """How far the pack was off what was observed, and is with the factors: computed less observed."""

    name: str
    kind: str
    """The kind of quantity by which it is shown: ``runway_distance``, ``cas``."""
    observed: float
    before: float
    after: float


@dataclass(frozen=True)
class Calibration:
    """What was found."""

    factors: Mapping[str, Estimate]
    held: Mapping[str, str]
    """Factors that stay as the pack has them, and why."""
    correlations: Mapping[str, float]
    compared: tuple[BeforeAfter, ...]
    made_from: tuple[str, ...]
    method: str
    configuration: str
    observations: int
    left_over: float
    """Root mean square: m/s of runs, sigmas of points."""
    noise_lasts: float
    """s; 0 where samples err independently."""
    remarks: tuple[str, ...] = field(default=())

    def overlay(self, loaded: LoadedPack) -> Overlay:
        """Return the overlay for the pack that was calibrated."""
        factors = {
            name: OverlayFactor(factor=one.value, low=one.low, high=one.high, standard_deviation=one.sigma)
            for name, one in self.factors.items()
        }
        return Overlay(
            pack=loaded.pack.name,
            pack_version=loaded.pack.version,
            pack_digest=loaded.digest,
            configuration=self.configuration,
            factors=OverlayFactors(**factors),
            held=dict(self.held),
            correlations=dict(self.correlations),
            made_from=self.made_from,
            method=self.method,
        )


def calibrate_runs(
    runs: Sequence[RunObservation],
    loaded: LoadedPack,
    technique: TakeoffTechnique,
    *,
    free: Sequence[str] | None = None,
    priors: Mapping[str, Prior] | None = None,
) -> Calibration:
    """Return the factors that takeoff runs tell.

    ``free`` None: as many of thrust, drag and friction as the runs tell; the others stay 1, and ``held`` says
    why. Named factors must be told: ``CannotTell`` is raised where one is not. ``priors`` are what is known
    of factors before, beside the runs. The pitch rate comes from the rotations, where they were recorded.
    """
    _require_fresh(loaded)
    asked = None if free is None else [name for name in free if name != "pitch_rate"]
    model = RunModel(loaded.pack, technique, runs)
    rate = _pitch_rate(runs)
    given = {name: prior for name, prior in (priors or {}).items() if name != "pitch_rate"}
    factors: dict[str, Estimate] = {}
    held: dict[str, str] = {}
    correlations: dict[str, float] = {}
    compared: list[BeforeAfter] = []
    remarks: list[str] = []
    left_over, lasts = float("nan"), 0.0
    if asked is None or asked:
        fit, held = most_told(model, asked, given)
        factors, correlations = _estimates(fit), _correlations(fit)
        whole = fit.parameters[:3]
        compared += _run_distances(model, whole)
        left_over = float(np.sqrt(np.mean(fit.left_over**2)))
        lasts = sum(noise.weight * noise.lasts * (noise.share > 0.0) for noise in fit.noises)
    if free is None or "pitch_rate" in free:
        why = _rate_untold(rate, runs)
        if why and free is not None:
            raise CannotTell({"pitch_rate": why})
        if why or rate is None:
            held["pitch_rate"] = why
        else:
            factors["pitch_rate"] = rate
            if len(_rates(runs)) == 1:
                remarks.append(ONE_ROTATION)
    if not factors:
        raise CannotTell(held)
    return Calibration(
        factors,
        held,
        correlations,
        tuple(compared),
        tuple(run.said for run in runs),
        RUN_METHOD,
        technique.configuration,
        len(model.observed),
        left_over,
        lasts,
        tuple(remarks),
    )


def calibrate_points(
    points: Sequence[HandbookPoint],
    loaded: LoadedPack,
    technique: TakeoffTechnique,
    *,
    free: Sequence[str] | None = None,
    priors: Mapping[str, Prior] | None = None,
    name: str = "handbook points",
) -> Calibration:
    """Return the factors that handbook points tell; arguments as ``calibrate_runs``.

    A handbook's rotation is taken to be the pack's, but for a doubt of ``BOOK_ROTATION``, unless
    ``pitch_rate`` is asked for by name.
    """
    _require_fresh(loaded)
    known = dict(priors or {})
    if free is None or "pitch_rate" not in free:
        known.setdefault("pitch_rate", Prior(1.0, BOOK_ROTATION))
    model = PointModel(loaded.pack, technique, points)
    fit, held = most_told(model, free, known, ["thrust", "drag", "friction"])
    before = model.at(model.start()).predicted
    sigma = np.array([point.sigma for point in points])
    compared = [
        BeforeAfter(
            f"{point.quantity} at {point.conditions['mass'] / 0.45359237:.0f} lb",
            "cas" if point.quantity == "lift_off_speed" else "runway_distance",
            point.value,
            float((before[k] - model.observed[k]) * sigma[k]),
            float(-fit.left_over[k] * sigma[k]),
        )
        for k, point in enumerate(points)
    ]
    return Calibration(
        _estimates(fit),
        held,
        _correlations(fit),
        tuple(compared),
        (f"{name}: {len(points)} points",),
        POINT_METHOD,
        technique.configuration,
        len(points),
        float(np.sqrt(np.mean(fit.left_over**2))),
        0.0,
    )


def _require_fresh(loaded: LoadedPack) -> None:
    if loaded.overlay is not None:
        raise ValueError(
            "the pack has an overlay already: calibrate the pack without it, or factors would be lost"
        )


def most_told(
    model: Model,
    asked: Sequence[str] | None,
    priors: Mapping[str, Prior],
    wanted: Sequence[str] | None = None,
) -> tuple[Fit, dict[str, str]]:
    """Return the fit of as many factors as the data tell, and why the others are held; ``CannotTell`` where
    one that was asked for, or every one, is not told.

    Where none is ``asked`` for, all ``wanted`` are tried, or all that the model has. The worst told is held
    first, and the rest asked again: held, it no longer spoils them.
    """
    free = list(asked or wanted or model.names)
    reasons: dict[str, str] = {}
    if len(model.observed) < len(free) + 1:
        why = f"{len(model.observed)} observations are too few for {len(free)} factors"
        if asked is not None:
            raise CannotTell(dict.fromkeys(free, why))
        while len(free) >= len(model.observed):
            reasons[free.pop()] = why
    # From the pack as it is, a straight line to the answer may be too long to see what the data tell.
    near = fit_factors(model, free[:1], priors, _held(model, free[:1], priors), passes=1).parameters
    while True:
        held = _held(model, free, priors)
        fit = fit_factors(model, free, priors, held, passes=0, begin=near)
        open_ones = untold(fit)
        if not open_ones:
            fit = fit_factors(model, free, priors, held, begin=near)
            open_ones = untold(fit)
        if not open_ones:
            break
        name, why = next(iter(open_ones.items()))
        reasons[name] = why
        free.remove(name)
        if not free:
            raise CannotTell(reasons)
    if asked is not None and reasons:
        raise CannotTell(reasons)
    return fit, reasons


def _held(model: Model, free: Sequence[str], priors: Mapping[str, Prior]) -> dict[str, Prior]:
    return {
        name: priors.get(name, Prior(1.0, KNOWN_ANYHOW[name])) for name in model.names if name not in free
    }


def _estimates(fit: Fit) -> dict[str, Estimate]:
    return {
        name: _interval(float(value), fit.sigma(name), fit.degrees)
        for name, value in zip(fit.names, fit.values, strict=True)
    }


def _interval(value: float, sigma: float, degrees: int) -> Estimate:
    special: Any = import_module("scipy.special")  # without types

    half = float(special.stdtrit(degrees, 0.5 + 0.5 * CONFIDENCE)) * sigma
    return Estimate(value, sigma, value - half, value + half)


def _correlations(fit: Fit) -> dict[str, float]:
    scale = np.sqrt(np.diag(fit.covariance))
    whole = fit.covariance / np.outer(scale, scale)
    return {
        f"{fit.names[a]} and {fit.names[b]}": float(whole[a, b])
        for a, b in combinations(range(len(fit.names)), 2)
    }


def _run_distances(model: RunModel, factors: Floats) -> list[BeforeAfter]:
    before, after = model.distances(np.ones(3)), model.distances(factors)
    rows: list[BeforeAfter] = []
    for run, b, a in zip(model.runs, before, after, strict=True):
        step, speed = np.diff(run.time), run.ground_speed
        observed = float(np.sum(0.5 * (speed[1:] + speed[:-1]) * step))
        rows.append(
            BeforeAfter(run.name, "runway_distance", observed, float(b) - observed, float(a) - observed)
        )
    return rows


def _rates(runs: Sequence[RunObservation]) -> list[tuple[float, float, int]]:
    """Return flown over planned pitch rate of each rotation, its standard deviation, and its samples."""
    return [
        (
            run.ramp.rate / run.planned_pitch_rate,
            run.ramp.rate_sigma / run.planned_pitch_rate,
            run.ramp.samples,
        )
        for run in runs
        if run.ramp is not None and run.planned_pitch_rate and np.isfinite(run.ramp.rate_sigma)
    ]


def _pitch_rate(runs: Sequence[RunObservation]) -> Estimate | None:
    """Return the factor on the planned pitch rate: of one rotation as well as it was measured, of several
    their mean and how they scatter."""
    rates = _rates(runs)
    if not rates:
        return None
    if len(rates) == 1:
        value, sigma, samples = rates[0]
        return _interval(value, sigma, max(samples - 2, 1))
    values = np.array([value for value, _, _ in rates])
    scatter = float(values.std(ddof=1) / np.sqrt(len(values)))
    return _interval(float(values.mean()), scatter, len(values) - 1)


def _rate_untold(rate: Estimate | None, runs: Sequence[RunObservation]) -> str:
    """Return why the rotations do not tell a pitch rate; empty where they do."""
    if rate is None:
        return "no rotation was recorded well enough"
    if rate.sigma <= KNOWN_ANYHOW["pitch_rate"] * rate.value:
        return ""
    count = len(_rates(runs))
    said = f"{count} rotations differ so much that their mean is" if count > 1 else "the rotation is"
    return (
        f"{said} known to ± {100 * rate.sigma / rate.value:.0f} % only, "
        f"more than the ± {100 * KNOWN_ANYHOW['pitch_rate']:.0f} % to which it is known without"
    )
