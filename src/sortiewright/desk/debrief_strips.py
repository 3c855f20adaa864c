"""What the strip charts draw: chosen channels over the window in sight, least and greatest a pixel.

The page asks again for each window, so an hour costs no more than a second of it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sortiewright.recording import Recording
    from sortiewright.sortie import System

MOST_STRIPS = 8
LEAST_WIDTH, MOST_WIDTH = 50, 2400  # pixels
FIRST_SHOWN = (
    "calibrated_airspeed", "indicated_airspeed", "height_above_ground", "vertical_speed", "pitch", "bank",
    "load_factor_normal", "throttle_left", "throttle", "gear_position", "angle_of_attack", "flap_position",
)  # fmt: skip
"""What is drawn until somebody chooses, as far as it is recorded."""
_SHORT = {"left": "left", "right": "right"}

# Byte order of what the page reads, whatever machine serves it.
LITTLE_SINGLE = np.dtype(np.float32).newbyteorder("<")
LITTLE_DOUBLE = np.dtype(np.float64).newbyteorder("<")


@dataclass(frozen=True)
class Strip:
    """A channel that can be drawn: its name, title, the unit it is drawn in, and how it gets there."""

    channel: str
    title: str
    unit: str
    scale: float
    offset: float
    places: int


def strips_of(recording: Recording, units: System) -> list[Strip]:
    """Return every channel of numbers that is recorded, in the order of the channel table."""
    from sortiewright.desk.debrief_mapping import TRADE
    from sortiewright.pack import CHANNELS, unit_factor

    found: list[Strip] = []
    for name, channel in CHANNELS.items():
        if channel.kind == "choice" or name == "time" or not recording.has(name):
            continue
        unit, places, scale, offset = channel.unit, 2, 1.0, 0.0
        if unit == "rad":  # nobody reads these in radians
            unit, places = "deg", 1
        elif unit == "rad/s":
            unit, places = "deg/s", 1
        elif unit == "K":
            unit, places = "degC", 0
        elif units == "trade" and unit in TRADE:
            unit, places = ("ft/min", 0) if name == "vertical_speed" else TRADE[unit]
        elif unit == "deg":
            places = 4 if "itude" in name else 0
        if unit != channel.unit:
            scale, offset = unit_factor(unit, channel.unit)
        sign = {"deg": "°", "deg/s": "°/s", "degC": "°C"}.get(unit, unit)
        title = channel.title.partition(",")[0] + _side(name)
        found.append(Strip(name, title, sign, scale, offset, places))
    return found


def _side(name: str) -> str:
    side = name.rpartition("_")[2]
    return f", {side}" if side in _SHORT or side == "nose" else ""


def first_shown(strips: Sequence[Strip]) -> list[str]:
    """Return the channels that are drawn until somebody chooses."""
    there = {one.channel for one in strips}
    wanted = [name for name in FIRST_SHOWN if name in there]
    if "calibrated_airspeed" in wanted and "indicated_airspeed" in wanted:
        wanted.remove("indicated_airspeed")
    return wanted[: MOST_STRIPS - 2] or [one.channel for one in strips[:4]]


def window_bytes(
    recording: Recording, strips: Sequence[Strip], begin: float, end: float, width: int
) -> bytes:
    """Return the chosen channels between two times, s: a length, a head as JSON, then numbers.

    The head's ``points`` is how many points each line has; it is padded so that what follows is aligned:
    the times as 64-bit floats, s, and each line as 32-bit floats in its shown unit, all little-endian. NaN
    where a value is missing or the samples do not go on from those before.
    """
    rows = _rows(recording, begin, end)
    edges: NDArray[np.intp] = np.linspace(float(rows.start), float(rows.stop), width + 1).astype(np.intp)
    is_thinned = rows.stop - rows.start > 2 * width
    if is_thinned:
        edges = np.unique(edges)[:-1]
        times = np.repeat(recording.time[edges], 2)
        times[1::2] += 0.5 * np.diff(np.append(times[::2], recording.time[rows.stop - 1]))
    else:
        times = recording.time[rows]
    breaks = recording.breaks[(recording.breaks > rows.start) & (recording.breaks < rows.stop)]
    places = np.searchsorted(times, recording.time[breaks])
    between = recording.time[breaks] - 1e-3
    lines = [
        np.insert(_line(recording, one, rows, edges if is_thinned else None), places, np.nan)
        for one in strips
    ]
    times = np.insert(times, places, between)
    head = json.dumps(
        {"points": len(times), "channels": [one.channel for one in strips], "thinned": is_thinned},
        separators=(",", ":"),
    )
    head += " " * (-(len(head) + 4) % 8)
    body = [
        np.asarray(times, LITTLE_DOUBLE).tobytes(),
        *(np.asarray(one, LITTLE_SINGLE).tobytes() for one in lines),
    ]
    return len(head).to_bytes(4, "little") + head.encode("ascii") + b"".join(body)


def _rows(recording: Recording, begin: float, end: float) -> slice:
    """Return the rows in a window with one more on either side, so that lines reach its edges."""
    first = int(np.searchsorted(recording.time, begin, "left")) - 1
    last = int(np.searchsorted(recording.time, end, "right")) + 1
    first = min(max(first, 0), recording.rows - 2)
    return slice(first, min(max(last, first + 2), recording.rows))


def _line(
    recording: Recording, strip: Strip, rows: slice, edges: NDArray[np.intp] | None
) -> NDArray[np.float64]:
    values = np.asarray(recording.columns[strip.channel][rows], dtype=np.float64)
    if edges is None:
        found = values
    else:
        inside: NDArray[np.intp] = edges - rows.start
        found: Any = np.empty(2 * len(edges))
        found[0::2] = np.fmin.reduceat(values, inside)
        found[1::2] = np.fmax.reduceat(values, inside)
    return (found - strip.offset) / strip.scale
