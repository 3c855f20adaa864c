"""Thrust over time: spool-up, burner light, an engine failing, levers closed.

Every history is a set of weights on the thrust of a few power settings: ``thrust(t) = sum of weight(t) *
thrust of the setting``, so forces may be tabulated over speed once and blended in time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import Pack, PowerSetting

Floats = NDArray[np.float64]
Weights = dict[str, Floats]


@dataclass(frozen=True, slots=True)
class PowerPlan:
    """Which settings a takeoff uses, and how long the changes between them take.

    ``release`` is held on the brakes; ``takeoff`` is selected at release. ``dry`` is the setting the engine
    must reach before the burner lights: military where takeoff is augmented, else takeoff itself.
    ``engine_out`` is selected on the live engines ``reaction`` s after a failure.
    """

    release: str
    dry: str
    takeoff: str
    idle: str
    engine_out: str
    engines: int
    spool: Floats
    light_delay: float
    light_to_full: float
    cancel_augmentation: float
    to_idle: float
    failure_decay: float
    reaction: float
    engine_out_delay: float
    engine_out_ramp: float

    @property
    def augmented(self) -> bool:
        """Whether takeoff is with the burner lit."""
        return self.takeoff != self.dry

    @property
    def settings(self) -> tuple[str, ...]:
        """Every setting used, each once."""
        return tuple(dict.fromkeys((self.release, self.dry, self.takeoff, self.idle, self.engine_out)))

    def driving(self, fails: bool) -> tuple[str, ...]:
        """Return every setting used until the levers are closed, each once."""
        raised = (self.engine_out,) if fails else ()
        return tuple(dict.fromkeys((self.release, self.dry, self.takeoff, *raised)))

    def taking_off(self, time: Floats) -> Weights:
        """Return the weights of one engine ``time`` s after release."""
        if time.size and time.min() >= self.settled.max():
            return {self.takeoff: np.ones(time.shape)}
        spooled = _ramp(time, 0.0, self.spool)
        if not self.augmented:
            return _sum({self.release: 1.0 - spooled}, {self.dry: spooled})
        lit = _ramp(time, self.spool + self.light_delay, self.light_to_full)
        return _sum({self.release: 1.0 - spooled}, {self.dry: spooled - lit}, {self.takeoff: lit})

    def all_engines(self, time: Floats) -> Weights:
        """Return the weights of all engines ``time`` s after release."""
        return {name: self.engines * weight for name, weight in self.taking_off(time).items()}

    def one_failed(self, time: Floats, since_failure: Floats) -> Weights:
        """Return the weights of all engines with one failed ``since_failure`` s ago."""
        one = self.taking_off(time)
        dying = 1.0 - _ramp(since_failure, 0.0, self.failure_decay)
        live = self.engines - 1.0
        if self.engine_out == self.takeoff:
            return {name: (live + dying) * weight for name, weight in one.items()}
        raised = _ramp(since_failure, self.reaction + self.engine_out_delay, self.engine_out_ramp)
        kept = live * (1.0 - raised) + dying
        return _sum({name: kept * weight for name, weight in one.items()}, {self.engine_out: live * raised})

    def closing(self, before: Weights, since_chop: Floats, engines: Floats | float) -> Weights:
        """Return the weights of ``engines`` engines whose levers were closed ``since_chop`` s ago.

        ``before`` are the weights of one engine at that moment.
        """
        dry_left = 1.0 - _ramp(since_chop, 0.0, self.to_idle)
        if not self.augmented:
            left = {name: engines * dry_left * weight for name, weight in before.items()}
            return _sum(left, {self.idle: engines * (1.0 - dry_left)})
        lit_left = np.minimum(1.0 - _ramp(since_chop, 0.0, self.cancel_augmentation), dry_left)
        lit = before.get(self.takeoff, np.zeros_like(since_chop))
        parts = {name: engines * dry_left * w for name, w in before.items() if name != self.takeoff}
        return _sum(
            parts,
            {self.takeoff: engines * lit * lit_left},
            {self.dry: engines * lit * (dry_left - lit_left)},
            {self.idle: engines * (1.0 - dry_left)},
        )

    @property
    def settled(self) -> Floats:
        """Seconds after release at which takeoff thrust no longer changes with time, (n,)."""
        return self.spool + (self.light_delay + self.light_to_full if self.augmented else 0.0)

    @property
    def settled_after_failure(self) -> float:
        """Seconds after an engine failure until thrust no longer changes with time."""
        raised = 0.0
        if self.engine_out != self.takeoff:
            raised = self.reaction + self.engine_out_delay + self.engine_out_ramp
        return max(self.failure_decay, raised)

    @property
    def time_to_close(self) -> float:
        """Seconds from closing the levers to idle thrust."""
        return max(self.to_idle, self.cancel_augmentation if self.augmented else 0.0)


@dataclass(frozen=True, slots=True)
class PowerHistory:
    """Thrust of all engines over time since release, one engine failing at ``failed_at`` s (inf: none).

    After ``settled`` s, (n,), the weights no longer change.
    """

    plan: PowerPlan
    failed_at: Floats
    settled: Floats
    dead: Floats
    """1 where an engine fails, else 0."""
    fails: bool
    """Whether one does in any case."""

    def __call__(self, time: Floats) -> Weights:
        """Return the weights at each case's own time."""
        if not self.fails:
            return self.plan.all_engines(time)
        return self.plan.one_failed(time, time - self.failed_at)

    def settings(self, pack: Pack) -> dict[str, PowerSetting]:
        """Return the settings that have weights, by name."""
        return {name: pack.engine.settings[name] for name in self.plan.driving(self.fails)}

    def final(self) -> Weights:
        """Return the weights after everything has settled."""
        return self(np.full(self.settled.shape, AGES))

    def changes(self) -> list[Floats]:
        """Return the times, (n,), at which a weight begins or ceases to change, ``settled`` aside."""
        plan, zero = self.plan, np.zeros_like(self.settled)
        failed = np.where(np.isfinite(self.failed_at), self.failed_at, 0.0)
        raised = failed + plan.reaction + plan.engine_out_delay
        lit = plan.spool + plan.light_delay
        marks = [
            zero + plan.spool,
            lit,
            lit + plan.light_to_full,
            failed,
            failed + plan.failure_decay,
            raised,
        ]
        return [mark + zero for mark in marks]

    def uneven(self, time: Floats) -> Floats:
        """Return the share of all thrust that nothing opposite the failing engine balances."""
        dying = 1.0 - _ramp(time - self.failed_at, 0.0, self.plan.failure_decay)
        return self.dead * (1.0 - dying) / np.maximum(self.plan.engines - 1.0 + dying, 1.0)

    def take(self, rows: NDArray[np.intp], plan: PowerPlan) -> PowerHistory:
        """Return the history of these rows; ``plan`` is the plan of these rows."""
        dead = self.dead[rows]
        return PowerHistory(plan, self.failed_at[rows], self.settled[rows], dead, bool(dead.any()))


