"""A pack's book points: published or measured values held against what the program computes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sortiewright.air import cas_from_tas, standard_air
from sortiewright.pack import BookPoint, LoadedPack, OutsideTable, Pack, QuantityError, suggestion, to_si
from sortiewright.performance.cases import Cases, make_cases
from sortiewright.performance.field_length import field_lengths, takeoff_and_curves
from sortiewright.performance.landing import land
from sortiewright.performance.takeoff import fly_takeoff, takeoff_setup

SPEED, DISTANCE = "m/s", "m"

QUANTITIES = {
    "nosewheel_lift_off_speed": SPEED,
    "lift_off_speed": SPEED,
    "ground_run": DISTANCE,
    "distance_to_screen": DISTANCE,
    "critical_field_length": DISTANCE,
    "critical_engine_failure_speed": SPEED,
    "stall_speed_takeoff": SPEED,
    "stall_speed_landing": SPEED,
    "approach_speed": SPEED,
    "landing_roll": DISTANCE,
    "landing_distance": DISTANCE,
}
"""What a book point may be about; speeds are calibrated."""

CONDITIONS = {
    "mass": "kg",
    "centre_of_gravity": "",
    "pressure_altitude": "m",
    "temperature": "K",
    "isa_deviation": "delta_degC",
    "headwind": "m/s",
    "slope": "",
    "runway_condition_reading": "",
    "drag_index": "",
    "chute": "",
}
"""What a book point may state; ``chute`` is yes or no. Not stated: sea level, standard day, no wind, level,
dry."""


@dataclass(frozen=True, slots=True)
class BookResult:
    """A book point beside the computed value, SI; ``problem`` where it could not be compared."""

    point: BookPoint
    unit: str
    book: float
    computed: float
    tolerance: float
    problem: str = ""

    @property
    def error(self) -> float:
        """Computed less book, as a share of the book's value."""
        return (self.computed - self.book) / self.book

    @property
    def holds(self) -> bool:
        """Whether the computed value lies within the point's tolerance."""
        return not self.problem and abs(self.computed - self.book) <= self.tolerance


def check_book(loaded: LoadedPack) -> tuple[BookResult, ...]:
    """Return every book point of a pack beside the computed value."""
    return tuple(check_point(loaded.pack, point) for point in loaded.pack.book)


def check_point(pack: Pack, point: BookPoint) -> BookResult:
    """Return one book point beside the computed value."""
    nan = float("nan")
    unit = QUANTITIES.get(point.quantity)
    if unit is None:
        hint = suggestion(point.quantity, QUANTITIES) or f"Known: {', '.join(QUANTITIES)}"
        return BookResult(point, "", nan, nan, nan, f'quantity "{point.quantity}" is not known. {hint}')
    try:
        book = to_si(point.value, unit)
        tolerance = _tolerance(point.tolerance, unit, book)
        conditions = _conditions(point)
        computed = _computed(pack, point.quantity, conditions)
    except QuantityError as error:
        return BookResult(point, unit, nan, nan, nan, str(error))
    except (OutsideTable, ValueError) as error:
        return BookResult(point, unit, nan, nan, nan, str(error))
    return BookResult(point, unit, book, computed, tolerance)


def _tolerance(text: str, unit: str, book: float) -> float:
    return abs(book) * to_si(text, "") if text.strip().endswith("%") else to_si(text, unit)


def _conditions(point: BookPoint) -> dict[str, float]:
    read: dict[str, float] = {}
    for name, text in point.conditions.items():
        if name not in CONDITIONS:
            hint = suggestion(name, CONDITIONS) or f"Known: {', '.join(CONDITIONS)}"
            raise ValueError(f'condition "{name}" is not known. {hint}')
        if name == "chute":
            if text not in ("yes", "no"):
                raise ValueError(f'condition chute: "{text}" must be yes or no')
            read[name] = float(text == "yes")
        else:
            read[name] = (
                to_si(text.removesuffix("MAC").strip(), "")
                if name == "centre_of_gravity"
                else to_si(text, CONDITIONS[name])
            )
    if "mass" not in read:
        raise ValueError("conditions: mass is missing")
    return read


def _cases(pack: Pack, conditions: dict[str, float]) -> Cases:
    frame = pack.airframe
    share = conditions.get("centre_of_gravity", 0.25)
    air = standard_air(conditions.get("pressure_altitude", 0.0), conditions.get("isa_deviation", 0.0))
    if "temperature" in conditions:
        air = type(air)(air.pressure, conditions["temperature"])
    return make_cases(
        conditions["mass"],
        frame.mean_chord_leading_edge_arm + share * frame.mean_chord,
        air,
        drag_index=conditions.get("drag_index", 0.0),
        headwind=conditions.get("headwind", 0.0),
        slope=np.arctan(conditions.get("slope", 0.0)),
        runway_condition_reading=conditions.get("runway_condition_reading", 23.0),
    )


def _computed(pack: Pack, quantity: str, conditions: dict[str, float]) -> float:
    cases = _cases(pack, conditions)
    chute = bool(conditions.get("chute", 0.0))
    if quantity in ("stall_speed_landing", "approach_speed", "landing_roll", "landing_distance"):
        landing = land(pack, cases, chute=chute)
        values = {
            "stall_speed_landing": landing.stall_cas,
            "approach_speed": landing.approach_cas,
            "landing_roll": landing.ground_roll,
            "landing_distance": landing.total,
        }
        return float(values[quantity][0])
    setup = takeoff_setup(pack, cases)
    if quantity.startswith("critical"):
        takeoff, curves = takeoff_and_curves(setup, chute=chute)
        lengths = field_lengths(setup, takeoff, curves, np.inf, np.inf, chute=chute)
        if quantity == "critical_field_length":
            return float(lengths.critical_field_length[0])
        return float(np.asarray(cas_from_tas(lengths.critical_speed + cases.headwind, cases.air))[0])
    takeoff = fly_takeoff(setup)
    values = {
        "nosewheel_lift_off_speed": takeoff.nosewheel_lift_off_cas,
        "lift_off_speed": takeoff.lift_off_cas,
        "ground_run": takeoff.ground_run,
        "distance_to_screen": takeoff.distance_to_screen,
        "stall_speed_takeoff": takeoff.stall_cas,
    }
    return float(values[quantity][0])
