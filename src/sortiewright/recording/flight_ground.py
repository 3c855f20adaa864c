"""Runs on the ground: takeoffs, attempts that were given up, landing rolls."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sortiewright.recording.flight_legs import Stretch
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import crossing, first_row, last_row, runs, without_short
from sortiewright.recording.signal_columns import at_least, at_most, below, contrary

_FROM_HALF = 0.4  # share of power through which it comes up for a takeoff
_LEVER_LEAD = 5.0  # s
_LEVER_SHARE = 0.3  # of the way to takeoff power, which may stop at military: under it is still taxi
_LEVER_PUSH = 0.1  # share of travel a second
_DIP_TIME = 2.0  # s: a dip in power that is no end of the attempt
_STOPS_WITHIN = 30.0  # s of taxi speed: the roll ends with the stop
_HELD_BRAKE = 0.2  # share: brakes that hold the aircraft
_BRAKES_LEAD = 3.0  # s: the aircraft moves within this time of the brakes coming off


@dataclass(frozen=True)
class TakeoffRun:
    """A run to take off, whether or not it ended in the air."""

    kind: str
    """``standing``, ``rolling``, or ``touch_and_go``."""
    begins: float
    """Brake release, or power coming up, s."""
    basis: str
    begin: int
    """Row at or before."""
    stand: tuple[int, int] | None
    """Rows of the stop before a standing start."""
    end: int
    """Last row on the wheels, or the row at which the attempt was given up."""
    lifts_off: bool


@dataclass(frozen=True)
class GroundRuns:
    """What happened in one stretch on the ground."""

    landing_end: int | None
    """Row after the landing roll; None where there was none, or it became a takeoff."""
    rejected: tuple[TakeoffRun, ...] = ()
    takeoff: TakeoffRun | None = None
    notes: tuple[str, ...] = field(default=())


def ground_runs(signals: Signals, stretch: Stretch, *, lands: bool, lifts_off: bool) -> GroundRuns:
    """Return the runs of a stretch on the ground, given whether there is flight before and after it."""
    landing_end = _landing_end(signals, stretch) if lands else None
    is_touch = lands and lifts_off and landing_end is None
    begin = stretch.begin if landing_end is None else landing_end
    takeoff = _takeoff(signals, begin, stretch.end, is_touch=is_touch) if lifts_off else None
    until = takeoff.begin if takeoff is not None else stretch.end
    rejected = () if is_touch else _rejected(signals, begin, until)
    return GroundRuns(landing_end, rejected, takeoff)


def _landing_end(signals: Signals, stretch: Stretch) -> int | None:
    """Return the row after the landing roll: at rest where it stops straight ahead, else at taxi speed."""
    limits, heading = signals.limits, signals.heading_deg
    slow = first_row(
        lambda rows: (signals.speed[rows] < limits.taxi_speed) | ~signals.moving[rows],
        stretch.begin,
        stretch.end,
    )
    if slow is None:
        return None
    until = min(signals.row_later(slow, _STOPS_WITHIN), stretch.end)
    stop = first_row(contrary(signals.moving), slow, until)
    if stop is None or (
        heading is not None and abs(heading[stop] - heading[slow]) > limits.standing_start_turn
    ):
        return slow
    return stop


def _rejected(signals: Signals, begin: int, end: int) -> tuple[TakeoffRun, ...]:
    share, limits = signals.power.share, signals.limits
    found: list[TakeoffRun] = []
    if share is None:
        begins, ends = runs(signals.speed[begin:end] > limits.fast_taxi_speed)
        candidates = [
            (first, first + int(signals.speed[first:last].argmax()))
            for first, last in zip((begins + begin).tolist(), (ends + begin).tolist(), strict=True)
        ]
    else:
        high = without_short(
            share[begin:end] >= limits.takeoff_power, signals.clock[begin:end], least_false=_DIP_TIME
        )
        begins, ends = runs(high)
        spans = zip((begins + begin).tolist(), (ends + begin - 1).tolist(), strict=True)
        candidates = _without_eased(signals, list(spans))
    for first, last in candidates:
        if share is not None and not _gains(signals, first, last):
            continue
        run = _run(signals, begin, last, lifts_off=False, is_touch=False)
        if run is not None:
            found.append(run)
            begin = last
    return tuple(found)


def _without_eased(signals: Signals, spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return spans of power, those joined between which it rolled on too fast to begin anew."""
    joined: list[tuple[int, int]] = []
    for first, last in spans:
        if joined and signals.speed[joined[-1][1] : first + 1].min() > signals.limits.fast_taxi_speed:
            joined[-1] = joined[-1][0], last
        else:
            joined.append((first, last))
    return joined


def _gains(signals: Signals, begin: int, end: int) -> bool:
    speed = signals.speed[begin : end + 1]
    gain = float(np.nanmax(speed, initial=0.0)) - float(np.nan_to_num(speed[0]))
    return gain >= signals.limits.attempt_gain and float(speed.max()) >= signals.limits.taxi_speed


