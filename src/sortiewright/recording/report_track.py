"""The ground track on the runway as SVG, seen from above."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from sortiewright.recording.debrief_record import FlightDebrief
from sortiewright.recording.debrief_runway import RunwayLine
from sortiewright.recording.moments import Event
from sortiewright.recording.recording import Floats, Recording
from sortiewright.recording.report_markup import Markup, element
from sortiewright.recording.report_plot import (
    BOTTOM,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Frame,
    axes,
    figure,
    line,
    unit_size,
)
from sortiewright.recording.report_words import event_title
from sortiewright.sortie import Kind, System

NEAR, BESIDE = 1000.0, 200.0  # m before or past a runway, and beside it, that still belong to its picture
LONGEST = 5000.0  # m, of a runway whose length is not known
LEAST_BESIDE = 6.0  # m left and right of the centre line that are drawn at least
MOST_POINTS = 500  # of a track: finer than a pen


def track_picture(
    recording: Recording, one: FlightDebrief, runway: RunwayLine, units: System
) -> Markup | None:
    """Return the track on the runway seen from above, across it drawn larger; None where none is recorded."""
    spans = _spans(one)
    if not spans:
        return None
    foot, sign = unit_size(Kind.RUNWAY_DISTANCE, units)
    tracks = [(style, _track(recording, runway, begin, end, foot)) for style, begin, end in spans]
    here = [(style, points) for style, points in tracks if _is_on(runway, points, foot)]
    elsewhere = len(here) < len(tracks)
    tracks = here
    if not tracks:
        return None
    every_x = np.concatenate([points[0] for _, points in tracks])
    every_y = np.concatenate([points[1] for _, points in tracks])
    length = None if runway.length is None else runway.length / foot
    half_width = None if runway.width is None else 0.5 * runway.width / foot
    far = max(float(every_x.max()), length or 0.0)
    near = min(float(every_x.min()), 0.0)
    beside = max(1.15 * float(np.abs(every_y).max()), 1.6 * (half_width or 0.0), LEAST_BESIDE / foot)
    height = 300.0
    frame = Frame((near - 0.01 * (far - near), far + 0.02 * (far - near)), (-beside, beside), height)
    parts: list[Markup] = []
    if length is not None:
        parts += _pavement(frame, length, half_width or beside / 1.3)
    parts += axes(
        frame, f"along the runway, {sign}", f"left and right of the centre line, {sign}", upward=False
    )
    for style, (x, y) in tracks:
        parts.append(line([frame.at(a, b) for a, b in zip(x, -y, strict=True)], f"track {style}"))
    parts += _track_events(recording, one, runway, frame, foot)
    across_scale = (height - TOP - BOTTOM) / (2 * beside)
    along_scale = (WIDTH - LEFT - RIGHT) / (frame.x[1] - frame.x[0])
    said = (
        f"Ground track on {f'runway {runway.designator}' if runway.designator else 'the runway used'}, "
        f"seen from above. Across the runway it is drawn "
        f"{across_scale / along_scale:.0f} times larger than along it. Farthest from the centre line: "
        f"{float(np.abs(every_y).max()):.0f} {sign}."
        f"{' What was flown elsewhere is not drawn.' if elsewhere else ''}"
    )
    return figure(parts, said, height)


def _spans(one: FlightDebrief) -> list[tuple[str, float, float]]:
    """Return the times on the runway: takeoff or rejected takeoff, and landing."""
    flight, spans = one.flight, list[tuple[str, float, float]]()
    for phase in flight.phases:
        if phase.name in ("takeoff_roll", "rotation", "rejected_takeoff"):
            spans.append(("takeoff", phase.begins, phase.ends))
        elif phase.name in ("touchdown", "landing_roll", "chute"):
            spans.append(("landing", phase.begins, phase.ends))
    return spans


def _track(
    recording: Recording, runway: RunwayLine, begin: float, end: float, foot: float
) -> tuple[Floats, Floats]:
    rows = np.flatnonzero((recording.time >= begin) & (recording.time <= end))
    rows = rows[np.isfinite(runway.along.distance[rows])]
    rows = rows[:: max(1, len(rows) // MOST_POINTS)]
    return runway.along.distance[rows] / foot, runway.along.offset[rows] / foot


def _is_on(runway: RunwayLine, points: tuple[Floats, Floats], foot: float) -> bool:
    """Return whether a track is on or beside the runway: a landing may have been made elsewhere."""
    along, off = points
    if len(along) < 2:
        return False
    far = (runway.length or LONGEST) / foot + NEAR / foot
    return bool((np.abs(off) < BESIDE / foot).all() and (along > -NEAR / foot).all() and (along < far).all())


def _pavement(frame: Frame, length: float, half_width: float) -> list[Markup]:
    left, top = frame.at(0.0, half_width)
    right, bottom = frame.at(length, -half_width)
    middle = frame.at(0.0, 0.0)[1]
    return [
        element("rect", x=left, y=top, width=right - left, height=bottom - top, class_="pavement"),
        element("line", x1=left, x2=right, y1=middle, y2=middle, class_="centre"),
    ]


_ON_RUNWAY = (
    "brake_release",
    "rotation_begins",
    "lift_off",
    "levers_closed",
    "touchdown",
    "brakes_on",
    "stopped",
)


def _track_events(
    recording: Recording, one: FlightDebrief, runway: RunwayLine, frame: Frame, foot: float
) -> Iterable[Markup]:
    good = np.isfinite(runway.along.distance)
    time = recording.time[good]
    last: list[float] = [-1e9, -1e9]
    events: list[Event] = [event for event in one.flight.events if event.name in _ON_RUNWAY]
    for event in events:
        along = float(np.interp(event.time, time, runway.along.distance[good])) / foot
        off = float(np.interp(event.time, time, runway.along.offset[good])) / foot
        if not (frame.x[0] <= along <= frame.x[1] and abs(off) <= frame.y[1]):
            continue
        x, y = frame.at(along, -off)
        yield element("circle", cx=x, cy=y, r=4.5, class_="mark flown")
        row = min(range(2), key=lambda at: last[at] > x - 110.0)
        if last[row] > x - 110.0:
            continue
        last[row] = x
        yield element("line", x1=x, x2=x, y1=y, y2=TOP + 4 + 16 * row, class_="lead")
        yield element("text", event_title(event.name), x=x + 3, y=TOP + 12 + 16 * row, class_="label flown")
