"""The speeds of level flight: from what the wing carries to what power and limits allow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_mach, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.ceiling import mach_grid, speed_limit
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightSetup,
    power_setting,
    steady_level_flight,
)

Floats = NDArray[np.float64]

FINER = 20  # parts into which the cell with an end of the range is cut


def level_speed_range(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: float,
    power: str | None = None,
    load_factor: float = 1.0,
    maximum_mach: float | None = None,
    maximum_cas: float | None = None,
    most_angle: float | None = None,
) -> tuple[float, float] | None:
    """Return the least and greatest Mach number of level flight of the first case; None where there is none.

    ``altitude`` is a pressure altitude, m; ``power`` the highest setting allowed, military where None;
    ``most_angle`` an angle of attack, rad, not to be passed. Speed limits are the pack's unless given. To a
    thousandth of Mach. Raises ``OutsideTable`` where a table of the pack does not reach.
    """
    one = cases.take(slice(0, 1))
    grid = mach_grid(pack, setup, power_setting(pack, power or pack.engine.military).thrust, maximum_mach)
    limit = speed_limit(pack, maximum_cas)

    def able(machs: Floats) -> NDArray[np.bool_]:
        level = steady_level_flight(
            pack,
            setup,
            one,
            mass=one.mass[:, None],
            pressure_altitude=np.full((1, len(machs)), altitude),
            mach=machs[None, :],
            power=power,
            load_factor=load_factor,
        )
        cas = cas_from_mach(machs, standard_air(altitude).pressure)
        held = np.isfinite(level.fuel_flow[0]) & (cas <= limit * (1.0 + 1e-9))
        return held if most_angle is None else held & (level.angle_of_attack[0] <= most_angle)

    there = np.flatnonzero(able(grid))
    if not len(there):
        return None
    # The run of speeds that ends at the fastest: below a gap no one would fly.
    breaks = np.flatnonzero(np.diff(there) > 1)
    first, last = int(there[breaks[-1] + 1 if len(breaks) else 0]), int(there[-1])
    low, high = float(grid[first]), float(grid[last])
    if first > 0:
        fine = _between(float(grid[first - 1]), low)
        low = float(fine[np.argmax(able(fine))])
    if last < len(grid) - 1:
        fine = _between(high, float(grid[last + 1]))
        high = float(fine[np.flatnonzero(able(fine))[-1]])
    return low, high


def _between(low: float, high: float) -> Floats:
    return low + (high - low) * np.arange(FINER + 1) / FINER
