"""Descent at idle or a stated power, by schedule, with or without speedbrake."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from sortiewright.pack import Pack
from sortiewright.performance.climb_path import FlownPath
from sortiewright.performance.climb_schedule import Segment, SpeedChange, SteadySpeed, fly_schedule
from sortiewright.performance.level_flight import FlightCases, FlightSetup


@dataclass(frozen=True, slots=True)
class DescentSchedule:
    """Constant Mach number, then constant CAS m/s; ``power`` None is idle."""

    cas: float
    mach: float | None = None
    power: str | None = None


def fly_descent(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    schedule: DescentSchedule,
    *,
    altitude: ArrayLike,
    mach: ArrayLike,
    to_altitude: ArrayLike,
    to_cas: float | None = None,
) -> FlownPath:
    """Return the descent: level slowing down to the schedule, the schedule, level slowing down to ``to_cas``.

    ``altitude`` and ``to_altitude`` m and the Mach number at the start are numbers or (n,). Put the
    speedbrake into ``setup``. An aircraft slower than the schedule holds its Mach number until it is there.
    NaN from where the power does not let the aircraft come down or slow down.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.
    """
    power = schedule.power or pack.engine.idle
    steady = SteadySpeed(power, schedule.cas, schedule.mach, no_faster=True)
    segments: list[Segment] = [SpeedChange(power, schedule.cas, schedule.mach, only_slower=True), steady]
    if to_cas is not None:
        segments.append(SpeedChange(power, to_cas))
    return fly_schedule(
        pack, setup, cases, tuple(segments), altitude=altitude, mach=mach, to_altitude=to_altitude
    )
