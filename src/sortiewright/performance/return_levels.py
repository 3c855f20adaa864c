"""Which level a way home is flown at: every level priced roughly, at each its best Mach number."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import (
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    impact_pressure,
    standard_pressure,
)
from sortiewright.pack import AxisPoints
from sortiewright.performance.forces import fuel_flow_per_engine, thrust_per_engine
from sortiewright.performance.return_cases import (
    AirAbove,
    CruiseSpeed,
    HomeProfiles,
    HomeStarts,
    Indices,
    scheduled_mach,
)
from sortiewright.performance.return_climb import HeightTable
from sortiewright.performance.return_parts import Craft, forces, or_else

Floats = NDArray[np.float64]

FOOT = 0.3048
LEVEL_STEP = 2_000.0 * FOOT
MACH_GAP = 0.1  # between the Mach numbers looked at, at most; the peak between is a parabola's
SHOWN_MACH = 0.01  # a Mach number is flown to this
SLOWEST = 0.3
ANY_CAS = 1_500.0  # m/s: stands for no limit of speed
ASKED = 1e6  # kg, more than any fuel: the price of not flying the height that is asked for
ROOM = 2_000.0  # m of level flight at least, so that rough prices do not choose a level too high
NEAR = 15_000.0  # m; slowing down before the descent, which has no price here, reaches about as far
MID_SHARE = (
    0.12  # of the mass at the fix: burnt on a long way home, so that a level taken can be held at its start
)


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels to choose from, (n, j): pressure altitude m, Mach number there, and the rough price, kg of fuel,
    of going home that way; ``inf`` where it cannot be flown. ``cruise`` and ``descent`` are parts of it,
    ``descent_way`` m is how far the descent goes.
    """

    altitude: Floats
    mach: Floats
    price: Floats
    cruise: Floats
    descent: Floats
    descent_way: Floats


@dataclass(frozen=True, slots=True)
class CruiseGrid:
    """Level flight of each profile at levels and Mach numbers, (c, j, m): fuel flow kg/s, NaN where it cannot
    be held; ``tas`` m/s is (c, j, m) and ``mass`` kg (c,)."""

    altitude: Floats
    mach: Floats
    tas: Floats
    flow: Floats
    mass: Floats


def levels_of(profiles: HomeProfiles, top: float) -> Floats:
    """Return the levels to look at, (c, j): the height of the fix and every 2,000 ft above it; NaN below it.

    A height that is asked for comes last.
    """
    lowest = profiles.fix_altitude
    first = np.ceil((lowest.min() + 0.5 * LEVEL_STEP) / LEVEL_STEP) * LEVEL_STEP
    grid = np.arange(first, top + 1.0, LEVEL_STEP)
    above = np.where(grid > lowest[:, None] + 0.25 * LEVEL_STEP, grid, np.nan)
    return np.concatenate([lowest[:, None], above, profiles.cruise_altitude[:, None]], axis=1)


def cruise_grid(
    craft: Craft, profiles: HomeProfiles, air: AirAbove, power: str, levels: Floats, fastest: float
) -> CruiseGrid:
    """Return level flight over levels (c, j) and Mach numbers; ``fastest`` is the highest looked at.

    Fuel flow goes straight from idle to ``power``: for comparing levels, not for fuel.
    """
    pack = craft.pack
    live = (pack.engine.count - profiles.failed)[:, None]
    number = _looked_at(pack.aero.configurations[craft.configuration].drag.axes[1], fastest)
    safe = np.where(np.isnan(levels), profiles.fix_altitude[:, None], levels)
    mass = (1.0 + MID_SHARE) * profiles.mass_at_fix
    point = forces(craft, profiles, air, power, mass=mass[:, None], altitude=safe, mach=number)
    high, each = safe[:, :, None], live[:, :, None]
    idle = pack.engine.settings[pack.engine.idle]
    where = AxisPoints(number), AxisPoints(high), AxisPoints(air.deviation(high))
    least = each * thrust_per_engine(idle, *where)
    least_flow = each * fuel_flow_per_engine(idle, *where)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = (point.drag - least) / (point.thrust - least)
        held = (share >= 0.0) & (share <= 1.0)
        flow = np.where(held, least_flow + share * (point.fuel_flow - least_flow), np.nan)
    limit = pack.limits.angle_of_attack.get(craft.configuration)
    if limit is not None:
        flow = np.where(point.angle_of_attack <= limit, flow, np.nan)
    # Impact pressure is what a calibrated airspeed shows: no airspeed need be worked out.
    fastest_cas = np.minimum(profiles.maximum_cas, ANY_CAS) * (1.0 + 1e-9)
    felt = impact_pressure(fastest_cas / SEA_LEVEL_SPEED_OF_SOUND, SEA_LEVEL_PRESSURE)
    slow = impact_pressure(number, standard_pressure(high)) <= felt[:, None, None]
    slow &= number <= (profiles.maximum_mach + 1e-9)[:, None, None]
    return CruiseGrid(levels, number, point.tas, np.where(slow, flow, np.nan), mass)


