"""Everything about fuel on today's route: ladder, bingo, joker, alternate, last return, radius."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import mach_from_cas, standard_pressure
from sortiewright.pack import FuelTechnique, OutsideTable, Pack
from sortiewright.performance import (
    OutAndBack,
    WayHome,
    fuel_flow_per_engine,
    out_and_back,
    quickest_climb,
    way_home,
)
from sortiewright.sortie.conditions import Conditions
from sortiewright.sortie.fuel_ladder import (
    ON_THE_GROUND,
    balance_faults,
    ladder_of,
    last_return,
    reserve_faults,
    shortage_faults,
)
from sortiewright.sortie.fuel_returns import AskedWay, return_fuel_of, with_missed_approach
from sortiewright.sortie.fuel_ways import (
    BOTH_ENGINES,
    GEAR_DOWN,
    ONE_ENGINE,
    TRAPPED_EXTERNAL,
    Destination,
    Ways,
    aircraft_after,
    alternate_of,
    external_fuel,
    external_fuel_aboard,
    home_of,
    home_power,
)
from sortiewright.sortie.loading import ramp_load
from sortiewright.sortie.route_day import RouteDay, route_day
from sortiewright.sortie.route_flown import (
    FlownRoute,
    FuelPlan,
    PlacedPoint,
    ReturnFuel,
    RouteFault,
    RouteRow,
)
from sortiewright.sortie.route_pieces import landing_point
from sortiewright.sortie.schema import Sortie

Floats = NDArray[np.float64]

NAUTICAL_MILE = 1852.0
TABLE_STEPS = (5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0)  # nmi
TABLE_ROWS = 10
RADIUS_LEVELS = 5
LEVEL_STEP = 2_000.0 * 0.3048
AT_FIX = 1.0  # m


def fuel_plan(
    sortie: Sortie,
    pack: Pack,
    flown: FlownRoute,
    conditions: Conditions,
    landing_conditions: Conditions,
    *,
    day: RouteDay | None = None,
) -> FuelPlan:
    """Return the fuel plan of a flown route.

    All fuel is as the gauges show it, everything aboard; what the pack keeps back (recovery, minimum,
    emergency) is fuel that can be used, so that a bingo has the fuel that cannot be used in it. A table of
    the pack that does not reach spoils the ways home and is a fault; ladder and reserves stand. ``day`` is
    ``route_day`` of the same, where it is known already.

    Raises
    ------
    ValueError
        Where there is no route, the pack keeps no fuel back (``technique.fuel``), or as ``route_day``: all
        of them faults of the files, told when they are loaded.
    """
    book = pack.technique.fuel
    if book is None:
        raise ValueError("the pack does not say what fuel is kept back (technique.fuel)")
    day = day or route_day(sortie, pack, conditions, landing_conditions)
    return _Planner(day, book, flown).plan()


class _Planner:
    """One pass over the route: gathers ways home, computes them in one batch, and reads off the plan."""

    def __init__(self, day: RouteDay, book: FuelTechnique, flown: FlownRoute) -> None:
        self._day, self._book, self._flown = day, book, flown
        self._home, self._alternate = home_of(day, book), alternate_of(day, book)
        self._ramp = ramp_load(day.sortie, day.pack)
        self._ways = Ways(day)
        # Only a release changes the aircraft without its usable fuel.
        known = {row.load.released: row for row in flown.rows}
        each = {released: aircraft_after(day, row) for released, row in known.items()}
        self._aircraft = [each[row.load.released] for row in flown.rows]
        self._home_of_row, self._alternate_of_row = self._ladder_ways()
        self._farthest = self._farthest_row()

    def plan(self) -> FuelPlan:
        """Return the whole plan."""
        flown, book = self._flown, self._book
        asked, distances, table = self._asked_from_farthest(), np.zeros(0), []
        if self._farthest is not None:
            distances, table = self._table(self._farthest)
        diversion = self._diversion()
        found, faults = self._computed()
        least = self._least(found)
        ladder = ladder_of(self._day.pack, flown, least, self._ramp)
        returns = tuple(self._return_fuel(way, found) for way in asked)
        alternate = None if diversion is None else self._diverted(diversion, found)
        bingo = returns[0].bingo if returns and np.isfinite(returns[0].bingo) else None
        spare = self._aircraft[-1].unusable if self._aircraft else 0.0
        faults += [*shortage_faults(flown, ladder, book, self._home.fuel), *balance_faults(flown, ladder)]
        faults += reserve_faults(flown, book, self._home.fuel - book.gauge_tolerance, spare, alternate)
        others = [self._to_alternate(number, found) for number in range(len(flown.rows))]
        elapsed, place = last_return(flown, ladder, others)
        fix = self._row_at_fix()
        return FuelPlan(
            ladder,
            returns,
            alternate,
            None if self._farthest is None else flown.rows[self._farthest].end,
            bingo,
            None if bingo is None else self._joker(bingo),
            book.minimum,
            book.emergency,
            None if fix is None else fix.fuel_aboard,
            None if fix is None else flown.rows[-1].fuel_aboard,
            distances,
            np.array([self._bingo(place, self._farthest, found) for place in table]),
            elapsed,
            place,
            self._radius(found, asked),
            tuple(faults),
        )

    def _ladder_ways(self) -> tuple[dict[int, int], dict[int, int]]:
        """Return by row the place of its way home, and of its way to the alternate, in the batch."""
        home: dict[int, int] = {}
        other: dict[int, int] = {}
        for number, row in enumerate(self._flown.rows):
            if row.part in ON_THE_GROUND or row.part == "approach":
                continue
            home[number] = self._add(number, row, self._home)
            if self._alternate is not None:
                other[number] = self._add(number, row, self._alternate)
        return home, other

    def _add(self, number: int, row: RouteRow, to: Destination) -> int:
        profile = self._ways.profile(self._aircraft[number], to)
        return self._ways.add(profile, row.end, to.point, row.end_altitude, row.mach)

    def _farthest_row(self) -> int | None:
        if not self._home_of_row:
            return None
        return max(self._home_of_row, key=lambda number: self._ways.distance(self._home_of_row[number]))

    def _asked_from_farthest(self) -> list[AskedWay]:
        """Return the ways home from the farthest point: as planned, and with something broken."""
        if self._farthest is None:
            return []
        row, number, home, day = self._flown.rows[self._farthest], self._farthest, self._home, self._day
        plain = self._aircraft[number]
        asked = [AskedWay(self._home_of_row[number], row.end, home, plain, BOTH_ENGINES)]
        cases = [(GEAR_DOWN, plain)]
        if day.pack.engine.count > 1:
            cases.insert(0, (ONE_ENGINE, plain))
        trapped = external_fuel(day, self._ramp, row.load)
        if trapped > 0.0:
            cases.append((TRAPPED_EXTERNAL, aircraft_after(day, row, trapped)))
        for name, aircraft in cases:
            profile = self._ways.profile(aircraft, home, name)
            place = self._ways.add(profile, row.end, home.point, row.end_altitude, row.mach)
            asked.append(AskedWay(place, row.end, home, aircraft, name))
        return asked

    def _table(self, number: int) -> tuple[Floats, list[int]]:
        """Return distances from the fix, m, and the places of their ways home in the batch."""
        row, home = self._flown.rows[number], self._home
        farthest = self._ways.distance(self._home_of_row[number]) / NAUTICAL_MILE
        step = next((one for one in TABLE_STEPS if one * (TABLE_ROWS - 1) >= farthest), TABLE_STEPS[-1])
        distances = step * NAUTICAL_MILE * np.arange(1.0, TABLE_ROWS + 1.0)
        profile = self._ways.profile(self._aircraft[number], home)
        places = [
            self._ways.add(profile, row.end, home.point, row.end_altitude, row.mach, float(distance))
            for distance in distances
        ]
        return distances, places

    def _diversion(self) -> AskedWay | None:
        """Return the way from a go-around at the landing field to the alternate."""
        to, fix = self._alternate, self._row_at_fix()
        if to is None or fix is None:
            return None
        day, aircraft, last = self._day, aircraft_after(self._day, fix), self._last_point(fix)
        speed = float(mach_from_cas(day.climb.cas, standard_pressure(day.landing_field)))
        profile = self._ways.profile(aircraft, to)
        place = self._ways.add(profile, last, to.point, day.landing_field, speed)
        return AskedWay(place, last, to, aircraft, BOTH_ENGINES)

    def _last_point(self, fix: RouteRow) -> PlacedPoint:
        return landing_point(self._day.sortie) or fix.end

    def _computed(self) -> tuple[WayHome | None, list[RouteFault]]:
        if not self._home_of_row:
            return None, []
        day, ways = self._day, self._ways
        try:
            power, highest = home_power(day), day.winds.highest
            profiles = quickest_climb(day.pack, ways.profiles(), ways.air, power)
            found = way_home(day.pack, profiles, ways.starts(), ways.air, power, highest=highest)
        except OutsideTable as error:
            text = f"Fuel for the way home is not computed: {error}"
            return None, [
                RouteFault(-1, text, "Change the height of the way home", "no-go", ("route", "recovery"))
            ]
        return found, []

    def _bingo(self, place: int, number: int | None, found: WayHome | None) -> float:
        if found is None or number is None:
            return float("nan")
        return float(found.bingo[place]) + self._aircraft[number].unusable

    def _least(self, found: WayHome | None) -> list[float | None]:
        """Return by row the least fuel with which home can be reached, kg; None on the ground."""
        least: list[float | None] = []
        for number, row in enumerate(self._flown.rows):
            spare = self._aircraft[number].unusable
            if row.part == "approach":
                least.append(max(self._home.fuel - self._book.approach, 0.0) + spare)
            elif number not in self._home_of_row or found is None:
                least.append(None)
            elif self._is_at_fix(number, row):
                least.append(self._home.fuel + spare)
            else:
                bingo = self._bingo(self._home_of_row[number], number, found)
                least.append(bingo if np.isfinite(bingo) else None)
        return least

    def _is_at_fix(self, number: int, row: RouteRow) -> bool:
        near = self._ways.distance(self._home_of_row[number]) < AT_FIX
        return near and row.end_altitude < self._home.altitude + AT_FIX

    def _to_alternate(self, number: int, found: WayHome | None) -> float | None:
        if found is None or number not in self._alternate_of_row:
            return None
        bingo = self._bingo(self._alternate_of_row[number], number, found)
        return bingo if np.isfinite(bingo) else None

    def _row_at_fix(self) -> RouteRow | None:
        rows = self._flown.rows
        if not self._flown.complete or len(rows) == 0:
            return None
        return rows[-2] if rows[-1].part == "approach" and len(rows) > 1 else rows[-1]

    def _return_fuel(self, way: AskedWay, found: WayHome | None) -> ReturnFuel:
        flown_with, remark, place = found, "", way.place
        if way.name == ONE_ENGINE and found is not None and not np.isfinite(found.bingo[place]):
            flown_with, place = self._with_all_power(way), 0
            remark = "held with the highest power setting only"
        return return_fuel_of(
            way, flown_with, place, self._ways.distance(way.place), remark, self._ramp_usable()
        )

    def _with_all_power(self, way: AskedWay) -> WayHome | None:
        """Return the way home at the highest power setting, for an aircraft that military does not hold."""
        day, ways = self._day, self._ways
        row = np.array([way.place], dtype=np.intp)
        power = home_power(day, day.pack.engine.maximum)
        starts = ways.starts().take(row)
        try:
            profiles = quickest_climb(day.pack, ways.profiles(), ways.air, power)
            return way_home(day.pack, profiles, starts, ways.air, power, highest=day.winds.highest)
        except OutsideTable:
            return None

    def _ramp_usable(self) -> dict[str, float]:
        """Return by profile how much usable fuel the tanks it may draw from hold when full, kg."""
        pack = self._day.pack
        inside = sum(tank.capacity - tank.unusable for tank in pack.mass.tanks.values())
        return {TRAPPED_EXTERNAL: inside, "": inside + external_fuel_aboard(pack, self._ramp)}

    def _diverted(self, way: AskedWay, found: WayHome | None) -> ReturnFuel:
        """Return the way to the alternate with the go-around's allowance in it."""
        distance = self._ways.distance(way.place)
        plain = return_fuel_of(way, found, way.place, distance, "", self._ramp_usable())
        return with_missed_approach(plain, self._book.missed_approach)

    def _joker(self, bingo: float) -> float | None:
        """Return bingo with one more exercise and regrouping on top, kg."""
        book, pack = self._book, self._day.pack
        assert self._farthest is not None
        row = self._flown.rows[self._farthest]
        altitude = row.end_altitude if book.joker_altitude is None else book.joker_altitude
        setting = pack.engine.settings[book.joker_power or pack.engine.military]
        warm = float(self._day.winds.isa_deviation(altitude))
        try:
            flow = pack.engine.count * float(fuel_flow_per_engine(setting, row.mach, altitude, warm))
        except OutsideTable:
            return None
        return bingo + flow * book.joker_time + book.regroup

    def _radius(self, found: WayHome | None, asked: Sequence[AskedWay]) -> float | None:
        """Return how far one can go straight out on the farthest point's course and back, m."""
        takeoff = next((row for row in self._flown.rows if row.part == "takeoff"), None)
        if found is None or takeoff is None or not asked or not np.isfinite(found.altitude[asked[0].place]):
            return None
        day, place = self._day, asked[0].place
        level = float(found.altitude[place]) - LEVEL_STEP * np.arange(float(RADIUS_LEVELS))
        level = level[level >= max(self._home.altitude, takeoff.end_altitude)]
        if not len(level):
            return None
        share = (level - self._home.altitude) / max(float(level[0]) - self._home.altitude, 1.0)
        aircraft = aircraft_after(day, takeoff)
        profile = self._ways.profile(aircraft, self._home)
        winds = self._ways.starts().take(np.array([place], dtype=np.intp))
        both = (winds.headwind, winds.crosswind)
        head, cross = self._ways.air.at(both, np.zeros(1, dtype=np.intp), level[None, :])
        way = OutAndBack(
            self._ways.profiles().take(np.array([profile], dtype=np.intp)),
            takeoff.balance.mass,
            takeoff.end_altitude,
            level,
            np.full(len(level), float(found.mach[place])),
            -head[0],
            cross[0],
            # From lower levels in proportion to the height.
            float(found.descent_fuel[place]) * share,
            float(found.descent_distance[place]) * share,
        )
        try:
            distance, _ = out_and_back(day.pack, way, self._ways.air, home_power(day))
        except OutsideTable:
            return None
        return distance if np.isfinite(distance) else None
