"""Values of a pack's files as a book prints them: as they are written, and in SI."""

from __future__ import annotations

import re

from sortiewright.pack import COMMON_UNITS, QuantityError, to_si
from sortiewright.sortie import MINUS, THIN_SPACE

SPELLED = {
    "deg": "°",
    "degC": "°C",
    "delta_degC": "°C",
    "m2": "m²",
    "ft2": "ft²",
    "kg/m3": "kg/m³",
    "1/deg": "per °",
    "1/rad": "per rad",
    "deg/s": "°/s",
    "ft.lbf": "ft·lbf",
    "Mft.lbf": "Mft·lbf",
    "N.m": "N·m",
}
CAPITALS = {"cas": "CAS", "tas": "TAS", "rpm": "RPM", "mach": "Mach", "rcr": "RCR"}
SI_OF = {
    unit: si for si, units in COMMON_UNITS.items() for unit in units if si not in ("", "m/m", "delta_degC")
}
TRADE_OF = {
    "m": "ft",
    "kg": "lb",
    "m/s": "kt",
    "N": "lbf",
    "kg/s": "lb/h",
    "rad": "deg",
    "J": "Mft.lbf",
    "K": "degC",
}
"""Unit in which a table of an SI unit is read in the trade."""
LARGE = {"Pa": ("kPa", 1e3), "J": ("MJ", 1e6), "N": ("kN", 1e3)}
"""Units whose values here run to many digits, and the larger ones that are read."""
_QUANTITY = re.compile(r"([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)(?:\s+(\S+)|\s*([A-Za-z%°]\S*))\Z")
_KEY = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)+\Z")


def heading(key: str | int) -> str:
    """Return a key of a file as a title: ``gear_up_least_cas`` is Gear up least CAS."""
    words = [CAPITALS.get(word, word) for word in str(key).replace("_", " ").split()]
    text = " ".join(words)
    return text[:1].upper() + text[1:]


def as_written(text: str) -> str:
    """Return a value as the file has it, its unit spelled for people."""
    match = _QUANTITY.match(text.strip())
    if match is None:
        return text.strip().replace("_", " ") if _KEY.match(text.strip()) else text.strip()
    number, unit = match[1], match[2] or match[3]
    return joined(grouped(number), SPELLED.get(unit, unit))


def in_si(text: str) -> str:
    """Return a quantity in its SI unit, empty for what is none or is in SI already."""
    match = _QUANTITY.match(text.strip())
    unit = "" if match is None else match[2] or match[3]
    si = SI_OF.get(unit)
    if si is None or unit == si:
        return ""
    try:
        value = to_si(text.strip(), si)
    except QuantityError:
        return ""
    if si in LARGE:
        si, size = LARGE[si]
        value /= size
    return joined(number_text(value), SPELLED.get(si, si))


def number_text(value: float) -> str:
    """Return a number with four figures, thin spaces between thousands."""
    return grouped(f"{value:.4g}" if abs(value) < 1e4 else f"{value:.0f}")


def grouped(number: str) -> str:
    """Return digits with thin spaces between thousands and a true minus."""
    sign = MINUS if number.startswith("-") else ""
    whole, point, rest = number.lstrip("+-").partition(".")
    if not whole.isdigit():
        return sign + number.lstrip("+-")
    return sign + f"{int(whole):,}".replace(",", THIN_SPACE) + point + rest


def joined(number: str, unit: str) -> str:
    """Return number and unit; a degree sign stands close."""
    return f"{number}{'' if unit == '°' else THIN_SPACE}{unit}"
