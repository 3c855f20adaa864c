"""The strip charts' data: every channel thinned to its least and greatest over short stretches of time.

Around takeoffs, landings and findings samples are kept as they are as far as room allows; elsewhere an hour
at sixty samples a second comes down to stretches of half a second. No peak is lost.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.debrief_record import Debrief, FlightDebrief
from sortiewright.recording.recording import Floats, Recording
from sortiewright.recording.report_words import event_title, phase_title
from sortiewright.sortie import Kind, System, convert

MOST_STRETCHES = 16_000  # of time: thirty lines of them make some 4 MB as text
LEAST_AIRSPEED = 15.0  # m/s, about 30 kt, under which a vane hangs as it likes
MISSING = -32768
"""Stands for no value among the 16-bit numbers."""
STEPS = 65_000  # into which a line's range is divided


@dataclass(frozen=True)
class _Line:
    channels: tuple[str, ...]
    """The first of these that is recorded is drawn."""
    title: str


@dataclass(frozen=True)
class _Panel:
    title: str
    kind: Kind | None
    """None: a compass direction, or a plain number."""
    lines: tuple[_Line, ...]
    unit: str = ""


def _both(channel: str) -> tuple[_Line, ...]:
    return (
        _Line((f"{channel}_left", channel), "left"),
        _Line((f"{channel}_right",), "right"),
    )


PANELS = (
    _Panel(
        "Speed",
        Kind.CAS,
        (
            _Line(("calibrated_airspeed", "indicated_airspeed"), "airspeed"),
            _Line(("ground_speed",), "over ground"),
        ),
    ),
    _Panel(
        "Height",
        Kind.HEIGHT,
        (
            _Line(("height_above_ground",), "above ground"),
            _Line(("altitude", "pressure_altitude"), "above sea"),
        ),
    ),
    _Panel("Vertical speed", Kind.CLIMB_RATE, (_Line(("vertical_speed",), "climb"),)),
    _Panel(
        "Nose",
        Kind.ANGLE,
        (_Line(("pitch",), "pitch"), _Line(("angle_of_attack",), "angle of attack")),
    ),
    _Panel("Bank", Kind.ANGLE, (_Line(("bank",), "right wing down"),)),
    _Panel("Load", None, (_Line(("load_factor_normal",), "load factor"),), "g"),
    _Panel("Heading", None, (_Line(("true_heading_deg",), "true"),), "°"),
    _Panel("Throttle", Kind.FRACTION, _both("throttle")),
    _Panel("Engine speed", Kind.FRACTION, _both("engine_speed")),
    _Panel("Exhaust temperature", Kind.TEMPERATURE, _both("exhaust_temperature")),
    _Panel("Fuel flow", Kind.MASS_FLOW, _both("fuel_flow")),
    _Panel(
        "Gear, flaps, speedbrake",
        Kind.FRACTION,
        (
            _Line(("gear_position",), "gear"),
            _Line(("flap_position",), "flaps"),
            _Line(("speedbrake_position",), "speedbrake"),
        ),
    ),
    _Panel("Brakes", Kind.FRACTION, _both("brake")),
    _Panel(
        "Stick",
        Kind.FRACTION,
        (_Line(("stick_pitch",), "aft"), _Line(("stick_roll",), "right")),
    ),
)


LITTLE_SINGLE = np.dtype(np.float32).newbyteorder("<")
"""What the page's script reads numbers as."""


def strips_data(debrief: Debrief) -> dict[str, Any]:
    """Return what the page's script draws, as JSON types; numbers packed as base64."""
    recording = debrief.recording
    edges = stretches(recording, debrief.flights)
    begins = recording.time[edges] - recording.time[0]
    return {
        "start": float(recording.time[0]),
        "end": float(recording.time[-1]),
        "begins": _packed(begins.astype(LITTLE_SINGLE)),
        "breaks": np.searchsorted(edges, recording.breaks).tolist(),
        "panels": [
            panel for one in PANELS if (panel := _panel_data(one, recording, edges, debrief.units))["lines"]
        ],
        "phases": [
            {"title": phase_title(one.name), "begins": one.begins, "ends": one.ends}
            for flight in debrief.flights
            for one in flight.flight.phases
            if one.name != "unknown"
        ],
        "events": [
            {"title": event_title(one.name), "time": one.time}
            for flight in debrief.flights
            for one in flight.flight.events
        ],
        "findings": [
            {
                "number": number,
                "severity": one.severity,
                "title": one.title,
                "begins": one.begins,
                "ends": one.ends,
                "peak": one.peak_at,
            }
            for number, (_, one) in enumerate(debrief.findings(), start=1)
        ],
    }


