"""The route as flown on paper: a row for each part of the flight, and what the fuel comes to. All SI, UTC."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance import Balance, EnvelopeCheck, LoadState

Floats = NDArray[np.float64]

Part = Literal[
    "start_and_taxi",
    "run_up",
    "takeoff",
    "climb",
    "cruise",
    "descent",
    "orbit",
    "refuel",
    "release",
    "task",
    "turn",
    "approach",
]


@dataclass(frozen=True, slots=True)
class PlacedPoint:
    """A named place: degrees north and east."""

    name: str
    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True, slots=True)
class RouteRow:
    """One part of the flight, from the end of the row before to its own end.

    ``leg`` is the position in the sortie's ``route.legs``; -1 before the first leg (start, taxi, run-up,
    takeoff) and for the approach. Directions are degrees; values that mean nothing for a part (the course of
    an orbit) are NaN. ``distance`` is over the ground, ``air_distance`` through the air, m. ``mach``, ``tas``
    and ``cas`` are those at the row's end; ``ground_speed`` is the mean over the row. Wind is that flown in.
    ``fuel`` is what the row burns (kg), ``fuel_on`` what it takes aboard; ``load`` is what is aboard at its
    end. ``altitude_change_m`` etc. follow from ``pressure_altitude`` at start and end, m.
    """

    part: Part
    leg: int
    title: str
    start: PlacedPoint
    end: PlacedPoint
    start_altitude: float
    end_altitude: float
    true_course_deg: float
    magnetic_course_deg: float
    true_heading_deg: float
    magnetic_heading_deg: float
    variation_deg: float
    mach: float
    cas: float
    tas: float
    ground_speed: float
    wind_from_deg: float
    wind_speed: float
    isa_deviation: float
    distance: float
    air_distance: float
    time: float
    fuel: float
    fuel_on: float
    fuel_flow: float
    load: LoadState
    balance: Balance
    elapsed: float
    """Time since brake release at the row's end, s; negative before it."""
    at: datetime
    """Time of day at the row's end, UTC."""
    remarks: tuple[str, ...] = ()

    @property
    def fuel_aboard(self) -> float:
        """All fuel aboard at the row's end, kg."""
        return self.load.total_fuel


@dataclass(frozen=True, slots=True)
class RouteFault:
    """What stops or spoils the route: in which leg, in words with numbers, and what to do.

    ``severity`` is no-go where the rest cannot be flown, caution where it can. ``key`` is the path in the
    sortie file.
    """

    leg: int
    text: str
    hint: str
    severity: Literal["no-go", "caution"]
    key: tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class FlownRoute:
    """The whole route, as far as it could be flown. ``track`` is what to draw: degrees, altitude m, time s,
    fuel kg, each (k,)."""

    points: tuple[PlacedPoint, ...]
    """Takeoff field, each leg's end in order."""
    rows: tuple[RouteRow, ...]
    faults: tuple[RouteFault, ...]
    complete: bool
    track_latitude_deg: Floats
    track_longitude_deg: Floats
    track_altitude: Floats
    track_distance: Floats
    track_elapsed: Floats
    track_fuel: Floats
    sea_level: float = 0.0
    """Pressure altitude of the altimeter's zero, m: heights less this are above mean sea level."""

    def rows_of_leg(self, leg: int) -> tuple[RouteRow, ...]:
        """Return the rows of one leg."""
        return tuple(row for row in self.rows if row.leg == leg)


@dataclass(frozen=True, slots=True)
class ReturnFuel:
    """The way home from one place: fuel to leave with, kg, and what it is made of."""

    start: PlacedPoint
    to: PlacedPoint
    distance: float
    altitude: float
    mach: float
    climb_fuel: float
    cruise_fuel: float
    descent_fuel: float
    recovery_fuel: float
    bingo: float
    time: float
    profile: str
    """both_engines, one_engine, gear_down, trapped_external."""
    problem: str = ""
    remark: str = ""
    unusable: float = 0.0
    """Fuel aboard that cannot be used, or not any more; part of ``bingo``, as the gauges show it."""


@dataclass(frozen=True, slots=True)
class LadderStep:
    """Fuel at a point of the ladder, kg: planned, and the least with which home can still be reached."""

    title: str
    row: int
    """Position in ``FlownRoute.rows``; the step is that row's end."""
    planned: float
    least: float | None
    tanks: dict[str, float]
    balance: Balance
    check: EnvelopeCheck
    elapsed: float
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FuelPlan:
    """Everything about fuel on the route."""

    ladder: tuple[LadderStep, ...]
    returns: tuple[ReturnFuel, ...]
    """From the farthest point, one a profile, the first as planned."""
    alternate: ReturnFuel | None
    """From home to the alternate."""
    farthest: PlacedPoint | None
    """The point of the route farthest from the recovery fix."""
    bingo: float | None
    joker: float | None
    minimum: float
    emergency: float
    at_fix: float | None
    """Fuel at the recovery fix as planned, kg."""
    landing_fuel: float | None
    bingo_distance: Floats
    bingo_fuel: Floats
    """Bingo as a table by distance from the fix, (k,): m and kg."""
    last_return_elapsed: float | None
    """Elapsed time of the last moment on the planned route from which home can be reached, s."""
    last_return: PlacedPoint | None
    radius: float | None
    """Greatest distance from home to which one can go straight out and back on today's fuel, m."""
    faults: tuple[RouteFault, ...] = ()
