"""The moments of gear, flaps, burners and engines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.event_takeoff import at_row, at_time
from sortiewright.recording.flight_power import Engine
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import (
    Column,
    Floats,
    Truths,
    crossing,
    first_row,
    last_row,
    runs,
    switched,
    without_short,
)
from sortiewright.recording.moments import Event
from sortiewright.recording.signal_columns import at_least, at_most, mask_of

Rows = NDArray[np.intp]

_BURNER_TIME = 0.3  # s
_DWELL_TIME = 1.0  # s: a flap that does not move for so long has stopped
_STILL = 0.005  # share of travel
_DECAY_WINDOW = (
    30.0  # s: an engine that failed began to slow down within this time before it was slower than idle
)
_SLOWING_TIME = 0.5  # s
_SLOWING = 0.005  # share of rated, lost in that time
_FAST = 15.0  # m/s: an engine that stops while the aircraft rolls faster has failed, was not shut down


def system_events(signals: Signals, begin: int, end: int) -> list[Event]:
    """Return the events of systems in some rows."""
    return [
        *_gear_events(signals, begin, end),
        *_flap_events(signals, begin, end),
        *_burner_events(signals, begin, end),
        *_engine_events(signals, begin, end),
    ]


def _gear_events(signals: Signals, begin: int, end: int) -> list[Event]:
    gear = signals.gear
    if gear is None:
        return []
    moved = signals.limits.moved
    down, up = mask_of(at_least(gear, 1.0 - moved), begin, end), mask_of(at_most(gear, moved), begin, end)
    events: list[Event] = []
    for row in _begins(up, begin):
        if last_row(down, 0, row - begin) is not None:
            events.append(at_time(signals, "gear_up", _arrives(signals, gear, row, 0.0), "gear position"))
    for row in _begins(down, begin):
        if last_row(up, 0, row - begin) is not None:
            events.append(at_time(signals, "gear_down", _arrives(signals, gear, row, 1.0), "gear position"))
    for row in _begins(~down, begin):
        # On its way up: it is up, or the recording ends, before it is down again.
        reached = first_row(lambda rows: up[rows] | down[rows], row - begin, end - begin)
        if reached is None or up[reached]:
            events.append(
                at_time(signals, "gear_up_selected", _leaves(signals, gear, row - 1, 1.0), "gear position")
            )
    return events


def _flap_events(signals: Signals, begin: int, end: int) -> list[Event]:
    flap = signals.flap
    if flap is None:
        return []
    up = mask_of(at_most(flap, signals.limits.moved), begin, end)
    events: list[Event] = []
    for row in _begins(up, begin):
        events.append(at_time(signals, "flaps_up", _arrives(signals, flap, row, 0.0), "flap position"))
        still = _last_stop(signals, flap, begin, row)
        if still is not None:
            level = float(flap[still])
            events.append(
                at_time(signals, "flaps_up_selected", _leaves(signals, flap, still, level), "flap position")
            )
    return events


def _last_stop(signals: Signals, flap: Column, begin: int, row: int) -> int | None:
    """Return the last row before one at which the flaps stood still, not up."""
    clock = signals.clock

    def since(rows: slice) -> Rows:
        return np.maximum(np.searchsorted(clock, clock[rows] - _DWELL_TIME), begin)

    def still(rows: slice) -> Truths:
        unmoved = np.abs(flap[rows] - flap[since(rows)]) < _STILL
        return unmoved & (flap[rows] > 2.0 * signals.limits.moved)

    stop = last_row(still, begin, row)
    if stop is None:
        return None
    # Within the second that was looked back over, it may have moved a little already.
    first = int(since(slice(stop, stop + 1))[0])
    level = float(np.median(flap[first : stop + 1]))
    exact = last_row(flap[first:row] >= level - 0.002, 0, row - first)
    return stop if exact is None else first + exact


def _begins(mask: Truths, offset: int) -> list[int]:
    """Return the rows at which a mask becomes true, not counting one that is so from the first row."""
    begins, _ = runs(mask)
    return [offset + int(row) for row in begins if row > 0]


def _arrives(signals: Signals, values: Column, row: int, end: float) -> float:
    """Return when a moving part reached its end, s, near ``row``, the first there: at the speed it had."""
    time = signals.time
    before, earlier = row - 1, row - 2
    if earlier < 0 or not signals.joined[row] or not signals.joined[before]:
        return float(time[row])
    slope = (values[before] - values[earlier]) / (time[before] - time[earlier])
    if slope == 0.0:
        return float(0.5 * (time[before] + time[row]))
    latest = time[row] + abs(values[row] - end) / abs(slope)
    return float(np.clip(time[before] + (end - values[before]) / slope, time[before], latest))


def _leaves(signals: Signals, values: Column, row: int, start: float) -> float:
    """Return when a part began to move, s, between ``row`` and the next: at the speed it has then."""
    time = signals.time
    after, later = row + 1, row + 2
    if later >= signals.rows or not signals.joined[after] or not signals.joined[later]:
        return float(time[min(after, signals.rows - 1)])
    slope = (values[later] - values[after]) / (time[later] - time[after])
    if slope == 0.0:
        return float(0.5 * (time[row] + time[after]))
    return float(np.clip(time[after] + (start - values[after]) / slope, time[row], time[after]))


def _burner_events(signals: Signals, begin: int, end: int) -> list[Event]:
    burner = signals.power.burner
    if burner is None:
        return []
    lit = without_short(
        burner[begin:end], signals.clock[begin:end], least_true=_BURNER_TIME, least_false=_BURNER_TIME
    )
    begins, ends = runs(lit)
    basis = signals.power.burner_basis
    events = [at_row(signals, "afterburner_lit", begin + int(row) - 1, basis) for row in begins if row > 0]
    return events + [
        at_row(signals, "afterburner_out", begin + int(row) - 1, basis) for row in ends if row < end - begin
    ]


def _engine_events(signals: Signals, begin: int, end: int) -> list[Event]:
    events: list[Event] = []
    for engine in signals.power.engines:
        if engine.speed is not None and engine.idle > 0.0:
            events += _starts_and_failures(signals, engine, engine.speed, begin, end)
    off = signals.power.off
    if off is not None:
        for row in _begins(off[begin:end], begin):
            if not signals.moving[row] and signals.wheels.on_wheels[row]:
                events.append(at_time(signals, "shut_down", _shut_down(signals, begin, row), "engine speed"))
    return events


def _starts_and_failures(
    signals: Signals, engine: Engine, speed: Floats, begin: int, end: int
) -> list[Event]:
    limits = signals.limits
    events: list[Event] = []
    level = min(limits.start_speed, 0.5 * engine.idle)
    turning = switched(speed[begin:end], above=level, below=0.5 * level, initially=bool(speed[begin] > level))
    for row in _begins(turning, begin):
        # Turning for sure; it began to where it last hardly did.
        still = last_row(at_most(speed, 0.2 * level), begin, row)
        moment = crossing(signals.time, speed, row - 1, level, signals.joined)
        if still is not None:
            moment = crossing(signals.time, speed, still, 0.2 * level, signals.joined)
        events.append(at_time(signals, "engine_start", moment, _of(engine)))
    idling = switched(
        speed[begin:end], above=0.95 * engine.idle, below=limits.failed_share * engine.idle, initially=True
    )
    for row in _begins(~idling, begin):
        if signals.wheels.on_wheels[row] and not signals.speed[row] > _FAST:
            continue
        events.append(_failure(signals, engine, speed, begin, row))
    return events


def _failure(signals: Signals, engine: Engine, speed: Floats, begin: int, row: int) -> Event:
    """Return when an engine that fell under idle began to run down: where it last did not slow."""
    first = max(begin, signals.row_later(row, -_DECAY_WINDOW))
    earlier = np.searchsorted(signals.clock, signals.clock[first : row + 1] - _SLOWING_TIME)
    slowing = speed[first : row + 1] < speed[np.maximum(earlier, first)] - _SLOWING
    steady = last_row(~slowing, 0, len(slowing))
    moment = float(signals.time[first + (steady or 0)])
    return at_time(signals, "engine_failed", moment, _of(engine))


def _shut_down(signals: Signals, begin: int, row: int) -> float:
    """Return when the last engine began to run down."""
    latest = float(signals.time[begin])
    for engine in signals.power.engines:
        if engine.speed is None:
            continue
        running = last_row(at_least(engine.speed, 0.95 * engine.idle), begin, row)
        if running is not None:
            latest = max(
                latest, crossing(signals.time, engine.speed, running, 0.95 * engine.idle, signals.joined)
            )
    return latest if latest > signals.time[begin] else float(signals.time[row])


def _of(engine: Engine) -> str:
    side = engine.side.removeprefix("_")
    return f"speed of the {side} engine" if side else "engine speed"
