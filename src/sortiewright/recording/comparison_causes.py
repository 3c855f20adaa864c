"""What made a takeoff as flown differ from its plan: conditions met, technique, and the forces on the run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from sortiewright.pack import InputError, OutsideTable
from sortiewright.performance import RunState, Takeoff, TakeoffSetup, accelerate_to
from sortiewright.recording.calibration import most_told
from sortiewright.recording.calibration_fit import CannotTell, Fit
from sortiewright.recording.calibration_runs import RunModel, RunObservation, run_observation
from sortiewright.recording.causes import Cause, Change, Conditions, Split, fly, setup_in, split_by_cause
from sortiewright.recording.comparison_flown import FlownTakeoff, PitchRamp
from sortiewright.recording.comparison_values import speed_said
from sortiewright.sortie import System

TIMING = 0.05  # s to which an event is told: half a sample of a slow recording
ATTITUDE_READ = 0.005  # rad; common practice, no source
NOT_TOLD = "Thrust, drag and friction are not told by this run"


@dataclass(frozen=True)
class Forces:
    """The factors that one run alone tells, and why the others are not told."""

    fit: Fit
    untold: dict[str, str]


def splits_of(
    flown: FlownTakeoff,
    setup: TakeoffSetup,
    takeoff: Takeoff,
    remarks: list[str],
    units: System = "trade",
) -> tuple[Split, ...]:
    """Return what made ground run and distance to the screen longer or shorter than ``takeoff``, the plan.

    What the causes computed do not explain is the remainder, so that the parts add up to the difference.
    """
    forces = _forces(flown, setup, remarks)
    before, after, changes = _changes(flown, setup, forces)
    power = power_cause(flown, setup, after, units)
    measured = {
        "ground_run": flown.distance_at(flown.lift_off),
        "distance_to_screen": None if flown.screen is None else flown.distance_at(flown.screen),
    }
    splits: list[Split] = []
    for quantity, (causes, with_all) in split_by_cause(setup, before, after, changes).items():
        planned, actual = float(getattr(takeoff, quantity)[0]), measured[quantity]
        if actual is None or not np.isfinite(planned):
            continue
        every = causes if power is None else (*causes, power)
        rest = actual - with_all - (0.0 if power is None else power.effect)
        remark = f"{100.0 * abs(rest) / actual:.1f} % of the distance is left that none of these explains"
        untold = {} if forces is None else forces.untold
        splits.append(Split(quantity, actual - planned, every, rest, remark, untold))
    return tuple(splits)


def takeoff_as_flown(planned: TakeoffSetup, flown: FlownTakeoff) -> Takeoff:
    """Return what the pack computes for the weight, the weather and the rotation that were flown."""
    _, after, _ = _changes(flown, planned, None)
    return fly(planned, [after])


class Run(Protocol):
    """A run on the wheels as it was flown, to a lift-off or to where it was given up."""

    @property
    def settled(self) -> float: ...
    @property
    def run_ends(self) -> float: ...
    def distance_at(self, time: float) -> float: ...
    def ground_speed_at(self, time: float) -> float: ...


def _forces(flown: FlownTakeoff, setup: TakeoffSetup, remarks: list[str]) -> Forces | None:
    try:
        run = run_observation(flown, setup)
    except InputError as error:
        remarks.append(f"{NOT_TOLD}: {error}")
        return None
    return forces_told(run, setup, remarks)


def forces_told(run: RunObservation, setup: TakeoffSetup, remarks: list[str]) -> Forces | None:
    """Return the factors on thrust, drag and friction that a run tells; None where it tells none, and why."""
    try:
        return Forces(*most_told(RunModel(setup.pack, setup.technique, [run]), None, {}))
    except (InputError, CannotTell, OutsideTable) as error:
        remarks.append(f"{NOT_TOLD}: {error}")
        return None


def force_changes(forces: Forces) -> tuple[dict[str, float], list[Change]]:
    """Return the factors by name, and each as a cause."""
    names = forces.fit.names
    factors = dict(zip(names, (float(value) for value in forces.fit.values), strict=True))
    how = "least squares on the run, with the doubt in weight, wind and what was held"
    changes = [Change(name, _force_title(name, names), {name: forces.fit.sigma(name)}, how) for name in names]
    return factors, changes


def _changes(
    flown: FlownTakeoff, setup: TakeoffSetup, forces: Forces | None
) -> tuple[Conditions, Conditions, list[Change]]:
    """Return the conditions planned and flown, and the causes by which they differ."""
    case = setup.cases
    before = Conditions(
        float(case.mass[0]), float(case.headwind[0]), float(case.pressure[0]), float(case.temperature[0])
    )
    after, changes = _met(flown, before)
    if flown.ramp is not None:
        planned_tas = float(setup.rotation_speed[0] + case.headwind[0])
        after, more = _rotated(flown, flown.ramp, after, planned_tas)
        changes += more
    if flown.climb_pitch is not None:
        after = replace(after, attitude=flown.climb_pitch)
        how = f"a pitch read to {np.degrees(ATTITUDE_READ):.1f}°"
        changes.append(Change("attitude", "Attitude after lift-off", {"attitude": ATTITUDE_READ}, how))
    if forces is not None:
        factors, more = force_changes(forces)
        after = replace(after, **factors)
        changes += more
    return before, after, changes


def _met(flown: FlownTakeoff, before: Conditions) -> tuple[Conditions, list[Change]]:
    """Return the conditions with the weight and the weather met, where they were recorded."""
    after = replace(
        before,
        mass=flown.mass.value,
        headwind=flown.headwind.value,
        pressure=flown.pressure.value,
        temperature=flown.temperature.value,
    )
    changes = [
        Change(name, title, {name: known.sigma}, known.basis)
        for name, title, known in (
            ("mass", "Weight", flown.mass),
            ("headwind", "Wind", flown.headwind),
        )
        if known.basis != "plan"
    ]
    air = {"temperature": flown.temperature, "pressure": flown.pressure}
    sigmas = {name: known.sigma for name, known in air.items() if known.basis != "plan"}
    if sigmas:
        changes.append(Change("air", " and ".join(sigmas).capitalize(), sigmas, "recorded"))
    return after, changes


def _rotated(
    flown: FlownTakeoff, ramp: PitchRamp, after: Conditions, planned_tas: float
) -> tuple[Conditions, list[Change]]:
    """Return the conditions with the rotation flown."""
    tas = flown.ground_speed_at(ramp.begins) + flown.headwind.value
    acceleration = flown.ground_speed_at(ramp.begins + 0.5) - flown.ground_speed_at(ramp.begins - 0.5)
    # A line through a noisy rise begins the earlier, the slower it is: its doubt is that of the rate.
    doubt = TIMING + ramp.rate_sigma / ramp.rate * max(flown.lift_off - ramp.begins, 0.0)
    title = "Late rotation" if tas >= planned_tas else "Early rotation"
    how = "how sharply the pitch tells when it begins to rise"
    changes = [
        Change("rotation", title, {"rotation_tas": acceleration * doubt}, how),
        Change(
            "pitch_rate", "Pitch rate", {"pitch_rate": ramp.rate_sigma}, "scatter of the pitch about its line"
        ),
    ]
    after = replace(after, rotation_tas=tas, pitch_rate=ramp.rate)
    if ramp.upwash is not None:
        sigma = ramp.upwash_sigma / ramp.rate * acceleration
        how = "scatter of angle of attack less pitch while the nose rose"
        changes.append(Change("vertical_wind", "Rising or sinking air", {"rotation_later": sigma}, how))
        after = replace(after, rotation_later=-ramp.upwash / ramp.rate * acceleration)
    return after, changes


def _force_title(name: str, told: Sequence[str]) -> str:
    """Return what a fitted factor stands for: with fewer told, it holds what cannot be told from it."""
    names = (
        [name, *(other for other in ("drag", "friction") if other not in told)]
        if name == "thrust"
        else [name]
    )
    words = ", ".join(names[:-1]) + f" or {names[-1]}" if len(names) > 1 else names[0]
    return words.capitalize()


def power_cause(flown: Run, setup: TakeoffSetup, after: Conditions, units: System) -> Cause | None:
    """Return how much longer the run was by the time thrust had settled, all else as flown."""
    at = min(flown.settled, flown.run_ends)
    speed = flown.ground_speed_at(at)
    own = setup_in(setup, [after])
    run = accelerate_to(own, RunState(np.zeros(1), np.zeros(1), own.start_speed), np.array([speed]))
    distance = float(run.distance[0])
    if not np.isfinite(distance):
        return None
    how = (
        f"distance to {speed_said(speed, units)} ground speed, where thrust has settled; "
        f"brake release told to {TIMING} s"
    )
    return Cause("power", "How power came up", flown.distance_at(at) - distance, TIMING * speed, how)
