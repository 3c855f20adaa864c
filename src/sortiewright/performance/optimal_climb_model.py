"""The aircraft and the air as smooth functions that an optimiser can differentiate twice.

A pack's tables are straight between their values; a second derivative of that is of no use. Each table is
replaced by a cubic B-spline with coefficients near the table's own values at the Greville abscissae
(Schoenberg, On Spline Functions, 1967): it is the table itself wherever that is straight over a few steps of
the spline's grid, and rounds each corner over those steps. What the rounding is worth is
measured, not assumed: ``optimal_climb_flown`` flies the optimum again on the tables themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, mach_from_cas, standard_air
from sortiewright.pack import InputError, Pack, Problem
from sortiewright.performance.forces import fuel_flow_per_engine, thrust_per_engine
from sortiewright.performance.level_flight import FlightCases, FlightSetup, power_setting

Floats = NDArray[np.float64]

EXTRA = "pip install 'sortiewright[optimal]'"
HEIGHT_STEP = 200.0  # m, of the spline's grid where nothing more is smoothed
MACH_STEP = 0.0125
ANGLE_STEP = np.radians(0.5)
HEIGHT_SCALE = 10_000.0  # m: the optimiser's unit of height; the others are rad, Mach and mass at the start
_DEGREE = 3


@dataclass(frozen=True, slots=True)
class ClimbBounds:
    """Between what the optimiser may move: pressure altitude m, Mach, angle of attack rad, load factor.

    ``maximum_cas`` m/s. Each pair is lowest and highest.
    """

    altitude: tuple[float, float]
    mach: tuple[float, float]
    angle_of_attack: tuple[float, float]
    load_factor: tuple[float, float]
    maximum_cas: float


@dataclass(frozen=True, slots=True)
class ClimbModel:
    """Functions of the optimiser's library over columns of cases.

    ``rates`` takes states (4, k): height over ``HEIGHT_SCALE``, Mach, path angle rad, mass over that at the
    start; and angles of attack (1, k), rad. It returns the states' rates in 1/s, (4, k), and the load factors
    (1, k). ``highest_mach`` is the Mach number of the highest CAS at scaled heights, None where it limits
    nothing.
    """

    rates: Any
    highest_mach: Any | None


def optimiser_library() -> Any:
    """Return the optimiser's library; ``InputError`` where it is not installed."""
    try:
        # Costly to load, and an extra.
        import casadi
    except ImportError:
        raise InputError(
            [Problem("casadi", None, "", "", "is not installed", f"Install it: {EXTRA}")]
        ) from None
    return casadi


def climb_model(
    pack: Pack,
    setup: FlightSetup,
    case: FlightCases,
    power: str,
    bounds: ClimbBounds,
    smoothing: float = 1.0,
) -> ClimbModel:
    """Return the model of one case at one power setting, within ``bounds``.

    ``smoothing`` widens the steps over which corners are rounded: an optimiser that starts far away finds its
    way on the smoother aircraft first.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach as far as the bounds.
    ValueError
        With an engine out: the drag of the rudder has corners that depend on everything.
    """
    if setup.failed_engines:
        raise ValueError("the best climb is found with all engines running")
    ca = optimiser_library()
    forces = _forces(ca, pack, setup, case, power, bounds, smoothing)
    air = _air(ca, case, bounds)
    start = float(case.mass[0])
    area, tilt = pack.airframe.wing_area, pack.airframe.thrust_inclination

    x, alpha = ca.MX.sym("x", 4), ca.MX.sym("alpha")
    height, mach, gamma, mass = x[0], x[1], x[2], x[3] * start
    density, sound, sound_slope, rise = ca.vertsplit(air(height))
    thrust, flow, lift, drag = ca.vertsplit(forces(height, mach, alpha))
    tas = mach * sound
    q_s = 0.5 * density * tas**2 * area
    across = q_s * lift + thrust * ca.sin(alpha + tilt)
    along = thrust * ca.cos(alpha + tilt) - q_s * drag
    load = across / (mass * STANDARD_GRAVITY)
    climbing = tas * ca.sin(gamma) * rise  # of pressure altitude
    speeding = along / mass - STANDARD_GRAVITY * ca.sin(gamma)
    turning = STANDARD_GRAVITY * (load - ca.cos(gamma)) / tas
    rates = ca.vertcat(
        climbing / HEIGHT_SCALE, (speeding - mach * sound_slope * climbing) / sound, turning, -flow / start
    )
    return ClimbModel(ca.Function("rates", [x, alpha], [rates, load]), _highest_mach(ca, bounds))


