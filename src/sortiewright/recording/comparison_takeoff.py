"""A takeoff as flown against the takeoff as planned, for the same load and weather."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_tas, tas_from_cas
from sortiewright.pack import InputError, LoadedPack, OutsideTable, Problem
from sortiewright.performance import (
    RunState,
    Takeoff,
    TakeoffSetup,
    accelerate_to,
    fly_takeoff,
    fuel_flow_per_engine,
    release,
    takeoff_setup,
)
from sortiewright.recording.causes import Split
from sortiewright.recording.comparison_air import in_recorded_air
from sortiewright.recording.comparison_causes import TIMING, splits_of
from sortiewright.recording.comparison_conditions import (
    Difference,
    Met,
    Planned,
    Tolerances,
    differences_of,
    require_same,
)
from sortiewright.recording.comparison_flown import FlownTakeoff, flown_takeoff
from sortiewright.recording.comparison_values import (
    Compared,
    SpeedOverDistance,
    common_grid,
    finite,
    first_finite,
    on_grid,
    quantity_said,
    speed_said,
    value_named,
)
from sortiewright.recording.moments import Flight
from sortiewright.recording.recording import Recording
from sortiewright.sortie import Kind, LoadedSortie, Numbers, System, compute

Floats = NDArray[np.float64]

OTHER_AIRCRAFT = 0.35  # share of the planned weight beyond which it can hardly be the same
RUN_POINTS = 40  # of the planned run to rotation
LATER = 0.05  # m/s: a nose that rises so much later than briefed is late, as in the plan


@dataclass(frozen=True)
class TakeoffComparison:
    """A takeoff against its plan."""

    released_at: float
    """s on the recording's clock."""
    curves: SpeedOverDistance
    compared: tuple[Compared, ...]
    splits: tuple[Split, ...]
    """Ground run and, where it was flown, distance to 50 ft: what made the difference."""
    differences: tuple[Difference, ...]
    """Where it was compared although it was another flight than planned."""
    remarks: tuple[str, ...]
    flown: FlownTakeoff

    def value(self, name: str) -> Compared:
        """Return a compared value by name, or raise ``KeyError``."""
        return value_named(self.compared, name)


def planned_takeoff(numbers: Numbers, name: str) -> tuple[TakeoffSetup, Takeoff]:
    """Return setup and takeoff of the plan; ``InputError`` where the plan has none."""
    if numbers.takeoff is None:
        hint = "See: sortiewright plan"
        expected = f"the sortie's takeoff cannot be computed: {numbers.takeoff_problem}"
        raise InputError([Problem(name, None, "", "", expected, hint)])
    return numbers.takeoff.setup, numbers.takeoff.takeoff


def compare_takeoff(
    recording: Recording,
    flight: Flight,
    sortie: LoadedSortie,
    *,
    number: int = 0,
    recorded_pack: LoadedPack | None = None,
    anyway: bool = False,
    tolerances: Tolerances | None = None,
    numbers: Numbers | None = None,
    units: System = "trade",
) -> TakeoffComparison:
    """Return a takeoff of a flight (the first where ``number`` is 0) held against the sortie's plan.

    Where the recorded air is not the sortie's, the plan is made with it and a remark says so. A takeoff that
    began rolling is held against a run from the same ground speed. ``numbers`` are those of the sortie, where
    they are at hand; texts are in ``units``. Raises ``InputError`` where there is no whole takeoff, or where
    pack, runway, wind or weight are not those of the sortie, each named; ``anyway`` compares all the same and
    keeps them in ``differences``. ``recorded_pack`` is the pack flown, where the caller knows it.
    """
    limits = tolerances or Tolerances()
    own = compute(sortie.sortie, sortie.pack.pack) if numbers is None else numbers
    flown = flown_takeoff(recording, flight, planned_takeoff(own, sortie.path.name)[0], number=number)
    air = in_recorded_air(
        recording, sortie, own, takeoff_at=flown.released_at, tolerances=limits, units=units
    )
    setup, takeoff = planned_takeoff(air.numbers, sortie.path.name)
    remarks = [*air.said]
    if flown.start_speed > 0.0:
        remarks.append(_rolling_said(flown, takeoff, units))
        setup = from_rolling(setup, flown.start_speed)
        takeoff = fly_takeoff(setup)
        flown = flown_takeoff(recording, flight, setup, number=number)
    differences = differences_of(
        recording,
        _met(flown),
        planned_conditions(air.numbers, setup),
        sortie.pack,
        recorded_pack,
        mass_share=limits.mass,
        tolerances=limits,
        units=units,
    )
    if not anyway:
        require_same(recording, differences)
    remarks += [*flown.notes, *_nose_said(setup, takeoff, units)]
    if any(e.name == "engine_failed" and e.time < flown.released_at + flown.lift_off for e in flight.events):
        remarks.append("An engine failed before lift-off: the plan it is held against has all engines")
    curves = speed_over_distance(setup, takeoff, flown)
    try:
        splits = splits_of(flown, setup, takeoff, remarks, units)
    except OutsideTable as error:
        splits = ()
        remarks.append(f"The difference is not split into causes: {error}")
    return TakeoffComparison(
        flown.released_at,
        curves,
        _compared(flown, setup, takeoff, curves),
        splits,
        differences,
        tuple(remarks),
        flown,
    )


