"""What a channel map says that cannot be: unknown channels, units of another kind, columns not there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sortiewright.pack import (
    CHANNELS,
    Channel,
    Document,
    FileError,
    InputError,
    Problem,
    QuantityError,
    choice_hint,
    listed,
    shown,
    suggestion,
    to_si,
    unit_factor,
)
from sortiewright.recording.channel_map import ChannelMap, ColumnUse

ZERO_FUEL_MASS = "zero_fuel_mass"
_ANGLE = ("deg", "rad")


def channel_scale(unit: str, channel: Channel) -> tuple[float, float]:
    """Return (scale, offset) from a unit to the channel's own. Raises ``QuantityError``.

    A channel in degrees takes ``deg`` and ``rad``; a load factor takes ``g``, and m/s2 as a plain number.
    """
    if channel.name.startswith("load_factor") and unit in ("g", "m/s2"):
        return (1.0 if unit == "g" else 1.0 / 9.80665), 0.0
    if channel.unit == "deg":
        scale, _ = unit_factor(unit, "rad")
        degree, _ = unit_factor("deg", "rad")
        return scale / degree, 0.0
    return unit_factor(unit, channel.unit)


def map_problems(channel_map: ChannelMap, document: Document) -> list[Problem]:
    """Return every fault of a map that can be told without the recording."""
    found: list[Problem] = []
    for name, use in channel_map.channels.items():
        found += _channel_problems(name, use, document)
    if channel_map.wind is not None:
        wind = CHANNELS["wind_speed"]
        for part in ("north", "east"):
            found += _unit_problems(getattr(channel_map.wind, part), wind, ("wind", part), document)
    for name, value in channel_map.constants.items():
        found += _constant_problems(name, value, document)
    if not channel_map.channels:
        found.append(document.problem(("channels",), "", "it takes no column", "Write channel: column lines"))
    return found


def _channel_problems(name: str, use: ColumnUse, document: Document) -> list[Problem]:
    path = ("channels", name)
    if name == "time":
        return [
            document.problem(path, "", "time has a place of its own", "Write it as time: at the left edge")
        ]
    if name not in CHANNELS:
        return [document.problem(path, shown(name), "is no channel", choice_hint(name, CHANNELS, "channels"))]
    channel = CHANNELS[name]
    found = _unit_problems(use, channel, path, document)
    if use.true and channel.kind != "truth":
        found.append(
            document.problem((*path, "true"), "", f"{name} is not a truth, so it has no word for yes")
        )
    if channel.kind == "choice":
        found += [
            document.problem(
                (*path, "words", word), shown(meant), "is no word of this channel", _words(channel)
            )
            for word, meant in use.words.items()
            if meant not in channel.words
        ]
    elif use.words:
        found.append(document.problem((*path, "words"), "", f"{name} has no words"))
    if use.full is not None and (channel.unit or use.full == 0.0):
        what = "must not be 0" if use.full == 0.0 else f"is for positions; {name} is in {channel.unit}"
        found.append(document.problem((*path, "full"), f"{use.full:g}", what))
    if use.scale == 0.0:
        found.append(document.problem((*path, "scale"), "0", "would make all values alike"))
    return found


def _words(channel: Channel) -> str:
    return f"Its words: {listed(channel.words)}"


def _unit_problems(
    use: ColumnUse, channel: Channel, path: Sequence[str | int], document: Document
) -> list[Problem]:
    if use.unit is None or use.full is not None:
        return []
    if channel.kind != "number":
        what = f"a unit makes no sense for {channel.name}"
        return [] if use.unit == "" else [document.problem((*path, "unit"), shown(use.unit), what)]
    try:
        channel_scale(use.unit, channel)
    except QuantityError as fault:
        hint = fault.hint
        if channel.unit == "" and use.unit in ("deg", "rad"):
            hint = "Write full: and what the file has at full travel"
        return [document.problem((*path, "unit"), fault.read, fault.expected, hint)]
    return []


def _constant_problems(name: str, value: str | float, document: Document) -> list[Problem]:
    path = ("constants", name)
    if name not in CHANNELS and name != ZERO_FUEL_MASS:
        choices = [*CHANNELS, ZERO_FUEL_MASS]
        return [document.problem(path, shown(name), "is no channel", choice_hint(name, choices, "channels"))]
    try:
        constant_value(name, value)
    except QuantityError as fault:
        return [document.problem(path, fault.read, fault.expected, fault.hint)]
    return []


def constant_value(name: str, value: str | float) -> float:
    """Return a constant of a map in its channel's unit. Raises ``QuantityError``."""
    unit = "kg" if name == ZERO_FUEL_MASS else CHANNELS[name].unit
    if name in CHANNELS and CHANNELS[name].kind != "number":
        raise QuantityError(shown(value), "cannot be constant: only numbers can")
    if isinstance(value, int | float):
        if unit not in ("", "deg"):
            raise QuantityError(f"{value:g}", "has no unit", f"Write a number and a unit: {value:g} {unit}")
        return float(value)
    return to_si(value.removesuffix("deg").strip(), "") if unit == "deg" else to_si(value, unit)


def columns_missing(channel_map: ChannelMap, names: Sequence[str], file: str) -> None:
    """Raise ``InputError`` for every column that a map takes and the recording lacks, with near names."""
    there = set(names)
    found: list[Problem] = []
    places: list[tuple[tuple[str, ...], str]] = [(("time", "column"), channel_map.time.column)]
    places += [(("channels", name, "column"), use.column) for name, use in channel_map.channels.items()]
    if channel_map.wind is not None:
        places += [
            (("wind", part, "column"), getattr(channel_map.wind, part).column) for part in ("north", "east")
        ]
    for path, column in places:
        if column in there:
            continue
        hint = suggestion(column, names) or f"Its columns: {listed(names)}"
        said = f"is no column of {file}"
        if channel_map.document is not None:
            found.append(channel_map.document.problem(path, shown(column), said, hint))
        else:
            found.append(Problem(file, None, ".".join(path[:-1]), shown(column), "is no column of it", hint))
    if len(found) == len(places) and len(places) > 1:
        raise FileError(
            file,
            "none of the columns that the map names is in it",
            f"Is it the right map? Columns here: {listed(names)}",
        )
    if found:
        raise InputError(found)


def unused(channel_map: ChannelMap, names: Iterable[str]) -> tuple[str, ...]:
    """Return the columns of a file that a map neither takes nor lists as not wanted."""
    known = {*channel_map.columns(), *channel_map.ignore}
    return tuple(name for name in names if name not in known)
