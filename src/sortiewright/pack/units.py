"""Units of measurement: what one of each is in SI.

The units of the trade stand here as plain numbers, because building pint's registry takes a third of a
second, longer than reading a whole pack. A test holds every entry against pint. Any other unit is left to
pint.
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

from sortiewright.pack.errors import QuantityError, listed, suggestion

FOOT = 0.3048  # m, exact (NIST SP 811, B.6)
INCH = 0.0254  # m, exact
NAUTICAL_MILE = 1852.0  # m, exact
POUND = 0.45359237  # kg, exact
POUND_FORCE = POUND * 9.80665  # N, exact
GALLON = 231 * INCH**3  # m3, US, exact
DEGREE = math.pi / 180.0  # rad
INCH_OF_MERCURY = 13.5951 * 9.80665 * 25.4  # Pa, conventional (NIST SP 811, B.8)
FAHRENHEIT_DEGREE = 5.0 / 9.0  # K
RANKINE_AT_ZERO_FAHRENHEIT = 459.67

KINDS: dict[str, str] = {
    "m": "length",
    "m2": "area",
    "m3": "volume",
    "kg": "mass",
    "s": "time",
    "m/s": "speed",
    "rad": "angle",
    "rad/s": "angular rate",
    "1/rad": "rate per angle",
    "N": "force",
    "Pa": "pressure",
    "K": "temperature",
    "delta_degC": "temperature difference",
    "J": "energy",
    "N.m": "moment",
    "kg/s": "mass flow",
    "kg/m3": "density",
    "m/m": "gradient",
    "": "plain number",
}
"""What each SI unit measures, in words for messages."""

COMMON_UNITS: dict[str, dict[str, float]] = {
    "m": {
        "m": 1.0,
        "ft": FOOT,
        "in": INCH,
        "cm": 0.01,
        "mm": 0.001,
        "km": 1e3,
        "nmi": NAUTICAL_MILE,
        "NM": NAUTICAL_MILE,
        "mi": 1609.344,
    },
    "m2": {"m2": 1.0, "ft2": FOOT**2, "in2": INCH**2, "cm2": 1e-4},
    "m3": {"m3": 1.0, "ft3": FOOT**3, "L": 1e-3, "gal": GALLON},
    "kg": {"kg": 1.0, "lb": POUND, "lbs": POUND, "klb": 1e3 * POUND, "g": 1e-3, "t": 1e3},
    "s": {"s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0},
    "m/s": {
        "m/s": 1.0,
        "kt": NAUTICAL_MILE / 3600.0,
        "kts": NAUTICAL_MILE / 3600.0,
        "km/h": 1.0 / 3.6,
        "ft/s": FOOT,
        "ft/min": FOOT / 60.0,
        "mph": 1609.344 / 3600.0,
    },
    "rad": {"rad": 1.0, "deg": DEGREE, "°": DEGREE, "mrad": 1e-3},
    "rad/s": {"rad/s": 1.0, "deg/s": DEGREE, "°/s": DEGREE},
    "1/rad": {"1/rad": 1.0, "1/deg": 1.0 / DEGREE},
    "N": {
        "N": 1.0,
        "kN": 1e3,
        "daN": 10.0,
        "lbf": POUND_FORCE,
        "klbf": 1e3 * POUND_FORCE,
        "kgf": 9.80665,
    },
    "Pa": {
        "Pa": 1.0,
        "hPa": 100.0,
        "kPa": 1e3,
        "MPa": 1e6,
        "bar": 1e5,
        "mbar": 100.0,
        "psi": POUND_FORCE / INCH**2,
        "inHg": INCH_OF_MERCURY,
    },
    "K": {
        "K": 1.0,
        "degC": 1.0,
        "°C": 1.0,
        "degF": FAHRENHEIT_DEGREE,
        "°F": FAHRENHEIT_DEGREE,
        "degR": FAHRENHEIT_DEGREE,
    },
    "delta_degC": {
        "K": 1.0,
        "degC": 1.0,
        "°C": 1.0,
        "delta_degC": 1.0,
        "degF": FAHRENHEIT_DEGREE,
        "°F": FAHRENHEIT_DEGREE,
        "delta_degF": FAHRENHEIT_DEGREE,
    },
    "J": {
        "J": 1.0,
        "kJ": 1e3,
        "MJ": 1e6,
        "ft.lbf": FOOT * POUND_FORCE,
        "Mft.lbf": 1e6 * FOOT * POUND_FORCE,
    },
    "N.m": {
        "N.m": 1.0,
        "Nm": 1.0,
        "kN.m": 1e3,
        "ft.lbf": FOOT * POUND_FORCE,
        "lbf.ft": FOOT * POUND_FORCE,
        "in.lbf": INCH * POUND_FORCE,
        "kgf.m": 9.80665,
    },
    "kg/s": {
        "kg/s": 1.0,
        "kg/min": 1.0 / 60.0,
        "kg/h": 1.0 / 3600.0,
        "lb/s": POUND,
        "lb/min": POUND / 60.0,
        "lb/h": POUND / 3600.0,
        "pph": POUND / 3600.0,
    },
    "kg/m3": {
        "kg/m3": 1.0,
        "kg/L": 1e3,
        "g/cm3": 1e3,
        "lb/gal": POUND / GALLON,
        "lb/ft3": POUND / FOOT**3,
        "slug/ft3": POUND_FORCE / FOOT**4,
    },
    "m/m": {
        "m/m": 1.0,
        "ft/nmi": FOOT / NAUTICAL_MILE,
        "ft/ft": 1.0,
        "m/km": 1e-3,
    },
    "": {"": 1.0, "%": 0.01, "percent": 0.01, "%MAC": 0.01},
}
"""Size of each unit in the SI unit it stands under."""

_OFFSETS = {
    "degC": 273.15,
    "°C": 273.15,
    "degF": RANKINE_AT_ZERO_FAHRENHEIT * FAHRENHEIT_DEGREE,
    "°F": RANKINE_AT_ZERO_FAHRENHEIT * FAHRENHEIT_DEGREE,
}
"""Kelvin at zero of the scale."""

_TRAPS = {
    "nm": 'Here "nm" would be the nanometre. Write nmi for nautical miles',
    "C": "Write degC",
    "F": "Write degF",
    "mb": "Write mbar or hPa",
    "ft.lb": "Write ft.lbf",
    "Mft.lb": "Write Mft.lbf",
    "in.lb": "Write in.lbf",
}
_ATOM = r"[A-Za-z°µ_]+[0-9]?"
_GRAMMAR = re.compile(rf"(?:1|{_ATOM})(?:[./]{_ATOM})*\Z")


_READ_IN: dict[str, tuple[tuple[str, int], ...]] = {
    "m": (("m", 2), ("ft", 1)),
    "kg": (("kg", 0), ("lb", 0)),
    "m/s": (("m/s", 1), ("kt", 1)),
    "rad": (("deg", 2),),
    "K": (("degC", 1),),
    "Pa": (("kPa", 0), ("psi", 0)),
    "N.m": (("N.m", 0), ("ft.lbf", 0)),
    "J": (("MJ", 2), ("Mft.lbf", 2)),
}
"""Units in which a person can compare an SI value with what stands in a file, and their decimals."""


def readable(value: float, si_unit: str) -> str:
    """Return an SI value as a message gives it: ``24268 kg (53500 lb)``, ``11.00 deg``, ``0.35``."""
    spelled = canonical_unit(si_unit)
    units = _READ_IN.get(spelled)
    if units is None:
        return f"{value:.6g} {spelled}".rstrip()
    shown = [
        f"{(value - offset) / scale:.{decimals}f} {unit}"
        for unit, decimals in units
        for scale, offset in [unit_factor(unit, spelled)]
    ]
    return shown[0] if len(shown) == 1 else f"{shown[0]} ({shown[1]})"


def canonical_unit(text: str) -> str:
    """Return a unit in the one spelling used here: ``m**2`` and ``m^2`` as ``m2``, ``N*m`` as ``N.m``."""
    text = "".join(text.split()).replace("**", "").replace("^", "")
    return text.replace("²", "2").replace("³", "3").replace("*", ".").replace("·", ".").replace("/hr", "/h")


@cache
def unit_factor(unit: str, si_unit: str) -> tuple[float, float]:
    """Return (scale, offset) such that SI = value * scale + offset.

    Raises ``QuantityError`` (a ``ValueError``) for a unit that is unknown or measures something else.
    """
    spelled, wanted = canonical_unit(unit), canonical_unit(si_unit)
    wanted = "" if wanted == "1" else wanted
    if (scale := COMMON_UNITS.get(wanted, {}).get(spelled)) is not None:
        return scale, _OFFSETS.get(spelled, 0.0) if wanted == "K" else 0.0
    kind = KINDS.get(wanted, wanted)
    units = listed(COMMON_UNITS.get(wanted, {wanted: 1.0}))
    if spelled in _TRAPS:
        raise QuantityError(f'"{unit}"', f"is not a unit of {kind}", _TRAPS[spelled])
    other = next((KINDS[si] for si, known in COMMON_UNITS.items() if si and spelled in known), None)
    if wanted == "":
        raise QuantityError(
            f'"{unit}"', "is a unit, a plain number is wanted", "Leave the unit out, or write %"
        )
    if other is not None:
        raise QuantityError(f'"{unit}"', f"measures {other}, not {kind}", f"Write one of: {units}")
    # An angle is a plain number to pint, so it would take any number for one.
    if (
        _GRAMMAR.match(spelled)
        and len(spelled) < 40
        and wanted not in ("rad", "rad/s", "1/rad", "delta_degC")
    ):
        return _by_pint(unit, spelled, wanted)
    raise _unknown(unit, spelled, wanted)


@cache
def _registry() -> Any:
    import pint  # with its registry it costs a third of a second, so only for a unit that is not listed above

    library: Any = pint
    return library.UnitRegistry(autoconvert_offset_to_baseunit=True)


def pint_text(unit: str) -> str:
    """Return a unit as pint wants it written."""
    return re.sub(r"(?<=[A-Za-z])([0-9])", r"**\1", unit).replace(".", "*")


def _by_pint(unit: str, spelled: str, wanted: str) -> tuple[float, float]:
    registry = _registry()
    try:
        size = registry.Quantity(1.0, pint_text(spelled))
    except Exception:  # pint raises several unrelated types for text that is no unit
        raise _unknown(unit, spelled, wanted) from None
    try:
        one = float(size.to(pint_text(wanted)).magnitude)
        zero = float(registry.Quantity(0.0, pint_text(spelled)).to(pint_text(wanted)).magnitude)
    except Exception as error:  # not of this kind, or not a plain scale
        expected = f"does not measure {KINDS.get(wanted, wanted)}"
        units = listed(COMMON_UNITS.get(wanted, ()))
        raise QuantityError(f'"{unit}"', expected, f"Write one of: {units}") from error
    return one - zero, zero


def _unknown(unit: str, spelled: str, wanted: str) -> QuantityError:
    known = COMMON_UNITS.get(wanted, {})
    hint = suggestion(spelled, known) or f"Write one of: {listed(known)}"
    return QuantityError(f'"{unit}"', "is not a known unit", hint)
