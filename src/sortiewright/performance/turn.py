"""The level turn: how fast it goes round, in how much room, at what load factor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.air import STANDARD_GRAVITY

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LevelTurn:
    """A level coordinated turn: ``rate`` rad/s, ``radius`` m, ``load_factor`` in g, ``bank`` rad."""

    rate: Floats
    radius: Floats
    load_factor: Floats
    bank: Floats

    @property
    def time_of_circle(self) -> Floats:
        """Time for a full circle, s; ``inf`` with the wings level."""
        with np.errstate(divide="ignore"):
            return np.divide(2.0 * np.pi, self.rate)


def level_turn(
    tas: ArrayLike, *, bank: ArrayLike | None = None, load_factor: ArrayLike | None = None
) -> LevelTurn:
    """Return the level coordinated turn flown at a bank, or at a load factor; arguments broadcast.

    Whether the wing can give the lift or the engines hold the speed is not asked here.

    Parameters
    ----------
    tas : m/s
        True airspeed, above zero.
    bank : rad
        From 0 to less than a right angle; the turn is the same to either side.
    load_factor : g
        Lift over weight, 1 or more.

    Raises
    ------
    ValueError
        Unless exactly one of ``bank`` and ``load_factor`` is given, or for a value outside its range.

    Notes
    -----
    The vertical part of the lift carries the weight, the horizontal part bends the path, without sideslip
    and with thrust along the path [1]_: load factor 1/cos(bank), rate g tan(bank)/V, radius V/rate.

    References
    ----------
    .. [1] Anderson, Aircraft Performance and Design, McGraw-Hill 1999, section 6.2.
    """
    speed = np.asarray(tas, dtype=np.float64)[()]
    if (slow := ~(speed > 0.0)).any():
        raise ValueError(f"true airspeed must be above zero, got {speed[slow].flat[0]:g} m/s")
    if load_factor is not None and bank is None:
        lift = np.asarray(load_factor, dtype=np.float64)[()]
        if (low := ~((lift >= 1.0) & np.isfinite(lift))).any():
            raise ValueError(f"a level turn needs a load factor of 1 or more, got {lift[low].flat[0]:g}")
        angle = np.arccos(1.0 / lift)
    elif bank is not None and load_factor is None:
        angle = np.asarray(bank, dtype=np.float64)[()]
        if (wide := ~((angle >= 0.0) & (angle < np.pi / 2.0))).any():
            worst = np.degrees(angle[wide].flat[0])
            raise ValueError(f"bank of a level turn must be 0 to less than 90 deg, got {worst:g} deg")
        lift = 1.0 / np.cos(angle)
    else:
        raise ValueError("a level turn is set by its bank or by its load factor: give one of the two")
    # sqrt(n^2 - 1) is tan(bank); written so, it stays exact where the arc cosine does not.
    sideways = np.sqrt((lift - 1.0) * (lift + 1.0)) if bank is None else np.tan(angle)
    rate = STANDARD_GRAVITY * sideways / speed
    with np.errstate(divide="ignore"):
        radius = np.divide(speed, rate)
    return LevelTurn(*(np.asarray(part)[()] for part in np.broadcast_arrays(rate, radius, lift, angle)))
