"""The route flown on paper: every piece at once, swept until the masses at their starts have settled.

Heights, speeds and ways are known beforehand, mass alone is not, and it acts back weakly: each sweep flies
all pieces with the masses the last one left, so that changes of height are one batch a power setting and
level flight is one batch for all, and leaves a few hundredths of the error. What hangs on mass or time (a
speed for longest range, a time on target, a climb that the next point cuts short) settles in the same sweeps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import inf, isfinite, nan, sqrt

import numpy as np

from sortiewright.air import WindsMissing
from sortiewright.pack import OutsideTable
from sortiewright.performance import (
    LayeredBatch,
    LayeredFlight,
    LayeredPath,
    LoadState,
    balance_of,
    fly_batch,
    fuel_after,
    layered_batch,
    schedule_mach,
    usable_fuel,
)
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_level import fly_level, speed_ends
from sortiewright.sortie.route_lines import end_of_cut, flown_arrays, lay_piece, spent_on_paths
from sortiewright.sortie.route_pieces import Piece, PieceState
from sortiewright.sortie.route_stay import action_load, stay_time, until_seconds

LEAST_SWEEPS, MOST_SWEEPS = 3, 14
# What may be left in the mass, time, Mach number and place of any piece: kg, s, Mach, cells of a path.
LEFT_MASS, LEFT_TIME, LEFT_MACH, LEFT_CELLS = 1.0, 1.0, 2e-4, 0.05
SETTLED_WAY = 200.0  # m
GUESS_SHARE = 0.6  # of the usable fuel, burnt at the route's end: where the sweeps begin
NEARLY = 0.02  # of a speed, within which a time on target is met by a small change of it
FASTEST, SLOWEST = 9.0, 0.01  # Mach: stand for a time on target that has passed, or is far off


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the route cannot be flown beyond a piece, and where in it: ``share`` of the piece, 0 to 1."""

    piece: int
    why: str
    error: Exception | None = None
    share: float = 0.0
    cut_piece: Piece | None = None


@dataclass(slots=True)
class RouteRun:
    """The solution under way. ``elapsed`` counts from brake release, s."""

    day: RouteDay
    pieces: list[Piece]
    states: list[PieceState]
    load: LoadState
    elapsed: float
    start_mach: float
    stop: Stop | None = None
    """Where wind or tables end."""
    dry: Stop | None = None
    """Where the fuel ends."""
    loads: list[LoadState] = field(default_factory=list[LoadState])
    """At the end of each piece."""
    batch: LayeredBatch | None = None
    """The paths of the last sweep: most are the same again in the next."""


def solve_route(
    day: RouteDay, pieces: list[Piece], load: LoadState, *, elapsed: float, start_mach: float
) -> RouteRun:
    """Return the route flown from ``load`` at the field's height, ``elapsed`` s after brake release.

    Where a piece cannot be flown, the run ends before it and says why (``stop``).
    """
    mass = balance_of(day.pack, load, gear_up=True).mass
    spent = GUESS_SHARE * usable_fuel(day.pack, load) / max(len(pieces), 1)
    most = speed_ends(day, load)[1]
    states = [PieceState(mass=mass - spent * number, limit_mach=most) for number in range(len(pieces))]
    run = RouteRun(day, pieces, states, load, elapsed, start_mach)
    before = inf
    for sweep in range(MOST_SWEEPS):
        moved = _sweep(run, sweep)
        # Each sweep leaves the same share of the error: what is left is told by how much the last two moved.
        share = min(moved / before, 1.0) if before > 0.0 else 1.0
        if sweep + 1 >= LEAST_SWEEPS and moved * share < 1.0:
            break
        before = moved
    return run


def _sweep(run: RouteRun, sweep: int) -> float:
    """Fly all pieces once; return how far masses, times and speeds moved, over what may be left of each."""
    _lay(run, sweep)
    try:
        _physics(run, range(len(run.pieces)))
    except OutsideTable:
        _shorten(run)
        return inf
    return _walk(run)


def _lay(run: RouteRun, sweep: int) -> None:
    """Set the heights and speeds between which every piece is flown."""
    altitude, mach = run.day.field, run.start_mach
    for number, (piece, state) in enumerate(zip(run.pieces, run.states, strict=True)):
        state.start_altitude, state.start_mach = altitude, mach
        try:
            lay_piece(run.day, piece, state, sweep)
        except WindsMissing as error:
            _end_before(run, Stop(number, "winds", error))
            return
        altitude, mach = state.end_altitude, state.end_mach


