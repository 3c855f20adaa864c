"""Values a sortie file may write: directions, positions, winds, extents, within what nothing real passes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from sortiewright.pack import Length, Number, Quantity, QuantityError, Speed, readable

LONGEST_RUNWAY = 10_000.0  # m; the longest paved runways have some 5,500 m
STRONGEST_WIND = 103.0  # m/s; a report has no room for more than 199 kt
HEAVIEST_OCCUPANT = 300.0  # kg, with kit
SLOWEST_RATE, FASTEST_RATE = 0.5, 20.0  # deg/s
FASTEST_ROTATION = 200.0  # m/s


@dataclass(frozen=True)
class Compass(Quantity):
    """A direction: a file gives it with its unit, Python in degrees, and in degrees it is kept."""

    def value(self, raw: Any, *, from_file: bool) -> float:
        """Return degrees."""
        if isinstance(raw, int | float) and not isinstance(raw, bool) and not from_file:
            return float(raw)
        return math.degrees(super().value(raw, from_file=from_file))


def _degrees(low: float, high: float) -> AfterValidator:
    """A direction within a range."""

    def check(degrees: float) -> float:
        if not low - 1e-9 <= degrees <= high + 1e-9:
            raise QuantityError(f"{degrees:g} deg", f"must be {low:g} to {high:g} deg")
        return min(max(degrees, low), high)

    return AfterValidator(check)


def at_most(most: float, unit: str, why: str) -> AfterValidator:
    """A value that nothing real passes: mostly its unit, or a digit, is wrong."""

    def check(value: float) -> float:
        if value > most:
            raise QuantityError(readable(value, unit), f"is {why}", f"At most {readable(most, unit)}")
        return value

    return AfterValidator(check)


def _rate(radians: float) -> float:
    degrees = math.degrees(radians)
    if not SLOWEST_RATE - 1e-9 <= degrees <= FASTEST_RATE + 1e-9:
        said = f"{SLOWEST_RATE:g} to {FASTEST_RATE:g} deg/s"
        raise QuantityError(f"{degrees:g} deg/s", "is no rate to raise the nose at", f"It is {said}")
    return radians


RotationRate = Annotated[float, Quantity("rad/s", "4 deg/s"), AfterValidator(_rate)]
Course = Annotated[float, Compass("rad", "268 deg"), _degrees(0.0, 360.0)]
Variation = Annotated[float, Compass("rad", "-2.5 deg"), _degrees(-180.0, 180.0)]
Latitude = Annotated[Number, Field(ge=-90, le=90)]
Longitude = Annotated[Number, Field(ge=-180, le=180)]
Extent = Annotated[Length, Field(ge=0), at_most(LONGEST_RUNWAY, "m", "longer than any runway")]
RunwayLength = Annotated[Length, Field(gt=0), at_most(LONGEST_RUNWAY, "m", "longer than any runway")]
WindSpeed = Annotated[Speed, at_most(STRONGEST_WIND, "m/s", "more than any wind")]
Condition = Literal["dry", "wet", "icy"]


def _as_list(raw: Any) -> Any:
    return (raw,) if isinstance(raw, str) else raw


StoreNames = Annotated[tuple[str, ...], BeforeValidator(_as_list)]
"""One store, or a list in the order they hang."""
