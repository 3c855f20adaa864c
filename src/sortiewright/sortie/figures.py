"""What a plan is made of: figures that know where they come from, reasons, and things to draw."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from sortiewright.sortie.numbers_flight import FlightNumbers
from sortiewright.sortie.route_flown import FlownRoute, FuelPlan

Floats = NDArray[np.float64]


class Kind(StrEnum):
    """The kind of a quantity; ``units.py`` says how each is shown."""

    RUNWAY_DISTANCE = "runway_distance"
    HEIGHT = "height"
    CAS = "cas"
    TAS = "tas"
    GROUND_SPEED = "ground_speed"
    WIND_SPEED = "wind_speed"
    MASS = "mass"
    ANGLE = "angle"
    COURSE = "course"
    TIME = "time"
    GRADIENT = "gradient"
    CLIMB_RATE = "climb_rate"
    ENERGY = "energy"
    PRESSURE = "pressure"
    ALTIMETER = "altimeter"
    TEMPERATURE = "temperature"
    PERCENT_MAC = "percent_mac"
    SIDE_MOMENT = "side_moment"
    MASS_FLOW = "mass_flow"
    FORCE = "force"
    FRACTION = "fraction"
    NUMBER = "number"
    TRIM_UNITS = "trim_units"
    DISTANCE = "distance"
    """Over the ground of a route."""
    LEVEL = "level"
    """Pressure altitude in flight, coarser than a field's height."""
    MACH = "mach"
    SPECIFIC_RANGE = "specific_range"
    LOAD_FACTOR = "load_factor"
    TURN_RATE = "turn_rate"
    TURN_RADIUS = "turn_radius"


class Verdict(StrEnum):
    """Whether the flight as planned fits its limits."""

    GO = "go"
    CAUTION = "caution"
    NO_GO = "no-go"


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of the plan, SI, with how it was found.

    ``value`` is None where it could not be computed; ``problem`` then says why. ``inf`` is an answer: no
    runway is long enough. ``low`` and ``high`` bound the value under the stated uncertainties where known.
    """

    name: str
    title: str
    value: float | None
    kind: Kind
    method: str = ""
    inputs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    problem: str = ""
    low: float | None = None
    high: float | None = None
    text: str = ""
    """Shown instead of the value where words say more, such as 'above lift-off'."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why the verdict is what it is: one limit held against one figure."""

    severity: Verdict
    text: str
    figure: str = ""
    value: float | None = None
    limit: float | None = None
    kind: Kind = Kind.NUMBER


@dataclass(frozen=True, slots=True)
class Section:
    """Figures that belong together, in the order they are read."""

    name: str
    title: str
    figures: tuple[Figure, ...]

    def figure(self, name: str) -> Figure:
        """Return the named figure, or raise KeyError."""
        for one in self.figures:
            if one.name == name:
                return one
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class RunwayMark:
    """A point to draw on the runway: ``distance`` from the threshold in the takeoff direction, m.

    ``group`` is takeoff, reject, engine_failure or landing; ``cas`` the speed there, m/s, where it means
    something.
    """

    name: str
    title: str
    distance: float
    group: str
    cas: float | None = None


@dataclass(frozen=True, slots=True)
class Curve:
    """A line to draw: ``x`` and ``y`` in SI of the kinds named."""

    name: str
    title: str
    x: Floats
    y: Floats
    x_kind: Kind
    y_kind: Kind


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A line of the load sheet. ``arm`` m aft of datum, ``side_arm`` m right."""

    title: str
    mass: float
    arm: float
    side_arm: float = 0.0
    group: str = "fixed"
    """fixed, crew, fuel or store."""


@dataclass(frozen=True, slots=True)
class BalancePoint:
    """Mass and balance at one step of the burn: ``centre_of_gravity`` is a share of the mean chord."""

    title: str
    mass: float
    centre_of_gravity: float
    side_moment: float
    forward_limit: float
    aft_limit: float
    inside: bool


@dataclass(frozen=True, slots=True)
class LandingCase:
    """One landing: condition, and the distances from the threshold."""

    name: str
    title: str
    runway_condition_reading: float
    chute: bool
    approach_cas: float
    touchdown_cas: float
    air_distance: float
    ground_roll: float
    total: float
    margin: float
    """Runway left, m; negative: does not fit."""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class RunwayPicture:
    """The runway of the takeoff to scale, SI."""

    designator: str
    length: float
    displaced_threshold: float
    overrun: float
    start_offset: float
    cables: tuple[tuple[str, float], ...]
    marks: tuple[RunwayMark, ...]
    run_available: float = 0.0
    """From brake release, for lift-off; the two below for the screen height and for a stop."""
    screen_available: float = 0.0
    stop_available: float = 0.0
    goes_to: Literal["lift_off", "screen"] = "lift_off"
    """What counts as going on after an engine failure."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Every number of today's flight."""

    title: str
    callsign: str
    crew: tuple[tuple[str, str], ...]
    """(seat title, name)."""
    pack_name: str
    pack_title: str
    pack_version: str
    pack_digest: str
    aerodrome: str
    time: str
    verdict: Verdict
    reasons: tuple[Reason, ...]
    sections: tuple[Section, ...]
    load: tuple[LoadLine, ...]
    balance: tuple[BalancePoint, ...]
    envelope: tuple[tuple[float, float], ...]
    """Corners (mass kg, share of mean chord), gear down."""
    runway: RunwayPicture
    landings: tuple[LandingCase, ...]
    curves: tuple[Curve, ...] = ()
    remarks: tuple[str, ...] = ()
    caution: str = ""
    extra: dict[str, Any] = field(default_factory=dict[str, Any])
    route: FlownRoute | None = None
    """The route as flown; None where the sortie has none, or it could not be flown at all."""
    fuel: FuelPlan | None = None
    flight: FlightNumbers | None = None

    def section(self, name: str) -> Section:
        """Return the named section, or raise KeyError."""
        for one in self.sections:
            if one.name == name:
                return one
        raise KeyError(name)

    def figure(self, section: str, name: str) -> Figure:
        """Return one figure by section and name, or raise KeyError."""
        return self.section(section).figure(name)
