"""Between which heights and speeds a piece of the route is flown, and through which air."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import mach_from_cas, standard_air
from sortiewright.performance import (
    LayeredPath,
    Stretch,
    climb_stretches,
    descent_stretches,
    layered_path,
    schedule_mach,
)
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_pieces import Piece, PieceState

Floats = NDArray[np.float64]

SAME_HEIGHT = 1.0  # m
SPEED_STEP = 0.02
"""Mach: a smaller change of speed at the start of a level part is not charged. Mass times change of speed is
the impulse, 117 kN s for 18.5 t; at 0.9 lb/h a pound of thrust that is 3 kg of fuel, 7 lb."""
FIRST_GUESS = 0.6
"""Mach number of a speed that is yet to be found."""

_NOTHING = np.zeros(1)


def lay_piece(day: RouteDay, piece: Piece, state: PieceState, sweep: int) -> None:
    """Set paths, Mach numbers and air of a piece that begins as ``state`` says; raises ``WindsMissing``."""
    if piece.kind == "release":
        state.end_altitude, state.end_mach = state.start_altitude, state.start_mach
        return
    course = piece.way.middle_course_deg if piece.way is not None else None
    if piece.kind in ("takeoff", "change", "arrive"):
        _lay(state, (piece.altitude,), lambda: _height_change(day, piece, state, course))
    else:
        _set_air(day, piece, state, course)
        _set_mach(day, piece, state, sweep)
        _lay(state, (state.mach,), lambda: _speed_change(day, piece, state, course))
    cells = float(sum(len(path.mach) - 1 for path in state.paths))
    if not state.paths:
        level = piece.kind in ("level", "stay", "turn")
        state.end_altitude = state.start_altitude
        state.end_mach = state.mach if level else state.start_mach
        if piece.kind == "turn" and state.turn_end_mach > 0.0:
            state.end_mach = state.turn_end_mach
    else:
        state.end_altitude, state.end_mach = end_of_cut(state, min(state.cut, cells))


def _lay(state: PieceState, goal: tuple[float, ...], make: Callable[[], list[LayeredPath]]) -> None:
    inputs = (state.start_altitude, state.start_mach, *goal)
    if inputs == state.inputs:
        return
    paths = make()
    nodes = [len(path.node_mach) for path in paths]
    # A path that moved a little keeps its last flight, to be swept on from; another begins anew.
    if nodes != [len(path.node_mach) for path in state.paths]:
        state.flights = [None] * len(paths)
        state.cut = float(sum(nodes) // 2)
    state.inputs, state.paths = inputs, paths


def _height_change(day: RouteDay, piece: Piece, state: PieceState, course: float | None) -> list[LayeredPath]:
    low, mach, high = state.start_altitude, state.start_mach, piece.altitude
    climb = piece.climb
    if piece.kind == "takeoff":
        return _takeoff(day, piece, state, course)
    if abs(high - low) < SAME_HEIGHT:
        return []
    if high < low:
        down = day.descent
        stretches, _ = descent_stretches(low, mach, high, cas=down.cas, schedule=down.mach)
        return [layered_path(stretches, day.winds, course, down.power, piece.speedbrake)]
    stretches, _ = climb_stretches(low, mach, high, cas=climb.cas, schedule=climb.mach)
    if climb.upper_power == climb.power:
        return [layered_path(stretches, day.winds, course, climb.power)]
    # Above the crossing the Mach number is held: only the last stretch of a climb is at constant Mach.
    upper = [one for one in stretches if one.mach is not None and one.cas is None]
    lower = [one for one in stretches if one not in upper]
    return [
        layered_path(part, day.winds, course, power)
        for part, power in ((lower, climb.power), (upper, climb.upper_power))
        if part
    ]


def _takeoff(day: RouteDay, piece: Piece, state: PieceState, course: float | None) -> list[LayeredPath]:
    """Return the level acceleration to climb speed: at takeoff power to where the book reduces it."""
    book, low, mach = day.pack.technique.takeoff, state.start_altitude, state.start_mach
    goal = schedule_mach(piece.climb.cas, piece.climb.mach, low)
    if goal <= mach:
        return []
    power = day.sortie.takeoff.power or book.power
    reduced = goal
    if book.power_reduction_cas is not None:
        reduced = float(mach_from_cas(book.power_reduction_cas, standard_air(low).pressure))
    middle = min(max(reduced, mach), goal)
    return [
        layered_path([Stretch(low, low, mach_line=line)], day.winds, course, setting)
        for line, setting in (((mach, middle), power), ((middle, goal), piece.climb.power))
        if line[1] > line[0] + 1e-4
    ]


def _speed_change(day: RouteDay, piece: Piece, state: PieceState, course: float | None) -> list[LayeredPath]:
    change = state.mach - state.start_mach
    # A time on target is to be met whatever the speed: without a step at which its charge comes and goes.
    least = 1e-3 if piece.arrive is not None else SPEED_STEP
    if abs(change) <= least or piece.kind == "turn":
        return []
    power = level_power(day, piece) if change > 0.0 else day.pack.engine.idle
    height = state.start_altitude
    line = Stretch(height, height, mach_line=(state.start_mach, state.mach))
    return [layered_path([line], day.winds, course, power)]


def _set_air(day: RouteDay, piece: Piece, state: PieceState, course: float | None) -> None:
    height = state.start_altitude
    if height == state.air_height:
        return
    headwind, crosswind = day.winds.along(course or 0.0, height)
    state.headwind, state.crosswind = (
        (float(headwind), float(crosswind)) if piece.way is not None else (0.0, 0.0)
    )
    state.isa_deviation = float(day.winds.isa_deviation(height))
    air = standard_air(height, state.isa_deviation)
    state.pressure, state.sound, state.air_height = float(air.pressure), float(air.speed_of_sound), height


def _set_mach(day: RouteDay, piece: Piece, state: PieceState, sweep: int) -> None:
    """Set the Mach number of a level part: as asked, held inside what can be flown once that is known."""
    wanted = _wanted_mach(day, piece, state)
    if wanted is not None:
        state.asked = wanted
    elif sweep == 0:
        state.asked = day.cruise_mach or FIRST_GUESS
    low, high = state.speed_range or (0.05, state.limit_mach)
    state.mach = min(max(state.asked, low), high)
    state.tas = state.mach * state.sound


def _wanted_mach(day: RouteDay, piece: Piece, state: PieceState) -> float | None:
    """Return the Mach number the sortie writes; None where it is to be found."""
    speed = piece.speed
    if speed.mach is not None:
        return speed.mach
    if speed.cas is not None:
        return schedule_mach(speed.cas, None, state.start_altitude)
    if speed.tas is not None:
        return speed.tas / state.sound
    if speed.ground_speed is not None:
        return sqrt((speed.ground_speed + state.headwind) ** 2 + state.crosswind**2) / state.sound
    if piece.arrive is not None or best_aim(day, piece) is not None:
        return None
    return day.cruise_mach if piece.kind == "level" else state.start_mach


def level_power(day: RouteDay, piece: Piece) -> str:
    """Return the highest setting a piece may hold its speed with: cruise's, or more where it says so."""
    at = piece.at if piece.kind in ("stay", "turn") else None
    own = None if at is None else at.task.power if at.task is not None else at.turn.power if at.turn else None
    settings = day.pack.engine.settings
    if own is None or own == day.cruise_power:
        return day.cruise_power
    stronger = settings[own].thrust.values[0, 0] > settings[day.cruise_power].thrust.values[0, 0]
    return own if stronger else day.cruise_power