def _physics(run: RouteRun, numbers: Sequence[int]) -> None:
    """Fly what ``_lay`` laid out: changes of height and speed, then level flight; raises ``OutsideTable``."""
    paths: list[LayeredPath] = []
    masses: list[float] = []
    indices: list[float] = []
    before: list[LayeredFlight | None] = []
    owners: list[tuple[PieceState, int]] = []
    for number in numbers:
        state = run.states[number]
        mass = state.mass
        for place, path in enumerate(state.paths):
            last = state.flights[place]
            paths.append(path)
            masses.append(mass)
            indices.append(state.drag_index)
            before.append(last)
            owners.append((state, place))
            mass -= 0.0 if last is None else float(last.fuel[last.cells_flown])
    if paths:
        if run.batch is None or not run.batch.is_of(paths):
            run.batch = layered_batch(run.day.pack, run.day.setup, paths)
        flown = fly_batch(run.batch, masses, indices, before)
        for (state, place), flight in zip(owners, flown, strict=True):
            state.flights[place] = flight
    fly_level(run.day, [(run.pieces[number], run.states[number]) for number in numbers])


def _shorten(run: RouteRun) -> None:
    """End the route before the first piece that leaves a table."""
    for number in range(len(run.pieces)):
        try:
            _physics(run, [number])
        except OutsideTable as error:
            _end_before(run, Stop(number, "table", error))
            return


def _end_before(run: RouteRun, stop: Stop) -> None:
    run.stop = replace(stop, cut_piece=run.pieces[stop.piece])
    del run.pieces[stop.piece :], run.states[stop.piece :]


def _walk(run: RouteRun) -> float:
    """Go along the route with the fuel and times of this sweep; return how far they moved from the last's."""
    day, load, elapsed = run.day, run.load, run.elapsed
    mass, index = _mass_and_drag(run, load)
    limits = speed_ends(day, load)
    leg, done, most = -1, 0.0, 0.0
    run.loads = []
    dry: Stop | None = None
    for number, (piece, state) in enumerate(zip(run.pieces, run.states, strict=True)):
        if piece.leg != leg:
            leg, done = piece.leg, 0.0
        most = max(most, abs(mass - state.mass) / LEFT_MASS, abs(elapsed - state.start_elapsed) / LEFT_TIME)
        state.mass, state.drag_index, state.start_elapsed, state.start_distance = mass, index, elapsed, done
        state.limit_mach = schedule_mach(*limits, state.start_altitude)
        if piece.kind == "release":
            before = load
            load = action_load(day, piece, load, state)
            if not state.stores_gone:
                held, _ = _mass_and_drag(run, before)
                left, state.index_left = _mass_and_drag(run, load)
                state.stores_gone = held - left - state.fuel_dropped
            mass, index = mass - state.stores_gone - state.fuel_dropped, state.index_left
            limits = speed_ends(day, load)
            run.loads.append(load)
            continue
        was = state.asked, state.cut
        _measure(run, number, elapsed, done)
        most = max(most, abs(state.asked - was[0]) / LEFT_MACH, abs(state.cut - was[1]) / LEFT_CELLS)
        try:
            load = fuel_after(day.pack, load, state.fuel) if state.fuel > 0.0 else load
        except ValueError:
            usable = usable_fuel(day.pack, load)
            if dry is None:
                dry = Stop(number, "fuel", share=usable / state.fuel)
            load = fuel_after(day.pack, load, usable)
        mass -= state.fuel
        if piece.at is not None and piece.at.refuel is not None and piece.kind == "stay":
            load = action_load(day, piece, load, state)
            mass += state.fuel_on
        run.loads.append(load)
        elapsed += state.time
        done += state.distance
    run.dry = dry
    return most


