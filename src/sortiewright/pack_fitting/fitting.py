"""A pack fitted to handbook rows: which factors the rows tell, how well, and which rows disagree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import LoadedPack, Overlay, OverlayFactor, OverlayFactors, PackFactor, choice_hint
from sortiewright.pack_fitting.fit_points import FitPoint
from sortiewright.pack_fitting.least_squares import (
    FactorPrior,
    Fitted,
    fit_rows,
    misfit,
    student,
    studentised,
)
from sortiewright.pack_fitting.pack_model import PackModel

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

CONFIDENCE = 0.95
MOST_CORRELATED = 0.995  # beyond, two factors trade places at next to no cost
TRADING = 0.95  # what a factor that stays too open is said to trade places with
DOUBT = 0.01  # chance that any of the rows is called disagreeing though all err alike
AS_TOLERATED = 1.0  # a row within what its tolerance allows disagrees with nothing, however well others agree
MOST_DISAGREEING = 0.25  # share of the rows: beyond, no one can say which are right
MOST_SCATTER = 6.0  # of the tolerances' half: rows three tolerances off on the whole are no errors of reading
MOST_MISFIT = (
    0.04  # root mean square share: where tolerances were stated too small, rows may be read all right
)
LEAST_FELT = 0.1  # of a sigma, by a factor's usual doubt: less, and a row says nothing of it
METHOD = (
    "handbook rows, least squares through the program's own takeoff, climb, level flight and landing; rows "
    "err independently and in proportion to their tolerances, on the whole as much as the misfit says; 95 % "
    "intervals are Student's, with what was held taken as right"
)


class CannotFit(ValueError):
    """The rows do not tell the factors asked for; ``reasons`` says why, by factor."""

    def __init__(self, reasons: Mapping[str, str]) -> None:
        self.reasons = dict(reasons)
        super().__init__("\n".join(f"{name} cannot be told: {why}" for name, why in self.reasons.items()))


@dataclass(frozen=True, slots=True)
class FittedFactor:
    """A factor with one standard deviation and its 95 % interval."""

    factor: PackFactor
    value: float
    sigma: float
    low: float
    high: float
    low_with_held: float
    high_with_held: float
    """The interval with the usual doubt in what was held."""
    informed_by: tuple[int, ...]
    """Numbers of the rows that say something of it."""
    pack_value: float | None
    """The pack's own number, SI, where it is one and no table."""
    at_bound: bool


@dataclass(frozen=True, slots=True)
class FittedRow:
    """A row beside what the pack gave and gives, SI. ``studentised`` is its leave-one-out residual.

    ``used`` tells whether the fit is made from it: rows that change with no fitted factor are not.
    """

    point: FitPoint
    before: float
    after: float
    studentised: float
    disagrees: bool
    used: bool


@dataclass(frozen=True)
class PackFit:
    """What was found."""

    factors: Mapping[str, FittedFactor]
    held: Mapping[str, str]
    """Factors that stay as the pack has them, and why."""
    rows: tuple[FittedRow, ...]
    correlations: Mapping[str, float]
    condition: float
    scatter: float
    """Misfit over what the tolerances say."""
    degrees: int
    left_out: bool
    """Whether the rows that disagree were left out of the fit."""
    configuration: str
    name: str

    @property
    def disagreeing(self) -> tuple[FittedRow, ...]:
        """The rows that disagree with the rest, the worst first."""
        found = [row for row in self.rows if row.disagrees]
        return tuple(sorted(found, key=lambda row: -abs(row.studentised)))

    @property
    def values(self) -> dict[str, float]:
        """Factors by name, as ``with_factors`` takes them."""
        return {name: one.value for name, one in self.factors.items()}

    def overlay(self, loaded: LoadedPack) -> Overlay:
        """Return the factors as an overlay of the pack that they were found for."""
        return Overlay(
            pack=loaded.pack.name,
            pack_version=loaded.pack.version,
            pack_digest=loaded.digest,
            configuration=self.configuration,
            factors=OverlayFactors(),
            fitted={
                name: OverlayFactor(
                    factor=one.value, low=one.low, high=one.high, standard_deviation=one.sigma
                )
                for name, one in self.factors.items()
            },
            held=dict(self.held),
            correlations=dict(self.correlations),
            made_from=(f"{self.name}: {len(self.rows)} rows",),
            method=METHOD,
        )


