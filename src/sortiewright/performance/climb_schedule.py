"""Climb and descent as pilots fly them: level speed changes, constant CAS then Mach, dives and zooms."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import (
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    cas_from_mach,
    impact_pressure,
    mach_from_cas,
    pressure_altitude,
    standard_air,
)
from sortiewright.pack import Pack
from sortiewright.performance.climb_path import (
    FlownPath,
    fly_bend,
    fly_line,
    fly_slant,
    joined_paths,
    standing_path,
)
from sortiewright.performance.level_flight import FlightCases, FlightSetup, power_setting

Floats = NDArray[np.float64]

CELL_HEIGHT = 500.0  # m of climb a cell of quadrature; half of it changes time by about 0.1 %
LEAST_CELLS = 4
SPEED_CELLS = 12
BEND_CELLS = 6


@dataclass(frozen=True, slots=True)
class SpeedChange:
    """Level acceleration or deceleration to a calibrated airspeed m/s or a Mach number, the lower of both.

    ``only_slower``: a case that is slower already stays as it is.
    """

    power: str
    cas: float | None = None
    mach: float | None = None
    only_slower: bool = False


@dataclass(frozen=True, slots=True)
class SteadySpeed:
    """Climb or descent at constant CAS m/s below, constant Mach above where they cross.

    With one of them only that is held, with neither the Mach number there is. ``to_altitude`` None: to the
    end of the flight. ``no_faster``: never above the Mach number at its start, so that a descent begun slowly
    holds that until the CAS is there.
    """

    power: str
    cas: float | None = None
    mach: float | None = None
    to_altitude: float | None = None
    no_faster: bool = False


@dataclass(frozen=True, slots=True)
class Slant:
    """A straight dive or zoom to an altitude, m, at a path angle, rad without sign."""

    power: str
    to_altitude: float | None
    path_angle: float


@dataclass(frozen=True, slots=True)
class Bend:
    """A pull-up or push-over at a constant load factor to a path angle, rad, climbing positive."""

    power: str
    to_path_angle: float
    load_factor: float


Segment = SpeedChange | SteadySpeed | Slant | Bend


def two_speed_climb(
    power: str, *, cas: float, mach: float | None = None, upper_power: str | None = None
) -> tuple[Segment, ...]:
    """Return the usual climb: level acceleration, constant CAS, and constant Mach from where they cross.

    ``upper_power`` is the setting above the crossing, where it differs.
    """
    start = SpeedChange(power, cas, mach)
    if mach is None or upper_power in (None, power):
        return start, SteadySpeed(power, cas, mach)
    crossing = float(crossover_altitude(cas, mach))
    return start, SteadySpeed(power, cas, None, crossing), SteadySpeed(upper_power or power, None, mach)


def crossover_altitude(cas: ArrayLike, mach: ArrayLike) -> Floats:
    """Return the pressure altitude, m, at which a CAS, m/s, is a Mach number, whatever the temperature.

    Impact pressure fixes CAS, impact over static pressure fixes Mach (NACA Report 837): the static pressure
    at which both agree. Raises ``ValueError`` where it lies outside -2,000 to 32,000 m.
    """
    return np.asarray(pressure_altitude(_crossover_pressure(cas, mach)))


def fly_schedule(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    segments: tuple[Segment, ...],
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    to_altitude: ArrayLike,
    cell_height: float = CELL_HEIGHT,
) -> FlownPath:
    """Return the flight of each case through the segments: climb, or descent where power leaves none over.

    A steady climb begins at the speed it is flown at: put a ``SpeedChange`` before it. From where a segment
    cannot be flown the case is NaN. Turning the path from one segment to the next takes no time, but for what
    a ``Bend`` puts between them.

    Parameters
    ----------
    altitude, mach
        Pressure altitude m and Mach number at the start, a number or (n,).
    to_altitude : m
        Where the flight ends, a number or (n,): no steady segment goes beyond it.
    cell_height : m
        Of one quadrature cell.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.
    ValueError
        For a power setting the pack has not.
    """
    goal = np.broadcast_to(np.asarray(to_altitude, dtype=np.float64), cases.mass.shape)
    flown = standing_path(altitude, mach, cases)
    for segment in segments:
        power_setting(pack, segment.power)
        if isinstance(segment, SpeedChange):
            flown = _change_speed(pack, setup, cases, segment, flown)
        elif isinstance(segment, Bend):
            bend = fly_bend(
                pack,
                setup,
                cases,
                segment.power,
                flown,
                to_path_angle=segment.to_path_angle,
                load_factor=segment.load_factor,
                cells=BEND_CELLS,
            )
            flown = flown.then(bend)
        elif isinstance(segment, Slant):
            end = goal if segment.to_altitude is None else np.full(goal.shape, segment.to_altitude)
            flown = _slant(pack, setup, cases, segment, flown, end, cell_height)
        else:
            flown = _hold_speed(pack, setup, cases, segment, flown, goal, cell_height)
    return flown


def _change_speed(
    pack: Pack, setup: FlightSetup, cases: FlightCases, segment: SpeedChange, flown: FlownPath
) -> FlownPath:
    altitude, begin = flown.pressure_altitude[:, -1:], flown.mach[:, -1:]
    end = _schedule_mach(segment.cas, segment.mach, altitude, begin)
    if segment.only_slower:
        end = np.fmin(end, begin)
    safe = np.where(np.isfinite(begin), begin, end)

    def line(shares: Floats) -> tuple[Floats, Floats]:
        return altitude + 0.0 * shares, safe + (end - safe) * shares

    return flown.then(fly_line(pack, setup, cases, segment.power, line, flown.mass[:, -1], cells=SPEED_CELLS))


def _hold_speed(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    segment: SteadySpeed,
    flown: FlownPath,
    goal: Floats,
    cell_height: float,
) -> FlownPath:
    begin, held = flown.pressure_altitude[:, -1], flown.mach[:, -1:]
    top = _most_mach(segment, held)
    end = goal if segment.to_altitude is None else _between(segment.to_altitude, begin, goal)
    stops = [begin, end]
    if segment.cas is not None and top is not None:
        stops.insert(1, _crossing(segment.cas, top[:, 0], begin, end))
    paths = [flown]
    for low, high in pairwise(stops):

        def line(shares: Floats, low: Floats = low, high: Floats = high) -> tuple[Floats, Floats]:
            altitude = low[:, None] + (high - low)[:, None] * shares
            return altitude, _schedule_mach(segment.cas, top, altitude, held)

        cells = _cell_count(low, high, cell_height)
        mass = paths[-1].mass[:, -1]
        paths.append(fly_line(pack, setup, cases, segment.power, line, mass, cells=cells))
    return joined_paths(paths)


def _slant(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    segment: Slant,
    flown: FlownPath,
    end: Floats,
    cell_height: float,
) -> FlownPath:
    cells = _cell_count(flown.pressure_altitude[:, -1], end, cell_height)
    return flown.then(
        fly_slant(
            pack,
            setup,
            cases,
            segment.power,
            flown,
            to_altitude=end,
            path_angle=segment.path_angle,
            cells=cells,
        )
    )


def _most_mach(segment: SteadySpeed, held: Floats) -> Floats | None:
    """Return the Mach number of the upper part, (n, 1)."""
    if segment.mach is None:
        return held if segment.no_faster else None
    top = np.full(held.shape, segment.mach)
    return np.fmin(top, held) if segment.no_faster else top


def _schedule_mach(cas: float | None, mach: float | Floats | None, altitude: Floats, held: Floats) -> Floats:
    if cas is None:
        return np.broadcast_to(held if mach is None else mach + 0.0 * held, altitude.shape)
    number = mach_from_cas(cas, standard_air(altitude).pressure)
    return number if mach is None else np.minimum(number, mach)


def _crossover_pressure(cas: ArrayLike, mach: ArrayLike) -> Floats:
    felt = impact_pressure(np.asarray(cas) / SEA_LEVEL_SPEED_OF_SOUND, SEA_LEVEL_PRESSURE)
    return np.asarray(felt / impact_pressure(mach, 1.0))


def _crossing(cas: float, mach: Floats, begin: Floats, end: Floats) -> Floats:
    """Return where CAS and Mach cross, or the end of the climb that is nearest to it."""
    high, low = (standard_air(edge(begin, end)).pressure for edge in (np.minimum, np.maximum))
    return _between(pressure_altitude(np.clip(_crossover_pressure(cas, mach), low, high)), begin, end)


def _between(altitude: ArrayLike, begin: Floats, end: Floats) -> Floats:
    return np.clip(altitude, np.minimum(begin, end), np.maximum(begin, end))


def _cell_count(low: Floats, high: Floats, cell_height: float) -> int:
    return max(LEAST_CELLS, int(np.ceil(np.nan_to_num(np.abs(high - low)).max(initial=0.0) / cell_height)))


def schedule_cas(path: FlownPath) -> Floats:
    """Return the calibrated airspeed along a path, m/s, (n, k)."""
    return cas_from_mach(path.mach, standard_air(path.pressure_altitude).pressure)
