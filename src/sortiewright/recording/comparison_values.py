"""What a comparison yields: values planned and flown, both runs over distance, and the moments on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sortiewright.sortie import THIN_SPACE, Kind, System, show

Floats = NDArray[np.float64]

GRID = 121  # points of the curves
NEAR_ENDS = np.array([0.0, 0.5, 2.0, 5.0])  # m from an end
THRESHOLD = "threshold"
SCREEN = "50 ft of height"
LAID = "touchdown as planned"
"""Where the distance of a landing is counted from: without a height both touchdowns are laid on one place."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One value, planned and as flown, SI; None where it is not told."""

    name: str
    title: str
    kind: str
    """The kind of quantity by which it is shown."""
    planned: float | None
    flown: float | None
    sigma: float | None = None
    """One standard deviation of the flown value, where it is known."""
    basis: str = ""

    @property
    def difference(self) -> float | None:
        """Return by how much the flown value is larger."""
        return None if self.planned is None or self.flown is None else self.flown - self.planned


@dataclass(frozen=True)
class SpeedOverDistance:
    """Both runs on one grid: ``distance`` m from where the run is counted, speeds m/s; NaN where a run has
    not begun or has ended."""

    distance: Floats
    planned_cas: Floats
    flown_cas: Floats
    planned_ground_speed: Floats
    flown_ground_speed: Floats


@dataclass(frozen=True, slots=True)
class RunMark:
    """A moment on one of the two runs: metres along it and ground speed, m/s."""

    name: str
    title: str
    run: Literal["planned", "flown"]
    distance: float
    speed: float


def value_named(compared: Iterable[Compared], name: str) -> Compared:
    """Return a compared value by name, or raise ``KeyError``."""
    for one in compared:
        if one.name == name:
            return one
    raise KeyError(name)


def first_finite(values: Floats) -> float | None:
    """Return the first of some values where it is finite."""
    return finite(float(values[0]))


def finite(value: float | None) -> float | None:
    """Return a value, None for one that is not finite."""
    return value if value is not None and np.isfinite(value) else None


def quantity_said(value: float, kind: Kind, units: System) -> str:
    """Return a value for a sentence: ``32 kt``."""
    return show(value, kind, units, rounding="nearest").text.replace(THIN_SPACE, " ")


def speed_said(speed: float, units: System) -> str:
    """Return a ground speed for a sentence."""
    return quantity_said(speed, Kind.GROUND_SPEED, units)


def common_grid(*runs: Floats) -> Floats:
    """Return distances, m, over all of several runs: evenly spread, closer where they begin and end.

    From and to a stand the speed goes with the root of the distance.
    """
    least, most = min(float(run[0]) for run in runs), max(float(run[-1]) for run in runs)
    begins, ends = ([run[at] for run in runs] for at in (0, -1))
    close = np.add.outer(begins, NEAR_ENDS), np.subtract.outer(ends, NEAR_ENDS)
    every = np.concatenate([np.linspace(least, most, GRID), *(one.ravel() for one in close)])
    return np.unique(every[(every >= least) & (every <= most)])


def on_grid(grid: Floats, distance: Floats, speed: Floats) -> Floats:
    """Return a run's speeds at the distances of ``grid``, m/s; NaN before and after it.

    Between its points the square of the speed is a straight line over distance, as at constant acceleration.
    """
    inside = (grid >= distance[0] - 1e-9) & (grid <= distance[-1] + 1e-9)
    return np.where(inside, np.sqrt(np.interp(grid, distance, speed**2)), np.nan)
