"""A rejected takeoff as it was flown: the run to where the levers closed, and the stop from there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import InputError, Problem
from sortiewright.performance import TakeoffSetup
from sortiewright.recording.comparison_conditions import Met
from sortiewright.recording.comparison_energy import brakes_used
from sortiewright.recording.comparison_flown import ROLLING, burner_lit, power_settled, run_rows
from sortiewright.recording.comparison_landing_flown import rolled_out
from sortiewright.recording.comparison_met import (
    heading_of,
    headwind_of,
    mass_at,
    pressure_at,
    temperature_at,
)
from sortiewright.recording.moments import Event, EventName, Flight
from sortiewright.recording.recording import Recording

Floats = NDArray[np.float64]

CLOSING = 0.5  # s before the levers are told to close, in which they may move already
DEPLOYED = "deployed"


@dataclass(frozen=True)
class FlownReject:
    """One rejected takeoff. Times are s after brake release, distances m from there, speeds m/s."""

    name: str
    released_at: float
    """s on the recording's clock."""
    time: Floats
    ground_speed: Floats
    calibrated_airspeed: Floats
    """NaN where it is not recorded."""
    distance: Floats
    settled: float
    """From here on thrust no longer changes with time, until the levers close."""
    closed: float
    """When the levers closed."""
    brakes_on: float | None
    chute_out: float | None
    ends: float
    stopped: bool
    """Whether it stood at the end, or taxied on."""
    met: Met
    augmented: bool | None
    """Whether a burner was lit in the run; None where nothing tells."""
    mean_brake: float | None
    """Of the larger brake from brakes on to the end, 0 to 1; None where it is not recorded."""
    notes: tuple[str, ...] = ()

    @property
    def run_ends(self) -> float:
        """Return when the run ends: where the levers closed."""
        return self.closed

    @property
    def start_speed(self) -> float:
        """Return the ground speed at which the run began: nought for one from a stand."""
        speed = float(self.ground_speed[0])
        return speed if speed > ROLLING else 0.0

    def distance_at(self, time: float) -> float:
        """Return the distance at a time."""
        return float(np.interp(time, self.time, self.distance))

    def ground_speed_at(self, time: float) -> float:
        """Return the ground speed at a time."""
        return float(np.interp(time, self.time, self.ground_speed))

    def airspeed_at(self, time: float) -> float | None:
        """Return the calibrated airspeed at a time; None where it is not recorded."""
        good = np.isfinite(self.calibrated_airspeed)
        return float(np.interp(time, self.time[good], self.calibrated_airspeed[good])) if good.any() else None


def rejected_releases(flight: Flight) -> list[Event]:
    """Return the brake releases of a flight's runs that did not end in the air."""
    released = [event for event in flight.events if event.name == "brake_release"]
    ends = [*(event.time for event in released[1:]), np.inf]
    return [
        event
        for event, end in zip(released, ends, strict=False)
        if _first("lift_off", flight, event.time, end) is None and _was_given_up(flight, event.time, end)
    ]


def flown_reject(
    recording: Recording, flight: Flight, planned: TakeoffSetup, *, number: int = 0
) -> FlownReject:
    """Return a rejected takeoff of a flight, the first where ``number`` is 0.

    What is not recorded is taken from ``planned``, and the notes say so. Raises ``InputError`` where there is
    none, or where it is not told when the levers closed.
    """
    runs = rejected_releases(flight)
    if number >= len(runs):
        raise InputError([Problem(recording.name, None, "", "", "no rejected takeoff is found in it")])
    release = runs[number]
    later = [one.time for one in flight.events if one.name == "brake_release" and one.time > release.time]
    until = min(later, default=np.inf)
    closed = _first("levers_closed", flight, release.time, until)
    if closed is None:
        expected = (
            f"the takeoff rejected after {release.time:.1f} s cannot be compared: neither levers nor power "
            "tell when it was given up"
        )
        raise InputError([Problem(recording.name, None, "", "", expected)])
    halted = _first("stopped", flight, closed.time, until)
    end = halted.time if halted is not None else rolled_out(recording, closed.time, until)
    time, speed, cas = run_rows(recording, release.time, end)
    step = np.diff(time)
    inside = (recording.time >= release.time) & (recording.time <= closed.time)
    notes: list[str] = []
    case, heading = planned.cases, heading_of(recording, inside)
    settled, levers = power_settled(recording, planned, release.time, closed.time - CLOSING)
    notes += levers
    brakes = _first("brakes_on", flight, release.time + 1.0, until)
    chute = _first("chute_out", flight, release.time, until)
    return FlownReject(
        name=recording.name,
        released_at=release.time,
        time=time,
        ground_speed=speed,
        calibrated_airspeed=cas,
        distance=np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * step)]),
        settled=settled,
        closed=closed.time - release.time,
        brakes_on=None if brakes is None or brakes.time > end else brakes.time - release.time,
        chute_out=(
            chute.time - release.time
            if chute is not None
            else _deployed(recording, closed.time, end, release.time)
        ),
        ends=end - release.time,
        stopped=halted is not None,
        met=Met(
            release.time,
            mass_at(recording, release.time, float(case.mass[0]), notes),
            temperature_at(recording, release.time, float(case.temperature[0]), notes),
            pressure_at(recording, release.time, float(case.pressure[0]), notes),
            headwind_of(recording, inside, heading, float(case.headwind[0]), notes),
            heading,
        ),
        augmented=burner_lit(recording, inside),
        mean_brake=_mean_brake(recording, None if brakes is None else brakes.time, end),
        notes=tuple(notes),
    )


def _was_given_up(flight: Flight, begin: float, end: float) -> bool:
    """Return whether a run ended on the ground: a phase says so, and a recording that breaks off does not."""
    return any(phase.name == "rejected_takeoff" and begin <= phase.begins < end for phase in flight.phases)


def _first(name: EventName, flight: Flight, begin: float, end: float) -> Event | None:
    return next((one for one in flight.events if one.name == name and begin < one.time < end), None)


def _deployed(recording: Recording, begin: float, end: float, release: float) -> float | None:
    """Return when the chute came out, s after release; None where it did not, or is not recorded."""
    column = recording.columns.get("drag_chute")
    if column is None:
        return None
    is_number = np.issubdtype(column.dtype, np.number)
    out = np.asarray(column, dtype=np.float64) > 0.5 if is_number else column == DEPLOYED
    rows = np.flatnonzero(out & (recording.time >= begin) & (recording.time <= end))
    return float(recording.time[rows[0]] - release) if rows.size else None


def _mean_brake(recording: Recording, on: float | None, end: float) -> float | None:
    brakes = brakes_used(recording)
    if brakes is None or on is None:
        return None
    inside = (recording.time >= on) & (recording.time <= end) & np.isfinite(brakes)
    return float(brakes[inside].mean()) if inside.any() else None
