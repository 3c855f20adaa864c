"""The parts of a way home, computed from their ends backwards: cells of a climb or descent, and cruise.

A part is cut into cells of height or speed. The energy height over a cell is known, excess power at its
middle is its rate (dt = dE/P_s), and the mass there is that at the end plus what is burnt from there on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import (
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_SPEED_OF_SOUND,
    STANDARD_GRAVITY,
    impact_pressure,
    pressure_altitude,
    standard_pressure,
    standard_temperature,
)
from sortiewright.pack import Pack
from sortiewright.performance.forces import Devices
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightPoint,
    FlightSetup,
    flight_point,
    flight_setup,
    steady_level_flight,
)
from sortiewright.performance.return_cases import AirAbove, HomeProfiles, scheduled_mach

Floats = NDArray[np.float64]

FASTEST = 5.0  # Mach number that stands for no limit
CRUISE_MASSES = 5
_NODES = 0.5 - 0.5 * np.cos(np.pi * (np.arange(CRUISE_MASSES) + 0.5) / CRUISE_MASSES)
_FIT = np.linalg.inv(np.vander(_NODES, increasing=True))


@dataclass(frozen=True, slots=True)
class Craft:
    """The aircraft on its way home, and how far the speedbrake is out in descents."""

    pack: Pack
    speedbrake: float = 0.0

    @property
    def configuration(self) -> str:
        """The configuration without flap, by name."""
        known = self.pack.aero.configurations
        return self.pack.technique.landing.no_flap_configuration or next(iter(known))

    def setup(self, profiles: HomeProfiles, across: int, speedbrake: float = 0.0) -> FlightSetup:
        """Return how it is set, with gear and dead engines of each profile ``across`` times over."""
        plain = flight_setup(self.pack, self.configuration)
        out = profiles.gear.repeat(across) if profiles.gear.any() else 0.0
        dead = profiles.failed.repeat(across) if profiles.failed.any() else 0
        return FlightSetup(plain.configuration, Devices(out, speedbrake), dead)


@dataclass(frozen=True, slots=True)
class Cells:
    """Cells of a path, (r, m): pressure altitude m, Mach number, true airspeed m/s at their middles, the
    energy height and the height gained over them, m."""

    altitude: Floats
    mach: Floats
    tas: Floats
    gain: Floats
    rise: Floats


@dataclass(frozen=True, slots=True)
class Part:
    """What a part costs, (r, m) by cell: time s, fuel kg, speed along the ground's plane m/s."""

    time: Floats
    fuel: Floats
    level_speed: Floats

    @property
    def burnt(self) -> Floats:
        """Fuel of the whole part, kg."""
        return self.fuel.sum(axis=1)


def cells_between(air: AirAbove, altitude: Floats, mach: Floats) -> Cells:
    """Return the cells between edges of pressure altitude m and Mach number, (r, m + 1)."""
    middle = 0.5 * (altitude[:, 1:] + altitude[:, :-1])
    number = 0.5 * (mach[:, 1:] + mach[:, :-1])
    warm = 1.0 + air.deviation(middle) / standard_temperature(middle)
    rise = warm * np.diff(altitude, axis=1)
    speed = mach * air.sound(altitude)
    gain = rise + np.diff(speed**2, axis=1) / (2.0 * STANDARD_GRAVITY)
    return Cells(middle, number, 0.5 * (speed[:, 1:] + speed[:, :-1]), gain, rise)


