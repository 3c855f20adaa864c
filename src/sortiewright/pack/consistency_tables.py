"""Tables that must reach where every flight goes: a standstill, sea level, the attitudes on the ground."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from sortiewright.pack.errors import Path
from sortiewright.pack.fault import Fault
from sortiewright.pack.schema import Pack
from sortiewright.pack.table import Table
from sortiewright.pack.units import readable

ICY, DRY = 5.0, 23.0
"""Runway condition readings between which every runway lies: icy and dry (domain practice, no source)."""

STANDARD_TEMPERATURE = 288.15  # K, sea level (ISO 2533)


def table_faults(pack: Pack) -> Iterator[Fault]:
    """Yield each table that does not reach where it will be read, or that holds what cannot be."""
    yield from _engine(pack)
    yield from _aero(pack)
    yield from _friction(pack)
    yield from _by_mass(pack)
    yield from _load_factors(pack)


def _reaches(path: Path, table: Table, axis: str, low: float, high: float, why: str) -> Iterator[Fault]:
    """Yield a fault if an axis does not reach from low to high."""
    first, last = table.range_of(axis)
    slack = 1e-9 * (last - first) + 1e-12  # as the table itself forgives
    if first > low + slack or last < high - slack:
        unit = table.units[table.names.index(axis)]
        ends = [readable(value, unit) for value in (low, high)]
        wanted = f"must reach {ends[0]}" if low == high else f"must reach from {ends[0]} to {ends[1]}"
        read = f"axis {axis}, {readable(first, unit)} to {readable(last, unit)},"
        yield Fault(path, read, wanted, f"Extend the table: {why}")


def _engine(pack: Pack) -> Iterator[Fault]:
    for name, setting in pack.engine.settings.items():
        path: Path = ("engine", "settings", name)
        for key, table in (("thrust", setting.thrust), ("fuel_flow", setting.fuel_flow)):
            yield from _reaches((*path, key), table, "mach", 0.0, 0.0, "a takeoff begins at Mach 0")
            why = "sea level is pressure altitude 0"
            yield from _reaches((*path, key), table, "pressure_altitude", 0.0, 0.0, why)
        for key in ("thrust_temperature_factor", "fuel_flow_temperature_factor"):
            factor: Table | None = getattr(setting, key)
            if factor is None:
                continue
            missing = list(_reaches((*path, key), factor, "isa_deviation", 0.0, 0.0, "standard days are 0"))
            yield from missing
            if not missing and abs(standard := float(factor(0.0)) - 1.0) > 0.01:
                expected = "on a standard day must be 1, as the tables are for that day"
                yield Fault((*path, key), f"{standard + 1.0:.3f}", expected)
    for i, reading in enumerate(pack.engine.run_up):
        for key in ("rpm", "exhaust_temperature", "fuel_flow", "nozzle"):
            table: Table | None = getattr(reading, key)
            if table is not None:
                path = ("engine", "run_up", i, key)
                standard_day = STANDARD_TEMPERATURE, STANDARD_TEMPERATURE
                yield from _reaches(path, table, "outside_temperature", *standard_day, "15 degC is standard")


def _aero(pack: Pack) -> Iterator[Fault]:
    takeoff, landing = pack.technique.takeoff, pack.technique.landing
    ground = pack.airframe.static_ground_attitude
    needed: dict[str, list[tuple[float, str]]] = {}
    needed.setdefault(takeoff.configuration, []).extend(
        [(ground, "its attitude in the ground roll"), (takeoff.takeoff_attitude, "the takeoff attitude")]
    )
    needed.setdefault(landing.configuration, []).extend(
        [(ground, "its attitude in the ground roll"), (landing.on_speed_angle_of_attack, "on-speed")]
    )
    if landing.aerobrake_angle_of_attack is not None:
        needed[landing.configuration].append((landing.aerobrake_angle_of_attack, "aerodynamic braking"))
    if landing.no_flap_configuration is not None:
        needed.setdefault(landing.no_flap_configuration, []).append(
            (ground, "its attitude in the ground roll")
        )
    for name, configuration in pack.aero.configurations.items():
        path: Path = ("aero", "configurations", name)
        for key, table in (("lift", configuration.lift), ("drag", configuration.drag)):
            if name in needed:
                yield from _reaches((*path, key), table, "mach", 0.0, 0.0, "a ground roll begins at Mach 0")
            for angle, why in needed.get(name, []):
                reason = f"{why} is {math.degrees(angle):.1f} deg"
                yield from _reaches((*path, key), table, "angle_of_attack", angle, angle, reason)
        if name in needed:
            mach_path = (*path, "maximum_lift")
            yield from _reaches(
                mach_path, configuration.maximum_lift, "mach", 0.0, 0.0, "it is read from Mach 0 up"
            )
        if (lowest := float(np.min(configuration.drag.values))) <= 0:
            yield Fault(
                (*path, "drag", "values"), f"{lowest:g}", "is a drag coefficient that is not positive"
            )
    yield from _lift_below_maximum(pack)
    effects = {"ground_effect": pack.aero.ground_effect, "ground_effect_lift": pack.aero.ground_effect_lift}
    for key, effect in effects.items():
        if effect is None:
            continue
        wheels_down = pack.airframe.wing_height / pack.airframe.span
        why = f"on its wheels the wing is at {wheels_down:.3f} spans"
        yield from _reaches(("aero", key), effect, "height_over_span", wheels_down, wheels_down, why)
        if key == "ground_effect_lift" and (lowest := float(np.min(effect.values))) <= 0:
            yield Fault(("aero", key, "values"), f"{lowest:g}", "is a factor on lift that is not positive")


def _lift_below_maximum(pack: Pack) -> Iterator[Fault]:
    """The lift flown on speed cannot be more than the greatest there is."""
    landing = pack.technique.landing
    configuration = pack.aero.configurations.get(landing.configuration)
    if configuration is None:
        return
    lift, greatest = configuration.lift, configuration.maximum_lift
    low, high = lift.range_of("angle_of_attack")
    angle = landing.on_speed_angle_of_attack
    shared = max(lift.range_of("mach")[0], greatest.range_of("mach")[0])
    if not low <= angle <= high or shared > min(lift.range_of("mach")[1], greatest.range_of("mach")[1]):
        return
    on_speed, most = float(lift(angle, shared)), float(greatest(shared))
    if on_speed >= most:
        path: Path = ("aero", "configurations", landing.configuration, "maximum_lift")
        yield Fault(path, f"{most:.3f}", f"must be more than the lift coefficient on speed, {on_speed:.3f}")


def _friction(pack: Pack) -> Iterator[Fault]:
    path: Path = ("wheels", "braking_friction")
    table = pack.wheels.braking_friction
    why = "runways lie between icy, 5, and dry, 23"
    yield from _reaches(path, table, "runway_condition_reading", ICY, DRY, why)
    if np.any(np.diff(table.values) < 0):
        yield Fault((*path, "values"), "", "friction falls as the runway condition reading rises")
    if table.values[-1] <= pack.wheels.rolling_friction:
        expected = f"must be more than rolling_friction, {pack.wheels.rolling_friction:g}"
        yield Fault(path, f"{table.values[-1]:g} on a dry runway", expected)
    for name in ("crosswind_takeoff", "crosswind_landing"):
        limit = getattr(pack.limits, name)
        if limit is not None:
            place: Path = ("limits", name, "value")
            yield from _reaches(place, limit.value, "runway_condition_reading", ICY, DRY, why)


def _by_mass(pack: Pack) -> Iterator[Fault]:
    mass = pack.mass
    empty = mass.basic_mass + sum(seat.standard_mass for seat in mass.seats.values())
    # Nobody takes off on less than a quarter of the internal fuel, but anybody may land on the last of it.
    departing = empty + 0.25 * sum(tank.capacity for tank in mass.tanks.values())
    takeoff, landing = mass.maximum_takeoff_mass, mass.maximum_landing_mass
    technique, limits = pack.technique, pack.limits
    tables: list[tuple[Path, Table | None, float, float, str]] = [
        (
            ("technique", "takeoff", "rotation_speed"),
            technique.takeoff.rotation_speed,
            departing,
            takeoff,
            "with crew and a quarter of the internal fuel up to the maximum takeoff mass",
        ),
        (
            ("limits", "load_factor_positive"),
            limits.load_factor_positive,
            empty,
            takeoff,
            "from basic mass with crew up to the maximum takeoff mass",
        ),
        (
            ("limits", "load_factor_rolling"),
            limits.load_factor_rolling,
            empty,
            takeoff,
            "from basic mass with crew up to the maximum takeoff mass",
        ),
    ]
    if pack.wheels.hook is not None:
        table = pack.wheels.hook.maximum_ground_speed
        why = "from basic mass with crew up to the maximum landing mass"
        tables.append((("wheels", "hook", "maximum_ground_speed"), table, empty, landing, why))
    for path, table, lightest, heaviest, why in tables:
        if table is not None and lightest < heaviest:
            yield from _reaches(path, table, "mass", lightest, heaviest, why)


def _load_factors(pack: Pack) -> Iterator[Fault]:
    """Rolling never allows more than pulling straight, and a negative limit has its minus sign."""
    straight, rolling = pack.limits.load_factor_positive, pack.limits.load_factor_rolling
    if straight is not None and rolling is not None:
        for mass, most in zip(rolling.axes[0], rolling.values, strict=True):
            low, high = straight.range_of("mass")
            if low <= mass <= high and most > float(straight(mass)) + 1e-9:
                read = f"{most:g} at {readable(float(mass), rolling.units[0])}"
                expected = f"must not be above load_factor_positive, {float(straight(mass)):g}"
                yield Fault(("limits", "load_factor_rolling", "values"), read, expected)
    for name, store in pack.stores.items():
        if store.minimum_load_factor is not None and store.minimum_load_factor > 0.0:
            path: Path = ("stores", name, "minimum_load_factor")
            yield Fault(path, f"{store.minimum_load_factor:g}", "must not be above 0: write its minus sign")
