"""How files spell units: in a units row, in brackets or at the end of a column's name."""

from __future__ import annotations

import re

# Spelling in a file, in small letters and without blanks, and the unit as ``pack`` spells it.
_SPELLINGS: dict[str, str] = {
    "kt": "kt", "kts": "kt", "knot": "kt", "knots": "kt", "kn": "kt", "kias": "kt", "kcas": "kt",
    "ktas": "kt",
    "m/s": "m/s", "mps": "m/s", "ms-1": "m/s", "m/sec": "m/s", "m_s": "m/s",
    "fps": "ft/s", "ft/s": "ft/s", "ft/sec": "ft/s", "ftps": "ft/s", "feet/second": "ft/s", "ft_s": "ft/s",
    "fpm": "ft/min", "ft/min": "ft/min", "ftmin": "ft/min", "feet/minute": "ft/min", "ft_min": "ft/min",
    "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "km/hr": "km/h", "mph": "mph",
    "ft": "ft", "feet": "ft", "foot": "ft", "m": "m", "metre": "m", "metres": "m", "meter": "m",
    "meters": "m",
    "km": "km", "nm": "nmi", "nmi": "nmi", "mi": "mi", "in": "in", "inch": "in", "inches": "in",
    "deg": "deg", "degs": "deg", "degree": "deg", "degrees": "deg", "°": "deg", "degt": "deg",
    "degtrue": "deg",
    "rad": "rad", "rads": "rad", "radian": "rad", "radians": "rad", "mrad": "mrad",
    "rad/s": "rad/s", "rad/sec": "rad/s", "radps": "rad/s", "rps": "rad/s", "rad_s": "rad/s",
    "rad_sec": "rad/s",
    "deg/s": "deg/s", "deg/sec": "deg/s", "degps": "deg/s", "dps": "deg/s", "°/s": "deg/s", "deg_s": "deg/s",
    "deg_sec": "deg/s",
    "g": "g", "gs": "g", "g's": "g",
    "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb", "lbm": "lb", "klb": "klb", "kg": "kg",
    "kgs": "kg",
    "t": "t", "tonnes": "t",
    "pph": "lb/h", "lb/h": "lb/h", "lb/hr": "lb/h", "lbs/hr": "lb/h", "lbs/h": "lb/h", "lbph": "lb/h",
    "pps": "lb/s", "lb/s": "lb/s", "lbs/s": "lb/s", "lbs/sec": "lb/s", "lb/min": "lb/min", "ppm": "lb/min",
    "kg/s": "kg/s", "kg/h": "kg/h", "kg/hr": "kg/h", "kgph": "kg/h", "kgps": "kg/s", "kg/min": "kg/min",
    "c": "degC", "degc": "degC", "°c": "degC", "celsius": "degC", "k": "K", "degk": "K", "kelvin": "K",
    "f": "degF", "degf": "degF", "°f": "degF", "fahrenheit": "degF", "r": "degR", "degr": "degR",
    "rankine": "degR", "°r": "degR",
    "psi": "psi", "pa": "Pa", "kpa": "kPa", "hpa": "hPa", "mbar": "mbar", "bar": "bar", "inhg": "inHg",
    "psf": "lbf/ft2",
    "%": "%", "pct": "%", "percent": "%", "perc": "%", "mac": "%", "%mac": "%", "pctmac": "%", "%rpm": "%",
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "ms": "ms", "msec": "ms",
    "millis": "ms",
    "millisecond": "ms", "milliseconds": "ms", "us": "us", "usec": "us", "microseconds": "us",
    "ns": "ns", "nanoseconds": "ns", "min": "min", "mins": "min", "minutes": "min", "h": "h", "hr": "h",
    "hours": "h",
    "bool": "", "boolean": "", "flag": "", "norm": "", "ratio": "", "1": "", "01": "", "mach": "", "m#": "",
    "fraction": "", "unitless": "", "nd": "", "iso": "", "iso8601": "", "text": "", "int": "",
}  # fmt: skip
# At the end of a name only what cannot be mistaken for a word or a letter of its own.
_ONLY_IN_BRACKETS = frozenset(
    {"g", "gs", "g's", "c", "k", "f", "r", "t", "s", "h", "in", "min", "mach", "mac", "1", "01", "us", "int",
     "text", "bool", "flag", "nd", "iso", "m", "ms", "mi", "bar", "ratio", "kn"}
)  # fmt: skip
_LETTERS_AT_END = frozenset({"m", "s", "g", "c", "ms"})
"""Read at a name's end only after ``_`` or ``-``: ``alt_m``, ``t_s``, ``nz_g``; ``r`` is the right one."""
_BRACKETED = re.compile(r"[\[(<{]\s*([^\])>}]*?)\s*[\])>}]\s*\Z")
_INDEX = re.compile(r"\[\d+\]\Z|\(\d+\)\Z")


def unit_in_units_row(cell: str) -> str | None:
    """Return a unit as ``pack`` spells it (``""`` a plain number), or None for what is no unit."""
    text = re.sub(r"\s+", "", cell).strip("[](){}<>").lower().replace("²", "2")
    if text in ("", "-", "--"):
        return ""
    return _SPELLINGS.get(text)


def unit_in_name(name: str) -> tuple[str, str | None]:
    """Return a column's name without its unit, and the unit as ``pack`` spells it; None where it has none.

    ``Altitude (ft)``, ``speed [kts]``, ``velocities/vg-fps``, ``pitch_deg``, ``PitchRate_rad_sec``.
    """
    index = _INDEX.search(name)
    bare, tail = (name[: index.start()], index.group()) if index else (name, "")
    if match := _BRACKETED.search(bare):
        unit = unit_in_units_row(match[1])
        if unit is not None and match[1]:
            return (bare[: match.start()] + tail).strip(), unit
    if match := re.search(r"(?:^|[-_ /.:])([A-Za-z%°]+[-_/](?:s|sec|min|h|hr))\Z", bare):
        text = match[1].lower().replace("-", "/").replace("_", "/")
        if text in _SPELLINGS and match.start() > 0:
            return bare[: match.start()] + tail, _SPELLINGS[text]
    if match := re.search(r"[-_ .:]([A-Za-z%°]+)\Z", bare):
        text = match[1].lower()
        if text in _SPELLINGS and (text not in _ONLY_IN_BRACKETS or _is_letter_unit(text, bare, match)):
            return bare[: match.start()] + tail, _SPELLINGS[text]
    # Written together, as spreadsheets' column heads often are: ``AltitudeFt``, ``SpeedKts``.
    if match := re.search(r"(?<=[a-z])(Kts|Kt|Ft|Fpm|Fps|Deg|Rad|Mps|Lbs|Lb|Kg|Sec|Pct)\Z", bare):
        return bare[: match.start()] + tail, _SPELLINGS[match[1].lower()]
    return name, None


def _is_letter_unit(text: str, bare: str, match: re.Match[str]) -> bool:
    return text in _LETTERS_AT_END and bare[match.start()] in "_-" and match.start() > 0
