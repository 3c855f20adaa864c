"""The V-n diagram: what load factor each speed gives, what is allowed, and the corner between the two."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import cas_from_mach, eas_from_tas, mach_from_cas, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.interpolation import false_position, first_crossing
from sortiewright.performance.level_flight import FlightCases, FlightSetup
from sortiewright.performance.limited_turns import turn_or_none
from sortiewright.performance.turn import LevelTurn
from sortiewright.performance.turn_limits import (
    ManoeuvreLimits,
    greatest_lift,
    is_too_fast,
    lift_load_factor,
    mach_ends,
    manoeuvre_limits,
)

Floats = NDArray[np.float64]

MACH_STEP = 0.02  # of the first look for a speed
CORNER_ITERATIONS = 6
DIAGRAM_POINTS = 60


@dataclass(frozen=True, slots=True)
class CornerSpeed:
    """The lowest speed at which the wing gives a load factor, m/s, (n,), and the level turn there.

    At the limit load factor it is the quickest level turn at that height, unless the greatest lift falls
    steeply with Mach number just there, and the tightest too where it does not fall at all. NaN where the
    lift tables or the speed limit end before the wing gives it.
    """

    mach: Floats
    tas: Floats
    cas: Floats
    eas: Floats
    turn: LevelTurn


@dataclass(frozen=True, slots=True)
class LoadFactorEnvelope:
    """Load factor against speed at one pressure altitude, at the mass of each case: rows (n, k), limits (n,).

    ``stall`` and ``negative_stall`` g are what the wing alone gives at ``mach`` and ``cas`` m/s, NaN for the
    latter where the pack has no ``minimum_lift``; ``top`` and ``bottom`` are held inside the limits. ``mach``
    ends at ``end_mach``: the speed limit, or the end of the lift tables where ``is_at_limit`` is false.
    """

    altitude: Floats
    mach: Floats
    cas: Floats
    stall: Floats
    negative_stall: Floats
    top: Floats
    bottom: Floats
    stall_mach: Floats
    stall_cas: Floats
    end_mach: Floats
    end_cas: Floats
    is_at_limit: NDArray[np.bool_]
    corner: CornerSpeed
    limits: ManoeuvreLimits


def corner_speed(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: ArrayLike,
    stores: Collection[str] = (),
) -> CornerSpeed:
    """Return the speed at which the stall line meets the load factor limit, at a pressure altitude (n,), m.

    V = sqrt(2 n W/(rho S CLmax(M))) with CLmax at that speed's own Mach number, found as the first crossing
    over Mach. Raises ``OutsideTable`` for a mass that the load factor limits do not reach.
    """
    limits = manoeuvre_limits(pack, setup, cases, stores)
    height = np.broadcast_to(np.asarray(altitude, dtype=np.float64), (cases.count,))
    mach = mach_at_load_factor(pack, setup, cases, limits.positive[:, None], height)[:, 0]
    mach = np.where(is_too_fast(limits, height, mach), np.nan, mach)
    return _corner(cases, height, mach, limits.positive)


def load_factor_envelope(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: ArrayLike,
    stores: Collection[str] = (),
    points: int = DIAGRAM_POINTS,
) -> LoadFactorEnvelope:
    """Return the V-n diagram at a pressure altitude (n,), m, with the limits of what hangs.

    Raises ``OutsideTable`` for a mass that the load factor limits do not reach.
    """
    limits = manoeuvre_limits(pack, setup, cases, stores)
    height = np.broadcast_to(np.asarray(altitude, dtype=np.float64), (cases.count,))
    pressure = np.asarray(standard_air(height).pressure)
    ends, is_at_limit = end_of_speed(setup, limits, pressure)
    wanted = np.stack([np.ones(cases.count), limits.positive], axis=1)
    knees = mach_at_load_factor(pack, setup, cases, wanted, height)
    below = _negative_knee(pack, setup, cases, limits, height)
    knees = np.where(knees <= ends[:, None], knees, np.nan)
    low = mach_ends(setup)[0]
    even = low + (ends - low)[:, None] * np.linspace(0.0, 1.0, points)
    # The bends themselves are points of the diagram, or its corners would be cut.
    bends = np.column_stack([knees, np.where(below <= ends, below, np.nan)])
    mach = np.sort(np.column_stack([even, np.where(np.isfinite(bends), bends, ends[:, None])]), axis=1)
    level = np.broadcast_to(height[:, None], mach.shape)
    coefficient = greatest_lift(pack, setup, mach).coefficient
    stall = lift_load_factor(pack, cases, coefficient, pressure_altitude=level, mach=mach)
    least = setup.configuration.minimum_lift
    negative = np.full(mach.shape, np.nan)
    if least is not None:
        reaches = (mach >= least.axes[0][0]) & (mach <= least.axes[0][-1])
        lift = np.where(reaches, least(np.clip(mach, *least.range_of("mach"))), np.nan)
        negative = lift_load_factor(pack, cases, lift, pressure_altitude=level, mach=mach)
    cas = np.asarray(cas_from_mach(mach, pressure[:, None]))
    return LoadFactorEnvelope(
        height,
        mach,
        cas,
        stall,
        negative,
        np.minimum(stall, limits.positive[:, None]),
        np.maximum(negative, limits.negative[:, None]),
        knees[:, 0],
        np.asarray(cas_from_mach(knees[:, 0], pressure)),
        ends,
        np.asarray(cas_from_mach(ends, pressure)),
        is_at_limit,
        _corner(cases, height, knees[:, 1], limits.positive),
        limits,
    )


def mach_at_load_factor(
    pack: Pack, setup: FlightSetup, cases: FlightCases, load_factor: Floats, altitude: Floats
) -> Floats:
    """Return the lowest Mach number at which the wing gives each load factor (n, k) at altitude (n,), m.

    NaN where it does not within the lift tables, or gives it at their lowest Mach number already.
    """
    low, high = mach_ends(setup)
    speeds = np.append(np.arange(low, high - 1e-9, MACH_STEP), high)
    coefficient = greatest_lift(pack, setup, speeds).coefficient
    rows = np.broadcast_to(coefficient, (cases.count, len(speeds)))
    given = lift_load_factor(pack, cases, rows, pressure_altitude=altitude[:, None], mach=speeds[None, :])
    count = load_factor.shape[1]
    over = (given[:, None, :] - load_factor[:, :, None]).reshape(-1, len(speeds))
    cell, some = first_crossing(over)
    # A limit that nobody gives is infinite and never reached: any number stands in for it here.
    wanted = np.where(np.isfinite(load_factor), load_factor, 1.0).reshape(-1)
    height = np.repeat(altitude, count)
    each = cases.take(np.repeat(np.arange(cases.count, dtype=np.intp), count))

    def excess(mach: Floats) -> Floats:
        lift = greatest_lift(pack, setup, mach).coefficient
        return lift_load_factor(pack, each, lift, pressure_altitude=height, mach=mach) - wanted

    root = false_position(excess, speeds[cell], speeds[cell + 1], CORNER_ITERATIONS)
    return np.where(some, root, np.nan).reshape(load_factor.shape)


def end_of_speed(
    setup: FlightSetup, limits: ManoeuvreLimits, pressure: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the highest Mach number allowed at each pressure, Pa, and whether a limit is what ends it.

    Where it is not, the lift and drag tables are.
    """
    table_end = mach_ends(setup)[1]
    limit = np.full(pressure.shape, limits.maximum_mach)
    if np.isfinite(limits.maximum_cas):
        limit = np.minimum(limit, mach_from_cas(limits.maximum_cas, pressure))
    return np.minimum(limit, table_end), np.asarray(limit <= table_end)


