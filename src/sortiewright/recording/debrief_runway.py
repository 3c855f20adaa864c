"""The runway in a recording: where it begins and which way it lies, told or worked out from the takeoff."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sortiewright.recording.moments import Event, Flight
from sortiewright.recording.place import AlongRunway, RunwayFrame, along_runway, metres_per_degree
from sortiewright.recording.recording import Floats, Recording

if TYPE_CHECKING:
    from sortiewright.sortie import Numbers

Position = tuple[float, float]
"""Latitude and longitude, degrees."""

STRAIGHT = 2.0  # m, root mean square off its own straight line: as steady as a crew can steer
HEADING_DOUBT = 1.5  # deg; a heading given in whole degrees, magnetic, is not known better
LEAST_RUN = 300.0  # m of run from which a direction can be told


@dataclass(frozen=True)
class RunwayLine:
    """A runway with each sample's place on it. ``length`` and ``width`` m, None where not known."""

    designator: str
    frame: RunwayFrame
    along: AlongRunway
    length: float | None
    width: float | None
    basis: str
    """How it was found, in a sentence."""
    judges: bool
    """Whether it is known well enough to judge by: not where only the takeoff itself tells it."""


def runway_line(
    recording: Recording, flight: Flight, numbers: Numbers | None, start: Position | None = None
) -> RunwayLine | None:
    """Return the runway of a flight; None where neither ``start`` nor a takeoff run tells where it is.

    ``start`` is the beginning of the pavement. Without it the runway is laid through the place of brake
    release, as far along as the sortie says that the run begins.
    """
    if not (recording.has("latitude_deg") and recording.has("longitude_deg")):
        return None
    run = _run(recording, flight)
    flown = _direction(run) if run is not None else None
    heading, how = _heading(flown, numbers)
    released = flight.first("brake_release")
    if heading is None or (start is None and (released is None or run is None)):
        return None
    runway = None if numbers is None else numbers.conditions.runway
    if start is not None:
        frame, where = RunwayFrame(*start, heading), "It begins where you said"
    else:
        assert released is not None
        offset = 0.0 if numbers is None else numbers.conditions.start_offset
        frame = moved_frame(RunwayFrame(*_position(recording, released), heading), -offset)
        where = "Its beginning is taken from brake release, which is taken to be on the centre line"
    return RunwayLine(
        "" if runway is None else runway.designator,
        frame,
        along_runway(recording, frame),
        None if runway is None else runway.length,
        None if runway is None else runway.width,
        f"{where}; {how}.",
        judges=numbers is not None,
    )


def _heading(flown: tuple[float, float] | None, numbers: Numbers | None) -> tuple[float | None, str]:
    """Return the true direction of the runway, degrees, and where it comes from."""
    if numbers is None:
        return (None if flown is None else flown[0]), "its direction is that of the takeoff run"
    given = numbers.conditions.runway.true_heading_deg
    if flown is not None:
        direction, scatter = flown
        off = abs((direction - given + 180.0) % 360.0 - 180.0)
        # A run as straight as this, a little off the heading given, says that the heading is not exact.
        if 0.1 < off < HEADING_DOUBT and scatter < STRAIGHT:
            return direction, "its direction is that of the straight takeoff run, close to the sortie's"
    return given, "its direction is the sortie's"


def _run(recording: Recording, flight: Flight) -> tuple[Floats, Floats] | None:
    """Return north and east of the takeoff run, m from its beginning; None where there is none."""
    released = flight.first("brake_release")
    if released is None:
        return None
    later = [
        one for one in flight.events if one.name in ("lift_off", "levers_closed") and one.time > released.time
    ]
    if not later:
        return None
    rows = slice(released.row + 1, later[0].row + 1)
    latitude, longitude = recording.number("latitude_deg")[rows], recording.number("longitude_deg")[rows]
    good = np.isfinite(latitude) & np.isfinite(longitude)
    if good.sum() < 10:
        return None
    latitude, longitude = latitude[good], longitude[good]
    north, east = metres_per_degree(latitude[0])
    return (latitude - latitude[0]) * north, (longitude - longitude[0]) * east


def _direction(run: tuple[Floats, Floats]) -> tuple[float, float] | None:
    """Return the true direction of a run, degrees, and its scatter about that line, m."""
    north, east = run
    if np.hypot(north[-1], east[-1]) < LEAST_RUN:
        return None
    # The direction of most spread about the mean: half the angle of the second moment.
    n, e = north - north.mean(), east - east.mean()
    direction = 0.5 * math.atan2(2.0 * float(n @ e), float(n @ n - e @ e))
    if math.cos(direction) * float(north[-1]) + math.sin(direction) * float(east[-1]) < 0.0:
        direction += math.pi
    beside: Floats = math.cos(direction) * e - math.sin(direction) * n
    return math.degrees(direction) % 360.0, math.sqrt(float(np.mean(beside**2)))


def _position(recording: Recording, event: Event) -> Position:
    found: list[float] = []
    for name in ("latitude_deg", "longitude_deg"):
        values = recording.number(name)
        good = np.isfinite(values)
        found.append(float(np.interp(event.time, recording.time[good], values[good])))
    return found[0], found[1]


def moved_frame(frame: RunwayFrame, distance: float) -> RunwayFrame:
    """Return a frame that begins so many metres farther along the runway."""
    north, east = metres_per_degree(frame.latitude_deg)
    heading = np.radians(frame.true_heading_deg)
    return RunwayFrame(
        frame.latitude_deg + distance * float(np.cos(heading)) / float(north),
        frame.longitude_deg + distance * float(np.sin(heading)) / float(east),
        frame.true_heading_deg,
    )
