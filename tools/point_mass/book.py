"""A pack's book points by this calculation."""

from __future__ import annotations

from collections.abc import Callable

from point_mass.air import FT, KT, Day, standard_day
from point_mass.aircraft import Aircraft
from point_mass.engine_out import critical
from point_mass.stopping import land
from point_mass.takeoff import take_off
from sortiewright.pack import BookPoint, Pack, to_si

UNITS = {
    "mass": "kg",
    "centre_of_gravity": "",
    "pressure_altitude": "m",
    "temperature": "K",
    "isa_deviation": "delta_degC",
    "headwind": "m/s",
    "slope": "",
    "runway_condition_reading": "",
    "drag_index": "",
}


def aircraft_of(pack: Pack, point: BookPoint) -> Aircraft:
    """Return the aircraft and the day of a book point; not stated: sea level, standard, dry, level, still."""
    said = {
        name: to_si(point.conditions[name].removesuffix("MAC").strip(), unit)
        for name, unit in UNITS.items()
        if name in point.conditions
    }
    standard = standard_day(said.get("pressure_altitude", 0.0), said.get("isa_deviation", 0.0))
    day = Day(
        standard.pressure,
        said.get("temperature", standard.temperature),
        said.get("headwind", 0.0),
        said.get("slope", 0.0),
        said.get("runway_condition_reading", 23.0),
    )
    cg, index = said.get("centre_of_gravity", 0.25), said.get("drag_index", 0.0)
    return Aircraft(pack, said["mass"], cg, day, index=index)


def landing_distance(one: Aircraft, chute: bool) -> float:
    """Return the distance from the threshold height to rest, m."""
    air, roll = land(one, chute=chute)
    return air + roll.distance


def stall_cas(one: Aircraft, configuration: str) -> float:
    """Return the power-off stalling speed, m/s calibrated."""
    return one.day.cas(one.stall(configuration))


QUANTITIES: dict[str, Callable[[Aircraft, bool], float]] = {
    "nosewheel_lift_off_speed": lambda one, _: one.day.cas(one.nosewheel_lift_off()),
    "lift_off_speed": lambda one, _: one.day.cas(take_off(one).lift_off_tas),
    "ground_run": lambda one, _: take_off(one).ground_run,
    "distance_to_screen": lambda one, _: take_off(one).to_screen,
    "critical_field_length": lambda one, chute: critical(one, chute=chute)[0],
    "critical_engine_failure_speed": lambda one, chute: critical(one, chute=chute)[1],
    "stall_speed_takeoff": lambda one, _: stall_cas(one, one.pack.technique.takeoff.configuration),
    "stall_speed_landing": lambda one, _: stall_cas(one, one.pack.technique.landing.configuration),
    "approach_speed": lambda one, _: one.day.cas(one.approach()[0]),
    "landing_roll": lambda one, chute: land(one, chute=chute)[1].distance,
    "landing_distance": landing_distance,
}


def book_value(pack: Pack, point: BookPoint) -> float:
    """Return what this calculation gives for a book point, SI."""
    chute = point.conditions.get("chute") == "yes"
    return QUANTITIES[point.quantity](aircraft_of(pack, point), chute)


def print_book(pack: Pack) -> None:
    """Print each book point beside what this calculation gives, as Markdown."""
    print("\nBook points: book value; this calculation:\n")
    for point in pack.book:
        found = book_value(pack, point)
        text = f"{found / KT:.1f} kt" if "speed" in point.quantity else f"{found / FT:,.0f} ft"
        when = ", ".join(f"{name} {value}" for name, value in point.conditions.items())
        print(f"- {point.quantity} ({when}): {point.value}; {text}")
