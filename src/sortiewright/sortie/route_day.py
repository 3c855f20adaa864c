"""What a route is flown with: the air over it, the schedules of pack and sortie, the limits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from sortiewright.air import WindLevel, WindsAloft, pressure_altitude, standard_temperature, winds_over
from sortiewright.pack import Pack
from sortiewright.performance import FlightSetup, LoadState, flight_setup
from sortiewright.sortie.conditions import Conditions
from sortiewright.sortie.place import takeoff_time
from sortiewright.sortie.route_schema import LevelChoice, Route, WindAloft
from sortiewright.sortie.schema import Sortie

FASTEST_CAS = 600.0  # m/s, where the pack has no limit of its own
FIX_HEIGHT = 457.2  # m over the landing field, 1,500 ft, where the recovery fix has no height of its own


@dataclass(frozen=True, slots=True)
class Schedule:
    """A climb or descent: CAS m/s, then Mach, with the setting below and above where they cross."""

    cas: float
    mach: float | None
    power: str
    upper_power: str
    speedbrake: float = 0.0


@dataclass(frozen=True, slots=True)
class RouteDay:
    """Everything the route is flown with that does not change on the way. SI, pressure altitudes."""

    sortie: Sortie
    pack: Pack
    route: Route
    setup: FlightSetup
    winds: WindsAloft
    sea_level: float
    """Pressure altitude of the altimeter's zero, m."""
    field: float
    landing_field: float
    fix: float
    climb: Schedule
    descent: Schedule
    cruise_power: str
    cruise_mach: float | None
    holding_bank: float
    brake_release: datetime
    remarks: tuple[str, ...]

    def height(self, choice: LevelChoice, before: float) -> float:
        """Return the pressure altitude of a level, m; ``before`` where it says none."""
        if choice.altitude is not None:
            return choice.altitude + self.sea_level
        if choice.flight_level is not None:
            return flight_level_height(choice.flight_level)
        return before

    def speed_limits(self, load: LoadState) -> tuple[float, float]:
        """Return the highest CAS, m/s, and Mach number allowed with what still hangs on the aircraft."""
        limits = self.pack.limits
        stores = [
            self.pack.stores[name]
            for station, carried in load.stores.items()
            for name in carried
            if station not in load.released or self.pack.stores[name].kind == "rack"
        ]
        cas = _least([limits.maximum_cas and limits.maximum_cas.value, *(one.maximum_cas for one in stores)])
        mach = _least(
            [limits.maximum_mach and limits.maximum_mach.value, *(one.maximum_mach for one in stores)]
        )
        return min(cas, FASTEST_CAS), mach


def flight_level_height(flight_level: float) -> float:
    """Return the pressure altitude of a flight level, m."""
    return flight_level * 100.0 * 0.3048


def route_day(sortie: Sortie, pack: Pack, conditions: Conditions, arrival: Conditions) -> RouteDay:
    """Return what the sortie's route is flown with.

    Raises ``ValueError`` where route, date, field air or a schedule is missing: all of them are faults of the
    file, told when it is loaded, but for a weather report that lacks a value.
    """
    route, start = sortie.route, takeoff_time(sortie)
    if route is None or start is None:
        raise ValueError("the sortie has no route, or no date and time")
    if conditions.air is None or conditions.weather.qnh is None:
        raise ValueError("; ".join(conditions.missing))
    climb, descent = climb_schedule(pack, route), descent_schedule(pack, route)
    if climb is None or descent is None:
        raise ValueError("the pack gives no speeds to climb and descend at, and the route none of its own")
    remarks: list[str] = []
    sea_level = float(pressure_altitude(conditions.weather.qnh))
    landing_elevation = arrival.runway.elevation
    fix_altitude = route.recovery.fix_altitude
    fix = (landing_elevation + FIX_HEIGHT if fix_altitude is None else fix_altitude) + sea_level
    return RouteDay(
        sortie,
        pack,
        route,
        flight_setup(pack),
        _winds(route, conditions, sea_level, remarks),
        sea_level,
        float(conditions.air.pressure_altitude),
        landing_elevation + sea_level,
        fix,
        climb,
        descent,
        pack.technique.cruise.power or pack.engine.military,
        pack.technique.cruise.mach,
        pack.technique.cruise.holding_bank,
        start.astimezone(UTC),
        tuple(remarks),
    )


def climb_schedule(pack: Pack, route: Route, power: str | None = None) -> Schedule | None:
    """Return how the route's climbs are flown: as it says, else as the pack does; None where neither does."""
    book = pack.technique.climb
    cas = route.climb_cas or (book.cas if book is not None else pack.technique.takeoff.climb_cas)
    if cas is None:
        return None
    mach = route.climb_mach or (book.mach if book is not None and route.climb_cas is None else None)
    chosen = power or route.climb_power
    if chosen is not None or book is None:
        setting = chosen or pack.engine.military
        return Schedule(cas, mach, setting, setting)
    return Schedule(cas, mach, book.power, book.upper_power or book.power)


def descent_schedule(pack: Pack, route: Route) -> Schedule | None:
    """Return how the route's descents are flown; None where neither pack nor route says."""
    book = pack.technique.descent
    cas = route.descent_cas or (book.cas if book is not None else None)
    if cas is None:
        return None
    mach = route.descent_mach or (book.mach if book is not None and route.descent_cas is None else None)
    power = (book.power if book is not None else None) or pack.engine.idle
    return Schedule(cas, mach, power, power, book.speedbrake if book is not None else 0.0)


def _winds(route: Route, conditions: Conditions, sea_level: float, remarks: list[str]) -> WindsAloft:
    air, wind = conditions.air, conditions.weather.wind
    assert air is not None
    warm = float(air.isa_deviation)
    if not route.winds_aloft:
        remarks.append("No winds aloft are given (route.winds_aloft): still air")
        return winds_over((), isa_deviation=warm)
    levels = [_level(one, sea_level) for one in route.winds_aloft]
    levels.sort(key=lambda level: level.pressure_altitude)
    if all(one.isa_deviation is None for one in levels):
        remarks.append("No temperature aloft is given: as far off standard as at the field, at every height")
    elif levels[-1].isa_deviation is None:
        remarks.append("No temperature is given at the highest wind: as far off standard as the last that is")
    surface = WindLevel(float(air.pressure_altitude), 0.0, 0.0, warm)
    if wind is not None and wind.direction_from_deg is not None:
        surface = WindLevel(surface.pressure_altitude, wind.direction_from_deg, wind.speed, warm)
    elif wind is not None and wind.speed > 0.0:
        remarks.append("The wind at the field is variable: on the route it counts as calm there")
    return winds_over(levels, surface)


def _level(one: WindAloft, sea_level: float) -> WindLevel:
    height = wind_height(one, sea_level)
    return WindLevel(height, one.wind_from, one.wind_speed, _deviation(one.temperature, height))


def wind_height(one: WindAloft, sea_level: float = 0.0) -> float:
    """Return the pressure altitude of a level of the winds, m."""
    if one.flight_level is not None:
        return flight_level_height(one.flight_level)
    return (one.altitude or 0.0) + sea_level


def _deviation(temperature: float | None, height: float) -> float | None:
    return None if temperature is None else temperature - float(standard_temperature(height))


def _least(values: Iterable[float | None]) -> float:
    return min((one for one in values if one is not None), default=float("inf"))
