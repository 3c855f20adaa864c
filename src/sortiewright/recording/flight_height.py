"""Height of the wheels over the ground, and whether they are on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sortiewright.recording.hysteresis import (
    Floats,
    Truths,
    durations,
    filled,
    held_truths,
    median_of_three,
    runs,
    switched,
    without_short,
)
from sortiewright.recording.phase_limits import PhaseLimits
from sortiewright.recording.recording import Recording

_MAINS = ("weight_on_wheels_left", "weight_on_wheels_right")
_NOSE = "weight_on_wheels_nose"
# Weight on wheels that stays true so high and so fast is a channel that is stuck.
_STUCK_HEIGHT = 60.0  # m
_STUCK_SHARE = 0.2
_LEVEL_RATE = 3.0  # m/s: an aircraft on the ground climbs no faster, even where height is coarse


@dataclass(frozen=True)
class Wheels:
    """Where the aircraft is vertically."""

    height: Floats | None
    """Of the wheels over the ground they left or will meet, m; None where no channel tells."""
    above_sea: Floats | None
    on_wheels: Truths
    """Whether a main wheel carries weight, flickers and false samples taken out."""
    nose: Truths | None
    """The same of the nosewheel."""
    resolution: float
    """Smallest step of the height channel, m."""
    by_weight: bool
    """Told by weight on wheels, not by height or speed."""
    basis: str
    notes: tuple[str, ...]


def wheels_of(recording: Recording, clock: Floats, speed: Floats | None, limits: PhaseLimits) -> Wheels:
    """Return heights and weight on wheels. ``speed`` m/s, the greater of ground and air speed."""
    notes: list[str] = []
    agl = _channel(recording, "height_above_ground")
    above_sea = _channel(recording, "altitude")
    if above_sea is None:
        above_sea = _channel(recording, "pressure_altitude")
    base = agl if agl is not None else above_sea
    slow = _slow(clock, speed, agl, base, limits)
    by_weight = _mains(recording, clock, limits)
    if by_weight is not None and _is_stuck(by_weight, agl, slow):
        notes.append("Weight on wheels is recorded as true in flight: it is not used.")
        by_weight = None
    if by_weight is not None:
        by_weight = _without_false_contact(by_weight, base, clock, limits, is_agl=agl is not None)
    nose = _truth(recording, _NOSE)
    known = by_weight if by_weight is not None else slow
    height = _over_ground(base, known, clock, is_agl=agl is not None)
    resolution = _step(base)
    if by_weight is not None:
        return Wheels(height, above_sea, by_weight, nose, resolution, True, "weight on wheels", tuple(notes))
    if height is not None:
        level = max(limits.wheels_height, 1.5 * resolution)
        flying = switched(height, above=level, below=0.5 * level) & ~slow
        on_wheels = ~without_short(flying, clock, least_true=2.0, least_false=2.0)
        basis = "height and climb"
        notes.append("No weight on wheels: lift-off and touchdown are told from height.")
    elif speed is not None:
        on_wheels = slow
        basis = "speed"
        notes.append(
            "Neither weight on wheels nor height: lift-off and touchdown cannot be told, only slow and fast."
        )
    else:
        on_wheels = np.zeros(len(clock), dtype=np.bool_)
        basis = ""
        notes.append("No speed and no weight on wheels: ground and air cannot be told apart.")
    return Wheels(height, above_sea, on_wheels, nose, resolution, False, basis, tuple(notes))


def _channel(recording: Recording, name: str) -> Floats | None:
    if not recording.has(name):
        return None
    values = filled(recording.number(name), recording.time)
    return None if values is None else median_of_three(values)


def _truth(recording: Recording, name: str) -> Truths | None:
    return held_truths(recording.number(name)) if recording.has(name) else None


def _mains(recording: Recording, clock: Floats, limits: PhaseLimits) -> Truths | None:
    """Return whether a main wheel carries weight; None where that is not recorded, only worked out."""
    found = [
        truth
        for name in _MAINS
        if name not in recording.derived
        for truth in [_truth(recording, name)]
        if truth is not None
    ]
    if not found:
        return None
    return without_short(np.logical_or.reduce(found), clock, least_false=limits.airborne_time)


def _slow(
    clock: Floats, speed: Floats | None, agl: Floats | None, base: Floats | None, limits: PhaseLimits
) -> Truths:
    """Return where the aircraft is too slow to fly, for long enough, and does not climb."""
    slow = np.zeros(len(clock), dtype=np.bool_)
    if speed is None:
        return slow
    begins, ends = runs(speed < limits.surely_flying_speed)
    lowest = float(agl.min()) if agl is not None else 0.0
    for begin, end, lasts in zip(begins, ends, durations(clock, begins, ends), strict=True):
        edge = begin == 0 or end == len(clock)
        if lasts < limits.slow_time and not edge:
            continue
        if agl is not None and float(np.median(agl[begin:end])) > lowest + _STUCK_HEIGHT:
            continue
        if (
            base is not None
            and lasts > 0.0
            and abs(base[end - 1] - base[begin]) > _LEVEL_RATE * max(lasts, 10.0)
        ):
            continue
        slow[begin:end] = True
    return slow


def _is_stuck(on_wheels: Truths, agl: Floats | None, slow: Truths) -> bool:
    if agl is None or not on_wheels.any():
        return False
    high = on_wheels & ~slow & (agl > float(agl.min()) + _STUCK_HEIGHT)
    return float(high.sum()) > _STUCK_SHARE * float((on_wheels & ~slow).sum()) > 0.0


def _without_false_contact(
    on_wheels: Truths, base: Floats | None, clock: Floats, limits: PhaseLimits, *, is_agl: bool
) -> Truths:
    """Return weight on wheels without the samples that are true in the air.

    Over the ground: what lies far above the lowest contact. By altitude, where fields differ: a short contact
    that is not the lowest point about it.
    """
    if base is None or not on_wheels.any():
        return on_wheels
    lowest = float(base[on_wheels].min())
    begins, ends = runs(on_wheels)
    lasting = durations(clock, begins, ends)
    result = on_wheels
    for begin, end, lasts in zip(begins.tolist(), ends.tolist(), lasting.tolist(), strict=True):
        if is_agl:
            is_false = float(base[begin:end].min()) > lowest + limits.contact_height
        else:
            first, last = (
                _row_at(clock, float(clock[begin]) - 3.0),
                _row_at(clock, float(clock[end - 1]) + 3.0),
            )
            is_false = lasts < limits.airborne_time and float(base[first:last].min()) < base[begin] - 3.0
        if is_false:
            result = result.copy() if result is on_wheels else result
            result[begin:end] = False
    return result


def _over_ground(base: Floats | None, known: Truths, clock: Floats, *, is_agl: bool) -> Floats | None:
    """Return a height less what it reads on the wheels at the nearest place they were known to be down.

    A height above ground is that of the recorder's point, some metres over the wheels; an altitude is that of
    the field besides. Between two grounds the first holds up to the highest point, the second after it.
    """
    if base is None:
        return None
    begins, ends = runs(known)
    if not len(begins):
        return (
            base - max(float(base.min()), 0.0)
            if is_agl and float(base.min()) < 5.0
            else (base if is_agl else None)
        )
    # An altitude on a sloping runway is that of the place: the last seconds only. A height above ground
    # moves with the struts: longer.
    back = 30.0 if is_agl else 3.0
    ground = np.empty_like(base)
    previous_end, previous_level = 0, None
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        arriving = _level(base, begin, min(end, _row_at(clock, float(clock[begin]) + back)))
        leaving = _level(base, max(begin, _row_at(clock, float(clock[end - 1]) - back)), end)
        top = previous_end + int(base[previous_end:begin].argmax()) if begin > previous_end else begin
        if previous_level is None:
            top = previous_end
        else:
            ground[previous_end:top] = previous_level
        ground[top:begin] = arriving
        ground[begin:end] = arriving if is_agl else base[begin:end]
        if is_agl:
            middle = (begin + end) // 2
            ground[middle:end] = leaving
        previous_end, previous_level = end, leaving
    if previous_level is not None:
        ground[previous_end:] = previous_level
    return base - ground


def _level(base: Floats, begin: int, end: int) -> float:
    return float(np.median(base[begin : max(end, begin + 1)]))


def _row_at(clock: Floats, moment: float) -> int:
    return int(np.searchsorted(clock, moment))


def _step(base: Floats | None) -> float:
    """Return the smallest step in which a height is recorded, m."""
    if base is None:
        return 0.0
    steps = np.abs(np.diff(base[:20_000]))
    steps = steps[steps > 1e-6]
    return float(np.percentile(steps, 2.0)) if steps.size else 0.0
