"""The aircraft in the air at one height and Mach number: lift found, drag, thrust, fuel flow, excess power.

Everything above the circuit is built on these two functions: what a lever position leaves over
(``flight_point``), and what level flight asks for (``steady_level_flight``). Arrays broadcast; altitudes are
pressure altitudes, temperature is standard plus each case's deviation at every height.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import GAS_CONSTANT_AIR, SEA_LEVEL_PRESSURE, STANDARD_GRAVITY, standard_air
from sortiewright.pack import Configuration, OutsideTable, Pack, PowerSetting
from sortiewright.performance.forces import (
    Devices,
    asymmetric_drag,
    drag_coefficient,
    fuel_flow_per_engine,
    thrust_per_engine,
)

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEVEL_ITERATIONS = 4  # thrust carries under a tenth of the weight: each leaves a twentieth of the error


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
    """How the aircraft is set in flight: flaps, what is out, engines dead (one side's first)."""

    configuration: Configuration
    devices: Devices
    failed_engines: int = 0


@dataclass(frozen=True, slots=True)
class FlightPoint:
    """Flight at a power setting: angle of attack rad, thrust and drag N, fuel flow kg/s, all live engines.

    ``energy_rate`` m/s is the specific excess power: what the excess thrust gains in energy height. NaN where
    the wing cannot carry the load.
    """

    tas: Floats
    angle_of_attack: Floats
    thrust: Floats
    drag: Floats
    fuel_flow: Floats
    energy_rate: Floats


@dataclass(frozen=True, slots=True)
class LevelFlight:
    """Unaccelerated level flight: thrust of all live engines N, fuel flow kg/s, true airspeed m/s.

    ``power_share`` is 0 at idle and 1 at the highest setting allowed, by thrust. NaN where the wing cannot
    carry the weight or the engines not hold the speed.
    """

    tas: Floats
    angle_of_attack: Floats
    thrust: Floats
    fuel_flow: Floats
    power_share: Floats
    headwind: Floats

    @property
    def specific_range(self) -> Floats:
        """Distance through the air for a mass of fuel, m/kg."""
        return self.tas / self.fuel_flow

    @property
    def specific_range_over_ground(self) -> Floats:
        """Distance over the ground for a mass of fuel, m/kg."""
        return (self.tas - self.headwind) / self.fuel_flow

    @property
    def specific_endurance(self) -> Floats:
        """Time for a mass of fuel, s/kg."""
        return 1.0 / self.fuel_flow


def make_flight_cases(
    mass: ArrayLike,
    *,
    drag_index: ArrayLike = 0.0,
    isa_deviation: ArrayLike = 0.0,
    headwind: ArrayLike = 0.0,
    thrust_factor: ArrayLike = 1.0,
    drag_factor: ArrayLike = 1.0,
    fuel_flow_factor: ArrayLike = 1.0,
) -> FlightCases:
    """Return the batch that these arguments broadcast to, flattened to one axis.

    Raises ``ValueError`` for a mass that is not positive or any value that is not finite.
    """
    parts = (mass, drag_index, isa_deviation, headwind, thrust_factor, drag_factor, fuel_flow_factor)
    arrays = [np.asarray(part, dtype=np.float64) for part in parts]
    flat = [np.ascontiguousarray(part).reshape(-1) for part in np.broadcast_arrays(*arrays)]
    cases = FlightCases(*flat)
    for name, values in zip(FlightCases.__slots__, flat, strict=True):
        if not np.isfinite(values).all():
            raise ValueError(f"{name} must be finite, got {values[~np.isfinite(values)][0]}")
    if (bad := cases.mass <= 0.0).any():
        raise ValueError(f"mass must be positive, got {cases.mass[bad][0]:g} kg")
    return cases


def flight_setup(
    pack: Pack,
    configuration: str | None = None,
    *,
    gear: float = 0.0,
    speedbrake: float = 0.0,
    failed_engines: int = 0,
) -> FlightSetup:
    """Return how the aircraft is set; ``configuration`` None is the one without flap.

    Raises ``ValueError`` for a configuration the pack has not, or with no engine left.
    """
    known = pack.aero.configurations
    name = configuration or pack.technique.landing.no_flap_configuration or next(iter(known))
    if name not in known:
        raise ValueError(f'configuration "{name}" is not in the pack. Known: {", ".join(known)}')
    if not 0 <= failed_engines < pack.engine.count:
        most = pack.engine.count - 1
        raise ValueError(f"failed engines must be 0 to {most} in this aircraft, got {failed_engines}")
    return FlightSetup(known[name], Devices(gear=gear, speedbrake=speedbrake), failed_engines)


def power_setting(pack: Pack, power: str) -> PowerSetting:
    """Return the setting of this name; raises ``ValueError`` naming those there are."""
    if power not in pack.engine.settings:
        raise ValueError(
            f'power setting "{power}" is not in the pack. Known: {", ".join(pack.engine.settings)}'
        )
    return pack.engine.settings[power]


def height_of(pressure_altitude: ArrayLike, isa_deviation: ArrayLike) -> Floats:
    """Return the geopotential height, m, of a pressure altitude in air ``isa_deviation`` K off standard.

    Hydrostatic balance, dz = -R T/g dp/p, with T = T_std + deviation: the deviation adds R/g ln(p0/p) of it.
    """
    altitude = np.asarray(pressure_altitude, dtype=np.float64)
    log_pressure = np.log(SEA_LEVEL_PRESSURE / standard_air(altitude).pressure)
    warm: Floats = np.asarray(isa_deviation, dtype=np.float64)
    return altitude + warm * (GAS_CONSTANT_AIR / STANDARD_GRAVITY) * log_pressure


def energy_height(height: ArrayLike, tas: ArrayLike) -> Floats:
    """Return height plus V^2/(2 g), m: potential and kinetic energy over weight."""
    return np.asarray(height, dtype=np.float64) + np.asarray(tas, dtype=np.float64) ** 2 / (
        2.0 * STANDARD_GRAVITY
    )


def flight_point(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    *,
    mass: ArrayLike,
    pressure_altitude: ArrayLike,
    mach: ArrayLike,
    load_factor: ArrayLike = 1.0,
    thrust_lifts: bool = True,
) -> FlightPoint:
    """Return forces, fuel flow and specific excess power at a setting.

    Parameters
    ----------
    mass : kg
        (n,) or (n, k); so are altitude, Mach and load factor. Cases run along the first axis.
    load_factor
        Force across the path over weight: cos(climb angle) in a straight climb.
    thrust_lifts
        False puts thrust along the path and leaves all lift to the wing, as energy methods do.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach.

    Notes
    -----
    L + T sin(a + iT) = n W; energy rate V (T cos(a + iT) - D)/W. Energy height as in USNTPS Fixed Wing
    Performance, chapter 5.
    """
    at = _state(cases, mass, pressure_altitude, mach)
    thrust, flow = _engines(pack, power_setting(pack, power), at, pack.engine.count - setup.failed_engines)
    wanted = np.asarray(load_factor) * at.weight
    lifting = thrust if thrust_lifts else np.zeros_like(thrust)
    alpha = _angle_of_attack(pack, setup, at, wanted, lifting)
    drag = _drag(pack, setup, at, alpha, thrust)
    along = np.cos(alpha + pack.airframe.thrust_inclination) if thrust_lifts else 1.0
    rate = at.tas * (thrust * along - drag) / at.weight
    able = np.isfinite(alpha)
    return FlightPoint(
        at.tas, alpha, np.where(able, thrust, np.nan), drag, np.where(able, flow, np.nan), rate
    )


def steady_level_flight(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    mass: ArrayLike,
    pressure_altitude: ArrayLike,
    mach: ArrayLike,
    power: str | None = None,
    load_factor: ArrayLike = 1.0,
    iterations: int = LEVEL_ITERATIONS,
) -> LevelFlight:
    """Return what level flight asks of the engines; shapes as in ``flight_point``.

    ``power`` is the highest setting allowed, military where it is None. Between idle and that setting fuel
    flow follows thrust in straight lines through the settings whose tables reach as far as military's.
    ``load_factor`` above 1 is a level turn. Each of the ``iterations`` leaves a twentieth of the error with
    which thrust carries weight.
    """
    at = _state(cases, mass, pressure_altitude, mach)
    live = pack.engine.count - setup.failed_engines
    names = _ladder(pack, power or pack.engine.military)
    ladder = [_engines(pack, pack.engine.settings[name], at, live) for name in names]
    tilt = pack.airframe.thrust_inclination
    wanted = np.asarray(load_factor) * at.weight
    thrust = np.zeros(at.tas.shape)
    alpha = thrust
    for _ in range(iterations):
        pushed = np.nan_to_num(thrust)
        alpha = _angle_of_attack(pack, setup, at, wanted, pushed)
        drag = _drag(pack, setup, at, alpha, pushed)
        thrust = drag / np.cos(alpha + tilt)
    flow, share = _part_power(ladder, thrust)
    held = np.isfinite(flow)
    headwind = cases.headwind.reshape((-1,) + (1,) * (at.tas.ndim - 1))
    return LevelFlight(
        at.tas, np.where(held, alpha, np.nan), np.where(held, thrust, np.nan), flow, share, headwind
    )


@dataclass(frozen=True, slots=True)
class _State:
    altitude: Floats
    mach: Floats
    tas: Floats
    dynamic_pressure: Floats
    weight: Floats
    cases: FlightCases

    def each(self, name: str) -> Floats:
        values: Floats = getattr(self.cases, name)
        return values.reshape((-1,) + (1,) * (self.tas.ndim - 1))


def _state(cases: FlightCases, mass: ArrayLike, altitude: ArrayLike, mach: ArrayLike) -> _State:
    parts = [np.asarray(part, dtype=np.float64) for part in (mass, altitude, mach)]
    rank = max(1, *(part.ndim for part in parts))
    shape = np.broadcast_shapes(*(part.shape for part in parts), (cases.count,) + (1,) * (rank - 1))
    kilograms, height, number = (
        part if part.shape == shape else np.broadcast_to(part, shape) for part in parts
    )
    warm = cases.isa_deviation.reshape((-1,) + (1,) * (len(shape) - 1))
    air = standard_air(_once(height), warm)
    tas = number * air.speed_of_sound
    return _State(height, number, tas, 0.5 * air.density * tas**2, kilograms * STANDARD_GRAVITY, cases)


def _engines(pack: Pack, setting: PowerSetting, at: _State, live: int) -> tuple[Floats, Floats]:
    """Return thrust and fuel flow of the live engines."""
    warm = at.each("isa_deviation")
    thrust = thrust_per_engine(setting, at.mach, at.altitude, warm)
    flow = fuel_flow_per_engine(setting, at.mach, at.altitude, warm)
    return live * thrust * at.each("thrust_factor"), live * flow * at.each("fuel_flow_factor")


def _angle_of_attack(pack: Pack, setup: FlightSetup, at: _State, wanted: Floats, thrust: Floats) -> Floats:
    """Return the angle below the stall at which lift and thrust across the path make ``wanted`` N; else NaN.

    Between two angles of the table lift is a straight line, so the crossing in its cell needs no iteration.
    """
    table = setup.configuration.lift
    axis = table.axes[0]
    angles = axis.reshape((-1,) + (1,) * at.mach.ndim)
    aero, devices = pack.aero, setup.devices
    extra = devices.gear * aero.gear.lift + devices.speedbrake * aero.speedbrake.lift
    q_s = at.dynamic_pressure * pack.airframe.wing_area
    over = q_s * (table(angles, _once(at.mach)) + extra) - wanted
    over = over + thrust * np.sin(angles + pack.airframe.thrust_inclination)
    carried = over >= 0.0
    able = carried.any(axis=0)
    if (carried[0] & able).any():
        low, high = table.range_of("angle_of_attack")
        raise OutsideTable(table.name, "angle_of_attack", low - (axis[1] - axis[0]), low, high, "rad")
    first = np.maximum(np.argmax(carried, axis=0), 1)
    each = over.reshape(len(axis), -1)
    places: NDArray[np.intp] = np.arange(each.shape[1], dtype=np.intp)
    above = each[first.ravel(), places].reshape(first.shape)
    below = each[first.ravel() - 1, places].reshape(first.shape)
    with np.errstate(invalid="ignore", divide="ignore"):
        part = below / (below - above)
    return np.where(able, axis[first - 1] + part * (axis[first] - axis[first - 1]), np.nan)


def _once(values: Floats) -> Floats:
    """Return an array without what broadcasting only repeats: a grid's Mach number is looked up once."""
    if 0 not in values.strides or not values.size:
        return values
    return values[tuple(slice(0, 1) if step == 0 else slice(None) for step in values.strides)]


def _drag(pack: Pack, setup: FlightSetup, at: _State, alpha: Floats, thrust: Floats) -> Floats:
    """Return the drag, N, with dead engines windmilling and the rudder against the live ones."""
    able = np.isfinite(alpha)
    angle = np.where(able, alpha, setup.configuration.drag.axes[0][0])
    coefficient = drag_coefficient(
        pack, setup.configuration, angle, at.mach, drag_index=at.each("drag_index"), devices=setup.devices
    )
    drag = at.dynamic_pressure * pack.airframe.wing_area * coefficient * at.each("drag_factor")
    if setup.failed_engines:
        failed = setup.failed_engines
        windmilling = pack.engine.windmilling_drag_area * at.dynamic_pressure
        each = thrust / (pack.engine.count - failed)
        moment = failed * (each + windmilling) * pack.airframe.engine_side_arm
        drag = drag + failed * windmilling + asymmetric_drag(pack, moment, at.dynamic_pressure)
    return np.where(able, drag, np.nan)


def _ladder(pack: Pack, highest: str) -> list[str]:
    """Return the settings from idle to ``highest`` that cover what that one covers, by static thrust.

    Settings made for the ground only (a run-up) reach a low Mach number and are left out everywhere, so that
    fuel flow has no step where their tables end.
    """
    top = power_setting(pack, highest)
    static = {name: float(one.thrust.values[0, 0]) for name, one in pack.engine.settings.items()}

    def reaches(one: PowerSetting) -> bool:
        return all(
            mine[0] <= its[0] and mine[-1] >= its[-1]
            for mine, its in zip(one.thrust.axes, top.thrust.axes, strict=True)
        )

    fit = [
        name
        for name, one in pack.engine.settings.items()
        if name == highest or (static[name] < static[highest] and reaches(one))
    ]
    return sorted(fit, key=lambda name: static[name])


def _part_power(ladder: list[tuple[Floats, Floats]], thrust: Floats) -> tuple[Floats, Floats]:
    """Return fuel flow and share of the range idle to highest that ``thrust`` N needs; NaN above the highest.

    Below idle thrust (a negative need cannot arise level; idle may push more than drag) the levers are at
    idle and the aircraft would accelerate: NaN too.
    """
    flow = np.full(thrust.shape, np.nan)
    for (low, low_flow), (high, high_flow) in pairwise(ladder):
        with np.errstate(invalid="ignore", divide="ignore"):
            part = (thrust - low) / (high - low)
            inside = (part >= 0.0) & (part <= 1.0)
        flow = np.where(inside & np.isnan(flow), low_flow + part * (high_flow - low_flow), flow)
    lowest, highest = ladder[0][0], ladder[-1][0]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(np.isfinite(flow), (thrust - lowest) / (highest - lowest), np.nan)
    return flow, share
