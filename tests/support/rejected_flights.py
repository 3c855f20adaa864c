"""Rejected takeoffs as a recorder would have written them: the reference aeroplane on the day of a sortie."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from reference_path import Rejection, Way, rejected_way
from reference_takeoff import Aeroplane

from sortiewright.air import Air
from sortiewright.recording import Event, Flight, Phase, Recording

RATE = 20.0
STANDS = 3.0  # s before brake release, and after the stop


@dataclass(frozen=True)
class Flown:
    """A recording with its flight, and what was really flown: SI, times from brake release."""

    recording: Recording
    flight: Flight
    way: Way
    closed: float


def plane_of(numbers, *, mass=None, wind=None, air=None) -> Aeroplane:
    """Return the reference aeroplane in the sortie's conditions, or in others where they are given."""
    case = numbers.takeoff.setup.cases
    planned = Air(float(case.pressure[0]), float(case.temperature[0]))
    return Aeroplane(
        numbers.pack,
        float(case.mass[0]) if mass is None else mass,
        planned if air is None else air,
        float(case.headwind[0]) if wind is None else wind,
        float(case.slope[0]),
        float(case.drag_index[0]),
        float(case.runway_condition_reading[0]),
    )


def rejected_flight(numbers, order: Rejection, plane=None) -> Flown:
    """Return a rejected takeoff flown by the reference aeroplane."""
    plane = plane or plane_of(numbers)
    technique = numbers.takeoff.setup.technique
    if order.start_speed > 0.0:
        technique = technique.model_copy(update={"release_power": None})
    way, closed = rejected_way(plane, technique, order)
    time = np.arange(0.0, STANDS + way.time[-1] + STANDS, 1.0 / RATE)
    since = time - STANDS
    rolling = (since >= 0.0) & (since <= way.time[-1])
    speed = np.where(
        since < 0.0, order.start_speed, np.where(rolling, np.interp(since, way.time, way.speed), 0)
    )
    out = np.inf if order.chute is None else closed + order.chute
    place = numbers.conditions
    heading = place.runway.true_heading_deg
    braked = (since >= closed + order.brakes_on) | (since < 0.0)
    # ISO 2533: the altitude of a pressure in the standard atmosphere.
    level = (1.0 - (plane.pressure / 101_325.0) ** (1.0 / 5.25588)) * 288.15 / 0.0065
    columns = {
        "ground_speed": speed,
        "calibrated_airspeed": speed + plane.wind,
        "gross_mass": np.full(len(time), plane.mass),
        "pressure_altitude": np.full(len(time), level),
        "outside_air_temperature": np.full(len(time), plane.temperature),
        "altitude": np.full(len(time), place.runway.elevation),
        "true_heading_deg": np.full(len(time), heading),
        "wind_speed": np.full(len(time), abs(plane.wind)),
        "wind_from_deg": np.full(len(time), heading if plane.wind >= 0.0 else (heading + 180.0) % 360.0),
        "brake_left": 1.0 * braked,
        "drag_chute": np.where((since >= out) & rolling, "deployed", "stowed"),
    }
    moments = {
        "brake_release": 0.0,
        "levers_closed": closed,
        "brakes_on": closed + order.brakes_on,
        "stopped": float(way.time[-1]),
    }
    events = [
        Event(
            name, STANDS + moment, int((STANDS + moment) * RATE), "brakes" if name == "brake_release" else ""
        )
        for name, moment in moments.items()
    ]
    begin, end = int((STANDS + closed) * RATE), int((STANDS + way.time[-1]) * RATE)
    phases = (Phase("rejected_takeoff", begin, end, STANDS + closed, STANDS + float(way.time[-1])),)
    flight = Flight(0, len(time), phases, tuple(events), np.zeros(len(time), dtype=np.intp))
    return Flown(Recording("made.csv", time, columns, np.array([], dtype=np.intp)), flight, way, closed)
