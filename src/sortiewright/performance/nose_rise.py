"""How the nose starts to rise: the stick takes its time, and the aircraft has to be turned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.performance.nosewheel import NosewheelBalance, pitch_control_angle

Floats = NDArray[np.float64]

SPEED_STEP = 5.0  # m/s over which the growth of the moments is taken
LONGEST = 20.0  # s
LEAST_GROWTH = 1e-6  # of the weight times the chord, each second: moments that do not grow give no rate


@dataclass(frozen=True, slots=True)
class NoseRise:
    """From the nosewheel's leaving the ground until the nose rises at its rate, (n,) each."""

    waited: Floats
    """Speed gained between planned rotation and nosewheel lift-off while the stick travels, m/s."""
    build_up: Floats
    """Time until the rate is there, s."""
    gained: Floats
    """How far the nose has risen by then, rad."""

    def where(self, kept: NDArray[np.bool_]) -> NoseRise:
        """Return the rise of the rows that are ``kept``, and one at once of the others."""
        parts = (self.waited, self.build_up, self.gained)
        return NoseRise(*(np.where(kept, part, 0.0) for part in parts))

    def take(self, rows: NDArray[np.intp]) -> NoseRise:
        """Return the rise of these rows, repeats allowed."""
        return NoseRise(self.waited[rows], self.build_up[rows], self.gained[rows])


def nose_rise(
    balance: NosewheelBalance,
    thrust_at: Callable[[Floats], Floats],
    windmilling: float,
    acceleration: Floats,
    planned: Floats,
    lift_off: Floats,
    rate: Floats,
    stick_time: float,
) -> NoseRise:
    """Return how the nose starts to rise when the stick goes from neutral to full aft in ``stick_time`` s
    from true airspeed ``planned`` m/s.

    ``lift_off``: true airspeed at which full aft stick lifts the nosewheel, or ``planned`` if that is later;
    ``rate`` rad/s is what the pilot then holds; ``acceleration`` m/s2 along the runway.

    Plane rotation about the main wheels: (m (k^2 + a^2 + h^2)) dq/dt = surplus of the nose-up moment, k the
    radius of gyration, a and h how far the centre of gravity lies before and above the wheels' contact
    (Newton's second law for rotation, parallel axes). The surplus is that of the attitude on three wheels and
    is taken to grow evenly with speed, and with the stick until that is aft.
    """
    pack, cases = balance.pack, balance.cases
    frame, control = pack.airframe, pack.aero.pitch_control
    reached = np.isfinite(lift_off) & (acceleration > 0.0)
    start = np.where(reached, planned, 50.0)
    late = reached & (lift_off > planned + acceleration * stick_time)
    at = np.where(late, lift_off, start)

    def surplus(airspeed: Floats) -> Floats:
        thrust = thrust_at(np.minimum(airspeed / cases.speed_of_sound, balance.fastest))
        return balance.surplus(airspeed, thrust, windmilling=windmilling)

    least = LEAST_GROWTH * cases.weight * frame.mean_chord
    now = surplus(at)
    growth = np.maximum((surplus(at + SPEED_STEP) - now) / SPEED_STEP * acceleration, least)
    if stick_time > 0.0:
        travel = float(pitch_control_angle(pack, 1.0, 0.0) - pitch_control_angle(pack, 0.0, 0.0))
        q_s = 0.5 * cases.density * start**2 * frame.wing_area
        by_stick = q_s * frame.mean_chord * control.moment_per_angle * travel
        with_stick = growth + by_stick / stick_time
        wait = np.where(late, stick_time, np.clip((by_stick - now) / with_stick, 0.0, stick_time))
        first = np.where(late, 0.0, np.maximum(now - by_stick, 0.0))
        travelling = stick_time - wait
    else:
        with_stick, wait, travelling = growth, np.zeros(cases.count), np.zeros(cases.count)
        first = np.where(late, 0.0, np.maximum(now, 0.0))
    above, before = frame.centre_of_gravity_height, frame.main_wheel_arm - cases.balance_arm
    radius = frame.pitch_radius_of_gyration or 0.0
    inertia = cases.mass * (radius**2 + before**2 + above**2)
    build_up, gained = _until_rate(rate * inertia, first, with_stick, travelling, growth)
    kept = reached & (build_up < LONGEST)
    none = np.zeros(cases.count)
    return NoseRise(
        np.where(reached & ~late, acceleration * wait, none),
        np.where(kept, build_up, none),
        np.where(kept, gained / inertia, none),
    )


def _until_rate(
    wanted: Floats, first: Floats, growth: Floats, while_: Floats, growth_after: Floats
) -> tuple[Floats, Floats]:
    """Return the time until a moment has given the angular momentum ``wanted``, and the integral of the
    momentum over it.

    The moment is ``first``, grows by ``growth`` a second for ``while_`` s and by ``growth_after`` from then.
    """
    at_end = first + growth * while_
    given = first * while_ + 0.5 * growth * while_**2
    early = wanted <= given
    short = 2.0 * wanted / (first + np.sqrt(first**2 + 2.0 * growth * wanted))
    rest = np.where(early, 0.0, wanted - given)
    more = 2.0 * rest / (at_end + np.sqrt(at_end**2 + 2.0 * growth_after * rest) + 1e-300)
    inside = first * short**2 / 2.0 + growth * short**3 / 6.0
    outside = first * while_**2 / 2.0 + growth * while_**3 / 6.0
    outside = outside + given * more + at_end * more**2 / 2.0 + growth_after * more**3 / 6.0
    return np.where(early, short, while_ + more), np.where(early, inside, outside)
