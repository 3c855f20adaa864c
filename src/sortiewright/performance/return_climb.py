"""The climb of a way home from a table over height and mass, for many starts and tops at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import Pack
from sortiewright.performance.return_cases import AirAbove, HomePower, HomeProfiles, Indices, scheduled_mach
from sortiewright.performance.return_parts import (
    Cells,
    Craft,
    Part,
    cells_between,
    crossing_altitude,
    forces,
    or_else,
    part_of,
)

Floats = NDArray[np.float64]

CELL_HEIGHT = 400.0  # m
MASSES = 5
LOOK_HEIGHT, LOOK_MASS, CAS_STEPS = 3_000.0, 1.1, 11  # m; of the mass at the fix
LEAST_RATE = (
    300.0 * 0.3048 / 60.0
)  # m/s left in a climb to a level: the cruise ceiling's; common practice, no source


@dataclass(frozen=True, slots=True)
class HeightTable:
    """A schedule up or down through all heights, for each profile (c,).

    ``edges`` m are those of the cells, (c, k + 1). ``push`` is excess power over g, kg m/s, as a polynomial
    of (mass - ``least``)/``span``, (c, k, p); ``flow`` kg/s is the fuel flow there, (c, k).
    """

    edges: Floats
    cells: Cells
    push: Floats
    flow: Floats
    least: Floats
    span: Floats

    def energy_rate(self, profile: Indices, lifted: Floats, mass: Floats) -> Floats:
        """Return specific excess power, m/s, (r, k), where the wing carries ``lifted`` kg of ``mass``."""
        share = (lifted - self.least[profile][:, None]) / self.span[profile][:, None]
        push = self.push[profile]
        total = push[..., -1]
        for column in range(push.shape[-1] - 2, -1, -1):
            total = total * share + push[..., column]
        return total / mass

    def cut(self, profile: Indices, low: Floats, high: Floats) -> Cells:
        """Return the cells of these profiles with what lies between two altitudes, (r,), of each."""
        edges = self.edges[profile]
        width = np.diff(edges, axis=1)
        inside = np.minimum(edges[:, 1:], high[:, None]) - np.maximum(edges[:, :-1], low[:, None])
        share = np.where(width > 0.0, np.maximum(inside, 0.0) / np.maximum(width, 1e-9), 0.0)
        whole = self.cells
        return Cells(
            whole.altitude[profile],
            whole.mach[profile],
            whole.tas[profile],
            whole.gain[profile] * share,
            whole.rise[profile] * share,
        )

    def sums(self, mass: Floats) -> tuple[Floats, Floats, Floats]:
        """Return time s, fuel kg and level air distance m from the lowest edge to each, (c, k + 1), at one
        mass kg of each profile; NaN beyond a height that cannot be passed."""
        rows = np.arange(len(mass), dtype=np.intp)
        weight = mass[:, None] + 0.0 * self.flow
        rate = self.energy_rate(rows, weight, weight)
        part = part_of(self.cells, np.where(np.abs(rate) >= LEAST_RATE, rate, np.nan), self.flow)
        way = part.time * part.level_speed
        return _running(part.time), _running(part.fuel), _running(way)


def height_table(
    craft: Craft,
    profiles: HomeProfiles,
    air: AirAbove,
    power: str,
    schedule: tuple[Floats, Floats],
    between: tuple[float, float],
    *,
    least: Floats,
    span: Floats,
    down: bool = False,
    speedbrake: float = 0.0,
    cell_height: float = CELL_HEIGHT,
    masses: int = MASSES,
) -> HeightTable:
    """Return the table of a schedule (CAS m/s and Mach, (c,)) between two pressure altitudes, m.

    ``down``: flown as a descent; the cells stand in rising order all the same. Excess power is fitted over
    ``masses`` between ``least`` and ``least`` + ``span`` kg by a polynomial. Raises
    ``OutsideTable`` where the tables of the pack end.
    """
    low, high = between
    cas, mach = schedule
    shares, fit = _shares(masses)
    count = max(2, int(np.ceil((high - low) / cell_height)))
    grid = np.tile(np.linspace(low, high, count + 1), (len(cas), 1))
    bend = crossing_altitude(cas, mach, np.full(len(cas), low), np.full(len(cas), high))
    edges = np.sort(np.concatenate([grid, bend[:, None]], axis=1), axis=1)
    cells = cells_between(air, edges, scheduled_mach(cas[:, None], mach[:, None], edges))
    if down:
        cells = replace(cells, gain=-cells.gain, rise=-cells.rise)
    mass = least[:, None, None] + span[:, None, None] * shares
    point = forces(
        craft,
        profiles,
        air,
        power,
        mass=mass,
        altitude=cells.altitude,
        mach=cells.mach,
        speedbrake=speedbrake,
    )
    push = (point.energy_rate * mass) @ fit.T
    return HeightTable(edges, cells, push, point.fuel_flow[..., 0], least, span)


def quickest_climb(pack: Pack, profiles: HomeProfiles, air: AirAbove, power: HomePower) -> HomeProfiles:
    """Return the profiles with engines dead climbing at the CAS that leaves the most excess power.

    A book's climb speed is that of all engines. Looked for from half of it upwards, at the pressure altitude
    ``LOOK_HEIGHT`` above the fix; the others are as they were.
    """
    rows: Indices = np.flatnonzero(profiles.failed > 0)
    if not len(rows):
        return profiles
    mine = profiles.take(rows)
    cas = np.minimum(mine.climb_cas, mine.maximum_cas)[:, None] * np.linspace(0.5, 1.0, CAS_STEPS)
    altitude = (mine.fix_altitude + LOOK_HEIGHT)[:, None] + 0.0 * cas
    mach = scheduled_mach(cas, mine.climb_mach[:, None], altitude)
    mass = LOOK_MASS * mine.mass_at_fix[:, None]
    point = forces(Craft(pack), mine, air, power.climb, mass=mass, altitude=altitude, mach=mach)
    best = np.argmax(np.nan_to_num(point.energy_rate, nan=-np.inf), axis=1)
    chosen = profiles.climb_cas.copy()
    chosen[rows] = cas[np.arange(len(rows)), best]
    return replace(profiles, climb_cas=chosen)


def climb_part(
    table: HeightTable, profile: Indices, cells: Cells, top_mass: Floats, before: Part | None
) -> Part:
    """Return a climb through cells of the table that ends at ``top_mass`` kg, (r,); ``before`` is the sweep
    before this one. NaN where less than the cruise ceiling's rate is left."""
    mass, lifted = top_mass[:, None] + 0.0 * cells.tas, 1.0
    if before is not None:
        after = np.cumsum(before.fuel[:, ::-1], axis=1)[:, ::-1]
        mass = mass + or_else(after - 0.5 * before.fuel, 0.0)
        lifted = or_else(before.level_speed / cells.tas, 1.0)
    rate = table.energy_rate(profile, mass * lifted, mass)
    return part_of(cells, np.where(rate >= LEAST_RATE, rate, np.nan), table.flow[profile])


@lru_cache(maxsize=8)
def _shares(masses: int) -> tuple[Floats, Floats]:
    """Return Chebyshev's points of the range 0 to 1, and what turns values there into a polynomial."""
    shares: Floats = 0.5 - 0.5 * np.cos(np.pi * (np.arange(masses) + 0.5) / masses)
    fit: Floats = np.linalg.inv(np.vander(shares, increasing=True)).astype(np.float64)
    return shares, fit


def _running(cells: Floats) -> Floats:
    sums = np.zeros((len(cells), cells.shape[1] + 1))
    np.cumsum(cells, axis=1, out=sums[:, 1:])
    return sums
