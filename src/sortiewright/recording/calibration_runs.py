"""Takeoff runs as observations: speed over time while thrust no longer changes, against our own run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import Air
from sortiewright.pack import InputError, Pack, Problem, TakeoffTechnique
from sortiewright.performance import Cases, RunState, TakeoffSetup, accelerate_to, make_cases, takeoff_setup
from sortiewright.recording.calibration_noise import in_bins
from sortiewright.recording.comparison_flown import FlownTakeoff, Known, PitchRamp

Floats = NDArray[np.float64]

MOST_POINTS = 80  # a run: means of neighbouring samples, at most 0.3 s each on a long run
LEAST_POINTS = 12
GRID = 24
GRID_MARGIN = 2.0  # m/s
STEP = 1e-3  # of a factor; the force is linear in each, so the size hardly matters
MASS_STEP, WIND_STEP = 1e-3, 0.1  # share; m/s


@dataclass(frozen=True)
class RunObservation:
    """One run between settled thrust and the nose rising: SI, time from any beginning.

    ``balance_arm``, ``drag_index`` and ``slope`` are as planned: a recording rarely carries them.
    """

    name: str
    time: Floats
    ground_speed: Floats
    mass: Known
    headwind: Known
    pressure: float
    temperature: float
    balance_arm: float
    drag_index: float = 0.0
    slope: float = 0.0
    ramp: PitchRamp | None = None
    planned_pitch_rate: float | None = None

    @property
    def said(self) -> str:
        """Return what an overlay says of where its factors come from."""
        low, high = self.ground_speed[0] * 3600 / 1852, self.ground_speed[-1] * 3600 / 1852
        return (
            f"{self.name}: {len(self.time)} samples from {low:.0f} to {high:.0f} kt ground speed, "
            f"{self.mass.value / 0.45359237:.0f} lb, {self.temperature - 273.15:.0f} degC, "
            f"headwind {self.headwind.value * 3600 / 1852:.0f} kt"
        )


def run_observation(flown: FlownTakeoff, planned: TakeoffSetup) -> RunObservation:
    """Return the part of a flown takeoff that tells of thrust, drag and friction.

    Raises ``InputError`` where it is too short, or flown with another power than planned.
    """
    if flown.augmented is not None and flown.augmented != planned.power.augmented:
        read = "with the burner lit" if flown.augmented else "without burner"
        expected = f"was flown {read}; the sortie plans {planned.technique.power}"
        hint = "Write the power flown into the sortie: takeoff.power"
        raise InputError([Problem(flown.name, None, "the takeoff", "", expected, hint)])
    rows = (flown.time >= flown.settled) & (flown.time <= flown.run_ends)
    if int(rows.sum()) < LEAST_POINTS:
        expected = (
            f"leaves {int(rows.sum())} samples between settled thrust, {flown.settled:.1f} s after brake "
            f"release, and the nose rising at {flown.run_ends:.1f} s; {LEAST_POINTS} are needed"
        )
        raise InputError([Problem(flown.name, None, "the takeoff run", "", expected)])
    cases = planned.cases
    return RunObservation(
        flown.name,
        flown.time[rows],
        flown.ground_speed[rows],
        flown.mass,
        flown.headwind,
        flown.pressure.value,
        flown.temperature.value,
        float(cases.balance_arm[0]),
        float(cases.drag_index[0]),
        float(cases.slope[0]),
        flown.ramp,
        float(planned.attitude.pitch_rate[0]),
    )


@dataclass(frozen=True, slots=True)
class Linear:
    """What a model says at one point of its parameters, and how that changes with each."""

    predicted: Floats
    """(n,)"""
    jacobian: Floats
    """(n, p): by each factor, then each parameter of one run alone."""
    loosely_known: Floats
    """(n, c): by one standard deviation of each thing that is known, but not quite: weights, winds."""


@dataclass
class RunModel:
    """Predicts the ground speeds of runs. Parameters: thrust, drag, friction, then a shift in time a run."""

    pack: Pack
    technique: TakeoffTechnique
    runs: Sequence[RunObservation]
    times: list[Floats] = field(init=False)
    observed: Floats = field(init=False)
    names: tuple[str, ...] = ("thrust", "drag", "friction")
    least_sigma: float = 0.0
    _last: tuple[Floats, Linear] | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        binned = [in_bins(run.time, run.ground_speed, MOST_POINTS) for run in self.runs]
        self.times = [time for time, _ in binned]
        speeds = [speed for _, speed in binned]
        self.observed = np.concatenate(speeds)
        self._rows = np.repeat(np.arange(len(self.runs)), [len(one) for one in self.times])
        self._grids = np.array(
            [
                np.linspace(max(float(one.min()) - GRID_MARGIN, 0.1), float(one.max()) + GRID_MARGIN, GRID)
                for one in speeds
            ]
        )
        setup = takeoff_setup(self.pack, self._cases(), self.technique)
        self._setup = setup.take(np.repeat(np.arange(len(self.runs)), GRID))
        self._late = float(np.max(setup.power.settled)) + 1.0

    def _cases(self) -> Cases:
        runs = self.runs
        air = Air(np.array([r.pressure for r in runs]), np.array([r.temperature for r in runs]))
        return make_cases(
            np.array([r.mass.value for r in runs]),
            np.array([r.balance_arm for r in runs]),
            air,
            drag_index=np.array([r.drag_index for r in runs]),
            headwind=np.array([r.headwind.value for r in runs]),
            slope=np.array([r.slope for r in runs]),
        )

    def start(self) -> Floats:
        """Return the parameters of the pack as it is, each run shifted to begin at its first speed."""
        curves = self._curves(np.ones((1, 3)), np.zeros(1), np.zeros(1))[0]
        shifts = np.zeros(len(self.runs))
        for k, run in enumerate(self.runs):
            shifts[k] = np.interp(run.ground_speed[0], self._grids[k], curves[k]) - run.time[0]
        return np.concatenate([np.ones(len(self.names)), shifts])

    def at(self, parameters: Floats) -> Linear:
        """Return the prediction and how it changes, all runs and changes in one batch."""
        if self._last is None or not np.array_equal(self._last[0], parameters):
            self._last = parameters.copy(), self._linear(parameters)
        return self._last[1]

    def _linear(self, parameters: Floats) -> Linear:
        factors, shifts = parameters[:3], parameters[3:]
        sets = np.vstack([factors, factors + STEP * np.eye(3), factors, factors])
        masses, winds = np.zeros(6), np.zeros(6)
        masses[4], winds[5] = MASS_STEP, WIND_STEP
        curves = self._curves(sets, masses, winds)
        predicted, slopes = self._speeds(curves[0], shifts)
        # A change that makes each speed come dt later makes the speed at a time smaller by slope * dt.
        later = [self._at_speeds(predicted, curves[number] - curves[0]) for number in range(1, 6)]
        steps = (STEP, STEP, STEP, MASS_STEP, WIND_STEP)
        changes = [-slopes * dt / step for dt, step in zip(later, steps, strict=True)]
        own = self._rows[:, None] == np.arange(len(self.runs))
        mass_sigma = np.array([run.mass.sigma / run.mass.value for run in self.runs])
        wind_sigma = np.array([run.headwind.sigma for run in self.runs])
        return Linear(
            predicted,
            np.concatenate([np.stack(changes[:3], axis=1), own * slopes[:, None]], axis=1),
            np.concatenate(
                [own * changes[3][:, None] * mass_sigma, own * changes[4][:, None] * wind_sigma], axis=1
            ),
        )

    def _at_speeds(self, speeds: Floats, values: Floats) -> Floats:
        """Return values over the grids, (runs, GRID), at the speeds of the observations, (n,)."""
        found = np.empty(len(speeds))
        for k, grid in enumerate(self._grids):
            found[self._rows == k] = np.interp(speeds[self._rows == k], grid, values[k])
        return found

    def distances(self, factors: Floats) -> Floats:
        """Return the distance of each run between its first and last speed, (runs,), m."""
        first = np.array([run.ground_speed[0] for run in self.runs])
        last = np.array([run.ground_speed[-1] for run in self.runs])
        setup = self._setup.take(np.arange(len(self.runs)) * GRID)
        ones = np.ones(len(self.runs))
        cases = replace(
            setup.cases,
            thrust_factor=factors[0] * ones,
            drag_factor=factors[1] * ones,
            friction_factor=factors[2] * ones,
        )
        start = RunState(self._late * ones, 0.0 * ones, first)
        return accelerate_to(replace(setup, cases=cases), start, last).distance

    def _curves(self, sets: Floats, mass_shares: Floats, winds: Floats) -> Floats:
        """Return the time to each speed of each grid, (sets, runs, GRID), s from the grid's first speed."""
        count, runs = len(sets), len(self.runs)
        rows = np.tile(np.arange(runs * GRID), count)
        setup = self._setup.take(rows)
        each = np.repeat(np.arange(count), runs * GRID)
        cases = replace(
            setup.cases,
            thrust_factor=sets[each, 0],
            drag_factor=sets[each, 1],
            friction_factor=sets[each, 2],
            mass=setup.cases.mass * (1.0 + mass_shares[each]),
            headwind=setup.cases.headwind + winds[each],
        )
        speeds = np.tile(self._grids.ravel(), count)
        first = np.tile(np.repeat(self._grids[:, 0], GRID), count)
        start = RunState(np.full(len(rows), self._late), np.zeros(len(rows)), first)
        run = accelerate_to(replace(setup, cases=cases), start, speeds)
        return (run.time - self._late).reshape(count, runs, GRID)

    def _speeds(self, curves: Floats, shifts: Floats) -> tuple[Floats, Floats]:
        """Return the ground speed at each time, and its rate, (n,)."""
        from scipy.interpolate import CubicSpline

        speeds: list[Floats] = []
        rates: list[Floats] = []
        for curve, grid, time, shift in zip(curves, self._grids, self.times, shifts, strict=True):
            spline = CubicSpline(curve, grid)
            speeds.append(spline(time + shift))
            rates.append(spline(time + shift, 1))
        return np.concatenate(speeds), np.concatenate(rates)
