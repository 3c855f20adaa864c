"""A debrief as its page shows it: findings in words, and the flight that charts and pictures draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sortiewright.desk.debrief_strips import first_shown, strips_of

if TYPE_CHECKING:
    from sortiewright.desk.debrief_jobs import Made
    from sortiewright.recording import Debrief, Recording
    from sortiewright.sortie import System

MARGIN = 8.0  # s shown before and after a finding
MOST_PLACES = 3000  # of the track: finer than a screen
ON_RUNWAY = {
    "brake_release": "brakes off",
    "rotation_begins": "rotates",
    "lift_off": "lifts off",
    "levers_closed": "levers closed",
    "touchdown": "touches down",
    "stopped": "stops",
}
PLANNED_MARKS = ("rotation", "lift_off", "decision", "touchdown", "landing_stop")


@dataclass(frozen=True)
class FindingShown:
    """A finding in words. Times are s on the recording's clock."""

    number: int
    severity: str
    word: str
    title: str
    advice: str
    text: str
    value: str
    limit: str
    at: str
    peak: float
    begins: float
    ends: float
    source: str


def findings_shown(debrief: Debrief) -> list[FindingShown]:
    """Return every finding, worst first, with the stretch of time that shows it."""
    from sortiewright.recording import SEVERITY_WORDS, clock, finding_numbers, finding_text

    shown: list[FindingShown] = []
    for number, (at, one) in enumerate(debrief.findings(), start=1):
        value, limit = finding_numbers(one, debrief.rules, debrief.units)
        of = f", flight {at + 1}" if len(debrief.flights) > 1 else ""
        shown.append(
            FindingShown(
                number,
                one.severity,
                f"{SEVERITY_WORDS[one.severity]}{of}",
                one.title,
                one.advice,
                finding_text(one, debrief.rules, debrief.units),
                value,
                limit,
                clock(one.peak_at),
                one.peak_at,
                min(one.begins, one.peak_at) - MARGIN,
                min(one.ends, one.peak_at + 60.0) + MARGIN,
                one.source,
            )
        )
    return shown


def parts_shown(debrief: Debrief) -> list[dict[str, Any]]:
    """Return of each flight the report's own pictures and tables, as markup."""
    from sortiewright.recording import (
        comparisons,
        held_list,
        missing_list,
        moments_table,
        snapshot_table,
        track_picture,
    )

    found: list[dict[str, Any]] = []
    for number, one in enumerate(debrief.flights, start=1):
        of = f", flight {number}" if len(debrief.flights) > 1 else ""
        line = one.runway
        found.append(
            {
                "number": number,
                "of": of,
                "compared": "".join(comparisons(one, debrief.units)),
                "track": None if line is None else track_picture(debrief.recording, one, line, debrief.units),
                "basis": "" if line is None else line.basis,
                "snapshots": snapshot_table(one, f"Values noted of the flight{of}", debrief.units),
                "moments": moments_table(one),
                "missing": missing_list(one),
                "held": held_list(one),
                "held_count": one.count("held"),
                "went_well": one.went_well,
                "notes": one.notes,
            }
        )
    return found


def flight_data(made: Made, units: System) -> dict[str, Any]:
    """Return what the page's script draws besides the samples, as JSON types."""
    debrief = made.shown_in(units)
    recording = debrief.recording
    strips = strips_of(recording, units)
    return {
        "start": float(recording.time[0]),
        "end": float(recording.time[-1]),
        "strips": [
            {"channel": one.channel, "title": one.title, "unit": one.unit, "places": one.places}
            for one in strips
        ],
        "shown": first_shown(strips),
        "phases": _phases(debrief),
        "events": _events(debrief),
        "findings": [
            {"number": one.number, "severity": one.severity, "title": one.title, "peak": one.peak,
             "begins": one.begins, "ends": one.ends}
            for one in findings_shown(debrief)
        ],
        "track": _track(recording),
        "runway": _runway(debrief),
        "units": units,
    }  # fmt: skip


def _phases(debrief: Debrief) -> list[dict[str, Any]]:
    from sortiewright.recording import phase_title

    return [
        {"title": phase_title(one.name), "begins": one.begins, "ends": one.ends}
        for flight in debrief.flights
        for one in flight.flight.phases
        if one.name != "unknown"
    ]


def _events(debrief: Debrief) -> list[dict[str, Any]]:
    from sortiewright.recording import event_title

    return [
        {"title": event_title(one.name), "time": one.time}
        for flight in debrief.flights
        for one in flight.flight.events
    ]


def _thin(recording: Recording) -> Any:
    return np.unique(np.linspace(0, recording.rows - 1, min(MOST_PLACES, recording.rows)).astype(np.intp))


def _numbers(values: Any, places: int) -> list[float | None]:
    return [None if not np.isfinite(one) else round(float(one), places) for one in values]


def _track(recording: Recording) -> dict[str, Any] | None:
    """Return the ground track: m east and north of its first point, with height in m."""
    if not (recording.has("latitude_deg") and recording.has("longitude_deg")):
        return None
    rows = _thin(recording)
    from sortiewright.recording import RunwayFrame, along_runway

    latitude, longitude = recording.number("latitude_deg"), recording.number("longitude_deg")
    good = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    if len(good) < 2:
        return None
    north = along_runway(recording, RunwayFrame(float(latitude[good[0]]), float(longitude[good[0]]), 0.0))
    return {
        "time": _numbers(recording.time[rows], 2),
        "north": _numbers(north.distance[rows], 1),
        "east": _numbers(north.offset[rows], 1),
        "height": _numbers(recording.number("height_above_ground")[rows], 1),
    }


def _runway(debrief: Debrief) -> dict[str, Any] | None:
    """Return the runway with where on it the aircraft was: m along it and right of its centre line."""
    recording = debrief.recording
    flight = next((one for one in debrief.flights if one.runway is not None), None)
    if flight is None or flight.runway is None:
        return None
    line = flight.runway
    near = np.flatnonzero(
        (line.along.distance > -2000.0)
        & (line.along.distance < (line.length or 4000.0) + 2000.0)
        & (np.abs(line.along.offset) < 500.0)
    )
    near = near[:: max(1, len(near) // MOST_PLACES)]
    good = np.isfinite(line.along.distance)
    events = [
        {
            "title": ON_RUNWAY[one.name],
            "time": one.time,
            "along": float(np.interp(one.time, recording.time[good], line.along.distance[good])),
        }
        for one in flight.flight.events
        if one.name in ON_RUNWAY
        and good.any()
        and (one.name != "levers_closed" or flight.rejected)  # before a landing it says nothing here
    ]
    # Where the plan was not this flight's, its marks say nothing.
    marks = debrief.plan.runway.marks if debrief.plan is not None and line.judges else ()
    return {
        "designator": line.designator,
        "length": line.length,
        "width": line.width,
        "time": _numbers(recording.time[near], 2),
        "along": _numbers(line.along.distance[near], 1),
        "offset": _numbers(line.along.offset[near], 1),
        "events": events,
        "planned": [
            {"title": one.title, "along": float(one.distance)} for one in marks if one.name in PLANNED_MARKS
        ],
    }
