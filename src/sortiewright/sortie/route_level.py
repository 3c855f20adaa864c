"""Level flight on the route: all its level parts in one batch, and whether each can be flown as asked."""

from __future__ import annotations

from math import cos, isfinite, nan

import numpy as np

from sortiewright.performance import (
    FlightCases,
    LoadState,
    best_cruise,
    fuel_flow_per_engine,
    level_speed_range,
    make_flight_cases,
    steady_level_flight,
    turn_cost,
)
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_lines import best_aim, level_power, spent_on_paths
from sortiewright.sortie.route_pieces import Piece, PieceState

Pair = tuple[Piece, PieceState]

SAME_MASS = 0.02  # share of the mass within which a speed for longest range is not looked for again
SPEED_SLACK = 2e-4  # Mach


def fly_level(day: RouteDay, pairs: list[Pair]) -> None:
    """Set fuel flow and speed of every level part at its middle mass; raises ``OutsideTable``."""
    level = [pair for pair in pairs if pair[0].kind in ("level", "stay", "turn")]
    _find_best_speeds(day, level)
    if not level:
        return
    pieces, states = [pair[0] for pair in level], [pair[1] for pair in level]
    mass = np.array([_middle_mass(state) for state in states])
    loads = np.array([load_factor_of(day, piece) for piece in pieces])
    ones = np.ones(len(mass))
    cases = FlightCases(
        mass,
        np.array([state.drag_index for state in states]),
        np.array([state.isa_deviation for state in states]),
        np.zeros(len(mass)),
        ones,
        ones,
        ones,
    )
    flown = steady_level_flight(
        day.pack,
        day.setup,
        cases,
        mass=mass,
        pressure_altitude=np.array([state.start_altitude for state in states]),
        mach=np.array([state.mach for state in states]),
        power=day.cruise_power,
        load_factor=loads,
    )
    steepest = most_angle(day)
    for number, (piece, state) in enumerate(level):
        flow, angle = float(flown.fuel_flow[number]), float(flown.angle_of_attack[number])
        state.fuel_flow = flow
        fits = isfinite(flow) and not angle > steepest and _inside_limits(state)
        if not fits or state.speed_range is not None:
            _bound_speed(day, piece, state, cases.take(slice(number, number + 1)), float(loads[number]))
        if piece.at is not None and piece.at.orbit is None:
            _set_work(day, piece, state, cases.take(slice(number, number + 1)))


def speed_ends(day: RouteDay, load: LoadState) -> tuple[float, float]:
    """Return the highest CAS, m/s, and Mach number of limits and tables together."""
    cas, mach = day.speed_limits(load)
    setting = day.pack.engine.settings[day.cruise_power]
    tables = (setting.thrust, day.setup.configuration.lift, day.setup.configuration.drag)
    return cas, min(mach, *(table.range_of("mach")[1] for table in tables))


def load_factor_of(day: RouteDay, piece: Piece) -> float:
    """Return the load factor of a level part: an orbit's bank, else 1."""
    if piece.at is None or piece.at.orbit is None:
        return 1.0
    bank = day.holding_bank if piece.at.orbit.bank is None else piece.at.orbit.bank
    return 1.0 / cos(bank)


def most_angle(day: RouteDay) -> float:
    """Return the angle of attack that is not to be passed in level flight, rad."""
    names = day.pack.aero.configurations
    clean = next((name for name, one in names.items() if one is day.setup.configuration), "")
    return day.pack.limits.angle_of_attack.get(clean, np.pi / 2.0)


def _middle_mass(state: PieceState) -> float:
    before = spent_on_paths(state)[1]
    steady = max(state.fuel - before, 0.0)
    return state.mass - before - 0.5 * steady + 0.5 * state.fuel_on


def _inside_limits(state: PieceState) -> bool:
    return state.mach <= state.limit_mach + SPEED_SLACK and state.asked <= state.limit_mach + SPEED_SLACK


def _bound_speed(
    day: RouteDay, piece: Piece, state: PieceState, case: FlightCases, load_factor: float
) -> None:
    """Set the range of speeds a piece may be flown at, and fly it at the nearest to what is asked."""
    found = level_speed_range(
        day.pack,
        day.setup,
        case,
        altitude=state.start_altitude,
        power=level_power(day, piece),
        load_factor=load_factor,
        maximum_mach=state.limit_mach,
        most_angle=most_angle(day),
    )
    state.speed_range, state.no_level = found, found is None
    if found is None:
        return
    state.mach = min(max(state.asked, found[0]), found[1])
    state.tas = state.mach * state.sound
    level = steady_level_flight(
        day.pack,
        day.setup,
        case,
        mass=case.mass,
        pressure_altitude=state.start_altitude,
        mach=state.mach,
        power=level_power(day, piece),
        load_factor=load_factor,
    )
    state.fuel_flow = float(level.fuel_flow[0])


def _find_best_speeds(day: RouteDay, level: list[Pair]) -> None:
    groups: dict[str, list[PieceState]] = {}
    for piece, state in level:
        aim = best_aim(day, piece)
        known = state.best_mass is not None and abs(state.mass / state.best_mass - 1.0) < SAME_MASS
        if aim is not None and not known:
            groups.setdefault(aim, []).append(state)
    for aim, states in groups.items():
        cases = make_flight_cases(
            [state.mass for state in states],
            drag_index=[state.drag_index for state in states],
            isa_deviation=[state.isa_deviation for state in states],
            headwind=[state.headwind for state in states],
        )
        heights = np.array([state.start_altitude for state in states])
        found = best_cruise(
            day.pack,
            day.setup,
            cases,
            "endurance" if aim == "endurance" else "range" if aim == "range" else "ground_range",
            power=day.cruise_power,
            altitude=heights,
        )
        for state, mach in zip(states, found.mach, strict=True):
            state.best_mass = state.mass
            if isfinite(mach):
                state.asked = state.mach = min(float(mach), state.limit_mach)
                state.tas = state.mach * state.sound


def _set_work(day: RouteDay, piece: Piece, state: PieceState, case: FlightCases) -> None:
    """Set the fuel flow of what is not plain level flight: an exercise at power or at a flow, a turn."""
    at = piece.at
    if at is None or piece.kind not in ("stay", "turn"):
        return
    if at.turn is not None:
        _set_turn(day, piece, state, case)
    elif at.task is not None and at.task.fuel_flow is not None:
        state.fuel_flow = at.task.fuel_flow
    elif at.task is not None and at.task.power is not None:
        setting = day.pack.engine.settings[at.task.power]
        each = fuel_flow_per_engine(setting, state.mach, state.start_altitude, state.isa_deviation)
        flow = float(each) * day.pack.engine.count
        share = at.task.power_share
        rest = (1.0 - share) * state.fuel_flow if share < 1.0 else 0.0
        state.fuel_flow = share * flow + rest


def _set_turn(day: RouteDay, piece: Piece, state: PieceState, case: FlightCases) -> None:
    turn = piece.at.turn if piece.at is not None else None
    assert turn is not None
    cost = turn_cost(
        day.pack,
        day.setup,
        case,
        altitude=state.start_altitude,
        mach=state.mach,
        heading_change=turn.heading_change,
        power=turn.power or day.cruise_power,
        load_factor=turn.load_factor,
        bank=turn.bank,
    )
    time = float(cost.time[0])
    state.turn_time = time
    state.fuel_flow = float(cost.fuel[0]) / time if time > 0.0 else nan
    state.turn_end_mach = float(cost.mach_at_end[0])