def fit_pack(
    loaded: LoadedPack,
    points: Sequence[FitPoint],
    *,
    free: Sequence[str] | None = None,
    priors: Mapping[str, FactorPrior] | None = None,
    keep_all: bool = False,
    name: str = "handbook points",
) -> PackFit:
    """Return the factors that handbook rows tell of a pack.

    Parameters
    ----------
    free
        Factors to fit, all of which the rows must tell. None: as many of the pack's as they tell.
    priors
        What is known of a factor before, by name; without one a factor is told by the rows alone.
    keep_all
        Fit rows that disagree with the rest too; they are named all the same.

    Raises
    ------
    CannotFit
        Where there are too few rows for the factors, where two factors cannot be told apart, or where the
        rows leave a factor more open than it is known without them.
    ValueError
        For a factor the pack has not, a row that its aircraft cannot fly, or so many rows at odds that none
        can be called right.
    OutsideTable
        Where a table does not reach a row's conditions.
    """
    if loaded.overlay is not None:
        raise ValueError("the pack has an overlay already: fit the pack without it, or factors would be lost")
    model = PackModel(loaded.pack, points)
    known = dict(priors or {})
    for asked in [*(free or ()), *known]:
        if asked not in model.factors:
            hint = choice_hint(asked, model.factors, "factors")
            raise ValueError(f'"{asked}" is no factor of {loaded.pack.name}. {hint}')
    before = model.at({})
    names, reasons = _told(model, free, known, before)
    used = _rows_felt(model, names, before)
    fit, apart = _robust(model, names, known, used, keep_all)
    names, fit = _settled(model, names, free, known, fit, reasons, apart)
    return _summary(model, loaded, fit, known, reasons, before, apart, keep_all, name)


def _told(
    model: PackModel,
    free: Sequence[str] | None,
    priors: Mapping[str, FactorPrior],
    before: Floats,
) -> tuple[list[str], dict[str, str]]:
    """Return the factors that the rows tell, by their slopes at the pack as it is, and why the others not."""
    names = list(dict.fromkeys(free if free is not None else model.factors))
    slopes = dict(zip(names, model.changes({}, names, before).T, strict=True))
    reasons: dict[str, str] = {}
    for name in list(names):
        felt = _felt(slopes[name], model.factors[name])
        if not felt.any() and name not in priors:
            reasons[name] = f"none of the {len(model.points)} rows changes with it"
            names.remove(name)
    if not names or (free is not None and reasons):
        raise CannotFit(reasons)
    rows = _rows_felt(model, names, before)
    spare = len(rows) + sum(name in priors for name in names)
    if spare < len(names) + 1:
        count = "1 row is" if len(rows) == 1 else f"{len(rows)} rows are"
        why = f"{count} too few for {len(names)} factors: at least {len(names) + 1} are needed"
        if free is not None or len(rows) < 2:
            raise CannotFit(dict.fromkeys(names, why))
    while names:
        while len(rows) + sum(name in priors for name in names) < len(names) + 1:
            worst = min(names, key=lambda one: float(np.abs(slopes[one]).sum()) * model.factors[one].known_to)
            reasons[worst] = f"{len(rows)} rows are too few for it beside {len(names) - 1} others"
            names.remove(worst)
        fit = fit_rows(model, names, priors, rows, passes=0)
        untold = _untold(model, fit, priors, tolerance_scale=1.0)
        if not untold:
            break
        if free is not None:
            raise CannotFit(untold)
        worst, why = next(iter(untold.items()))
        reasons[worst] = why
        names.remove(worst)
        rows = _rows_felt(model, names, before) if names else rows
    if not names:
        raise CannotFit(reasons)
    return names, reasons


