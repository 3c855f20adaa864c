"""Live values in the reader's units, and by the short names that a crew uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sortiewright.pack import CHANNELS
from sortiewright.sortie import Kind, System, show

if TYPE_CHECKING:
    from sortiewright.link import Value

DIALS = (
    ("Airspeed", ("indicated_airspeed", "calibrated_airspeed")),
    ("Altitude", ("altitude", "pressure_altitude")),
    ("Heading", ("true_heading_deg",)),
    ("Climb", ("vertical_speed",)),
    ("Load", ("load_factor_normal",)),
    ("Fuel", ("fuel_mass",)),
)
"""What is always shown of a feed: a title, and the channels that may give it, the first that there is."""
_KINDS = {
    "m": Kind.HEIGHT,
    "rad": Kind.ANGLE,
    "rad/s": Kind.TURN_RATE,
    "deg": Kind.COURSE,
    "kg": Kind.MASS,
    "K": Kind.TEMPERATURE,
    "kg/s": Kind.MASS_FLOW,
    "Pa": Kind.PRESSURE,
}
_OWN_KINDS = {
    "ground_speed": Kind.GROUND_SPEED,
    "wind_speed": Kind.WIND_SPEED,
    "vertical_speed": Kind.CLIMB_RATE,
    "true_airspeed": Kind.TAS,
    "mach_number": Kind.MACH,
    "pitch_trim": Kind.TRIM_UNITS,
}
_SHARE = 1.3
"""Numbers without a unit whose usual greatest value is below this are shares, shown in percent."""


def value_text(channel: str, value: Value, units: System) -> str:
    """Return a live value with its unit: ``243 kt``; a dash where the sender does not know it."""
    if value is None:
        return "–"
    if isinstance(value, str):
        return value.upper()
    if isinstance(value, bool):
        return "yes" if value else "no"
    return show(value, kind_of(channel), units).text


def kind_of(channel: str) -> Kind:
    """Return as what a channel's number is shown."""
    if channel in _OWN_KINDS:
        return _OWN_KINDS[channel]
    if channel.startswith("load_factor"):
        return Kind.LOAD_FACTOR
    known = CHANNELS.get(channel)
    if known is None:
        return Kind.MASS if channel.startswith("fuel") else Kind.NUMBER
    if known.unit == "m/s":
        return Kind.CAS
    if known.unit == "":
        return Kind.FRACTION if known.usual and known.usual[1] <= _SHARE else Kind.NUMBER
    return _KINDS.get(known.unit, Kind.NUMBER)


def short_name(channel: str) -> str:
    """Return a channel's name as it stands beside its value: ``gear position``."""
    return channel.removesuffix("_deg").replace("_", " ")
