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
from sortiewright.pack import Pack, PowerSetting
from sortiewright.performance.flight_state import (
    Engines,
    FlightCases,
    FlightSetup,
    FlightState,
    angle_of_attack,
    drag_at,
    engines_at,
    flight_state,
    lift_lines,
)
from sortiewright.performance.forces import Devices

Floats = NDArray[np.float64]

LEVEL_ITERATIONS = 4  # thrust carries under a tenth of the weight: each leaves a twentieth of the error


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
    at = flight_state(pack, setup, cases, pressure_altitude, mach, mass)
    engines = engines_at(at, power_setting(pack, power), cases)
    return point_at(at, cases, engines, lift_lines(at), mass, load_factor, thrust_lifts=thrust_lifts)


def point_at(
    at: FlightState,
    cases: FlightCases,
    engines: Engines,
    lines: Floats,
    mass: ArrayLike,
    load_factor: ArrayLike = 1.0,
    *,
    thrust_lifts: bool = True,
) -> FlightPoint:
    """Return ``flight_point`` of a state whose engines and ``lift_lines`` are known already."""
    thrust, flow = engines
    weight = np.asarray(mass, dtype=np.float64) * STANDARD_GRAVITY
    wanted = np.asarray(load_factor) * weight
    alpha, everywhere = angle_of_attack(at, lines, wanted, thrust if thrust_lifts else None)
    alpha = at.whole(alpha)
    drag = drag_at(at, cases, alpha, thrust, everywhere=everywhere)
    along = np.cos(alpha + at.pack.airframe.thrust_inclination) if thrust_lifts else 1.0
    rate = at.tas * (thrust * along - drag) / weight
    if everywhere:
        return FlightPoint(at.whole(at.tas), alpha, at.whole(thrust), at.whole(drag), at.whole(flow), rate)
    able = np.isfinite(alpha)
    thrust, flow = np.where(able, thrust, np.nan), np.where(able, flow, np.nan)
    return FlightPoint(at.whole(at.tas), alpha, thrust, drag, flow, rate)


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
    at = flight_state(pack, setup, cases, pressure_altitude, mach, mass)
    names = _ladder(pack, power or pack.engine.military)
    ladder = [engines_at(at, pack.engine.settings[name], cases) for name in names]
    lines, tilt = lift_lines(at), pack.airframe.thrust_inclination
    wanted = np.asarray(load_factor) * (np.asarray(mass, dtype=np.float64) * STANDARD_GRAVITY)
    alpha, pushed = np.zeros(at.shape), None
    thrust = alpha
    for _ in range(iterations):
        alpha, everywhere = angle_of_attack(at, lines, wanted, pushed)
        alpha = at.whole(alpha)
        drag = drag_at(at, cases, alpha, pushed, everywhere=everywhere)
        thrust = drag / np.cos(alpha + tilt)
        pushed = thrust if everywhere else np.where(np.isnan(thrust), 0.0, thrust)
    flow, share = _part_power(ladder, thrust)
    held = np.isfinite(flow)
    alpha, thrust = np.where(held, alpha, np.nan), np.where(held, thrust, np.nan)
    return LevelFlight(at.whole(at.tas), alpha, thrust, flow, share, at.each(cases.headwind))


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