def _rows_felt(model: PackModel, names: Sequence[str], before: Floats) -> Rows:
    """Return the rows that change with any of these factors: the others say nothing, nor how far rows err."""
    slopes = model.changes({}, names, before)
    known = np.array([model.factors[name].known_to for name in names])
    return np.flatnonzero((np.abs(slopes) * known > LEAST_FELT).any(axis=1)).astype(np.intp)


def _felt(slopes: Floats, factor: PackFactor) -> NDArray[np.bool_]:
    return np.asarray(np.abs(slopes) * factor.known_to > LEAST_FELT)


def _untold(
    model: PackModel, fit: Fitted, priors: Mapping[str, FactorPrior], *, tolerance_scale: float
) -> dict[str, str]:
    """Return why factors are not told, the worst first."""
    spread = {name: tolerance_scale * fit.sigma(name) / fit.scatter for name in fit.names}
    worst_first = sorted(fit.names, key=lambda name: -spread[name] / model.factors[name].known_to)
    reasons: dict[str, str] = {}
    for one, other in combinations(worst_first, 2):
        is_open = one not in priors and spread[one] > model.factors[one].known_to
        most = TRADING if is_open else MOST_CORRELATED
        if abs(correlation := fit.correlation(one, other)) > most and one not in reasons:
            both = int((_felt_by(model, fit, one) & _felt_by(model, fit, other)).sum())
            reasons[one] = (
                f"the rows cannot tell it from {other} (correlation of their errors {correlation:+.3f}, "
                f"condition number {fit.condition:.0f}, {both} rows that both change)"
            )
    for name in worst_first:
        known = model.factors[name].known_to
        if name not in reasons and name not in priors and spread[name] > known:
            count = int(_felt_by(model, fit, name).sum())
            reasons[name] = (
                f"the {count} rows that change with it leave it open by ± {100 * spread[name]:.0f} %, more "
                f"than the ± {100 * known:.0f} % to which it is known without them"
            )
    return {name: reasons[name] for name in worst_first if name in reasons}


def _felt_by(model: PackModel, fit: Fitted, name: str) -> NDArray[np.bool_]:
    return _felt(fit.slopes[:, fit.names.index(name)], model.factors[name])


def _robust(
    model: PackModel,
    names: Sequence[str],
    priors: Mapping[str, FactorPrior],
    rows: Rows,
    keep_all: bool,
) -> tuple[Fitted, list[int]]:
    """Return the fit, and the rows that disagree with the rest: the worst is taken out, and the rest asked
    again."""
    used, apart = rows, list[int]()
    fit = whole = fit_rows(model, names, priors, used)
    while fit.degrees > 2:
        off = np.abs(studentised(fit, AS_TOLERATED))
        off[~np.isin(np.arange(len(off)), used)] = 0.0
        worst = int(np.argmax(off))
        if off[worst] <= student(1.0 - DOUBT / (2.0 * len(used)), fit.degrees - 1):
            break
        apart.append(worst)
        if len(apart) > MOST_DISAGREEING * len(rows):
            labels = "; ".join(model.points[k].label for k in apart[:6])
            raise ValueError(
                f"more than a quarter of the {len(rows)} rows contradict the others, so none can be called "
                f"right: {labels}. Mend or remove the wrong ones, or the pack's tables have another shape"
            )
        used = np.array([k for k in used if k != worst], dtype=np.intp)
        fit = fit_rows(model, names, priors, used, dict(zip(fit.names, fit.values.tolist(), strict=True)))
    # Many wrong rows hide one another: each seems likely beside the others.
    if fit.scatter > MOST_SCATTER and misfit(fit, model.observed) > MOST_MISFIT and not keep_all:
        worst_rows = sorted(used, key=lambda k: -abs(float(fit.left_over[k])))[:6]
        labels = "; ".join(model.points[k].label for k in map(int, worst_rows))
        raise ValueError(
            f"the rows lie {fit.scatter:.0f} times as far off as their tolerances say, so they contradict "
            "each other, a factor that is not fitted is off too, or the pack's tables have another shape. "
            f"Farthest off: {labels}. Mend or remove the wrong ones, fit more factors, state wider "
            "tolerances, or fit them all the same with --keep-all"
        )
    return (whole if keep_all else fit), apart


