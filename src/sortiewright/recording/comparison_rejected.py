"""A rejected takeoff as flown against the plan's stop from the speed at which the levers closed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_tas
from sortiewright.pack import InputError, LoadedPack, OutsideTable, Problem
from sortiewright.performance import (
    RunState,
    Stop,
    StopMeans,
    StopPath,
    TakeoffSetup,
    accelerate_to,
    release,
    stop_from,
    stop_means,
    stop_path,
)
from sortiewright.recording.causes import Split
from sortiewright.recording.comparison_air import in_recorded_air
from sortiewright.recording.comparison_conditions import (
    Difference,
    Tolerances,
    differences_of,
    require_same,
)
from sortiewright.recording.comparison_energy import Roll, brake_energy
from sortiewright.recording.comparison_rejected_causes import DeviceChange, run_split, stop_split
from sortiewright.recording.comparison_rejected_flown import FlownReject, flown_reject
from sortiewright.recording.comparison_takeoff import (
    from_rolling,
    planned_conditions,
    planned_takeoff,
    run_to_speeds,
)
from sortiewright.recording.comparison_values import (
    Compared,
    RunMark,
    SpeedOverDistance,
    common_grid,
    finite,
    on_grid,
    speed_said,
    value_named,
)
from sortiewright.recording.moments import Flight
from sortiewright.recording.recording import Recording
from sortiewright.sortie import LoadedSortie, Numbers, System, compute, stop_chute

Floats = NDArray[np.float64]

SAME_TIME = 0.05  # s: brakes or chute this near to their planned time are on time


@dataclass(frozen=True)
class RejectedComparison:
    """A rejected takeoff against its plan."""

    released_at: float
    closed_at: float
    """Both s on the recording's clock."""
    curves: SpeedOverDistance
    """From brake release; the planned run is that to the speed at which the levers closed."""
    marks: tuple[RunMark, ...]
    compared: tuple[Compared, ...]
    splits: tuple[Split, ...]
    """The run to where the levers closed and, where it ended in a stop, the stop from there."""
    differences: tuple[Difference, ...]
    remarks: tuple[str, ...]
    flown: FlownReject

    def value(self, name: str) -> Compared:
        """Return a compared value by name, or raise ``KeyError``."""
        return value_named(self.compared, name)


@dataclass(frozen=True)
class PlannedStop:
    """The plan's run to a ground speed at which the levers close, and its stop from there."""

    setup: TakeoffSetup
    at_closed: RunState
    means: StopMeans
    """Times in s after the levers closed."""
    stop: Stop
    path: StopPath


def compare_rejected(
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
) -> RejectedComparison:
    """Return a rejected takeoff of a flight (the first where ``number`` is 0) held against the sortie's plan.

    The plan is its accelerate-stop with the levers closing at the ground speed at which they did: what
    brought the crew to reject, and how fast they saw it, is not judged. ``numbers``, ``anyway`` and
    ``InputError`` as ``compare_takeoff``.
    """
    limits = tolerances or Tolerances()
    own = compute(sortie.sortie, sortie.pack.pack) if numbers is None else numbers
    flown = flown_reject(recording, flight, planned_takeoff(own, sortie.path.name)[0], number=number)
    air = in_recorded_air(
        recording, sortie, own, takeoff_at=flown.released_at, tolerances=limits, units=units
    )
    setup, _ = planned_takeoff(air.numbers, sortie.path.name)
    remarks = [*air.said]
    if flown.start_speed > 0.0:
        remarks.append(
            f"It began rolling: it is held against a run from {speed_said(flown.start_speed, units)} over "
            "the ground, where the levers went forward, with power coming up from idle"
        )
        setup = from_rolling(setup, flown.start_speed)
    differences = differences_of(
        recording,
        flown.met,
        planned_conditions(air.numbers, setup),
        sortie.pack,
        recorded_pack,
        mass_share=limits.mass,
        tolerances=limits,
        units=units,
    )
    if not anyway:
        require_same(recording, differences)
    remarks += flown.notes
    chute = stop_chute(sortie.sortie, sortie.pack.pack, air.numbers.conditions)
    planned = planned_stop(setup, flown.ground_speed_at(flown.closed), chute=chute)
    if not np.isfinite(planned.at_closed.distance[0]):
        expected = "the rejected takeoff cannot be compared: the plan never reaches the speed flown"
        raise InputError([Problem(recording.name, None, "", "", expected)])
    remarks += _stop_said(flown, planned, recording, units)
    energy = _energy(recording, flown, planned, remarks)
    compared = _compared(flown, planned, energy)
    curves, marks = _pictured(flown, planned)
    splits = tuple(_splits(flown, planned, recording, compared, remarks, units))
    return RejectedComparison(
        flown.released_at,
        flown.released_at + flown.closed,
        curves,
        marks,
        compared,
        splits,
        differences,
        tuple(remarks),
        flown,
    )


