"""Speed over distance of a landing, planned and flown, from 50 ft to the end of the roll."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_tas, tas_from_cas
from sortiewright.pack import Pack
from sortiewright.performance import RunState, landing_means, stop_path
from sortiewright.recording.comparison_energy import samples_between
from sortiewright.recording.comparison_landing_flown import LandingMoments, PlannedLanding
from sortiewright.recording.comparison_values import (
    LAID,
    SCREEN,
    THRESHOLD,
    RunMark,
    SpeedOverDistance,
    common_grid,
    on_grid,
)
from sortiewright.recording.place import RunwayFrame, along_runway
from sortiewright.recording.recording import Recording
from sortiewright.sortie import Numbers, cases_of

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LandingPicture:
    """Both landings over distance from ``origin``, where the planned one passes 50 ft."""

    curves: SpeedOverDistance
    marks: tuple[RunMark, ...]
    origin: str


def landing_picture(
    recording: Recording,
    moments: LandingMoments,
    planned: PlannedLanding,
    numbers: Numbers,
    pack: Pack,
    threshold: RunwayFrame | None,
) -> LandingPicture | None:
    """Return both landings over distance; None where the flown one has a gap in it.

    The planned one slows evenly from 50 ft to touchdown, as its mean speed is taken on the way down, and
    rolls as the plan's stop does. Raises ``OutsideTable`` as the plan does.
    """
    begin = (moments.gate_50 or moments.touchdown).time
    samples = samples_between(recording, begin, moments.ends)
    if samples is None:
        return None
    time, speed = samples
    step = np.diff(time)
    flown_x = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * step)])
    origin = SCREEN
    start = None if threshold is None else _place_at(recording, threshold, begin)
    if start is not None:
        flown_x, origin = flown_x + start, THRESHOLD
    elif moments.gate_50 is None:
        flown_x, origin = flown_x + planned.air_distance, LAID
    x, v, marks = _planned(planned, numbers, pack)
    grid = common_grid(x, flown_x)
    ground, actual = on_grid(grid, x, v), on_grid(grid, flown_x, speed)
    case = cases_of(numbers.landing_conditions, numbers.loads.landing_balance)
    tas = np.maximum(np.nan_to_num(ground) + float(case.headwind[0]), 0.0)
    cas = np.where(np.isnan(ground), np.nan, np.asarray(cas_from_tas(tas, case.air)))
    name = "calibrated_airspeed" if recording.has("calibrated_airspeed") else "indicated_airspeed"
    recorded = recording.number(name)
    good = np.isfinite(recorded)
    airspeed = np.full(len(grid), np.nan)
    if good.any():
        at = np.interp(grid, flown_x, time)
        airspeed = np.where(np.isnan(actual), np.nan, np.interp(at, recording.time[good], recorded[good]))
    flown_marks = _flown_marks(moments, time, flown_x, speed)
    return LandingPicture(
        SpeedOverDistance(grid, cas, airspeed, ground, actual), (*marks, *flown_marks), origin
    )


def _planned(
    planned: PlannedLanding, numbers: Numbers, pack: Pack
) -> tuple[Floats, Floats, tuple[RunMark, ...]]:
    """Return distance from 50 ft and ground speed of the planned landing, and its moments."""
    technique = pack.technique.landing
    name = numbers.sortie.landing.configuration or technique.configuration
    case = cases_of(numbers.landing_conditions, numbers.loads.landing_balance)
    means = landing_means(pack, technique, pack.aero.configurations[name], chute=planned.chute)
    touchdown = planned.touchdown_ground_speed
    start = RunState(np.zeros(1), np.zeros(1), np.array([touchdown]))
    path = stop_path(pack, case, None, start, means)
    over_50 = float(np.asarray(tas_from_cas(planned.approach_cas, case.air))[0] - case.headwind[0])
    factor, air = technique.distance_factor, planned.air_distance
    x = np.concatenate([[0.0], air + factor * path.distance])
    v = np.concatenate([[max(over_50, 0.0)], path.speed])
    last = float(path.time[-1])
    marks = [RunMark("touchdown", "touchdown", "planned", air, touchdown)]
    for mark, title, time in (
        ("chute", "chute", path.chute_out),
        ("brakes_on", "brakes on", path.brakes_on),
        ("stop", "stop", last if path.speed[-1] <= 0.0 else np.nan),
    ):
        if np.isfinite(time) and time <= last:
            distance, speed = path.at(time)
            marks.append(RunMark(mark, title, "planned", air + factor * distance, speed))
    return x, v, tuple(marks)


def _flown_marks(moments: LandingMoments, time: Floats, distance: Floats, speed: Floats) -> Iterator[RunMark]:
    for name, title, moment in (
        ("gate_50", "50 ft", None if moments.gate_50 is None else moments.gate_50.time),
        ("touchdown", "touchdown", moments.touchdown.time),
        ("chute", "chute", moments.chute_out),
        ("brakes_on", "brakes on", moments.brakes_on),
        ("stop", "stop", moments.ends if moments.stopped else None),
    ):
        if moment is not None and time[0] <= moment <= time[-1]:
            at = float(np.interp(moment, time, distance))
            yield RunMark(name, title, "flown", at, float(np.interp(moment, time, speed)))


def _place_at(recording: Recording, threshold: RunwayFrame, time: float) -> float | None:
    """Return how far past the threshold the aircraft was at a time, m; None where no place is recorded."""
    place = along_runway(recording, threshold).distance
    good = np.isfinite(place)
    return float(np.interp(time, recording.time[good], place[good])) if good.any() else None