def forces(
    craft: Craft,
    profiles: HomeProfiles,
    air: AirAbove,
    power: str,
    *,
    mass: Floats,
    altitude: Floats,
    mach: Floats,
    load_factor: Floats | float = 1.0,
    speedbrake: float = 0.0,
) -> FlightPoint:
    """Return flight at a setting for each profile (r,) at points (r, m), each in the air of its height.

    ``mass`` may have one axis more than ``altitude`` and ``mach``, (r, m, p): masses at the same point. Or
    ``mach``, (p,), is the same at every height, and the result is (r, m, p).
    """
    count = altitude.size
    many = mach.shape if mach.ndim == 1 else mass.shape[2:]
    shape, columns = (*altitude.shape, *many), (count,) + (1,) * len(many)
    weighed = altitude.shape if mach.ndim == 1 else shape
    warm, one = air.deviation(altitude.ravel()), np.ones(count)
    across = count // len(profiles.failed)
    if isinstance(load_factor, np.ndarray):
        load_factor = _whole(load_factor, altitude.shape).reshape(columns)
    point = flight_point(
        craft.pack,
        craft.setup(profiles, across, speedbrake),
        FlightCases(one, profiles.drag_index.repeat(across), warm, one, one, one, one),
        power,
        mass=_whole(mass, weighed).reshape(columns if mach.ndim == 1 else (count, *many)),
        pressure_altitude=altitude.reshape(columns),
        mach=mach[None] if mach.ndim == 1 else mach.reshape(columns),
        load_factor=load_factor,
    )
    parts = (point.tas, point.angle_of_attack, point.thrust, point.drag, point.fuel_flow, point.energy_rate)
    return FlightPoint(*(part.reshape(shape) for part in parts))


def _whole(values: Floats, shape: tuple[int, ...]) -> Floats:
    return values if values.shape == shape else values + np.zeros(shape)


def level_lines(
    craft: Craft,
    profiles: HomeProfiles,
    air: AirAbove,
    power: str,
    altitude: Floats,
    mach: Floats,
    most: Floats,
) -> Floats:
    """Return 1/(fuel flow), s/kg, in level flight as a polynomial of the share of ``most`` kg burnt, (r, p).

    Share 0 is the mass at the fix. NaN where the weight cannot be carried or the speed not held.
    """
    mass, one = profiles.mass_at_fix[:, None] + most[:, None] * _NODES, np.ones(len(altitude))
    level = steady_level_flight(
        craft.pack,
        craft.setup(profiles, 1),
        FlightCases(one, profiles.drag_index, air.deviation(altitude), 0.0 * one, one, one, one),
        mass=mass,
        pressure_altitude=altitude[:, None],
        mach=mach[:, None],
        power=power,
    )
    return (1.0 / level.fuel_flow) @ _FIT.T


def burnt_over(line: Floats, most: Floats, first: Floats, time: Floats) -> Floats:
    """Return the fuel, kg, that level flight burns in ``time`` s up to where ``first`` kg are left over the
    mass at the fix: the polynomial's integral, solved for its upper end by Newton's method."""
    whole: Floats = line / np.arange(1.0, line.shape[1] + 1.0)
    low = first / most
    goal = _polynomial(whole, low) * low + time / most
    share = low + time / most / _polynomial(line, low)
    for _ in range(4):
        share = share - (_polynomial(whole, share) * share - goal) / _polynomial(line, share)
    return (share - low) * most


def time_left(line: Floats, most: Floats, left: Floats) -> Floats:
    """Return how long level flight lasts, s, on ``left`` kg over the mass at the fix."""
    whole: Floats = line / np.arange(1.0, line.shape[1] + 1.0)
    share = left / most
    return _polynomial(whole, share) * share * most


def _polynomial(coefficients: Floats, share: Floats) -> Floats:
    total: Floats = coefficients[:, -1]
    for column in range(coefficients.shape[1] - 2, -1, -1):
        total = total * share + coefficients[:, column]
    return total


def fly_cells(
    craft: Craft,
    profiles: HomeProfiles,
    air: AirAbove,
    power: str,
    cells: Cells,
    end_mass: Floats,
    before: Part | None = None,
    speedbrake: float = 0.0,
) -> Part:
    """Return a part flown to ``end_mass`` kg, (r,); ``before`` is the sweep before this one."""
    mass, cosine = end_mass[:, None] + 0.0 * cells.tas, 1.0
    if before is not None:
        after = np.cumsum(before.fuel[:, ::-1], axis=1)[:, ::-1]
        mass = mass + or_else(after - 0.5 * before.fuel, 0.0)
        cosine = or_else(before.level_speed / cells.tas, 1.0)
    point = forces(
        craft,
        profiles,
        air,
        power,
        mass=mass,
        altitude=cells.altitude,
        mach=cells.mach,
        load_factor=cosine,
        speedbrake=speedbrake,
    )
    return part_of(cells, point.energy_rate, point.fuel_flow)


