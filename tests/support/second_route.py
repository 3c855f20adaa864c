"""A second road to a route: equations of motion stepped over time, one phase after another.

Shares the pack's tables with the program and nothing else: atmosphere, calibrated airspeed, lift and drag,
winds between levels and part power are written anew, in plain numbers, and integrated by scipy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, exp, radians, sin, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

G, R, GAMMA = 9.80665, 287.05287, 1.4
P0, T0 = 101_325.0, 288.15
KNOT, FOOT = 1852.0 / 3600.0, 0.3048
STEP = 1.0  # m, over which the slope of speed with height is taken


@dataclass
class Day:
    """Levels of wind: pressure altitude m, degrees from, m/s, K above standard; straight between them."""

    levels: Sequence[tuple[float, float, float, float]]

    def at(self, height: float) -> tuple[float, float, float]:
        """Return the wind's parts from north and east, m/s, and the deviation, K."""
        heights = [level[0] for level in self.levels]
        north = [level[2] * cos(radians(level[1])) for level in self.levels]
        east = [level[2] * sin(radians(level[1])) for level in self.levels]
        warm = [level[3] for level in self.levels]
        return tuple(float(np.interp(height, heights, part)) for part in (north, east, warm))


@dataclass
class Craft:
    """The aircraft: a pack's tables, a drag index, clean."""

    pack: object
    drag_index: float

    def forces(self, mass: float, height: float, tas: float, warm: float, load: float, power: str):
        """Return thrust along and drag, N, and fuel flow, kg/s, at a setting."""
        mach, pressure_force = self._flight(height, tas, warm)
        setting = self.pack.engine.settings[power]
        thrust, flow = self._engine(setting, mach, height, warm)
        alpha = self._alpha(mass, mach, pressure_force, load, thrust)
        return (
            thrust * cos(alpha + self.pack.airframe.thrust_inclination),
            self._drag(alpha, mach, pressure_force),
            flow,
        )

    def level_flow(self, mass: float, height: float, tas: float, warm: float) -> float:
        """Return the fuel flow that holds the speed: straight lines over thrust through the settings."""
        mach, pressure_force = self._flight(height, tas, warm)
        thrust = 0.0
        for _ in range(30):
            alpha = self._alpha(mass, mach, pressure_force, 1.0, thrust)
            tilt = cos(alpha + self.pack.airframe.thrust_inclination)
            thrust = self._drag(alpha, mach, pressure_force) / tilt
        known = [
            self._engine(self.pack.engine.settings[name], mach, height, warm) for name in ("idle", "military")
        ]
        return float(np.interp(thrust, [one[0] for one in known], [one[1] for one in known]))

    def _flight(self, height: float, tas: float, warm: float) -> tuple[float, float]:
        temperature = standard_temperature(height) + warm
        density = standard_pressure(height) / (R * temperature)
        force = 0.5 * density * tas**2 * self.pack.airframe.wing_area
        return tas / sqrt(GAMMA * R * temperature), force

    def _engine(self, setting, mach: float, height: float, warm: float) -> tuple[float, float]:
        count = self.pack.engine.count
        thrust, flow = float(setting.thrust(mach, height)), float(setting.fuel_flow(mach, height))
        if setting.thrust_temperature_factor is not None:
            thrust *= float(setting.thrust_temperature_factor(warm))
        if setting.fuel_flow_temperature_factor is not None:
            flow *= float(setting.fuel_flow_temperature_factor(warm))
        return count * thrust, count * flow

    def _alpha(self, mass: float, mach: float, force: float, load: float, thrust: float) -> float:
        lift = self.pack.aero.configurations["clean"].lift

        def over(alpha: float) -> float:
            tilt = sin(alpha + self.pack.airframe.thrust_inclination)
            return force * float(lift(alpha, mach)) + thrust * tilt - load * mass * G

        return brentq(over, radians(-4.0), radians(16.0), xtol=1e-12)

    def _drag(self, alpha: float, mach: float, force: float) -> float:
        table = float(self.pack.aero.configurations["clean"].drag(alpha, mach))
        return force * (table + self.drag_index * self.pack.aero.drag_per_index)


