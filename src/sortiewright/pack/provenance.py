"""Where each value came from: ``source:`` and ``note:`` are taken off what a file says and kept by key.

Any value may be written ``{value: 45000 lb, source: "...", note: "..."}``, and any mapping may carry the two
keys beside its own. What is left is what the schema describes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sortiewright.pack.errors import Path, Problem, key_text
from sortiewright.pack.shape import Shape
from sortiewright.pack.table_reading import CsvGrid, TableSource
from sortiewright.pack.text import Document, as_list, as_mapping
from sortiewright.pack.yaml_data import Position


@dataclass(frozen=True)
class Source:
    """Where a value came from, as its file says."""

    text: str
    note: str
    file: str
    line: int


@dataclass
class Stripped:
    """The data of a file without sources, and the sources by key path below ``prefix``."""

    name: str
    prefix: str
    data: Any = None
    positions: dict[Path, Position] = field(default_factory=dict[Path, Position])
    sources: dict[str, Source] = field(default_factory=dict[str, Source])

    def line(self, path: Path) -> int:
        """Return the line of a key path, or of the nearest key above that is in the file."""
        while path and path not in self.positions:
            path = path[:-1]
        return self.positions.get(path, (1, 1))[0]

    def value(self, path: Path) -> Any:
        """Return what was written at a key path; ``KeyError`` if nothing was."""
        found = self.data
        for key in path:
            found = found.raw if isinstance(found, TableSource) else found
            try:
                found = found[key]
            except (TypeError, IndexError):
                raise KeyError(key) from None
        return found.raw if isinstance(found, TableSource) else found

    def problem(self, path: Path, read: str, expected: str, hint: str = "") -> Problem:
        """Return a fault at a key path of this file."""
        return Problem(self.name, self.line(path), key_text(path), read, expected, hint)


def without_sources(
    document: Document, shape: Shape, *, prefix: str = "", open_csv: Callable[[str], CsvGrid] | None = None
) -> Stripped:
    """Return the data of a document as the schema describes it, and the sources taken off.

    ``prefix`` is the key of the whole file (``airframe``), put before the key paths of sources and the names
    of tables. ``open_csv`` opens the CSV file that a table names.
    """
    stripped = Stripped(document.name, prefix)

    def full(path: Path) -> str:
        return key_text((prefix, *path) if prefix else path)

    def keep(entries: dict[str, Any], path: Path, written: Path) -> str:
        source, note = (_text(entries.get(key)) for key in ("source", "note"))
        at = next((key for key in ("source", "note") if key in entries), "")
        if source or note:
            line = document.line((*written, at))
            stripped.sources[full(path)] = Source(source, note, document.name, line)
        return source

    def walk(raw: Any, shape: Shape, path: Path, written: Path) -> Any:
        stripped.positions[path] = document.position(written)
        if (items := as_list(raw)) is not None:
            return [walk(item, shape.child(i), (*path, i), (*written, i)) for i, item in enumerate(items)]
        if (entries := as_mapping(raw)) is None:
            # To pydantic true is the number 1; as a word it is refused where a number is wanted.
            return str(raw).lower() if isinstance(raw, bool) and shape.sort == "number" else raw
        if "value" in entries and entries.keys() <= _WRAPPER and not shape.has("value"):
            keep(entries, path, written)
            value = walk(entries["value"], shape, path, (*written, "value"))
            stripped.positions[path] = document.position(written)
            return value
        if shape.table is not None:
            source = keep(entries, path, written)
            own = {key: value for key, value in entries.items() if key not in ("source", "note")}
            _copy_positions(document, stripped.positions, own, path, written)
            return TableSource(full(path), own, source, open_csv)
        taken = [] if shape.item is not None and shape.item.sort == "text" else _taken(entries, shape)
        keep({key: entries[key] for key in taken}, path, written)
        return {
            key: walk(value, shape.child(key), (*path, key), (*written, key))
            for key, value in entries.items()
            if key not in taken
        }

    stripped.data = walk(document.data, shape, (), ())
    return stripped


_WRAPPER = frozenset(("value", "source", "note"))


def _taken(entries: dict[str, Any], shape: Shape) -> list[str]:
    """Return which of ``source`` and ``note`` are remarks on a mapping, not entries of the schema."""
    return [key for key in ("source", "note") if isinstance(entries.get(key), str) and not shape.has(key)]


def _copy_positions(
    document: Document, positions: dict[Path, Position], raw: Any, path: Path, written: Path
) -> None:
    """Take over the places inside a table, whose keys are checked when the table is read."""
    inner = as_mapping(raw)
    entries = inner.items() if inner is not None else enumerate(as_list(raw) or ())
    for key, value in entries:
        place = (*written, key)
        # A row of numbers is read at once and has no places inside: then the row's own serves.
        if place in document.positions:
            positions[(*path, key)] = document.positions[place]
            _copy_positions(document, positions, value, (*path, key), place)


def _text(value: Any) -> str:
    return value.strip() if isinstance(value, str) else ""
