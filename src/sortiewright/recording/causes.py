"""What made a takeoff run longer or shorter than planned: the difference split into causes.

Each cause is a condition that was not as planned. Causes act together (a heavier aircraft loses more to a
late rotation), so the share of one depends on which others are put in before it. The mean over all orders is
taken (Shapley, A value for n-person games, 1953): it favours none, and the shares add up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import factorial

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import Air
from sortiewright.performance import Takeoff, TakeoffSetup, fly_takeoff, make_cases, takeoff_setup

Floats = NDArray[np.float64]

QUANTITIES = ("ground_run", "distance_to_screen")


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a takeoff is flown in and how, SI; None: as the pack and its technique have it."""

    mass: float
    headwind: float
    pressure: float
    temperature: float
    rotation_tas: float | None = None
    """True airspeed at which the nose begins to rise."""
    rotation_later: float = 0.0
    """m/s by which rising or sinking air moves the rotation as lift sees it."""
    pitch_rate: float | None = None
    attitude: float | None = None
    """To which the nose is raised."""
    thrust: float = 1.0
    drag: float = 1.0
    friction: float = 1.0

    def changed(self, other: Conditions, names: Sequence[str]) -> Conditions:
        """Return these conditions with the named ones taken from others."""
        return replace(self, **{name: getattr(other, name) for name in names})


@dataclass(frozen=True, slots=True)
class Change:
    """A cause: the conditions that it is, and by how much each may be wrong (one standard deviation, SI)."""

    name: str
    title: str
    sigmas: Mapping[str, float]
    how: str
    """How the standard deviation was found, in words."""


@dataclass(frozen=True, slots=True)
class Cause:
    """How much longer a cause made the distance, m, and one standard deviation of that, with its origin."""

    name: str
    title: str
    effect: float
    sigma: float
    how: str


@dataclass(frozen=True)
class Split:
    """A difference and what it is made of: ``causes`` and ``remainder`` add up to ``difference``, m."""

    quantity: str
    difference: float
    causes: tuple[Cause, ...]
    remainder: float
    remark: str = ""
    untold: Mapping[str, str] = field(default_factory=dict[str, str])
    """Forces that this run does not tell apart from those that are causes, and why."""


def setup_in(planned: TakeoffSetup, conditions: Sequence[Conditions]) -> TakeoffSetup:
    """Return the planned takeoff in each of several conditions; the rotation is briefed as planned."""

    def column(name: str) -> Floats:
        return np.array([getattr(one, name) for one in conditions], dtype=np.float64)

    def or_planned(name: str, value: float) -> Floats:
        given = column(name)
        return np.where(np.isnan(given), value, given)

    case = planned.cases
    cases = make_cases(
        column("mass"),
        float(case.balance_arm[0]),
        Air(column("pressure"), column("temperature")),
        drag_index=float(case.drag_index[0]),
        headwind=column("headwind"),
        slope=float(case.slope[0]),
        thrust_factor=column("thrust") * float(case.thrust_factor[0]),
        drag_factor=column("drag") * float(case.drag_factor[0]),
        friction_factor=column("friction") * float(case.friction_factor[0]),
    )
    setup = takeoff_setup(
        planned.pack,
        cases,
        planned.technique,
        rotation_cas=float(planned.planned_rotation_cas[0]),
        pitch_rate=or_planned("pitch_rate", float(planned.attitude.pitch_rate[0])),
        takeoff_attitude=or_planned("attitude", float(planned.attitude.target[0])),
        start_speed=float(planned.start_speed[0]),
    )
    tas = column("rotation_tas")
    speed = np.where(np.isnan(tas), setup.rotation_speed, tas - cases.headwind)
    rotation = np.maximum(speed + column("rotation_later"), 1.0)
    setup = replace(setup, rotation_speed=rotation, rotation_speed_engine_out=rotation)
    if setup.rise is None or setup.rise_engine_out is None:
        return setup
    # A rate that was flown is the mean one, from where the nose really began to rise.
    as_planned = np.isnan(column("pitch_rate"))
    return replace(
        setup, rise=setup.rise.where(as_planned), rise_engine_out=setup.rise_engine_out.where(as_planned)
    )


def fly(planned: TakeoffSetup, conditions: Sequence[Conditions]) -> Takeoff:
    """Return the planned takeoff flown in each of several conditions, all in one batch."""
    return fly_takeoff(setup_in(planned, conditions))


def split_by_cause(
    planned: TakeoffSetup, before: Conditions, after: Conditions, changes: Sequence[Change]
) -> dict[str, tuple[tuple[Cause, ...], float]]:
    """Return, for ground run and distance to the screen, the causes and the distance with all of them, m.

    ``before`` is as planned and ``after`` as flown; conditions that no change names are left as planned. A
    quantity is left out where, with some of the causes, it is never reached.
    """
    count = len(changes)
    subsets = [[k for k in range(count) if number >> k & 1] for number in range(2**count)]
    batch = [
        before.changed(after, [name for k in subset for name in changes[k].sigmas]) for subset in subsets
    ]
    whole = batch[-1]
    moves = [(k, name, sigma) for k in range(count) for name, sigma in changes[k].sigmas.items()]
    batch += [replace(whole, **{name: getattr(whole, name) + sigma}) for _, name, sigma in moves]
    flown = fly(planned, batch)
    found: dict[str, tuple[tuple[Cause, ...], float]] = {}
    for quantity in QUANTITIES:
        values: Floats = getattr(flown, quantity)
        if not np.isfinite(values).all():
            continue
        with_all = float(values[len(subsets) - 1])
        effects = shapley_values(values[: len(subsets)])
        variances = np.zeros(count)
        for (k, _, _), moved in zip(moves, values[len(subsets) :], strict=True):
            variances[k] += (moved - with_all) ** 2
        found[quantity] = (
            tuple(
                Cause(change.name, change.title, float(effect), float(np.sqrt(variance)), change.how)
                for change, effect, variance in zip(changes, effects, variances, strict=True)
            ),
            with_all,
        )
    return found


def shapley_values(values: Floats) -> Floats:
    """Return the share of each of k causes, (k,), in ``values``, (2^k,): bit j of a row says whether cause j
    acts."""
    count = int(values.size).bit_length() - 1
    rows = np.arange(values.size)
    sizes = np.array([int(row).bit_count() for row in rows])
    weights = np.array([factorial(s) * factorial(count - s - 1) / factorial(count) for s in range(count)])
    shares = np.zeros(count)
    for cause in range(count):
        without = rows[rows >> cause & 1 == 0]
        gains = values[without | 1 << cause] - values[without]
        shares[cause] = np.sum(weights[sizes[without]] * gains)
    return shares