def _negative_knee(
    pack: Pack, setup: FlightSetup, cases: FlightCases, limits: ManoeuvreLimits, altitude: Floats
) -> Floats:
    """Return the Mach number, (n,), at which the negative stall line meets the negative limit."""
    least = setup.configuration.minimum_lift
    if least is None:
        return np.full(cases.count, np.nan)
    low, high = least.range_of("mach")
    speeds = np.append(np.arange(low, high - 1e-9, MACH_STEP), high)
    rows = np.broadcast_to(-least(speeds), (cases.count, len(speeds)))
    given = lift_load_factor(pack, cases, rows, pressure_altitude=altitude[:, None], mach=speeds[None, :])
    with np.errstate(invalid="ignore"):
        over = given + limits.negative[:, None]
    cell, some = first_crossing(over)
    row: NDArray[np.intp] = np.arange(cases.count, dtype=np.intp)
    first, last = over[row, cell], over[row, cell + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        part = -first / (last - first)
    # Straight inside a cell: drawn only, and a hundredth of a g at the most.
    return np.where(some, speeds[cell] + part * (speeds[cell + 1] - speeds[cell]), np.nan)


def _corner(cases: FlightCases, altitude: Floats, mach: Floats, load_factor: Floats) -> CornerSpeed:
    air = standard_air(altitude, cases.isa_deviation)
    tas = mach * air.speed_of_sound
    cas = np.asarray(cas_from_mach(mach, air.pressure))
    is_turn = np.isfinite(mach) & np.isfinite(load_factor) & (load_factor >= 1.0)
    turn = turn_or_none(tas, np.where(is_turn, load_factor, np.nan))
    return CornerSpeed(mach, tas, cas, eas_from_tas(tas, air.density), turn)
