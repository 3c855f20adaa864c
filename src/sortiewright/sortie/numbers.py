"""All of today's physics in one go: what the sections, the verdict and the drawings are made from."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_tas, pressure_altitude, tas_from_cas
from sortiewright.pack import OutsideTable, Pack, TakeoffTechnique
from sortiewright.performance import (
    Balance,
    BurnStep,
    ClimbGradient,
    Curves,
    FieldLengths,
    LoadState,
    Takeoff,
    TakeoffSetup,
    balance_of,
    burn_path,
    burn_step,
    field_lengths,
    fuel_after,
    minimum_control_ground_speed,
    release_path,
    takeoff_and_curves,
    takeoff_setup,
    takeoff_trim,
)
from sortiewright.sortie.conditions import (
    Conditions,
    cases_of,
    landing_conditions,
    stop_chute,
    takeoff_conditions,
)
from sortiewright.sortie.fuel_planning import fuel_plan
from sortiewright.sortie.loading import ground_fuel, landing_load, ramp_load, zero_fuel_load
from sortiewright.sortie.numbers_flight import FlightNumbers, flight_numbers
from sortiewright.sortie.numbers_landing import LandingRow, gear_down_and_up, go_around, land_everywhere
from sortiewright.sortie.route_day import route_day
from sortiewright.sortie.route_flight import fly_route
from sortiewright.sortie.route_flown import FlownRoute, FuelPlan
from sortiewright.sortie.schema import Sortie
from sortiewright.sortie.uncertainty import half_width, with_errors

Floats = NDArray[np.float64]

PLANNED_TOLERANCE = 0.25  # m, of the field lengths of the day as planned
MOVED_TOLERANCE = 2.0  # m, of those moved by an error: they only make the half-widths, shown to 10 ft


@dataclass(frozen=True, slots=True)
class LoadNumbers:
    """Loads and balances at the points of the sortie that matter."""

    ramp: LoadState
    takeoff: LoadState
    landing: LoadState
    landing_fuel_assumed: bool
    """A fifth of takeoff fuel was taken, as neither the sortie nor a route says."""
    ramp_balance: Balance
    takeoff_balance: Balance
    zero_fuel_balance: Balance
    landing_balance: Balance
    burn: tuple[BurnStep, ...]
    releases: tuple[BurnStep, ...]
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TakeoffNumbers:
    """The takeoff, all its what-ifs, and the climb-away. Arrays of one case."""

    setup: TakeoffSetup
    takeoff: Takeoff
    curves: Curves
    lengths: FieldLengths
    trim: float
    minimum_control_cas: float
    single_engine_cas: float
    single_engine_tas: float
    gradient_gear_down: ClimbGradient | None
    gradient_gear_up: ClimbGradient | None
    stop_available: float
    go_available: float
    widths: dict[str, float | None]
    """Half-widths of the uncertainty of figures, by name."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """Everything that was computed; a part that could not be is None, with its problem."""

    sortie: Sortie
    pack: Pack
    conditions: Conditions
    landing_conditions: Conditions
    loads: LoadNumbers
    takeoff: TakeoffNumbers | None
    takeoff_problem: str
    landings: tuple[LandingRow, ...]
    go_around_gear_down: ClimbGradient | None
    go_around_gear_up: ClimbGradient | None
    go_around_tas: float
    technique: TakeoffTechnique
    landing_widths: dict[str, float | None]
    """Half-widths of the uncertainty of landing figures, by name."""
    route: RouteNumbers | None = None


@dataclass(frozen=True, slots=True)
class RouteNumbers:
    """The flight between takeoff and landing; a part that could not be had is None, ``problem`` says why."""

    flown: FlownRoute | None
    fuel: FuelPlan | None
    flight: FlightNumbers | None
    problem: str = ""


def compute(sortie: Sortie, pack: Pack) -> Numbers:
    """Return all numbers of a sortie. A condition outside a table spoils its own numbers, not the rest."""
    technique = chosen_technique(sortie, pack)
    conditions = takeoff_conditions(sortie)
    arrival = landing_conditions(sortie, conditions)
    before = _departure(sortie, pack)
    takeoff: TakeoffNumbers | None = None
    problem = "; ".join(conditions.missing)
    if not problem:
        try:
            takeoff = _takeoff(sortie, pack, technique, conditions, before.takeoff_balance)
        except OutsideTable:
            # A condition moved by its error may leave a table that the day itself does not leave.
            try:
                takeoff = _takeoff(
                    sortie, pack, technique, conditions, before.takeoff_balance, with_widths=False
                )
            except OutsideTable as error:
                problem = str(error)
    route = route_numbers(sortie, pack, conditions, arrival, before.takeoff, takeoff)
    loads = _loads(sortie, pack, before, None if route is None else route.flown)
    landings, widths = land_everywhere(sortie, pack, arrival, loads.landing_balance, loads.takeoff_balance)
    gear_down, gear_up, tas = go_around(sortie, pack, arrival, loads.landing_balance, landings)
    return Numbers(
        sortie,
        pack,
        conditions,
        arrival,
        loads,
        takeoff,
        problem,
        landings,
        gear_down,
        gear_up,
        tas,
        technique,
        widths,
        route,
    )


def route_numbers(
    sortie: Sortie,
    pack: Pack,
    conditions: Conditions,
    arrival: Conditions,
    load: LoadState,
    takeoff: TakeoffNumbers | None,
) -> RouteNumbers | None:
    """Return the route as flown with its fuel plan, None where the sortie has none.

    ``load`` is what is aboard after start and taxi; without ``takeoff`` its time and fuel are left out.
    """
    if sortie.route is None:
        return None
    time = speed = None
    if takeoff is not None:
        at, cas = float(takeoff.takeoff.time_to_screen[0]), float(takeoff.takeoff.screen_cas[0])
        if np.isfinite(at) and np.isfinite(cas):
            time, speed = at, cas
    try:
        day = route_day(sortie, pack, conditions, arrival)
        flown = fly_route(sortie, pack, conditions, arrival, load, time, speed, day=day)
    except ValueError as error:  # of the day; also a table that does not reach
        return RouteNumbers(None, None, None, str(error))
    qnh = conditions.weather.qnh
    if qnh is not None:
        flown = replace(flown, sea_level=float(pressure_altitude(qnh)))
    problem, fuel = "", None
    try:
        fuel = fuel_plan(sortie, pack, flown, conditions, arrival, day=day)
    except ValueError as error:
        problem = str(error)
    return RouteNumbers(flown, fuel, flight_numbers(pack, flown), problem)


def chosen_technique(sortie: Sortie, pack: Pack) -> TakeoffTechnique:
    """Return the pack's takeoff technique with the sortie's choices in it."""
    choices = sortie.takeoff
    named = ("configuration", "power", "release_power", "pitch_rate", "takeoff_attitude", "continue_to")
    changed = {name: value for name in named if (value := getattr(choices, name)) is not None}
    return pack.technique.takeoff.model_copy(update=changed)


@dataclass(frozen=True, slots=True)
class _Departure:
    """Loads before the flight."""

    ramp: LoadState
    takeoff: LoadState
    takeoff_balance: Balance
    problems: tuple[str, ...]


def _departure(sortie: Sortie, pack: Pack) -> _Departure:
    problems: list[str] = []
    ramp = ramp_load(sortie, pack)
    try:
        takeoff = fuel_after(pack, ramp, ground_fuel(sortie, pack))
    except ValueError as error:
        problems.append(f"start and taxi: {error}")
        takeoff = ramp
    return _Departure(ramp, takeoff, balance_of(pack, takeoff), tuple(problems))


def _loads(sortie: Sortie, pack: Pack, before: _Departure, flown: FlownRoute | None) -> LoadNumbers:
    ramp, takeoff = before.ramp, before.takeoff
    end = flown.rows[-1].load if flown is not None and flown.complete else None
    landing, assumed = landing_load(sortie, pack, takeoff, end)
    burn = [burn_step(pack, "start", ramp), *burn_path(pack, takeoff)]
    releases = release_path(pack, takeoff, sortie.load.release_order)
    if sortie.landing.stores == "kept" and not landing.released:
        releases += release_path(pack, landing, sortie.load.release_order)
    return LoadNumbers(
        ramp,
        takeoff,
        landing,
        assumed,
        balance_of(pack, ramp),
        before.takeoff_balance,
        balance_of(pack, zero_fuel_load(pack, takeoff)),
        balance_of(pack, landing),
        tuple(burn),
        tuple(releases),
        before.problems,
    )


def _takeoff(
    sortie: Sortie,
    pack: Pack,
    technique: TakeoffTechnique,
    conditions: Conditions,
    balance: Balance,
    *,
    with_widths: bool = True,
) -> TakeoffNumbers:
    cases = cases_of(conditions, balance)
    rotation = sortie.takeoff.rotation_speed
    batch = takeoff_setup(
        pack, with_errors(cases) if with_widths else cases, technique, rotation_cas=rotation
    )
    with_chute = technique.rejected.chute_commanded is not None and stop_chute(sortie, pack, conditions)
    takeoffs, all_curves = takeoff_and_curves(batch, chute=with_chute)
    runway = conditions.runway
    stop_available = runway.accelerate_stop_distance_available - conditions.start_offset
    go_available = runway.takeoff_run_available - conditions.start_offset
    if technique.continue_to == "screen":
        go_available = runway.takeoff_distance_available - conditions.start_offset
    all_lengths = field_lengths(
        batch,
        takeoffs,
        all_curves,
        stop_available,
        go_available,
        chute=with_chute,
        tolerance=np.where(np.arange(batch.cases.count) == 0, PLANNED_TOLERANCE, MOVED_TOLERANCE),
    )
    planned = np.zeros(1, dtype=np.intp)
    setup, takeoff = batch.take(planned), rows_of(takeoffs, planned)
    lengths = rows_of(all_lengths, planned)
    curves = lengths.curves
    widths = with_widths and {
        "ground_run": half_width(takeoffs.ground_run),
        "distance_to_screen": half_width(takeoffs.distance_to_screen),
        "lift_off_speed": half_width(takeoffs.lift_off_cas),
        "nosewheel_lift_off_speed": half_width(takeoffs.nosewheel_lift_off_cas),
        "critical_field_length": half_width(all_lengths.critical_field_length),
        "refusal_speed": half_width(all_lengths.refusal_speed),
        "critical_engine_failure_speed": half_width(all_lengths.critical_speed),
        "minimum_go_speed": half_width(all_lengths.minimum_go_speed),
    }
    configuration = setup.configuration
    trim_tas = np.asarray(tas_from_cas(np.nan_to_num(takeoff.screen_cas, nan=90.0), cases.air))
    trim = float(takeoff_trim(pack, cases, configuration, trim_tas, technique.power)[0])
    control = minimum_control_ground_speed(pack, cases, technique.engine_out_power or technique.power)
    single_cas = technique.single_engine_climb_cas_over_stall * takeoff.stall_cas
    single = np.asarray(tas_from_cas(single_cas, cases.air))
    down = up = None
    if pack.engine.count > 1:
        power = technique.engine_out_power or technique.power
        down, up = gear_down_and_up(pack, cases, configuration, single, power)
    return TakeoffNumbers(
        setup,
        takeoff,
        curves,
        lengths,
        trim,
        float(cas_from_tas(control, cases.air)[0]),
        float(single_cas[0]),
        float(single[0]),
        down,
        up,
        stop_available,
        go_available,
        widths or {},
    )


Record = TypeVar("Record", Takeoff, Curves, FieldLengths)


def rows_of(record: Record, rows: NDArray[np.intp]) -> Record:
    """Return these rows of a record of arrays, nested records included."""
    parts: dict[str, Any] = {}
    for field in fields(record):
        value: Any = getattr(record, field.name)
        parts[field.name] = rows_of(value, rows) if isinstance(value, Curves) else value[rows]
    return type(record)(**parts)
