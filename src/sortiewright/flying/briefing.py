"""What a scripted pilot takes from the plan: field, air, load, speeds, technique. SI; courses in degrees."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sortiewright.pack import InputError, Pack, Problem
from sortiewright.sortie import LoadedSortie, Numbers, Plan, Verdict, compute, find_figure, plan

LEAST_FLAP_OR_GEAR_MARGIN = 7.0  # m/s kept under a limit speed in the circuit
CIRCUIT_OVER_APPROACH = 1.35
"""Speed in the circuit over approach speed: common practice, no source."""


@dataclass(frozen=True)
class Field:
    """The runway and the air over it. Position is that of the beginning of the pavement."""

    name: str
    designator: str
    latitude_deg: float
    longitude_deg: float
    true_heading_deg: float
    elevation: float
    length: float
    start_offset: float
    threshold: float
    """Of the landing, from the beginning of the pavement."""
    pressure: float
    temperature: float
    wind_to_north: float
    wind_to_east: float
    braking_friction: float


@dataclass(frozen=True)
class Load:
    """What is aboard at brake release, kg."""

    mass: float
    fuel: Mapping[str, float]
    """By the pack's tanks, in its order."""
    crew: Mapping[str, float]


@dataclass(frozen=True)
class TakeoffBrief:
    """How to take off and climb away; a speed that the pack does not give is None."""

    rotation_cas: float
    lift_off_cas: float
    decision_cas: float | None
    attitude: float
    pitch_rate: float
    screen_height: float
    release_power: str | None
    power: str
    flaps: bool
    gear_up_delay: float
    flap_up_cas: float
    power_reduction_cas: float | None
    climb_cas: float
    engine_out_cas: float | None
    engine_out_reaction: float
    recognition: float
    brakes_on: float


@dataclass(frozen=True)
class LandingBrief:
    """How to land. Speeds are those of ``mass``; ``approach_at`` gives them for another."""

    mass: float
    approach_cas: float
    touchdown_share: float
    """Touchdown over approach speed."""
    glide_angle: float
    threshold_height: float
    free_roll_time: float
    flaps: bool

    def approach_at(self, mass: float) -> float:
        """Return the approach speed of a mass: it goes with the root."""
        return self.approach_cas * math.sqrt(mass / self.mass)


@dataclass(frozen=True)
class Briefing:
    """All of it. ``remarks`` say where the flight will not be the plan's."""

    title: str
    callsign: str
    pack: str
    field: Field
    load: Load
    takeoff: TakeoffBrief
    landing: LandingBrief
    gear_cas: float
    """Limit with the gear down; inf where the pack gives none."""
    flap_cas: float
    no_go: tuple[str, ...]
    remarks: tuple[str, ...]

    def circuit_at(self, mass: float) -> float:
        """Return the speed in the circuit at a mass, under the limits of gear and flaps."""
        limit = min(self.gear_cas, self.flap_cas) - LEAST_FLAP_OR_GEAR_MARGIN
        approach = self.landing.approach_at(mass)
        return max(min(CIRCUIT_OVER_APPROACH * approach, limit), approach)


def briefing_of(loaded: LoadedSortie) -> Briefing:
    """Return what the pilot is told. ``InputError`` where the plan lacks a number that flying needs."""
    made = plan(loaded.sortie, loaded.pack)
    numbers = compute(loaded.sortie, loaded.pack.pack)
    pack = loaded.pack.pack
    if numbers.takeoff is None:
        raise InputError([_lacking("takeoff numbers", numbers.takeoff_problem)])
    problems: list[Problem] = []
    takeoff = _takeoff(made, numbers, pack, problems)
    landing = _landing(made, pack, problems)
    if takeoff is None or landing is None:
        raise InputError(problems)
    configuration = numbers.technique.configuration
    flap = [
        pack.limits.flap_speed.get(name) for name in (configuration, pack.technique.landing.configuration)
    ]
    gear = pack.limits.gear_speed
    return Briefing(
        title=made.title,
        callsign=made.callsign,
        pack=pack.name,
        field=_field(numbers, pack),
        load=_load(numbers, pack),
        takeoff=takeoff,
        landing=landing,
        gear_cas=math.inf if gear is None else gear.value,
        flap_cas=min([math.inf, *(one.value for one in flap if one is not None)]),
        no_go=tuple(one.text for one in made.reasons if one.severity is Verdict.NO_GO),
        remarks=tuple(_remarks(numbers, pack)),
    )


