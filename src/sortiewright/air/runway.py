"""The runway and the field around it: declared distances, slope, cables, condition and braking action."""

import math
import re
from dataclasses import dataclass
from typing import Literal

RunwayCondition = Literal["dry", "wet", "icy"]

# Runway condition readings taken when none is reported (USAF practice, from memory).
_EXPECTED_RCR: dict[str, float] = {"dry": 23.0, "wet": 12.0, "icy": 5.0}
HIGHEST_RCR = 26.0

_DESIGNATOR = re.compile(r"(0[1-9]|[12]\d|3[0-6])([LCR]?)")
_OTHER_SIDE = {"L": "R", "R": "L", "C": "C", "": ""}
_FOOT = 0.3048  # m


class UnknownRunway(LookupError):
    """The aerodrome has no runway of this designator."""


@dataclass(frozen=True, slots=True)
class ArrestingCable:
    """An arresting cable: m from the landing threshold's end of the pavement, its name, rigged or not."""

    distance_from_threshold: float
    name: str
    rigged: bool = True


@dataclass(frozen=True, slots=True)
class Obstacle:
    """An obstacle under the climb: m beyond the departure end, m above that end."""

    distance_from_departure_end: float
    height: float
    name: str = "obstacle"


@dataclass(frozen=True, slots=True)
class BrakingAction:
    """Braking action in words, and how much longer the landing roll is, percent of the dry roll.

    ``landing_roll_increase_percent`` is from the best to the worst of the band; None has no bound.
    """

    word: Literal["GOOD", "FAIR (MEDIUM)", "POOR", "NIL"]
    landing_roll_increase_percent: tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class Runway:
    """One direction of a runway, seen from the start of its pavement. Metres; slope rise over run, uphill +.

    ``elevation`` is that of the start. ``length`` is the pavement fit for takeoff run, from the start to
    the departure end. ``overrun`` lies beyond it and never counts as planned distance; ``stopway`` and
    ``clearway`` do, in ASDA and TODA. A declared distance, where the aerodrome publishes one, replaces
    what the parts give. ``rcr`` None means not reported.

    Raises ValueError, naming the runway, for what no runway can be.
    """

    designator: str
    true_heading_deg: float
    length: float
    elevation: float
    slope: float = 0.0
    displaced_threshold: float = 0.0
    overrun: float = 0.0
    stopway: float = 0.0
    clearway: float = 0.0
    width: float | None = None
    surface: str = "concrete"
    rcr: float | None = None
    condition: RunwayCondition = "dry"
    cables: tuple[ArrestingCable, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    declared_takeoff_run: float | None = None
    declared_takeoff_distance: float | None = None
    declared_accelerate_stop_distance: float | None = None
    declared_landing_distance: float | None = None

    def __post_init__(self) -> None:
        where = f"runway {self.designator}"
        if not _DESIGNATOR.fullmatch(self.designator):
            raise ValueError(f"{where}: the designator must be 01 to 36 and L, C, R or nothing: 09, 27L")
        if not 0.0 <= self.true_heading_deg <= 360.0:
            raise ValueError(f"{where}: true heading {self.true_heading_deg:g} deg is outside 0 to 360")
        if not 0.0 < self.length < math.inf:
            raise ValueError(f"{where}: length {self.length:g} m must be positive")
        for name in ("displaced_threshold", "overrun", "stopway", "clearway"):
            if not 0.0 <= getattr(self, name) < math.inf:
                raise ValueError(f"{where}: {name} {getattr(self, name):g} m must be zero or more")
        if self.displaced_threshold >= self.length:
            raise ValueError(
                f"{where}: displaced threshold {self.displaced_threshold:g} m leaves no runway to land on"
            )
        if not abs(self.slope) <= 0.1:
            raise ValueError(f"{where}: slope {self.slope:g} is beyond 0.1. Give rise over run: 1 % is 0.01.")
        if self.condition not in _EXPECTED_RCR:
            raise ValueError(
                f"{where}: condition {self.condition!r} is not one of {', '.join(_EXPECTED_RCR)}"
            )
        if self.rcr is not None:
            _checked_rcr(self.rcr)

    @property
    def reciprocal_designator(self) -> str:
        """The designator of the other direction."""
        return reciprocal_designator(self.designator)

    @property
    def takeoff_run_available(self) -> float:
        """TORA, m (ICAO Annex 14: the runway usable for the ground run)."""
        return self.length if self.declared_takeoff_run is None else self.declared_takeoff_run

    @property
    def takeoff_distance_available(self) -> float:
        """TODA, m (ICAO Annex 14: TORA and the clearway)."""
        parts = self.takeoff_run_available + self.clearway
        return parts if self.declared_takeoff_distance is None else self.declared_takeoff_distance

    @property
    def accelerate_stop_distance_available(self) -> float:
        """ASDA, m (ICAO Annex 14: TORA and the stopway)."""
        parts = self.takeoff_run_available + self.stopway
        declared = self.declared_accelerate_stop_distance
        return parts if declared is None else declared

    @property
    def landing_distance_available(self) -> float:
        """LDA, m (ICAO Annex 14: from the landing threshold to the end)."""
        parts = self.length - self.displaced_threshold
        return parts if self.declared_landing_distance is None else self.declared_landing_distance

    @property
    def effective_rcr(self) -> float:
        """The reported runway condition reading, or the one taken for this condition."""
        return expected_rcr(self.condition) if self.rcr is None else self.rcr

    @property
    def is_rcr_reported(self) -> bool:
        """Whether the reading was measured rather than taken from the condition."""
        return self.rcr is not None

    @property
    def departure_end_elevation(self) -> float:
        """Elevation of the far end, m."""
        return self.elevation + self.slope * self.length

    def magnetic_heading_deg(self, variation_deg: float) -> float:
        """Return the magnetic heading where variation is east positive."""
        return (self.true_heading_deg - variation_deg) % 360.0


@dataclass(frozen=True, slots=True)
class Aerodrome:
    """A field: place, elevation in m, runways. ``variation_deg`` is east positive, None if not stated."""

    icao: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation: float
    runways: tuple[Runway, ...] = ()
    variation_deg: float | None = None

    def runway(self, designator: str) -> Runway:
        """Return the runway of this designator. Raises UnknownRunway, which lists those there are."""
        for one in self.runways:
            if one.designator == designator:
                return one
        there_are = ", ".join(one.designator for one in self.runways) or "none"
        raise UnknownRunway(f"{self.icao} has no runway {designator!r}. Its runways: {there_are}.")


def reciprocal_designator(designator: str) -> str:
    """Return the designator of the opposite direction: 27L gives 09R. Raises ValueError for no designator."""
    match = _DESIGNATOR.fullmatch(designator)
    if not match:
        raise ValueError(f"runway designator {designator!r} must be 01 to 36 and L, C, R or nothing: 09, 27L")
    number = (int(match[1]) + 17) % 36 + 1
    return f"{number:02d}{_OTHER_SIDE[match[2]]}"


def designator_mismatch(runway: Runway, variation_deg: float) -> str | None:
    """Return a remark where designator and magnetic heading differ by more than 15 deg, else None.

    The designator is the magnetic heading in tens of degrees (ICAO Annex 14); five degrees are rounding,
    ten more allow for old paint. Mostly the heading was given magnetic, or a digit was mistyped.
    """
    magnetic = runway.magnetic_heading_deg(variation_deg)
    painted = 10.0 * int(runway.designator[:2])
    difference = abs((magnetic - painted + 180.0) % 360.0 - 180.0)
    if difference <= 15.0:
        return None
    return (
        f"runway {runway.designator}: magnetic heading {magnetic:03.0f} is {difference:.0f} deg off its "
        "designator "
        f"(true heading {runway.true_heading_deg:03.0f}, variation {abs(variation_deg):.1f} "
        f"{'E' if variation_deg >= 0 else 'W'})"
    )


def expected_rcr(condition: str) -> float:
    """Return the runway condition reading taken when none is reported: dry 23, wet 12, icy 5.

    USAF practice, from memory. Raises ValueError for another condition.
    """
    if condition not in _EXPECTED_RCR:
        raise ValueError(f"runway condition {condition!r} is not one of {', '.join(_EXPECTED_RCR)}")
    return _EXPECTED_RCR[condition]


def braking_action(rcr: float) -> BrakingAction:
    """Return the braking action of a runway condition reading from 0 to 26.

    U.S. Navy CNATRA P-304, figure 1-17; the edges between its bands (6, 13, 19) from memory. Readings
    come in whole numbers; one between bands is judged by the nearest whole number, down at the half.
    """
    whole = math.ceil(_checked_rcr(rcr) - 0.5)
    if whole >= 19:
        return BrakingAction("GOOD", (0.0, 15.0))
    if whole >= 13:
        return BrakingAction("FAIR (MEDIUM)", (16.0, 45.0))
    if whole >= 6:
        return BrakingAction("POOR", (46.0, 99.0))
    return BrakingAction("NIL", (100.0, None))


def rcr_deceleration(rcr: float) -> float:
    """Return the deceleration in m/s2 of the test vehicle whose reading is ``rcr``: about one ft/s2 each.

    USAF practice, from memory. An aircraft brakes less: the pack says how much.
    """
    return _checked_rcr(rcr) * _FOOT


def _checked_rcr(rcr: float) -> float:
    if not 0.0 <= rcr <= HIGHEST_RCR:
        raise ValueError(f"runway condition reading {rcr:g} is outside 0 to 26")
    return rcr
