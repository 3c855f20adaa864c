"""What bounds a manoeuvre: load factors of aircraft and stores, speed limits, and the lift of the wing.

Lift here is the wing's alone, without thrust: the definition of the stall line, and on the safe side.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import (
    HEAT_CAPACITY_RATIO,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    STANDARD_GRAVITY,
    impact_pressure,
    standard_pressure,
)
from sortiewright.pack import AxisPoints, OutsideTable, Pack, Table
from sortiewright.performance.level_flight import FlightCases, FlightSetup

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Bound = Floats | float | None

AIRCRAFT = "aircraft"
"""Stands for the pack's own limit where another could be a store's."""


@dataclass(frozen=True, slots=True)
class ManoeuvreLimits:
    """The limits of a batch with what hangs on it: the tightest of each kind, and what sets it.

    Load factors in g, (n,); ``rolling`` is never above ``positive``. Speeds are calibrated, m/s. Where
    nothing limits, a value is infinite and its ``*_by`` empty; otherwise that is "aircraft", "flap", "gear"
    or the name of a store, (n,) for load factors.
    """

    positive: Floats
    rolling: Floats
    negative: Floats
    maximum_cas: float
    maximum_mach: float
    positive_by: NDArray[np.str_]
    rolling_by: NDArray[np.str_]
    negative_by: NDArray[np.str_]
    cas_by: str
    mach_by: str


def manoeuvre_limits(
    pack: Pack, setup: FlightSetup, cases: FlightCases, stores: Collection[str] = ()
) -> ManoeuvreLimits:
    """Return the limits at the mass of each case with these stores of the pack hanging.

    Raises
    ------
    OutsideTable
        For a mass that a load factor table does not reach.
    ValueError
        For a store that the pack has not.
    """
    if unknown := [name for name in stores if name not in pack.stores]:
        known = ", ".join(pack.stores) or "none"
        raise ValueError(f'store "{unknown[0]}" is not in the pack. Known: {known}')
    limits, hung = pack.limits, {name: pack.stores[name] for name in dict.fromkeys(stores)}
    lowest = None if limits.load_factor_negative is None else limits.load_factor_negative.value
    positive: dict[str, Bound] = {AIRCRAFT: _by_mass(limits.load_factor_positive, cases)}
    rolling: dict[str, Bound] = {AIRCRAFT: _by_mass(limits.load_factor_rolling, cases)}
    downwards: dict[str, Bound] = {AIRCRAFT: _negated(lowest)}
    for name, store in hung.items():
        positive[name] = store.maximum_load_factor
        rolling[name] = store.maximum_load_factor_rolling
        downwards[name] = _negated(store.minimum_load_factor)
    most, most_by = _least(positive, cases.count)
    rolled, rolled_by = _least(rolling, cases.count)
    # A rolling limit that nobody gives is not the straight one: it stays not evaluated.
    is_capped = (most < rolled) & np.isfinite(rolled)
    least, least_by = _least(downwards, cases.count)
    cas = {name: store.maximum_cas for name, store in hung.items()}
    mach = {name: store.maximum_mach for name, store in hung.items()}
    fastest, cas_by = _least_number(cas | _speeds_of_aircraft(pack, setup))
    highest, mach_by = _least_number(
        mach | {AIRCRAFT: limits.maximum_mach.value if limits.maximum_mach is not None else None}
    )
    return ManoeuvreLimits(
        most,
        np.where(is_capped, most, rolled),
        -least,
        fastest,
        highest,
        most_by,
        np.where(is_capped, most_by, rolled_by),
        least_by,
        cas_by,
        mach_by,
    )


def configuration_name(pack: Pack, setup: FlightSetup) -> str:
    """Return the pack's name of the flap setting, empty where it is not one of the pack's."""
    named = pack.aero.configurations.items()
    return next((name for name, one in named if one is setup.configuration), "")


@dataclass(frozen=True, slots=True)
class GreatestLift:
    """Greatest usable lift coefficient of the wing, and where the angle of attack limit is what ends it."""

    coefficient: Floats
    by_angle: Flags


def greatest_lift(pack: Pack, setup: FlightSetup, mach: ArrayLike) -> GreatestLift:
    """Return the greatest lift coefficient the crew may use, in the shape of ``mach``.

    The peak of the lift table up to the pack's angle of attack limit for the flap setting, if it has one, and
    never above ``maximum_lift``; what gear and speedbrake add is included.

    Raises ``OutsideTable`` for a Mach number that the lift tables do not reach.
    """
    one, numbers = setup.configuration, AxisPoints(mach)
    limit = pack.limits.angle_of_attack.get(configuration_name(pack, setup), np.inf)
    peak, held = _peaks(one.lift, numbers, limit)
    peak = np.minimum(peak, one.maximum_lift(numbers))
    aero, devices = pack.aero, setup.devices
    extra = devices.gear * aero.gear.lift + devices.speedbrake * aero.speedbrake.lift
    return GreatestLift(np.minimum(held, peak) + extra, np.asarray(held < peak))


def lift_load_factor(
    pack: Pack, cases: FlightCases, coefficient: ArrayLike, *, pressure_altitude: ArrayLike, mach: ArrayLike
) -> Floats:
    """Return the load factor, g, that a lift coefficient gives at the mass of each case.

    Arguments have the cases along their first axis, or one row for all.
    """
    number = np.asarray(mach, dtype=np.float64)
    pressure = np.asarray(standard_pressure(pressure_altitude))
    dynamic_pressure = 0.5 * HEAT_CAPACITY_RATIO * pressure * number**2
    lift = dynamic_pressure * pack.airframe.wing_area * np.asarray(coefficient)
    return lift / column(cases.mass * STANDARD_GRAVITY, lift)


def column(values: Floats, beside: ArrayLike) -> Floats:
    """Return per-case values so that they broadcast against an array with the cases along its first axis."""
    return values.reshape((-1,) + (1,) * max(np.ndim(beside) - 1, 0))


def is_too_fast(limits: ManoeuvreLimits, pressure_altitude: ArrayLike, mach: ArrayLike) -> Flags:
    """Return where a Mach number is beyond the speed or the Mach limit, rounding forgiven."""
    number = np.asarray(mach, dtype=np.float64)
    fast = number > limits.maximum_mach * (1.0 + 1e-9)
    if np.isfinite(limits.maximum_cas):
        # Impact pressure is what a calibrated airspeed shows: no airspeed need be worked out.
        limit = limits.maximum_cas * (1.0 + 1e-9) / SEA_LEVEL_SPEED_OF_SOUND
        felt = impact_pressure(number, standard_pressure(pressure_altitude))
        fast = fast | (felt > impact_pressure(limit, SEA_LEVEL_PRESSURE))
    return np.asarray(fast)


def mach_ends(setup: FlightSetup, *others: Table) -> tuple[float, float]:
    """Return the Mach numbers between which the lift and drag tables, and ``others``, all reach."""
    one = setup.configuration
    spans = [table.range_of("mach") for table in (one.lift, one.drag, one.maximum_lift, *others)]
    return max(low for low, _ in spans), min(high for _, high in spans)


def _peaks(table: Table, mach: AxisPoints, angle_limit: float) -> tuple[Floats, Floats]:
    """Return the greatest lift of the table at each Mach number, over all angles and up to a limit."""
    axis = table.axes[0]
    if angle_limit < axis[0]:
        low, high = table.range_of("angle_of_attack")
        raise OutsideTable(table.name, "angle_of_attack", angle_limit, low, high, table.units[0])
    # Between two angles lift is a straight line, so the peak is at one of them, or at the limit.
    lines = table.lines(mach)
    peak, below = lines.max(axis=0), int(axis.searchsorted(angle_limit))
    if below == len(axis):
        return peak, peak
    last = lines[below]
    if below == 0:
        return peak, last
    part = (angle_limit - axis[below - 1]) / (axis[below] - axis[below - 1])
    last = lines[below - 1] + part * (last - lines[below - 1])
    return peak, np.maximum(lines[:below].max(axis=0), last)


def _by_mass(table: Table | None, cases: FlightCases) -> Floats | None:
    return None if table is None else table(cases.mass)


def _negated(value: float | None) -> float | None:
    return None if value is None else -value


def _least(named: dict[str, Bound], count: int) -> tuple[Floats, NDArray[np.str_]]:
    """Return the least of the values that are given, and the name of each row's."""
    given = {name: np.broadcast_to(value, (count,)) for name, value in named.items() if value is not None}
    if not given:
        return np.full(count, np.inf), np.full(count, "")
    table, names = np.array(list(given.values())), np.array(list(given))
    first = np.argmin(table, axis=0)
    return table[first, np.arange(count)], names[first]


def _least_number(named: dict[str, float | None]) -> tuple[float, str]:
    given = {name: value for name, value in named.items() if value is not None}
    return min(((value, name) for name, value in given.items()), default=(np.inf, ""))


def _speeds_of_aircraft(pack: Pack, setup: FlightSetup) -> dict[str, float | None]:
    """Return the calibrated speed limits of the aircraft as it is set."""
    limits = pack.limits
    flap = limits.flap_speed.get(configuration_name(pack, setup))
    gear = limits.gear_speed if np.any(np.asarray(setup.devices.gear) > 0.0) else None
    named = {AIRCRAFT: limits.maximum_cas, "flap": flap, "gear": gear}
    return {name: None if limit is None else limit.value for name, limit in named.items()}
