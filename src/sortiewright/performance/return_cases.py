"""What a way home is computed from: the air above, the aircraft as it comes home, and where it starts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import mach_from_cas, speed_of_sound, standard_pressure, standard_temperature

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
SpeedRule = Literal["mach", "cas", "tas", "ground_speed", "range", "ground_range", "endurance"]


@dataclass(frozen=True, slots=True)
class AirAbove:
    """Pressure altitudes m, rising, and the deviation from standard temperature there, K; both (k,).

    Between heights all goes straight; beyond them the nearest holds, so ask for no level beyond them.
    """

    altitudes: Floats
    isa_deviation: Floats

    def deviation(self, altitude: Floats) -> Floats:
        """Return the deviation from standard temperature at pressure altitudes, K."""
        return np.interp(altitude, self.altitudes, self.isa_deviation)

    def sound(self, altitude: Floats) -> Floats:
        """Return the speed of sound at pressure altitudes, m/s."""
        return speed_of_sound(standard_temperature(altitude) + self.deviation(altitude))

    def at(self, values: Sequence[Floats], rows: Indices, altitude: Floats) -> list[Floats]:
        """Return each of ``values`` (n, k) of these rows at altitudes (r, m), straight between the
        heights."""
        if len(self.altitudes) == 1:
            return [one[rows][:, :1] + 0.0 * altitude for one in values]
        cell = self.altitudes[1:-1].searchsorted(altitude)
        low = self.altitudes[cell]
        part = (altitude - low) / (self.altitudes[cell + 1] - low)
        part = np.minimum(np.maximum(part, 0.0), 1.0)
        place = rows[:, None] * len(self.altitudes) + cell
        found: list[Floats] = []
        for one in values:
            flat = one.ravel()
            below = flat[place]
            found.append(below + part * (flat[place + 1] - below))
        return found


class CruiseSpeed(NamedTuple):
    """Speed of a cruise: ``value`` m/s or Mach of ``mach``, ``cas``, ``tas`` or ``ground_speed``, or the best
    for ``range`` through the air, ``ground_range`` or ``endurance``, to a hundredth of Mach."""

    rule: SpeedRule = "ground_range"
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class HomeProfiles:
    """The aircraft as it comes home, and how the book flies it there; every array (c,).

    ``failed`` counts dead engines. ``dry_mass`` kg is all but the fuel it can use, ``fuel_at_fix`` kg what
    of that is to be left. Speeds m/s CAS, altitudes pressure altitude m. A Mach number of the schedules that
    is ``inf`` limits nothing; ``cruise_altitude`` NaN is sought. ``speeds`` has one entry a profile.
    """

    dry_mass: Floats
    drag_index: Floats
    fuel_at_fix: Floats
    fix_altitude: Floats
    gear: Floats
    failed: Indices
    climb_cas: Floats
    climb_mach: Floats
    descent_cas: Floats
    descent_mach: Floats
    maximum_cas: Floats
    maximum_mach: Floats
    cruise_altitude: Floats
    speeds: tuple[CruiseSpeed, ...]

    @property
    def mass_at_fix(self) -> Floats:
        """Mass at the recovery fix, kg."""
        return self.dry_mass + self.fuel_at_fix

    def take(self, rows: Indices) -> HomeProfiles:
        """Return these profiles."""
        arrays = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return HomeProfiles(**arrays, speeds=tuple(self.speeds[int(row)] for row in rows))

    def limited(self) -> HomeProfiles:
        """Return the same with schedules that keep the limits of speed."""
        return replace(
            self,
            climb_cas=np.minimum(self.climb_cas, self.maximum_cas),
            climb_mach=np.minimum(self.climb_mach, self.maximum_mach),
            descent_cas=np.minimum(self.descent_cas, self.maximum_cas),
            descent_mach=np.minimum(self.descent_mach, self.maximum_mach),
        )


_ARRAYS = tuple(field.name for field in fields(HomeProfiles) if field.name != "speeds")


@dataclass(frozen=True, slots=True)
class HomeStarts:
    """Where the ways home start, (n,): which profile, distance over the ground m, pressure altitude m, Mach.

    ``headwind`` and ``crosswind`` m/s, (n, k), are those on the way home at the heights of the air above.
    """

    profile: Indices
    distance: Floats
    altitude: Floats
    mach: Floats
    headwind: Floats
    crosswind: Floats

    def take(self, rows: Indices) -> HomeStarts:
        """Return these starts."""
        return HomeStarts(*(getattr(self, field.name)[rows] for field in fields(self)))


@dataclass(frozen=True, slots=True)
class HomePower:
    """Settings of the engines on the way home; ``level`` is the highest allowed in level flight."""

    climb: str
    level: str
    descent: str
    speedbrake: float = 0.0


@dataclass(frozen=True, slots=True)
class WayHome:
    """The cheapest way home found for each start, (n,), NaN where there is none.

    Cruise at a pressure altitude m and a Mach number. Fuel kg: ``first_fuel`` from the start to that (a
    climb, or a descent where the start is higher), ``cruise_fuel``, ``descent_fuel``; ``bingo`` is their sum
    and the fuel at the fix. Time s, distances over the ground m. ``past_fix`` m: how much further than the
    fix the descent alone reaches, flown off in a turn.
    """

    altitude: Floats
    mach: Floats
    first_fuel: Floats
    cruise_fuel: Floats
    descent_fuel: Floats
    bingo: Floats
    time: Floats
    first_distance: Floats
    cruise_distance: Floats
    descent_distance: Floats
    past_fix: Floats


def scheduled_mach(cas: Floats, mach: Floats, altitude: Floats) -> Floats:
    """Return the lower of a calibrated airspeed m/s and a Mach number, as a Mach number."""
    return np.minimum(mach_from_cas(cas, standard_pressure(altitude)), mach)
