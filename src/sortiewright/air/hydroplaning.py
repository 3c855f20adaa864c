"""Ground speed at which a tyre rides on the water and its brake does nothing."""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from .atmosphere import FloatArray

HydroplaningFactor = Literal["rolling", "spin_up", "handbook"]

# Knots for each root of a psi. Rolling: a turning tyre loses the ground (NASA TN D-2056, Horne and Dreher
# 1963). Spin-up: a tyre that touches down standing does not start to turn (NASA TM-85652).
# Handbook: FAA-H-8083-3, dynamic hydroplaning.
_KNOTS_PER_ROOT_PSI: dict[str, float] = {"rolling": 9.0, "spin_up": 7.7, "handbook": 8.6}
_PSI = 6894.757293168  # Pa
_KNOT = 1852.0 / 3600.0  # m/s


def hydroplaning_speed(tyre_pressure: ArrayLike, factor: HydroplaningFactor = "rolling") -> FloatArray:
    """Return the ground speed in m/s at which dynamic hydroplaning begins, for a tyre pressure in Pa.

    For a smooth tyre, or water deeper than the tread; the spin-up speed is the one to use at touchdown.
    Raises ValueError for a pressure that is not positive or a factor that is not listed.
    """
    if factor not in _KNOTS_PER_ROOT_PSI:
        raise ValueError(f"hydroplaning factor {factor!r} is not one of {', '.join(_KNOTS_PER_ROOT_PSI)}")
    pressure = np.asarray(tyre_pressure, dtype=np.float64)[()]
    if (pressure <= 0.0).any():
        raise ValueError(f"tyre pressure must be positive, got {pressure.min():g} Pa")
    return _KNOTS_PER_ROOT_PSI[factor] * _KNOT * np.sqrt(pressure / _PSI)
