"""The sorties of a recording, with their phases and events."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from sortiewright.recording.event_landing import paint_landing, stopped
from sortiewright.recording.event_systems import system_events
from sortiewright.recording.event_takeoff import lift_off_events, rotation_events, run_events
from sortiewright.recording.flight_ground import GroundRuns, TakeoffRun, ground_runs
from sortiewright.recording.flight_legs import Stretch, hard_breaks, sortie_ends, stretches_of
from sortiewright.recording.flight_signals import Signals, signals_of
from sortiewright.recording.hysteresis import Floats, filled, first_row
from sortiewright.recording.moments import Event, Flight
from sortiewright.recording.phase_air import paint_leg
from sortiewright.recording.phase_ground import paint_ground
from sortiewright.recording.phase_limits import PhaseLimits
from sortiewright.recording.phase_painting import PhasePaint
from sortiewright.recording.recording import Recording
from sortiewright.recording.signal_columns import below

_FEW = 0.02  # share of samples missing from which it is said


def flights_of(recording: Recording, limits: PhaseLimits | None = None) -> tuple[Flight, ...]:
    """Return the sorties of a recording in order, together all of its rows.

    A sortie ends where the aircraft stands with its engines shut down, or stands long, before it takes off
    again, and where the recording goes on somewhere else. Full stops, touch-and-goes, go-arounds and takeoffs
    that were given up belong to one sortie. A recording without a takeoff, a landing or flight is one too.
    """
    if recording.rows < 2:
        return ()
    signals = signals_of(recording, limits or PhaseLimits())
    vertical_speed = _vertical_speed(recording)
    edges = [0, *hard_breaks(recording, signals), signals.rows]
    bounds = [bound for begin, end in pairwise(edges) for bound in _sorties(signals, begin, end)]
    notes = (*signals.notes, *_sparse(recording))
    return tuple(_flight(signals, vertical_speed, begin, end, notes) for begin, end in bounds)


def _vertical_speed(recording: Recording) -> Floats | None:
    if not recording.has("vertical_speed"):
        return None
    return filled(recording.number("vertical_speed"), recording.time)


def _sparse(recording: Recording) -> list[str]:
    """Return what to say of channels with many samples missing: they were filled in between."""
    notes: list[str] = []
    for name in ("ground_speed", "height_above_ground", "pitch", "weight_on_wheels_left"):
        if not recording.has(name):
            continue
        missing = float(np.isnan(recording.number(name)).mean())
        if _FEW < missing < 1.0:
            notes.append(
                f"{name} lacks {100.0 * missing:.0f} % of its samples: moments told from it are less sharp."
            )
    return notes


def _sorties(signals: Signals, begin: int, end: int) -> list[tuple[int, int]]:
    """Return the rows of each sortie in rows without a jump elsewhere."""
    stretches = stretches_of(signals, begin, end)
    activities: list[tuple[int, int]] = []
    for index, (stretch, runs) in enumerate(_with_runs(signals, stretches)):
        if stretch.airborne:
            activities.append((stretch.begin, stretch.end))
        elif runs is not None:
            activities += [(run.begin, run.end) for run in runs.rejected]
            if runs.landing_end is not None and index > 0:
                activities[-1] = (
                    (activities[-1][0], runs.landing_end) if not runs.rejected else activities[-1]
                )
            if runs.takeoff is not None:
                activities.append((runs.takeoff.begin, runs.takeoff.end))
    splits = sortie_ends(signals, sorted(activities))
    edges = sorted({begin, *(row for row in splits if begin < row < end), end})
    return list(pairwise(edges))


def _with_runs(signals: Signals, stretches: tuple[Stretch, ...]) -> list[tuple[Stretch, GroundRuns | None]]:
    return [
        (
            stretch,
            None
            if stretch.airborne
            else ground_runs(signals, stretch, lands=index > 0, lifts_off=index < len(stretches) - 1),
        )
        for index, stretch in enumerate(stretches)
    ]


def _flight(
    signals: Signals, vertical_speed: Floats | None, begin: int, end: int, notes: tuple[str, ...]
) -> Flight:
    """Return one sortie: stretch by stretch, phases laid and events told."""
    paint = PhasePaint(signals.time, begin, end)
    events: list[Event] = []
    own_notes: list[str] = []
    stretches = stretches_of(signals, begin, end)
    found = _with_runs(signals, stretches)
    for index, (stretch, runs) in enumerate(found):
        before, after = index > 0, index < len(found) - 1
        if runs is None:
            events += paint_leg(paint, signals, stretch, vertical_speed, lifts_off=before, lands=after)
            if before and signals.joined[stretch.begin]:
                events += lift_off_events(signals, stretch.begin - 1, stretch.end)
            elif before:
                own_notes.append(_in_gap(signals, "Lift-off", stretch.begin))
            else:
                own_notes.append("The recording begins in the air: takeoff cannot be told.")
            if not after:
                own_notes.append("The recording ends in the air: landing cannot be told.")
            continue
        events += _ground(paint, signals, stretch, runs, lands=before)
        if before and not signals.joined[stretch.begin]:
            own_notes.append(_in_gap(signals, "Touchdown", stretch.begin))
        if after and runs.takeoff is None:
            own_notes.append("The recording begins on the takeoff run: brake release cannot be told.")
            paint.rows("takeoff_roll", stretch.begin, stretch.end)
            events += rotation_events(signals, stretch.begin, stretch.end - 1)
        elif runs.takeoff is not None and runs.takeoff.kind == "rolling":
            own_notes.append("Rolling takeoff: brake release is where power came up.")
    events += system_events(signals, begin, end)
    inside = sorted((one for one in events if begin <= one.row < end), key=lambda one: (one.time, one.name))
    _paint_runs(paint, signals, found, inside)
    phases, labels = paint.phases()
    return Flight(begin, end, phases, tuple(inside), labels, (*notes, *own_notes))


def _ground(
    paint: PhasePaint, signals: Signals, stretch: Stretch, runs: GroundRuns, *, lands: bool
) -> list[Event]:
    is_touch = runs.takeoff is not None and runs.takeoff.kind == "touch_and_go"
    events = paint_ground(paint, signals, stretch, runs, is_first=not lands, has_landed=lands)
    if lands:
        roll_end = runs.takeoff.begin if is_touch and runs.takeoff is not None else runs.landing_end
        roll_end = stretch.end if roll_end is None else max(roll_end, stretch.begin + 1)
        events += paint_landing(paint, signals, stretch, roll_end, is_touch=is_touch)
        if not is_touch:
            until = runs.takeoff.begin if runs.takeoff is not None else stretch.end
            events += [one for one in [stopped(signals, stretch.begin, until)] if one is not None]
    for run in runs.rejected:
        events += run_events(signals, run)
        events += [one for one in [stopped(signals, run.end, stretch.end)] if one is not None]
    if runs.takeoff is not None:
        events += run_events(signals, runs.takeoff)
    return events


def _in_gap(signals: Signals, what: str, row: int) -> str:
    return (
        f"{what} fell into a gap of the recording, between {signals.time[row - 1]:.1f} and "
        f"{signals.time[row]:.1f} s: when is not told."
    )


def _paint_runs(
    paint: PhasePaint, signals: Signals, found: list[tuple[Stretch, GroundRuns | None]], events: list[Event]
) -> None:
    """Lay the runs last: their limits are events."""
    for _, runs in found:
        if runs is None:
            continue
        every = (*runs.rejected, *(() if runs.takeoff is None else (runs.takeoff,)))
        begins = [*(run.begins for run in every[1:]), float("inf")]
        for run, next_begins in zip(runs.rejected, begins, strict=False):
            _paint_rejected(paint, signals, run, events, next_begins)
        if runs.takeoff is not None:
            _paint_takeoff(paint, signals, runs.takeoff, events)


def _paint_takeoff(paint: PhasePaint, signals: Signals, run: TakeoffRun, events: list[Event]) -> None:
    last = float(signals.time[run.end])
    lift_off = _one(events, "lift_off", last - 5.0, last + 5.0, float(signals.time[run.end]))
    rotation = _one(events, "rotation_begins", run.begins, lift_off, lift_off)
    paint.times("takeoff_roll", run.begins, rotation)
    if rotation < lift_off:
        paint.times("rotation", rotation, lift_off)


def _paint_rejected(
    paint: PhasePaint, signals: Signals, run: TakeoffRun, events: list[Event], until: float
) -> None:
    given_up = float(signals.time[run.end])
    given_up = _one(events, "levers_closed", given_up - 5.0, given_up + 5.0, given_up)
    halted = _one(events, "stopped", given_up, float("inf"), float("nan"))
    slow = first_row(below(signals.speed, signals.limits.taxi_speed), run.end, signals.rows)
    row = signals.rows - 1 if slow is None else slow
    # Off the runway it taxies on: the stop is part of it only if it comes soon after taxi speed.
    ends = halted if halted - float(signals.time[row]) < 20.0 else float(signals.time[row])
    paint.times("takeoff_roll", run.begins, given_up)
    paint.times("rejected_takeoff", given_up, min(ends, until))


def _one(events: list[Event], name: str, begins: float, ends: float, otherwise: float) -> float:
    """Return the time of the first event of a name in a span."""
    return next((one.time for one in events if one.name == name and begins <= one.time <= ends), otherwise)
