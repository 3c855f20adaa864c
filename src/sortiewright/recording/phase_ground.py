"""Phases on the ground: parked, taxi, line-up, the runs, the way back."""

from __future__ import annotations

from sortiewright.recording.event_takeoff import at_time, stop_moment
from sortiewright.recording.flight_ground import GroundRuns, TakeoffRun, motion_begins
from sortiewright.recording.flight_legs import Stretch
from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import Floats, Where, crossing, durations, first_row, last_row, runs
from sortiewright.recording.moments import Event
from sortiewright.recording.phase_painting import PhasePaint
from sortiewright.recording.signal_columns import at_least, at_most, contrary

_LINE_UP_TURN = 60.0  # deg: the turn onto the runway begins so far from its heading
_LINE_UP_TIME = 60.0  # s: where no heading is recorded, and there was no hold
_LEVER_MOVE = 0.02  # share of travel
_SPOOL_MOVE = 0.03  # share of the way from idle


def paint_ground(
    paint: PhasePaint,
    signals: Signals,
    stretch: Stretch,
    found: GroundRuns,
    *,
    is_first: bool,
    has_landed: bool,
) -> list[Event]:
    """Lay the phases of a stretch on the ground; return when it began to taxi, held and stopped."""
    stops = _stops(signals, stretch)
    begin = stretch.begin if found.landing_end is None else found.landing_end
    paint.rows("taxi", stretch.begin, stretch.end)
    if has_landed:
        paint.rows("taxi_in", begin, stretch.end)
    for first, last in stops:
        paint.rows("hold", first, last)
        if has_landed and first > begin:
            paint.rows("taxi", last, stretch.end)
    all_runs = (*found.rejected, *((found.takeoff,) if found.takeoff is not None else ()))
    if is_first and not has_landed:
        _paint_parked(paint, signals, stretch, stops)
    for run in all_runs:
        _paint_line_up(paint, signals, run, stops, begin)
    if found.takeoff is None and (has_landed or all_runs):
        _paint_end(paint, signals, stretch, stops)
    return _taxi_events(signals, stretch, stops, all_runs, begin, is_first=is_first)


def _stops(signals: Signals, stretch: Stretch) -> list[tuple[int, int]]:
    begins, ends = runs(~signals.moving[stretch.begin : stretch.end])
    begins, ends = begins + stretch.begin, ends + stretch.begin
    long = durations(signals.clock, begins, ends) >= signals.limits.hold_time
    return list(zip(begins[long].tolist(), ends[long].tolist(), strict=True))


def _paint_parked(
    paint: PhasePaint, signals: Signals, stretch: Stretch, stops: list[tuple[int, int]]
) -> None:
    """Lay parked, and start while engines come up, over the stop that the sortie begins with."""
    if not stops or stops[0][0] != stretch.begin:
        return
    first, last = stops[0]
    paint.rows("parked", first, last)
    started = [
        _starting(engine.speed, engine.idle, min(signals.limits.start_speed, 0.5 * engine.idle))
        for engine in signals.power.engines
        if engine.speed is not None and engine.idle > 0.0
    ]
    rows = [
        (begun, done)
        for starting in started
        for begun in [first_row(starting, first, last)]
        if begun is not None
        for done in [last_row(starting, begun, last)]
        if done is not None
    ]
    if rows:
        paint.rows("start", min(begun for begun, _ in rows), max(done for _, done in rows) + 1)


def _starting(speed: Floats, idle: float, turning: float) -> Where:
    return lambda rows: (speed[rows] > turning) & (speed[rows] < 0.9 * idle)


def _paint_line_up(
    paint: PhasePaint, signals: Signals, run: TakeoffRun, stops: list[tuple[int, int]], earliest: int
) -> None:
    """Lay the way from the last hold onto the runway, and the run-up there."""
    if run.kind == "touch_and_go":
        return
    stand = run.stand if run.stand is not None else (run.begin, run.begin)
    holds = [last for first, last in stops if last <= stand[0] and first > earliest]
    if holds:
        begin = holds[-1]
    elif stand[0] <= earliest:
        begin = stand[0]
    else:
        begin = _turn_begins(signals, run, stand[0], earliest)
    begin = max(begin, earliest)
    paint.rows("line_up", begin, run.begin + 1)
    run_up = _run_up_begins(signals, run)
    if run_up is not None:
        paint.times("run_up", run_up, run.begins)


