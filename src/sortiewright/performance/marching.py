"""Time integration of a batch until an event, each case with its own step."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Derivative = Callable[[Floats, Floats], Floats]
"""(time (n,), state (s, n)) -> state per second (s, n)."""


@dataclass(frozen=True, slots=True)
class Arrival:
    """State (s, n) and time (n,) at the event; ``happened`` false where it never came (values are then
    NaN)."""

    time: Floats
    state: Floats
    happened: Bools
    lowest: Floats
    """Smallest value each state took on the way, (s, n)."""


def kutta_step(derivative: Derivative, time: Floats, state: Floats, step: Floats, first: Floats) -> Floats:
    """Return the state one fourth-order Runge-Kutta step on; ``first`` is the derivative at the start."""
    half = 0.5 * step
    k2 = derivative(time + half, state + half * first)
    k3 = derivative(time + half, state + half * k2)
    k4 = derivative(time + step, state + step * k3)
    return state + step / 6.0 * (first + 2.0 * (k2 + k3) + k4)


def march_to_event(
    derivative: Derivative,
    time: Floats,
    state: Floats,
    steps: Iterable[Floats],
    event: Callable[[Floats, Floats], Floats],
    hopeless: Callable[[Floats, Floats], Bools] | None = None,
) -> Arrival:
    """Return where ``event(time, state)`` falls to nought or below, by classical Runge-Kutta.

    ``steps`` yields step lengths (n,) until it ends. The crossing is found inside its step on the cubic
    through both ends, so it keeps the integrator's order. ``hopeless(state, slope)`` may give cases up.
    """
    value = event(time, state)
    happened = value <= 0.0
    waiting = ~happened
    lowest = state.copy()
    start_time, start_state = time.copy(), state.copy()
    start_slope, end_state = np.zeros_like(state), state.copy()
    length = np.zeros_like(time)
    before, after = np.ones_like(time), np.zeros_like(time)
    crossed = np.zeros_like(happened)
    for step in steps:
        if not waiting.any():
            break
        slope = derivative(time, state)
        if hopeless is not None:
            waiting = waiting & ~hopeless(state, slope)
        new_state = kutta_step(derivative, time, state, step, slope)
        new_time = time + step
        new_value = event(new_time, new_state)
        now = waiting & (new_value <= 0.0)
        if now.any():
            start_time = np.where(now, time, start_time)
            start_state = np.where(now, state, start_state)
            start_slope = np.where(now, slope, start_slope)
            end_state = np.where(now, new_state, end_state)
            length = np.where(now, step, length)
            before = np.where(now, value, before)
            after = np.where(now, new_value, after)
            crossed = crossed | now
            waiting = waiting & ~now
        lowest = np.where(waiting, np.minimum(lowest, new_state), lowest)
        time, state, value = new_time, new_state, new_value
    if crossed.any():
        end_slope = derivative(start_time + length, end_state)
        begin, end = (start_state, start_slope), (end_state, end_slope)
        start_time, start_state = _cross(event, start_time, length, begin, end, before, after)
    happened = happened | crossed
    gone = np.where(happened, 0.0, np.nan)
    return Arrival(start_time + gone, start_state + gone, happened, lowest)


CROSSING_ITERATIONS = 6


def _cross(
    event: Callable[[Floats, Floats], Floats],
    time: Floats,
    length: Floats,
    begin: tuple[Floats, Floats],
    end: tuple[Floats, Floats],
    before: Floats,
    after: Floats,
) -> tuple[Floats, Floats]:
    """Return time and state at the crossing inside one step, by false position with Illinois weighting.

    ``begin`` and ``end`` are the step's states and slopes. Between them the state is the cubic that has both
    (Hermite; Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, 2nd ed., section II.6),
    as exact as the step itself and four times cheaper than stepping again.
    """
    (y0, f0), (y1, f1) = begin, end
    rise, bend0, bend1 = y1 - y0, length * f0 - (y1 - y0), (y1 - y0) - length * f1
    low, high = np.zeros_like(time), np.ones_like(time)
    value_low, value_high = before, after
    part, state, kept = high, y1, np.zeros_like(time)
    done = after == 0.0
    small = 1e-9 * np.maximum(np.abs(before), 1e-12)
    for _ in range(CROSSING_ITERATIONS):
        span = value_low - value_high
        # A finished case keeps its answer, so that it does not depend on its neighbours in the batch.
        part = np.where(done, part, low + (high - low) * value_low / np.where(span == 0.0, 1.0, span))
        rest = 1.0 - part
        state = y0 + part * (rise + rest * (rest * bend0 + part * bend1))
        value = event(time + part * length, state)
        done = done | (np.abs(value) <= small)
        if done.all():
            break
        above = value > 0.0
        # An end that stays a second time running counts half, or the other would creep.
        value_low, value_high = (
            np.where(above, value, np.where(kept < 0.0, 0.5 * value_low, value_low)),
            np.where(above, np.where(kept > 0.0, 0.5 * value_high, value_high), value),
        )
        low, high, kept = np.where(above, part, low), np.where(above, high, part), np.where(above, 1.0, -1.0)
    return time + part * length, state
