"""A landing as it was flown, and the plan's landing that it is held against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import InputError, Problem
from sortiewright.recording.comparison_conditions import Met
from sortiewright.recording.comparison_met import (
    WIND_PLANNED,
    Known,
    heading_of,
    headwind_of,
    mass_at,
    pressure_at,
    temperature_at,
)
from sortiewright.recording.moments import Event, EventName, Flight
from sortiewright.recording.recording import Recording
from sortiewright.sortie import Numbers

Floats = NDArray[np.float64]

ROLLED_OUT = 10.0  # m/s: slower, an aircraft that has not stopped is taken to taxi


@dataclass(frozen=True)
class LandingMoments:
    """When a landing happened, on the recording's clock."""

    touchdown: Event
    gate_50: Event | None
    gate_500: Event | None
    ends: float
    stopped: bool
    goes_on: bool
    """Whether it takes off again: a touch and go, or a bounce."""
    chute_out: float | None
    brakes_on: float | None


def landing_moments(recording: Recording, flight: Flight, number: int) -> LandingMoments:
    """Return when a landing of a flight happened, the last where ``number`` is -1.

    Raises ``InputError`` where there is none.
    """
    touchdowns = [event for event in flight.events if event.name == "touchdown"]
    try:
        touchdown = touchdowns[number]
    except IndexError:
        hint = "Is its weight on wheels or its height recorded? See: sortiewright recording show"
        raise InputError(
            [Problem(recording.name, None, "", "", "no touchdown is found in it", hint)]
        ) from None
    following = [
        e.time for e in flight.events if e.time > touchdown.time and e.name in ("lift_off", "touchdown")
    ]
    last = min(following, default=np.inf)

    def before(name: EventName) -> Event | None:
        found = [e for e in flight.events if e.name == name and e.time < touchdown.time]
        return found[-1] if found else None

    def after(name: EventName) -> Event | None:
        return next((e for e in flight.events if e.name == name and touchdown.time <= e.time < last), None)

    stopped, brakes = after("stopped"), after("brakes_on")
    ends = stopped.time if stopped is not None else rolled_out(recording, touchdown.time, last)
    return LandingMoments(
        touchdown,
        before("gate_50_ft"),
        before("gate_500_ft"),
        ends,
        stopped is not None,
        bool(np.isfinite(last)) and stopped is None,
        None if (out := after("chute_out")) is None else out.time,
        None if brakes is None else brakes.time,
    )


def rolled_out(recording: Recording, touchdown: float, last: float) -> float:
    """Return when an aircraft that did not stop had slowed to a taxi, or its last moment on the runway."""
    speed = recording.number("ground_speed")
    rows = np.flatnonzero((recording.time > touchdown) & (recording.time < last) & np.isfinite(speed))
    slow = rows[speed[rows] <= ROLLED_OUT]
    if slow.size:
        return float(recording.time[slow[0]])
    return float(recording.time[rows[-1]]) if rows.size else touchdown


@dataclass(frozen=True)
class PlannedLanding:
    """The planned landing, SI."""

    title: str
    chute: bool
    approach_cas: float
    touchdown_cas: float
    touchdown_ground_speed: float
    air_distance: float
    ground_roll: float
    total: float
    brake_energy: float
    sink_rate: float


def planned_landing(numbers: Numbers, chute: bool, name: str) -> PlannedLanding:
    """Return today's planned landing, with the chute or without it as flown.

    Raises ``InputError`` where the plan has none, with ``name`` as the sortie's.
    """
    wanted = ["today_chute", "today"] if chute else ["today", "today_chute"]
    for case in wanted:
        for row in numbers.landings:
            if row.name == case and row.result is not None:
                one, k = row.result, row.row
                values = {
                    key: float(getattr(one, key)[k])
                    for key in PlannedLanding.__annotations__
                    if key not in ("title", "chute")
                }
                return PlannedLanding(title=row.title, chute=row.chute, **values)
    problem = next((row.problem for row in numbers.landings if row.problem), "it plans none")
    expected = f"the sortie's landing cannot be computed: {problem}"
    raise InputError([Problem(name, None, "", "", expected, "See: sortiewright plan")])


def landing_met(recording: Recording, at: float, inside: NDArray[np.bool_], numbers: Numbers) -> Met:
    """Return what a recording says of the weight and weather of a landing, the plan's where it does not."""
    conditions, balance = numbers.landing_conditions, numbers.loads.landing_balance
    heading = heading_of(recording, inside)
    air, wind = conditions.air, conditions.wind
    assert air is not None
    assert wind is not None
    planned = float(wind.headwind_for_distance)
    headwind = headwind_of(recording, inside, heading, planned, [])
    return Met(
        at,
        mass_at(recording, at, balance.mass, []),
        temperature_at(recording, at, float(air.temperature), []),
        pressure_at(recording, at, float(air.pressure), []),
        headwind if heading is not None else Known(planned, WIND_PLANNED, "plan"),
        heading,
    )
