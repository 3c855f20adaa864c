"""Fuel for the way home, computed backwards from what is to be left at a fix, for many starts at once.

The weight at every step is that of the aircraft without fuel and of the fuel that is needed from there on, so
the descent comes first, then cruise, and last the climb that begins the way. Levels are chosen by a rough
price (``price_levels``), the two cheapest are then computed in full.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import Pack
from sortiewright.performance.level_flight import power_setting
from sortiewright.performance.return_cases import (
    AirAbove,
    HomePower,
    HomeProfiles,
    HomeStarts,
    Indices,
    WayHome,
)
from sortiewright.performance.return_climb import HeightTable, height_table
from sortiewright.performance.return_levels import (
    ASKED,
    MID_SHARE,
    Levels,
    cruise_grid,
    levels_of,
    price_levels,
)
from sortiewright.performance.return_parts import (
    Cells,
    Craft,
    Part,
    burnt_over,
    cells_between,
    descent_edges,
    fly_cells,
    level_lines,
    over_ground,
    supposed_descent,
)
from sortiewright.performance.return_start import WayStart

Floats = NDArray[np.float64]

SWEEPS = 3  # of mass, climb and cruise against one another: each leaves under a tenth of the error
DESCENT_CELLS = (3, 8, 20)
MOST_MACH = 0.95  # of the look for the best Mach number
CLOSE = 1.006  # times the cheapest price: a level that costs more roughly is not computed in full
TRIES = 3  # levels found not to be flyable are left out and the next are tried
CLIMB_CELL, LOOK_CELL = 300.0, 900.0  # m, of the climb, and of those that levels are priced with


def way_home(
    pack: Pack,
    profiles: HomeProfiles,
    starts: HomeStarts,
    air: AirAbove,
    power: HomePower,
    *,
    highest: float = np.inf,
) -> WayHome:
    """Return the cheapest way home from each start, and the fuel it takes.

    Level speed change to the climb schedule at the start, where that is faster; climb, or a descent where the
    level is lower; level speed change to the cruise Mach number; cruise; descent to the fix. A start or climb
    that is faster than what follows gets no credit for it.

    Parameters
    ----------
    highest : m
        Pressure altitude above which no level is looked at.

    Notes
    -----
    Levels are the fix's height, every 2,000 ft above it, and a profile's own. One is taken where 2 km of
    level flight are left between climb and descent, but for the lowest. ``past_fix`` says what is left over:
    inside the reach of the descent alone bingo is the same at every distance, to about 1 kg.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.
    """
    craft = Craft(pack, power.speedbrake)
    fastest = _fastest_mach(craft, power)
    profiles = replace(profiles, maximum_mach=np.minimum(profiles.maximum_mach, fastest)).limited()
    top = min(_table_top(pack, power), highest)
    lowest = min(float(starts.altitude.min()), float(profiles.fix_altitude.min()))
    ceiling = max(top, float(starts.altitude.max()))
    between = lowest, ceiling
    levels = _rough_levels(craft, profiles, starts, air, power, between, top)
    climb = height_table(
        craft,
        profiles,
        air,
        power.climb,
        (profiles.climb_cas, profiles.climb_mach),
        between,
        least=0.98 * profiles.mass_at_fix,  # a steep path lifts less than the weight
        span=_spans(profiles, starts, levels),
        cell_height=CLIMB_CELL,
    )
    found = _empty(len(starts.distance))
    left: Indices = np.arange(len(starts.distance), dtype=np.intp)
    price = levels.price.copy()
    for _ in range(TRIES):
        left = left[np.isfinite(price[left]).any(axis=1)]
        if not len(left):
            break
        order = np.argsort(price[left], axis=1)[:, :2]
        rows, choice = np.repeat(left, 2), order.reshape(-1)
        cost = price[rows, choice]
        some = np.isfinite(cost) & (cost <= CLOSE * np.repeat(price[left].min(axis=1), 2))
        rows, choice = rows[some], choice[some]
        way = _solve(craft, profiles, starts.take(rows), air, power, climb, _picked(levels, rows, choice))
        found = _cheapest(found, way, rows)
        price[rows, choice] = np.inf
        left = left[np.isnan(found.bingo[left])]
        if not len(left):
            break
    return found


@dataclass(frozen=True, slots=True)
class _Picked:
    """One level for each row: pressure altitude m, Mach number; rough fuel of cruise and descent kg, and the
    descent's way m."""

    altitude: Floats
    mach: Floats
    cruise: Floats
    descent: Floats
    descent_way: Floats


