"""The moments of a takeoff, from power to 50 ft, and of one that was given up."""

from __future__ import annotations

import numpy as np

from sortiewright.recording.flight_ground import TakeoffRun
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import (
    Column,
    between,
    crossing,
    durations,
    first_row,
    last_row,
    runs,
    switched,
)
from sortiewright.recording.moments import Event, EventName
from sortiewright.recording.phase_limits import FOOT
from sortiewright.recording.signal_columns import above, at_least, at_most, mask_of

HEIGHTS: tuple[tuple[EventName, float], ...] = (("height_35_ft", 35.0 * FOOT), ("height_50_ft", 50.0 * FOOT))
_ROTATION_WINDOW = 15.0  # s: rotation begins within this time of lift-off, or of giving up
_PULL_SHARE = 0.05  # of the pull: where its begin is drawn from
_PULL_SLOPE = 0.2  # of the pull: over which its speed is measured
_PULL_BACK = 0.2  # s at most
_BRAKES_LATE = 10.0  # s after levers closed


def at_row(signals: Signals, name: EventName, row: int, basis: str) -> Event:
    """Return an event of a truth that changed between a row and the next."""
    return at_time(signals, name, between(signals.time, row, signals.joined), basis)


def at_time(signals: Signals, name: EventName, moment: float, basis: str) -> Event:
    """Return an event at a moment."""
    row = int(np.searchsorted(signals.time, moment, side="right")) - 1
    return Event(name, moment, max(row, 0), basis)


def run_events(signals: Signals, run: TakeoffRun) -> list[Event]:
    """Return what happened on a takeoff run, lift-off not included."""
    events: list[Event] = []
    if run.kind != "touch_and_go":
        events.append(at_time(signals, "brake_release", run.begins, run.basis))
    power = _power_set(signals, run)
    if power is not None:
        events.append(power)
    lined_up = _lined_up(signals, run)
    if lined_up is not None:
        events.append(lined_up)
    rotation = rotation_events(signals, run.begin, run.end)
    events += rotation
    if not run.lifts_off:
        closed = levers_closed(signals, run.begin, run.end)
        if closed is not None:
            events.append(closed)
        brakes = brakes_on(signals, run.end, _BRAKES_LATE)
        if brakes is not None:
            events.append(brakes)
    return events


def lift_off_events(signals: Signals, last_on_wheels: int, leg_end: int) -> list[Event]:
    """Return lift-off and the heights passed after it."""
    wheels, time = signals.wheels, signals.time
    events = [_lift_off(signals, last_on_wheels)]
    height = wheels.height
    if height is None:
        return events
    for name, level in HEIGHTS:
        if level <= 1.5 * wheels.resolution:
            continue
        row = first_row(at_least(height, level), last_on_wheels + 1, leg_end)
        if row is not None:
            events.append(
                at_time(signals, name, crossing(time, height, row - 1, level, signals.joined), "height")
            )
    return events


def _lift_off(signals: Signals, row: int) -> Event:
    wheels = signals.wheels
    if wheels.by_weight or wheels.height is None:
        return at_row(signals, "lift_off", row, wheels.basis)
    # Height passed its level some time after the wheels left: drawn back at the climb of the next second.
    after = min(row + 1, signals.rows - 1)
    later = min(signals.row_later(after, 1.0), signals.rows - 1)
    climb = (wheels.height[later] - wheels.height[after]) / max(
        float(signals.clock[later] - signals.clock[after]), 1e-3
    )
    back = wheels.height[after] / climb if climb > 0.5 else 0.0
    moment = max(float(signals.time[after]) - back, float(signals.time[after]) - 5.0, float(signals.time[0]))
    return at_time(signals, "lift_off", moment, wheels.basis)


def rotation_events(signals: Signals, begin: int, end: int) -> list[Event]:
    """Return when rotation begins and the nosewheel leaves the runway."""
    pitch = signals.pitch
    first = max(begin, signals.row_later(end, -_ROTATION_WINDOW))
    nose = _nosewheel_off(signals, first, begin, end)
    events: list[Event] = []
    rises = end
    if nose is not None:
        rises, row, basis = nose
        if basis == "weight on the nosewheel":
            events.append(at_row(signals, "nosewheel_off", row, basis))
        elif pitch is not None:
            level = _rolling_pitch(signals, begin, end) + signals.limits.nose_rise
            events.append(
                at_time(
                    signals, "nosewheel_off", crossing(signals.time, pitch, row, level, signals.joined), basis
                )
            )
    pull = _pull(signals, begin, rises)
    if pull is not None:
        events.append(at_time(signals, "rotation_begins", pull, "stick"))
    else:
        rising = _pitch_rises(signals, first, begin, end)
        if rising is not None:
            events.append(at_time(signals, "rotation_begins", rising, "pitch rate"))
    return events


