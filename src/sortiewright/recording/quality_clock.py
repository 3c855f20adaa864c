"""What a simulation does to time: pauses, jumps to another place or moment, running faster than the clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.recording import Defect, Floats, Recording

_EARTH_RADIUS = 6_371_000.0  # m
_MOVING = 3.0  # m/s, above which a still picture is no aircraft at rest
_SHORTEST_PAUSE = 0.5  # s
_WINDOW = 5.0  # s over which distance flown is compared with ground speed
_STILL = ("latitude_deg", "longitude_deg", "altitude", "height_above_ground", "pitch", "bank",
          "true_heading_deg", "true_airspeed", "calibrated_airspeed", "vertical_speed")  # fmt: skip
_FASTEST_MOVE = 1500.0  # m/s, beyond any ground speed


@dataclass(frozen=True)
class ClockFindings:
    """Defects of the clock, the rows before which samples do not go on, and channels that say so."""

    defects: tuple[Defect, ...]
    breaks: NDArray[np.intp]
    explained: frozenset[float] = frozenset()
    """Begins of gaps that turned out to be a pause or a jump."""
    columns: Mapping[str, Floats] = field(default_factory=dict[str, Floats])
    basis: str = ""


def clock_defects(recording: Recording) -> ClockFindings:
    """Return pauses, jumps and acceleration of the simulation."""
    defects: list[Defect] = []
    breaks: list[int] = []
    explained: set[float] = set()
    columns: dict[str, Floats] = {}
    moves = _moves(recording)
    for found, begin in _at_breaks(recording, moves):
        defects.append(found)
        explained.add(begin)
    for found, row in _jumps(recording, moves):
        defects.append(found)
        breaks.append(row)
    paused = _paused(recording)
    for begin, end in paused:
        times = float(recording.time[begin]), float(recording.time[end - 1])
        text = f"nothing moves for {times[1] - times[0]:.1f} s while the speed is not nought: paused"
        defects.append(Defect("paused", "", *times, text, int(end - begin)))
        breaks += [int(begin) + 1, *([int(end)] if end < recording.rows else [])]
    if len(paused) and not recording.has("simulation_paused"):
        flags = np.zeros(recording.rows)
        for begin, end in paused:
            flags[begin + 1 : end] = 1.0
        columns["simulation_paused"] = flags
    defects += _accelerated(recording, moves)
    basis = "samples that stand still while the speed is not nought"
    return ClockFindings(tuple(defects), np.array(breaks, np.intp), frozenset(explained), columns, basis)


def _moves(recording: Recording) -> Floats | None:
    """Return the distance over ground of each step, m; None where the position is not known."""
    if not (recording.has("latitude_deg") and recording.has("longitude_deg")):
        return None
    latitude, longitude = recording.number("latitude_deg"), recording.number("longitude_deg")
    north = np.diff(latitude)
    east = np.diff(longitude)
    if float(np.nanmax(np.abs(east), initial=0.0)) > 180.0:
        east = (east + 180.0) % 360.0 - 180.0
    east *= np.cos(np.radians(float(np.nanmean(latitude)) if np.ptp(latitude) < 1.0 else latitude[:-1]))
    return np.hypot(north, east) * (_EARTH_RADIUS * np.pi / 180.0)


def _speed(recording: Recording) -> Floats | None:
    for name in ("ground_speed", "true_airspeed"):
        if recording.has(name):
            return recording.number(name)
    return None


def _at_breaks(recording: Recording, moves: Floats | None) -> list[tuple[Defect, float]]:
    """Return what the gaps were, where the position tells: a pause, or a jump to another place."""
    speed = _speed(recording)
    if moves is None or speed is None:
        return []
    found: list[tuple[Defect, float]] = []
    for row in recording.breaks[:1000]:
        before, after = float(recording.time[row - 1]), float(recording.time[row])
        usual = 0.5 * float(speed[row - 1] + speed[row]) * (after - before)
        moved = float(moves[row - 1])
        if not np.isfinite(usual + moved):
            continue
        if usual > 20.0 and moved < 0.2 * usual and after - before > 0.5:
            text = f"the clock ran on for {after - before:.1f} s while the aircraft stood still: paused"
            found.append((Defect("paused", "", before, after, text), before))
        elif moved > 3.0 * usual + 200.0:
            text = f"the aircraft moves {moved:,.0f} m in {after - before:.2f} s: set elsewhere"
            found.append((Defect("time_jump", "", before, after, text), before))
    return found


def _jumps(recording: Recording, moves: Floats | None) -> list[tuple[Defect, int]]:
    """Return steps without a gap in which the aircraft is suddenly elsewhere, and the row after each."""
    steps = np.diff(recording.time)
    far = np.zeros(len(steps), bool)
    if moves is not None:
        with np.errstate(invalid="ignore"):
            # Coarse positions move in steps of some metres, so 30 m are always allowed.
            far |= moves > _FASTEST_MOVE * steps + 30.0
    if recording.has("altitude"):
        rise = np.abs(np.diff(recording.number("altitude")))
        with np.errstate(invalid="ignore"):
            far |= rise > 500.0 * steps + 30.0
    far[recording.breaks - 1] = False
    found: list[tuple[Defect, int]] = []
    for at in np.flatnonzero(far)[:50]:
        time = float(recording.time[at + 1])
        moved = float(moves[at]) if moves is not None else 0.0
        text = f"the aircraft is suddenly elsewhere ({moved:,.0f} m over ground"
        if recording.has("altitude"):
            rise = float(recording.number("altitude")[at + 1] - recording.number("altitude")[at])
            text += f", {rise:+,.0f} m in altitude"
        found.append((Defect("time_jump", "", float(recording.time[at]), time, text + ")"), int(at) + 1))
    return found


def _paused(recording: Recording) -> NDArray[np.intp]:
    """Return stretches (begin, end) in which no channel changes although the aircraft moves."""
    names = [name for name in _STILL if recording.has(name)]
    speed = _speed(recording)
    if speed is None or len(names) < 3:
        return np.zeros((0, 2), np.intp)
    with np.errstate(invalid="ignore"):
        still = speed[1:] > _MOVING
    for name in names:
        values = recording.number(name)
        still &= values[1:] == values[:-1]
        if not still.any():
            return np.zeros((0, 2), np.intp)
    padded = np.concatenate([[False], still, [False]])
    edges = np.flatnonzero(np.diff(padded.astype(np.int8)))
    begins, ends = edges[0::2], edges[1::2] + 1
    long = recording.time[np.minimum(ends, recording.rows) - 1] - recording.time[begins] >= _SHORTEST_PAUSE
    return np.column_stack([begins[long], ends[long]]).astype(np.intp)[:1000]


def _accelerated(recording: Recording, moves: Floats | None) -> list[Defect]:
    """Return stretches in which the position moves much faster or slower than ground speed says."""
    if moves is None or not recording.has("ground_speed"):
        return []
    speed, time = recording.number("ground_speed"), recording.time
    steps = np.diff(time)
    width = max(2, round(_WINDOW / max(float(np.median(steps)), 1e-3)))
    count = len(steps) // width
    if count < 4:
        return []
    good = moves.copy()
    expected = 0.5 * (speed[1:] + speed[:-1]) * steps
    for row in recording.breaks:
        good[row - 1] = expected[row - 1] = 0.0
    shape = (count, width)
    moved = np.nansum(good[: count * width].reshape(shape), axis=1)
    said = np.nansum(expected[: count * width].reshape(shape), axis=1)
    fast = said > 10.0 * _WINDOW
    if fast.sum() < 4:
        return []
    ratio = np.where(fast, moved / np.maximum(said, 1e-9), np.nan)
    # Off by one factor all the time is a matter of units, and told there.
    usual = float(np.nanmedian(ratio))
    if usual <= 0.0:  # the position never moves, which is said as frozen
        return []
    with np.errstate(invalid="ignore"):
        odd = (ratio > 1.5 * usual) | (ratio < usual / 1.5)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], odd, [False]]).astype(np.int8)))
    found: list[Defect] = []
    for begin, end in zip(edges[0::2], edges[1::2], strict=True):
        factor = float(np.nanmedian(ratio[begin:end])) / usual
        if factor < 0.1:  # it stands still: a pause, or a frozen position, and told as that
            continue
        times = float(time[begin * width]), float(time[end * width])
        how = "faster" if factor > 1.0 else "slower"
        text = (
            f"the position moves {factor:.1f} times as fast as ground speed says: "
            f"simulated {how} than the clock"
        )
        found.append(Defect("accelerated", "", *times, text, int((end - begin) * width)))
    return found[:50]