def power_history(plan: PowerPlan, failed_at: Floats | None, count: int) -> PowerHistory:
    """Return the history of ``count`` cases; ``failed_at`` None: no engine fails in any."""
    settled = np.broadcast_to(plan.settled, (count,))
    if failed_at is None:
        return PowerHistory(plan, np.full(count, np.inf), settled, np.zeros(count), False)
    dead = np.isfinite(failed_at)
    last = np.where(dead, failed_at, 0.0) + plan.settled_after_failure * dead
    return PowerHistory(plan, failed_at, np.maximum(settled, last), dead.astype(np.float64), bool(dead.any()))


def power_plan(
    pack: Pack, static_thrust: dict[str, Floats], power: str, release: str, engine_out: str, reaction: float
) -> PowerPlan:
    """Return the plan for a takeoff at setting ``power`` released from setting ``release``.

    ``static_thrust`` is the standing thrust of one engine at each setting, N: spool time is the part of the
    idle to military time that the thrust step takes.
    """
    engine, times = pack.engine, pack.engine.transients
    takeoff = engine.settings[power]
    dry = engine.military if takeoff.augmented else power
    full_step = np.maximum(static_thrust[engine.military] - static_thrust[engine.idle], 1e-9)
    step = np.maximum(static_thrust[dry] - static_thrust[release], 0.0)
    spool = times.idle_to_military * np.minimum(step / full_step, 1.0)
    burner = engine.settings[engine_out].augmented and not takeoff.augmented
    return PowerPlan(
        release=release,
        dry=dry,
        takeoff=power,
        idle=engine.idle,
        engine_out=engine_out,
        engines=engine.count,
        spool=spool,
        light_delay=times.light_delay,
        light_to_full=times.light_to_full,
        cancel_augmentation=times.cancel_augmentation,
        to_idle=times.military_to_idle,
        failure_decay=times.failure_decay,
        reaction=reaction,
        engine_out_delay=times.light_delay if burner else 0.0,
        engine_out_ramp=times.light_to_full if burner else times.idle_to_military,
    )


def settings_of(pack: Pack, plan: PowerPlan) -> dict[str, PowerSetting]:
    """Return the settings the plan uses, by name."""
    return {name: pack.engine.settings[name] for name in plan.settings}


def _ramp(time: Floats, start: Floats | float, duration: Floats | float) -> Floats:
    """Return 0 before ``start``, 1 after ``start + duration``, linear between; a step where duration is 0."""
    length = max(duration, INSTANT) if isinstance(duration, float) else np.maximum(duration, INSTANT)
    return np.minimum(np.maximum((time - (start - INSTANT)) / length, 0.0), 1.0)


AGES = 1e9  # s: long after anything changes
INSTANT = 1e-12  # s: makes a ramp of no duration complete at its start, not just after it


def _sum(*parts: Weights) -> Weights:
    total: Weights = {}
    for part in parts:
        for name, weight in part.items():
            total[name] = total[name] + weight if name in total else weight
    return total
