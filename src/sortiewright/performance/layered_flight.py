"""A change of height or speed through air that changes with height: time, fuel and ground it takes.

As in ``climb_path`` energy height is known along the way, and excess power is its rate. Here each node has
its own temperature and wind, so that a climb through layers needs no mean of them, and many paths are flown
at once: the nodes of all that share a power setting are one batch. One call is one sweep; mass and path angle
act back weakly, so a caller sweeps until the masses at the starts have settled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from math import isfinite
from operator import is_

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import (
    GAS_CONSTANT_AIR,
    HEAT_CAPACITY_RATIO,
    STANDARD_GRAVITY,
    WindsAloft,
    mach_from_cas,
    standard_pressure,
    standard_temperature,
)
from sortiewright.pack import AxisPoints, Pack
from sortiewright.performance.flight_state import (
    Engines,
    FlightCases,
    FlightSetup,
    FlightState,
    flight_state,
    lift_lines,
)
from sortiewright.performance.forces import Devices, fuel_flow_per_engine, thrust_per_engine
from sortiewright.performance.level_flight import point_at, power_setting

Floats = NDArray[np.float64]

CELL_HEIGHT = 1_000.0
"""m. Half of it changes time, fuel and way of a descent by under 0.01 %, those of a climb by under 0.1 %
where the tables are smooth, and by up to 0.2 % where they bend inside a cell, as the shipped jet's do."""
SPEED_CELLS = 5
_GAUSS = np.array([0.5 - 0.5 / 3.0**0.5, 0.5 + 0.5 / 3.0**0.5])  # two nodes a cell, fourth order


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a path: between two pressure altitudes, m, at a CAS m/s but no faster than ``mach``, or along
    a straight line of Mach numbers."""

    from_altitude: float
    to_altitude: float
    cas: float | None = None
    mach: float | None = None
    mach_line: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class LayeredPath:
    """Where a path goes and through which air: edges of its cells (k + 1,) and nodes inside them (2 k,).

    ``gaining`` and ``climbing`` are the changes of energy height and height a node stands for, m. Winds m/s.
    """

    power: str
    speedbrake: float
    altitude: Floats
    mach: Floats
    tas: Floats
    node_altitude: Floats
    node_mach: Floats
    node_tas: Floats
    gaining: Floats
    climbing: Floats
    headwind: Floats
    crosswind: Floats
    isa_deviation: Floats


@dataclass(frozen=True, slots=True)
class LayeredFlight:
    """A path as flown, from its start: (k + 1,) at the edges of its cells, NaN from where it cannot be flown.

    Time s, fuel kg, distances m; ``ground_distance`` is along the course. ``burnt`` and ``cosine`` at the
    nodes go into the next sweep.
    """

    time: Floats
    fuel: Floats
    air_distance: Floats
    ground_distance: Floats
    burnt: Floats
    cosine: Floats
    cells_flown: int
    """How many cells can be flown before the first that cannot."""

    @property
    def is_whole(self) -> bool:
        """Whether it can be flown to its end."""
        return self.cells_flown == len(self.time) - 1


def layered_path(
    stretches: Sequence[Stretch],
    winds: WindsAloft,
    course_deg: float | None,
    power: str,
    speedbrake: float = 0.0,
    cell_height: float = CELL_HEIGHT,
) -> LayeredPath:
    """Return the path through the stretches, each beginning where the one before ends.

    ``course_deg`` None: round and round over one point, where wind does not count.
    Raises ``WindsMissing`` above the winds.
    """
    altitudes, machs = zip(*(_points(stretch, cell_height) for stretch in stretches), strict=True)
    # Of each cell: its first edge, first node, middle, second node; the last edge of all at the end.
    altitude, mach = _joined(altitudes), _joined(machs)
    warm = winds.isa_deviation(altitude)
    standard = standard_temperature(altitude)
    actual = standard + warm
    tas = mach * np.sqrt(HEAT_CAPACITY_RATIO * GAS_CONSTANT_AIR * actual)
    kinetic = tas * tas / (2.0 * STANDARD_GRAVITY)
    low, middle, high = kinetic[:-1:4], kinetic[2::4], kinetic[4::4]
    # Through three points a parabola: its slope at the nodes. Height over pressure altitude is T over T
    # standard (hydrostatic balance).
    half, curve = 0.5 * (high - low), (high - 2.0 * middle + low) / 3.0**0.5
    edges = altitude[::4]
    rise = 0.5 * (edges[1:] - edges[:-1])
    at = _node_places(len(rise))
    climbing = rise.repeat(2) * (actual / standard)[at]
    gained = np.empty(2 * len(rise))
    gained[0::2], gained[1::2] = half - curve, half + curve
    headwind, crosswind = winds.along(course_deg or 0.0, altitude[at])
    if course_deg is None:
        headwind = crosswind = np.zeros(len(at))
    return LayeredPath(
        power,
        speedbrake,
        edges,
        mach[::4],
        tas[::4],
        altitude[at],
        mach[at],
        tas[at],
        climbing + gained,
        climbing,
        headwind,
        crosswind,
        warm[at],
    )


@dataclass(frozen=True, slots=True)
class LayeredBatch:
    """Paths that are flown together, with all of their flight that mass does not change.

    Arrays are over the nodes of all paths, (n,), in the order of ``order``: the paths by power setting.
    """

    paths: tuple[LayeredPath, ...]
    order: tuple[int, ...]
    counts: tuple[int, ...]
    at: FlightState
    engines: Engines
    lines: Floats
    isa_deviation: Floats
    headwind: Floats
    crosswind: Floats
    gaining: Floats
    climbing: Floats

    def is_of(self, paths: Sequence[LayeredPath]) -> bool:
        """Whether it is made of these very paths."""
        return len(paths) == len(self.paths) and all(map(is_, paths, self.paths))


def layered_batch(pack: Pack, setup: FlightSetup, paths: Sequence[LayeredPath]) -> LayeredBatch:
    """Return the paths made ready to be flown, sweep after sweep, by ``fly_batch``.

    ``setup`` but for the speedbrake, which is the path's. Raises ``OutsideTable`` where a table of the pack
    does not reach.
    """
    order = tuple(sorted(range(len(paths)), key=lambda number: paths[number].power))
    sorted_paths = [paths[number] for number in order]
    counts = [len(path.node_mach) for path in sorted_paths]

    def together(name: str) -> Floats:
        return np.concatenate([getattr(path, name) for path in sorted_paths])

    brakes = [path.speedbrake for path in sorted_paths]
    out = np.repeat(brakes, counts) if any(brakes) else 0.0
    set_so = FlightSetup(setup.configuration, Devices(setup.devices.gear, out), setup.failed_engines)
    warm, altitude, mach = together("isa_deviation"), together("node_altitude"), together("node_mach")
    ones = np.ones(len(warm))
    cases = FlightCases(ones, ones, warm, ones, ones, ones, ones)
    at = flight_state(pack, set_so, cases, altitude, mach, ones)
    thrust, flow = np.empty(len(warm)), np.empty(len(warm))
    live, first = pack.engine.count - setup.failed_engines, 0
    for power, members in groupby(range(len(order)), key=lambda place: sorted_paths[place].power):
        part = slice(first, first := first + sum(counts[place] for place in members))
        where = AxisPoints(mach[part]), AxisPoints(altitude[part]), AxisPoints(warm[part])
        setting = power_setting(pack, power)
        thrust[part] = live * thrust_per_engine(setting, *where)
        flow[part] = live * fuel_flow_per_engine(setting, *where)
    return LayeredBatch(
        tuple(paths),
        order,
        tuple(counts),
        at,
        (thrust, flow),
        lift_lines(at),
        warm,
        together("headwind"),
        together("crosswind"),
        together("gaining"),
        together("climbing"),
    )


def fly_layered(
    pack: Pack,
    setup: FlightSetup,
    paths: Sequence[LayeredPath],
    mass: Sequence[float],
    drag_index: Sequence[float],
    before: Sequence[LayeredFlight | None],
) -> list[LayeredFlight]:
    """Return one sweep of every path, as ``fly_batch`` of their ``layered_batch``."""
    return fly_batch(layered_batch(pack, setup, paths), mass, drag_index, before)


def fly_batch(
    batch: LayeredBatch,
    mass: Sequence[float],
    drag_index: Sequence[float],
    before: Sequence[LayeredFlight | None],
) -> list[LayeredFlight]:
    """Return one sweep of every path: ``mass`` kg and drag index at their starts, ``before`` the last sweep.

    A pull-up or push-over takes no time. Raises ``OutsideTable`` where a table of the pack does not reach.
    """
    order, counts = batch.order, batch.counts
    count = len(batch.headwind)
    burnt, cosine = np.zeros(count), np.ones(count)
    first = 0
    for number, nodes in zip(order, counts, strict=True):
        last = before[number]
        if last is not None:
            burnt[first : first + nodes], cosine[first : first + nodes] = last.burnt, last.cosine
        first += nodes
    kilograms = np.repeat([mass[number] for number in order], counts) - burnt
    ones = np.ones(count)
    indices = np.repeat([drag_index[number] for number in order], counts)
    cases = FlightCases(kilograms, indices, batch.isa_deviation, batch.headwind, ones, ones, ones)
    tas = batch.at.tas
    point = point_at(batch.at, cases, batch.engines, batch.lines, kilograms, cosine)
    slowness, sine = _slowness(batch.gaining, batch.climbing, point.energy_rate, tas)
    cosine = np.sqrt(1.0 - np.minimum(sine * sine, 1.0))
    level = tas * cosine
    across = batch.crosswind
    ground = np.sqrt(np.maximum(level * level - across * across, 0.0)) - batch.headwind
    rates = np.empty((4, count))
    rates[0] = slowness
    np.multiply(slowness, point.fuel_flow, out=rates[1])
    np.multiply(slowness, level, out=rates[2])
    rates[3] = np.where(ground > 0.0, slowness * ground, np.nan)
    cells = rates[:, 0::2] + rates[:, 1::2]
    found: dict[int, LayeredFlight] = {}
    first = 0
    for number, nodes in zip(order, counts, strict=True):
        mine = cells[:, first // 2 : (first + nodes) // 2]
        found[number] = _run_of(mine, cosine[first : first + nodes])
        first += nodes
    return [found[number] for number in range(len(order))]


def _run_of(cells: Floats, cosine: Floats) -> LayeredFlight:
    """Return one path as flown, of the time, fuel and distances of its cells, (4, k)."""
    flown = cells.shape[1]
    sums = np.zeros((4, flown + 1))
    np.cumsum(cells, axis=1, out=sums[:, 1:])
    burnt = (sums[1, :-1, None] + cells[1][:, None] * _GAUSS).ravel()
    if not isfinite(sums[3, -1]):
        flown = int(np.count_nonzero(np.isfinite(sums[3]))) - 1
        # Where it cannot be flown on, the mass that is left counts: the next sweep looks again.
        burnt = np.nan_to_num(burnt, nan=float(sums[1, flown]))
    time, fuel, air, covered = sums
    return LayeredFlight(time, fuel, air, covered, burnt, cosine, flown)


def _slowness(gaining: Floats, climbing: Floats, rate: Floats, tas: Floats) -> tuple[Floats, Floats]:
    """Return the time each node stands for, s, and the sine of the path angle there; NaN against the rate."""
    with np.errstate(divide="ignore", invalid="ignore"):
        slowness = gaining / rate
        passes = (slowness > 0.0) & np.isfinite(slowness)
        still = gaining == 0.0
        sine = np.where(passes, climbing / (slowness * tas), 0.0)
    return np.where(passes, slowness, np.where(still, 0.0, np.nan)), sine


def _points(stretch: Stretch, cell_height: float) -> tuple[Floats, Floats]:
    rise = stretch.to_altitude - stretch.from_altitude
    cells = max(int(np.ceil(abs(rise) / cell_height)), 2) if rise else SPEED_CELLS
    shares = _shares(cells)
    altitude = stretch.from_altitude + rise * shares
    if stretch.mach_line is not None:
        low, high = stretch.mach_line
        return altitude, low + (high - low) * shares
    if stretch.cas is None:
        return altitude, np.full(len(shares), stretch.mach)
    mach = mach_from_cas(stretch.cas, standard_pressure(altitude))
    return altitude, mach if stretch.mach is None else np.minimum(mach, stretch.mach)


@lru_cache(maxsize=64)
def _shares(cells: int) -> Floats:
    inside = np.array([0.0, _GAUSS[0], 0.5, _GAUSS[1]])
    return np.append((np.arange(cells)[:, None] + inside).ravel(), float(cells)) / cells


@lru_cache(maxsize=64)
def _node_places(cells: int) -> NDArray[np.intp]:
    return (4 * np.arange(cells, dtype=np.intp)[:, None] + np.array([1, 3], dtype=np.intp)).ravel()


def _joined(parts: Sequence[Floats]) -> Floats:
    if len(parts) == 1:
        return parts[0]
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
