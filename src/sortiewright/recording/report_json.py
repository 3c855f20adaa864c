"""A debrief as plain data for programs: full precision, each value with its unit, null where not known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sortiewright import CAUTION
from sortiewright.recording.debrief_record import Debrief, FlightDebrief
from sortiewright.recording.debrief_runway import RunwayLine
from sortiewright.recording.findings import Finding, Measured
from sortiewright.recording.report_words import headline, kind_of
from sortiewright.sortie import convert

if TYPE_CHECKING:
    from sortiewright.recording.causes import Split
    from sortiewright.recording.comparison_landing import LandingComparison
    from sortiewright.recording.comparison_rejected import RejectedComparison
    from sortiewright.recording.comparison_takeoff import TakeoffComparison
    from sortiewright.recording.comparison_values import Compared, RunMark, SpeedOverDistance

FORMAT = 1
"""Raised when a name goes or changes its meaning; names may be added without."""


def debrief_to_json(debrief: Debrief) -> dict[str, Any]:
    """Return a debrief as JSON types. Times are s on the recording's own clock."""
    recording, plan, pack = debrief.recording, debrief.plan, debrief.pack
    return {
        "format": FORMAT,
        "headline": headline(debrief),
        "recording": {
            "name": recording.name,
            "samples": recording.rows,
            "begins": number(recording.time[0]),
            "ends": number(recording.time[-1]),
            "started": None if recording.started is None else recording.started.isoformat(),
            "derived": dict(recording.derived),
            "unmapped": list(recording.unmapped),
            "defects": [
                {
                    "kind": one.kind,
                    "channel": one.channel or None,
                    "begins": number(one.begin),
                    "ends": number(one.end),
                    "count": one.count,
                    "text": one.text,
                }
                for one in recording.defects
            ],
        },
        "sortie": None
        if plan is None
        else {
            "title": plan.title,
            "callsign": plan.callsign,
            "aerodrome": plan.aerodrome,
            "runway": plan.runway.designator,
            "time": plan.time,
        },
        "pack": None
        if pack is None
        else {"name": pack.pack.name, "version": pack.pack.version, "digest": pack.digest},
        "flights": [_flight(debrief, one) for one in debrief.flights],
        "notes": list(debrief.notes),
        "caution": CAUTION,
    }


def number(value: Any) -> float | None:
    """Return a finite float, or None."""
    return None if value is None or not math.isfinite(value) else float(value)


def quantity(value: float | None, kind: str) -> dict[str, Any]:
    """Return a value with its unit, SI whatever units the other reports are in."""
    shown, unit = convert(math.nan if value is None else value, kind_of(kind), "si")
    return {"value": number(shown), "unit": unit}


def _flight(debrief: Debrief, one: FlightDebrief) -> dict[str, Any]:
    time = debrief.recording.time
    return {
        "begins": number(time[one.flight.begin]),
        "ends": number(time[one.flight.end - 1]),
        "findings": [_finding(finding) for finding in one.findings],
        "went_well": list(one.went_well),
        "rules": [
            {
                "rule": judged.rule,
                "title": judged.title,
                "outcome": judged.outcome,
                "because": judged.because or None,
            }
            for judged in one.judged
        ],
        "measured": [_measured(measured) for measured in one.measured],
        "planned_with": list(one.planned_with),
        "takeoffs": [_takeoff(takeoff) for takeoff in one.takeoffs],
        "rejected_takeoffs": [_rejected(rejected) for rejected in one.rejected],
        "landings": [_landing(landing) for landing in one.landings],
        "not_compared": list(one.not_compared),
        "phases": [
            {"name": phase.name, "begins": number(phase.begins), "ends": number(phase.ends)}
            for phase in one.flight.phases
        ],
        "events": [
            {"name": event.name, "time": number(event.time), "basis": event.basis or None}
            for event in one.flight.events
        ],
        "runway": None if one.runway is None else _runway(one.runway),
        "notes": list(one.notes),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "title": finding.title,
        "severity": finding.severity,
        "begins": number(finding.begins),
        "ends": number(finding.ends),
        "peak_at": number(finding.peak_at),
        "phase": finding.phase,
        "value": number(finding.value),
        "limit": number(finding.limit),
        "unit": finding.unit,
        "text": finding.text,
        "advice": finding.advice,
        "source": finding.source or None,
    }