def _turn_begins(signals: Signals, run: TakeoffRun, lined_up: int, earliest: int) -> int:
    moved = last_row(contrary(signals.moving), earliest, lined_up)
    earliest = earliest if moved is None else moved + 1
    heading = signals.heading_deg
    if heading is None:
        return max(earliest, signals.row_later(lined_up, -_LINE_UP_TIME))
    course = heading[run.end]
    off = last_row(lambda rows: abs(heading[rows] - course) > _LINE_UP_TURN, earliest, lined_up)
    return earliest if off is None else off + 1


def _run_up_begins(signals: Signals, run: TakeoffRun) -> float | None:
    """Return when power was put on with the aircraft standing before its run; None where it was not."""
    share, limits = signals.power.share, signals.limits
    if run.stand is None or share is None:
        return None
    begin, end = run.stand
    up = share[begin:end] >= limits.run_up_power
    settled = last_row(~up, 0, len(up))
    first = begin + (0 if settled is None else settled + 1)
    if first >= end or signals.clock[min(end, signals.rows - 1)] - signals.clock[first] < 0.5:
        return None
    lever = signals.power.lever
    values, step = (lever, _LEVER_MOVE) if lever is not None else (share, _SPOOL_MOVE)
    low = float(values[begin : first + 1].min())
    row = last_row(at_most(values, low + step), begin, first + 1)
    if row is None or first == begin:
        return float(signals.time[first])
    return crossing(signals.time, values, row, low + step, signals.joined)


def _paint_end(paint: PhasePaint, signals: Signals, stretch: Stretch, stops: list[tuple[int, int]]) -> None:
    """Lay shutdown and parked over the stop that a sortie ends with."""
    if not stops or stops[-1][1] != stretch.end:
        return
    first, last = stops[-1]
    off = signals.power.off
    if off is None or not off[last - 1]:
        if signals.clock[last - 1] - signals.clock[first] >= signals.limits.parked_time:
            paint.rows("parked", first, last)
        return
    paint.rows("parked", first, last)
    running_down = [
        row
        for engine in signals.power.engines
        if engine.speed is not None
        for row in [last_row(at_least(engine.speed, 0.95 * engine.idle), first, last)]
        if row is not None
    ]
    stopped = first_row(off, first, last)
    if running_down and stopped is not None:
        paint.rows("shutdown", min(running_down), stopped + 1)
        paint.rows("hold", first, min(running_down))
    elif stopped is not None:
        paint.rows("hold", first, stopped)


def _taxi_events(
    signals: Signals,
    stretch: Stretch,
    stops: list[tuple[int, int]],
    all_runs: tuple[TakeoffRun, ...],
    begin: int,
    *,
    is_first: bool,
) -> list[Event]:
    """Return when the aircraft began to taxi and held: stops, but those on the runway about a run."""
    events: list[Event] = []
    stands = [run.stand for run in all_runs]
    if (
        is_first
        and stops
        and stops[0][0] == stretch.begin
        and stops[0] not in stands
        and stops[0][1] < stretch.end
    ):
        moment = motion_begins(signals, stops[0][0], stops[0][1] - 1)
        events.append(at_time(signals, "taxi_begins", moment, "motion"))
    ended = [begin] if begin > stretch.begin else []
    ended += [run.end for run in all_runs if not run.lifts_off]
    after_run = [next((stop for stop in stops if stop[0] >= row), None) for row in ended]
    for first, last in stops:
        ends_run = (first, last) in after_run
        if stretch.begin < first and (first, last) not in stands and not ends_run and last < stretch.end:
            events.append(at_time(signals, "holds", stop_moment(signals, first), "stop"))
    return events