def _measure(run: RouteRun, number: int, elapsed: float, done: float) -> None:
    """Set time, fuel and distances of a piece that burns fuel."""
    piece, state = run.pieces[number], run.states[number]
    time, fuel, air, ground, finite = flown_arrays(state)
    cells = len(time) - 1
    state.cut, state.stuck = float(finite), finite < cells
    room = inf
    if piece.way is not None:
        room = piece.way.distance - done
        if piece.kind != "arrive":
            room -= _reserved(run, number)
        room = max(room, 0.0)
        beyond = float(ground[finite]) - room
        if beyond > 0.5:
            state.cut = min(state.cut, float(np.interp(room, ground[: finite + 1], np.arange(finite + 1))))
        # A change placed to end at the point may be off by what the last sweep left.
        state.short_by = beyond if piece.kind == "arrive" and beyond > SETTLED_WAY else 0.0
    total = max(stay_time(run.day, piece, state, elapsed), 0.0) if piece.kind in ("stay", "turn") else inf
    if time[finite] > total:
        state.cut = float(np.interp(total, time[: finite + 1], np.arange(finite + 1)))
    at = state.cut
    spent = [_at_cell(values, at) for values in (time, fuel, air, ground)]
    state.end_altitude, state.end_mach = end_of_cut(state, at)
    steady_distance, steady_time = 0.0, 0.0
    if piece.kind == "level":
        steady_distance = max(room - spent[3], 0.0) if isfinite(room) else 0.0
        if piece.arrive is not None:
            _aim_at_time(run, number, elapsed + spent[0], steady_distance)
        speed = _ground_speed(state)
        steady_time = steady_distance / speed if speed > 0.0 else nan
    elif piece.kind in ("stay", "turn"):
        steady_time = max(total - spent[0], 0.0)
    state.steady_time, state.steady_distance = steady_time, steady_distance
    steady_fuel = state.fuel_flow * steady_time if steady_time > 0.0 else 0.0
    flown_on = steady_time if isfinite(steady_time) else 0.0
    state.time = spent[0] + flown_on
    state.fuel = spent[1] + (steady_fuel if isfinite(steady_fuel) else 0.0)
    over_ground = piece.way is not None
    state.distance = spent[3] + steady_distance if over_ground else 0.0
    state.air_distance = spent[2] + state.tas * flown_on


def _reserved(run: RouteRun, number: int) -> float:
    """Return the ground that the height change at the leg's end takes, m."""
    leg = run.pieces[number].leg
    for piece, state in zip(run.pieces[number + 1 :], run.states[number + 1 :], strict=True):
        if piece.leg != leg:
            return 0.0
        if piece.kind == "arrive":
            return spent_on_paths(state)[2]
    return 0.0


def _aim_at_time(run: RouteRun, number: int, elapsed: float, distance: float) -> None:
    """Set the Mach number that the level part of a leg needs to be at its end on time.

    ``elapsed`` and ``distance`` are those after the change of speed at its start, as it was flown this sweep.
    """
    piece, state = run.pieces[number], run.states[number]
    assert piece.arrive is not None
    left = until_seconds(run.day, piece.arrive) - elapsed
    for later, its in zip(run.pieces[number + 1 :], run.states[number + 1 :], strict=True):
        if later.leg == piece.leg and later.kind == "arrive":
            left -= spent_on_paths(its)[0]
    if left <= 0.0:
        state.asked = FASTEST
        return
    along = distance / left + state.headwind
    state.asked = SLOWEST
    if along > 0.0:
        state.asked = min(sqrt(along**2 + state.crosswind**2) / state.sound, FASTEST)
    nearly = state.mach > 0.0 and abs(state.asked / state.mach - 1.0) < NEARLY
    if nearly and state.speed_range is None:
        # So near, what it changes is known: fuel flow as the square of speed. It is on time in every sweep.
        state.fuel_flow *= (state.asked / state.mach) ** 2
        state.mach = state.asked
        state.tas = state.mach * state.sound


def _ground_speed(state: PieceState) -> float:
    along = state.tas**2 - state.crosswind**2
    return sqrt(along) - state.headwind if along > 0.0 else 0.0


def _at_cell(values: np.ndarray[tuple[int], np.dtype[np.float64]], at: float) -> float:
    cell = min(int(at), len(values) - 1)
    if cell == len(values) - 1:
        return float(values[-1])
    low, high = float(values[cell]), float(values[cell + 1])
    return low if at == cell else low + (at - cell) * (high - low)


def _mass_and_drag(run: RouteRun, load: LoadState) -> tuple[float, float]:
    balance = balance_of(run.day.pack, load, gear_up=True)
    return balance.mass, balance.drag_index
