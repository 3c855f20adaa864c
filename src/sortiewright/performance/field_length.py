"""Stop or go: refusal speed, critical field length, minimum go speed, and the curves they come from."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.performance.ground_run import RunState
from sortiewright.performance.interpolation import curve_at, first_crossing, value_at, window
from sortiewright.performance.stopping import Stop, StopMeans, stop_from
from sortiewright.performance.takeoff import (
    Takeoff,
    TakeoffSetup,
    accelerate_to,
    continue_from,
    from_rotation,
    release,
    rotation_or_start,
    to_rotation,
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rows = NDArray[np.intp]

GRID = 29
BENDS = (14, 24)  # indices in the grid: from here a failure has not settled by rotation; rotation
UNSETTLED_ACCELERATION = 8.0  # m/s2, a bound on what is gained while a failure settles
FINE = 17
LOWEST_SHARE = 0.15  # of lift-off speed: below this an event is an ordinary stop
UNREACHABLE = 1e7  # m: stands for 'never' where curves are compared


@dataclass(frozen=True, slots=True)
class Curves:
    """Over the speed at which an engine fails, (n, g). Speed m/s ground; distances m from brake release."""

    speed: Floats
    accelerate_distance: Floats
    accelerate_time: Floats
    stop_distance: Floats
    stop_energy: Floats
    go_distance: Floats
    go_screen_distance: Floats


@dataclass(frozen=True, slots=True)
class FieldLengths:
    """Per case, (n,). Ground speeds m/s, distances m from brake release, NaN where there is none.

    ``refusal_speed``: highest speed from which the stop fits; NaN where it fits even from lift-off
    (``stops_from_lift_off``) or from no speed at all (``never_stops``).
    ``critical_speed`` and ``critical_field_length``: where stop and go distances are equal.
    ``minimum_go_speed``: lowest failure speed from which going on fits; NaN where any does
    (``goes_from_any``) or none does (``never_goes``).
    """

    curves: Curves
    refusal_speed: Floats
    stops_from_lift_off: Bools
    never_stops: Bools
    critical_speed: Floats
    critical_field_length: Floats
    stop_always_longer: Bools
    go_always_longer: Bools
    minimum_go_speed: Floats
    goes_from_any: Bools
    never_goes: Bools


def stop_means(setup: TakeoffSetup, *, chute: bool) -> StopMeans:
    """Return what a rejected takeoff by the book uses."""
    rejected = setup.technique.rejected
    return StopMeans(
        configuration=setup.configuration,
        brakes_on=rejected.brakes_on,
        chute_commanded=rejected.chute_commanded if chute else None,
    )


def reject(setup: TakeoffSetup, at_event: RunState, *, chute: bool = True) -> Stop:
    """Return the stop of a takeoff rejected for an event at ``at_event``.

    All engines are taken to run on until the levers close: the event may be of any kind, and this is the
    longest.
    """
    return stop_from(
        setup.pack,
        setup.cases,
        setup.power,
        at_event,
        stop_means(setup, chute=chute),
        recognition=setup.technique.rejected.recognition,
    )


def stop_and_go(setup: TakeoffSetup, speeds: Floats, *, chute: bool = True) -> tuple[RunState, Stop, Takeoff]:
    """Return the run to each event speed (n,), the stop from it, and the takeoff continued on the live
    engines.

    A failure after rotation has begun is taken at rotation.
    """
    at_event = accelerate_to(setup, release(setup), speeds)
    stop = reject(setup, at_event, chute=chute)
    at_failure = accelerate_to(setup, release(setup), np.minimum(speeds, rotation_or_start(setup)))
    return at_event, stop, continue_from(setup, at_failure, at_failure.time)


def takeoff_and_curves(setup: TakeoffSetup, *, chute: bool = True) -> tuple[Takeoff, Curves]:
    """Return the all-engine takeoff and the stop and go curves of each case, from one batch.

    The grid of failure speeds runs from 15 % of lift-off speed to just above lift-off, in three stretches of
    even steps: while a failure has settled by rotation, while it has not, and after rotation.
    """
    rotation = np.where(np.isfinite(setup.rotation_speed), setup.rotation_speed, 0.0)
    top = np.maximum(1.02 * _lift_off_estimate(setup), 1.02 * rotation)
    top = np.where(top > 0.0, top, 60.0)
    low = np.maximum(LOWEST_SHARE * top, setup.start_speed)
    bend = np.where(rotation > low, rotation, 0.5 * (low + top))
    unsettled = setup.power.settled_after_failure * UNSETTLED_ACCELERATION
    fine = np.maximum(bend - unsettled, low + 0.5 * (bend - low))
    ends = np.stack([low, fine, bend, top], axis=1)
    return _one_batch(setup, _stretches(ends), chute)


def _stretches(ends: Floats) -> Floats:
    """Return the grid (n, GRID) with even steps between the ``ends`` (n, 4) of its stretches."""
    marks = (0, *BENDS, GRID - 1)
    parts = [
        ends[:, k, None] + (ends[:, k + 1] - ends[:, k])[:, None] * np.linspace(0.0, 1.0, after - before + 1)
        for k, (before, after) in enumerate(pairwise(marks))
    ]
    return np.concatenate([part[:, :-1] for part in parts[:-1]] + [parts[-1]], axis=1)


def stop_go_curves(setup: TakeoffSetup, speeds: Floats, *, chute: bool = True) -> Curves:
    """Return the curves over ``speeds`` (n, g)."""
    return _one_batch(setup, speeds, chute)[1]


def _one_batch(setup: TakeoffSetup, speeds: Floats, chute: bool) -> tuple[Takeoff, Curves]:
    """Return the all-engine takeoff and the curves over ``speeds`` (n, g).

    Two rows a case more than the grid: rotation with all engines, and with one failing there, which stands
    for every failure after it.
    """
    n, g = speeds.shape
    rotation = rotation_or_start(setup)[:, None]
    every = np.concatenate([speeds, rotation, rotation], axis=1)
    cases: Rows = np.arange(n, dtype=np.intp)
    batch = setup.take(np.repeat(cases, g + 2))
    at_event = accelerate_to(batch, release(batch), every.reshape(-1))
    failed_at = at_event.time.reshape(n, g + 2).copy()
    failed_at[:, g] = np.inf
    failed = failed_at.reshape(-1)
    run = to_rotation(batch, at_event, failed)
    first: Rows = cases[:, None] * (g + 2)
    columns: Rows = np.arange(g, dtype=np.intp)
    own = np.where(speeds > rotation, g + 1, columns)
    stands_for = np.where(speeds > rotation, g + 1, _stand_ins(batch, run, failed, (n, g)))
    wanted: Rows = np.unique(np.concatenate([(first + stands_for).reshape(-1), first[:, 0] + g]))
    flown = from_rotation(batch.take(wanted), _take(run, wanted), failed[wanted])
    stood: Rows = (first + stands_for).reshape(-1)
    stood_at = np.asarray(wanted.searchsorted(stood), dtype=np.intp)
    going = _take(flown, stood_at)
    events: Rows = (first + columns).reshape(-1)
    stop = reject(setup.take(np.repeat(cases, g)), _take(at_event, events), chute=chute)
    farther = _farther(run, (first + own).reshape(-1), stood)
    curves = _curves(speeds, _take(at_event, events), stop, going, farther)
    planned = np.asarray(wanted.searchsorted(first[:, 0] + g), dtype=np.intp)
    return _take(flown, planned), curves


def _stand_ins(batch: TakeoffSetup, run: RunState, failed_at: Floats, shape: tuple[int, int]) -> Rows:
    """Return for each failure speed the column (n, g) whose takeoff from rotation on is also its own.

    Once a failure has settled, what follows rotation no longer depends on when it happened: the latest such
    failure stands for all of them, each at its own time and place of rotation.
    """
    n, g = shape
    settled = np.maximum(failed_at + batch.power.settled_after_failure, batch.power.settled)
    at_rotation = np.isfinite(run.distance) & (run.speed <= batch.rotation_speed_engine_out)
    early = (at_rotation & (run.time >= settled)).reshape(n, g + 2)[:, :g]
    latest = g - 1 - np.argmax(early[:, ::-1], axis=1)
    return np.where(early, latest[:, None], np.arange(g, dtype=np.intp))


def _farther(run: RunState, rows: Rows, than: Rows) -> Floats:
    """Return how much farther along the runway rotation is in ``rows`` than in the rows ``than``, m."""
    here, there = run.distance[rows], run.distance[than]
    both = np.isfinite(here) & np.isfinite(there)
    return np.where(both, np.where(both, here, 0.0) - np.where(both, there, 0.0), 0.0)


def field_lengths(
    setup: TakeoffSetup,
    all_engines: Takeoff,
    curves: Curves,
    stop_available: ArrayLike,
    go_available: ArrayLike,
    *,
    chute: bool = True,
    tolerance: ArrayLike = 0.25,
) -> FieldLengths:
    """Return refusal, critical and minimum go speeds for the distances available from brake release, m.

    Definitions: CNATRA P-862 appendix A and NAVWEPS 00-80T-80 chapter 6 (refusal), MIL-STD-3013A (critical
    field length). Going on counts to lift-off or to the screen as the technique says. Roots are found on
    ``curves`` by a local cubic; where that may be off by more than ``tolerance`` m (n,), the cell is computed
    again on a finer grid.
    """
    n = setup.cases.count
    stop_at, go_at = (
        np.broadcast_to(np.minimum(np.asarray(a, dtype=np.float64), UNREACHABLE), (n,))
        for a in (stop_available, go_available)
    )
    to_screen = setup.technique.continue_to == "screen"
    stop, go = _comparable(curves, to_screen)
    differences = np.stack([stop - stop_at[:, None], stop - go, go_at[:, None] - go], axis=1)
    cells, exists = first_crossing(differences.reshape(n * 3, -1))
    triple = np.repeat(curves.speed, 3, axis=0)
    roots = _root(triple, differences.reshape(n * 3, -1), cells, exists, BENDS)
    critical = roots.reshape(n, 3)[:, 1]
    length = curve_at(
        curves.speed, stop, np.where(np.isfinite(critical), critical, curves.speed[:, 0]), BENDS
    )
    allowed = np.repeat(np.broadcast_to(np.asarray(tolerance, dtype=np.float64), (n,)), 3)
    doubtful = exists & (_doubt(differences.reshape(n * 3, -1), cells) > allowed)
    if doubtful.any():
        rows = np.flatnonzero(doubtful)
        cell = cells[rows]
        low, high = triple[rows, cell], triple[rows, cell + 1]
        which, there = (rows % 3)[:, None], rows // 3
        fine_speed = _fine_grid(low, high, setup.rotation_speed[there])
        fine = stop_go_curves(setup.take(there), fine_speed, chute=chute)
        fine_stop, fine_go = _comparable(fine, to_screen)
        difference = np.where(
            which == 0,
            fine_stop - stop_at[there, None],
            np.where(which == 1, fine_stop - fine_go, go_at[there, None] - fine_go),
        )
        again, _ = first_crossing(difference)
        # Straight lines: a cubic over four points would smear the bend that made the cell doubtful.
        part = _chord_root(difference, again)
        roots[rows] = _along_chord(fine_speed, again, part)
        met = which[:, 0] == 1
        length[there[met]] = _along_chord(fine_stop, again, part)[met]
    refusal, critical, minimum_go = roots.reshape(n, 3).T
    known = np.isfinite(critical)
    lift_off = np.nan_to_num(all_engines.lift_off_ground_speed, nan=0.0)
    lift_off = np.where(lift_off > 0.0, np.minimum(lift_off, curves.speed[:, -1]), curves.speed[:, -1])
    from_lift_off = curve_at(curves.speed, stop, lift_off) <= stop_at
    return FieldLengths(
        curves,
        np.where(from_lift_off, np.nan, refusal),
        from_lift_off,
        stop[:, 0] > stop_at,
        critical,
        np.where(known, length, np.nan),
        np.all(stop >= go, axis=1),
        np.all(stop < go, axis=1),
        minimum_go,
        go[:, 0] <= go_at,
        go[:, -1] > go_at,
    )


def _comparable(curves: Curves, to_screen: bool) -> tuple[Floats, Floats]:
    """Return stop and go distances with 'never' as a large number, so that they can be compared."""
    go = curves.go_screen_distance if to_screen else curves.go_distance
    return np.minimum(curves.stop_distance, UNREACHABLE), np.minimum(go, UNREACHABLE)


def _curves(speeds: Floats, at_event: RunState, stop: Stop, going: Takeoff, farther: Floats) -> Curves:
    shape = speeds.shape
    return Curves(
        speeds,
        at_event.distance.reshape(shape),
        at_event.time.reshape(shape),
        stop.distance.reshape(shape),
        stop.energy.reshape(shape),
        (going.ground_run + farther).reshape(shape),
        (going.distance_to_screen + farther).reshape(shape),
    )


def _lift_off_estimate(setup: TakeoffSetup) -> Floats:
    """Return the ground speed at which lift in the takeoff attitude carries the weight, thrust's share
    aside."""
    cases = setup.cases
    mach = np.full(cases.count, 0.2)
    lift = setup.configuration.lift(setup.attitude.target, mach) + setup.pack.aero.gear.lift
    area = setup.pack.airframe.wing_area
    return np.sqrt(2.0 * cases.weight / (cases.density * area * np.maximum(lift, 0.05))) - cases.headwind


Record = TypeVar("Record", RunState, Takeoff)


def _take(record: Record, rows: NDArray[np.intp]) -> Record:
    return type(record)(*(getattr(record, name)[rows] for name in record.__slots__))


def _doubt(values: Floats, cell: Rows) -> Floats:
    """Return a bound on the cubic's error around the cell, m, from the fourth differences of the values
    there.

    A cubic through evenly spaced points is off by at most 3/128 of the fourth difference where the curve is
    smooth, and by about a twentieth of it where the slope jumps. A jump in a neighbouring cell may cancel in
    one of the differences, so the largest of three counts.
    """
    every = np.arange(len(values))[:, None]
    largest = np.zeros(len(values))
    for aside in (-1, 0, 1):
        first = window(cell, 5, values.shape[1], BENDS, aside)
        five = values[every, first[:, None] + np.arange(5)]
        largest = np.maximum(largest, np.abs(np.diff(five, n=4, axis=1)[:, 0]))
    return largest / 20.0


def _fine_grid(low: Floats, high: Floats, bend: Floats) -> Floats:
    """Return ``FINE`` speeds from ``low`` to ``high`` (n,), one of them on ``bend`` where it lies between.

    Going on from beyond rotation speed counts as from rotation speed: the curve bends there.
    """
    grid = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, FINE)
    step = (high - low) / (FINE - 1)
    between = np.flatnonzero((bend > low) & (bend < high))
    nearest = np.clip(np.rint((bend[between] - low[between]) / step[between]), 1, FINE - 2).astype(np.intp)
    grid[between, nearest] = bend[between]
    return grid


def _chord_root(values: Floats, cell: NDArray[np.intp]) -> Floats:
    """Return the part of ``cell`` at which a straight line through its ends passes nought; 1 where the curve
    jumps."""
    rows = np.arange(len(values))
    begin, end = values[rows, cell], values[rows, cell + 1]
    rise = end - begin
    part = np.clip(-begin / np.where(rise == 0.0, 1.0, rise), 0.0, 1.0)
    return np.where(np.abs(rise) > 0.1 * UNREACHABLE, 1.0, part)


def _along_chord(values: Floats, cell: NDArray[np.intp], part: Floats) -> Floats:
    rows = np.arange(len(values))
    return values[rows, cell] + part * (values[rows, cell + 1] - values[rows, cell])


def _root(
    grid: Floats, values: Floats, cell: NDArray[np.intp], exists: Bools, bends: tuple[int, ...]
) -> Floats:
    """Return where ``values`` (n, g) pass nought upwards in ``cell``; NaN where ``exists`` is false.

    Where the curve jumps (going on becomes possible only from some speed), the grid speed beyond the jump.
    """
    rows = np.arange(len(grid))
    jump = np.abs(values[rows, cell + 1] - values[rows, cell]) > 0.1 * UNREACHABLE
    root = np.where(jump, grid[rows, cell + 1], value_at(grid, values, cell, np.zeros(len(grid)), bends))
    return np.where(exists, root, np.nan)


def speed_at_distance(curves: Curves, distance: ArrayLike) -> Floats:
    """Return the ground speed of the all-engine run at ``distance`` m (n, k) from release, m/s.

    Between the curves' grid speeds, interpolated in the root of distance, in which speed is nearly a straight
    line. NaN outside the grid.
    """
    n = len(curves.speed)
    root = np.sqrt(curves.accelerate_distance)
    wanted = np.sqrt(np.asarray(distance, dtype=np.float64).reshape(n, -1))
    each = np.repeat(np.arange(n, dtype=np.intp), wanted.shape[1])
    found = curve_at(root[each], curves.speed[each], wanted.ravel()).reshape(wanted.shape)
    inside = (wanted <= root[:, -1:]) & (wanted >= root[:, :1])
    return np.where(inside, found, np.nan)