def _picked(levels: Levels, rows: Indices, choice: Indices) -> _Picked:
    parts = (levels.altitude, levels.mach, levels.cruise, levels.descent, levels.descent_way)
    return _Picked(*(part[rows, choice] for part in parts))


def _spans(profiles: HomeProfiles, starts: HomeStarts, levels: Levels) -> Floats:
    """Return over which masses the climb's table must reach for each profile, kg."""
    cheapest = levels.price.min(axis=1)
    cheapest = np.where(np.isfinite(cheapest), cheapest, 0.0) % ASKED
    most = 0.05 * profiles.mass_at_fix
    np.maximum.at(most, starts.profile, 0.03 * profiles.mass_at_fix[starts.profile] + 1.05 * cheapest)
    return most


def _rough_levels(
    craft: Craft,
    profiles: HomeProfiles,
    starts: HomeStarts,
    air: AirAbove,
    power: HomePower,
    between: tuple[float, float],
    top: float,
) -> Levels:
    asked = profiles.cruise_altitude
    kept = replace(profiles, cruise_altitude=np.where(asked <= top + 1.0, asked, np.nan))

    def look(setting: str, schedule: tuple[Floats, Floats], mass: Floats, *, down: bool) -> HeightTable:
        return height_table(
            craft,
            kept,
            air,
            setting,
            schedule,
            between,
            least=mass,
            span=np.ones(len(mass)),
            down=down,
            speedbrake=power.speedbrake if down else 0.0,
            cell_height=LOOK_CELL,
            masses=1,
        )

    heavy = (1.0 + MID_SHARE) * kept.mass_at_fix
    climb = look(power.climb, (kept.climb_cas, kept.climb_mach), heavy, down=False)
    descent = look(power.descent, (kept.descent_cas, kept.descent_mach), kept.mass_at_fix, down=True)
    rising = np.where(climb.push[:, :, 0] > 0.0, climb.cells.altitude, -np.inf).max(initial=-np.inf)
    most = min(top, float(rising) + LOOK_CELL) if np.isfinite(rising) else top
    levels = levels_of(kept, max(most, float(kept.fix_altitude.max())))
    wanted = max((value for rule, value in kept.speeds if rule == "mach"), default=0.0)
    fastest = min(max(wanted, MOST_MACH), float(kept.maximum_mach.max()))
    grid = cruise_grid(craft, kept, air, power.level, levels, fastest)
    return price_levels(kept, starts, air, grid, climb, descent)