@dataclass
class Flight:
    """The state between phases: along the leg m, height m, speed m/s, mass kg, clock s."""

    craft: Craft
    day: Day
    along: float
    height: float
    tas: float
    mass: float
    clock: float = 0.0

    def change_speed(self, course: float, power: str, to_mach: float) -> None:
        """Accelerate or slow down level."""
        _, _, warm = self.day.at(self.height)
        goal = to_mach * sqrt(GAMMA * R * (standard_temperature(self.height) + warm))

        def rates(_: float, y: Sequence[float]) -> list[float]:
            along, tas, mass = y
            del along
            thrust, drag, flow = self.craft.forces(mass, self.height, tas, warm, 1.0, power)
            return [self._ground(course, self.height, tas, 0.0), (thrust - drag) / mass, -flow]

        self._fly(rates, [self.along, self.tas, self.mass], lambda y: y[1] - goal)
        self.along, self.tas, self.mass = self._end

    def change_height(
        self, course: float, power: str, speed: Callable[[float], float], to_height: float
    ) -> None:
        """Climb or come down at a Mach number that hangs on height."""

        def tas_at(height: float) -> float:
            warm = self.day.at(height)[2]
            return speed(height) * sqrt(GAMMA * R * (standard_temperature(height) + warm))

        def rates(_: float, y: Sequence[float]) -> list[float]:
            _, height, mass = y
            warm = self.day.at(height)[2]
            tas = tas_at(height)
            thicker = (standard_temperature(height) + warm) / standard_temperature(height)
            slope = (tas_at(height + STEP) - tas_at(height - STEP)) / (2.0 * STEP * thicker)
            sine = 0.0
            flow = 0.0
            for _ in range(4):
                level = sqrt(1.0 - sine**2)
                thrust, drag, flow = self.craft.forces(mass, height, tas, warm, level, power)
                sine = (thrust - drag) / (mass * G) / (1.0 + tas * slope / G)
            return [self._ground(course, height, tas, sine), tas * sine / thicker, -flow]

        self._fly(rates, [self.along, self.height, self.mass], lambda y: y[1] - to_height)
        self.along, self.height, self.mass = self._end
        self.tas = tas_at(self.height)

    @property
    def mach(self) -> float:
        """Mach number now."""
        warm = self.day.at(self.height)[2]
        return self.tas / sqrt(GAMMA * R * (standard_temperature(self.height) + warm))

    def cruise(self, course: float, to_along: float) -> None:
        """Hold height and speed to a place on the leg."""
        _, _, warm = self.day.at(self.height)

        def rates(_: float, y: Sequence[float]) -> list[float]:
            flow = self.craft.level_flow(y[1], self.height, self.tas, warm)
            return [self._ground(course, self.height, self.tas, 0.0), -flow]

        self._fly(rates, [self.along, self.mass], lambda y: y[0] - to_along)
        self.along, self.mass = self._end

    def _ground(self, course: float, height: float, tas: float, sine: float) -> float:
        north, east, _ = self.day.at(height)
        head = north * cos(radians(course)) + east * sin(radians(course))
        across = east * cos(radians(course)) - north * sin(radians(course))
        level = tas * sqrt(1.0 - sine**2)
        return sqrt(level**2 - across**2) - head

    def _fly(self, rates: Callable, start: list[float], gap: Callable) -> None:
        if abs(gap(start)) < 1e-9:
            self._end = start
            return

        def event(_: float, y: Sequence[float]) -> float:
            return gap(y)

        event.terminal = True
        found = solve_ivp(rates, (0.0, 3_600.0), start, events=event, rtol=1e-5, atol=1e-4, max_step=60.0)
        assert found.t_events[0].size, "the phase does not end"
        self._end = [float(one) for one in found.y_events[0][0]]
        self.clock += float(found.t_events[0][0])


def standard_temperature(height: float) -> float:
    """ICAO Doc 7488: 6.5 K a kilometre to 11 km, K."""
    return max(T0 - 0.0065 * height, 216.65)


def standard_pressure(height: float) -> float:
    """ICAO Doc 7488, Pa."""
    if height <= 11_000.0:
        return P0 * (1.0 - 0.0065 * height / T0) ** (G / (R * 0.0065))
    return standard_pressure(11_000.0) * exp(-(height - 11_000.0) * G / (R * 216.65))


def mach_of_cas(cas: float, height: float) -> float:
    """Return the Mach number of a calibrated airspeed below sonic: NACA Report 837."""
    sound = sqrt(GAMMA * R * T0)
    impact = P0 * ((1.0 + 0.2 * (cas / sound) ** 2) ** 3.5 - 1.0)
    return sqrt(5.0 * ((impact / standard_pressure(height) + 1.0) ** (1.0 / 3.5) - 1.0))
