"""Phases and events of a leg in the air, from lift-off to touchdown."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.event_takeoff import at_time
from sortiewright.recording.flight_legs import Stretch
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import Column, Floats, Truths, crossing, first_row, last_row
from sortiewright.recording.moments import Event, EventName
from sortiewright.recording.phase_climbs import CLIMB, DESCENT, manoeuvring, trends
from sortiewright.recording.phase_limits import FOOT
from sortiewright.recording.phase_painting import PhasePaint
from sortiewright.recording.signal_columns import Lowered, above, at_least, at_most, below

Trend: TypeAlias = NDArray[np.int8]

GATES: tuple[tuple[EventName, float], ...] = (
    ("gate_1000_ft", 1000.0 * FOOT),
    ("gate_500_ft", 500.0 * FOOT),
    ("gate_300_ft", 300.0 * FOOT),
    ("gate_50_ft", 50.0 * FOOT),
)
_TOP_BAND = 150.0  # m: climbs and descents within it of the greatest height reach the top
_POWER_LEAD = 12.0  # s: power comes up so long before the lowest point of a go-around at most
_GRID = 1.0  # s


def above_field(signals: Signals, landing: int | None) -> Column | None:
    """Return height over the field landed on, m: by altitude, so that terrain on the way does not count.

    Without a landing, or an altitude: height over the ground.
    """
    above_sea = signals.wheels.above_sea
    if landing is None or above_sea is None:
        return signals.wheels.height
    return Lowered(above_sea, float(above_sea[min(landing, signals.rows - 1)]))


def paint_leg(
    paint: PhasePaint,
    signals: Signals,
    leg: Stretch,
    vertical_speed: Floats | None,
    *,
    lifts_off: bool,
    lands: bool,
) -> list[Event]:
    """Lay the phases of a leg; return its events between lift-off and touchdown."""
    begin, end = leg.begin, leg.end
    trend = trends(signals, begin, end, vertical_speed)
    events: list[Event] = []
    if trend is None:
        paint.rows("unknown", begin, end)
    else:
        paint.rows("cruise", begin, end)
        paint.mask("climb", trend == CLIMB, begin)
        paint.mask("descent", trend == DESCENT, begin)
        events += _tops(signals, leg, trend)
    hard = manoeuvring(signals, begin, end)
    if hard is not None:
        paint.mask("manoeuvre", hard, begin)
    if lifts_off:
        _paint_departure(paint, signals, leg, trend)
    height = above_field(signals, end if lands else None)
    if height is None:
        return events
    earliest = begin
    for lowest in _go_arounds(signals, leg, height):
        power = _power_up(signals, lowest)
        _paint_approach(paint, signals, height, earliest, min(power, lowest))
        events += _gates(signals, height, earliest, lowest)
        events.append(
            at_time(
                signals,
                "go_around_begins",
                float(signals.time[power]),
                "power" if power < lowest else "lowest point",
            )
        )
        earliest = _go_around_ends(signals, height, lowest, end)
        paint.rows("go_around", power, earliest)
    if lands:
        _paint_approach(paint, signals, height, earliest, end)
        events += _gates(signals, height, earliest, end)
        flare = last_row(above(_low(signals, height), signals.limits.flare_height), earliest, end)
        if flare is not None:
            paint.rows("flare", flare + 1, end)
    return events


def _low(signals: Signals, height: Column) -> Column:
    return signals.wheels.height if signals.wheels.height is not None else height


def _tops(signals: Signals, leg: Stretch, trend: Trend) -> list[Event]:
    """Return where the first climb to the top ends and the last descent from it begins."""
    path = signals.wheels.above_sea if signals.wheels.above_sea is not None else signals.wheels.height
    if path is None:
        return []
    high = path[leg.begin : leg.end] >= float(path[leg.begin : leg.end].max()) - _TOP_BAND
    events: list[Event] = []
    ends = np.flatnonzero((trend[:-1] == CLIMB) & (trend[1:] != CLIMB) & high[:-1])
    if len(ends):
        events.append(
            at_time(signals, "top_of_climb", float(signals.time[leg.begin + ends[0] + 1]), "height trend")
        )
    begins = np.flatnonzero((trend[:-1] != DESCENT) & (trend[1:] == DESCENT) & high[:-1])
    if len(begins):
        events.append(
            at_time(
                signals, "top_of_descent", float(signals.time[leg.begin + begins[-1] + 1]), "height trend"
            )
        )
    return events


def _paint_departure(paint: PhasePaint, signals: Signals, leg: Stretch, trend: Trend | None) -> None:
    """Lay lift-off up to the screen height, and clean-up until gear and flaps are up.

    Where they are not recorded, or stay down as in a circuit, until the first climb ends.
    """
    height, limits = signals.wheels.height, signals.limits
    begin, end = leg.begin, leg.end
    screen = first_row(at_least(height, limits.screen_height), begin, end) if height is not None else None
    if screen is None:
        screen = min(signals.row_later(begin, 5.0), end)
    last = min(signals.row_later(begin, limits.clean_up_time), end)
    clean = _clean(signals, screen, last)
    if clean is None:
        high = (
            first_row(at_least(height, limits.clean_up_height), screen, last) if height is not None else None
        )
        levelled = (
            first_row(lambda rows: trend[rows] != CLIMB, screen - begin, last - begin)
            if trend is not None
            else None
        )
        clean = min(
            row for row in (high, None if levelled is None else begin + levelled, last) if row is not None
        )
    paint.rows("lift_off", begin, screen)
    paint.rows("clean_up", screen, clean)


def _clean(signals: Signals, begin: int, end: int) -> int | None:
    """Return the first row with gear and flaps up; None where neither is recorded or they stay down."""
    parts = [part for part in (signals.gear, signals.flap) if part is not None]
    moved = signals.limits.moved

    def up(rows: slice) -> Truths:
        return np.logical_and.reduce([part[rows] <= moved for part in parts])

    return first_row(up, begin, end) if parts else None


def _go_arounds(signals: Signals, leg: Stretch, height: Column) -> list[int]:
    """Return the lowest rows of approaches that were broken off: low, slow or dirty, then climbed away."""
    limits = signals.limits
    clock = signals.clock[leg.begin : leg.end]
    grid = np.arange(clock[0], clock[-1], _GRID)
    rows = leg.begin + np.searchsorted(clock, grid)
    found: list[int] = []
    climbed_from, highest, lowest, down = 0, -np.inf, np.inf, False
    for index, value in enumerate(height[rows].tolist()):
        if down:
            if value < lowest:
                lowest, climbed_from = value, index
            elif value - lowest >= limits.go_around_climb:
                if lowest < limits.go_around_height:
                    found.append(int(rows[climbed_from]))
                highest, down = value, False
        elif value > highest:
            highest = value
        elif highest - value >= limits.go_around_climb:
            lowest, climbed_from, down = value, index, True
    return [_exact_lowest(signals, height, leg, row) for row in found if _is_approach(signals, row)]


def _exact_lowest(signals: Signals, height: Column, leg: Stretch, row: int) -> int:
    first = max(leg.begin, signals.row_later(row, -1.5))
    last = min(leg.end, signals.row_later(row, 1.5))
    return first + int(height[first : max(last, first + 1)].argmin())


def _is_approach(signals: Signals, row: int) -> bool:
    """Return whether the aircraft was set up to land: gear down; where that is unknown, slow."""
    if signals.gear is not None:
        return bool(signals.gear[row] >= 1.0 - signals.limits.moved)
    on_wheels = signals.speed[signals.wheels.on_wheels]
    fastest = float(np.nanmax(on_wheels, initial=0.0))
    return bool(signals.speed[row] <= 1.3 * fastest)


def _power_up(signals: Signals, lowest: int) -> int:
    """Return the row at which power came up for the go-around, or the lowest."""
    first = signals.row_later(lowest, -_POWER_LEAD)
    last = min(signals.row_later(lowest, 3.0), signals.rows)
    for values in (signals.power.lever, signals.power.share):
        if values is None or last - first < 3:
            continue
        low, high = float(values[first:last].min()), float(values[first:last].max())
        if high - low < signals.limits.stick_step:
            continue
        row = last_row(at_most(values, low + 0.2 * (high - low)), first, last)
        if row is not None and row < last - 1:
            return row
    return lowest


def _go_around_ends(signals: Signals, height: Column, lowest: int, end: int) -> int:
    limits = signals.limits
    last = min(signals.row_later(lowest, limits.go_around_time), end)
    climbed = first_row(at_least(height, height[lowest] + limits.go_around_end), lowest, last)
    clean = _clean(signals, lowest, last)
    return min(row for row in (climbed, clean, last) if row is not None)


def _paint_approach(paint: PhasePaint, signals: Signals, height: Column, earliest: int, end: int) -> None:
    """Lay the approach: from the gear coming down, or from 1,500 ft, or from where the last descent began."""
    limits = signals.limits
    earliest = max(
        earliest,
        signals.row_later(min(end, signals.rows - 1), -limits.approach_time),
    )
    high = last_row(above(height, limits.approach_height), earliest, end)
    begin = high
    if signals.gear is not None:
        up = last_row(below(signals.gear, limits.moved * 2.0), earliest, end)
        begin = up if up is not None else high
    if begin is None:
        # A low circuit with the gear left down: from its highest point.
        begin = earliest + int(height[earliest:end].argmax()) if end > earliest else end
    paint.rows("approach", begin, end)


def _gates(signals: Signals, height: Column, begin: int, end: int) -> list[Event]:
    """Return where each gate was passed for the last time on the way down."""
    events: list[Event] = []
    for name, level in GATES:
        values = _low(signals, height) if level <= GATES[-1][1] else height
        row = last_row(above(values, level), begin, end)
        if row is not None and row < end - 1:
            events.append(
                at_time(signals, name, crossing(signals.time, values, row, level, signals.joined), "height")
            )
    return events