def _forces(
    ca: Any,
    pack: Pack,
    setup: FlightSetup,
    case: FlightCases,
    power: str,
    bounds: ClimbBounds,
    smoothing: float,
) -> Any:
    """Return a function of scaled height, Mach and angle of attack: thrust N, fuel flow kg/s, CL, CD."""
    setting, aero, devices = power_setting(pack, power), pack.aero, setup.devices
    warm = float(case.isa_deviation[0])

    def of_engines(height: Floats, mach: Floats) -> Floats:
        thrust = thrust_per_engine(setting, mach, height, warm) * case.thrust_factor[0]
        flow = fuel_flow_per_engine(setting, mach, height, warm) * case.fuel_flow_factor[0]
        return pack.engine.count * np.stack([thrust, flow])

    engine_grids = (
        _grid(*bounds.altitude, HEIGHT_STEP * smoothing),
        _grid(*bounds.mach, MACH_STEP * smoothing),
    )
    engines = _spline(ca, "engines", of_engines, engine_grids)
    more_lift = devices.gear * aero.gear.lift + devices.speedbrake * aero.speedbrake.lift
    more_drag = devices.gear * aero.gear.drag + devices.speedbrake * aero.speedbrake.drag
    more_drag = more_drag + float(case.drag_index[0]) * aero.drag_per_index
    wing = setup.configuration

    def of_wing(alpha: Floats, mach: Floats) -> Floats:
        drag = (wing.drag(alpha, mach) + more_drag) * case.drag_factor[0]
        return np.stack([wing.lift(alpha, mach) + more_lift, drag])

    angles = _grid(*bounds.angle_of_attack, ANGLE_STEP * smoothing)
    wings = _spline(ca, "wing", of_wing, (angles, engine_grids[1]))
    height, mach, alpha = (ca.MX.sym(name) for name in ("height", "mach", "alpha"))
    both = ca.vertcat(engines(ca.vertcat(height * HEIGHT_SCALE, mach)), wings(ca.vertcat(alpha, mach)))
    return ca.Function("forces", [height, mach, alpha], [both])


def _air(ca: Any, case: FlightCases, bounds: ClimbBounds) -> Any:
    """Return a function of scaled height: density kg/m3, speed of sound m/s, its slope over pressure
    altitude, and how much pressure altitude a metre of height gains."""
    warm = float(case.isa_deviation[0])

    def values(height: Floats) -> Floats:
        here, below, above = (standard_air(height + shift, warm) for shift in (0.0, -0.5, 0.5))
        cooler = standard_air(height).temperature / here.temperature
        return np.stack(
            [here.density, here.speed_of_sound, above.speed_of_sound - below.speed_of_sound, cooler]
        )

    spline = _spline(ca, "air", values, (_grid(*bounds.altitude, HEIGHT_STEP),))
    height = ca.MX.sym("height")
    return ca.Function("air_at", [height], [spline(height * HEIGHT_SCALE)])


def _highest_mach(ca: Any, bounds: ClimbBounds) -> Any | None:
    grid = _grid(*bounds.altitude, HEIGHT_STEP)
    if not np.isfinite(bounds.maximum_cas):
        return None
    if mach_from_cas(bounds.maximum_cas, standard_air(grid[0]).pressure) >= bounds.mach[1]:
        return None

    def of_limit(height: Floats) -> Floats:
        return mach_from_cas(bounds.maximum_cas, standard_air(height).pressure)[None]

    spline = _spline(ca, "highest_mach", of_limit, (grid,))
    height = ca.MX.sym("height")
    return ca.Function("highest_mach_at", [height], [spline(height * HEIGHT_SCALE)])


def _grid(low: float, high: float, step: float) -> Floats:
    return np.linspace(low, high, max(2, int(np.ceil((high - low) / step)) + 1))


def _spline(ca: Any, name: str, values: Callable[..., Floats], grids: tuple[Floats, ...]) -> Any:
    """Return a function of a point (axes,) giving the smoothed ``values``: (outputs,) for points (axes,).

    ``values`` takes one array an axis, of one shape, and returns (outputs, that shape).
    """
    knots = [_knots(grid) for grid in grids]
    # The mean of the knots inside each B-spline: with these as abscissae straight lines stay straight.
    mean = np.full(_DEGREE, 1.0 / _DEGREE)
    greville = [
        np.clip(np.convolve(knot[1:-1], mean, "valid"), grid[0], grid[-1])
        for knot, grid in zip(knots, grids, strict=True)
    ]
    mesh = np.meshgrid(*greville, indexing="ij")
    smoothed = np.asarray(values(*mesh), dtype=np.float64)
    for axis in range(1, smoothed.ndim):
        smoothed = _sharpened(smoothed, axis)
    # Outputs run fastest, then the first axis.
    coefficients = smoothed.ravel(order="F")
    outputs = len(smoothed)
    return ca.Function.bspline(
        name, [knot.tolist() for knot in knots], coefficients.tolist(), [_DEGREE] * len(grids), outputs
    )


def _knots(grid: Floats) -> Floats:
    """Return the knots, with the last a hair beyond each end of the grid.

    Beyond the last knot a spline is nought, and an optimiser may pass its bounds by a rounding error.
    """
    hair = 1e-5 * float(grid[-1] - grid[0])
    ends = np.full(_DEGREE + 1, hair)
    return np.concatenate([grid[0] - ends, grid[1:-1], grid[-1] + ends])


def _sharpened(coefficients: Floats, axis: int) -> Floats:
    """Return coefficients less a share of their second differences, where the grid is even.

    The values at the Greville abscissae put the spline of a parabola a sixth of the second difference too
    high. Straight lines between the parabola's values lie a twelfth too high in the mean, and it is these
    lines that the pack flies.
    """
    even = np.moveaxis(coefficients.copy(), axis, 0)
    if len(even) > 2 * _DEGREE:
        bend = even[1:-3] - 2.0 * even[2:-2] + even[3:-1]
        even[2:-2] -= bend / 12.0
    return np.moveaxis(even, 0, axis)