def from_rolling(setup: TakeoffSetup, speed: float) -> TakeoffSetup:
    """Return the planned takeoff begun at a ground speed, m/s, with power coming up from idle."""
    technique = setup.technique.model_copy(update={"release_power": None})
    return takeoff_setup(
        setup.pack,
        setup.cases,
        technique,
        rotation_cas=setup.planned_rotation_cas,
        pitch_rate=setup.attitude.pitch_rate,
        takeoff_attitude=setup.attitude.target,
        start_speed=speed,
    )


def _rolling_said(flown: FlownTakeoff, standing: Takeoff, units: System) -> str:
    run = quantity_said(float(standing.ground_run[0]), Kind.RUNWAY_DISTANCE, units)
    return (
        f"A rolling takeoff: it is held against a run from {speed_said(flown.start_speed, units)} over the "
        f"ground, where the levers went forward, with power coming up from idle; "
        f"the sortie's own ground run, from a stand, is {run}"
    )


def _nose_said(setup: TakeoffSetup, takeoff: Takeoff, units: System) -> Iterator[str]:
    """Yield that rotation must wait for the nosewheel, where it must."""
    briefed, nose = float(setup.planned_rotation_cas[0]), float(takeoff.nosewheel_lift_off_cas[0])
    if np.isfinite(nose) and nose > briefed + LATER:
        yield (
            f"Rotation is briefed at {speed_said(briefed, units)}, but full aft stick raises the nose only "
            f"at {speed_said(nose, units)}: the planned run waits for it"
        )


def require_same_aircraft(
    recording: Recording, flown: FlownTakeoff, sortie: LoadedSortie, numbers: Numbers
) -> None:
    """Raise ``InputError`` where a takeoff to calibrate with was of another aircraft, or on another runway.

    Weight and weather may differ, as they are taken from the recording; slope and balance are the sortie's.
    """
    setup, _ = planned_takeoff(numbers, sortie.path.name)
    any_weather = Tolerances(temperature=np.inf, pressure=np.inf, headwind=np.inf)
    differences = differences_of(
        recording,
        _met(flown),
        planned_conditions(numbers, setup),
        sortie.pack,
        None,
        mass_share=OTHER_AIRCRAFT,
        tolerances=any_weather,
    )
    require_same(recording, differences, "Calibrate with a sortie that says what was flown")


def _met(flown: FlownTakeoff) -> Met:
    return Met(
        flown.released_at, flown.mass, flown.temperature, flown.pressure, flown.headwind, flown.heading_deg
    )


def planned_conditions(numbers: Numbers, setup: TakeoffSetup) -> Planned:
    """Return what the plan says of the takeoff's moment."""
    place, cases = numbers.conditions, setup.cases
    return Planned(
        float(cases.mass[0]),
        float(cases.temperature[0]),
        float(cases.pressure[0]),
        float(cases.headwind[0]),
        place.runway.designator,
        place.runway.true_heading_deg,
        place.runway.elevation,
        place.aerodrome.latitude_deg,
        place.aerodrome.longitude_deg,
    )


def speed_over_distance(setup: TakeoffSetup, takeoff: Takeoff, flown: FlownTakeoff) -> SpeedOverDistance:
    """Return both runs on one grid of distance.

    The planned run is computed to rotation; from there to lift-off and to the screen the square of the speed
    is taken as a straight line over distance, as it is at constant acceleration.
    """
    x, v = _planned_run(setup, takeoff)
    grid = common_grid(x, flown.distance)
    wind = float(setup.cases.headwind[0])
    planned = on_grid(grid, x, v)
    inside = grid <= flown.distance[-1]
    actual = np.where(inside, np.interp(grid, flown.distance, flown.ground_speed), np.nan)
    airspeed = np.where(inside, np.interp(grid, flown.distance, flown.calibrated_airspeed), np.nan)
    # The wind of the run is at the wheels; a tailwind faster than the aircraft is no airspeed.
    planned_tas = np.maximum(planned + wind, 0.0)
    cas = np.asarray(cas_from_tas(np.nan_to_num(planned_tas), setup.cases.air))
    return SpeedOverDistance(grid, np.where(np.isnan(planned), np.nan, cas), airspeed, planned, actual)


def _planned_run(setup: TakeoffSetup, takeoff: Takeoff) -> tuple[Floats, Floats]:
    """Return distance and ground speed of the planned run from release to the screen."""
    rotation = float(setup.rotation_speed[0])
    speeds, run = run_to_speeds(setup, rotation)
    screen = np.asarray(tas_from_cas(np.nan_to_num(takeoff.screen_cas), setup.cases.air))
    ground = screen * np.cos(np.nan_to_num(takeoff.screen_climb_angle)) - setup.cases.headwind
    x = np.concatenate([run.distance, takeoff.ground_run, takeoff.distance_to_screen])
    v = np.concatenate([speeds, takeoff.lift_off_ground_speed, ground])
    good = np.isfinite(x) & np.isfinite(v)
    return x[good], v[good]


