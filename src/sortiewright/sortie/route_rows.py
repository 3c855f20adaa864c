"""The solved route as rows of a flight log, and as a track to draw."""

from __future__ import annotations

from datetime import timedelta
from math import asin, atan2, degrees, hypot, nan, radians, sin

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_mach, standard_air
from sortiewright.performance import Balance, LoadState, MassItem, balance_of, load_items
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_flown import Part, PlacedPoint, RouteRow
from sortiewright.sortie.route_lines import flown_arrays
from sortiewright.sortie.route_pieces import Piece, PieceState
from sortiewright.sortie.route_points import variation_at
from sortiewright.sortie.route_solving import RouteRun

Floats = NDArray[np.float64]


def rows_of_run(run: RouteRun, count: int, field_variation: float) -> list[RouteRow]:
    """Return the rows of the first ``count`` pieces; those in which nothing happens make none."""
    rows: list[RouteRow] = []
    place = run.pieces[0].way.start if run.pieces and run.pieces[0].way is not None else None
    dry: dict[frozenset[str], list[MassItem]] = {}
    numbers = flown_numbers(run, count)
    speeds = _speeds_at_ends(run.day, [run.states[number] for number in numbers])
    for number in numbers:
        assert place is not None
        load = run.loads[number]
        if load.released not in dry:
            items = load_items(run.day.pack, load)
            dry[load.released] = [item for item in items if item.group != "fuel"]
        balance = balance_of(run.day.pack, load, gear_up=True, dry=dry[load.released])
        own = field_variation if run.pieces[number].leg == 0 else None
        low = rows[-1].end_altitude if rows else run.states[number].start_altitude
        row = _row(run, number, (place, low), own, balance, speeds[len(rows)])
        place = row.end
        rows.append(row)
    return rows


def _speeds_at_ends(day: RouteDay, states: list[PieceState]) -> list[tuple[float, float]]:
    """Return calibrated and true airspeed at each piece's end, m/s."""
    if not states:
        return []
    altitude = np.array([state.end_altitude for state in states])
    mach = np.array([state.end_mach for state in states])
    air = standard_air(altitude, day.winds.isa_deviation(altitude))
    cas, tas = cas_from_mach(mach, air.pressure), mach * air.speed_of_sound
    return list(zip(cas.tolist(), tas.tolist(), strict=True))


def flown_numbers(run: RouteRun, count: int) -> list[int]:
    """Return which of the first ``count`` pieces make a row: those in which something happens."""
    shown: list[int] = []
    for number, (piece, state) in enumerate(zip(run.pieces[:count], run.states, strict=False)):
        done = piece.kind in ("takeoff", "release") or (piece.at is not None and piece.kind != "change")
        if done or state.time > 0.0:
            shown.append(number)
    return shown


def _row(
    run: RouteRun,
    number: int,
    begins: tuple[PlacedPoint, float],
    variation: float | None,
    balance: Balance,
    speeds: tuple[float, float],
) -> RouteRow:
    start, start_altitude = begins
    day, piece, state = run.day, run.pieces[number], run.states[number]
    part = part_of(piece, state)
    end, title = _end_point(piece, state, part), piece.title
    headwind, crosswind, warm = _mean_air(state)
    course, magnetic, heading = nan, nan, nan
    turned = variation if variation is not None else variation_at(start, day.brake_release.date())
    mean_tas = state.air_distance / state.time if state.time > 0.0 else nan
    if piece.way is not None:
        course = piece.way.course_deg
        middle = piece.way.middle_course_deg
        wind_speed = hypot(headwind, crosswind)
        wind_from = (middle + degrees(atan2(crosswind, headwind))) % 360.0 if wind_speed > 0.0 else 0.0
        # A flight log's heading is that of the leg's start: the wind triangle on the initial course.
        across = wind_speed * sin(radians(wind_from - course))
        heading = (course + degrees(asin(max(-1.0, min(1.0, across / mean_tas))))) % 360.0
        magnetic = (course - (turned or 0.0)) % 360.0
    else:
        wind_from, wind_speed = _wind_over_point(day, state)
    load = run.loads[number]
    cas, tas = speeds
    elapsed = state.start_elapsed + state.time
    return RouteRow(
        part=part,
        leg=-1 if piece.kind == "takeoff" else piece.leg,
        title=title,
        start=start,
        end=end,
        start_altitude=start_altitude,
        end_altitude=state.end_altitude,
        true_course_deg=course,
        magnetic_course_deg=magnetic,
        true_heading_deg=heading,
        magnetic_heading_deg=(heading - (turned or 0.0)) % 360.0,
        variation_deg=nan if turned is None else turned,
        mach=state.end_mach,
        cas=cas,
        tas=tas,
        ground_speed=state.distance / state.time if state.time > 0.0 and piece.way is not None else nan,
        wind_from_deg=wind_from,
        wind_speed=wind_speed,
        isa_deviation=warm,
        distance=state.distance,
        air_distance=state.air_distance,
        time=state.time,
        fuel=state.fuel,
        fuel_on=state.fuel_on,
        fuel_flow=state.fuel / state.time if state.time > 0.0 else nan,
        load=load,
        balance=balance,
        elapsed=elapsed,
        at=day.brake_release + timedelta(seconds=elapsed),
        remarks=_remarks(piece, state, turned),
    )


