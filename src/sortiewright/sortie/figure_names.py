"""The names of the figures that a plan of some pack can have, before any sortie is planned.

Checklists and debrief rules speak of figures by name; this says whether a name exists, and its kind.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from sortiewright.pack import Pack
from sortiewright.sortie.figures import Figure, Kind, Plan
from sortiewright.sortie.units import DIFFERENCES

MOST_CABLES = 4
"""Cables of one runway that are given names: ``cable_1`` to ``cable_4``."""

WORDS_ONLY = frozenset(
    [
        "wind",
        "sunrise",
        "sunset",
        "civil_dusk",
        "power",
        "flaps",
        "decision_speed_basis",
        "uncovered_band",
        "time_at_fix",
        "last_return",
    ]
)
"""Figures that say everything in words: they have no value to compare."""

SI_UNITS: dict[Kind, str] = {
    Kind.RUNWAY_DISTANCE: "m",
    Kind.HEIGHT: "m",
    Kind.CAS: "m/s",
    Kind.TAS: "m/s",
    Kind.GROUND_SPEED: "m/s",
    Kind.WIND_SPEED: "m/s",
    Kind.MASS: "kg",
    Kind.ANGLE: "rad",
    Kind.COURSE: "rad",
    Kind.TIME: "s",
    Kind.GRADIENT: "",
    Kind.CLIMB_RATE: "m/s",
    Kind.ENERGY: "J",
    Kind.PRESSURE: "Pa",
    Kind.ALTIMETER: "Pa",
    Kind.TEMPERATURE: "K",
    Kind.PERCENT_MAC: "",
    Kind.SIDE_MOMENT: "N.m",
    Kind.MASS_FLOW: "kg/s",
    Kind.FORCE: "N",
    Kind.FRACTION: "",
    Kind.NUMBER: "",
    Kind.TRIM_UNITS: "",
    Kind.DISTANCE: "m",
    Kind.LEVEL: "m",
    Kind.MACH: "",
    Kind.SPECIFIC_RANGE: "m/kg",
    Kind.LOAD_FACTOR: "",
    Kind.TURN_RATE: "rad/s",
    Kind.TURN_RADIUS: "m",
}
"""The SI unit of each kind. A course is in degrees in a figure and in radians where it is compared."""


@dataclass(frozen=True, slots=True)
class FigureName:
    """A figure that plans of a pack can have."""

    section: str
    name: str
    kind: Kind


def possible_figures(pack: Pack) -> tuple[FigureName, ...]:
    """Return every figure that a plan of this pack can have, in the plan's order of sections."""
    sections = {
        "weather": _WEATHER,
        "field": _FIELD,
        "loading": _LOADING,
        "run_up": dict(_run_up(pack)),
        "takeoff": dict(_takeoff(pack)),
        "engine_failure": dict(_engine_failure(pack)),
        "route": _ROUTE,
        "fuel": dict(_fuel(pack)),
        "flight": dict(_flight(pack)),
        "landing": dict(_landing(pack)),
    }
    return tuple(
        FigureName(section, name, kind) for section, names in sections.items() for name, kind in names.items()
    )


def figure_kinds(pack: Pack) -> dict[str, Kind]:
    """Return the kind of each name by which a figure can be asked for.

    A name that stands in two sections means the first; ``takeoff_stall_speed`` and ``landing_stall_speed``
    mean one each.
    """
    names = possible_figures(pack)
    twice = {name for name, count in Counter(one.name for one in names).items() if count > 1}
    kinds: dict[str, Kind] = {}
    for one in names:
        kinds.setdefault(one.name, one.kind)
    return kinds | {f"{one.section}_{one.name}": one.kind for one in names if one.name in twice}


def find_figure(plan: Plan, name: str) -> Figure | None:
    """Return the figure of that name, as ``figure_kinds`` names them, or None where this plan has none."""
    for section in plan.sections:
        for figure in section.figures:
            if name == figure.name:
                return figure
    for section in plan.sections:
        for figure in section.figures:
            if name == f"{section.name}_{figure.name}":
                return figure
    return None


def figure_unit(name: str, kind: Kind) -> str:
    """Return the SI unit in which a figure's value is compared; a difference of temperatures has its own."""
    return "delta_degC" if name in DIFFERENCES else SI_UNITS[kind]


