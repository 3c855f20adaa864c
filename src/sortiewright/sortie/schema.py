"""What a sortie file may say of today. Every value is SI once loaded; compass directions are degrees true."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sortiewright.pack import Angle, Length, Mass, Model, Number, Pressure, Quantity, Speed, Temperature, Time
from sortiewright.sortie.route_schema import Route
from sortiewright.sortie.schema_values import (
    FASTEST_ROTATION,
    HEAVIEST_OCCUPANT,
    Condition,
    Course,
    Extent,
    Latitude,
    Longitude,
    RotationRate,
    RunwayLength,
    StoreNames,
    Variation,
    WindSpeed,
    at_most,
)


class CrewMember(Model):
    """Who sits in a seat. ``mass`` with kit; the pack's standard mass where absent."""

    name: str = ""
    mass: Annotated[Mass, at_most(HEAVIEST_OCCUPANT, "kg", "more than anyone weighs")] | None = None


class Fuel(Model):
    """Fuel at ramp. Tanks are full where nothing is said.

    ``total`` is what the internal tanks hold together: the tanks that empty last are filled first. ``tanks``
    gives single tanks instead. ``external`` is by station that carries a tank.
    """

    total: Mass | None = None
    tanks: dict[str, Mass] = Field(default_factory=dict[str, float])
    external: dict[str, Mass] = Field(default_factory=dict[str, float])


class Load(Model):
    """What hangs on the aircraft, and the fuel."""

    fuel: Fuel = Fuel()
    stores: dict[str, StoreNames] = Field(default_factory=dict[str, tuple[str, ...]])
    release_order: tuple[str, ...] = ()
    """Stations in the order their stores are to be released; each step's balance is checked."""
    start_and_taxi_fuel: Mass | None = None
    taxi_time: Time | None = None
    """From start to brake release, at the pack's taxi fuel flow; where ``start_and_taxi_fuel`` is absent."""
    landing_fuel: Mass | None = None
    """Fuel at touchdown; what the route leaves where absent, without a route a fifth of takeoff fuel, with a
    remark."""


class Cable(Model):
    """An arresting cable; distance from the start of the pavement in the takeoff direction."""

    name: str
    distance: Extent
    rigged: bool = True


class RunwayToday(Model):
    """The runway in use and its state."""

    designator: str
    true_heading: Course | None = None
    magnetic_heading: Course | None = None
    length: RunwayLength
    width: Extent | None = None
    elevation: Length | None = None
    slope: Annotated[Number, Field(ge=-0.1, le=0.1)] = 0.0
    displaced_threshold: Extent = 0.0
    overrun: Extent = 0.0
    stopway: Extent = 0.0
    clearway: Extent = 0.0
    surface: str = "concrete"
    condition: Condition | None = None
    runway_condition_reading: Annotated[Number, Field(ge=0, le=26)] | None = None
    standing_water: bool = False
    start_offset: Extent = 0.0
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
    """A weather report, or single values; what is written beside a report replaces the report's.

    A wind speed written here stands without the report's gust; without any direction it is a variable wind.
    """

    metar: str | None = None
    wind_from: Course | None = None
    wind_speed: WindSpeed | None = None
    gust: WindSpeed | None = None
    temperature: Temperature | None = None
    qnh: Pressure | None = None


class TakeoffChoices(Model):
    """Departures from the pack's takeoff technique, for this sortie."""

    configuration: str | None = None
    power: str | None = None
    release_power: str | None = None
    rotation_speed: Annotated[Speed, at_most(FASTEST_ROTATION, "m/s", "no rotation speed")] | None = None
    pitch_rate: RotationRate | None = None
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
    overlay: str = ""
    """File with calibrated factors for the pack, relative to this file."""
    crew: dict[str, CrewMember] = Field(default_factory=dict[str, CrewMember])
    load: Load = Load()
    aerodrome: AerodromeToday
    runway: str
    """Designator of the takeoff runway, one of the aerodrome's ``runways``."""
    weather: WeatherToday
    takeoff: TakeoffChoices = TakeoffChoices()
    landing: LandingChoices = LandingChoices()
    landing_place: LandingPlace = LandingPlace()
    requirements: Requirements = Requirements()
    route: Route | None = None
    notes: str = ""
