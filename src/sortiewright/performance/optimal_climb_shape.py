"""An optimal climb in the few numbers a pilot is told: where the search for a schedule to fly begins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, cas_from_mach, standard_air
from sortiewright.performance.optimal_climb import OptimalClimb

Floats = NDArray[np.float64]

LEAST_DIVE = np.radians(2.0)


@dataclass(frozen=True, slots=True)
class DiveShape:
    """``climb_cas`` m/s, then ``climb_mach``, to ``top`` m; pushed over into a dive at ``dive`` rad to
    ``bottom`` m."""

    climb_cas: float
    climb_mach: float
    top: float
    bottom: float
    dive: float


@dataclass(frozen=True, slots=True)
class ClimbShape:
    """The climb after the dive, if there is one: CAS ``hold`` m/s and Mach ``upper_mach``, then a zoom.

    The zoom begins at ``zoom_altitude``, is pushed over at ``push_altitude``, m, and is ``zoom`` rad steep.
    """

    before: DiveShape | None
    hold: float
    upper_mach: float
    zoom: float
    zoom_altitude: float
    push_altitude: float


def climb_shape(best: OptimalClimb, load_of_push: float, load_of_pull: float) -> ClimbShape:
    """Return the numbers of an optimum, turned at these load factors."""
    height, number, angle, tas = best.pressure_altitude, best.mach, best.path_angle, best.tas
    cas = cas_from_mach(number, np.asarray(standard_air(height).pressure))
    steepest = int(np.argmin(angle))
    before, begin = None, 0
    if angle[steepest] < -LEAST_DIVE:
        peak = int(np.flatnonzero(angle[:steepest] > 0.0)[-1])
        climbing = slice(int(np.argmax(angle[:peak])), peak)
        rising = angle[climbing] > 0.5 * angle[climbing].max()
        climb_angle, dive = float(np.median(angle[climbing][rising])), -float(angle[steepest])
        after = np.flatnonzero(angle[steepest:] >= 0.0)
        begin = steepest + int(after[0])
        before = DiveShape(
            float(np.max(cas[: peak + 1])),
            float(np.median(number[climbing][rising])),
            float(height[peak]) - _height_of_turn(tas[peak], climb_angle, load_of_push),
            float(height[begin]) + _height_of_turn(tas[begin], dive, load_of_pull),
            dive,
        )
    # The zoom begins where the Mach number is highest: from there on it is traded for height.
    fast = begin + int(np.argmax(number[begin:]))
    after_dive = cas[(begin + fast) // 2 : fast + 1]
    hold = np.max(cas[: fast + 1]) if before is None else np.median(after_dive)
    steep = fast + int(np.argmax(angle[fast:]))
    zoom = float(angle[steep])
    pushed = float(height[-1]) - _height_of_turn(tas[steep], zoom, load_of_push)
    return ClimbShape(before, float(hold), float(number[fast]), zoom, float(height[fast]), pushed)


def _height_of_turn(tas: float, angle: float, load_factor: float) -> float:
    """Return the height gained or lost, m, in turning the path from an angle, rad, to level.

    d(angle)/dt = g (n - cos)/V, with cos near 1: V angle^2/2 over that rate.
    """
    return float(tas**2 * angle**2 / (2.0 * STANDARD_GRAVITY * max(abs(load_factor - 1.0), 0.1)))
