"""Packs from handbook points: factors on a pack's own numbers by least squares, with what they leave open."""

from sortiewright.pack_fitting.corrected_pack import corrected_files
from sortiewright.pack_fitting.fit_points import (
    FIT_QUANTITIES,
    FitPoint,
    in_unit,
    read_fit_points,
)
from sortiewright.pack_fitting.fitting import CannotFit, FittedFactor, FittedRow, PackFit, fit_pack
from sortiewright.pack_fitting.least_squares import FactorPrior
from sortiewright.pack_fitting.prediction import predicted
from sortiewright.pack_fitting.residual_chart import draw_residuals

__all__ = [
    "FIT_QUANTITIES",
    "CannotFit",
    "FactorPrior",
    "FitPoint",
    "FittedFactor",
    "FittedRow",
    "PackFit",
    "corrected_files",
    "draw_residuals",
    "fit_pack",
    "in_unit",
    "predicted",
    "read_fit_points",
]
