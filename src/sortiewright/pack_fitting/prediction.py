"""What a pack gives for handbook rows: each through the same function as a plan's number."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, Air, cas_from_tas, mach_from_cas, standard_air
from sortiewright.pack import Pack
from sortiewright.pack_fitting.fit_points import CLIMBS, FitPoint
from sortiewright.performance import (
    Cases,
    FlightCases,
    SteadySpeed,
    flight_point,
    flight_setup,
    fly_schedule,
    fly_takeoff,
    height_of,
    land,
    make_cases,
    make_flight_cases,
    stall_speed,
    steady_level_flight,
    takeoff_setup,
)

Floats = NDArray[np.float64]
Key = TypeVar("Key")

DRY_READING = 23.0
STEP = 10.0  # m of pressure altitude over which the speed's change with height is taken
CLIMB_PASSES = 3  # the angle's effect on lift leaves a hundredth of the error each time

GROUPS = {
    "takeoff": ("ground_run", "distance_to_screen", "lift_off_speed"),
    "stall": ("stall_speed",),
    "landing": ("approach_speed", "landing_roll", "landing_distance"),
    "rate": ("rate_of_climb",),
    "climb": tuple(sorted(CLIMBS)),
    "level": ("fuel_flow",),
}
"""Rows that are computed together."""
GROUP_OF = {quantity: group for group, quantities in GROUPS.items() for quantity in quantities}


def predicted(pack: Pack, points: Sequence[FitPoint]) -> Floats:
    """Return what the pack gives for each row, (n,), SI; inf or NaN where its aircraft cannot do it.

    Raises ``OutsideTable`` where a table of the pack does not reach a row's conditions.
    """
    found = np.full(len(points), np.nan)
    for group, rows in _grouped(range(len(points)), lambda k: GROUP_OF[points[k].quantity]).items():
        found[rows] = _METHODS[group](pack, [points[k] for k in rows])
    return found


def _takeoffs(pack: Pack, points: list[FitPoint]) -> Floats:
    usual = pack.technique.takeoff
    found = np.zeros(len(points))

    def way(k: int) -> tuple[str, str]:
        words = points[k].words
        return words.get("configuration", usual.configuration), words.get("power", usual.power)

    for (configuration, power), rows in _grouped(range(len(points)), way).items():
        update: dict[str, str] = {"configuration": configuration, "power": power}
        if usual.release_power == usual.power:
            update["release_power"] = power
        technique = usual.model_copy(update=update)
        part = [points[k] for k in rows]
        flown = fly_takeoff(takeoff_setup(pack, _cases(pack, part), technique))
        values = {
            "ground_run": flown.ground_run,
            "distance_to_screen": flown.distance_to_screen,
            "lift_off_speed": flown.lift_off_cas,
        }
        found[rows] = _each(values, part)
    return found


def _stalls(pack: Pack, points: list[FitPoint]) -> Floats:
    cases = _cases(pack, points)
    found = np.zeros(len(points))
    usual = pack.technique.takeoff.configuration
    for name, rows in _grouped(
        range(len(points)), lambda k: points[k].words.get("configuration", usual)
    ).items():
        part = cases.take(np.array(rows))
        setting = pack.aero.configurations[name]
        tas = stall_speed(pack, setting, part.weight, part.density, part.speed_of_sound)
        found[rows] = np.asarray(cas_from_tas(tas, part.air))
    return found


def _landings(pack: Pack, points: list[FitPoint]) -> Floats:
    usual = pack.technique.landing.configuration
    found = np.zeros(len(points))
    for name, rows in _grouped(
        range(len(points)), lambda k: points[k].words.get("configuration", usual)
    ).items():
        part = [points[k] for k in rows]
        chute = np.array([point.words.get("chute") == "yes" for point in part])
        landed = land(pack, _cases(pack, part), configuration=name, chute=chute)
        values = {
            "approach_speed": landed.approach_cas,
            "landing_roll": landed.ground_roll,
            "landing_distance": landed.total,
        }
        found[rows] = _each(values, part)
    return found


def _climb_rates(pack: Pack, points: list[FitPoint]) -> Floats:
    """Return the rate of climb at constant CAS, or constant Mach where no CAS is stated, m/s of height.

    Specific excess power over 1 + V/g dV/dh, the acceleration factor.
    """
    found = np.zeros(len(points))
    for (name, power), rows in _grouped(range(len(points)), lambda k: _clean_way(pack, points[k])).items():
        part = [points[k] for k in rows]
        cases = _flight_cases(part)
        altitude, warm = _column(part, "pressure_altitude"), cases.isa_deviation
        factor = 1.0 + _speed_change(part, altitude, warm)
        setup, mach = flight_setup(pack, name), _mach(part, altitude)
        rate = np.zeros(len(part))
        for _ in range(CLIMB_PASSES):
            tas = mach * standard_air(altitude, warm).speed_of_sound
            cosine = np.sqrt(np.maximum(1.0 - (rate / tas) ** 2, 0.0))
            at = flight_point(
                pack,
                setup,
                cases,
                power,
                mass=cases.mass,
                pressure_altitude=altitude,
                mach=mach,
                load_factor=cosine,
            )
            rate = at.energy_rate / factor
        found[rows] = rate
    return found


def _speed_change(points: Sequence[FitPoint], altitude: Floats, warm: Floats) -> Floats:
    """Return V/g dV/dh of each row's speed held, without unit."""
    low, high = altitude - STEP, altitude + STEP
    speeds = [_mach(points, h) * standard_air(h, warm).speed_of_sound for h in (low, high)]
    rise = height_of(high, warm) - height_of(low, warm)
    change: Floats = (speeds[1] ** 2 - speeds[0] ** 2) / (2.0 * STANDARD_GRAVITY * rise)
    return change


