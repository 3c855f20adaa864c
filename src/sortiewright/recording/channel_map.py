"""The channel map: which column of a file is which channel, in what unit, and which way round.

One YAML file for one way of recording. Everything it says is checked before a sample is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, cast

from pydantic import BeforeValidator, Field, PrivateAttr

from sortiewright.pack import Document, Model

TimeUnit = Literal["s", "ms", "us", "ns", "min", "h", "iso", "clock"]
"""``iso``: a date with its time, ISO 8601; ``clock``: hours, minutes and seconds alone."""


def _as_use(raw: Any) -> Any:
    return {"column": raw} if isinstance(raw, str) else raw


def _as_words(raw: Any) -> Any:
    # In YAML 1.2 a bare 0 is a number, but what a file writes is text.
    if isinstance(raw, dict):
        return {_text(key): value for key, value in cast("dict[Any, Any]", raw).items()}
    if isinstance(raw, list | tuple):
        return tuple(_text(one) for one in cast("list[Any]", raw))
    return (_text(raw),) if isinstance(raw, str | int | float) else raw


def _text(raw: Any) -> Any:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    return f"{raw:g}" if isinstance(raw, int | float) else raw


Texts = Annotated[tuple[str, ...], BeforeValidator(_as_words)]


class ColumnUse(Model):
    """How a column becomes a channel: first ``scale`` and ``offset`` on what the file has, then its unit."""

    column: str
    unit: str | None = None
    """Of the file's values. Absent: that of the units row or the column's name, failing these SI."""
    scale: float = 1.0
    offset: float = 0.0
    invert: bool = False
    """Whether the file counts the other way: nose down or left positive."""
    full: float | None = None
    """Of a position given in degrees, percent or counts: what the file has at full travel."""
    zero_on_wheels: bool = False
    """Of a height: take off what it reads with weight on wheels (heights of the centre of gravity)."""
    true: Texts = ()
    """Of a truth: the words that mean yes."""
    words: Annotated[dict[str, str], BeforeValidator(_as_words)] = Field(default_factory=dict[str, str])
    """Of a choice: the file's word or number, and the channel's word."""


class WindParts(Model):
    """Wind given by its north and east parts."""

    north: Annotated[ColumnUse, BeforeValidator(_as_use)]
    east: Annotated[ColumnUse, BeforeValidator(_as_use)]
    blows: Literal["to", "from"] = "to"
    """Whether a positive north part is air that moves north, or comes from there."""


class TimeUse(Model):
    """The column of time."""

    column: str
    unit: TimeUnit | None = None
    """Absent: told from the name and the values."""


class ChannelMap(Model):
    """One channel map."""

    title: str = ""
    time: Annotated[TimeUse, BeforeValidator(_as_use)]
    channels: dict[str, Annotated[ColumnUse, BeforeValidator(_as_use)]]
    wind: WindParts | None = None
    constants: dict[str, str | float] = Field(default_factory=dict[str, str | float])
    """Channels that the file lacks and that did not change: ``gross_mass: 11200 lb``; and
    ``zero_fuel_mass``, from which the gross weight follows where the file has the fuel."""
    ignore: Texts = ()
    """Columns that are known and not wanted, so that no one is told of them again."""

    _document: Document | None = PrivateAttr(default=None)

    def from_document(self, document: Document) -> ChannelMap:
        """Return this map with the file it came from, so that messages can name its lines."""
        found = self.model_copy()
        found._document = document
        return found

    @property
    def document(self) -> Document | None:
        """The file it came from, for messages; None for a map made by the program."""
        return self._document

    def columns(self) -> tuple[str, ...]:
        """Return every column that it takes from a file, each once."""
        uses = [use.column for use in self.channels.values()]
        wind = [self.wind.north.column, self.wind.east.column] if self.wind else []
        return tuple(dict.fromkeys([self.time.column, *uses, *wind]))


def load_channel_map(path: Path | str) -> ChannelMap:
    """Return the channel map of a YAML file. Raises ``InputError`` with every fault and its line."""
    from sortiewright.pack import InputError, parse_yaml, read_record, read_text_file
    from sortiewright.recording.channel_map_checks import map_problems

    file = Path(path)
    document = parse_yaml(read_text_file(file), str(path))
    plain, _ = read_record(document, ChannelMap)
    loaded = plain.from_document(document)
    if problems := map_problems(loaded, document):
        raise InputError(problems)
    return loaded


def map_text(channel_map: ChannelMap, comments: Mapping[str, str] | None = None) -> str:
    """Return a channel map as YAML; ``comments`` by channel stand behind its line."""
    said = comments or {}
    lines = [f"title: {_quoted(channel_map.title)}"] if channel_map.title else []
    lines.append(f"time: {_use_text(channel_map.time)}{_comment(said.get('time', ''))}")
    lines.append("channels:" if channel_map.channels else "channels: {}")
    lines += [
        f"  {name}: {_use_text(use)}{_comment(said.get(name, ''))}"
        for name, use in channel_map.channels.items()
    ]
    if wind := channel_map.wind:
        lines += ["wind:", f"  north: {_use_text(wind.north)}", f"  east: {_use_text(wind.east)}"]
        lines.append(f"  blows: {wind.blows}{_comment(said.get('wind', ''))}")
    if channel_map.constants:
        lines += ["constants:", *(f"  {name}: {_value(one)}" for name, one in channel_map.constants.items())]
    if channel_map.ignore:
        lines += ["ignore:", *(f"  - {_quoted(name)}" for name in channel_map.ignore)]
    return "\n".join(lines) + "\n"


def _use_text(use: ColumnUse | TimeUse) -> str:
    fields = use.model_dump(exclude_defaults=True)
    return "{" + ", ".join(f"{key}: {_value(value)}" for key, value in fields.items()) + "}"


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value:.10g}"
        case tuple():
            return "[" + ", ".join(_value(one) for one in cast("tuple[Any, ...]", value)) + "]"
        case dict():
            pairs = cast("dict[str, Any]", value).items()
            return "{" + ", ".join(f"{_quoted(key)}: {_value(one)}" for key, one in pairs) + "}"
        case _:
            return _quoted(str(value))


def _quoted(text: str) -> str:
    plain = text.isascii() and text.replace("_", "").replace("/", "").replace("-", "").isalnum()
    # Words that YAML would take for something else, and numbers, keep their quotes.
    if (
        plain
        and text[0].isalpha()
        and text.lower() not in ("true", "false", "null", "yes", "no", "on", "off")
    ):
        return text
    return "'" + text.replace("'", "''") + "'"


def _comment(text: str) -> str:
    return f"  # {text}" if text else ""
