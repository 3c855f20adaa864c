"""The air of a day, and a pack's tables read one point at a time."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from math import nan, sqrt

from sortiewright.pack import Pack, Table

G = 9.80665  # m/s2
R = 287.05287  # J/(kg K) [1]
P0, T0, A0 = 101_325.0, 288.15, 340.294  # [1]
LB, KT, FT = 0.45359237, 1852 / 3600, 0.3048
LBF = LB * G
MFT_LBF = 1.3558179483e6  # J


@dataclass(frozen=True)
class Day:
    """Air, wind and runway. ``slope`` is rise over run, ``reading`` the runway condition reading."""

    pressure: float = P0
    temperature: float = T0
    headwind: float = 0.0
    slope: float = 0.0
    reading: float = 23.0

    @cached_property
    def density(self) -> float:
        """Density, kg/m3."""
        return self.pressure / (R * self.temperature)

    @cached_property
    def sound(self) -> float:
        """Speed of sound, m/s."""
        return sqrt(1.4 * R * self.temperature)

    @cached_property
    def pressure_altitude(self) -> float:
        """Height at which the standard atmosphere has this pressure, m; below 11 km."""
        return T0 / 0.0065 * (1 - (self.pressure / P0) ** (0.0065 * R / G))

    @cached_property
    def deviation(self) -> float:
        """Temperature less the standard one at this pressure, K."""
        return self.temperature - (T0 - 0.0065 * self.pressure_altitude)

    def cas(self, tas: float) -> float:
        """Return the calibrated airspeed of a true airspeed, subsonic."""
        impact = self.pressure * ((1 + 0.2 * (tas / self.sound) ** 2) ** 3.5 - 1)
        return A0 * sqrt(5 * ((impact / P0 + 1) ** (2 / 7) - 1))

    def tas(self, cas: float) -> float:
        """Return the true airspeed of a calibrated airspeed, subsonic."""
        impact = P0 * ((1 + 0.2 * (cas / A0) ** 2) ** 3.5 - 1)
        return self.sound * sqrt(5 * ((impact / self.pressure + 1) ** (2 / 7) - 1))


def standard_day(pressure_altitude: float = 0.0, deviation: float = 0.0, **rest: float) -> Day:
    """Return the standard day at a pressure altitude, m, or one that much warmer."""
    standard = T0 - 0.0065 * pressure_altitude
    return Day(P0 * (standard / T0) ** (G / (0.0065 * R)), standard + deviation, **rest)


class Lookup:
    """A table of one or two axes, read by straight lines; plain floats, for speed."""

    def __init__(self, table: Table) -> None:
        self.axes = [axis.tolist() for axis in table.axes]
        self.values = table.values.tolist()

    def __call__(self, first: float, second: float | None = None) -> float:
        i, a = self.place(0, first)
        if second is None:
            return self.values[i] * (1 - a) + self.values[i + 1] * a
        j, b = self.place(1, second)
        low, high = self.values[i], self.values[i + 1]
        return (low[j] * (1 - b) + low[j + 1] * b) * (1 - a) + (high[j] * (1 - b) + high[j + 1] * b) * a

    def place(self, axis: int, point: float) -> tuple[int, float]:
        """Return the cell and the share of it at which a point lies."""
        points = self.axes[axis]
        if not points[0] - 1e-9 <= point <= points[-1] + 1e-9:
            raise ValueError(f"{point} is outside {points[0]} to {points[-1]}")
        cell = min(max(bisect_right(points, point) - 1, 0), len(points) - 2)
        return cell, (point - points[cell]) / (points[cell + 1] - points[cell])


class Wing:
    """Lift and drag of one configuration, gear up, no stores."""

    def __init__(self, pack: Pack, name: str) -> None:
        record = pack.aero.configurations[name]
        self.record, self.lift, self.drag = record, Lookup(record.lift), Lookup(record.drag)
        self.maximum_lift = Lookup(record.maximum_lift)
        # At zero lift, or where the table begins if it has lift from its first angle on.
        angles, machs = record.lift.axes
        self.machs = machs.tolist()
        self.zero = [self.angle_of(0.0, mach, angles.tolist()) for mach in self.machs]

    def angle_of(self, cl: float, mach: float, angles: list[float] | None = None) -> float:
        """Return the angle of attack below the stall at which lift has this coefficient."""
        known = self.lift.axes[0] if angles is None else angles
        lifts = [self.lift(angle, mach) for angle in known]
        for k in range(len(known) - 1):
            if lifts[k] <= cl <= lifts[k + 1]:
                return known[k] + (known[k + 1] - known[k]) * (cl - lifts[k]) / (lifts[k + 1] - lifts[k])
        return known[0] if cl < lifts[0] else nan

    def parts(self, alpha: float, mach: float) -> tuple[float, float, float]:
        """Return CL, CD at zero lift and CD due to lift."""
        k = min(max(bisect_right(self.machs, mach) - 1, 0), len(self.machs) - 2)
        share = (mach - self.machs[k]) / (self.machs[k + 1] - self.machs[k])
        least = self.drag(self.zero[k] * (1 - share) + self.zero[k + 1] * share, mach)
        return self.lift(alpha, mach), least, self.drag(alpha, mach) - least