def _settled(
    model: PackModel,
    names: Sequence[str],
    free: Sequence[str] | None,
    priors: Mapping[str, FactorPrior],
    fit: Fitted,
    reasons: dict[str, str],
    apart: list[int],
) -> tuple[list[str], Fitted]:
    """Return the fit once more without what turned out untold where the fit ended."""
    left = list(names)
    while untold := _untold(model, fit, priors, tolerance_scale=min(fit.scatter, 1.0)):
        if free is not None:
            raise CannotFit(untold)
        worst, why = next(iter(untold.items()))
        reasons[worst] = why
        left.remove(worst)
        if not left:
            raise CannotFit(reasons)
        begin = dict(zip(fit.names, fit.values.tolist(), strict=True))
        fit = fit_rows(model, left, priors, fit.used, begin)
    return left, fit


def _summary(
    model: PackModel,
    loaded: LoadedPack,
    fit: Fitted,
    priors: Mapping[str, FactorPrior],
    reasons: Mapping[str, str],
    before: Floats,
    apart: Sequence[int],
    keep_all: bool,
    name: str,
) -> PackFit:
    half = student(0.5 + 0.5 * CONFIDENCE, fit.degrees)
    doubt = _doubt_of_held(model, fit, priors, reasons)
    factors = {one: _fitted_factor(model, fit, one, half, float(doubt[k])) for k, one in enumerate(fit.names)}
    off = studentised(fit, AS_TOLERATED)
    rows = tuple(
        FittedRow(
            point,
            float(before[k] * point.sigma),
            float((fit.left_over[k] + model.observed[k]) * point.sigma),
            float(off[k]),
            k in apart,
            k in fit.used,
        )
        for k, point in enumerate(model.points)
    )
    return PackFit(
        factors,
        {one: reasons[one] for one in model.factors if one in reasons},
        rows,
        {f"{a} and {b}": fit.correlation(a, b) for a, b in combinations(fit.names, 2)},
        fit.condition,
        fit.scatter,
        fit.degrees,
        bool(apart) and not keep_all,
        loaded.pack.technique.takeoff.configuration,
        name,
    )


def _fitted_factor(model: PackModel, fit: Fitted, name: str, half: float, doubt: float) -> FittedFactor:
    value, sigma, factor = float(fit.values[fit.names.index(name)]), fit.sigma(name), model.factors[name]
    wide = float(np.hypot(half * sigma, 2.0 * doubt))
    return FittedFactor(
        factor,
        value,
        sigma,
        value - half * sigma,
        value + half * sigma,
        value - wide,
        value + wide,
        tuple(int(k) for k in np.flatnonzero(_felt_by(model, fit, name)) if k in fit.used),
        factor.value(model.pack),
        min(value - factor.least, factor.most - value) < 1e-6,
    )


def _doubt_of_held(
    model: PackModel, fit: Fitted, priors: Mapping[str, FactorPrior], reasons: Mapping[str, str]
) -> Floats:
    """Return one standard deviation that the held factors' own doubt puts into each fitted one.

    Consider covariance: Tapley, Schutz and Born, Statistical Orbit Determination, 2004, section 6.3; from
    memory.
    """
    held = [name for name in reasons if name not in fit.names]
    if not held:
        return np.zeros(len(fit.names))
    values = dict(zip(fit.names, fit.values.tolist(), strict=True))
    slopes = model.changes(values, held, model.at(values))[fit.used]
    known = np.array([model.factors[name].known_to for name in held])
    gain = fit.covariance @ fit.slopes[fit.used].T @ (slopes * known)
    spread: Floats = np.sqrt((gain**2).sum(axis=1))
    return spread
