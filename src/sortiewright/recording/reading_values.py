"""A column's values as a channel: scaled, in SI, the right way round."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import CHANNELS, Channel, QuantityError
from sortiewright.recording.channel_map import ColumnUse, WindParts
from sortiewright.recording.channel_map_checks import channel_scale
from sortiewright.recording.reading_table import RawTable
from sortiewright.recording.recording import Floats
from sortiewright.recording.unit_names import unit_in_name, unit_in_units_row

ABSURD = 1e12
"""No channel has a value of this size in SI; what has is no measurement."""
YES = frozenset({"true", "t", "yes", "y", "on", "1", "down", "set", "lit", "locked", "running",
                 "ground", "engaged", "armed", "active", "pressed"})  # fmt: skip
NO = frozenset({"false", "f", "no", "n", "off", "0", "up", "released", "unlocked", "stopped", "air",
                "disengaged", "safe", "inactive", "-1"})  # fmt: skip


def unit_of(table: RawTable, use: ColumnUse, channel: Channel) -> str:
    """Return the unit in which a column is read: the map's, that of the units row or the name, or SI."""
    if use.unit is not None:
        return use.unit
    for unit in (unit_in_units_row(table.units.get(use.column, "")), unit_in_name(use.column)[1]):
        if unit and fits(unit, channel):
            return unit
    return channel.unit


def fits(unit: str, channel: Channel) -> bool:
    """Return whether a unit measures what a channel is."""
    try:
        channel_scale(unit, channel)
    except QuantityError:
        return False
    return channel.kind == "number"


def channel_values(table: RawTable, name: str, use: ColumnUse) -> NDArray[Any]:
    """Return a channel's values in the file's order: SI floats, truths as 0, 1 and NaN, choices as text."""
    channel = CHANNELS[name]
    if channel.kind == "choice":
        return _choices(table, use, channel)
    if channel.kind == "truth":
        return truths_of(table, use)
    return numbers_in(table, use, channel)


def numbers_in(table: RawTable, use: ColumnUse, channel: Channel) -> Floats:
    """Return a column as numbers in a channel's unit; NaN for what is missing or not finite."""
    values = table.numbers(use.column)
    if use.full is not None:
        scale, offset = use.scale / use.full, use.offset / use.full
    else:
        size, zero = channel_scale(unit_of(table, use, channel), channel)
        scale, offset = use.scale * size, use.offset * size + zero
    if use.invert:
        scale, offset = -scale, -offset
    if scale != 1.0 or offset != 0.0:
        values = values * scale + offset if offset else values * scale
    # One sum tells whether any value is infinite or absurd; only then each is looked at.
    if not abs(float(values.sum())) < ABSURD:
        values = np.where(np.abs(values) < ABSURD, values, np.nan)
    if channel.unit == "deg":
        values = _compass(values, channel)
    return values


def _compass(values: Floats, channel: Channel) -> Floats:
    low, high = channel.usual or (0.0, 360.0)
    with np.errstate(invalid="ignore"):
        least, most = (np.nanmin(values), np.nanmax(values)) if np.isfinite(values).any() else (low, high)
    if channel.name == "latitude_deg" or (least >= low and most <= high):
        return values
    # Headings of -180 to 180 and longitudes of 0 to 360 are the same directions, counted another way.
    return (values - low) % 360.0 + low


def truths_of(table: RawTable, use: ColumnUse, rows: NDArray[np.intp] | None = None) -> Floats:
    """Return a column, or some rows of it, as 0, 1 and NaN; more than a half is 1."""
    if use.true or not table.is_number(use.column):
        codes, texts = table.words(use.column)
        yes = {word.lower() for word in use.true} or YES
        meaning = [_meaning(text.lower(), yes, only=bool(use.true)) for text in texts]
        values = np.array([*meaning, np.nan])[
            codes if rows is None else codes[rows]
        ]  # -1, blank, is the last
    else:
        numbers = table.numbers(use.column)
        numbers = numbers if rows is None else numbers[rows]
        if use.scale != 1.0 or use.offset != 0.0:
            numbers = numbers * use.scale + use.offset
        values = (numbers > 0.5).astype(np.float64)
        if len(numbers) and np.isnan(numbers.min()):
            values[np.isnan(numbers)] = np.nan
    return 1.0 - values if use.invert else values


def _meaning(text: str, yes: frozenset[str] | set[str], *, only: bool) -> float:
    if text in yes:
        return 1.0
    if only or text in NO:
        return 0.0
    try:
        return 1.0 if float(text) > 0.5 else 0.0
    except ValueError:
        return float("nan")


def _choices(table: RawTable, use: ColumnUse, channel: Channel) -> NDArray[Any]:
    codes, texts = table.words(use.column)
    by_text = {text.lower(): meant for text, meant in use.words.items()}
    own = {word: word for word in channel.words}
    meant = [by_text.get(text.lower(), own.get(text.lower(), "")) for text in texts]
    return np.array([*meant, ""])[codes]


def wind_values(table: RawTable, parts: WindParts) -> tuple[Floats, Floats]:
    """Return wind speed, m/s, and the true direction it comes from, degrees, from its parts."""
    channel = CHANNELS["wind_speed"]
    north, east = (numbers_in(table, use, channel) for use in (parts.north, parts.east))
    if parts.blows == "to":
        north, east = -north, -east
    return np.hypot(north, east), np.degrees(np.arctan2(east, north)) % 360.0