def planned_stop(setup: TakeoffSetup, speed: float, *, chute: bool) -> PlannedStop:
    """Return the plan's accelerate-stop of one case with the levers closing at a ground speed, m/s.

    The plan counts brakes and chute from the event, and the levers close once it is recognised: counted from
    there, they come sooner by that time.
    """
    at_closed = accelerate_to(setup, release(setup), np.array([speed]))
    recognition = setup.technique.rejected.recognition
    by_event = stop_means(setup, chute=chute)
    commanded = by_event.chute_commanded
    has_chute = commanded is not None and setup.pack.wheels.chute is not None
    means = replace(
        by_event,
        brakes_on=max(by_event.brakes_on - recognition, 0.0),
        chute_commanded=max(commanded - recognition, 0.0) if has_chute and commanded is not None else None,
    )
    stop = stop_from(setup.pack, setup.cases, setup.power, at_closed, means)
    path = stop_path(setup.pack, setup.cases, setup.power, at_closed, means)
    return PlannedStop(setup, at_closed, means, stop, path)


def _stop_said(
    flown: FlownReject, planned: PlannedStop, recording: Recording, units: System
) -> Iterator[str]:
    power = planned.setup.power
    if flown.augmented is not None and flown.augmented != power.augmented:
        how = "with a burner lit" if flown.augmented else "without a burner lit"
        yield f"The run was made {how}; the sortie plans {power.takeoff}"
    if not flown.stopped:
        slow = speed_said(flown.ground_speed_at(flown.ends), units)
        yield f"The aircraft did not stop on the runway: stops are compared down to {slow}"
    if flown.brakes_on is None:
        yield "When the brakes came on is not told: brakes are not recorded, or were not used"
    if planned.means.chute_commanded is not None and not recording.has("drag_chute"):
        yield "The plan stops with the drag chute; whether it was used is not recorded"


def _energy(
    recording: Recording, flown: FlownReject, planned: PlannedStop, remarks: list[str]
) -> float | None:
    """Return what the brakes took in the stop, J; None where it is not told."""
    setup, rows = planned.setup, flown.time >= flown.closed
    closed_at = flown.released_at + flown.closed
    before = setup.power.taking_off(np.array([flown.closed]))
    chute = setup.pack.wheels.chute
    opens = np.inf
    if flown.chute_out is not None and chute is not None:
        opens = flown.released_at + flown.chute_out + chute.inflation_time
    roll = Roll(
        flown.time[rows] + flown.released_at,
        flown.ground_speed[rows],
        flown.met,
        setup.configuration,
        opens,
        lambda time: setup.power.closing(before, time - closed_at, float(setup.pack.engine.count)),
    )
    try:
        on = None if flown.brakes_on is None else flown.released_at + flown.brakes_on
        return brake_energy(recording, roll, setup.pack, on)
    except OutsideTable as error:
        remarks.append(f"Brake energy is not told: {error}")
        return None


def _planned_end(flown: FlownReject, planned: PlannedStop) -> tuple[float, float, float | None]:
    """Return distance and time of the planned stop from release, and its brake energy.

    Down to the speed at which the flown one ended, where that is no stop.
    """
    if flown.stopped:
        stop = planned.stop
        return float(stop.distance[0]), float(stop.time[0]), float(stop.energy[0])
    last, path = flown.ground_speed_at(flown.ends), planned.path
    time = float(np.interp(-last, -path.speed, path.time))
    return path.at(time)[0], float(planned.at_closed.time[0]) + time, None


def _compared(flown: FlownReject, planned: PlannedStop, energy: float | None) -> tuple[Compared, ...]:
    run, closed = planned.at_closed, flown.closed
    distance, time, planned_energy = _planned_end(flown, planned)
    closing_tas = flown.ground_speed_at(closed) + planned.setup.cases.headwind
    closing_cas = float(np.asarray(cas_from_tas(closing_tas, planned.setup.cases.air))[0])
    wanted = planned.means
    after = [None if one is None else one - closed for one in (flown.brakes_on, flown.chute_out)]
    rows = [
        Compared(
            "levers_closed_speed",
            "Speed when the levers closed",
            "cas",
            closing_cas,
            flown.airspeed_at(closed),
            basis="planned: the same speed over the ground in the planned wind",
        ),
        Compared(
            "run_to_levers_closed",
            "Brake release to levers closed",
            "runway_distance",
            finite(float(run.distance[0])),
            flown.distance_at(closed),
        ),
        Compared(
            "time_to_levers_closed",
            "Time to levers closed",
            "time",
            finite(float(run.time[0])),
            closed,
        ),
        Compared("brakes_delay", "Levers closed to brakes on", "time", wanted.brakes_on, after[0], SAME_TIME),
        Compared(
            "stop_distance",
            "Levers closed to the stop",
            "runway_distance",
            finite(distance - float(run.distance[0])),
            flown.distance_at(flown.ends) - flown.distance_at(closed),
        ),
        Compared(
            "stop_time",
            "Time from levers closed to the stop",
            "time",
            finite(time - float(run.time[0])),
            flown.ends - closed,
        ),
        Compared(
            "accelerate_stop_distance",
            "Brake release to the stop",
            "runway_distance",
            finite(distance),
            flown.distance_at(flown.ends),
        ),
        Compared(
            "brake_energy",
            "Brake energy",
            "energy",
            finite(planned_energy),
            energy,
            basis="kinetic energy lost while braking, less the work of drag, chute, rolling and thrust left",
        ),
    ]
    if wanted.chute_commanded is not None or after[1] is not None:
        chute = Compared(
            "chute_delay", "Levers closed to chute", "time", wanted.chute_commanded, after[1], SAME_TIME
        )
        rows.insert(4, chute)
    return tuple(rows)