def _nosewheel_off(signals: Signals, first: int, begin: int, end: int) -> tuple[int, int, str] | None:
    """Return the row at which the nose first rises, the last with the nosewheel down, and what told it.

    They differ where the nosewheel touches once more: it skips as its load goes, or the nose is let down.
    """
    limits, nose = signals.limits, signals.wheels.nose
    if nose is not None and nose[begin : end + 1].any():
        clock = signals.clock[begin : end + 1]
        begins, ends = runs(~nose[begin : end + 1])
        up = durations(clock, begins, ends)
        fast = signals.speed[begin + begins] >= limits.nose_least_speed
        # On the ground again for longer than it was up, it had hopped: the nose did not rise then.
        down = np.append(clock[begins[1:]] - clock[ends[:-1]], 0.0)
        good = begin - 1 + begins[(up >= limits.nose_rise_time) & (down < up) & fast & (begins > 0)]
        return (int(good[0]), int(good[-1]), "weight on the nosewheel") if len(good) else None
    if signals.pitch is None:
        return None
    level = _rolling_pitch(signals, begin, end) + limits.nose_rise
    row = last_row(at_most(signals.pitch, level), first, end + 1)
    if row is None or row >= end or signals.speed[row] < limits.nose_least_speed:
        return None
    return row, row, "pitch"