def _takeoff(signals: Signals, begin: int, end: int, *, is_touch: bool) -> TakeoffRun | None:
    return _run(signals, begin, end - 1, lifts_off=True, is_touch=is_touch)


def _run(signals: Signals, begin: int, end: int, *, lifts_off: bool, is_touch: bool) -> TakeoffRun | None:
    """Return the run that ends at a row, looked for from ``begin``; None where it began before that."""
    rises = _power_rises(signals, begin, end, is_touch=is_touch)
    if is_touch:
        row = rises if rises is not None else begin + int(signals.speed[begin : end + 1].argmin())
        return TakeoffRun(
            "touch_and_go", float(signals.time[row]), "power after touchdown", row, None, end, lifts_off
        )
    stood = last_row(contrary(signals.moving), begin, end + 1)
    if stood is not None and _is_standing_start(signals, stood, rises, end):
        moved = last_row(signals.moving, begin, stood)
        stand = (begin if moved is None else moved + 1, stood + 1)
        moment, basis = _release(signals, stand, stood)
        row = int(np.searchsorted(signals.time, moment, side="right")) - 1
        return TakeoffRun("standing", moment, basis, max(row, stand[0]), stand, end, lifts_off)
    if rises is not None:
        return TakeoffRun(
            "rolling", float(signals.time[rises]), "rolling, power up", rises, None, end, lifts_off
        )
    slow = last_row(below(signals.speed, signals.limits.taxi_speed), begin, end + 1)
    if slow is None:
        return None
    return TakeoffRun(
        "rolling", float(signals.time[slow]), "rolling, faster than taxi", slow, None, end, lifts_off
    )


def _power_rises(signals: Signals, begin: int, end: int, *, is_touch: bool) -> int | None:
    """Return the row from which power stayed up; None where no channel tells, or it was up all the time.

    Power that comes up at a speed no longer taxi's was eased in the run, which had begun before; but not on a
    touch-and-go.
    """
    share = signals.power.share
    if share is None:
        return None
    # The last moments do not count: an attempt ends with power coming off.
    settled = max(begin, signals.row_later(end, -1.0))
    taxi = np.inf if is_touch else signals.limits.fast_taxi_speed
    low = last_row(lambda rows: (share[rows] < _FROM_HALF) & ~(signals.speed[rows] > taxi), begin, settled)
    lever = signals.power.lever
    if low is None or lever is None:
        return low
    # The engine follows its lever by a second or two.
    first = max(begin, signals.row_later(low, -_LEVER_LEAD))
    lowest, highest = float(lever[first : low + 1].min()), float(lever[first : low + 1].max())
    under = last_row(at_most(lever, lowest + _LEVER_SHARE * (highest - lowest)), first, low)
    if under is None:
        return low
    # What taxi takes of the lever before it comes up is no part of the push: that is fast and without a stop.
    steps = np.diff(lever[first : under + 2])
    pushed = steps > _LEVER_PUSH * np.diff(signals.clock[first : under + 2])
    still = last_row(~pushed, 0, len(pushed))
    return first if still is None else first + still + 1


def _is_standing_start(signals: Signals, stood: int, rises: int | None, end: int) -> bool:
    limits, heading = signals.limits, signals.heading_deg
    # Turning onto the runway is done at taxi speed; what turns the aircraft later is an engine, or the wind.
    fast = first_row(at_least(signals.speed, limits.taxi_speed), stood, end)
    straight = end if fast is None else fast
    if heading is not None and abs(heading[straight] - heading[stood]) > limits.standing_start_turn:
        return False
    return rises is None or signals.clock[rises] - signals.clock[stood] <= limits.standing_start_time


def _release(signals: Signals, stand: tuple[int, int], stood: int) -> tuple[float, str]:
    """Return when the brakes came off, and what told it."""
    moment = motion_begins(signals, stand[0], stood)
    brake = signals.brake
    if brake is None:
        return moment, "first motion"
    first = max(stand[0], int(np.searchsorted(signals.time, moment - _BRAKES_LEAD)))
    after = min(stood + 1, signals.rows - 1)
    held = float(np.max(brake[first : after + 1]))
    if held < _HELD_BRAKE:
        return moment, "first motion"
    row = last_row(at_least(brake, 0.9 * held), first, after + 1)
    if row is None or row >= after:
        return moment, "first motion"
    return crossing(signals.time, brake, row, 0.9 * held, signals.joined), "brakes"


def motion_begins(signals: Signals, begin: int, stood: int) -> float:
    """Return when the aircraft began to move: speed from standing to moving, drawn back to nought."""
    limits, time, speed = signals.limits, signals.time, signals.speed
    moving = crossing(time, speed, stood, limits.moving_speed, signals.joined)
    still = last_row(below(speed, limits.standing_speed), begin, stood + 1)
    if still is None:
        return moving
    creeping = crossing(time, speed, still, limits.standing_speed, signals.joined)
    slope = (limits.moving_speed - limits.standing_speed) / max(moving - creeping, 1e-3)
    drawn = creeping - limits.standing_speed / slope
    # A slow creep would draw the line back too far: no more than two seconds.
    return max(drawn, creeping - 2.0, float(time[begin]))