def _splits(
    flown: FlownReject,
    planned: PlannedStop,
    recording: Recording,
    compared: tuple[Compared, ...],
    remarks: list[str],
    units: System,
) -> Iterator[Split]:
    speed = float(planned.at_closed.speed[0])
    try:
        yield run_split(flown, planned.setup, speed, float(planned.at_closed.distance[0]), remarks, units)
        stop = value_named(compared, "stop_distance").planned
        if flown.stopped and stop is not None:
            devices = list(_devices(flown, planned, recording))
            yield stop_split(flown, planned.setup, planned.at_closed, planned.means, devices, stop)
    except OutsideTable as error:
        remarks.append(f"The difference is not split into causes: {error}")


def _devices(flown: FlownReject, planned: PlannedStop, recording: Recording) -> Iterator[DeviceChange]:
    """Yield brakes and chute as flown, where it is recorded what they did."""
    wanted = planned.means
    if flown.brakes_on is not None:
        flown_on = max(flown.brakes_on - flown.closed, 0.0)
        title = "Late brakes" if flown_on >= wanted.brakes_on else "Early brakes"
        yield DeviceChange("brakes", title, replace(wanted, brakes_on=flown_on), "brakes_on")
    if not recording.has("drag_chute") or planned.setup.pack.wheels.chute is None:
        return
    out = None if flown.chute_out is None else max(flown.chute_out - flown.closed, 0.0)
    if out is None and wanted.chute_commanded is None:
        return
    title = "Chute not used" if out is None else "Chute, not planned"
    if out is not None and wanted.chute_commanded is not None:
        title = "Late chute" if out >= wanted.chute_commanded else "Early chute"
    yield DeviceChange("chute", title, replace(wanted, chute_commanded=out), "chute_commanded")


def _pictured(flown: FlownReject, planned: PlannedStop) -> tuple[SpeedOverDistance, tuple[RunMark, ...]]:
    """Return both runs from brake release to the stop, and the moments on them."""
    setup, path = planned.setup, planned.path
    speeds, run = run_to_speeds(setup, float(planned.at_closed.speed[0]))
    x = np.concatenate([run.distance, path.distance[1:]])
    v = np.concatenate([speeds, path.speed[1:]])
    grid = common_grid(x, flown.distance)
    ground = on_grid(grid, x, v)
    actual = on_grid(grid, flown.distance, flown.ground_speed)
    inside = np.isfinite(actual)
    airspeed = np.where(inside, np.interp(grid, flown.distance, flown.calibrated_airspeed), np.nan)
    tas = np.maximum(np.nan_to_num(ground) + float(setup.cases.headwind[0]), 0.0)
    cas = np.where(np.isnan(ground), np.nan, np.asarray(cas_from_tas(tas, setup.cases.air)))
    curves = SpeedOverDistance(grid, cas, airspeed, ground, actual)
    return curves, tuple(_marks(flown, path))


def _marks(flown: FlownReject, path: StopPath) -> Iterator[RunMark]:
    last = float(path.time[-1])
    for name, title, time in (
        ("levers_closed", "levers closed", 0.0),
        ("brakes_on", "brakes on", path.brakes_on),
        ("chute", "chute", path.chute_out),
        ("stop", "stop", last if path.speed[-1] <= 0.0 else np.nan),
    ):
        if np.isfinite(time) and time <= last:
            yield RunMark(name, title, "planned", *path.at(time))
    for name, title, time in (
        ("levers_closed", "levers closed", flown.closed),
        ("brakes_on", "brakes on", flown.brakes_on),
        ("chute", "chute", flown.chute_out),
        ("stop", "stop", flown.ends if flown.stopped else None),
    ):
        if time is not None:
            yield RunMark(name, title, "flown", flown.distance_at(time), flown.ground_speed_at(time))