def _climbs(pack: Pack, points: list[FitPoint]) -> Floats:
    technique = pack.technique.climb

    def way(k: int) -> tuple[str, str, float | None, float | None]:
        point = points[k]
        configuration, power = _clean_way(pack, point)
        cas, mach = point.conditions.get("cas"), point.conditions.get("mach")
        if cas is None and mach is None and technique is not None:
            cas, mach = technique.cas, technique.mach
        return configuration, power, cas, mach

    found = np.zeros(len(points))
    for (name, power, cas, mach), rows in _grouped(range(len(points)), way).items():
        part = [points[k] for k in rows]
        cases, altitude = _flight_cases(part), _column(part, "pressure_altitude")
        by_cas = np.inf if cas is None else mach_from_cas(cas, standard_air(altitude).pressure)
        start = np.minimum(by_cas, np.inf if mach is None else mach)
        path = fly_schedule(
            pack,
            flight_setup(pack, name),
            cases,
            (SteadySpeed(power, cas, mach),),
            altitude=altitude,
            mach=start,
            to_altitude=_column(part, "to_altitude"),
        )
        ground = path.ground_distance(cases.headwind[:, None])
        values = {
            "time_to_climb": path.time[:, -1],
            "fuel_to_climb": path.fuel[:, -1],
            "distance_to_climb": ground[:, -1],
        }
        found[rows] = _each(values, part)
    return found


def _level_flows(pack: Pack, points: list[FitPoint]) -> Floats:
    found = np.zeros(len(points))
    for (name, power), rows in _grouped(range(len(points)), lambda k: _level_way(pack, points[k])).items():
        part = [points[k] for k in rows]
        cases, altitude = _flight_cases(part), _column(part, "pressure_altitude")
        flight = steady_level_flight(
            pack,
            flight_setup(pack, name),
            cases,
            mass=cases.mass,
            pressure_altitude=altitude,
            mach=_mach(part, altitude),
            power=power,
        )
        found[rows] = flight.fuel_flow
    return found


_METHODS: dict[str, Callable[[Pack, list[FitPoint]], Floats]] = {
    "takeoff": _takeoffs,
    "stall": _stalls,
    "landing": _landings,
    "rate": _climb_rates,
    "climb": _climbs,
    "level": _level_flows,
}


def _clean_way(pack: Pack, point: FitPoint) -> tuple[str, str]:
    climb = pack.technique.climb
    usual = climb.power if climb is not None else pack.engine.military
    return _clean(pack, point), point.words.get("power", usual)


def _level_way(pack: Pack, point: FitPoint) -> tuple[str, str]:
    usual = pack.technique.cruise.power or pack.engine.military
    return _clean(pack, point), point.words.get("power", usual)


def _clean(pack: Pack, point: FitPoint) -> str:
    usual = pack.technique.landing.no_flap_configuration or next(iter(pack.aero.configurations))
    return point.words.get("configuration", usual)


def _cases(pack: Pack, points: Sequence[FitPoint]) -> Cases:
    frame = pack.airframe
    air = standard_air(_column(points, "pressure_altitude"), _column(points, "isa_deviation"))
    temperature = np.array(
        [
            point.conditions.get("temperature", float(standard))
            for point, standard in zip(points, np.atleast_1d(air.temperature), strict=True)
        ]
    )
    return make_cases(
        _column(points, "mass"),
        frame.mean_chord_leading_edge_arm + _column(points, "centre_of_gravity", 0.25) * frame.mean_chord,
        Air(air.pressure, temperature),
        drag_index=_column(points, "drag_index"),
        headwind=_column(points, "headwind"),
        slope=np.arctan(_column(points, "slope")),
        runway_condition_reading=_column(points, "runway_condition_reading", DRY_READING),
    )


def _flight_cases(points: Sequence[FitPoint]) -> FlightCases:
    altitude = _column(points, "pressure_altitude")
    standard = np.atleast_1d(np.asarray(standard_air(altitude).temperature, dtype=np.float64))
    warm = np.array(
        [
            point.conditions["temperature"] - float(usual)
            if "temperature" in point.conditions
            else point.condition("isa_deviation")
            for point, usual in zip(points, standard, strict=True)
        ]
    )
    return make_flight_cases(
        _column(points, "mass"),
        drag_index=_column(points, "drag_index"),
        isa_deviation=warm,
        headwind=_column(points, "headwind"),
    )


def _mach(points: Sequence[FitPoint], altitude: Floats) -> Floats:
    """Return the Mach number of each row at an altitude, m: its CAS there, or its Mach number."""
    pressure = np.atleast_1d(np.asarray(standard_air(altitude).pressure, dtype=np.float64))
    return np.array(
        [
            float(mach_from_cas(point.conditions["cas"], p))
            if "cas" in point.conditions
            else point.conditions["mach"]
            for point, p in zip(points, pressure, strict=True)
        ]
    )


def _column(points: Sequence[FitPoint], name: str, otherwise: float = 0.0) -> Floats:
    return np.array([point.condition(name, otherwise) for point in points])


def _each(values: dict[str, Floats], points: Sequence[FitPoint]) -> Floats:
    return np.array([values[point.quantity][k] for k, point in enumerate(points)])


def _grouped(rows: Sequence[int], key: Callable[[int], Key]) -> dict[Key, list[int]]:
    found: dict[Key, list[int]] = {}
    for row in rows:
        found.setdefault(key(row), []).append(row)
    return found
