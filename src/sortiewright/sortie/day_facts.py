"""What is true of a sortie beside its figures: what it carries, who flies, how runway and light are.

Checklists ask for these by name; a fact that nothing tells is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Literal

from sortiewright.air import light_state, sun_times
from sortiewright.pack import Pack
from sortiewright.sortie.conditions import (
    Conditions,
    landing_chute,
    landing_conditions,
    stop_chute,
    takeoff_conditions,
)
from sortiewright.sortie.loading import ramp_load
from sortiewright.sortie.numbers import chosen_technique
from sortiewright.sortie.place import takeoff_time
from sortiewright.sortie.schema import Sortie

RunwayCondition = Literal["dry", "wet", "icy"]
RUNWAY_CONDITIONS: tuple[RunwayCondition, ...] = ("dry", "wet", "icy")
LEAST_DRY, LEAST_WET = 19, 6
"""Runway condition readings in whole numbers. U.S. Navy CNATRA P-304, figure 1-17: braking is good from 19,
fair or poor from 6, nil below. That this is dry, wet and icy: common practice, no source."""


@dataclass(frozen=True, slots=True)
class DayFacts:
    """Facts of one sortie. Speeds m/s, masses kg."""

    stores: dict[str, tuple[str, ...]]
    """What hangs on each loaded station."""
    occupied: dict[str, bool]
    """By seat of the pack."""
    external_fuel: float
    """In tanks on stations, at the ramp."""
    takeoff_configuration: str
    takeoff_power: str
    landing_configuration: str
    runway_condition: RunwayCondition
    landing_runway_condition: RunwayCondition
    standing_water: bool
    landing_standing_water: bool
    cable_rigged: bool
    landing_cable_rigged: bool
    chute_for_reject: bool
    chute_for_landing: bool
    lands_elsewhere: bool
    at_night: bool | None
    gust: float | None
    """How far the gust is over the mean wind; 0 without gusts."""
    landing_crosswind: float | None


def facts_of_day(sortie: Sortie, pack: Pack) -> DayFacts:
    """Return the facts of a sortie; raises ``SortieError`` or ``MetarError`` where the day cannot be read."""
    start = takeoff_conditions(sortie)
    end = landing_conditions(sortie, start)
    technique = chosen_technique(sortie, pack)
    rejected = technique.rejected.chute_commanded is not None and stop_chute(sortie, pack, start)
    return DayFacts(
        stores={station: carried for station, carried in sortie.load.stores.items() if carried},
        occupied=occupied_seats(sortie, pack),
        external_fuel=sum(ramp_load(sortie, pack).store_fuel.values()),
        takeoff_configuration=technique.configuration,
        takeoff_power=technique.power,
        landing_configuration=sortie.landing.configuration or pack.technique.landing.configuration,
        runway_condition=_condition(start),
        landing_runway_condition=_condition(end),
        standing_water=start.standing_water,
        landing_standing_water=end.standing_water,
        cable_rigged=any(cable.rigged for cable in start.runway.cables),
        landing_cable_rigged=any(cable.rigged for cable in end.runway.cables),
        chute_for_reject=rejected,
        chute_for_landing=landing_chute(sortie, pack, end),
        lands_elsewhere=end.aerodrome != start.aerodrome,
        at_night=_at_night(sortie, start),
        gust=None if start.weather.wind is None else _gust(start),
        landing_crosswind=None if end.wind is None else float(end.wind.crosswind_limit),
    )


def occupied_seats(sortie: Sortie, pack: Pack) -> dict[str, bool]:
    """Return for each seat of the pack whether somebody sits there.

    A seat that the sortie does not name is taken by somebody of the pack's standard mass; one whose mass is
    written as 0 is empty.
    """
    return {
        seat: not (
            seat in sortie.crew and sortie.crew[seat].mass is not None and sortie.crew[seat].mass == 0.0
        )
        for seat in pack.mass.seats
    }


def _condition(conditions: Conditions) -> RunwayCondition:
    """Return the runway's state by the reading with which the plan counts."""
    reading = round(conditions.runway_condition_reading)
    return "dry" if reading >= LEAST_DRY else "wet" if reading >= LEAST_WET else "icy"


def _gust(conditions: Conditions) -> float:
    wind = conditions.weather.wind
    return 0.0 if wind is None or wind.gust is None else wind.gust - wind.speed


def _at_night(sortie: Sortie, conditions: Conditions) -> bool | None:
    """Return whether takeoff is before sunrise or after the end of civil twilight in the evening."""
    when, place = takeoff_time(sortie), conditions.aerodrome
    if when is None:
        return None
    light = light_state(place.latitude_deg, place.longitude_deg, when)
    if light != "civil twilight":
        return light == "night"
    zone = timedelta(hours=round(place.longitude_deg / 15.0))
    sunset = sun_times(place.latitude_deg, place.longitude_deg, (when + zone).date()).sunset
    return sunset is None or when < sunset