def price_levels(
    profiles: HomeProfiles,
    starts: HomeStarts,
    air: AirAbove,
    grid: CruiseGrid,
    climb: HeightTable,
    descent: HeightTable,
) -> Levels:
    """Return the levels of every start with their rough price.

    A level that leaves no room for level flight is none, but for the lowest: what its descent reaches past
    the fix is flown off there.
    """
    rows: Indices = np.arange(len(starts.distance), dtype=np.intp)
    profile = starts.profile
    altitude = grid.altitude[profile]
    safe = np.where(np.isnan(altitude), profiles.fix_altitude[profile][:, None], altitude)
    head, cross = air.at((starts.headwind, starts.crosswind), rows, safe)
    mach = _mach_numbers(profiles, air, grid, profile, safe, (head, cross))
    flow, tas = _at_mach(grid, profile, mach)
    ground = np.sqrt(np.maximum(tas**2 - cross**2, 0.0)) - head
    going_up, going_down = climb.sums(climb.least), descent.sums(descent.least)
    up_fuel, up_way = _between(climb, going_up, profile, starts.altitude, safe, starts, air)
    first_fuel, first_way = _between(descent, going_down, profile, safe, starts.altitude, starts, air)
    down_fuel, down_way = _between(
        descent, going_down, profile, profiles.fix_altitude[profile][:, None], safe, starts, air
    )
    higher = safe > starts.altitude[:, None]
    fuel, way = np.where(higher, up_fuel, first_fuel), np.where(higher, up_way, first_way)
    level = starts.distance[:, None] - way - down_way
    with np.errstate(invalid="ignore", divide="ignore"):
        heavy = grid.mass[profile][:, None]
        rate = np.where(ground > 0.0, flow / ground, np.nan)
        cruise = heavy * np.expm1(np.maximum(level, 0.0) * rate / heavy)
        price = fuel + cruise + down_fuel
    # Where the descent alone about reaches the fix, no speed is changed for what is left to cruise.
    down = scheduled_mach(
        profiles.descent_cas[profile], profiles.descent_mach[profile], profiles.fix_altitude[profile]
    )
    mach[:, 0] = np.where(
        (level[:, 0] <= NEAR) & (starts.altitude > safe[:, 0]), np.minimum(mach[:, 0], down), mach[:, 0]
    )
    roomy = level >= ROOM
    roomy[:, 0] = True
    price = np.where(roomy & np.isfinite(price) & np.isfinite(altitude), price, np.inf)
    # A height that is asked for is taken wherever there is room for it.
    asked = np.isfinite(price[:, -1])
    price[asked, :-1] += ASKED
    return Levels(safe, mach, price, cruise, down_fuel, down_way)


def _mach_numbers(
    profiles: HomeProfiles,
    air: AirAbove,
    grid: CruiseGrid,
    profile: Indices,
    altitude: Floats,
    wind: tuple[Floats, Floats],
) -> Floats:
    """Return the Mach number at each level, (n, j): the one asked for, or the best, to a hundredth."""
    fastest = scheduled_mach(
        profiles.maximum_cas[profile][:, None], profiles.maximum_mach[profile][:, None], altitude
    )
    found = np.empty(altitude.shape)
    for speed in dict.fromkeys(profiles.speeds):
        asking = np.array([one == speed for one in profiles.speeds])
        rows = np.flatnonzero(asking[profile])
        found[rows] = _speed_asked(
            speed, air, grid, profile[rows], altitude[rows], (wind[0][rows], wind[1][rows]), fastest[rows]
        )
    return found