def _rolling_pitch(signals: Signals, begin: int, end: int) -> float:
    """Return the attitude of the run before rotation, rad."""
    assert signals.pitch is not None
    until = signals.row_later(end, -8.0)
    last = max(until, begin + 1, begin + (end - begin) // 3)
    return float(np.median(signals.pitch[max(begin, last - 400) : last]))


def _pull(signals: Signals, begin: int, reference: int) -> float | None:
    """Return when the stick began to come aft before the nose rose; None where no pull stands out."""
    stick, limits = signals.stick, signals.limits
    if stick is None or limits.stick_lead == 0.0:
        return None
    first = max(begin, signals.row_later(reference, -limits.stick_lead))
    last = min(signals.row_later(reference, 0.5), signals.rows)
    before = max(begin, signals.row_later(first, -3.0))
    if last - first < 5:
        return None
    # On a touch-and-go there is no roll before the pull to speak of.
    held = stick[before:first] if first - before >= 5 else stick[first : first + 3]
    rest, unrest = float(np.median(held)), float(np.ptp(held))
    pull = float(stick[first:last].max()) - rest
    if pull < max(limits.stick_step, 2.0 * unrest):
        return None
    peak = first + int(stick[first:last].argmax())
    low = rest + max(_PULL_SHARE * pull, 0.6 * unrest)
    high = low + _PULL_SLOPE * pull
    row = last_row(at_most(stick, low), first, peak)
    further = first_row(above(stick, high), row or first, peak + 1)
    if row is None:
        return None
    moment = crossing(signals.time, stick, row, low, signals.joined)
    if further is None:
        return moment
    later = crossing(signals.time, stick, further - 1, high, signals.joined)
    # A pull of even speed, drawn back to where the stick was.
    back = (later - moment) * (low - rest) / (high - low)
    return max(moment - min(back, _PULL_BACK), float(signals.time[first]))


def _pitch_rises(signals: Signals, first: int, begin: int, end: int) -> float | None:
    """Return when pitch began to rise for good: with the pitch rate that carried it over its first degree."""
    rate, pitch, limits = signals.pitch_rate, signals.pitch, signals.limits
    if rate is None or pitch is None:
        return None
    rise = pitch[first : end + 1] - _rolling_pitch(signals, begin, end)
    if not rise.size or float(rise.max()) < limits.nose_rise:
        return None
    risen = first + int((rise >= limits.nose_rise).argmax())
    level = limits.rotation_pitch_rate
    rotating = switched(rate[first : risen + 1], above=level, below=0.3 * level)
    row = last_row(~rotating, 0, len(rotating))
    if row is None or first + row >= risen:
        return None
    return crossing(signals.time, rate, first + row, level, signals.joined)


def _power_set(signals: Signals, run: TakeoffRun) -> Event | None:
    """Return when power reached that of the roll, to stay."""
    share, limits = signals.power.share, signals.limits
    if share is None:
        return None
    first = run.stand[0] if run.stand is not None else run.begin
    span = share[run.begin : run.end + 1]
    if span.size < 3 or (level := limits.power_set_share * float(np.median(span))) < limits.run_up_power:
        return None
    begins, ends = runs(mask_of(at_least(share, level), first, run.end + 1))
    lasts = durations(signals.clock[first : run.end + 2], begins, ends)
    lasting = np.flatnonzero(lasts >= limits.power_set_time)
    if not len(lasting):
        return None
    row = first + int(begins[lasting[0]])
    if row == first:
        return at_time(signals, "power_set", float(signals.time[row]), signals.power.basis)
    moment = crossing(signals.time, share, row - 1, level, signals.joined)
    return at_time(signals, "power_set", moment, signals.power.basis)


def _lined_up(signals: Signals, run: TakeoffRun) -> Event | None:
    """Return when the aircraft stopped on the runway, or, rolling on, came onto its heading."""
    if run.kind == "touch_and_go":
        return None
    if run.stand is not None:
        if run.stand[0] == 0 or not signals.moving[run.stand[0] - 1]:
            return None
        return at_time(signals, "lined_up", stop_moment(signals, run.stand[0]), "stop")
    heading = signals.heading_deg
    if heading is None:
        return None
    first = max(0, signals.row_later(run.begin, -120.0))
    course = heading[run.end]
    off = last_row(lambda rows: np.abs(heading[rows] - course) > 10.0, first, run.end)
    return None if off is None else at_row(signals, "lined_up", off, "heading of the run")


def stop_moment(signals: Signals, row: int) -> float:
    """Return when the aircraft came to rest, s, given its first standing row: slowing drawn on to nought."""
    limits, time, speed = signals.limits, signals.time, signals.speed
    if row == 0:
        return float(time[0])
    slow = crossing(time, speed, row - 1, limits.standing_speed, signals.joined)
    fast = last_row(at_least(speed, limits.moving_speed), max(0, row - 2000), row)
    if fast is None:
        return slow
    earlier = crossing(time, speed, fast, limits.moving_speed, signals.joined)
    on = limits.standing_speed * (slow - earlier) / (limits.moving_speed - limits.standing_speed)
    return slow + min(max(on, 0.0), 1.0)


def levers_closed(signals: Signals, begin: int, near: int, before: float = 5.0) -> Event | None:
    """Return when the levers came back near a row, from some seconds before it.

    Where levers are not recorded: when power fell.
    """
    first = max(begin, signals.row_later(near, -before))
    last = min(signals.row_later(near, 5.0), signals.rows)
    for values, basis in ((signals.power.lever, "throttle"), (signals.power.share, signals.power.basis)):
        if values is None or last - first < 3:
            continue
        high, low = float(values[first:last].max()), float(values[first:last].min())
        if high - low < signals.limits.stick_step:
            continue
        row = _falls(values, first, last, low + 0.9 * (high - low))
        if row is not None:
            moment = crossing(signals.time, values, row, low + 0.9 * (high - low), signals.joined)
            return at_time(signals, "levers_closed", moment, basis)
    return None


def _falls(values: Column, first: int, last: int, level: float) -> int | None:
    row = last_row(at_least(values, level), first, last)
    return None if row is None or row >= last - 1 else row


def brakes_on(signals: Signals, row: int, within: float) -> Event | None:
    """Return when the brakes came on after a row."""
    if signals.brake is None:
        return None
    last = min(signals.row_later(row, within), signals.rows)
    on = first_row(above(signals.brake, signals.limits.brake_on), row, last)
    if on is None:
        return None
    moment = (
        crossing(signals.time, signals.brake, on - 1, signals.limits.brake_on, signals.joined)
        if on > row
        else float(signals.time[on])
    )
    return at_time(signals, "brakes_on", moment, "brakes")
