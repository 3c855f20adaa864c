"""What the schema cannot say: names that must exist, and values that must fit each other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import Protocol

from sortiewright.pack.consistency_tables import table_faults
from sortiewright.pack.errors import Path, Problem, choice_hint, shown
from sortiewright.pack.fault import Fault
from sortiewright.pack.schema import Pack
from sortiewright.pack.schema_loading import EnvelopePoint
from sortiewright.pack.units import readable

Check = Callable[[Pack], Iterable[Fault]]

EXTERNAL = "external"
"""The name in a feed order that stands for the tanks carried as stores."""


class Placing(Protocol):
    """Gives a fault its file and line."""

    def problem(self, path: Path, read: str, expected: str, hint: str = "") -> Problem:
        """Return the fault at a key path."""
        ...


def validate_loaded(pack: Pack, places: Placing) -> list[Problem]:
    """Return every fault between the values of a pack that holds to the schema, with file and line."""
    checks: tuple[Check, ...] = (
        _names,
        _feed_order,
        _gear_and_attitudes,
        _masses,
        _envelopes,
        _stores_and_stations,
        _technique,
        _wheels,
        table_faults,
    )
    return [places.problem(*fault) for check in checks for fault in check(pack)]


def _names(pack: Pack) -> Iterator[Fault]:
    """Names that must be a configuration, a power setting or a store."""
    takeoff, landing, engine = pack.technique.takeoff, pack.technique.landing, pack.engine
    configurations: list[tuple[Path, str | None]] = [
        (("technique", "takeoff", "configuration"), takeoff.configuration),
        (("technique", "landing", "configuration"), landing.configuration),
        (("technique", "landing", "no_flap_configuration"), landing.no_flap_configuration),
        *((("limits", "flap_speed", name), name) for name in pack.limits.flap_speed),
        *((("limits", "angle_of_attack", name), name) for name in pack.limits.angle_of_attack),
    ]
    settings: list[tuple[Path, str | None]] = [
        (("engine", "idle"), engine.idle),
        (("engine", "military"), engine.military),
        (("engine", "maximum"), engine.maximum),
        *((("engine", "run_up", i, "setting"), reading.setting) for i, reading in enumerate(engine.run_up)),
        (("technique", "takeoff", "power"), takeoff.power),
        (("technique", "takeoff", "release_power"), takeoff.release_power),
        (("technique", "takeoff", "engine_out_power"), takeoff.engine_out_power),
        *_powers_aloft(pack),
    ]
    stores: list[tuple[Path, str | None]] = [
        (("mass", "stations", name, "carries", i), store)
        for name, station in pack.mass.stations.items()
        for i, store in enumerate(station.carries)
    ]
    for named, known, what in (
        (configurations, pack.aero.configurations, "configurations"),
        (settings, engine.settings, "power settings"),
        (stores, pack.stores, "stores"),
    ):
        for path, name in named:
            if name is not None and name not in known:
                yield Fault(path, shown(name), f"is not one of the {what}", choice_hint(name, known, what))


def _feed_order(pack: Pack) -> Iterator[Fault]:
    """Each tank empties exactly once."""
    mass = pack.mass
    seen: set[str] = set()
    for i, group in enumerate(mass.feed_order):
        for j, name in enumerate(group):
            path: Path = ("mass", "feed_order", i, j)
            if name not in mass.tanks and name != EXTERNAL:
                known = [*mass.tanks, EXTERNAL]
                yield Fault(path, shown(name), "is not one of the tanks", choice_hint(name, known, "tanks"))
            elif name in seen:
                yield Fault(path, shown(name), "empties a second time here", "Name each tank once")
            seen.add(name)
    for name in mass.tanks:
        if name not in seen:
            yield Fault(
                ("mass", "feed_order"), "", f"the tank {shown(name)} never empties", "Name each tank once"
            )
    if EXTERNAL not in seen and any(store.fuel_capacity for store in pack.stores.values()):
        hint = f"Name {EXTERNAL} where they empty"
        yield Fault(("mass", "feed_order"), "", "the tanks carried as stores never empty", hint)


def _gear_and_attitudes(pack: Pack) -> Iterator[Fault]:
    frame = pack.airframe
    if frame.main_wheel_arm <= frame.nose_wheel_arm:
        expected = f"must lie aft of nose_wheel_arm, {readable(frame.nose_wheel_arm, 'm')}"
        yield Fault(("airframe", "main_wheel_arm"), readable(frame.main_wheel_arm, "m"), expected)
    elif not frame.nose_wheel_arm < pack.mass.basic_arm < frame.main_wheel_arm:
        ends = [readable(arm, "m") for arm in (frame.nose_wheel_arm, frame.main_wheel_arm)]
        expected = f"must lie between the wheels, {ends[0]} to {ends[1]}"
        yield Fault(("mass", "basic_arm"), readable(pack.mass.basic_arm, "m"), expected)
    for name in ("tail_strike_attitude", "tail_strike_attitude_struts_compressed"):
        attitude: float | None = getattr(frame, name)
        if attitude is not None and attitude <= frame.static_ground_attitude:
            expected = (
                f"must be more than static_ground_attitude, {readable(frame.static_ground_attitude, 'rad')}"
            )
            yield Fault(("airframe", name), readable(attitude, "rad"), expected)
    control = pack.aero.pitch_control
    if control.full_aft_angle == control.full_forward_angle:
        yield Fault(("aero", "pitch_control", "full_aft_angle"), "", "is the same as full_forward_angle")
    for path, (low, high), unit in _pairs(pack):
        if low >= high:
            read = f"{readable(low, unit)} to {readable(high, unit)}"
            yield Fault(path, read, "must give the lower value first")


def _pairs(pack: Pack) -> Iterator[tuple[Path, tuple[float, float], str]]:
    yield ("aero", "pitch_control", "trim_units_range"), pack.aero.pitch_control.trim_units_range, ""
    for i, reading in enumerate(pack.engine.run_up):
        if reading.oil_pressure is not None:
            yield ("engine", "run_up", i, "oil_pressure"), reading.oil_pressure, "Pa"


def _masses(pack: Pack) -> Iterator[Fault]:
    mass = pack.mass
    rising = ("basic_mass", "maximum_landing_mass", "maximum_takeoff_mass", "maximum_ramp_mass")
    for lighter, heavier in pairwise(rising):
        low, high = float(getattr(mass, lighter)), float(getattr(mass, heavier))
        if high < low or (lighter == "basic_mass" and high == low):
            yield Fault(
                ("mass", heavier),
                readable(high, "kg"),
                f"must not be less than {lighter}, {readable(low, 'kg')}",
            )
    for name, tank in mass.tanks.items():
        if tank.unusable >= tank.capacity:
            expected = f"must be less than the capacity, {readable(tank.capacity, 'kg')}"
            yield Fault(("mass", "tanks", name, "unusable"), readable(tank.unusable, "kg"), expected)
    if not mass.seats:
        yield Fault(("mass", "seats"), "", "no seat is given", "An aircraft needs at least one")


def _envelopes(pack: Pack) -> Iterator[Fault]:
    frame, mass = pack.airframe, pack.mass
    for name in ("envelope", "envelope_gear_up"):
        points: tuple[EnvelopePoint, ...] | None = getattr(mass, name)
        if points is None:
            continue
        path: Path = ("mass", name)
        if len(points) < 3:
            yield Fault(
                path, f"{len(points)} points", "enclose nothing", "Give at least three corners in order"
            )
            continue
        if crossing := _crossing(points):
            expected = f"the edges from corners {crossing[0]} and {crossing[1]} cross"
            yield Fault(path, "", expected, "Give the corners in order around the envelope")
        heaviest = max(point.mass for point in points)
        if heaviest < mass.maximum_takeoff_mass * (1 - 1e-9):
            expected = f"must reach maximum_takeoff_mass, {readable(mass.maximum_takeoff_mass, 'kg')}"
            yield Fault(path, f"a greatest mass of {readable(heaviest, 'kg')}", expected)
        for i, point in enumerate(points):
            arm = frame.mean_chord_leading_edge_arm + point.centre_of_gravity * frame.mean_chord
            if name == "envelope" and arm >= frame.main_wheel_arm > frame.nose_wheel_arm:
                expected = f"lies aft of the main wheels, {readable(frame.main_wheel_arm, 'm')}"
                read = f"{100 * point.centre_of_gravity:.1f} %MAC, {readable(arm, 'm')},"
                yield Fault(
                    (*path, i, "centre_of_gravity"), read, expected, "The aircraft would sit on its tail"
                )


def _crossing(points: tuple[EnvelopePoint, ...]) -> tuple[int, int] | None:
    """Return the numbers, from 1, of two corners whose edges to the next cross, or None."""
    corners = [(point.centre_of_gravity, point.mass) for point in points]
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for i, (a, b) in enumerate(edges):
        for j in range(i + 2, len(edges) - (1 if i == 0 else 0)):
            c, d = edges[j]
            if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
                return i + 1, j + 1
    return None


def _side(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> float:
    """Return on which side of the line through a and b a point lies: positive to the left."""
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _stores_and_stations(pack: Pack) -> Iterator[Fault]:
    for name, store in pack.stores.items():
        path: Path = ("stores", name)
        for part, whole in (
            ("remains_mass", "mass"),
            ("fuel_unusable", "fuel_capacity"),
        ):
            if getattr(store, part) > getattr(store, whole):
                expected = f"must not be more than {whole}, {readable(getattr(store, whole), 'kg')}"
                yield Fault((*path, part), readable(getattr(store, part), "kg"), expected)
        if store.kind == "tank" and not store.fuel_capacity:
            yield Fault((*path, "kind"), '"tank"', "needs a fuel_capacity")
        elif store.kind != "tank" and store.fuel_capacity:
            yield Fault(
                (*path, "fuel_capacity"), "", f"is for tanks only, this is a {store.kind}", "Write kind: tank"
            )
    for name, station in pack.mass.stations.items():
        for i, carried in enumerate(station.carries):
            store = pack.stores.get(carried)
            if store is not None and store.mass > station.maximum_load:
                expected = f"weighs more than maximum_load, {readable(station.maximum_load, 'kg')}"
                yield Fault(("mass", "stations", name, "carries", i), shown(carried), expected)


def _powers_aloft(pack: Pack) -> Iterator[tuple[Path, str | None]]:
    """Yield the settings of climb, cruise, descent and joker, with where they stand."""
    technique = pack.technique
    if technique.climb is not None:
        yield ("technique", "climb", "power"), technique.climb.power
        yield ("technique", "climb", "upper_power"), technique.climb.upper_power
    yield ("technique", "cruise", "power"), technique.cruise.power
    if technique.descent is not None:
        yield ("technique", "descent", "power"), technique.descent.power
    if technique.fuel is not None:
        yield ("technique", "fuel", "joker_power"), technique.fuel.joker_power


def _technique(pack: Pack) -> Iterator[Fault]:
    takeoff, landing = pack.technique.takeoff, pack.technique.landing
    if takeoff.rotation_speed is not None and takeoff.rotation_speed_over_stall is not None:
        path: Path = ("technique", "takeoff", "rotation_speed_over_stall")
        yield Fault(path, "", "is given beside rotation_speed", "Keep one of them")
    positive: list[tuple[Path, float | None]] = [
        (("technique", "takeoff", "pitch_rate"), takeoff.pitch_rate),
        (("technique", "takeoff", "screen_height"), takeoff.screen_height),
        (("technique", "takeoff", "lift_off_speed_over_stall"), takeoff.lift_off_speed_over_stall),
        (("technique", "landing", "threshold_height"), landing.threshold_height),
        (("technique", "landing", "touchdown_speed_share"), landing.touchdown_speed_share),
        (("technique", "landing", "distance_factor"), landing.distance_factor),
    ]
    for path, value in positive:
        if value is not None and value <= 0:
            yield Fault(path, f"{value:g}", "must be greater than 0")
    strike = pack.airframe.tail_strike_attitude
    aerobrake = landing.aerobrake_angle_of_attack
    if aerobrake is not None and aerobrake >= strike:
        path = ("technique", "landing", "aerobrake_angle_of_attack")
        yield Fault(
            path,
            readable(aerobrake, "rad"),
            f"must be less than tail_strike_attitude, {readable(strike, 'rad')}",
        )


def _wheels(pack: Pack) -> Iterator[Fault]:
    wheels = pack.wheels
    zones = wheels.energy_zones
    for i in range(1, len(zones)):
        if zones[i].above <= zones[i - 1].above:
            expected = f"must be more than the zone before it, {readable(zones[i - 1].above, 'J')}"
            yield Fault(("wheels", "energy_zones", i, "above"), readable(zones[i].above, "J"), expected)
    if wheels.chute is not None and wheels.chute.least_useful_cas >= wheels.chute.maximum_cas:
        expected = f"must be less than maximum_cas, {readable(wheels.chute.maximum_cas, 'm/s')}"
        yield Fault(
            ("wheels", "chute", "least_useful_cas"), readable(wheels.chute.least_useful_cas, "m/s"), expected
        )
