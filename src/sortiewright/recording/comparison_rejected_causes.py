"""What made the run to a rejection, and the stop from it, longer or shorter than planned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance import RunState, StopMeans, TakeoffSetup, accelerate_to, release, stop_from
from sortiewright.recording.calibration_runs import LEAST_POINTS, RunObservation
from sortiewright.recording.causes import Cause, Change, Conditions, Split, setup_in, shapley_values
from sortiewright.recording.comparison_causes import TIMING, force_changes, forces_told, power_cause
from sortiewright.recording.comparison_rejected_flown import CLOSING, FlownReject
from sortiewright.sortie import System

Floats = NDArray[np.float64]

Distances = Callable[[Sequence[Conditions]], Floats]


@dataclass(frozen=True)
class DeviceChange:
    """Brakes or chute used otherwise than planned: the change, and how much later they may have come."""

    name: str
    title: str
    means: StopMeans
    """The planned means with this one as flown."""
    field: str


def run_split(
    flown: FlownReject,
    setup: TakeoffSetup,
    speed: float,
    planned: float,
    remarks: list[str],
    units: System,
) -> Split:
    """Return what made the run from brake release to where the levers closed, at ``speed``, longer."""
    before, changes = _conditions(flown, setup)
    after = _as_flown(flown, before)
    forces = None if (run := _observed(flown, setup)) is None else forces_told(run, setup, remarks)
    if forces is not None:
        factors, more = force_changes(forces)
        after = replace(after, **factors)
        changes += more

    def distance(conditions: Sequence[Conditions]) -> Floats:
        batch = setup_in(setup, conditions)
        return accelerate_to(batch, release(batch), np.full(len(conditions), speed)).distance

    causes, with_all = _shared(before, after, changes, distance)
    power = power_cause(flown, setup, after, units)
    actual = flown.distance_at(flown.closed)
    rest = actual - with_all - (0.0 if power is None else power.effect)
    remark = f"{100.0 * abs(rest) / actual:.1f} % of the distance is left that none of these explains"
    every = causes if power is None else (*causes, power)
    untold = {} if forces is None else forces.untold
    return Split("run_to_levers_closed", actual - planned, every, rest, remark, untold)


def _observed(flown: FlownReject, setup: TakeoffSetup) -> RunObservation | None:
    """Return the part of the run that tells of thrust, drag and friction; None where it is too short."""
    rows = (flown.time >= flown.settled) & (flown.time <= flown.closed - CLOSING)
    if int(rows.sum()) < LEAST_POINTS:
        return None
    case, met = setup.cases, flown.met
    return RunObservation(
        flown.name,
        flown.time[rows],
        flown.ground_speed[rows],
        met.mass,
        met.headwind,
        met.pressure.value,
        met.temperature.value,
        float(case.balance_arm[0]),
        float(case.drag_index[0]),
        float(case.slope[0]),
    )


def stop_split(
    flown: FlownReject,
    setup: TakeoffSetup,
    at_closed: RunState,
    means: StopMeans,
    devices: Sequence[DeviceChange],
    planned: float,
) -> Split:
    """Return what made the way from where the levers closed to the stop longer or shorter."""
    before, changes = _conditions(flown, setup)
    after = _as_flown(flown, before)

    def stop(conditions: Sequence[Conditions], used: StopMeans) -> Floats:
        batch = setup_in(setup, conditions)
        count = len(conditions)
        start = RunState(
            np.full(count, at_closed.time[0]), np.zeros(count), np.full(count, at_closed.speed[0])
        )
        return stop_from(setup.pack, batch.cases, batch.power, start, used).distance

    subsets = _subsets(before, after, changes)
    values = np.concatenate(
        [stop(subsets, _with_devices(means, devices, number)) for number in range(2 ** len(devices))]
    )
    all_used = _with_devices(means, devices, 2 ** len(devices) - 1)
    with_all = float(values[-1])
    effects = shapley_values(values)
    moved = [_moved(changes[k], subsets[-1]) for k in range(len(changes))]
    sigmas = [float(np.sqrt(np.sum((stop(one, all_used) - with_all) ** 2))) for one in moved]
    for device in devices:
        when = getattr(all_used, device.field)
        later = all_used if when is None else replace(all_used, **{device.field: when + TIMING})
        sigmas.append(abs(float(stop(subsets[-1:], later)[0]) - with_all))
    told = [(one.name, one.title, one.how) for one in changes]
    told += [(one.name, one.title, f"when it came is told to {TIMING} s") for one in devices]
    causes = tuple(
        Cause(name, title, float(effect), sigma, how)
        for (name, title, how), effect, sigma in zip(told, effects, sigmas, strict=True)
    )
    actual = flown.distance_at(flown.ends) - flown.distance_at(flown.closed)
    rest = actual - with_all
    applied = "" if flown.mean_brake is None else f"; they were applied to {flown.mean_brake:.0%} on average"
    remark = (
        f"{100.0 * abs(rest) / actual:.1f} % of the distance is left: how hard the brakes were used and what "
        f"grip the runway gave{applied.replace('%', ' %')}"
    )
    return Split("stop_distance", actual - planned, causes, rest, remark)


def _with_devices(means: StopMeans, devices: Sequence[DeviceChange], number: int) -> StopMeans:
    """Return the planned means with those devices as flown whose bit is set."""
    for bit, device in enumerate(devices):
        if number >> bit & 1:
            means = replace(means, **{device.field: getattr(device.means, device.field)})
    return means


def _conditions(flown: FlownReject, setup: TakeoffSetup) -> tuple[Conditions, list[Change]]:
    """Return the planned conditions, and which of them were recorded."""
    case, met = setup.cases, flown.met
    before = Conditions(
        float(case.mass[0]), float(case.headwind[0]), float(case.pressure[0]), float(case.temperature[0])
    )
    changes = [
        Change(name, title, {name: known.sigma}, known.basis)
        for name, title, known in (("mass", "Weight", met.mass), ("headwind", "Wind", met.headwind))
        if known.basis != "plan"
    ]
    air = {"temperature": met.temperature, "pressure": met.pressure}
    sigmas = {name: known.sigma for name, known in air.items() if known.basis != "plan"}
    if sigmas:
        changes.append(Change("air", " and ".join(sigmas).capitalize(), sigmas, "recorded"))
    return before, changes


def _as_flown(flown: FlownReject, before: Conditions) -> Conditions:
    met = flown.met
    return replace(
        before,
        mass=met.mass.value,
        headwind=met.headwind.value,
        pressure=met.pressure.value,
        temperature=met.temperature.value,
    )


def _subsets(before: Conditions, after: Conditions, changes: Sequence[Change]) -> list[Conditions]:
    """Return the conditions with each subset of the changes, that of all last."""
    return [
        before.changed(
            after,
            [name for k, change in enumerate(changes) if number >> k & 1 for name in change.sigmas],
        )
        for number in range(2 ** len(changes))
    ]


def _moved(change: Change, whole: Conditions) -> list[Conditions]:
    """Return the conditions as flown with each part of a cause one standard deviation off."""
    return [replace(whole, **{name: getattr(whole, name) + sigma}) for name, sigma in change.sigmas.items()]


def _shared(
    before: Conditions,
    after: Conditions,
    changes: Sequence[Change],
    distance: Distances,
) -> tuple[tuple[Cause, ...], float]:
    """Return the causes, each with its share of a distance, and the distance with all of them, m."""
    subsets = _subsets(before, after, changes)
    values = distance(subsets)
    with_all = float(values[-1])
    effects = shapley_values(values)
    causes = [
        Cause(
            change.name,
            change.title,
            float(effect),
            float(np.sqrt(np.sum((distance(_moved(change, subsets[-1])) - with_all) ** 2))),
            change.how,
        )
        for change, effect in zip(changes, effects, strict=True)
    ]
    return tuple(causes), with_all
