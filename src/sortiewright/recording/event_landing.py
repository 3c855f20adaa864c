"""The moments of a landing, from touchdown to the end of the roll."""

from __future__ import annotations

from sortiewright.recording.event_takeoff import at_row, at_time, brakes_on, levers_closed, stop_moment
from sortiewright.recording.flight_legs import Stretch
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import crossing, first_row, last_row, without_short
from sortiewright.recording.moments import Event
from sortiewright.recording.phase_painting import PhasePaint
from sortiewright.recording.signal_columns import contrary

_NOSE_TIME = 0.3  # s: the nosewheel stays down so long
_TOUCHDOWN_TIME = 2.0  # s: the phase of touchdown where the nosewheel is not recorded
_LEVERS_WINDOW = 15.0  # s before touchdown
_BRAKES_LATE = 60.0  # s


def paint_landing(
    paint: PhasePaint, signals: Signals, stretch: Stretch, roll_end: int, *, is_touch: bool
) -> list[Event]:
    """Lay touchdown, landing roll and chute over a landing; return its events."""
    row = stretch.begin
    # In a gap nobody knows when.
    events = [_touchdown(signals, row)] if signals.joined[row] else []
    for _, again in stretch.hops:
        if again < roll_end and signals.clock[again] - signals.clock[row] <= signals.limits.bounce_time:
            events.append(at_row(signals, "bounce", again - 1, signals.wheels.basis))
    nose = _nosewheel_down(signals, row, roll_end)
    if nose is not None:
        events.append(nose)
    derotated = nose.row + 1 if nose is not None else signals.row_later(row, _TOUCHDOWN_TIME)
    derotated = min(max(derotated, row + 1), roll_end)
    paint.rows("landing_roll", derotated, roll_end)
    paint.rows("touchdown", row, derotated)
    closed = levers_closed(signals, 0, row, _LEVERS_WINDOW)
    if closed is not None and not is_touch:
        events.append(closed)
    events += _chute(paint, signals, row, roll_end)
    if not is_touch:
        brakes = brakes_on(signals, row, _BRAKES_LATE)
        if brakes is not None:
            events.append(brakes)
    return events


def stopped(signals: Signals, begin: int, end: int) -> Event | None:
    """Return when the aircraft first stood after a row; None where it did not."""
    row = first_row(contrary(signals.moving), begin, end)
    if row is None or row == 0:
        return None
    return at_time(signals, "stopped", stop_moment(signals, row), "speed")


def _touchdown(signals: Signals, row: int) -> Event:
    wheels = signals.wheels
    if wheels.by_weight or wheels.height is None or row == 0:
        return at_row(signals, "touchdown", max(row - 1, 0), wheels.basis)
    # Height passed its level before the wheels touched: drawn on at the sink of the second before.
    earlier = max(signals.row_later(row - 1, -1.0), 0)
    fallen = wheels.height[earlier] - wheels.height[row - 1]
    sink = fallen / max(float(signals.clock[row - 1] - signals.clock[earlier]), 1e-3)
    on = min(wheels.height[row - 1] / sink, 5.0) if sink > 0.3 else 0.0
    return at_time(signals, "touchdown", float(signals.time[row - 1]) + max(on, 0.0), wheels.basis)


def _nosewheel_down(signals: Signals, row: int, roll_end: int) -> Event | None:
    nose = signals.wheels.nose
    if nose is not None:
        # From the row before touchdown: a touch of the nose together with the mains does not last.
        first = max(row - 1, 0)
        down = without_short(nose[first:roll_end], signals.clock[first:roll_end], least_true=_NOSE_TIME)
        found = first_row(down, 1, len(down))
        return (
            None
            if found is None
            else at_row(signals, "nosewheel_down", first + found - 1, "weight on the nosewheel")
        )
    if signals.pitch is None or roll_end - row < 10:
        return None
    level = float(signals.pitch[roll_end - 1]) + signals.limits.nose_rise
    up = last_row(signals.pitch[row:roll_end] > level, 0, roll_end - row)
    if up is None or up >= roll_end - row - 1:
        return None
    moment = crossing(signals.time, signals.pitch, row + up, level, signals.joined)
    return at_time(signals, "nosewheel_down", moment, "pitch")


def _chute(paint: PhasePaint, signals: Signals, row: int, roll_end: int) -> list[Event]:
    chute = signals.chute
    if chute is None:
        return []
    out = first_row(chute, row, roll_end)
    if out is None:
        return []
    gone = first_row(contrary(chute), out, roll_end)
    paint.rows("chute", out, roll_end if gone is None else gone)
    return [at_row(signals, "chute_out", max(out - 1, 0), "chute")]