def _solve(
    craft: Craft,
    profiles: HomeProfiles,
    starts: HomeStarts,
    air: AirAbove,
    power: HomePower,
    climb: HeightTable,
    level: _Picked,
) -> WayHome:
    """Return the way home at the level given for each row, in full."""
    profile, rows = starts.profile, np.arange(len(starts.profile), dtype=np.intp)
    mine = profiles.take(profile)
    altitude, mach = level.altitude, level.mach
    # Ways at one level and Mach number share their descent and what cruise there takes.
    key = np.stack([profile.astype(np.float64), altitude, mach])
    _, first, which = np.unique(key, axis=1, return_index=True, return_inverse=True)
    which = which.reshape(-1)
    down_cells, down = _descent(craft, mine.take(first), air, power, level, first)
    down_fuel = down.burnt[which]
    most = np.zeros(len(first))
    np.maximum.at(most, which, 1.08 * level.cruise + down_fuel + 1.0)
    lines = level_lines(craft, mine.take(first), air, power.level, altitude[first], mach[first], most)[which]
    most = most[which]

    def wind(at: Floats, of: Indices) -> tuple[Floats, Floats]:
        head, cross = air.at((starts.headwind, starts.crosswind), of, at)
        return head, cross

    down_all = Part(down.time[which], down.fuel[which], down.level_speed[which])
    down_way = over_ground(down_all, wind(down_cells.altitude[which], rows))
    head, cross = (one[:, 0] for one in wind(altitude[:, None], rows))
    tas = mach * air.sound(altitude)
    ground = np.sqrt(np.maximum(tas**2 - cross**2, 0.0)) - head
    ground = np.where(ground > 0.0, ground, np.nan)
    start = WayStart(craft, mine, starts, air, power, climb, (altitude, mach), wind)
    first_way = np.zeros(len(rows))
    cruise = level.cruise
    first_fuel = first_time = length = first_way
    for _ in range(SWEEPS):
        length = starts.distance - down_way - first_way
        time = np.maximum(length, 0.0) / ground
        cruise = burnt_over(lines, most, down_fuel, time)
        end_mass = mine.mass_at_fix + down_fuel + cruise
        first_fuel, first_time, first_way = start.flown_to(end_mass)
    left = starts.distance - down_way - first_way
    time = np.maximum(left, 0.0) / ground
    cruise = burnt_over(lines, most, down_fuel, time)
    bingo = mine.fuel_at_fix + down_fuel + cruise + first_fuel
    return WayHome(
        altitude,
        mach,
        first_fuel,
        cruise,
        down_fuel,
        bingo,
        first_time + time + down.time.sum(axis=1)[which],
        first_way,
        np.maximum(left, 0.0),
        down_way,
        np.maximum(-left, 0.0),
    )


def _descent(
    craft: Craft, mine: HomeProfiles, air: AirAbove, power: HomePower, level: _Picked, rows: Indices
) -> tuple[Cells, Part]:
    edges = descent_edges(mine, level.altitude[rows], level.mach[rows], mine.fix_altitude, DESCENT_CELLS)
    cells = cells_between(air, *edges)
    guess = supposed_descent(cells, level.descent[rows], level.descent_way[rows])
    part = fly_cells(
        craft, mine, air, power.descent, cells, mine.mass_at_fix, guess, speedbrake=craft.speedbrake
    )
    return cells, part


def _cheapest(found: WayHome, way: WayHome, rows: Indices) -> WayHome:
    """Return ``found`` with every way of these rows that costs less in its place."""
    order = np.argsort(
        -np.where(np.isnan(way.bingo), np.inf, way.bingo), kind="stable"
    )  # the cheapest is written last
    order = order[~(way.bingo[order] >= found.bingo[rows[order]]) & np.isfinite(way.bingo[order])]
    parts: dict[str, Floats] = {}
    for field in fields(found):
        values: Floats = getattr(found, field.name).copy()
        values[rows[order]] = getattr(way, field.name)[order]
        parts[field.name] = values
    return WayHome(**parts)


def _empty(count: int) -> WayHome:
    return WayHome(*(np.full(count, np.nan) for _ in fields(WayHome)))


def _fastest_mach(craft: Craft, power: HomePower) -> float:
    """Return the highest Mach number that all tables needed reach."""
    pack, configuration = craft.pack, craft.pack.aero.configurations[craft.configuration]
    tables = [power_setting(pack, name).thrust for name in (power.climb, power.level, power.descent)]
    tables += [configuration.lift, configuration.drag]
    return min(table.range_of("mach")[1] for table in tables)


def _table_top(pack: Pack, power: HomePower) -> float:
    names = (power.climb, power.level, power.descent)
    return min(power_setting(pack, name).thrust.range_of("pressure_altitude")[1] for name in names)
