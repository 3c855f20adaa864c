"""What a turn costs: time, fuel and speed for a stated change of heading, height held."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightSetup,
    flight_point,
    steady_level_flight,
)
from sortiewright.performance.limited_turns import (
    INSIDE,
    instantaneous_turn,
    most_load_factor,
    sustained_turn,
    turn_or_none,
)
from sortiewright.performance.turn_limits import column, mach_ends, manoeuvre_limits

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

TURN_STEPS = 48
"""Steps of heading of a turn that loses speed."""
SPEED_POINTS = 160
LEAST_LOAD_FACTOR = 1.02
"""Under which heading hardly changes: a turn that comes down to it is not completed."""


@dataclass(frozen=True, slots=True)
class TurnCost:
    """A level turn through ``heading_change`` rad, (n,); NaN where it cannot be completed.

    ``time`` s, ``fuel`` kg, true airspeeds m/s, load factors g. ``load_factor_at_end`` is less than that at
    the start where the wing, at the speed that was left, gave no more.
    """

    heading_change: Floats
    time: Floats
    fuel: Floats
    tas: Floats
    tas_at_end: Floats
    mach_at_end: Floats
    load_factor: Floats
    load_factor_at_end: Floats
    radius: Floats
    is_speed_held: Flags

    @property
    def speed_lost(self) -> Floats:
        """True airspeed lost, m/s."""
        return self.tas - self.tas_at_end


def turn_cost(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    heading_change: ArrayLike,
    power: str,
    load_factor: ArrayLike | None = None,
    bank: ArrayLike | None = None,
    stores: Collection[str] = (),
) -> TurnCost:
    """Return time, fuel and speed for a turn at a load factor or a bank; without either, the sustained turn.

    ``power`` is the most the crew will use. Where it holds the speed, the turn is flown at that speed with as
    much of it as is needed; otherwise at all of it, and speed is lost. Mass is that at the start: the fuel of
    a turn is under a hundredth of it.

    Parameters
    ----------
    altitude : m
        Pressure altitude, held; it, Mach and the turn are (n,) or one value.
    heading_change : rad
        Above nought, either way.
    bank : rad
        At the start: as speed is lost the load factor is what is kept, as far as the wing gives it.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.
    ValueError
        For both a load factor and a bank, or a value outside its range.

    Notes
    -----
    With heading psi as the variable, dV/dpsi = P_s/sqrt(n^2 - 1) and dt/dpsi = V/(g sqrt(n^2 - 1)), from
    dV/dt = g P_s/V and dpsi/dt = g sqrt(n^2 - 1)/V; fourth-order Runge-Kutta over curves of P_s, n and fuel
    flow against Mach number.
    """
    shape = (cases.count,)
    height, number, change = (
        np.broadcast_to(np.asarray(part, dtype=np.float64), shape)
        for part in (altitude, mach, heading_change)
    )
    if (bad := ~((change > 0.0) & np.isfinite(change))).any():
        raise ValueError(f"heading change must be above 0, got {np.degrees(change[bad][0]):g} deg")
    wanted = _stated(load_factor, bank, shape)
    if wanted is None:
        return _held_at_all_power(pack, setup, cases, height, number, change, power, stores)
    limits = manoeuvre_limits(pack, setup, cases, stores)
    most, _ = most_load_factor(pack, setup, cases, limits, altitude=height, mach=number)
    is_possible = wanted <= most * (1.0 + 1e-9)
    load = np.where(is_possible, np.minimum(wanted, np.nan_to_num(most, nan=1.0) * INSIDE), 1.0)
    point = flight_point(
        pack, setup, cases, power,
        mass=cases.mass, pressure_altitude=height, mach=number, load_factor=load,
    )  # fmt: skip
    is_held = is_possible & (point.energy_rate >= 0.0)
    level = steady_level_flight(
        pack, setup, cases,
        mass=cases.mass, pressure_altitude=height, mach=number, power=power, load_factor=load,
    )  # fmt: skip
    turn = turn_or_none(point.tas, np.where(is_possible, load, np.nan))
    with np.errstate(divide="ignore", invalid="ignore"):
        time = change / turn.rate
    end = _slowing(pack, setup, cases, height, number, change, power, load, is_possible & ~is_held, stores)
    sound = point.tas / number
    return TurnCost(
        change,
        np.where(is_held, time, end.time),
        np.where(is_held, time * level.fuel_flow, end.fuel),
        point.tas,
        np.where(is_held, point.tas, end.mach * sound),
        np.where(is_held, number, end.mach),
        np.where(is_possible, wanted, np.nan),
        np.where(is_held, load, end.load_factor),
        turn.radius,
        is_held,
    )


@dataclass(frozen=True, slots=True)
class _End:
    time: Floats
    fuel: Floats
    mach: Floats
    load_factor: Floats


def _stated(load_factor: ArrayLike | None, bank: ArrayLike | None, shape: tuple[int, ...]) -> Floats | None:
    """Return the load factor asked for, None for the sustained turn."""
    if load_factor is not None and bank is not None:
        raise ValueError("a turn is set by its bank or by its load factor: give one of the two")
    if load_factor is not None:
        wanted = np.broadcast_to(np.asarray(load_factor, dtype=np.float64), shape)
        if (low := ~((wanted >= LEAST_LOAD_FACTOR) & np.isfinite(wanted))).any():
            raise ValueError(
                f"load factor of a turn must be {LEAST_LOAD_FACTOR:g} or more, got {wanted[low][0]:g}"
            )
        return wanted
    if bank is None:
        return None
    angle = np.broadcast_to(np.asarray(bank, dtype=np.float64), shape)
    least = np.arccos(1.0 / LEAST_LOAD_FACTOR)
    if (wide := ~((angle >= least) & (angle < np.pi / 2.0))).any():
        got = f"{np.degrees(angle[wide][0]):g} deg"
        raise ValueError(f"bank of a turn must be {np.degrees(least):.0f} to less than 90 deg, got {got}")
    return 1.0 / np.cos(angle)


def _held_at_all_power(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    altitude: Floats,
    mach: Floats,
    change: Floats,
    power: str,
    stores: Collection[str],
) -> TurnCost:
    """Return the cost of the sustained turn."""
    held = sustained_turn(pack, setup, cases, altitude=altitude, mach=mach, power=power, stores=stores)
    turn = held.turn
    is_turn = turn.load_factor >= LEAST_LOAD_FACTOR
    time = np.divide(change, turn.rate, out=np.full(change.shape, np.nan), where=is_turn)
    return TurnCost(
        change,
        time,
        time * held.fuel_flow,
        held.tas,
        held.tas,
        mach,
        turn.load_factor,
        turn.load_factor,
        turn.radius,
        is_turn,
    )


def _slowing(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    altitude: Floats,
    mach: Floats,
    change: Floats,
    power: str,
    load: Floats,
    wanted: Flags,
    stores: Collection[str],
) -> _End:
    """Return the end of the turns that lose speed; NaN for those not ``wanted``."""
    if not wanted.any():
        nothing = np.full(mach.shape, np.nan)
        return _End(nothing, nothing, nothing, nothing)
    lowest = mach_ends(setup, pack.engine.settings[power].thrust)[0]
    speeds = lowest + (mach - lowest)[:, None] * np.linspace(0.0, 1.0, SPEED_POINTS)
    level = np.broadcast_to(altitude[:, None], speeds.shape)
    able = instantaneous_turn(pack, setup, cases, altitude=level, mach=speeds, stores=stores)
    given = np.minimum(load[:, None], able.turn.load_factor * INSIDE)
    point = flight_point(
        pack,
        setup,
        cases,
        power,
        mass=cases.mass[:, None],
        pressure_altitude=level,
        mach=speeds,
        load_factor=np.where(given >= 1.0, given, 1.0),
    )
    sound = np.asarray(standard_air(level, column(cases.isa_deviation, level)).speed_of_sound)
    with np.errstate(invalid="ignore", divide="ignore"):
        sideways = np.sqrt(np.where(given >= LEAST_LOAD_FACTOR, given**2 - 1.0, np.nan))
        duration = speeds * sound / (STANDARD_GRAVITY * sideways)
        curves: Floats = np.stack(
            [point.energy_rate / (sideways * sound), duration, duration * point.fuel_flow, given]
        )
    step = (mach - lowest) / (SPEED_POINTS - 1)
    rows: NDArray[np.intp] = np.arange(len(mach), dtype=np.intp)

    def at(number: Floats) -> Floats:
        """Return Mach, time and fuel a radian, and load factor, at each row's Mach number; straight lines."""
        place = np.nan_to_num((number - lowest) / step, nan=-1.0)
        cell = np.clip(place.astype(np.intp), 0, SPEED_POINTS - 2)
        part = np.where(place < 0.0, np.nan, place - cell)
        low, high = curves[:, rows, cell], curves[:, rows, cell + 1]
        return np.asarray(low + (high - low) * part, dtype=np.float64)

    turned = change / TURN_STEPS
    state: Floats = np.stack([mach, np.zeros(mach.shape), np.zeros(mach.shape)])
    for _ in range(TURN_STEPS):
        first = at(state[0])
        second = at(state[0] + 0.5 * turned * first[0])
        third = at(state[0] + 0.5 * turned * second[0])
        fourth = at(state[0] + turned * third[0])
        slope: Floats = (first + 2.0 * second + 2.0 * third + fourth) / 6.0
        state = np.asarray(state + turned * slope[:3])
    end = (state[1], state[2], state[0], at(state[0])[3])
    return _End(*(np.where(wanted, part, np.nan) for part in end))