def _field(numbers: Numbers, pack: Pack) -> Field:
    conditions = numbers.conditions
    runway, weather, air = conditions.runway, conditions.weather, conditions.air
    assert air is not None
    assert weather.wind is not None
    wind = weather.wind
    towards = math.radians((wind.direction_from_deg or 0.0) + 180.0)
    speed = 0.0 if wind.direction_from_deg is None else wind.speed
    friction = pack.wheels.braking_friction(conditions.runway_condition_reading)
    return Field(
        conditions.aerodrome.name,
        runway.designator,
        conditions.aerodrome.latitude_deg,
        conditions.aerodrome.longitude_deg,
        runway.true_heading_deg,
        runway.elevation,
        runway.length,
        conditions.start_offset,
        runway.displaced_threshold,
        float(air.pressure),
        float(air.temperature),
        speed * math.cos(towards),
        speed * math.sin(towards),
        float(friction),
    )


def _load(numbers: Numbers, pack: Pack) -> Load:
    load = numbers.loads.takeoff
    return Load(
        float(numbers.loads.takeoff_balance.mass),
        {name: load.fuel.get(name, 0.0) for name in pack.mass.tanks},
        dict(load.crew),
    )


def _takeoff(made: Plan, numbers: Numbers, pack: Pack, problems: list[Problem]) -> TakeoffBrief | None:
    rotation = _needed(made, "briefed_rotation_speed", problems)
    lift_off = _needed(made, "lift_off_speed", problems)
    attitude = _needed(made, "takeoff_attitude", problems)
    if rotation is None or lift_off is None or attitude is None:
        return None
    how = numbers.technique
    return TakeoffBrief(
        rotation_cas=rotation,
        lift_off_cas=lift_off,
        decision_cas=_value(made, "decision_speed"),
        attitude=attitude,
        pitch_rate=how.pitch_rate,
        screen_height=how.screen_height,
        release_power=how.release_power,
        power=how.power,
        flaps=how.configuration != _clean(pack),
        gear_up_delay=how.gear_up_delay,
        flap_up_cas=how.flap_up_cas or CLEAN_OVER_LIFT_OFF * lift_off,
        power_reduction_cas=how.power_reduction_cas,
        climb_cas=how.climb_cas or CLIMB_OVER_LIFT_OFF * lift_off,
        engine_out_cas=_value(made, "single_engine_climb_cas"),
        engine_out_reaction=how.engine_out_reaction,
        recognition=how.rejected.recognition,
        brakes_on=how.rejected.brakes_on,
    )


CLEAN_OVER_LIFT_OFF, CLIMB_OVER_LIFT_OFF = 1.2, 1.35
"""Where the pack gives no such speed: common practice, no source."""


def _clean(pack: Pack) -> str:
    """Return the configuration without flaps: the one of the pack so named, else the first."""
    names = list(pack.aero.configurations)
    return "clean" if "clean" in names else names[0]


def _landing(made: Plan, pack: Pack, problems: list[Problem]) -> LandingBrief | None:
    approach = _needed(made, "approach_cas", problems)
    touchdown = _needed(made, "touchdown_cas", problems)
    mass = _needed(made, "landing_mass", problems)
    if approach is None or touchdown is None or mass is None:
        return None
    how = pack.technique.landing
    return LandingBrief(
        mass=mass,
        approach_cas=approach,
        touchdown_share=touchdown / approach,
        glide_angle=how.glide_angle,
        threshold_height=how.threshold_height,
        free_roll_time=how.free_roll_time,
        flaps=how.configuration != _clean(pack),
    )


def _value(made: Plan, name: str) -> float | None:
    figure = find_figure(made, name)
    return None if figure is None or figure.value is None or not math.isfinite(figure.value) else figure.value


def _needed(made: Plan, name: str, problems: list[Problem]) -> float | None:
    value = _value(made, name)
    if value is None:
        figure = find_figure(made, name)
        title = name.replace("_", " ") if figure is None else figure.title
        problems.append(_lacking(title, "" if figure is None else figure.problem or figure.text))
    return value


def _lacking(title: str, why: str) -> Problem:
    said = f"the plan has none ({why})" if why else "the plan has none"
    return Problem("plan", None, title, "", f"{said}, and the pilot flies by it")


def _remarks(numbers: Numbers, pack: Pack) -> list[str]:
    said: list[str] = []
    conditions = numbers.conditions
    if abs(conditions.runway.slope) > 1e-4:
        said.append("The flight model's ground is level; the plan's runway slopes")
    if numbers.landing_conditions is not conditions:
        said.append("The circuit ends on the runway of the takeoff, not at the sortie's landing place")
    if pack.wheels.chute is not None:
        said.append("The flight model has no drag chute: stops are made without it")
    wind = conditions.weather.wind
    if wind is not None and wind.direction_from_deg is None and wind.speed > 0.0:
        said.append("A wind of variable direction is flown as a calm")
    if wind is not None and wind.gust is not None:
        said.append("The wind is flown steady, without its gusts")
    if numbers.loads.takeoff.stores:
        said.append("Stores are flown as weight only: the flight model has no drag of theirs")
    return said
