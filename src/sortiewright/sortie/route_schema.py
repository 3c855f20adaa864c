"""What a sortie file may say of its route: points, winds aloft, legs, what is done at a point, the way home.

A point is named by an entry of ``points``, by the ICAO code of a field in the open dataset, by the name or
code of the sortie's own fields, or written in place as ``{latitude: .., longitude: ..}``. Heights are above
mean sea level on the field's altimeter setting (``altitude``) or flight levels in hundreds of feet
(``flight_level``).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sortiewright.pack import Angle, Fraction, Length, Mass, MassFlow, Model, Number, Speed, Temperature, Time
from sortiewright.sortie.schema_values import Course, Latitude, Longitude, WindSpeed

ClockTime = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?Z$")]
"""A time of day, UTC: 10:42Z or 10:42:30Z. Before the takeoff's it is the next day's."""
FlightLevel = Annotated[Number, Field(ge=0, le=700)]
RouteMach = Annotated[Number, Field(gt=0, lt=5)]
BestSpeed = Literal["range", "ground_range", "endurance"]


class RoutePoint(Model):
    """Where a point lies, degrees."""

    latitude: Latitude
    longitude: Longitude
    title: str = ""


PointName = str | RoutePoint


class WindAloft(Model):
    """Wind, and temperature where known, at one level; between levels the wind vector is interpolated."""

    altitude: Length | None = None
    flight_level: FlightLevel | None = None
    wind_from: Course
    wind_speed: WindSpeed
    temperature: Temperature | None = None


class SpeedChoice(Model):
    """How fast: one of these at most; where there is none, the pack's cruise technique."""

    mach: RouteMach | None = None
    cas: Speed | None = None
    tas: Speed | None = None
    ground_speed: Speed | None = None
    best: BestSpeed | None = None


class LevelChoice(Model):
    """How high: one of these at most; where there is none, as high as before."""

    altitude: Length | None = None
    flight_level: FlightLevel | None = None


class Orbit(SpeedChoice, LevelChoice):
    """Time spent at the point: an orbit, a loiter, a hold; for longest endurance where no speed is said."""

    time: Time | None = None
    until: ClockTime | None = None
    bank: Angle | None = None


class Refuel(SpeedChoice, LevelChoice):
    """Fuel taken on in flight, to full tanks without ``fuel``; ``time`` or ``rate``, one of both."""

    fuel: Mass | None = None
    time: Time | None = None
    rate: MassFlow | None = None


class Task(SpeedChoice, LevelChoice):
    """An exercise at the point, by time: at a power setting, or at a fuel flow."""

    title: str = "Task"
    time: Time
    power: str | None = None
    fuel_flow: MassFlow | None = None
    power_share: Fraction = 1.0
    """Share of the time at ``power``; the rest in level flight at the same speed."""


class RouteTurn(SpeedChoice, LevelChoice):
    """A turn flown out: ``heading_change`` at a load factor or bank, or sustained where neither is given."""

    heading_change: Angle
    load_factor: Number | None = None
    bank: Angle | None = None
    power: str | None = None


class AtPoint(Model):
    """One thing done at the end of a leg: exactly one of these."""

    orbit: Orbit | None = None
    refuel: Refuel | None = None
    release: tuple[str, ...] | None = None
    """Stations that let their stores go."""
    task: Task | None = None
    turn: RouteTurn | None = None


class Leg(SpeedChoice, LevelChoice):
    """From the point before to ``to``. A climb or descent to the leg's height begins at its start.

    ``arrive_altitude`` or ``arrive_flight_level``: a descent (or climb) placed so that it ends at the point.
    ``arrive``: time on target, at ``to``; the leg's speed follows from it, so none may be given.
    """

    to: PointName
    arrive: ClockTime | None = None
    arrive_altitude: Length | None = None
    arrive_flight_level: FlightLevel | None = None
    climb_power: str | None = None
    speedbrake: Fraction | None = None
    then: tuple[AtPoint, ...] = ()


class Alternate(SpeedChoice, LevelChoice):
    """Where to go when home is shut: a point or field, and how the way there is flown."""

    at: PointName
    recovery_fuel: Mass | None = None
    """To be left there; the pack's normal recovery fuel where absent."""


class Recovery(SpeedChoice, LevelChoice):
    """How the sortie ends, and how a return in between is flown (height and speed of the way home)."""

    fix: PointName | None = None
    """Recovery fix; the landing field where absent."""
    fix_altitude: Length | None = None
    """Height at which the fix is passed; 1,500 ft over the landing field where absent."""
    fuel: Mass | None = None
    """To be left at the fix; the pack's normal recovery fuel where absent."""
    alternate: Alternate | None = None


class Route(Model):
    """The flight between takeoff and landing. The last leg ends at the recovery fix."""

    points: dict[str, RoutePoint] = Field(default_factory=dict[str, RoutePoint])
    winds_aloft: tuple[WindAloft, ...] = ()
    legs: Annotated[tuple[Leg, ...], Field(min_length=1)]
    recovery: Recovery = Recovery()
    climb_power: str | None = None
    climb_cas: Speed | None = None
    climb_mach: RouteMach | None = None
    descent_cas: Speed | None = None
    descent_mach: RouteMach | None = None