def stretches(
    recording: Recording, flights: tuple[FlightDebrief, ...], most: int = MOST_STRETCHES
) -> NDArray[np.intp]:
    """Return the rows at which stretches begin, at most about ``most``; every break begins one."""
    rows = recording.rows
    if rows <= most:
        return np.arange(rows)
    close = _looked_at(recording.time, flights)
    close_rows = int(close.sum())
    fine = max(1, -(-2 * close_rows // most))
    coarse = max(1, -(-(rows - close_rows) // max(1, most - close_rows // fine)))
    turns = np.flatnonzero(np.diff(close)) + 1
    bounds = np.unique(np.concatenate([[0], turns, recording.breaks, [rows]]))
    edges: list[NDArray[np.intp]] = [
        np.arange(begin, end, fine if close[begin] else coarse, dtype=np.intp)
        for begin, end in pairwise(bounds.tolist())
    ]
    return np.concatenate(edges)


def _looked_at(time: Floats, flights: tuple[FlightDebrief, ...]) -> NDArray[np.bool_]:
    """Return which rows lie in a takeoff, a landing or a finding: there samples are kept."""
    spans: list[tuple[float, float]] = []
    for one in flights:
        for phase in one.flight.phases:
            if phase.name in (
                "takeoff_roll",
                "rotation",
                "lift_off",
                "rejected_takeoff",
                "flare",
                "touchdown",
            ):
                spans.append((phase.begins - 5.0, phase.ends + 5.0))
        spans += [(finding.peak_at - 5.0, finding.peak_at + 5.0) for finding in one.findings]
    inside = np.zeros(len(time), dtype=np.bool_)
    for begin, end in spans:
        inside[np.searchsorted(time, begin) : np.searchsorted(time, end)] = True
    return inside


def _panel_data(
    panel: _Panel, recording: Recording, edges: NDArray[np.intp], units: System
) -> dict[str, Any]:
    lines: list[dict[str, Any]] = []
    unit = panel.unit
    for line in panel.lines:
        channel = next((name for name in line.channels if recording.has(name)), None)
        if channel is None:
            continue
        values = _drawn(recording, channel)
        if panel.kind is not None:
            size, unit = _scale(panel.kind, units)
            zero = convert(0.0, panel.kind, units)[0]
            values = values * size + zero
        if np.isfinite(values).any():
            lines.append({"title": line.title, **_thinned(values, edges)})
    if len(lines) == 1 and lines[0]["title"] == "left":  # the only engine
        lines[0]["title"] = ""
    sign = {"deg": "°", "percent": "%", "degC": "°C"}.get(unit, unit)
    wraps = {"wraps": True} if panel.title == "Heading" else {}
    return {"title": panel.title, "unit": sign, "lines": lines} | wraps


def _scale(kind: Kind, units: System) -> tuple[float, str]:
    """Return the number of shown units in an SI unit, and the unit's name."""
    one, unit = convert(1.0, kind, units)
    return one - convert(0.0, kind, units)[0], unit


def _drawn(recording: Recording, channel: str) -> Floats:
    values = recording.number(channel)
    if channel == "angle_of_attack":
        speed = recording.number("calibrated_airspeed")
        if not recording.has("calibrated_airspeed"):
            speed = recording.number("ground_speed")
        values = np.where(speed < LEAST_AIRSPEED, np.nan, values)
    return np.where(np.isfinite(values), values, np.nan)


def _thinned(values: Floats, edges: NDArray[np.intp]) -> dict[str, Any]:
    """Return least and greatest of each stretch as 16-bit steps over the line's range."""
    least, most = float(np.nanmin(values)), float(np.nanmax(values))
    step = (most - least) / STEPS or 1.0
    data: dict[str, Any] = {"zero": least, "step": step}
    if len(edges) == len(values):
        return data | {"low": _packed(_steps(values, least, step))}
    return data | {
        "low": _packed(_steps(np.fmin.reduceat(values, edges), least, step)),
        "high": _packed(_steps(np.fmax.reduceat(values, edges), least, step)),
    }


def _steps(values: Floats, least: float, step: float) -> NDArray[Any]:
    counted = np.round((values - least) / step) - STEPS // 2
    return np.where(np.isnan(counted), MISSING, counted).astype("<i2")


def _packed(values: NDArray[Any]) -> str:
    return base64.b64encode(values.tobytes()).decode("ascii")
