"""What a sortie file may say of today. Every value is SI once loaded; compass directions are degrees true."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from sortiewright.pack import (
    Angle,
    AngularRate,
    Length,
    Mass,
    Model,
    Number,
    PositiveLength,
    Pressure,
    Quantity,
    QuantityError,
    Speed,
    Temperature,
    Time,
)


def _degrees(low: float, high: float) -> AfterValidator:
    """A direction: read as an angle, kept in degrees, inside a range."""

    def check(radians: float) -> float:
        degrees = math.degrees(radians)
        if not low - 1e-9 <= degrees <= high + 1e-9:
            raise QuantityError(f"{degrees:g} deg", f"must be {low:g} to {high:g} deg")
        return degrees

    return AfterValidator(check)


Course = Annotated[float, Quantity("rad", "268 deg"), _degrees(0.0, 360.0)]
Variation = Annotated[float, Quantity("rad", "-2.5 deg"), _degrees(-180.0, 180.0)]
Latitude = Annotated[Number, Field(ge=-90, le=90)]
Longitude = Annotated[Number, Field(ge=-180, le=180)]
Condition = Literal["dry", "wet", "icy"]


def _as_list(raw: Any) -> Any:
    return (raw,) if isinstance(raw, str) else raw


StoreNames = Annotated[tuple[str, ...], BeforeValidator(_as_list)]
"""One store, or a list in the order they hang."""


class CrewMember(Model):
    """Who sits in a seat. ``mass`` with kit; the pack's standard mass where absent."""

    name: str = ""
    mass: Mass | None = None


class Fuel(Model):
    """Fuel at ramp. Tanks are full where nothing is said.

    ``total`` is what the internal tanks hold together: the tanks that empty last are filled first. ``tanks`` gives
    single tanks instead. ``external`` is by station that carries a tank.
    """

    total: Mass | None = None
    tanks: dict[str, Mass] = {}
    external: dict[str, Mass] = {}


class Load(Model):
    """What hangs on the aircraft, and the fuel."""

    fuel: Fuel = Fuel()
    stores: dict[str, StoreNames] = {}
    release_order: tuple[str, ...] = ()
    """Stations in the order their stores are to be released; each step's balance is checked."""
    start_and_taxi_fuel: Mass | None = None
    taxi_time: Time | None = None
    """From start to brake release; with the pack's taxi fuel flow, where ``start_and_taxi_fuel`` is absent."""
    landing_fuel: Mass | None = None
    """Fuel at touchdown; a fifth of takeoff fuel where absent, with a remark."""


class Cable(Model):
    """An arresting cable; distance from the start of the pavement in the takeoff direction."""

    name: str
    distance: Length
    rigged: bool = True


class RunwayToday(Model):
    """The runway in use and its state."""

    designator: str
    true_heading: Course | None = None
    magnetic_heading: Course | None = None
    length: PositiveLength
    width: Length | None = None
    elevation: Length | None = None
    slope: Annotated[Number, Field(ge=-0.1, le=0.1)] = 0.0
    displaced_threshold: Length = 0.0
    overrun: Length = 0.0
    stopway: Length = 0.0
    clearway: Length = 0.0
    surface: str = "concrete"
    condition: Condition | None = None
    runway_condition_reading: Annotated[Number, Field(ge=0, le=26)] | None = None
    standing_water: bool = False
    start_offset: Length = 0.0
    """Where the takeoff run begins, after the start of the pavement."""
    cables: tuple[Cable, ...] = ()


class AerodromeToday(Model):
    """The field: named by ICAO code from the open dataset, or written out, or both (what is written wins)."""

    icao: str | None = None
    name: str | None = None
    latitude: Latitude | None = None
    longitude: Longitude | None = None
    elevation: Length | None = None
    variation: Variation | None = None
    runways: tuple[RunwayToday, ...] = ()


class WeatherToday(Model):
    """A weather report, or single values; what is written beside a report replaces the report's."""

    metar: str | None = None
    wind_from: Course | None = None
    wind_speed: Speed | None = None
    gust: Speed | None = None
    temperature: Temperature | None = None
    qnh: Pressure | None = None


class TakeoffChoices(Model):
    """Departures from the pack's takeoff technique, for this sortie."""

    configuration: str | None = None
    power: str | None = None
    release_power: str | None = None
    rotation_speed: Speed | None = None
    pitch_rate: AngularRate | None = None
    takeoff_attitude: Angle | None = None
    continue_to: Literal["lift_off", "screen"] | None = None
    rejected_with_chute: bool = True


class LandingChoices(Model):
    """Departures from the pack's landing technique, for this sortie."""

    configuration: str | None = None
    on_speed_angle_of_attack: Angle | None = None
    stores: Literal["kept", "released"] = "kept"
    with_chute: bool = True


class LandingPlace(Model):
    """Where the sortie ends, where that is not the takeoff runway."""

    aerodrome: AerodromeToday | None = None
    runway: str | None = None
    weather: WeatherToday | None = None


class Requirements(Model):
    """What this departure asks for beyond the pack's limits."""

    single_engine_climb_gradient: Annotated[float, Quantity("m/m", "200 ft/nmi"), Field(ge=0)] | None = None


class Sortie(Model):
    """Everything that is true of today."""

    title: str
    callsign: str
    squadron: str = ""
    date: str
    """Day of the takeoff, UTC: 2026-05-14."""
    time: str
    """Time of the takeoff, UTC: 09:40Z."""
    pack: str
    crew: dict[str, CrewMember] = {}
    load: Load = Load()
    aerodrome: AerodromeToday
    runway: str
    """Designator of the takeoff runway, one of the aerodrome's ``runways``."""
    weather: WeatherToday
    takeoff: TakeoffChoices = TakeoffChoices()
    landing: LandingChoices = LandingChoices()
    landing_place: LandingPlace = LandingPlace()
    requirements: Requirements = Requirements()
    notes: str = ""
