"""Text files and YAML, read so that every value still knows its line.

YAML is 1.2 with the core schema: ``ON``, ``NO`` and ``12:30`` are words. Whatever lets one place of a file
change another (anchors, aliases, merge keys), or names a type to build (tags), is refused.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, cast

from sortiewright.pack.errors import FileError, InputError, Path, Problem, key_text
from sortiewright.pack.yaml_data import DataBuilder, Position

LARGEST_FILE = 2_000_000


def read_text_file(path: FilePath, limit: int = LARGEST_FILE, name: str | None = None) -> str:
    """Return the text of a UTF-8 file with ``\\n`` line ends, without a byte order mark.

    ``name`` is what messages call the file (its path by default). Raises ``FileError`` for a file that is
    missing, a folder, not readable, larger than ``limit`` bytes, binary, or not UTF-8.
    """
    name = name or str(path)
    try:
        with path.open("rb") as file:
            raw = file.read(limit + 1)
    except FileNotFoundError:
        raise FileError(name, "there is no such file") from None
    except IsADirectoryError:
        raise FileError(name, "this is a folder, a file is wanted") from None
    except PermissionError:
        what = "this is a folder, a file is wanted" if path.is_dir() else "you may not read this file"
        raise FileError(name, what) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise FileError(name, f"this file cannot be read ({reason})") from None
    if len(raw) > limit:
        raise FileError(name, f"this file is larger than {limit / 1e6:g} MB", "Is it the right file?")
    return decoded(raw, name)


def decoded(raw: bytes, name: str) -> str:
    """Return bytes as text with ``\\n`` line ends; ``FileError`` if they are not UTF-8 text."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise FileError(name, "this is UTF-16 text, UTF-8 is wanted", "Save it as UTF-8")
    if b"\0" in raw:
        raise FileError(
            name, "this is a binary file, text is wanted", line=raw.count(b"\n", 0, raw.index(0)) + 1
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileError(name, f"byte {error.start} is not UTF-8 text", "Save it as UTF-8", line) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


@dataclass(frozen=True)
class Document:
    """The plain data of one file, and where each key and list item stands in it."""

    name: str
    data: Any
    positions: dict[Path, Position] = field(repr=False)

    def position(self, path: Sequence[str | int]) -> Position:
        """Return line and column of a key path, or of the nearest key above that is in the file."""
        parts = tuple(path)
        while parts and parts not in self.positions:
            parts = parts[:-1]
        return self.positions.get(parts, (1, 1))

    def line(self, path: Sequence[str | int]) -> int:
        """Return the line of a key path."""
        return self.position(path)[0]

    def problem(self, path: Sequence[str | int], read: str, expected: str, hint: str = "") -> Problem:
        """Return a fault at a key path of this file."""
        return Problem(self.name, self.line(path), key_text(path), read, expected, hint)


def parse_yaml(text: str, name: str, *, numbers: bool = True) -> Document:
    """Return the data of a YAML text as dict, list, str, int, float, bool and None, with the place of each
    key.

    ``numbers=False`` keeps numbers and booleans as the text they were written as, for files that hold only
    words (``version: 1.10``). Keys are always text. Raises ``InputError`` with every fault that can be told
    apart.
    """
    from sortiewright.pack.yaml_scanner import (  # costs 15 ms: only for readers of files
        recorded_events,
        syntax_problem,
    )

    builder = DataBuilder(name, numbers)
    try:
        for event in recorded_events(text):
            builder.take(event)
    except InputError:
        raise
    except Exception as error:  # on absurd text the library also fails with errors of its own code
        builder.problems.append(syntax_problem(name, text, error))
    if builder.problems:
        raise InputError(builder.problems)
    return Document(name, builder.root, builder.positions)


def as_mapping(data: Any) -> dict[str, Any] | None:
    """Return plain data as a mapping if it is one."""
    return cast("dict[str, Any]", data) if isinstance(data, dict) else None


def as_list(data: Any) -> list[Any] | None:
    """Return plain data as a list if it is one."""
    return cast("list[Any]", data) if isinstance(data, list) else None