def _measured(measured: Measured) -> dict[str, Any]:
    return {
        "name": measured.name,
        "title": measured.title,
        "kind": measured.kind,
        "time": number(measured.time),
        "flown": quantity(measured.value, measured.kind),
        "planned": None if measured.planned is None else quantity(measured.planned, measured.kind),
        "problem": measured.problem or None,
    }


def _takeoff(takeoff: TakeoffComparison) -> dict[str, Any]:
    return {
        "released_at": number(takeoff.released_at),
        "compared": [_compared(one) for one in takeoff.compared],
        "splits": [_split(one) for one in takeoff.splits],
        "speed_over_distance": _curves(takeoff.curves),
        "differences": [{"name": one.name, "text": one.text} for one in takeoff.differences],
        "remarks": list(takeoff.remarks),
    }


def _rejected(rejected: RejectedComparison) -> dict[str, Any]:
    return {
        "released_at": number(rejected.released_at),
        "levers_closed_at": number(rejected.closed_at),
        "compared": [_compared(one) for one in rejected.compared],
        "splits": [_split(one) for one in rejected.splits],
        "speed_over_distance": _curves(rejected.curves),
        "moments": [_moment(one) for one in rejected.marks],
        "differences": [{"name": one.name, "text": one.text} for one in rejected.differences],
        "remarks": list(rejected.remarks),
    }


def _landing(landing: LandingComparison) -> dict[str, Any]:
    picture = landing.picture
    return {
        "touched_down_at": number(landing.touched_down_at),
        "planned_as": landing.case,
        "brake_zone": landing.brake_zone or None,
        "compared": [_compared(one) for one in landing.compared],
        "speed_over_distance": None
        if picture is None
        else {"counted_from": picture.origin} | _curves(picture.curves),
        "moments": [] if picture is None else [_moment(one) for one in picture.marks],
        "differences": [{"name": one.name, "text": one.text} for one in landing.differences],
        "remarks": list(landing.remarks),
    }


def _curves(curves: SpeedOverDistance) -> dict[str, Any]:
    return {
        "distance_m": _numbers(curves.distance),
        "planned_cas_m_per_s": _numbers(curves.planned_cas),
        "flown_cas_m_per_s": _numbers(curves.flown_cas),
        "planned_ground_speed_m_per_s": _numbers(curves.planned_ground_speed),
        "flown_ground_speed_m_per_s": _numbers(curves.flown_ground_speed),
    }


def _moment(mark: RunMark) -> dict[str, Any]:
    return {
        "name": mark.name,
        "run": mark.run,
        "distance_m": number(mark.distance),
        "ground_speed_m_per_s": number(mark.speed),
    }


def _compared(one: Compared) -> dict[str, Any]:
    return {
        "name": one.name,
        "title": one.title,
        "kind": one.kind,
        "planned": quantity(one.planned, one.kind),
        "flown": quantity(one.flown, one.kind),
        "basis": one.basis or None,
    }


def _split(split: Split) -> dict[str, Any]:
    return {
        "quantity": split.quantity,
        "difference_m": number(split.difference),
        "causes": [
            {
                "name": one.name,
                "title": one.title,
                "effect_m": number(one.effect),
                "sigma_m": number(one.sigma),
                "how": one.how,
            }
            for one in split.causes
        ],
        "remainder_m": number(split.remainder),
        "remark": split.remark or None,
        "not_told_apart": dict(split.untold),
    }


def _runway(line: RunwayLine) -> dict[str, Any]:
    return {
        "designator": line.designator or None,
        "begins_latitude_deg": line.frame.latitude_deg,
        "begins_longitude_deg": line.frame.longitude_deg,
        "true_heading_deg": line.frame.true_heading_deg,
        "length_m": number(line.length),
        "basis": line.basis,
    }


def _numbers(values: Sequence[float] | Any) -> list[float | None]:
    return [number(round(float(value), 3)) for value in values]
