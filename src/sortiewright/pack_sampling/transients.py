"""How long the engines take from one power setting to another, measured by moving the lever.

A pack gives a straight ramp. Its length is chosen so that the impulse missing against an instant change is
the model's: that decides speed and distance, whatever the shape in between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sortiewright.pack_sampling.engine_points import SPOOL_TIME, EngineStand, shut_down

WATCHED = 25.0  # s after a change of the lever
STILL_AIR = 0.0
BEGUN = 0.05  # share of the change at which a burner counts as lit


@dataclass(frozen=True)
class SampledTransients:
    """Seconds; see ``EngineTransients`` of a pack."""

    idle_to_military: float
    military_to_idle: float
    failure_decay: float
    light_delay: float = 0.0
    light_to_full: float = 0.0
    cancel_augmentation: float = 0.0


def measure_transients(stand: EngineStand, military: float, *, augmented: bool) -> SampledTransients:
    """Return the times, at a standstill at sea level on a standard day."""
    up = _watch(stand, 0.0, lambda: stand.throttle(military))
    down = _watch(stand, military, lambda: stand.throttle(0.0))
    light = cancel = Change(0.0, 0.0)
    if augmented:
        light = _watch(stand, military, lambda: stand.throttle(1.0))
        cancel = _watch(stand, 1.0, lambda: stand.throttle(military))
    fail = _watch(stand, military, lambda: [shut_down(stand.model, i) for i in range(len(stand.mounts))])
    stand.start()
    return SampledTransients(
        idle_to_military=up.whole,
        military_to_idle=down.whole,
        failure_decay=fail.whole,
        light_delay=light.delay,
        light_to_full=light.ramp,
        cancel_augmentation=cancel.whole,
    )


@dataclass(frozen=True)
class Change:
    """A change of thrust: until it begins, and the missing impulse over its size, s."""

    delay: float
    deficit: float

    @property
    def whole(self) -> float:
        """Length of the ramp that begins at once and misses the same impulse, s."""
        return max(2.0 * self.deficit, 0.0)

    @property
    def ramp(self) -> float:
        """Length of the ramp that begins after the delay, s."""
        return max(2.0 * (self.deficit - self.delay), 0.0)


def _watch(stand: EngineStand, before: float, change: Callable[[], object]) -> Change:
    """Return how thrust goes over after ``change`` from the throttle ``before``."""
    stand.place(STILL_AIR, 0.0)
    stand.throttle(before)
    start = stand.settled(SPOOL_TIME).thrust
    change()
    step = stand.model.step_time
    trace: list[float] = []
    for _ in range(round(WATCHED / step)):
        stand.model.run(step)
        trace.append(stand.read().thrust)
    end = trace[-1]
    size = end - start
    if abs(size) < 1.0:
        return Change(0.0, 0.0)
    missing = sum((end - thrust) / size for thrust in trace) * step
    # The first step shows thrust at its end, a step after the lever moved.
    begun = next((i for i, thrust in enumerate(trace) if (thrust - start) / size > BEGUN), 0)
    return Change(begun * step, missing)
