"""A route taken apart: every change of height, level way, stay and action, in the order they are flown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import nan
from typing import Literal

from sortiewright.performance import LayeredFlight, LayeredPath
from sortiewright.sortie.place import landing_place, takeoff_place
from sortiewright.sortie.route_day import RouteDay, Schedule, climb_schedule
from sortiewright.sortie.route_flown import PlacedPoint
from sortiewright.sortie.route_points import Way, field_point, placed_point, way_between
from sortiewright.sortie.route_schema import AtPoint, Leg, LevelChoice, SpeedChoice, Task
from sortiewright.sortie.schema import Sortie

PieceKind = Literal["takeoff", "change", "arrive", "level", "stay", "turn", "release"]
"""``change``: to a height from where it stands. ``arrive``: placed so that it ends at the leg's end."""

Key = tuple[str | int, ...]
NO_SPEED = SpeedChoice()


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing flown. ``altitude`` is the pressure altitude it ends at, m; ``way`` None over a point."""

    kind: PieceKind
    leg: int
    title: str
    point: PlacedPoint
    way: Way | None
    altitude: float
    speed: SpeedChoice
    climb: Schedule
    speedbrake: float
    key: Key
    at: AtPoint | None = None
    arrive: str | None = None


@dataclass(slots=True)
class PieceState:
    """What is known of a piece so far: inputs and results of the last sweep. SI."""

    mass: float
    drag_index: float = 0.0
    start_altitude: float = 0.0
    start_mach: float = 0.0
    end_altitude: float = 0.0
    end_mach: float = 0.0
    mach: float = 0.0
    """Of the level part; ``asked`` is what the sortie wants it to be."""
    asked: float = 0.0
    inputs: tuple[float, ...] = ()
    paths: list[LayeredPath] = field(default_factory=list[LayeredPath])
    flights: list[LayeredFlight | None] = field(default_factory=list[LayeredFlight | None])
    cut: float = 1.0
    """Share of the cells of the paths that is flown before the way ends."""
    tas: float = 0.0
    headwind: float = 0.0
    crosswind: float = 0.0
    isa_deviation: float = 0.0
    air_height: float = nan
    """Pressure altitude at which wind, deviation, pressure Pa and speed of sound m/s are these."""
    pressure: float = 0.0
    sound: float = 0.0
    fuel_flow: float = 0.0
    steady_time: float = 0.0
    steady_distance: float = 0.0
    time: float = 0.0
    fuel: float = 0.0
    fuel_on: float = 0.0
    distance: float = 0.0
    air_distance: float = 0.0
    start_elapsed: float = 0.0
    start_distance: float = 0.0
    speed_range: tuple[float, float] | None = None
    no_level: bool = False
    """No level flight at any speed."""
    limit_mach: float = 9.0
    """Highest Mach number of limits and tables with what still hangs."""
    best_mass: float | None = None
    stuck: bool = False
    """The paths cannot be flown to their end."""
    fuel_dropped: float = 0.0
    stores_gone: float = 0.0
    """Mass of released stores without fuel, kg, and the drag index after it."""
    index_left: float = 0.0
    turn_time: float = 0.0
    turn_end_mach: float = 0.0
    short_by: float = 0.0
    """What the way lacks for the piece, m."""
    missed_by: float = 0.0
    """Seconds after the time on target; early is negative."""


def route_points(sortie: Sortie) -> list[PlacedPoint]:
    """Return the takeoff field and every leg's end; raises ``ValueError`` for a point that is not known."""
    assert sortie.route is not None
    start = field_point(takeoff_place(sortie).field)
    if start is None:
        raise ValueError("the place of the takeoff field is not known")
    points = [start]
    for leg in sortie.route.legs:
        point = placed_point(sortie, leg.to)
        if point is None:
            raise ValueError(f"point {leg.to} is not known")
        points.append(point)
    return points


def landing_point(sortie: Sortie) -> PlacedPoint | None:
    """Return the landing field as a point."""
    return field_point(landing_place(sortie).field)


def route_pieces(day: RouteDay, points: list[PlacedPoint]) -> list[Piece]:
    """Return every piece of the route in order, the takeoff's acceleration first."""
    legs = day.route.legs
    pieces: list[Piece] = []
    height = day.field
    for number, leg in enumerate(legs):
        way = way_between(points[number], points[number + 1])
        climb = climb_schedule(day.pack, day.route, leg.climb_power) or day.climb
        brake = day.descent.speedbrake if leg.speedbrake is None else leg.speedbrake
        key: Key = ("route", "legs", number)
        end = points[number + 1]
        level = day.height(leg, height)

        def piece(
            kind: PieceKind,
            to: float,
            speed: SpeedChoice = NO_SPEED,
            title: str = "",
            *,
            number: int = number,
            way: Way = way,
            end: PlacedPoint = end,
            climb: Schedule = climb,
            brake: float = brake,
            key: Key = key,
            arrive: str | None = None,
        ) -> Piece:
            return Piece(
                kind, number, title or end.name, end, way, to, speed, climb, brake, key, None, arrive
            )

        if number == 0:
            pieces.append(piece("takeoff", height))
        pieces.append(piece("change", level))
        pieces.append(piece("level", level, leg, arrive=leg.arrive))
        if (last := _arrive_height(day, leg, number == len(legs) - 1)) is not None:
            pieces.append(piece("arrive", last))
            level = last
        for at, done in enumerate(leg.then):
            done_key: Key = (*key, "then", at)
            for one in _at_point(day, done, number, end, level, climb, brake, done_key):
                pieces.append(one)
                level = one.altitude
        height = level
    return pieces


def _arrive_height(day: RouteDay, leg: Leg, last: bool) -> float | None:
    wanted = LevelChoice(altitude=leg.arrive_altitude, flight_level=leg.arrive_flight_level)
    if leg.arrive_altitude is not None or leg.arrive_flight_level is not None:
        return day.height(wanted, 0.0)
    return day.fix if last else None


def _at_point(
    day: RouteDay,
    done: AtPoint,
    leg: int,
    point: PlacedPoint,
    height: float,
    climb: Schedule,
    brake: float,
    key: Key,
) -> Iterator[Piece]:
    def piece(kind: PieceKind, title: str, to: float, speed: SpeedChoice, what: str) -> Piece:
        return Piece(kind, leg, title, point, None, to, speed, climb, brake, (*key, what), done)

    if done.release is not None:
        stations = day.pack.mass.stations
        names = " and ".join(stations[name].title or name for name in done.release if name in stations)
        yield piece("release", f"Release {names}", height, NO_SPEED, "release")
        return
    for what, kind, choice in (
        ("orbit", "stay", done.orbit),
        ("refuel", "stay", done.refuel),
        ("task", "stay", done.task),
        ("turn", "turn", done.turn),
    ):
        if choice is None:
            continue
        level = day.height(choice, height)
        title = choice.title if isinstance(choice, Task) else what.capitalize()
        if abs(level - height) > 1.0:
            yield piece("change", title, level, NO_SPEED, what)
        yield piece("turn" if kind == "turn" else "stay", title, level, choice, what)
