"""Ways home of a route as the physics wants them: aircraft, reserves, limits and wind of each start."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import FuelTechnique, Pack
from sortiewright.performance import (
    AirAbove,
    CruiseSpeed,
    HomePower,
    HomeProfiles,
    HomeStarts,
    LoadState,
)
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_flown import PlacedPoint, RouteRow
from sortiewright.sortie.route_pieces import landing_point
from sortiewright.sortie.route_points import placed_point, way_between
from sortiewright.sortie.route_schema import LevelChoice, SpeedChoice

Floats = NDArray[np.float64]

BOTH_ENGINES, ONE_ENGINE = "both_engines", "one_engine"
GEAR_DOWN, TRAPPED_EXTERNAL = "gear_down", "trapped_external"


@dataclass(frozen=True, slots=True)
class Destination:
    """Where a way leads: the point, its height (pressure altitude m), the fuel to be left (kg, usable, what
    the gauges may be wrong by included), and how it is cruised."""

    point: PlacedPoint
    altitude: float
    fuel: float
    cruise_altitude: float
    speed: CruiseSpeed


@dataclass(frozen=True, slots=True)
class Aircraft:
    """The aircraft at one moment: mass without usable fuel kg, drag index, highest CAS m/s and Mach number,
    and the fuel aboard that cannot be used, kg."""

    dry_mass: float
    drag_index: float
    maximum_cas: float
    maximum_mach: float
    unusable: float


_COLUMNS = (
    "dry_mass",
    "drag_index",
    "fuel_at_fix",
    "fix_altitude",
    "gear",
    "failed",
    "climb_cas",
    "climb_mach",
    "descent_cas",
    "descent_mach",
    "maximum_cas",
    "maximum_mach",
    "cruise_altitude",
)


@dataclass
class Ways:
    """Starts gathered for one computation. ``add`` returns the place of each in the results."""

    day: RouteDay
    _profiles: dict[tuple[object, ...], int] = field(default_factory=dict[tuple[object, ...], int])
    _columns: list[tuple[float, ...]] = field(default_factory=list[tuple[float, ...]])
    _speeds: list[CruiseSpeed] = field(default_factory=list[CruiseSpeed])
    _rows: list[tuple[int, float, float, float]] = field(
        default_factory=list[tuple[int, float, float, float]]
    )
    _courses_deg: list[float] = field(default_factory=list[float])

    @cached_property
    def air(self) -> AirAbove:
        """The air over the route at the heights where anything is known of it."""
        winds = self.day.winds
        heights = np.unique(np.concatenate([winds.heights, winds.deviation_heights]))
        heights = heights[heights <= winds.highest]
        return AirAbove(heights, winds.isa_deviation(heights))

    def profile(self, aircraft: Aircraft, to: Destination, name: str = BOTH_ENGINES) -> int:
        """Return the place of this aircraft on its way to a destination among the profiles."""
        day, speed = self.day, to.speed
        gear, failed, fastest = 0.0, 0, aircraft.maximum_cas
        if name == ONE_ENGINE:
            failed = 1
        if name == GEAR_DOWN:
            gear, limit = 1.0, day.pack.limits.gear_speed
            fastest = min(fastest, limit.value if limit is not None else np.inf)
        if name in (ONE_ENGINE, GEAR_DOWN):
            speed = CruiseSpeed()
        key = (aircraft, to, name)
        if key not in self._profiles:
            self._profiles[key] = len(self._columns)
            self._speeds.append(speed)
            self._columns.append(
                (
                    aircraft.dry_mass,
                    aircraft.drag_index,
                    to.fuel,
                    to.altitude,
                    gear,
                    failed,
                    day.climb.cas,
                    np.inf if day.climb.mach is None else day.climb.mach,
                    day.descent.cas,
                    np.inf if day.descent.mach is None else day.descent.mach,
                    fastest,
                    aircraft.maximum_mach,
                    to.cruise_altitude,
                )
            )
        return self._profiles[key]

    def add(
        self,
        profile: int,
        start: PlacedPoint,
        to: PlacedPoint,
        altitude: float,
        mach: float,
        distance: float | None = None,
    ) -> int:
        """Add a way from a point at a pressure altitude, m; ``distance`` m replaces its own."""
        way = way_between(start, to)
        self._rows.append((profile, way.distance if distance is None else distance, altitude, mach))
        self._courses_deg.append(way.middle_course_deg)
        return len(self._rows) - 1

    def distance(self, row: int) -> float:
        """Return the distance of a way, m."""
        return self._rows[row][1]

    def profiles(self) -> HomeProfiles:
        """Return all profiles."""
        columns = np.array(self._columns, dtype=np.float64).T
        named = dict(zip(_COLUMNS, columns, strict=True))
        failed = named.pop("failed").astype(np.intp)
        return HomeProfiles(**named, failed=failed, speeds=tuple(self._speeds))

    def starts(self) -> HomeStarts:
        """Return all starts."""
        rows = np.array(self._rows, dtype=np.float64).reshape(-1, 4)
        head, cross = self.day.winds.along(np.array(self._courses_deg)[:, None], self.air.altitudes)
        return HomeStarts(rows[:, 0].astype(np.intp), rows[:, 1], rows[:, 2], rows[:, 3], head, cross)


def home_power(day: RouteDay, level: str | None = None) -> HomePower:
    """Return the settings of a way home; ``level`` replaces that of climb and cruise."""
    return HomePower(
        level or day.climb.upper_power, level or day.cruise_power, day.descent.power, day.descent.speedbrake
    )


def home_of(day: RouteDay, book: FuelTechnique) -> Destination:
    """Return the recovery fix, with the fuel to be left there; raises ``ValueError`` for an unknown point."""
    recovery = day.route.recovery
    point = landing_point(day.sortie) if recovery.fix is None else placed_point(day.sortie, recovery.fix)
    if point is None:
        raise ValueError("the place of the recovery fix is not known")
    fuel = book.normal_recovery if recovery.fuel is None else recovery.fuel
    speed = cruise_speed(recovery, book.return_mach)
    return Destination(point, day.fix, fuel + book.gauge_tolerance, _level(day, recovery), speed)


def alternate_of(day: RouteDay, book: FuelTechnique) -> Destination | None:
    """Return the alternate with the fuel to be left there; it is passed at the height of the recovery fix."""
    choice = day.route.recovery.alternate
    if choice is None:
        return None
    point = placed_point(day.sortie, choice.at)
    if point is None:
        raise ValueError("the place of the alternate is not known")
    fuel = book.normal_recovery if choice.recovery_fuel is None else choice.recovery_fuel
    speed = cruise_speed(choice, book.return_mach)
    return Destination(point, day.fix, fuel + book.gauge_tolerance, _level(day, choice), speed)


def cruise_speed(choice: SpeedChoice, otherwise: float | None) -> CruiseSpeed:
    """Return how fast a way home is cruised: as the sortie says, else at a Mach number, else for range."""
    if choice.mach is not None:
        return CruiseSpeed("mach", choice.mach)
    if choice.cas is not None:
        return CruiseSpeed("cas", choice.cas)
    if choice.tas is not None:
        return CruiseSpeed("tas", choice.tas)
    if choice.ground_speed is not None:
        return CruiseSpeed("ground_speed", choice.ground_speed)
    if choice.best is not None:
        return CruiseSpeed(choice.best)
    return CruiseSpeed() if otherwise is None else CruiseSpeed("mach", otherwise)


def aircraft_after(day: RouteDay, row: RouteRow, trapped: float = 0.0) -> Aircraft:
    """Return the aircraft as it is at a row's end, without its usable fuel; ``trapped`` kg hang outside."""
    pack = day.pack
    inside = sum(max(kg - pack.mass.tanks[name].unusable, 0.0) for name, kg in row.load.fuel.items())
    usable = inside + external_fuel_aboard(pack, row.load)
    cas, mach = day.speed_limits(row.load)
    dry = row.balance.mass - usable + trapped
    return Aircraft(
        round(dry, 6),
        row.balance.drag_index,
        cas,
        mach,
        round(row.load.total_fuel - usable + trapped, 6),
    )


def external_fuel(day: RouteDay, ramp: LoadState, load: LoadState) -> float:
    """Return the usable fuel that the external tanks still carried held at the ramp, kg."""
    held = 0.0
    for station, fuel in ramp.store_fuel.items():
        if station not in load.released and station in load.stores:
            held += max(fuel - sum(day.pack.stores[name].fuel_unusable for name in load.stores[station]), 0.0)
    return held


def external_fuel_aboard(pack: Pack, load: LoadState) -> float:
    """Return the usable fuel in external tanks, kg."""
    held = 0.0
    for station, fuel in load.store_fuel.items():
        if station not in load.released:
            held += max(fuel - sum(pack.stores[name].fuel_unusable for name in load.stores[station]), 0.0)
    return held


def _level(day: RouteDay, choice: LevelChoice) -> float:
    return day.height(choice, float("nan"))
