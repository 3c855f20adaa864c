"""Today's route: from start to touchdown, row by row, with what stops or spoils it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sortiewright.air import mach_from_cas, mach_from_tas
from sortiewright.pack import Pack
from sortiewright.performance import LoadState, balance_of, fuel_after, fuel_flow_per_engine, stall_speed
from sortiewright.sortie.conditions import Conditions
from sortiewright.sortie.loading import ramp_load
from sortiewright.sortie.route_day import RouteDay, route_day
from sortiewright.sortie.route_flown import FlownRoute, PlacedPoint, RouteFault, RouteRow
from sortiewright.sortie.route_pieces import landing_point, route_pieces, route_points
from sortiewright.sortie.route_rows import flown_numbers, ground_rows, rows_of_run, standing_row
from sortiewright.sortie.route_solving import RouteRun, solve_route
from sortiewright.sortie.route_track import track_of_rows
from sortiewright.sortie.route_words import faults_of_run
from sortiewright.sortie.schema import Sortie

MACH_OF_TAKEOFF = 0.15
"""At which the fuel flow of the takeoff run is taken: it hardly changes over the run."""
FIRST_SPEED_OVER_STALL = 1.2
"""Speed at the screen over the stalling speed where the takeoff was not computed (common practice, no
source)."""


def fly_route(
    sortie: Sortie,
    pack: Pack,
    conditions: Conditions,
    landing_conditions: Conditions,
    takeoff_load: LoadState,
    takeoff_time: float | None,
    takeoff_speed: float | None,
    *,
    day: RouteDay | None = None,
) -> FlownRoute:
    """Return the sortie's route as flown on paper.

    Parameters
    ----------
    takeoff_load
        Aboard after start and taxi, before the run-up's allowance.
    takeoff_time : s
        From brake release to the screen height; None leaves its fuel out, with a remark.
    takeoff_speed : m/s
        Calibrated airspeed at the screen height; None takes 1.2 times the stalling speed.
    day
        ``route_day`` of the same, where it is known already.

    Raises
    ------
    ValueError
        Where there is no route, or the day lacks what it takes to fly one: a point that is not known, a field
        without temperature or altimeter setting, no climb or descent speed.

    Notes
    -----
    Points are flown over, without a turn's radius. The takeoff run itself covers no ground towards the first
    point; the acceleration to climb speed does, and the first leg's rows begin where it ends.
    """
    day = day or route_day(sortie, pack, conditions, landing_conditions)
    points = route_points(sortie)
    remarks = list(day.remarks)
    rows, load, elapsed = _on_the_ground(day, points[0], takeoff_load, takeoff_time, remarks)
    start_mach = _first_mach(day, conditions, load, takeoff_speed)
    run = solve_route(day, route_pieces(day, points), load, elapsed=elapsed, start_mach=start_mach)
    faults, count = faults_of_run(run)
    flown = rows_of_run(run, count, conditions.variation_deg)
    complete = count == len(run.pieces) and run.stop is None and run.dry is None
    if flown and flown[0].part == "takeoff":
        flown[0] = _with_takeoff_run(day, flown[0], takeoff_load if not rows else rows[-1].load, elapsed)
    rows += flown
    if complete:
        row, late = _approach(day, sortie, rows[-1])
        rows.append(row)
        faults += late
    if rows:
        first = rows[0]
        rows[0] = replace(first, remarks=(*remarks, *first.remarks))
    return _with_track(points, rows, tuple(faults), complete, run, count)


def _on_the_ground(
    day: RouteDay, start: PlacedPoint, load: LoadState, takeoff_time: float | None, remarks: list[str]
) -> tuple[list[RouteRow], LoadState, float]:
    """Return the rows before brake release, the load at the screen, and the time there."""
    pack, ramp = day.pack, ramp_load(day.sortie, day.pack)
    fuel = pack.technique.fuel
    after_run_up = fuel_after(pack, load, fuel.run_up) if fuel is not None and fuel.run_up > 0.0 else load
    rows = ground_rows(day, start, ramp, load, after_run_up, day.sortie.load.taxi_time or 0.0)
    if takeoff_time is None:
        remarks.append("The takeoff was not computed: its time and fuel to the screen are left out")
        return rows, after_run_up, 0.0
    return rows, fuel_after(pack, after_run_up, _run_fuel(day, takeoff_time)), takeoff_time


def _run_fuel(day: RouteDay, time: float) -> float:
    """Return the fuel from brake release to the screen, kg, at takeoff power."""
    setting = day.pack.engine.settings[day.sortie.takeoff.power or day.pack.technique.takeoff.power]
    warm = float(day.winds.isa_deviation(day.field))
    flow = fuel_flow_per_engine(setting, MACH_OF_TAKEOFF, day.field, warm)
    return float(flow) * day.pack.engine.count * time


def _first_mach(day: RouteDay, conditions: Conditions, load: LoadState, speed: float | None) -> float:
    air = conditions.air
    assert air is not None
    if speed is not None and np.isfinite(speed):
        return float(mach_from_cas(speed, air.pressure))
    technique = day.pack.technique.takeoff
    name = day.sortie.takeoff.configuration or technique.configuration
    configuration = day.pack.aero.configurations[name]
    weight = balance_of(day.pack, load).mass * 9.80665
    stall = stall_speed(day.pack, configuration, weight, air.density, air.speed_of_sound)
    return float(mach_from_tas(FIRST_SPEED_OVER_STALL * stall, air.temperature))


def _with_takeoff_run(day: RouteDay, row: RouteRow, before: LoadState, screen_time: float) -> RouteRow:
    """Return the takeoff row with the run to the screen in it."""
    fuel = before.total_fuel - row.load.total_fuel
    time = row.time + screen_time
    return replace(row, title="Takeoff", time=time, fuel=fuel, fuel_flow=fuel / time)


def _approach(day: RouteDay, sortie: Sortie, last: RouteRow) -> tuple[RouteRow, list[RouteFault]]:
    """Return the row from the recovery fix to touchdown, by allowance; a fault where it lacks the fuel."""
    book = day.pack.technique.fuel
    fuel = book.approach if book is not None else 0.0
    time = book.approach_time if book is not None else 0.0
    faults: list[RouteFault] = []
    try:
        load = fuel_after(day.pack, last.load, fuel) if fuel > 0.0 else last.load
    except ValueError:
        text = "Fuel runs out on the approach: less is left at the recovery fix than it takes"
        faults.append(RouteFault(last.leg, text, "Take more fuel or a shorter route", "no-go", ("route",)))
        load, fuel = last.load, 0.0
    row = standing_row(
        day,
        "approach",
        -1,
        "Approach",
        last.end,
        load,
        time=time,
        fuel=fuel,
        elapsed=last.elapsed + time,
        altitudes=(last.end_altitude, day.landing_field),
        end=landing_point(sortie),
    )
    return row, faults


def _with_track(
    points: list[PlacedPoint],
    rows: list[RouteRow],
    faults: tuple[RouteFault, ...],
    complete: bool,
    run: RouteRun,
    count: int,
) -> FlownRoute:
    drawn = iter(run.states[number] for number in flown_numbers(run, count))
    by_allowance = ("start_and_taxi", "run_up", "approach")
    states = [None if row.part in by_allowance else next(drawn) for row in rows]
    track = track_of_rows(rows, states)
    return FlownRoute(tuple(points), tuple(rows), faults, complete, *track.T)
