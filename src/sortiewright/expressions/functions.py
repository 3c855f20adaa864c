"""The functions of every expression: units, ``abs``, ``min``, ``max`` and ``known``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np

from sortiewright.expressions.value_types import PLAIN, TRUTH, NumberType
from sortiewright.expressions.values import Choices, Columns, Truth, Value
from sortiewright.expressions.vocabulary import Anything, Function, SameNumber
from sortiewright.pack import unit_factor

LOAD_FACTOR_UNIT = "g"
"""In a cockpit g is load factor, a plain number; grams are not weighed there."""

UNITS: dict[str, dict[str, str]] = {
    "m": {
        "m": "m",
        "ft": "ft",
        "inch": "in",
        "cm": "cm",
        "mm": "mm",
        "km": "km",
        "nmi": "nmi",
        "NM": "NM",
        "mi": "mi",
    },
    "m2": {"m2": "m2", "ft2": "ft2", "in2": "in2", "cm2": "cm2"},
    "m3": {"m3": "m3", "ft3": "ft3", "L": "L", "gal": "gal"},
    "kg": {"kg": "kg", "lb": "lb", "lbs": "lbs", "klb": "klb", "t": "t"},
    "s": {"s": "s", "sec": "sec", "minutes": "min", "h": "h"},
    "m/s": {
        "m_per_s": "m/s",
        "kt": "kt",
        "kts": "kts",
        "km_per_h": "km/h",
        "ft_per_s": "ft/s",
        "ft_per_min": "ft/min",
        "mph": "mph",
    },
    "rad": {"rad": "rad", "deg": "deg", "mrad": "mrad"},
    "rad/s": {"rad_per_s": "rad/s", "deg_per_s": "deg/s"},
    "1/rad": {"per_rad": "1/rad", "per_deg": "1/deg"},
    "N": {"N": "N", "kN": "kN", "daN": "daN", "lbf": "lbf", "klbf": "klbf", "kgf": "kgf"},
    "Pa": {
        "Pa": "Pa",
        "hPa": "hPa",
        "kPa": "kPa",
        "MPa": "MPa",
        "bar": "bar",
        "mbar": "mbar",
        "psi": "psi",
        "inHg": "inHg",
    },
    "K": {"K": "K", "degC": "degC", "degF": "degF", "degR": "degR"},
    "delta_degC": {"delta_degC": "delta_degC", "delta_degF": "delta_degF"},
    "J": {"J": "J", "kJ": "kJ", "MJ": "MJ", "Mft_lbf": "Mft.lbf"},
    "N.m": {
        "N_m": "N.m",
        "Nm": "Nm",
        "kN_m": "kN.m",
        "ft_lbf": "ft.lbf",
        "lbf_ft": "lbf.ft",
        "in_lbf": "in.lbf",
        "kgf_m": "kgf.m",
    },
    "kg/s": {
        "kg_per_s": "kg/s",
        "kg_per_min": "kg/min",
        "kg_per_h": "kg/h",
        "lb_per_s": "lb/s",
        "lb_per_min": "lb/min",
        "lb_per_h": "lb/h",
        "pph": "pph",
    },
    "kg/m3": {
        "kg_per_m3": "kg/m3",
        "kg_per_L": "kg/L",
        "g_per_cm3": "g/cm3",
        "lb_per_gal": "lb/gal",
        "lb_per_ft3": "lb/ft3",
        "slug_per_ft3": "slug/ft3",
    },
    "m/m": {"m_per_m": "m/m", "ft_per_nmi": "ft/nmi", "ft_per_ft": "ft/ft", "m_per_km": "m/km"},
    "": {"percent": "percent", "percent_mac": "%MAC", LOAD_FACTOR_UNIT: ""},
}
"""Unit functions by the SI unit of what they measure, and the unit in the spelling of packs.

``ft_lbf`` is a moment, as loading speaks of side moments; brake energies are in ``Mft_lbf``.
"""

USUAL_UNITS: dict[str, tuple[str, ...]] = {
    "m": ("ft", "m"),
    "m2": ("ft2", "m2"),
    "m3": ("gal", "L"),
    "kg": ("lb", "kg"),
    "s": ("s", "minutes"),
    "m/s": ("kt", "ft_per_min"),
    "rad": ("deg",),
    "rad/s": ("deg_per_s",),
    "1/rad": ("per_deg",),
    "N": ("lbf", "N"),
    "Pa": ("psi", "hPa"),
    "K": ("degC",),
    "delta_degC": ("delta_degC",),
    "J": ("MJ", "Mft_lbf"),
    "N.m": ("ft_lbf", "N_m"),
    "kg/s": ("lb_per_h", "kg_per_s"),
    "kg/m3": ("lb_per_gal", "kg_per_m3"),
    "": ("percent",),
}
"""What hints propose for each SI unit."""


@dataclass(frozen=True, slots=True)
class _InUnit:
    """So many of a unit, in SI."""

    scale: float
    offset: float

    def __call__(self, arguments: Sequence[Value], columns: Columns) -> Value:
        return arguments[0] * self.scale + self.offset


def _absolute(arguments: Sequence[Value], columns: Columns) -> Value:
    return np.abs(arguments[0])


def _least(arguments: Sequence[Value], columns: Columns) -> Value:
    # np.minimum hands NaN on: the least of several is unknown as soon as one of them is.
    return reduce(np.minimum, arguments)


def _greatest(arguments: Sequence[Value], columns: Columns) -> Value:
    return reduce(np.maximum, arguments)


def _is_known(arguments: Sequence[Value], columns: Columns) -> Value:
    value = arguments[0]
    if isinstance(value, Truth):
        known: Any = value.yes | value.no
    elif isinstance(value, Choices):
        known = value.known
    else:
        known = value == value
    return Truth(known, ~known)


UNIT_FUNCTIONS: dict[str, Function] = {
    name: Function((PLAIN,), NumberType(si_unit), _InUnit(*unit_factor(unit, si_unit)))
    for si_unit, units in UNITS.items()
    for name, unit in units.items()
}

BUILT_IN: dict[str, Function] = {
    **UNIT_FUNCTIONS,
    "abs": Function((SameNumber(temperatures=False),), SameNumber(), _absolute),
    "min": Function((SameNumber(), SameNumber()), SameNumber(), _least, repeats=True),
    "max": Function((SameNumber(), SameNumber()), SameNumber(), _greatest, repeats=True),
    "known": Function((Anything(),), TRUTH, _is_known),
}
