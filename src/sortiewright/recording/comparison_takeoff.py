"""A takeoff as flown against the takeoff as planned, for the same load and weather."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_tas, tas_from_cas
from sortiewright.pack import InputError, LoadedPack, OutsideTable, Problem
from sortiewright.performance import RunState, Takeoff, TakeoffSetup, accelerate_to, fuel_flow_per_engine
from sortiewright.recording.causes import Split
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
from sortiewright.recording.moments import Flight
from sortiewright.recording.recording import Recording
from sortiewright.sortie import LoadedSortie, Numbers, compute

Floats = NDArray[np.float64]

GRID = 121  # points of the curves
OTHER_AIRCRAFT = 0.35  # share of the planned weight beyond which it can hardly be the same
RUN_POINTS = 40  # of the planned run to rotation


@dataclass(frozen=True, slots=True)
class Compared:
    """One value, planned and as flown, SI; None where it is not told."""

    name: str
    title: str
    kind: str
    """The kind of quantity by which it is shown."""
    planned: float | None
    flown: float | None
    sigma: float | None = None
    """One standard deviation of the flown value, where it is known."""
    basis: str = ""

    @property
    def difference(self) -> float | None:
        """Return by how much the flown value is larger."""
        return None if self.planned is None or self.flown is None else self.flown - self.planned


@dataclass(frozen=True)
class SpeedOverDistance:
    """Both runs on one grid: ``distance`` m from brake release, speeds m/s; NaN where a run has ended."""

    distance: Floats
    planned_cas: Floats
    flown_cas: Floats
    planned_ground_speed: Floats
    flown_ground_speed: Floats


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
        for one in self.compared:
            if one.name == name:
                return one
        raise KeyError(name)


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
) -> TakeoffComparison:
    """Return a takeoff of a flight (the first where ``number`` is 0) held against the sortie's plan.

    Raises ``InputError`` where there is no whole takeoff, or where pack, runway, weather or weight are not
    those of the sortie, each named; ``anyway`` compares all the same and keeps them in ``differences``.
    ``recorded_pack`` is the pack flown, where the caller knows it.
    """
    numbers = compute(sortie.sortie, sortie.pack.pack)
    setup, takeoff = planned_takeoff(numbers, sortie.path.name)
    flown = flown_takeoff(recording, flight, setup, number=number)
    differences = differences_of(
        recording,
        _met(flown),
        _planned_conditions(numbers, setup),
        sortie.pack,
        recorded_pack,
        mass_share=(tolerances or Tolerances()).mass,
        tolerances=tolerances or Tolerances(),
    )
    if not anyway:
        require_same(recording, differences)
    remarks = list(flown.notes)
    if any(e.name == "engine_failed" and e.time < flown.released_at + flown.lift_off for e in flight.events):
        remarks.append("An engine failed before lift-off: the plan it is held against has all engines")
    curves = speed_over_distance(setup, takeoff, flown)
    try:
        splits = splits_of(flown, setup, takeoff, remarks)
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
        _planned_conditions(numbers, setup),
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


def _planned_conditions(numbers: Numbers, setup: TakeoffSetup) -> Planned:
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
    end = max(float(x[-1]), float(flown.distance[-1]))
    grid = np.linspace(0.0, end, GRID)
    wind = float(setup.cases.headwind[0])
    planned = np.where(grid <= x[-1], np.sqrt(np.interp(grid, x, v**2)), np.nan)
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
    speeds = np.linspace(0.0, rotation, RUN_POINTS)
    rows = setup.take(np.zeros(len(speeds), dtype=np.intp))
    zero = np.zeros(len(speeds))
    run = accelerate_to(rows, RunState(zero, zero, rows.start_speed), speeds)
    screen = np.asarray(tas_from_cas(np.nan_to_num(takeoff.screen_cas), setup.cases.air))
    ground = screen * np.cos(np.nan_to_num(takeoff.screen_climb_angle)) - setup.cases.headwind
    x = np.concatenate([run.distance, takeoff.ground_run, takeoff.distance_to_screen])
    v = np.concatenate([speeds, takeoff.lift_off_ground_speed, ground])
    good = np.isfinite(x) & np.isfinite(v)
    return x[good], v[good]


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
        Compared(
            "line_speed", "Line speed", "cas", _at(curves, marker), _finite(line), basis="at the marker"
        ),
        Compared(
            "rotation_speed",
            "Rotation begun at",
            "cas",
            float(setup.planned_rotation_cas[0]),
            None if pull is None else flown.airspeed_at(pull),
        ),
        Compared(
            "nosewheel_lift_off_speed",
            "Nosewheel lift-off speed",
            "cas",
            _finite(float(takeoff.rotation_cas[0])),
            None if nose is None else flown.airspeed_at(nose),
            basis="planned: the later of rotation and the speed at which the tail can raise the nose",
        ),
        Compared(
            "pitch_rate",
            "Pitch rate in the rotation, a second",
            "angle",
            float(setup.attitude.pitch_rate[0]),
            None if ramp is None else ramp.rate,
            None if ramp is None else _finite(ramp.rate_sigma),
            "line through the pitch from a fifth of the way to lift-off",
        ),
        Compared("lift_off_speed", "Lift-off speed", "cas", _first(takeoff.lift_off_cas), lift_off_speed),
        Compared(
            "lift_off_pitch",
            "Pitch at lift-off",
            "angle",
            _first(takeoff.lift_off_pitch),
            flown.lift_off_pitch,
        ),
        Compared(
            "ground_run",
            "Ground run",
            "runway_distance",
            _first(takeoff.ground_run),
            flown.distance_at(flown.lift_off),
            timing,
            "ground speed over time, from brake release to the last weight on a main wheel",
        ),
        Compared(
            "time_to_lift_off",
            "Time to lift-off",
            "time",
            _first(takeoff.lift_off_time),
            flown.lift_off,
            TIMING,
        ),
        Compared(
            "distance_to_screen",
            "Distance to 50 ft",
            "runway_distance",
            _first(takeoff.distance_to_screen),
            None if screen is None else flown.distance_at(screen),
            timing,
        ),
        Compared("time_to_screen", "Time to 50 ft", "time", _first(takeoff.time_to_screen), screen, TIMING),
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
    return _finite(float(np.interp(distance, curves.distance, curves.planned_cas)))


def _first(values: Floats) -> float | None:
    return _finite(float(values[0]))


def _finite(value: float | None) -> float | None:
    return value if value is not None and np.isfinite(value) else None
