"""The line of heights and Mach numbers by which a route goes from one level and speed to another."""

from __future__ import annotations

from functools import lru_cache

from sortiewright.air import (
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    STANDARD_GRAVITY,
    cas_from_mach,
    impact_pressure,
    mach_from_cas,
    pressure_altitude,
    speed_of_sound,
    standard_pressure,
    standard_temperature,
)
from sortiewright.performance.layered_flight import Stretch

SMALL_CHANGE = 609.6  # m, 2,000 ft: flown at the CAS there is, as no one changes speed for so little
LEAST_STRETCH = 1.0  # m; a shorter one at one speed is left to its neighbour
MACH_STEP = 0.005  # a smaller difference to the schedule is no speed change
ZOOM_HALVINGS = 8  # leaves 1/256 of the climb
ZOOM_SHARE = 3.0  # height a climb takes to trade its excess speed, over what that speed is worth


def schedule_mach(cas: float, mach: float | None, altitude: float) -> float:
    """Return the Mach number of a schedule at a pressure altitude, m: the lower of CAS, m/s, and Mach."""
    number = _mach_at(cas, altitude)
    return number if mach is None else min(number, mach)


def climb_stretches(
    altitude: float, mach: float, to_altitude: float, *, cas: float, schedule: float | None
) -> tuple[list[Stretch], float]:
    """Return the stretches of a climb from a height, m, and Mach number, and the Mach number at its end.

    Slower than the schedule (``cas`` m/s, then Mach ``schedule``), the aircraft first accelerates level;
    faster, it trades the excess for height over three times what that is worth. A climb of less than
    2,000 ft is flown at the CAS there is.
    """
    if to_altitude - altitude < SMALL_CHANGE:
        return _small_change(altitude, mach, to_altitude)
    wanted = schedule_mach(cas, schedule, altitude)
    stretches: list[Stretch] = []
    bottom = altitude
    if mach < wanted - MACH_STEP:
        stretches.append(Stretch(altitude, altitude, mach_line=(mach, wanted)))
    elif mach > wanted + MACH_STEP:
        bottom, ends = _zoom(altitude, mach, to_altitude, cas, schedule)
        stretches.append(Stretch(altitude, bottom, mach_line=(mach, ends)))
        if bottom >= to_altitude:
            return stretches, ends
    stretches += _steady(bottom, to_altitude, cas, schedule)
    return stretches, schedule_mach(cas, schedule, to_altitude)


def descent_stretches(
    altitude: float, mach: float, to_altitude: float, *, cas: float, schedule: float | None
) -> tuple[list[Stretch], float]:
    """Return the stretches of a descent, and the Mach number at its end; arguments as ``climb_stretches``.

    Faster than the schedule the aircraft first slows down level; slower, it holds its Mach number until the
    CAS is there.
    """
    if altitude - to_altitude < SMALL_CHANGE:
        return _small_change(altitude, mach, to_altitude)
    wanted = schedule_mach(cas, schedule, altitude)
    stretches: list[Stretch] = []
    if mach > wanted + MACH_STEP:
        stretches.append(Stretch(altitude, altitude, mach_line=(mach, wanted)))
        mach = wanted
    held = mach if schedule is None else min(mach, schedule)
    stretches += _steady(altitude, to_altitude, cas, held)
    return stretches, schedule_mach(cas, held, to_altitude)


def crossing_altitude(cas: float, mach: float, low: float, high: float) -> float:
    """Return the pressure altitude, m, where a CAS, m/s, is a Mach number, or the nearer of both bounds."""
    pressure = _crossing_pressure(cas, mach)
    if pressure >= float(standard_pressure(low)):
        return low
    if pressure <= float(standard_pressure(high)):
        return high
    return float(pressure_altitude(pressure))


def _zoom(
    altitude: float, mach: float, to_altitude: float, cas: float, schedule: float | None
) -> tuple[float, float]:
    """Return the height at which excess speed has become height, or the climb ends, and Mach there.

    A third of the height gained is paid by speed, the rest by power.
    """
    sound = _sound(altitude)

    def left(height: float) -> float:
        square = mach**2 - 2.0 * STANDARD_GRAVITY * (height - altitude) / (ZOOM_SHARE * sound**2)
        return max(square, 0.0) ** 0.5

    low, high = altitude, to_altitude
    if (slowed := left(high)) >= schedule_mach(cas, schedule, high):
        return high, slowed
    for _ in range(ZOOM_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if left(middle) > schedule_mach(cas, schedule, middle) else (low, middle)
    return high, schedule_mach(cas, schedule, high)


def _steady(low: float, high: float, cas: float, mach: float | None) -> list[Stretch]:
    if mach is None:
        return [Stretch(low, high, cas=cas)]
    crossing = crossing_altitude(cas, mach, min(low, high), max(low, high))
    # Above the crossing the Mach number is the lower, below it the CAS.
    if min(abs(crossing - low), abs(crossing - high)) < LEAST_STRETCH:
        below = abs(crossing - max(low, high)) < LEAST_STRETCH
        return [Stretch(low, high, cas=cas) if below else Stretch(low, high, mach=mach)]
    first, last = Stretch(low, crossing, cas=cas), Stretch(crossing, high, mach=mach)
    if low > high:
        first, last = Stretch(low, crossing, mach=mach), Stretch(crossing, high, cas=cas)
    return [first, last]


def _small_change(altitude: float, mach: float, to_altitude: float) -> tuple[list[Stretch], float]:
    cas = float(cas_from_mach(mach, standard_pressure(altitude)))
    return [Stretch(altitude, to_altitude, cas=cas)], _mach_at(cas, to_altitude)


@lru_cache(maxsize=256)
def _mach_at(cas: float, altitude: float) -> float:
    return float(mach_from_cas(cas, standard_pressure(altitude)))


@lru_cache(maxsize=64)
def _crossing_pressure(cas: float, mach: float) -> float:
    felt = impact_pressure(cas / SEA_LEVEL_SPEED_OF_SOUND, SEA_LEVEL_PRESSURE)
    return float(felt / impact_pressure(mach, 1.0))


def _sound(altitude: float) -> float:
    return float(speed_of_sound(standard_temperature(altitude)))