def _speed_asked(
    speed: CruiseSpeed,
    air: AirAbove,
    grid: CruiseGrid,
    profile: Indices,
    altitude: Floats,
    wind: tuple[Floats, Floats],
    fastest: Floats,
) -> Floats:
    (rule, value), (head, cross) = speed, wind
    if rule == "mach":
        return np.minimum(value, fastest)
    if rule == "cas":
        return np.minimum(scheduled_mach(np.asarray(value), np.asarray(np.inf), altitude), fastest)
    if rule == "tas":
        return np.minimum(value / air.sound(altitude), fastest)
    if rule == "ground_speed":
        return np.minimum(np.hypot(value + head, cross) / air.sound(altitude), fastest)
    flow, tas = grid.flow[profile], grid.tas[profile]
    if rule == "endurance":
        sought = 1.0 / flow
    elif rule == "range":
        sought = tas / flow
    else:
        ground = np.sqrt(np.maximum(tas**2 - cross[..., None] ** 2, 0.0)) - head[..., None]
        sought = np.where(ground > 0.0, ground, np.nan) / flow
    number = np.round(_peak(grid.mach, or_else(sought, 0.0)) / SHOWN_MACH) * SHOWN_MACH
    return np.minimum(number, np.floor(fastest / SHOWN_MACH + 1e-6) * SHOWN_MACH)


def _looked_at(axis: Floats, fastest: float) -> Floats:
    """Return Mach numbers up to ``fastest``: those of the drag table, where the best often lies, and some
    between them where they are far apart."""
    last = max(fastest, SLOWEST + 3.0 * MACH_GAP)
    inner = axis[(axis > SLOWEST + 0.01) & (axis < last - 0.01)]
    edges = np.concatenate([[SLOWEST], inner, [last]])
    parts: list[Floats] = []
    for low, high in pairwise(edges):
        count = max(1, int(np.ceil((high - low) / MACH_GAP - 1e-6)))
        parts.append(low + (high - low) / count * np.arange(count))
    return np.concatenate([*parts, [last]])


def _peak(axis: Floats, values: Floats) -> Floats:
    """Return where the parabola through the best of ``values`` (n, j, m) and its neighbours is highest; the
    best itself where a neighbour is nought."""
    best = np.clip(np.argmax(values, axis=2), 1, len(axis) - 2)
    y = [np.take_along_axis(values, (best + shift)[..., None], axis=2)[..., 0] for shift in (-1, 0, 1)]
    x = [axis[best + shift] for shift in (-1, 0, 1)]
    with np.errstate(invalid="ignore", divide="ignore"):
        before, after = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
        curve = (after - before) / (x[2] - x[0])
        top = 0.5 * (x[0] + x[1]) - before / (2.0 * curve)
    fits = (curve < 0.0) & (np.minimum(y[0], y[2]) > 0.0)
    return np.where(fits, np.clip(top, x[0], x[2]), axis[np.argmax(values, axis=2)])


def _at_mach(grid: CruiseGrid, profile: Indices, mach: Floats) -> tuple[Floats, Floats]:
    """Return fuel flow and true airspeed at Mach numbers (n, j), straight between those of the grid."""
    cell = grid.mach[1:-1].searchsorted(mach)
    part = (mach - grid.mach[cell]) / (grid.mach[cell + 1] - grid.mach[cell])
    row: Indices = profile[:, None]
    level: Indices = np.arange(mach.shape[1], dtype=np.intp)[None, :]
    low, high = grid.flow[row, level, cell], grid.flow[row, level, cell + 1]
    # At the edge of what can be held one of both is known.
    flow = np.where(np.isnan(low), high, np.where(np.isnan(high), low, low + part * (high - low)))
    sound = grid.tas[row, level, cell] / grid.mach[cell]
    return flow, mach * sound


def _between(
    table: HeightTable,
    sums: tuple[Floats, Floats, Floats],
    profile: Indices,
    low: Floats,
    high: Floats,
    starts: HomeStarts,
    air: AirAbove,
) -> tuple[Floats, Floats]:
    """Return fuel kg and distance over the ground m, (n, j), of the way between two heights; 0 where the
    first is not the lower."""
    low, high = (part[:, None] if part.ndim == 1 else part for part in (low, high))
    low = np.minimum(low, high)
    time, fuel, way = sums
    found = np.zeros((3, *np.broadcast_shapes(low.shape, high.shape)))
    for one in range(len(time)):
        mine = profile == one
        if not mine.any():
            continue
        for number, line in enumerate((time, fuel, way)):
            found[number][mine] = _rise(table.edges[one], line[one], low[mine], high[mine])
    rows: Indices = np.arange(len(profile), dtype=np.intp)
    middle = 0.5 * (low + high)
    return found[1], found[2] - found[0] * air.at((starts.headwind,), rows, middle)[0]


def _rise(edges: Floats, line: Floats, low: Floats, high: Floats) -> Floats:
    return np.asarray(np.interp(high, edges, line)) - np.asarray(np.interp(low, edges, line))