def run_to_speeds(setup: TakeoffSetup, last: float) -> tuple[Floats, RunState]:
    """Return ground speeds from the start of the planned run to ``last`` m/s, and the run to each, (k,)."""
    speeds = np.linspace(float(setup.start_speed[0]), max(last, float(setup.start_speed[0])), RUN_POINTS)
    rows = setup.take(np.zeros(len(speeds), dtype=np.intp))
    return speeds, accelerate_to(rows, release(rows), speeds)


def _compared(
    flown: FlownTakeoff, setup: TakeoffSetup, takeoff: Takeoff, curves: SpeedOverDistance
) -> tuple[Compared, ...]:
    marker = setup.technique.line_speed_marker
    reached = marker <= flown.distance[-1]
    line = float(np.interp(marker, flown.distance, flown.calibrated_airspeed)) if reached else None
    nose, pull, ramp = flown.nosewheel_off, flown.rotation_begins, flown.ramp
    lift_off_speed = flown.airspeed_at(flown.lift_off)
    screen = flown.screen
    timing = TIMING * flown.ground_speed_at(flown.lift_off)
    burnt = None
    if flown.fuel_at_release is not None and flown.fuel_at_lift_off is not None:
        burnt = flown.fuel_at_release - flown.fuel_at_lift_off
    rows = [
        Compared("line_speed", "Line speed", "cas", _at(curves, marker), finite(line), basis="at the marker"),
        Compared(
            "rotation_speed",
            "Speed at the start of rotation",
            "cas",
            float(setup.planned_rotation_cas[0]),
            None if pull is None else flown.airspeed_at(pull),
            basis="planned: as briefed",
        ),
        Compared(
            "nosewheel_lift_off_speed",
            "Nosewheel lift-off speed",
            "cas",
            first_finite(takeoff.nosewheel_lift_off_cas),
            None if nose is None else flown.airspeed_at(nose),
            basis="planned: where full aft stick raises the nose",
        ),
        Compared(
            "pitch_rate",
            "Pitch rate in the rotation, a second",
            "angle",
            float(setup.attitude.pitch_rate[0]),
            None if ramp is None else ramp.rate,
            None if ramp is None else finite(ramp.rate_sigma),
            "line through the pitch from a fifth of the way to lift-off",
        ),
        Compared(
            "lift_off_speed", "Lift-off speed", "cas", first_finite(takeoff.lift_off_cas), lift_off_speed
        ),
        Compared(
            "lift_off_pitch",
            "Pitch at lift-off",
            "angle",
            first_finite(takeoff.lift_off_pitch),
            flown.lift_off_pitch,
        ),
        Compared(
            "ground_run",
            "Ground run",
            "runway_distance",
            first_finite(takeoff.ground_run),
            flown.distance_at(flown.lift_off),
            timing,
            "ground speed over time, from brake release to the last weight on a main wheel",
        ),
        Compared(
            "time_to_lift_off",
            "Time to lift-off",
            "time",
            first_finite(takeoff.lift_off_time),
            flown.lift_off,
            TIMING,
        ),
        Compared(
            "distance_to_screen",
            "Distance to 50 ft",
            "runway_distance",
            first_finite(takeoff.distance_to_screen),
            None if screen is None else flown.distance_at(screen),
            timing,
        ),
        Compared(
            "time_to_screen", "Time to 50 ft", "time", first_finite(takeoff.time_to_screen), screen, TIMING
        ),
        Compared("fuel_to_lift_off", "Fuel burnt to lift-off", "mass", _planned_fuel(setup, takeoff), burnt),
    ]
    return tuple(rows)


def _planned_fuel(setup: TakeoffSetup, takeoff: Takeoff) -> float | None:
    """Return the fuel from release to lift-off, kg: the flow of each setting, weighed as its thrust is."""
    end = float(takeoff.lift_off_time[0])
    if not np.isfinite(end):
        return None
    time = np.linspace(0.0, end, 61)
    x, v = _planned_run(setup, takeoff)
    step = np.diff(x) / np.maximum(0.5 * (v[1:] + v[:-1]), 1e-3)
    speed = np.interp(time, np.concatenate([[0.0], np.cumsum(step)]), v)
    cases, engine = setup.cases, setup.pack.engine
    mach = np.maximum(speed + float(cases.headwind[0]), 0.0) / float(cases.speed_of_sound[0])
    spooled = setup.take(np.zeros(len(time), dtype=np.intp)).power
    flow = np.zeros_like(time)
    for name, weight in spooled.all_engines(time).items():
        each = fuel_flow_per_engine(
            engine.settings[name], mach, float(cases.pressure_altitude[0]), float(cases.isa_deviation[0])
        )
        flow = flow + weight * each
    return float(np.sum(0.5 * (flow[1:] + flow[:-1]) * np.diff(time)))


def _at(curves: SpeedOverDistance, distance: float) -> float | None:
    return finite(float(np.interp(distance, curves.distance, curves.planned_cas)))
