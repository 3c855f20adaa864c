"""What a recording is made of: time in the air, time on the ground, and where one sortie ends."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sortiewright.recording.flight_signals import Signals
from sortiewright.recording.hysteresis import runs
from sortiewright.recording.recording import Recording

_METRES_PER_DEGREE = 111_195.0  # of latitude, mean sphere of 6371 km
_HARDEST = 10.0  # m/s2: no aircraft speeds up or slows down so for seconds
_SEEN_TIME = 3.0  # s: where height is unknown, off the wheels for longer is flight


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows ``begin`` to ``end`` (exclusive) in the air or on the ground; hops belong to the ground."""

    airborne: bool
    begin: int
    end: int
    hops: tuple[tuple[int, int], ...] = ()
    """Of a stretch on the ground: rows off the wheels that were no flight."""


def stretches_of(signals: Signals, begin: int, end: int) -> tuple[Stretch, ...]:
    """Return the stretches of some rows, in order, without gaps."""
    begins, ends = runs(~signals.wheels.on_wheels[begin:end])
    legs: list[tuple[int, int]] = []
    hops: list[tuple[int, int]] = []
    for first, last in zip((begins + begin).tolist(), (ends + begin).tolist(), strict=True):
        is_edge = first == begin or last == end
        (legs if _is_leg(signals, first, last, is_edge=is_edge) else hops).append((first, last))
    result: list[Stretch] = []
    row = begin
    for first, last in [*legs, (end, end)]:
        if first > row:
            inside = tuple(hop for hop in hops if row <= hop[0] < first)
            result.append(Stretch(False, row, first, inside))
        if last > first:
            result.append(Stretch(True, first, last))
        row = last
    return tuple(result)


def _is_leg(signals: Signals, begin: int, end: int, *, is_edge: bool) -> bool:
    limits = signals.limits
    lasts = float(signals.clock[min(end, signals.rows - 1)] - signals.clock[begin])
    if is_edge:
        return lasts >= limits.airborne_time
    if lasts >= limits.leg_time:
        return True
    height = signals.wheels.height
    if height is None:
        return lasts >= _SEEN_TIME
    return float(height[begin:end].max()) >= limits.leg_height


def hard_breaks(recording: Recording, signals: Signals) -> list[int]:
    """Return the rows at which a recording goes on elsewhere: another sortie, or one loaded again.

    A pause or lost samples alone do not end a sortie: the aircraft must be where it cannot have flown to.
    """
    return [
        row
        for row in np.asarray(recording.breaks, dtype=np.intp).tolist()
        if 0 < row < signals.rows and _is_elsewhere(recording, signals, row)
    ]


def _is_elsewhere(recording: Recording, signals: Signals, row: int) -> bool:
    before, after = row - 1, row
    gap = float(signals.time[after] - signals.time[before])
    if gap > signals.limits.gap_time:
        return True
    moved = float(abs(signals.speed[after] - signals.speed[before]))
    if np.isfinite(moved) and moved > _HARDEST * gap + 20.0:
        return True
    if recording.has("fuel_mass"):
        fuel = recording.number("fuel_mass")
        # More fuel than before, and flying on one side of the gap: loaded anew.
        if fuel[after] > 1.02 * fuel[before] and not signals.wheels.on_wheels[[before, after]].all():
            return True
    reach = 2.0 * gap * max(float(np.nanmax(signals.speed[[before, after]], initial=0.0)), 30.0)
    above_sea = signals.wheels.above_sea
    if above_sea is not None and abs(above_sea[after] - above_sea[before]) > reach + 100.0:
        return True
    if recording.has("latitude_deg") and recording.has("longitude_deg"):
        latitude = recording.number("latitude_deg")[[before, after]]
        longitude = recording.number("longitude_deg")[[before, after]]
        north = float(latitude[1] - latitude[0]) * _METRES_PER_DEGREE
        east = (
            float(longitude[1] - longitude[0])
            * _METRES_PER_DEGREE
            * math.cos(math.radians(float(latitude[0])))
        )
        return math.hypot(north, east) > reach + 500.0
    return False


def sortie_ends(signals: Signals, activities: list[tuple[int, int]]) -> list[int]:
    """Return the rows at which the next sortie begins, given flights and takeoff attempts in order.

    Between two of them the aircraft stood with its engines shut down, or stood long: the middle of that stop.
    """
    result: list[int] = []
    for (_, ended), (began, _) in pairwise(activities):
        begins, ends = runs(~signals.moving[ended:began])
        best, longest = None, 0.0
        for first, last in zip((begins + ended).tolist(), (ends + ended).tolist(), strict=True):
            lasts = float(signals.clock[min(last, signals.rows - 1)] - signals.clock[first])
            row = _split_row(signals, first, last, lasts)
            if row is not None and lasts > longest:
                best, longest = row, lasts
        if best is not None:
            result.append(best)
    return result


def _split_row(signals: Signals, begin: int, end: int, lasts: float) -> int | None:
    off = signals.power.off
    if off is not None:
        begins, ends = runs(off[begin:end])
        if len(begins):
            longest = int((ends - begins).argmax())
            return begin + int(begins[longest] + ends[longest]) // 2
    return (begin + end) // 2 if lasts >= signals.limits.parked_time else None
