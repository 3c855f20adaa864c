"""How live values and the totals of a feed are worded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from sortiewright.link import REFUSALS, VALUE_REFUSALS, Counts, Value
from sortiewright.pack import CHANNELS, unit_factor

if TYPE_CHECKING:
    from rich.text import Text

_TRADE: dict[str, tuple[str, int]] = {
    "m/s": ("kt", 0), "m": ("ft", 0), "rad": ("deg", 1), "rad/s": ("deg/s", 1), "kg": ("lb", 0),
    "K": ("degC", 0), "kg/s": ("lb/h", 0), "Pa": ("psi", 0),
}  # fmt: skip
"""Trade unit of each SI unit, and its decimals."""


_SHORT = {
    "calibrated_airspeed": "CAS",
    "indicated_airspeed": "IAS",
    "ground_speed": "GS",
    "altitude": "alt",
    "true_heading_deg": "hdg",
    "vertical_speed": "VS",
    "load_factor_normal": "g",
}


def values_line(values: Mapping[str, Value]) -> str:
    """Return values in the trade's units, one after the other."""
    return "  ".join(f"{_SHORT.get(name, name)} {value_text(name, value)}" for name, value in values.items())


def value_text(name: str, value: Value) -> str:
    """Return one channel's value with its unit; a dash where it is missing."""
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    unit = CHANNELS[name].unit
    if name == "vertical_speed":
        shown, places = "ft/min", 0
    elif unit in _TRADE:
        shown, places = _TRADE[unit]
    else:
        places = 5 if "itude" in name else 0
        return f"{value:.{places}f} deg" if unit == "deg" else f"{value:.2f}"
    scale, offset = unit_factor(shown, unit)
    return f"{(value - offset) / scale:.{places}f} {shown}"


def counts_lines(counts: Counts, late: int) -> list[Text]:
    """Return what became of every datagram, the causes that occurred with the first example of each."""
    from rich.text import Text

    lines = [
        Text(f"{counts.received} datagrams, {counts.accepted} used, {counts.refused.total()} not used"),
        Text(f"{counts.values} values, {counts.values_refused.total()} not used"),
    ]
    told = {
        "out of order, put in order": counts.reordered,
        "lost on the way": counts.missing,
        "came too late for the rows": late,
        "new beginnings of the sender's clock": counts.restarts,
        "errors told by the socket": counts.socket_errors,
    }
    lines += [Text(f"  {count:7}  {what}") for what, count in told.items() if count]
    for causes, words in ((counts.refused, REFUSALS), (counts.values_refused, VALUE_REFUSALS)):
        for cause, count in sorted(causes.items(), key=lambda one: -one[1]):
            example = f": {counts.examples[cause]}" if cause in counts.examples else ""
            lines.append(Text(f"  {count:7}  {words[cause]}{example}"))
    return lines