def best_aim(day: RouteDay, piece: Piece) -> str | None:
    """Return what the speed of a piece is to be best for, where it is not written."""
    speed = piece.speed
    if speed.best is not None:
        return speed.best
    written = any(one is not None for one in (speed.mach, speed.cas, speed.tas, speed.ground_speed))
    if written or piece.arrive is not None:
        return None
    if piece.kind == "level":
        return "range" if day.cruise_mach is None else None
    orbits = piece.at is not None and piece.at.orbit is not None and piece.kind == "stay"
    return "endurance" if orbits else None


def flown_arrays(state: PieceState) -> tuple[Floats, Floats, Floats, Floats, int]:
    """Return time, fuel, air and ground distance at the edges of a piece's cells, and how many can be
    flown."""
    flown = [one for one in state.flights if one is not None]
    if not flown:
        return _NOTHING, _NOTHING, _NOTHING, _NOTHING, 0
    if len(flown) == 1:
        one = flown[0]
        return one.time, one.fuel, one.air_distance, one.ground_distance, one.cells_flown
    joined: list[Floats] = []
    for name in ("time", "fuel", "air_distance", "ground_distance"):
        parts = [getattr(one, name) for one in flown]
        whole = parts[0]
        for part in parts[1:]:
            whole = np.concatenate([whole, part[1:] + whole[-1]])
        joined.append(whole)
    cells = 0
    for one in flown:
        cells += one.cells_flown
        if not one.is_whole:
            break
    return joined[0], joined[1], joined[2], joined[3], cells


def spent_on_paths(state: PieceState) -> tuple[float, float, float]:
    """Return time, fuel and ground of a piece's changes of height and speed, as far as they can be flown."""
    time, fuel, _, ground, cells = flown_arrays(state)
    return float(time[cells]), float(fuel[cells]), float(ground[cells])


def edge_values(state: PieceState, name: str) -> Floats:
    """Return altitude, mach or tas at the edges of all cells of a piece's paths."""
    parts = [getattr(path, name) for path in state.paths]
    if len(parts) == 1:
        return parts[0]
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def end_of_cut(state: PieceState, at: float) -> tuple[float, float]:
    """Return height and Mach number ``at`` that many cells along the paths."""
    if not state.paths:
        return state.end_altitude, state.end_mach
    last = state.paths[-1]
    if at >= sum(len(path.mach) - 1 for path in state.paths):
        return float(last.altitude[-1]), float(last.mach[-1])
    altitude, mach = edge_values(state, "altitude"), edge_values(state, "mach")
    places = np.arange(len(mach))
    return float(np.interp(at, places, altitude)), float(np.interp(at, places, mach))