def part_of(piece: Piece, state: PieceState) -> Part:
    """Return the kind of row a piece makes."""
    if piece.kind in ("change", "arrive"):
        return "climb" if piece.altitude > state.start_altitude else "descent"
    if piece.kind == "level":
        return "cruise"
    if piece.kind == "stay" and piece.at is not None:
        return "orbit" if piece.at.orbit is not None else "refuel" if piece.at.refuel is not None else "task"
    return "takeoff" if piece.kind == "takeoff" else "turn" if piece.kind == "turn" else "release"


def _end_point(piece: Piece, state: PieceState, part: Part) -> PlacedPoint:
    if piece.way is None:
        return piece.point
    name = {"climb": "top of climb", "descent": "end of descent", "takeoff": "climb speed"}
    return piece.way.point_at(state.start_distance + state.distance, name.get(part, "start of descent"))


def _mean_air(state: PieceState) -> tuple[float, float, float]:
    """Return headwind, crosswind and deviation from standard of a piece, means over its time."""
    time = flown_arrays(state)[0]
    cells = max(min(round(state.cut), len(time) - 1), 0)
    if not state.paths or cells == 0:
        return state.headwind, state.crosswind, state.isa_deviation
    weights = time[1 : cells + 1] - time[:cells]
    whole = float(time[cells]) + state.steady_time
    means: list[float] = []
    for name in ("headwind", "crosswind", "isa_deviation"):
        parts = [getattr(path, name) for path in state.paths]
        nodes = parts[0] if len(parts) == 1 else np.concatenate(parts)
        cell_mean = 0.5 * (nodes[0::2] + nodes[1::2])[:cells]
        steady = getattr(state, name) * state.steady_time
        means.append((float(cell_mean @ weights) + steady) / whole)
    return means[0], means[1], means[2]


def _wind_over_point(day: RouteDay, state: PieceState) -> tuple[float, float]:
    north, east = (float(part) for part in day.winds.blowing_from(state.start_altitude))
    return degrees(atan2(east, north)) % 360.0, hypot(north, east)


def _remarks(piece: Piece, state: PieceState, variation: float | None) -> tuple[str, ...]:
    said: list[str] = []
    goes_on = piece.kind == "change" and piece.way is not None and not state.stuck
    if goes_on and abs(state.end_altitude - piece.altitude) > 1.0:
        said.append("not at its height at the point: the change of height goes on in the next leg")
    if variation is None and piece.way is not None:
        said.append("no magnetic variation is known for this date: magnetic is true")
    return tuple(said)


def ground_rows(
    day: RouteDay,
    start: PlacedPoint,
    ramp: LoadState,
    takeoff: LoadState,
    after_run_up: LoadState,
    taxi_time: float,
) -> list[RouteRow]:
    """Return the rows of start and taxi, and of the run-up."""
    rows: list[RouteRow] = []
    for part, title, before, load, time in (
        ("start_and_taxi", "Start and taxi", ramp, takeoff, taxi_time),
        ("run_up", "Run-up", takeoff, after_run_up, 0.0),
    ):
        fuel = before.total_fuel - load.total_fuel
        if fuel > 0.0 or part == "start_and_taxi":
            name: Part = "start_and_taxi" if part == "start_and_taxi" else "run_up"
            rows.append(standing_row(day, name, -1, title, start, load, time=time, fuel=fuel, elapsed=0.0))
    return rows


def standing_row(
    day: RouteDay,
    part: Part,
    leg: int,
    title: str,
    point: PlacedPoint,
    load: LoadState,
    *,
    time: float,
    fuel: float,
    elapsed: float,
    altitudes: tuple[float, float] | None = None,
    remarks: tuple[str, ...] = (),
    gear_up: bool = False,
    end: PlacedPoint | None = None,
) -> RouteRow:
    """Return a row without course and speed: on the ground, or by allowance."""
    low, high = (day.field, day.field) if altitudes is None else altitudes
    return RouteRow(
        part=part,
        leg=leg,
        title=title,
        start=point,
        end=end or point,
        start_altitude=low,
        end_altitude=high,
        true_course_deg=nan,
        magnetic_course_deg=nan,
        true_heading_deg=nan,
        magnetic_heading_deg=nan,
        variation_deg=nan,
        mach=nan,
        cas=nan,
        tas=nan,
        ground_speed=nan,
        wind_from_deg=nan,
        wind_speed=nan,
        isa_deviation=nan,
        distance=0.0,
        air_distance=0.0,
        time=time,
        fuel=fuel,
        fuel_on=0.0,
        fuel_flow=fuel / time if time > 0.0 else nan,
        load=load,
        balance=balance_of(day.pack, load, gear_up=gear_up),
        elapsed=elapsed,
        at=day.brake_release + timedelta(seconds=elapsed),
        remarks=remarks,
    )
