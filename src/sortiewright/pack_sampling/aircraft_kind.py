"""What kind of aircraft was sampled: the parts it has, as generic lists and rules are chosen by."""

from __future__ import annotations

from collections.abc import Mapping

from sortiewright.pack_sampling.sampling import SampledAircraft

LEAST_DRAG = 1e-4  # of a speedbrake: less, and the lever moves nothing
NOBODY = "nobody"
"""Stands for a second seat that is not there."""


def kind_of(aircraft: SampledAircraft) -> frozenset[str]:
    """Return what this aircraft has and has not: ``retractable_gear``, ``flaps``, ``several_engines``, ..."""
    engines = aircraft.description.engines
    piston = engines[0].kind == "piston"
    stated = {
        "one_engine": len(engines) == 1,
        "two_engines": len(engines) == 2,
        "several_engines": len(engines) > 1,
        "piston": piston,
        "turbine": not piston,
        "propeller": engines[0].has_propeller,
        "burner": "maximum" in aircraft.power,
        "no_burner": "maximum" not in aircraft.power,
        "retractable_gear": aircraft.gear.travel_time > 0.0,
        "fixed_gear": aircraft.gear.travel_time == 0.0,
        "flaps": len(aircraft.configurations) > 1,
        "takeoff_flap": "takeoff" in aircraft.configurations,
        "no_takeoff_flap": "takeoff" not in aircraft.configurations,
        "speedbrake": aircraft.speedbrake.drag > LEAST_DRAG,
        "trim": abs(aircraft.pitch.trim_unit_moment) > 0.0,
        "two_seats": len(aircraft.load.seats) > 1,
        "tail_point": aircraft.stance.tail_strike_deg is not None,
    }
    return frozenset(name for name, so in stated.items() if so)


def words_of(aircraft: SampledAircraft) -> Mapping[str, str]:
    """Return the words that generic lists say of this aircraft: its seats, one engine or several, its
    levers."""
    kind, seats = kind_of(aircraft), aircraft.load.seats
    several, piston = "several_engines" in kind, "piston" in kind
    first = seats[0].name
    second = seats[1].name if len(seats) > 1 else NOBODY
    takeoff = aircraft.configurations.get("takeoff")
    flap = takeoff.flap if takeoff is not None else 0.0
    return {
        "first": first,
        "second": second,
        "First": title_of_seat(first),
        "Second": title_of_seat(second),
        "engine": "Engines" if several else "Engine",
        "engine_low": "engines" if several else "engine",
        "engine_word": "engines start" if several else "engine starts",
        "engine_push": "engines still push" if several else "engine still pushes",
        "running": "Running",
        "throttle": "Throttles" if several else "Throttle",
        "generator": "Generators" if several else "Generator",
        "fuel_lever": "Mixture" if piston else "Fuel shut-off",
        "fuel_lever_low": "mixture" if piston else "fuel shut-off",
        "closed": "CUT-OFF" if piston else "CLOSED",
        "open": "RICH" if piston else "OPEN",
        "flap_low": f"{max(flap - 0.1, 0.0):.2f}",
        "flap_high": f"{min(flap + 0.1, 1.0):.2f}",
    }


def title_of_seat(name: str) -> str:
    """Return a seat's name as a crew reads it."""
    return name.replace("_", " ").capitalize()
