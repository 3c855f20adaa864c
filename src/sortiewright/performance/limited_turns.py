"""The tightest level turn at a speed: for a moment, and for as long as fuel lasts."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY, standard_air
from sortiewright.pack import Configuration, Pack
from sortiewright.performance.flight_state import (
    FlightCases,
    FlightSetup,
    FlightState,
    engines_at,
    flight_state,
    lift_lines,
)
from sortiewright.performance.level_flight import FlightPoint, point_at, power_setting
from sortiewright.performance.turn import LevelTurn, level_turn
from sortiewright.performance.turn_limits import (
    ManoeuvreLimits,
    column,
    greatest_lift,
    is_too_fast,
    lift_load_factor,
    manoeuvre_limits,
)

Floats = NDArray[np.float64]

MostLoadFactor = tuple[Floats, NDArray[np.str_]]
"""The greatest load factor of a level turn, NaN where none is possible, and what governs it."""

NEWTON_STEPS = 3
INSIDE = 1.0 - 1e-9
"""Keeps a load factor at the lift limit on the carried side of rounding."""
BALANCED = 1e-5  # m/s of specific excess power: about a millionth of a g in load factor


@dataclass(frozen=True, slots=True)
class LimitedTurn:
    """A level turn at a limit, in the shape of Mach number and altitude; NaN where there is none.

    ``governed_by`` is what ends it: "lift", "angle of attack" (the pack's limit, before the stall), "load
    factor" (aircraft or store), "thrust" (in a sustained turn). Without a turn it is why: "stall", "speed"
    (beyond the speed or Mach limit) or "thrust".
    """

    mach: Floats
    tas: Floats
    turn: LevelTurn
    governed_by: NDArray[np.str_]

    def columns(self, chosen: int | slice) -> LimitedTurn:
        """Return these columns of turns in rows (n, k)."""
        mach, tas = self.mach[:, chosen], self.tas[:, chosen]
        return LimitedTurn(mach, tas, columns_of(self.turn, chosen), self.governed_by[:, chosen])


@dataclass(frozen=True, slots=True)
class SustainedTurn:
    """The tightest level turn that holds its speed, as ``LimitedTurn``, and fuel flow kg/s in it.

    ``energy_rate`` m/s is nought where thrust governs, and what is left over where another limit comes first.
    """

    mach: Floats
    tas: Floats
    turn: LevelTurn
    governed_by: NDArray[np.str_]
    fuel_flow: Floats
    energy_rate: Floats

    def columns(self, chosen: int | slice) -> SustainedTurn:
        """Return these columns of turns in rows (n, k)."""
        mach, tas = self.mach[:, chosen], self.tas[:, chosen]
        flow, rate = self.fuel_flow[:, chosen], self.energy_rate[:, chosen]
        turn, governed = columns_of(self.turn, chosen), self.governed_by[:, chosen]
        return SustainedTurn(mach, tas, turn, governed, flow, rate)


def instantaneous_turn(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    stores: Collection[str] = (),
) -> LimitedTurn:
    """Return the tightest level turn that the wing can lift and the limits allow, whatever speed it costs.

    Parameters
    ----------
    altitude : m
        Pressure altitude; it and Mach have the cases along their first axis, (n,) or (n, k).
    stores
        Names of what hangs, for their limits.

    Raises
    ------
    OutsideTable
        For a Mach number that the lift tables, or a mass that the load factor limits, do not reach.

    Notes
    -----
    n = min(q S CLmax(M)/W, limit), CLmax as in ``greatest_lift``: the wing alone carries, without thrust.
    """
    height, number = _shaped(cases, altitude, mach)
    limits = manoeuvre_limits(pack, setup, cases, stores)
    most = most_load_factor(pack, setup, cases, limits, altitude=height, mach=number)
    return _tightest(cases, height, number, most)


def _tightest(cases: FlightCases, altitude: Floats, mach: Floats, most: MostLoadFactor) -> LimitedTurn:
    load, governed = most
    tas = mach * standard_air(altitude, column(cases.isa_deviation, mach)).speed_of_sound
    return LimitedTurn(mach, tas, turn_or_none(tas, load), governed)


def sustained_turn(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    power: str,
    stores: Collection[str] = (),
) -> SustainedTurn:
    """Return the tightest level turn in which a power setting holds the speed.

    Specific excess power is nought in it; where lift or load factor end the turn first, it is that of
    ``instantaneous_turn``. Shapes are as there. NaN where not even level flight can be held.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.

    Notes
    -----
    T cos(a + iT) = D(a), solved for the angle of attack between the two angles of the tables where it lies;
    the load factor follows. Between two angles drag is a straight line, so Newton's method is at the
    end of the digits after three steps.
    """
    height, number = _shaped(cases, altitude, mach)
    limits = manoeuvre_limits(pack, setup, cases, stores)
    most = most_load_factor(pack, setup, cases, limits, altitude=height, mach=number)
    return _held(pack, setup, cases, height, number, power, most)[0]


def turns_at(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    limits: ManoeuvreLimits,
    *,
    altitude: Floats,
    mach: Floats,
    power: str,
) -> tuple[LimitedTurn, SustainedTurn, FlightPoint]:
    """Return ``instantaneous_turn``, ``sustained_turn`` and straight level flight at the same points, with
    all that they share found once; altitude and Mach are (n, k)."""
    most = most_load_factor(pack, setup, cases, limits, altitude=altitude, mach=mach)
    held, level = _held(pack, setup, cases, altitude, mach, power, most)
    return _tightest(cases, altitude, mach, most), held, level


def _held(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    height: Floats,
    number: Floats,
    power: str,
    tightest: MostLoadFactor,
) -> tuple[SustainedTurn, FlightPoint]:
    """Return the sustained turn, and straight level flight there."""
    most, governed = tightest
    is_flown = np.isfinite(most)
    top = np.where(is_flown, np.maximum(most * INSIDE, 1.0), 1.0)
    mass = np.broadcast_to(column(cases.mass, number), number.shape)
    at = flight_state(pack, setup, cases, height, number, mass)
    engines, lines = engines_at(at, power_setting(pack, power), cases), lift_lines(at)
    level = point_at(at, cases, engines, lines, mass)
    load = np.where(level.energy_rate < 0.0, 1.0, _thrust_limited(at, cases, lines, level, top))
    point = point_at(at, cases, engines, lines, mass, load)
    rate = point.energy_rate
    is_short = ~(rate >= -BALANCED) & (load <= 1.0 + BALANCED)
    is_spared = (rate > BALANCED) & (load >= top * INSIDE)
    is_held = is_flown & ~is_short
    reason = np.where(is_flown & ~is_spared, "thrust", governed)
    kept = np.where(is_held, load, np.nan)
    flow, rate = (np.where(is_held, part, np.nan) for part in (point.fuel_flow, point.energy_rate))
    turn = turn_or_none(point.tas, kept)
    return SustainedTurn(number, point.tas, turn, reason, flow, rate), level


def _thrust_limited(
    at: FlightState, cases: FlightCases, lines: Floats, level: FlightPoint, top: Floats
) -> Floats:
    """Return the load factor at which drag takes all the thrust, or ``top`` where that comes first.

    ``lines`` are the state's ``lift_lines``, ``level`` is level flight there, with thrust to spare.
    """
    pack, setup, mach = at.pack, at.setup, at.mach
    tilt = pack.airframe.thrust_inclination
    axis = _angles_of_both(setup.configuration)
    angles = axis.reshape((-1,) + (1,) * len(at.shape))
    q_s = at.dynamic_pressure * pack.airframe.wing_area
    factor = column(cases.drag_factor, q_s)
    drag_table = setup.configuration.drag
    even = setup.configuration.lift.axis_keys[0] == drag_table.axis_keys[0]
    able = np.isfinite(level.angle_of_attack)
    straight = np.where(able, level.angle_of_attack, axis[0])
    thrust = np.where(able, level.thrust, 0.0)
    # What does not depend on the angle of attack: stores and devices, dead engines, and the rudder against
    # the live ones.
    own = drag_table(straight, mach)
    aside = np.where(able, level.drag - factor * q_s * own, 0.0)
    drag = factor * q_s * (drag_table.lines(mach) if even else drag_table(angles, mach)) + aside
    if not even:
        lines = lift_lines(at, angles)
    carried = (q_s * lines + thrust * np.sin(angles + tilt)) / column(cases.mass * STANDARD_GRAVITY, q_s)
    spent = (thrust * np.cos(angles + tilt) < drag) & (angles > straight)
    after = np.maximum(np.argmax(spent, axis=0), 1)

    def ends(values: Floats) -> tuple[Floats, Floats]:
        low, high = (np.take_along_axis(values, row[None], axis=0)[0] for row in (after - 1, after))
        return low, high

    first, last = axis[after - 1], axis[after]
    (d_low, d_high), (n_low, n_high) = ends(drag), ends(carried)
    slope = (d_high - d_low) / (last - first)
    angle = last
    # Where drag does not grow there is no root in the cell, and what comes out is not used.
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(NEWTON_STEPS):
            over = thrust * np.cos(angle + tilt) - d_low - slope * (angle - first)
            angle = angle + over / (thrust * np.sin(angle + tilt) + slope)
    load = n_low + (n_high - n_low) * (angle - first) / (last - first)
    # Past the peak of lift thrust may be spent too, but the limit has come long before.
    is_thrust = spent.any(axis=0) & (after <= np.argmax(carried, axis=0)) & (load < top)
    return np.where(is_thrust, np.maximum(load, 1.0), top)


def _angles_of_both(configuration: Configuration) -> Floats:
    """Return every angle of attack at which the lift or the drag table has a value, where both reach."""
    lift, drag = configuration.lift.axes[0], configuration.drag.axes[0]
    both = np.union1d(lift, drag)
    return both[(both >= max(lift[0], drag[0])) & (both <= min(lift[-1], drag[-1]))]


def most_load_factor(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    limits: ManoeuvreLimits,
    *,
    altitude: Floats,
    mach: Floats,
) -> MostLoadFactor:
    """Return the greatest load factor of a level turn and what governs it."""
    greatest = greatest_lift(pack, setup, mach)
    lift = lift_load_factor(pack, cases, greatest.coefficient, pressure_altitude=altitude, mach=mach)
    allowed = column(limits.positive, lift)
    governed = np.where(allowed < lift, "load factor", np.where(greatest.by_angle, "angle of attack", "lift"))
    fast = is_too_fast(limits, altitude, mach)
    governed = np.where(fast, "speed", np.where(lift < 1.0, "stall", governed))
    return np.where(fast | (lift < 1.0), np.nan, np.minimum(lift, allowed)), governed


def turn_or_none(tas: Floats, load_factor: Floats) -> LevelTurn:
    """Return the level turn at each load factor, NaN where that is NaN."""
    able = np.isfinite(load_factor) & (tas > 0.0)
    turn = level_turn(np.where(able, tas, 1.0), load_factor=np.where(able, np.maximum(load_factor, 1.0), 1.0))
    parts = (turn.rate, turn.radius, turn.load_factor, turn.bank)
    return LevelTurn(*(np.where(able, part, np.nan) for part in parts))


def columns_of(turn: LevelTurn, chosen: int | slice) -> LevelTurn:
    """Return these columns of turns in rows (n, k)."""
    parts = (turn.rate, turn.radius, turn.load_factor, turn.bank)
    return LevelTurn(*(part[:, chosen] for part in parts))


def _shaped(cases: FlightCases, altitude: ArrayLike, mach: ArrayLike) -> tuple[Floats, Floats]:
    """Return altitude and Mach in one shape with the cases along its first axis."""
    height, number = np.broadcast_arrays(*(np.asarray(part, dtype=np.float64) for part in (altitude, mach)))
    shape = np.broadcast_shapes(height.shape, (cases.count,) + (1,) * max(height.ndim - 1, 0))
    return np.broadcast_to(height, shape), np.broadcast_to(number, shape)
