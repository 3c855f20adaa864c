"""All of today's physics in one go: what the sections, the verdict and the drawings are made from."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import approach_gust_increment, cas_from_tas, tas_from_cas
from sortiewright.pack import OutsideTable, Pack, TakeoffTechnique
from sortiewright.performance import (
    Balance,
    BurnStep,
    Cases,
    ClimbGradient,
    Curves,
    FieldLengths,
    Landing,
    LoadState,
    Takeoff,
    TakeoffSetup,
    balance_of,
    burn_path,
    climb_gradient,
    field_lengths,
    fuel_after,
    land,
    make_cases,
    minimum_control_ground_speed,
    release_path,
    takeoff_and_curves,
    takeoff_setup,
    takeoff_trim,
)
from sortiewright.sortie.conditions import (
    Conditions,
    landing_chute,
    landing_conditions,
    stop_chute,
    takeoff_conditions,
)
from sortiewright.sortie.loading import ground_fuel, landing_load, ramp_load, zero_fuel_load
from sortiewright.sortie.schema import Sortie
from sortiewright.sortie.uncertainty import half_width, with_errors

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LoadNumbers:
    """Loads and balances at the points of the sortie that matter."""

    ramp: LoadState
    takeoff: LoadState
    landing: LoadState
    landing_fuel_assumed: bool
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
class LandingRow:
    """One landing that was computed: what it assumes, and its row in the batch."""

    name: str
    title: str
    runway_condition_reading: float
    chute: bool
    result: Landing | None
    row: int
    problem: str = ""


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


def compute(sortie: Sortie, pack: Pack) -> Numbers:
    """Return all numbers of a sortie. A condition outside a table spoils its own numbers, not the rest."""
    technique = chosen_technique(sortie, pack)
    conditions = takeoff_conditions(sortie)
    arrival = landing_conditions(sortie, conditions)
    loads = _loads(sortie, pack)
    takeoff: TakeoffNumbers | None = None
    problem = "; ".join(conditions.missing)
    if not problem:
        try:
            takeoff = _takeoff(sortie, pack, technique, conditions, loads)
        except OutsideTable:
            # A condition moved by its error may leave a table that the day itself does not leave.
            try:
                takeoff = _takeoff(sortie, pack, technique, conditions, loads, with_widths=False)
            except OutsideTable as error:
                problem = str(error)
    landings, gear_down, gear_up, tas = _landing(sortie, pack, arrival, loads)
    widths = _landing_widths(sortie, pack, arrival, loads)
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
    )


def chosen_technique(sortie: Sortie, pack: Pack) -> TakeoffTechnique:
    """Return the pack's takeoff technique with the sortie's choices in it."""
    choices = sortie.takeoff
    named = ("configuration", "power", "release_power", "pitch_rate", "takeoff_attitude", "continue_to")
    changed = {name: value for name in named if (value := getattr(choices, name)) is not None}
    return pack.technique.takeoff.model_copy(update=changed)


def _loads(sortie: Sortie, pack: Pack) -> LoadNumbers:
    problems: list[str] = []
    ramp = ramp_load(sortie, pack)
    try:
        takeoff = fuel_after(pack, ramp, ground_fuel(sortie, pack))
    except ValueError as error:
        problems.append(f"start and taxi: {error}")
        takeoff = ramp
    landing, assumed = landing_load(sortie, pack, takeoff)
    burn = [*burn_path(pack, ramp)[:1], *burn_path(pack, takeoff)]
    releases = release_path(pack, takeoff, sortie.load.release_order)
    releases += (
        release_path(pack, landing, sortie.load.release_order) if sortie.landing.stores == "kept" else []
    )
    return LoadNumbers(
        ramp,
        takeoff,
        landing,
        assumed,
        balance_of(pack, ramp),
        balance_of(pack, takeoff),
        balance_of(pack, zero_fuel_load(pack, takeoff)),
        balance_of(pack, landing),
        tuple(burn),
        tuple(releases),
        tuple(problems),
    )


def _takeoff(
    sortie: Sortie,
    pack: Pack,
    technique: TakeoffTechnique,
    conditions: Conditions,
    loads: LoadNumbers,
    *,
    with_widths: bool = True,
) -> TakeoffNumbers:
    cases = _cases(conditions, loads.takeoff_balance)
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
    all_lengths = field_lengths(batch, takeoffs, all_curves, stop_available, go_available, chute=with_chute)
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
        down = climb_gradient(pack, cases, configuration, single, power, failed_engines=1, gear=1.0)
        up = climb_gradient(pack, cases, configuration, single, power, failed_engines=1, gear=0.0)
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


def _cases(conditions: Conditions, balance: Balance) -> Cases:
    assert conditions.air is not None
    assert conditions.wind is not None
    return make_cases(
        balance.mass,
        balance.arm,
        conditions.air,
        drag_index=balance.drag_index,
        headwind=conditions.wind.headwind_for_distance,
        slope=np.arctan(conditions.runway.slope),
        runway_condition_reading=conditions.runway_condition_reading,
        standing_water=conditions.standing_water,
    )


STANDARD_SURFACES = (("dry", 23.0), ("wet", 12.0), ("icy", 5.0))


def _landing(
    sortie: Sortie, pack: Pack, conditions: Conditions, loads: LoadNumbers
) -> tuple[tuple[LandingRow, ...], ClimbGradient | None, ClimbGradient | None, float]:
    """Return every landing case from as few batches as can be, and the one-engine go-around."""
    has_chute = pack.wheels.chute is not None
    planned = landing_chute(sortie, pack, conditions)
    today = conditions.runway_condition_reading
    wanted: list[tuple[str, str, float, bool, str]] = []
    for chute in [True, False] if has_chute else [False]:
        suffix, words = ("_chute", ", chute") if chute else ("", ", no chute" if has_chute else "")
        wanted.append((f"today{suffix}", f"Today{words}", today, chute, "normal"))
        wanted += [
            (f"{n}{suffix}", f"{n.capitalize()}{words}", r, chute, "normal") for n, r in STANDARD_SURFACES
        ]
    no_flap = pack.technique.landing.no_flap_configuration
    if no_flap is not None:
        wanted.append(("no_flap", "No flap, today", today, planned, "no_flap"))
    wanted.append(("immediate_return", "Return at takeoff weight, today", today, planned, "heavy"))
    problem = "; ".join(conditions.missing)
    if problem:
        rows = tuple(LandingRow(n, t, r, c, None, 0, problem) for n, t, r, c, _ in wanted)
        return rows, None, None, float("nan")
    rows = _landing_rows(sortie, pack, conditions, loads, wanted)
    down = up = None
    tas = float("nan")
    first = next((row.result for row in rows if row.result is not None), None)
    if pack.engine.count > 1 and first is not None:
        cases = _cases(conditions, loads.landing_balance)
        power = pack.technique.takeoff.engine_out_power or pack.technique.takeoff.power
        name = sortie.landing.configuration or pack.technique.landing.configuration
        configuration = pack.aero.configurations[name]
        speed = np.asarray(tas_from_cas(first.approach_cas[:1], cases.air))
        tas = float(speed[0])
        try:
            down = climb_gradient(pack, cases, configuration, speed, power, failed_engines=1, gear=1.0)
            up = climb_gradient(pack, cases, configuration, speed, power, failed_engines=1, gear=0.0)
        except OutsideTable:
            pass
    return rows, down, up, tas


def _landing_rows(
    sortie: Sortie,
    pack: Pack,
    conditions: Conditions,
    loads: LoadNumbers,
    wanted: list[tuple[str, str, float, bool, str]],
) -> tuple[LandingRow, ...]:
    technique = pack.technique.landing
    gust = _gust(conditions)
    groups: dict[tuple[bool, str], list[int]] = {}
    for index, (_, _, _, chute, kind) in enumerate(wanted):
        groups.setdefault((chute, kind), []).append(index)
    results: dict[int, tuple[Landing | None, int, str]] = {}
    for (chute, kind), members in groups.items():
        balance = loads.takeoff_balance if kind == "heavy" else loads.landing_balance
        configuration = technique.no_flap_configuration if kind == "no_flap" else sortie.landing.configuration
        alpha = None if kind == "no_flap" else sortie.landing.on_speed_angle_of_attack
        readings = np.array([wanted[index][2] for index in members])
        cases = (
            _cases(conditions, balance)
            .repeated(len(members))
            .with_reading(readings, conditions.standing_water)
        )
        try:
            result = land(
                pack,
                cases,
                configuration=configuration,
                angle_of_attack=alpha,
                gust_increment=gust,
                chute=chute,
            )
        except OutsideTable as error:
            for index in members:
                results[index] = (None, 0, str(error))
            continue
        for row, index in enumerate(members):
            results[index] = (result, row, "")
    return tuple(
        LandingRow(name, title, reading, chute, *results[index])
        for index, (name, title, reading, chute, _) in enumerate(wanted)
    )


def _landing_widths(
    sortie: Sortie, pack: Pack, conditions: Conditions, loads: LoadNumbers
) -> dict[str, float | None]:
    """Return the uncertainty of today's landing."""
    if conditions.missing:
        return {}
    cases = with_errors(_cases(conditions, loads.landing_balance))
    try:
        landing = land(
            pack,
            cases,
            configuration=sortie.landing.configuration,
            angle_of_attack=sortie.landing.on_speed_angle_of_attack,
            gust_increment=_gust(conditions),
            chute=landing_chute(sortie, pack, conditions),
        )
    except OutsideTable:
        return {}
    return {"landing_distance": half_width(landing.total), "approach_cas": half_width(landing.approach_cas)}


def _gust(conditions: Conditions) -> float:
    """Return how far the gust is over the mean wind, m/s."""
    wind = conditions.weather.wind
    return 0.0 if wind is None else 2.0 * float(approach_gust_increment(wind))


Record = TypeVar("Record", Takeoff, Curves, FieldLengths)


def rows_of(record: Record, rows: NDArray[np.intp]) -> Record:
    """Return these rows of a record of arrays, nested records included."""
    parts: dict[str, Any] = {}
    for field in fields(record):
        value: Any = getattr(record, field.name)
        parts[field.name] = rows_of(value, rows) if isinstance(value, Curves) else value[rows]
    return type(record)(**parts)