_WEATHER = {
    "temperature": Kind.TEMPERATURE,
    "qnh": Kind.ALTIMETER,
    "pressure_altitude": Kind.HEIGHT,
    "density_altitude": Kind.HEIGHT,
    "isa_deviation": Kind.TEMPERATURE,
    "wind": Kind.WIND_SPEED,
    "headwind": Kind.WIND_SPEED,
    "crosswind": Kind.WIND_SPEED,
    "tailwind": Kind.WIND_SPEED,
    "sunrise": Kind.TIME,
    "sunset": Kind.TIME,
    "civil_dusk": Kind.TIME,
}
_FIELD = {
    "runway_heading_magnetic": Kind.COURSE,
    "runway_length": Kind.RUNWAY_DISTANCE,
    "elevation": Kind.HEIGHT,
    "slope": Kind.FRACTION,
    "runway_condition_reading": Kind.NUMBER,
    "hydroplaning_speed": Kind.GROUND_SPEED,
}
_LOADING = {
    "basic_mass": Kind.MASS,
    "zero_fuel_mass": Kind.MASS,
    "fuel_at_ramp": Kind.MASS,
    "takeoff_fuel": Kind.MASS,
    "landing_fuel": Kind.MASS,
    "ramp_mass": Kind.MASS,
    "takeoff_mass": Kind.MASS,
    "landing_mass": Kind.MASS,
    "centre_of_gravity_takeoff": Kind.PERCENT_MAC,
    "centre_of_gravity_zero_fuel": Kind.PERCENT_MAC,
    "forward_limit": Kind.PERCENT_MAC,
    "aft_limit": Kind.PERCENT_MAC,
    "drag_index": Kind.NUMBER,
    "side_moment_takeoff": Kind.SIDE_MOMENT,
    "trim": Kind.TRIM_UNITS,
}
_TAKEOFF = {
    "power": Kind.NUMBER,
    "flaps": Kind.NUMBER,
    "stall_speed": Kind.CAS,
    "nosewheel_lift_off_speed": Kind.CAS,
    "briefed_rotation_speed": Kind.CAS,
    "rotation_speed": Kind.CAS,
    "lift_off_speed": Kind.CAS,
    "takeoff_attitude": Kind.ANGLE,
    "ground_run": Kind.RUNWAY_DISTANCE,
    "distance_to_screen": Kind.RUNWAY_DISTANCE,
    "runway_for_takeoff": Kind.RUNWAY_DISTANCE,
    "time_to_lift_off": Kind.TIME,
    "line_marker": Kind.RUNWAY_DISTANCE,
    "line_speed": Kind.CAS,
    "line_speed_minimum": Kind.CAS,
    "pitch_at_lift_off": Kind.ANGLE,
    "tail_strike_margin": Kind.ANGLE,
    "tyre_speed_margin": Kind.GROUND_SPEED,
}
_ROUTE = {
    "route_length": Kind.DISTANCE,
    "flight_time": Kind.TIME,
    "route_fuel": Kind.MASS,
    "fuel_taken_on": Kind.MASS,
    "climb_top": Kind.LEVEL,
    "climb_time": Kind.TIME,
    "climb_fuel": Kind.MASS,
    "climb_length": Kind.DISTANCE,
    "highest_level": Kind.LEVEL,
    "time_at_fix": Kind.TIME,
}


def _fuel(pack: Pack) -> Iterator[tuple[str, Kind]]:
    if pack.technique.fuel is None:
        return
    for name in ("fuel_at_fix", "route_landing_fuel", "bingo", "joker"):
        yield name, Kind.MASS
    if pack.engine.count > 1:
        yield "bingo_one_engine", Kind.MASS
    if any(store.fuel_capacity > 0.0 for store in pack.stores.values()):
        yield "bingo_trapped_external", Kind.MASS
    for name in ("bingo_gear_down", "alternate_fuel", "minimum_fuel", "emergency_fuel", "ladder_margin"):
        yield name, Kind.MASS
    yield "farthest_point", Kind.DISTANCE
    yield "radius", Kind.DISTANCE
    yield "last_return", Kind.TIME


def _flight(pack: Pack) -> Iterator[tuple[str, Kind]]:
    for when in ("takeoff", "midway"):
        yield f"service_ceiling_{when}", Kind.LEVEL
        yield f"combat_ceiling_{when}", Kind.LEVEL
    several = pack.engine.count > 1
    if several:
        yield "one_engine_ceiling", Kind.LEVEL
    for aim in ("range", "endurance", *(("one_engine_range",) if several else ())):
        yield f"{aim}_altitude", Kind.LEVEL
        yield f"{aim}_mach", Kind.MACH
        yield f"{aim}_fuel_flow", Kind.MASS_FLOW
        if "range" in aim:
            yield f"{aim}_specific_range", Kind.SPECIFIC_RANGE
    yield "turn_altitude", Kind.LEVEL
    yield "turn_mach", Kind.MACH
    yield "corner_speed", Kind.CAS
    for turn in ("instantaneous", "sustained"):
        yield f"{turn}_turn_rate", Kind.TURN_RATE
        yield f"{turn}_radius", Kind.TURN_RADIUS
        yield f"{turn}_load_factor", Kind.LOAD_FACTOR
    yield "excess_power", Kind.CLIMB_RATE
    yield "load_factor_limit", Kind.LOAD_FACTOR


