"""Plain data from YAML events: no aliases, no tags, no types but those of JSON, and the place of each key."""

from __future__ import annotations

import re
from typing import Any

from sortiewright.pack.errors import InputError, Path, Problem, key_text, shown

DEEPEST = 40
"""Levels inside each other; a pack needs eight."""

NUMBER_ROW = "numbers"
"""The style of a scalar event that stands for a whole ``[1, 2.5, -3e2]``, see ``yaml_scanner``."""

Position = tuple[int, int]
"""Line and column, both counted from 1."""


class DataBuilder:
    """Data from events, without recursion; refuses what plain data files have no use for."""

    def __init__(self, name: str, numbers: bool) -> None:
        self.name, self.numbers = name, numbers
        self.problems: list[Problem] = []
        self.positions: dict[Path, Position] = {}
        self.root: Any = None
        self.documents = 0
        self.open: list[tuple[dict[str, Any] | list[Any], Path]] = []
        self.key: str | None = None

    def take(self, event: Any) -> None:
        """Add one event."""
        match type(event).__name__:
            case "ScalarEvent":
                self._refuse_properties(event)
                self._scalar(event)
            case "MappingStartEvent":
                self._refuse_properties(event)
                self._begin({}, event)
            case "SequenceStartEvent":
                self._refuse_properties(event)
                self._begin([], event)
            case "MappingEndEvent" | "SequenceEndEvent":
                self.open.pop()
                self.key = None
            case "AliasEvent":
                self._refuse(event, f'the alias "*{event.anchor}" is not allowed', "Write the value again")
                self._place(None, event)
            case "DocumentStartEvent":
                self._begin_document(event)
            case _:
                pass

    def _begin_document(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            self._stop(event, 'a second document begins here ("---")', "Keep one in each file")
        if event.tags or event.version not in (None, (1, 2)):
            self._stop(event, "only plain YAML 1.2 is read here", "Delete the lines that begin with %")

    def _scalar(self, event: Any) -> None:
        if event.style == NUMBER_ROW:
            row = [part.strip() for part in event.value.split(",") if part.strip()]
            self._place([_number(part) for part in row] if self.numbers else row, event)
            return
        plain = event.style is None
        if self.open and isinstance(self.open[-1][0], dict) and self.key is None:
            self._begin_key(event.value, plain, event)
            return
        value: Any = event.value
        if plain and (self.numbers or value in _NULLS):
            value = plain_value(value)
        self._place(value, event)

    def _begin_key(self, key: str, plain: bool, event: Any) -> None:
        container, path = self.open[-1]
        assert isinstance(container, dict)
        if plain and key == "<<":
            self._refuse(event, "the merge key << is not allowed", "Write the values again")
        elif key in container:
            first = self.positions.get((*path, key), _position(event))[0]
            self._refuse(event, f"{shown(key)} stands here twice", f"The first is in line {first}")
        else:
            self.positions[(*path, key)] = _position(event)
        container[key] = None
        self.key = key

    def _begin(self, container: dict[str, Any] | list[Any], event: Any) -> None:
        if self.open and isinstance(self.open[-1][0], dict) and self.key is None:
            self._stop(event, "a key must be a single word or text", "Is a quote missing around it?")
        if len(self.open) >= DEEPEST:
            self._stop(event, f"more than {DEEPEST} levels inside each other are not read")
        path = self._place(container, event)
        self.open.append((container, path))
        self.key = None

    def _place(self, value: Any, event: Any) -> Path:
        """Put a value where it belongs and return its path."""
        if not self.open:
            self.root = value
            self.positions[()] = _position(event)
            return ()
        container, parent = self.open[-1]
        if isinstance(container, list):
            path = (*parent, len(container))
            self.positions[path] = _position(event)
            container.append(value)
            return path
        if self.key is None:  # an alias as a key: refused already
            self.key = ""
            return parent
        container[self.key] = value
        path = (*parent, self.key)
        self.key = None
        return path

    def _refuse_properties(self, event: Any) -> None:
        if event.anchor is not None:
            self._refuse(
                event, f'the anchor "&{event.anchor}" is not allowed', "Write the value where it is needed"
            )
        tag = event.tag
        if tag is not None and str(tag) not in _IMPLIED_TAGS:
            self._refuse(event, f'the tag "{tag}" is not allowed', "Write the plain value; quotes make text")

    def _refuse(self, event: Any, expected: str, hint: str = "") -> None:
        key = key_text(self.open[-1][1]) if self.open else ""
        self.problems.append(Problem(self.name, _position(event)[0], key, "", expected, hint))

    def _stop(self, event: Any, expected: str, hint: str = "") -> None:
        self._refuse(event, expected, hint)
        raise InputError(self.problems)


_IMPLIED_TAGS = ("None", "")
_NULLS = frozenset(("", "~", "null", "Null", "NULL"))
_WORDS = {
    **dict.fromkeys(_NULLS),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_INTEGER = re.compile(r"[-+]?[0-9]+\Z")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?\Z")
_OTHER_BASE = re.compile(r"0o[0-7]+\Z|0x[0-9a-fA-F]+\Z")
_NOT_FINITE = re.compile(r"([-+]?)\.(?:(inf|Inf|INF)|nan|NaN|NAN)\Z")


def plain_value(text: str) -> Any:
    """Return an unquoted YAML scalar as null, bool, int, float or text (YAML 1.2.2, 10.3.2, core schema)."""
    if text in _WORDS:
        return _WORDS[text]
    if not text or text[0] not in "+-.0123456789":
        return text
    if _FLOAT.match(text):
        return _number(text)
    if _OTHER_BASE.match(text) and len(text) < 18:
        return int(text, 0)
    if special := _NOT_FINITE.match(text):
        return float(special[1] + ("inf" if special[2] else "nan"))
    return text


def _number(text: str) -> int | float:
    # Beyond 18 digits a float says as much, and Python refuses to read integers of thousands of digits.
    return int(text) if _INTEGER.match(text) and len(text) <= 18 else float(text)


def _position(event: Any) -> Position:
    return event.start_mark.line + 1, event.start_mark.column + 1
