"""Rows predicted from factors on a pack, and how each row changes with each factor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import Pack, PackFactor, pack_factors, with_factors
from sortiewright.pack_fitting.fit_points import FitPoint
from sortiewright.pack_fitting.prediction import GROUP_OF, predicted

Floats = NDArray[np.float64]

STEP = 1e-3  # of a factor: the curvature of a distance over it changes a slope by a thousandth of itself

_LANDING = ("landing",)
_IN_FLIGHT = ("rate", "climb", "level")
_INFORMS: Mapping[str, tuple[str, ...]] = {
    "thrust": ("takeoff", "landing", *_IN_FLIGHT),
    "fuel_flow": ("climb", "level"),
    "drag": ("takeoff", "landing", *_IN_FLIGHT),
    "maximum_lift": ("takeoff", "stall"),
    "gear_drag": ("takeoff", "landing"),
    "drag_per_index": ("takeoff", "landing", *_IN_FLIGHT),
    "rolling_friction": ("takeoff", "landing"),
    "braking_friction": _LANDING,
    "chute_drag_area": _LANDING,
    "rotation_speed": ("takeoff",),
    "pitch_rate": ("takeoff",),
    "on_speed_angle_of_attack": _LANDING,
}
"""Which groups of rows a factor can change: the others need not be computed again."""


_Key = tuple[tuple[tuple[str, float], ...], str]


def _key(values: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(sorted((name, value) for name, value in values.items() if value != 1.0))


@dataclass
class PackModel:
    """What factors on a pack give for rows, in units of each row's own sigma. Arrays (rows, factors)."""

    pack: Pack
    points: Sequence[FitPoint]
    factors: Mapping[str, PackFactor] = field(init=False)
    sigma: Floats = field(init=False)
    observed: Floats = field(init=False)
    _seen: dict[_Key, Floats] = field(init=False, default_factory=dict[_Key, Floats], repr=False)
    """Predictions, and slopes, so far: a fit asks for those of the pack as it is again and again."""

    def __post_init__(self) -> None:
        self.factors = pack_factors(self.pack)
        self.sigma = np.array([point.sigma for point in self.points])
        self.observed = np.array([point.value for point in self.points]) / self.sigma

    def at(self, values: Mapping[str, float]) -> Floats:
        """Return the prediction of every row, (rows,).

        Raises ``ValueError`` naming the rows where the pack's aircraft cannot do what the row says, and
        ``OutsideTable``.
        """
        if (key := (_key(values), "")) in self._seen:
            return self._seen[key]
        found = predicted(with_factors(self.pack, values), self.points)
        if (bad := ~np.isfinite(found)).any():
            names = "; ".join(self.points[k].label for k in map(int, np.flatnonzero(bad)[:6]))
            raise ValueError(
                f"the pack's aircraft cannot do this, so it cannot be compared: {names}. "
                "Mend the row, or give the pack a better first guess"
            )
        self._seen[key] = found / self.sigma
        return self._seen[key]

    def changes(self, values: Mapping[str, float], names: Sequence[str], here: Floats) -> Floats:
        """Return how each row changes with each named factor, (rows, names); ``here`` is the prediction."""
        for name in names:
            if (key := (_key(values), name)) not in self._seen:
                self._seen[key] = self._slope(values, name, here)
        return np.stack([self._seen[_key(values), name] for name in names], axis=1)

    def _slope(self, values: Mapping[str, float], name: str, here: Floats) -> Floats:
        slope = np.zeros(len(self.points))
        rows = self.rows_informing(name)
        if len(rows):
            moved = {**values, name: values.get(name, 1.0) + STEP}
            stepped = predicted(with_factors(self.pack, moved), [self.points[int(k)] for k in rows])
            slope[rows] = (stepped / self.sigma[rows] - here[rows]) / STEP
        return slope

    def rows_informing(self, name: str) -> NDArray[np.intp]:
        """Return which rows may say something of a factor, by what they are about."""
        groups = _INFORMS[name.partition(".")[0]]
        return np.array(
            [k for k, point in enumerate(self.points) if GROUP_OF[point.quantity] in groups], dtype=np.intp
        )