def _run_up(pack: Pack) -> Iterator[tuple[str, Kind]]:
    for readings in pack.engine.run_up:
        for name, given, kind in (
            ("rpm", readings.rpm, Kind.FRACTION),
            ("exhaust_temperature", readings.exhaust_temperature, Kind.TEMPERATURE),
            ("fuel_flow", readings.fuel_flow, Kind.MASS_FLOW),
            ("nozzle", readings.nozzle, Kind.FRACTION),
            ("oil_pressure", readings.oil_pressure, Kind.PRESSURE),
        ):
            if given is not None:
                yield f"{readings.setting}_{name}", kind


def _takeoff(pack: Pack) -> Iterator[tuple[str, Kind]]:
    technique, limits = pack.technique.takeoff, pack.limits
    if technique.stick_aft_speed is not None:
        yield "stick_aft_speed", Kind.CAS
    yield from _TAKEOFF.items()
    for name, given in (
        ("gear_up_cas", technique.gear_up_least_cas),
        ("flap_up_cas", technique.flap_up_cas),
        ("power_reduction_cas", technique.power_reduction_cas),
        ("climb_cas", technique.climb_cas),
        ("gear_limit_cas", limits.gear_speed),
        ("flap_limit_cas", limits.flap_speed or None),
    ):
        if given is not None:
            yield name, Kind.CAS
    if limits.gear_speed is not None:
        yield "gear_limit_time", Kind.TIME


def _engine_failure(pack: Pack) -> Iterator[tuple[str, Kind]]:
    several = pack.engine.count > 1
    yield "decision_speed", Kind.CAS
    yield "decision_speed_basis", Kind.CAS
    yield "refusal_speed", Kind.CAS
    yield "longest_safe_abort_marker", Kind.RUNWAY_DISTANCE
    yield "accelerate_stop_at_decision", Kind.RUNWAY_DISTANCE
    if pack.wheels.energy_zones:
        yield "brake_energy_at_decision", Kind.ENERGY
        yield "maximum_braking_speed", Kind.GROUND_SPEED
    if several:
        yield "critical_field_length", Kind.RUNWAY_DISTANCE
        yield "critical_engine_failure_speed", Kind.CAS
        yield "minimum_go_speed", Kind.CAS
        yield "uncovered_band", Kind.CAS
        yield "minimum_control_ground_speed", Kind.CAS
        yield "accelerate_go_at_decision", Kind.RUNWAY_DISTANCE
        yield "single_engine_climb_cas", Kind.CAS
        yield "single_engine_gradient_gear_down", Kind.GRADIENT
        yield "single_engine_gradient_gear_up", Kind.GRADIENT
        yield "single_engine_rate_gear_up", Kind.CLIMB_RATE


def _landing(pack: Pack) -> Iterator[tuple[str, Kind]]:
    yield "landing_mass", Kind.MASS
    yield "stall_speed", Kind.CAS
    yield "approach_angle_of_attack", Kind.ANGLE
    yield "approach_cas", Kind.CAS
    yield "gust_increment", Kind.WIND_SPEED
    yield "touchdown_cas", Kind.CAS
    if pack.technique.landing.aerobrake_until_cas is not None:
        yield "aerobrake_until_cas", Kind.CAS
    if pack.wheels.chute is not None:
        yield "chute_maximum_cas", Kind.CAS
    yield "landing_distance", Kind.RUNWAY_DISTANCE
    yield "landing_distance_available", Kind.RUNWAY_DISTANCE
    yield "tyre_speed_margin", Kind.GROUND_SPEED
    if pack.wheels.energy_zones:
        yield "brake_energy", Kind.ENERGY
    if pack.technique.landing.flare_load_factor is None:
        yield "sink_rate", Kind.CLIMB_RATE
    yield "over_landing_limit", Kind.MASS
    yield "touchdown_hydroplaning_speed", Kind.GROUND_SPEED
    if pack.engine.count > 1:
        yield "go_around_gradient_gear_down", Kind.GRADIENT
        yield "go_around_gradient_gear_up", Kind.GRADIENT
    if pack.wheels.hook is not None:
        yield "hook_limit", Kind.GROUND_SPEED
        for number in range(1, MOST_CABLES + 1):
            yield f"cable_{number}", Kind.RUNWAY_DISTANCE
