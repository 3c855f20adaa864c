"""A flight along a known path of height and Mach number: time, fuel and distance by quadrature.

Energy height E = z + V^2/(2 g) is known all along such a path, and excess power is its rate: dt = dE/P_s. So
climb, level acceleration, descent and deceleration are one integral, with no stepping in time. Mass and path
angle act back weakly; a few sweeps settle both. On a slanted path at a fixed angle the speed is found too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY, speed_of_sound, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightPoint,
    FlightSetup,
    energy_height,
    flight_point,
    height_of,
)

Floats = NDArray[np.float64]

Line = Callable[[Floats], tuple[Floats, Floats]]
"""Pressure altitude m and Mach number, (n, k), at shares (k,) of the way from 0 to 1."""

SWEEPS = 3  # mass changes by a few percent along a path and acts on drag due to lift: each leaves a hundredth
SLANT_SWEEPS = 5
BEND_SWEEPS = 6
_GAUSS = np.array([0.5 - 0.5 / 3.0**0.5, 0.5 + 0.5 / 3.0**0.5])  # two nodes a cell, fourth order
_STEP = 1e-4  # of the path, for the slope of energy height along it


@dataclass(frozen=True, slots=True)
class FlownPath:
    """States along a path, each (n, k): the first column is the start, where time, fuel and distance are 0.

    Pressure altitude and distance through the air in m, speeds m/s, path angle rad, fuel and mass kg. From
    where it cannot be flown (excess power of the wrong sign, or no lift), all but the path is NaN.
    """

    pressure_altitude: Floats
    mach: Floats
    tas: Floats
    time: Floats
    fuel: Floats
    air_distance: Floats
    mass: Floats
    path_angle: Floats

    @property
    def reached(self) -> NDArray[np.bool_]:
        """Whether each case came to its end, (n,)."""
        return np.asarray(np.isfinite(self.time[:, -1]))

    def ground_distance(self, headwind: ArrayLike) -> Floats:
        """Return the distance over the ground, m, (n, k).

        ``headwind`` m/s is a number, (n, 1), or (n, k) at the states of the path, straight between them.
        """
        wind = np.broadcast_to(np.asarray(headwind, dtype=np.float64), self.time.shape)
        drift = 0.5 * (wind[:, 1:] + wind[:, :-1]) * np.diff(self.time, axis=1)
        return self.air_distance - np.pad(np.cumsum(drift, axis=1), ((0, 0), (1, 0)))

    def then(self, later: FlownPath) -> FlownPath:
        """Return this path with another, begun where it ends, behind it."""
        running = ("time", "fuel", "air_distance")
        parts: dict[str, Floats] = {}
        for field in fields(self):
            mine, its = getattr(self, field.name), getattr(later, field.name)
            if field.name in running:
                its = its + mine[:, -1:]
            parts[field.name] = np.concatenate([mine, its[:, 1:]], axis=1)
        return FlownPath(**parts)


def standing_path(pressure_altitude: ArrayLike, mach: ArrayLike, cases: FlightCases) -> FlownPath:
    """Return a path of one state: where a flight begins."""
    height, number = (
        np.broadcast_to(np.asarray(one, dtype=np.float64), cases.mass.shape)[:, None]
        for one in (pressure_altitude, mach)
    )
    zero = np.zeros(height.shape)
    return FlownPath(height, number, _tas(height, number, cases), zero, zero, zero, cases.mass[:, None], zero)


def joined_paths(paths: Sequence[FlownPath]) -> FlownPath:
    """Return paths flown one after another as one."""
    whole = paths[0]
    for path in paths[1:]:
        whole = whole.then(path)
    return whole


def fly_line(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    line: Line,
    mass: Floats,
    *,
    cells: int,
    sweeps: int = SWEEPS,
) -> FlownPath:
    """Return the flight along ``line`` from ``mass`` kg, (n,), in ``cells`` cells of equal share.

    Raises ``OutsideTable`` where a table does not reach. The path bends as it must with no time lost in
    turning it: lift is that of a straight path at each point's own angle.
    """
    edges = np.linspace(0.0, 1.0, cells + 1)
    width = 1.0 / cells
    nodes = (edges[:-1, None] + width * _GAUSS).ravel()
    altitude, mach = line(nodes)
    ahead, behind = nodes + _STEP * width, nodes - _STEP * width
    slopes = [
        (a - b) / (2.0 * _STEP * width)
        for a, b in zip(_z_and_e(line, ahead, cases), _z_and_e(line, behind, cases), strict=True)
    ]
    climbing, gaining = slopes
    tas = _tas(altitude, mach, cases)
    burnt, sine, cosine = np.zeros(tas.shape), np.zeros(tas.shape), np.ones(tas.shape)
    start = mass[:, None]
    slowness, flow = burnt, burnt
    for _ in range(sweeps):
        point = _point(pack, setup, cases, power, start - burnt, altitude, mach, cosine)
        slowness, sine = _slowness(gaining, climbing, point, tas)
        flow = point.fuel_flow
        cosine = np.sqrt(1.0 - np.minimum(sine**2, 1.0))
        burnt = _at_nodes(_cells(slowness * flow, width))
    time, fuel, distance = (
        _running(_cells(part, width)) for part in (slowness, slowness * flow, slowness * tas * cosine)
    )
    height, number = line(edges)
    return FlownPath(
        height,
        number,
        _tas(height, number, cases),
        time,
        fuel,
        distance,
        start - fuel,
        _at_edges(np.arcsin(np.clip(sine, -1.0, 1.0))),
    )


def fly_slant(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    start: FlownPath,
    *,
    to_altitude: Floats,
    path_angle: float,
    cells: int,
) -> FlownPath:
    """Return a dive or zoom at a fixed path angle from the end of ``start``; the speed is what comes of it.

    ``path_angle`` rad, steepness without sign; ``to_altitude`` m, (n,), above or below. dE/dz = P_s/(V sin).
    """
    low, mass = start.pressure_altitude[:, -1:], start.mass[:, -1:]
    way = to_altitude[:, None] - low
    edges = np.linspace(0.0, 1.0, cells + 1)
    nodes = (edges[:-1, None] + _GAUSS / cells).ravel()
    at_edges, at_nodes = low + way * edges, low + way * nodes
    warm = cases.isa_deviation[:, None]
    z_edges, z_nodes = height_of(at_edges, warm), height_of(at_nodes, warm)
    rise = np.diff(z_edges, axis=1)
    sine = np.sin(path_angle) * np.where(way < 0.0, -1.0, 1.0)
    cosine = np.full(at_nodes.shape, np.cos(path_angle))
    sound_nodes, sound_edges = _sound(at_nodes, cases), _sound(at_edges, cases)
    first = energy_height(z_edges[:, :1], start.tas[:, -1:])
    gained, burnt = np.zeros(at_edges.shape), np.zeros(at_nodes.shape)
    tas = slowness = flow = burnt
    for _ in range(SLANT_SWEEPS):
        tas = _speed(first + _at_nodes(np.diff(gained, axis=1)), z_nodes)
        lost = np.isnan(tas)
        mach = np.where(lost, 0.5, tas / sound_nodes)
        point = _point(pack, setup, cases, power, mass - burnt, at_nodes, mach, cosine)
        slowness = np.where(lost, np.nan, 1.0 / (tas * sine))  # s a metre of height
        flow = point.fuel_flow
        gained = _running(_over(slowness * point.energy_rate, rise))
        burnt = _at_nodes(_over(slowness * flow, rise))
    fuel = _running(_over(slowness * flow, rise))
    speed = _speed(first + gained, z_edges)
    return FlownPath(
        at_edges,
        speed / sound_edges,
        speed,
        _running(_over(slowness, rise)),
        fuel,
        _running(_over(slowness * tas * cosine, rise)),
        mass - fuel,
        np.arcsin(sine) + 0.0 * at_edges,
    )


def fly_bend(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    start: FlownPath,
    *,
    to_path_angle: float,
    load_factor: float,
    cells: int,
) -> FlownPath:
    """Return a pull-up or push-over at a constant load factor from the end of ``start`` to a path angle, rad.

    Angle is the variable: d(angle)/dt = g (n - cos)/V. NaN where the load factor bends the path the
    other way.
    """
    first, last = start.path_angle[:, -1:], np.full((cases.count, 1), to_path_angle)
    width = (last - first) / cells
    edges = first + (last - first) * np.linspace(0.0, 1.0, cells + 1)
    angle = (edges[:, :-1, None] + width[:, :, None] * _GAUSS).reshape(cases.count, -1)
    warm = cases.isa_deviation[:, None]
    low, mass = start.pressure_altitude[:, -1:], start.mass[:, -1:]
    energy = energy_height(height_of(low, warm), start.tas[:, -1:])
    turning = STANDARD_GRAVITY * (load_factor - np.cos(angle))
    turning = np.where(turning * (last - first) > 0.0, turning, np.nan)
    altitude, tas, burnt = low + 0.0 * angle, start.tas[:, -1:] + 0.0 * angle, 0.0 * angle
    load = np.full(angle.shape, load_factor)
    parts: list[Floats] = []
    for _ in range(BEND_SWEEPS):
        lost = ~(np.isfinite(tas) & np.isfinite(altitude))
        altitude = np.where(lost, low, altitude)
        mach = np.where(lost, 0.5, tas / _sound(altitude, cases))
        point = _point(pack, setup, cases, power, mass - burnt, altitude, mach, load)
        slowness = np.where(lost, np.nan, tas / turning)  # s a radian
        cooler = standard_air(altitude).temperature / standard_air(altitude, warm).temperature
        rising = slowness * tas * np.sin(angle)
        rates = (
            slowness,
            slowness * point.fuel_flow,
            slowness * tas * np.cos(angle),
            rising * cooler,
            slowness * point.energy_rate,
        )
        parts = [_over(rate, width) for rate in rates]
        altitude = low + _at_nodes(parts[3])
        tas = _speed(energy + _at_nodes(parts[4]), height_of(np.nan_to_num(altitude), warm))
        burnt = _at_nodes(parts[1])
    time, fuel, distance, gain, gained = (_running(part) for part in parts)
    height = low + gain
    safe = np.where(np.isfinite(height), height, low)
    speed = np.where(np.isfinite(height), _speed(energy + gained, height_of(safe, warm)), np.nan)
    return FlownPath(height, speed / _sound(safe, cases), speed, time, fuel, distance, mass - fuel, edges)


def _point(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    mass: Floats,
    altitude: Floats,
    mach: Floats,
    cosine: Floats,
) -> FlightPoint:
    return flight_point(
        pack, setup, cases, power, mass=mass, pressure_altitude=altitude, mach=mach, load_factor=cosine
    )


def _slowness(gaining: Floats, climbing: Floats, point: FlightPoint, tas: Floats) -> tuple[Floats, Floats]:
    """Return dt over share of path, and the sine of the path angle.

    Time must pass: NaN where energy would have to change against the excess power. No way costs no time.
    """
    still = gaining == 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        slowness = np.where(still, 0.0, gaining / point.energy_rate)
        passes = (slowness > 0.0) & np.isfinite(slowness)
        slowness = np.where(passes | still, slowness, np.nan)
        sine = np.where(passes, climbing / (slowness * tas), 0.0)
    return slowness, sine


def _cells(rate: Floats, width: float) -> Floats:
    """Return the integral over each cell of a rate given at its two nodes."""
    return 0.5 * width * (rate[:, 0::2] + rate[:, 1::2])


def _over(rate: Floats, rise: Floats) -> Floats:
    return 0.5 * rise * (rate[:, 0::2] + rate[:, 1::2])


def _running(cells: Floats) -> Floats:
    return np.pad(np.cumsum(cells, axis=1), ((0, 0), (1, 0)))


def _at_nodes(cells: Floats) -> Floats:
    """Return the running integral at the nodes, straight inside each cell."""
    before = _running(cells)[:, :-1]
    both = before[:, :, None] + cells[:, :, None] * _GAUSS
    return both.reshape(len(cells), -1)


def _at_edges(nodes: Floats) -> Floats:
    """Return values at the edges of the cells from those at their nodes, straight between and beyond."""
    before, after = nodes[:, 0::2], nodes[:, 1::2]
    part = _GAUSS[0] / (_GAUSS[1] - _GAUSS[0])
    inner = 0.5 * (after[:, :-1] + before[:, 1:])
    first = before[:, :1] - part * (after[:, :1] - before[:, :1])
    last = after[:, -1:] + part * (after[:, -1:] - before[:, -1:])
    return np.concatenate([first, inner, last], axis=1)


def _z_and_e(line: Line, shares: Floats, cases: FlightCases) -> tuple[Floats, Floats]:
    altitude, mach = line(shares)
    z = height_of(altitude, cases.isa_deviation[:, None])
    return z, energy_height(z, _tas(altitude, mach, cases))


def _sound(altitude: Floats, cases: FlightCases) -> Floats:
    return speed_of_sound(standard_air(altitude, cases.isa_deviation[:, None]).temperature)


def _tas(altitude: Floats, mach: Floats, cases: FlightCases) -> Floats:
    return mach * _sound(altitude, cases)


def _speed(energy: Floats, z: Floats) -> Floats:
    """Return the true airspeed that energy height leaves at a height; NaN where none is left."""
    square = 2.0 * STANDARD_GRAVITY * (energy - z)
    return np.sqrt(np.where(square > 0.0, square, np.nan))
