"""How a scripted pilot moves a control: pure functions, shared by everything that flies a model."""

from __future__ import annotations

USUAL_TAIL = 0.3  # moment coefficient of full stick
LEAST_PRESSURE, LEAST_POWER = 1.0, 0.05  # lb/ft2; rad/s2


def rate_command(
    goal: float, rate: float, held: float, *, power: float, bandwidth: float, closing: float, step: float
) -> tuple[float, float]:
    """Return the control, -1 to 1, that brings an angular rate to its goal, and the new integral ``held``.

    Rates rad/s; ``held`` is an angular acceleration, rad/s2: what has to be held against the aircraft's own
    moments. ``power`` is the angular acceleration of full control; ``bandwidth`` and ``closing``, 1/s, are of
    the loop and of its integral; ``step`` s.
    """
    lag = goal - rate
    wanted = (bandwidth * lag + held) / power
    if -1.0 < wanted < 1.0:
        return wanted, held + bandwidth * closing * lag * step
    # Against the stop the integral holds what the stop gives, so that it lets go at once.
    command = min(max(wanted, -1.0), 1.0)
    return command, command * power - bandwidth * lag


def usual_pitch_power(dynamic_pressure: float, wing_area: float, chord: float, inertia: float) -> float:
    """Return the pitch acceleration of full stick, rad/s2, with a usual tail. In the library's own units:
    lb/ft2, ft2, ft, slug ft2."""
    lever = max(dynamic_pressure, LEAST_PRESSURE) * wing_area * chord
    return max(USUAL_TAIL * lever / inertia, LEAST_POWER)
