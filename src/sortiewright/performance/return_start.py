"""How a way home begins, for the mass with which its cruise is begun: speed change, climb or descent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance.return_cases import (
    AirAbove,
    HomePower,
    HomeProfiles,
    HomeStarts,
    Indices,
    scheduled_mach,
)
from sortiewright.performance.return_climb import HeightTable, climb_part
from sortiewright.performance.return_parts import (
    Cells,
    Craft,
    Part,
    acceleration_edges,
    cells_between,
    descent_edges,
    fly_cells,
    or_else,
    over_ground,
)

Floats = NDArray[np.float64]
Wind = Callable[[Floats, Indices], tuple[Floats, Floats]]
"""Headwind and crosswind, m/s, at altitudes (r, m) for these rows."""

SPEED_CELLS = 5
DESCENT_CELLS = (3, 7, 16)
DESCENT_SWEEPS = 2


@dataclass(slots=True)
class _SpeedChange:
    """A level acceleration of some rows; ``sums`` is what it takes, (3, r), before ``mass`` kg."""

    rows: Indices
    cells: Cells
    wind: tuple[Floats, Floats]
    sums: Floats | None = None
    mass: Floats | None = None


class WayStart:
    """The parts before the cruise; ``flown_to`` is called again with every better mass at its start."""

    def __init__(
        self,
        craft: Craft,
        mine: HomeProfiles,
        starts: HomeStarts,
        air: AirAbove,
        power: HomePower,
        climb: HeightTable,
        level: tuple[Floats, Floats],
        wind: Wind,
    ) -> None:
        self._craft, self._mine, self._air, self._power, self._climb = craft, mine, air, power, climb
        altitude, mach = level
        count = len(altitude)
        self._profile, self._count = starts.profile, count
        self._up = np.flatnonzero(altitude > starts.altitude + 0.5)
        self._down = np.flatnonzero(altitude < starts.altitude - 0.5)
        up, down = self._up, self._down
        begin_mach, end_mach = starts.mach, starts.mach.copy()
        self._up_cells = climb.cut(starts.profile[up], starts.altitude[up], altitude[up])
        self._up_wind = wind(self._up_cells.altitude, up)
        self._up_part: Part | None = None
        rising = mine.take(up)
        end_mach[up] = scheduled_mach(rising.climb_cas, rising.climb_mach, altitude[up])
        self._down_part: Part | None = None
        if len(down):
            edges = descent_edges(
                mine.take(down), starts.altitude[down], begin_mach[down], altitude[down], DESCENT_CELLS
            )
            self._down_cells = cells_between(air, *edges)
            self._down_wind = wind(self._down_cells.altitude, down)
            end_mach[down] = edges[1][:, -1]
        faster = scheduled_mach(rising.climb_cas, rising.climb_mach, starts.altitude[up])
        aim = begin_mach.copy()
        aim[up] = faster
        self._first = self._speed_change(begin_mach, aim, starts.altitude, wind)
        self._last = self._speed_change(end_mach, mach, altitude, wind)
        self._sweep = 0

    def _speed_change(self, begin: Floats, end: Floats, altitude: Floats, wind: Wind) -> _SpeedChange:
        rows: Indices = np.flatnonzero(begin < end - 1e-6)
        edges = acceleration_edges(altitude[rows], begin[rows], end[rows], SPEED_CELLS)
        cells = cells_between(self._air, *edges)
        return _SpeedChange(rows, cells, wind(cells.altitude, rows))

    def flown_to(self, mass: Floats) -> tuple[Floats, Floats, Floats]:
        """Return fuel kg, time s and distance over the ground m, (n,), of all before ``mass`` kg."""
        last = self._later(mass)
        cost = np.zeros((3, self._count))
        if len(self._up):
            self._up_part = climb_part(
                self._climb,
                self._profile[self._up],
                self._up_cells,
                (mass + last[0])[self._up],
                self._up_part,
            )
            cost[:, self._up] = _sums(self._up_part, self._up_wind)
        if len(self._down) and self._sweep < DESCENT_SWEEPS:
            self._down_part = fly_cells(
                self._craft,
                self._mine.take(self._down),
                self._air,
                self._power.descent,
                self._down_cells,
                (mass + last[0])[self._down],
                self._down_part,
                speedbrake=self._craft.speedbrake,
            )
        if self._down_part is not None:
            cost[:, self._down] = _sums(self._down_part, self._down_wind)
        cost += last + self._earlier(mass + last[0] + or_else(cost[0], 0.0))
        self._sweep += 1
        return cost[0], cost[1], cost[2]

    def _later(self, mass: Floats) -> Floats:
        """Return what speeding up to the cruise takes, (3, n), before ``mass`` kg."""
        return self._speeding(self._last, mass)

    def _earlier(self, mass: Floats) -> Floats:
        """Return what speeding up to the climb takes, (3, n), before ``mass`` kg."""
        return self._speeding(self._first, mass)

    def _speeding(self, change: _SpeedChange, mass: Floats) -> Floats:
        cost = np.zeros((3, self._count))
        rows = change.rows
        if not len(rows):
            return cost
        end = mass[rows]
        if change.sums is None or change.mass is None:
            part = fly_cells(
                self._craft, self._mine.take(rows), self._air, self._power.climb, change.cells, end
            )
            change.sums, change.mass = np.array(_sums(part, change.wind)), end
        # What is sped up is the mass: the drag that changes with it is a small part of the push.
        cost[:, rows] = change.sums * (end / change.mass)
        return cost


def _sums(part: Part, wind: tuple[Floats, Floats]) -> tuple[Floats, Floats, Floats]:
    return part.burnt, part.time.sum(axis=1), over_ground(part, wind)