def or_else(values: Floats, otherwise: float) -> Floats:
    """Return values with another in the place of every NaN."""
    return np.where(np.isnan(values), otherwise, values)


def part_of(cells: Cells, energy_rate: Floats, flow: Floats) -> Part:
    """Return what cells cost; NaN where energy would have to change against the excess power."""
    still = np.abs(cells.gain) < 1e-9
    with np.errstate(divide="ignore", invalid="ignore"):
        time = np.where(still, 0.0, cells.gain / energy_rate)
        time = np.where(time >= 0.0, time, np.nan)
        sine = np.where(time > 0.0, cells.rise / (time * cells.tas), 0.0)
    level = cells.tas * np.sqrt(1.0 - np.minimum(sine**2, 1.0))
    return Part(time, np.where(still, 0.0, flow * time), level)


def supposed_descent(cells: Cells, fuel: Floats, way: Floats) -> Part:
    """Return a first guess of a descent that burns ``fuel`` kg over ``way`` m, (r,), evenly over its energy.

    The sweep after it is off by a thousandth, as the weight changes by under a percent on the way.
    """
    gain = np.abs(cells.gain)
    share = gain / np.maximum(gain.sum(axis=1, keepdims=True), 1e-9)
    height = cells.rise.sum(axis=1)
    cosine = way / np.maximum(np.hypot(way, height), 1e-9)
    cosine = np.where((cosine > 0.5) & np.isfinite(cosine), cosine, 1.0)
    return Part(share, or_else(fuel, 0.0)[:, None] * share, cosine[:, None] * cells.tas)


def descent_edges(
    profiles: HomeProfiles, altitude: Floats, mach: Floats, to_altitude: Floats, counts: tuple[int, int, int]
) -> tuple[Floats, Floats]:
    """Return the edges of a descent's cells, altitude and Mach number (r, m + 1).

    Level slowing down to the schedule, then down it; an aircraft slower than the schedule holds its Mach
    number until it is there. ``counts`` are the cells of the three parts.
    """
    held = np.minimum(mach, scheduled_mach(profiles.descent_cas, profiles.descent_mach, altitude))
    crossing = crossing_altitude(profiles.descent_cas, held, to_altitude, altitude)
    slowing, upper, lower = (np.linspace(0.0, 1.0, count + 1) for count in counts)
    down = np.concatenate(
        [
            altitude[:, None] + 0.0 * slowing,
            (altitude[:, None] + (crossing - altitude)[:, None] * upper)[:, 1:],
            (crossing[:, None] + (to_altitude - crossing)[:, None] * lower)[:, 1:],
        ],
        axis=1,
    )
    number = scheduled_mach(profiles.descent_cas[:, None], held[:, None], down)
    number[:, : counts[0] + 1] = mach[:, None] + (held - mach)[:, None] * slowing
    return down, number


def crossing_altitude(cas: Floats, mach: Floats, low: Floats, high: Floats) -> Floats:
    """Return the pressure altitude, m, at which a CAS is a Mach number, kept between two altitudes."""
    felt = impact_pressure(cas / SEA_LEVEL_SPEED_OF_SOUND, SEA_LEVEL_PRESSURE)
    pressure = felt / impact_pressure(np.minimum(mach, FASTEST), 1.0)
    least, most = standard_pressure(high), standard_pressure(low)
    return np.clip(pressure_altitude(np.clip(pressure, least, most)), low, high)


def acceleration_edges(altitude: Floats, mach: Floats, to_mach: Floats, count: int) -> tuple[Floats, Floats]:
    """Return the edges of a level acceleration's cells; none where the aircraft is fast enough already."""
    share = np.linspace(0.0, 1.0, count + 1)
    begin = np.minimum(mach, to_mach)
    return altitude[:, None] + 0.0 * share, begin[:, None] + (to_mach - begin)[:, None] * share


def over_ground(part: Part, wind: tuple[Floats, Floats]) -> Floats:
    """Return the distance over the ground, m, (r,), with headwind and crosswind at the cells (r, m)."""
    head, cross = wind
    along = np.sqrt(np.maximum(part.level_speed**2 - cross**2, 0.0)) - head
    return np.sum(part.time * along, axis=1)
