"""What flight at stated heights and Mach numbers is made of: all that mass does not change, found once.

Lift over every angle of attack, dynamic pressure, and where the tables of the engines are read hang on height
and Mach number alone. Whoever flies the same points again with another mass keeps a ``FlightState`` and asks
only for the angle of attack and the drag again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import HEAT_CAPACITY_RATIO, standard_air
from sortiewright.pack import AxisPoints, Configuration, OutsideTable, Pack, PowerSetting
from sortiewright.performance.forces import (
    Devices,
    asymmetric_drag,
    fuel_flow_per_engine,
    thrust_per_engine,
)

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Engines = tuple[Floats, Floats]
"""Thrust N and fuel flow kg/s of all live engines."""
Values = TypeVar("Values", Floats, Indices)

AT_ONCE = 15_000
"""Values, angles times points, of lift compared with weight in one go: more leave the processor's cache."""


@dataclass(frozen=True, slots=True)
class FlightCases:
    """A batch of flights, every array (n,): what does not change with height.

    ``mass`` kg at the start; ``isa_deviation`` K at every height; ``headwind`` m/s, tailwind negative. The
    factors multiply all thrust, drag and fuel flow.
    """

    mass: Floats
    drag_index: Floats
    isa_deviation: Floats
    headwind: Floats
    thrust_factor: Floats
    drag_factor: Floats
    fuel_flow_factor: Floats

    @property
    def count(self) -> int:
        """How many cases."""
        return len(self.mass)

    def take(self, rows: NDArray[np.intp] | slice) -> FlightCases:
        """Return these rows."""
        return FlightCases(*(getattr(self, name)[rows] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class FlightSetup:
    """How the aircraft is set in flight: flaps, what is out, engines dead (one side's first).

    ``flight_point`` and ``steady_level_flight`` also take gear, speedbrake and dead engines as arrays, (n,),
    one value a case.
    """

    configuration: Configuration
    devices: Devices
    failed_engines: int | Indices = 0


@dataclass(frozen=True, slots=True)
class FlightState:
    """Heights and Mach numbers, and what follows from them; arrays broadcast to ``shape``, cases first.

    ``tas`` m/s, ``dynamic_pressure`` Pa. What a case brings along (drag index, factors) is not in it.
    """

    pack: Pack
    setup: FlightSetup
    shape: tuple[int, ...]
    tas: Floats
    dynamic_pressure: Floats
    mach: AxisPoints
    altitude: AxisPoints
    isa_deviation: AxisPoints

    def each(self, values: Values) -> Values:
        """Return values of cases, (n,), so that they broadcast to ``shape``."""
        return values if len(self.shape) == 1 else values.reshape((-1,) + (1,) * (len(self.shape) - 1))

    def whole(self, values: Floats) -> Floats:
        """Return values that broadcast to ``shape`` in that shape."""
        if values.shape == self.shape:
            return values
        full = np.empty(self.shape)
        full[...] = values
        return full


def flight_state(
    pack: Pack, setup: FlightSetup, cases: FlightCases, altitude: ArrayLike, mach: ArrayLike, mass: ArrayLike
) -> FlightState:
    """Return the state at pressure altitudes, m, and Mach numbers; ``mass`` counts for the shape alone."""
    height, number, kilograms = (np.asarray(part, dtype=np.float64) for part in (altitude, mach, mass))
    warm = cases.isa_deviation
    shape = warm.shape
    if not shape == height.shape == number.shape == kilograms.shape:
        rank = max(1, height.ndim, number.ndim, kilograms.ndim)
        warm = warm.reshape((-1,) + (1,) * (rank - 1))
        shape = np.broadcast_shapes(height.shape, number.shape, kilograms.shape, warm.shape)
        height, number = _once(height, rank), _once(number, rank)
    air = standard_air(height, warm)
    pressure = 0.5 * HEAT_CAPACITY_RATIO * air.pressure * (number * number)
    tas = number * air.speed_of_sound
    points = AxisPoints(number), AxisPoints(height), AxisPoints(warm)
    return FlightState(pack, setup, shape, tas, pressure, *points)


def engines_at(at: FlightState, setting: PowerSetting, cases: FlightCases) -> Engines:
    """Return thrust and fuel flow at a setting; raises ``OutsideTable``."""
    live = at.pack.engine.count - _dead(at)
    thrust = thrust_per_engine(setting, at.mach, at.altitude, at.isa_deviation)
    flow = fuel_flow_per_engine(setting, at.mach, at.altitude, at.isa_deviation)
    return live * thrust * at.each(cases.thrust_factor), live * flow * at.each(cases.fuel_flow_factor)


def lift_lines(at: FlightState, angles: Floats | None = None) -> Floats:
    """Return the lift coefficient at every angle of attack of the lift table, (k, ...), or at other angles,
    rad; raises ``OutsideTable``."""
    aero, devices, table = at.pack.aero, at.setup.devices, at.setup.configuration.lift
    lines = table.lines(at.mach) if angles is None else table(angles, at.mach)
    return lines + _added(at, devices.gear * aero.gear.lift, devices.speedbrake * aero.speedbrake.lift)


def angle_of_attack(
    at: FlightState, lines: Floats, wanted: Floats, thrust: Floats | None
) -> tuple[Floats, bool]:
    """Return the angle below the stall at which lift and thrust across the path make ``wanted`` N, else NaN.

    ``lines`` are ``lift_lines``; ``thrust`` None is none. Beside it: whether there is one at every point.
    Between two angles of the table lift is a straight line, so the crossing in its cell needs no iteration.
    Raises ``OutsideTable`` where the least angle of the table lifts more.
    """
    axis, rank = at.setup.configuration.lift.axes[0], len(at.shape)
    sines = np.sin(axis.reshape((-1,) + (1,) * rank) + at.pack.airframe.thrust_inclination)
    force = at.dynamic_pressure * at.pack.airframe.wing_area
    if lines.size <= AT_ONCE and len(axis) * int(np.prod(at.shape)) <= AT_ONCE:
        return _crossing(at, sines, lines, force, wanted, thrust)
    force, wanted = _ranked(force, rank), _ranked(wanted, rank)
    thrust = None if thrust is None else _ranked(thrust, rank)
    found, everywhere = np.empty(at.shape), True
    for part in _pieces(at.shape, len(axis)):
        found[part], whole = _crossing(
            at,
            sines,
            lines[(slice(None), *_cut(lines.shape[1:], part))],
            force[_cut(force.shape, part)],
            wanted[_cut(wanted.shape, part)],
            None if thrust is None else thrust[_cut(thrust.shape, part)],
        )
        everywhere = everywhere and whole
    return found, everywhere


def drag_at(
    at: FlightState, cases: FlightCases, alpha: Floats, thrust: Floats | None, *, everywhere: bool
) -> Floats:
    """Return the drag, N, with dead engines windmilling and the rudder against the live ones' ``thrust``.

    ``everywhere``: no angle of attack is NaN; otherwise drag is NaN where the angle is.
    """
    aero, devices, area = at.pack.aero, at.setup.devices, at.pack.airframe.wing_area
    table, pressure = at.setup.configuration.drag, at.dynamic_pressure
    coefficient = table(alpha if everywhere else np.where(np.isnan(alpha), table.axes[0][0], alpha), at.mach)
    coefficient = coefficient + _added(
        at, devices.gear * aero.gear.drag, devices.speedbrake * aero.speedbrake.drag
    )
    coefficient = coefficient + at.each(cases.drag_index) * aero.drag_per_index
    drag = pressure * area * coefficient * at.each(cases.drag_factor)
    failed, engine = _dead(at), at.pack.engine
    if np.any(failed):
        windmilling = engine.windmilling_drag_area * pressure
        each = 0.0 if thrust is None else thrust / (engine.count - failed)
        moment = failed * (each + windmilling) * at.pack.airframe.engine_side_arm
        drag = drag + failed * windmilling + asymmetric_drag(at.pack, moment, pressure)
    return drag if everywhere else np.where(np.isnan(alpha), np.nan, drag)


def _dead(at: FlightState) -> int | Indices:
    """Return how many engines are dead, for all or so that it broadcasts."""
    failed = at.setup.failed_engines
    return failed if isinstance(failed, int) else at.each(failed)


def _added(at: FlightState, gear: float | Floats, speedbrake: float | Floats) -> float | Floats:
    """Return what gear and speedbrake add to a coefficient; each is a number or one a case."""
    extra = gear + speedbrake
    return at.each(extra) if isinstance(extra, np.ndarray) else extra


def _crossing(
    at: FlightState, sines: Floats, lines: Floats, force: Floats, wanted: Floats, thrust: Floats | None
) -> tuple[Floats, bool]:
    table = at.setup.configuration.lift
    axis = table.axes[0]
    over = force * lines - wanted
    if thrust is not None:
        over = over + thrust * sines
    carried = over >= 0.0
    first: Indices = carried.argmax(axis=0)
    everywhere = first.size == 0 or first.item(first.argmin()) > 0
    if not everywhere:
        if carried[0].any():
            least, most = table.range_of("angle_of_attack")
            asked = least - (axis[1] - axis[0])
            raise OutsideTable(table.name, "angle_of_attack", asked, least, most, "rad")
        first = np.maximum(first, 1)
    each, flat = over.reshape(len(axis), -1), first.ravel()
    places: Indices = np.arange(first.size, dtype=np.intp)
    above, below = each[flat, places].reshape(first.shape), each[flat - 1, places].reshape(first.shape)
    low = axis[first - 1]
    if everywhere:
        return low + below / (below - above) * (axis[first] - low), True
    with np.errstate(invalid="ignore", divide="ignore"):
        part = below / (below - above)
    # Where nothing is carried both ends lack lift, and the line through them is not used.
    return np.where(above >= 0.0, low + part * (axis[first] - low), np.nan), False


def _pieces(shape: tuple[int, ...], angles: int) -> Iterator[tuple[slice, ...]]:
    """Yield parts of ``shape``, cut along its longest axis, each small enough to be looked at in one go."""
    longest = max(range(len(shape)), key=shape.__getitem__)
    across = angles * int(np.prod(shape)) // max(shape[longest], 1)
    step = max(AT_ONCE // max(across, 1), 1)
    for first in range(0, shape[longest], step):
        part = [slice(None)] * len(shape)
        part[longest] = slice(first, first + step)
        yield tuple(part)


def _cut(shape: tuple[int, ...], part: tuple[slice, ...]) -> tuple[slice, ...]:
    """Return a part for an array that is one long where it is the same all along."""
    return tuple(slice(None) if size == 1 else one for size, one in zip(shape, part, strict=True))


def _ranked(values: Floats, rank: int) -> Floats:
    """Return an array with as many axes, those that it lacks in front."""
    missing = rank - values.ndim
    return values if missing == 0 else values.reshape((1,) * missing + values.shape)


def _once(values: Floats, rank: int) -> Floats:
    """Return an array of this rank without what broadcasting only repeats: each value is looked up once."""
    values = _ranked(values, rank)
    if 0 not in values.strides or not values.size:
        return values
    return values[tuple(slice(0, 1) if step == 0 else slice(None) for step in values.strides)]
