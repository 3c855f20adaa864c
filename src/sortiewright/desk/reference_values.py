"""A pack's files as chapters: every value as its author wrote it, with source, note, file and line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

from sortiewright.desk.reference_book import BookSection, Entry, Grid, KeyPath
from sortiewright.desk.reference_units import as_written, heading, in_si
from sortiewright.pack import Document, LoadedPack, parse_yaml, read_text_file

ABOUT = ("source", "note", "title")
"""Keys that say something of what they stand beside."""
GENERAL = "general"
TABLE_KEYS = ("unit", "values", "file", "source", "note")


@dataclass(frozen=True)
class _Reading:
    """One file of a pack being read into sections."""

    part: str
    document: Document

    def place(self, path: KeyPath) -> str:
        return f"{self.document.name}:{self.document.line(path)}"


def sections_of(loaded: LoadedPack, part: str) -> tuple[BookSection, ...]:
    """Return the sections of one file of the pack; none where the pack has no such file."""
    file = loaded.folder / f"{part}.yaml"
    if not file.is_file():
        return ()
    # Words only: a book prints 1.10 as it is written, not as 1.1.
    document = parse_yaml(read_text_file(file, name=file.name), file.name, numbers=False)
    reading = _Reading(part, document)
    whole: Any = document.data
    if isinstance(whole, list):
        return tuple(_listed(reading, cast("list[Any]", whole)))
    data = _mapping(whole)
    single = {key: value for key, value in data.items() if not _is_group(value)}
    found: list[BookSection] = []
    if entries := tuple(_entries(reading, single, ())):
        found.append(BookSection(GENERAL, heading(part), entries, place=f"{document.name}:1"))
    for key, value in data.items():
        if _is_group(value):
            found += _group(reading, key, value)
    return tuple(found)


def _group(reading: _Reading, key: str, value: Any) -> Iterator[BookSection]:
    """Yield a mapping or list as a section; one whose parts have titles as one section for each."""
    path: KeyPath = (key,)
    rows = cast("list[Any]", value) if isinstance(value, list) else []
    if rows and (grid := _grid(rows)) is not None:
        yield BookSection(key, heading(key), grid=grid, place=reading.place(path))
        return
    if rows:
        entries = [
            entry
            for number, row in enumerate(rows)
            for entry in _entries(reading, _mapping(row), (key, number), _name_of(row, number))
        ]
        yield BookSection(key, heading(key), tuple(entries), place=reading.place(path))
        return
    data = _mapping(value)
    inner = [name for name, one in data.items() if _is_group(one)]
    if inner and all(_mapping(data[name]) and "title" in _mapping(data[name]) for name in inner):
        if single := {name: one for name, one in data.items() if name not in inner}:
            yield _section(reading, key, heading(key), single, path)
        for name in inner:
            one = _mapping(data[name])
            yield _section(reading, f"{key}.{name}", str(one["title"]), one, (*path, name))
        return
    title = str(data.get("title") or heading(key))
    yield _section(reading, key, title, data, path)


def _section(reading: _Reading, id: str, title: str, data: dict[str, Any], path: KeyPath) -> BookSection:
    words = ". ".join(str(data[name]) for name in ("note", "source") if isinstance(data.get(name), str))
    entries = tuple(_entries(reading, data, path))
    return BookSection(id, title, entries, words, place=reading.place(path))


def _entries(
    reading: _Reading, data: dict[str, Any], path: KeyPath, before: str = "", source: str = ""
) -> Iterator[Entry]:
    """Yield the values of a mapping, those of mappings inside it with the way to them before their names."""
    own = data.get("source")
    source = own if isinstance(own, str) else source
    for key, value in data.items():
        if key in ABOUT and isinstance(value, str):
            continue
        at = (*path, key)
        title = f"{before}: {heading(key).lower()}" if before else heading(key)
        if _is_group(value):
            if isinstance(value, list):
                for number, row in enumerate(cast("list[Any]", value)):
                    name = f"{title} {_name_of(row, number)}"
                    yield from _entries(reading, _mapping(row), (*at, number), name, source)
            else:
                yield from _entries(reading, _mapping(value), at, title, source)
            continue
        yield _entry(reading, title, value, at, source)


def _entry(reading: _Reading, title: str, value: Any, path: KeyPath, inherited: str) -> Entry:
    wrapped = _mapping(value)
    bare = wrapped.get("value", value) if wrapped else value
    table = _is_table(bare)
    inner = _mapping(bare)
    source = str(wrapped.get("source") or inner.get("source") or "")
    text = _words_of_table(inner) if table else _text(bare)
    return Entry(
        id=".".join(str(part) for part in path),
        title=title,
        value=text if table else as_written(text),
        si="" if table else in_si(text),
        source=source or inherited,
        source_of="" if source or not inherited else heading(path[0]),
        note=str(wrapped.get("note") or inner.get("note") or ""),
        severity=str(wrapped.get("severity") or ""),
        place=reading.place(path),
        table=(reading.part, *path) if table else (),
    )


def _listed(reading: _Reading, rows: list[Any]) -> Iterator[BookSection]:
    """Yield a file that is a list as one section for each kind of entry in it: the book points."""
    kinds = dict.fromkeys(str(_mapping(row).get("quantity", "entry")) for row in rows)
    for kind in kinds:
        entries: list[Entry] = []
        for number, row in enumerate(rows):
            data = _mapping(row)
            if str(data.get("quantity", "entry")) != kind:
                continue
            conditions = ", ".join(
                f"{heading(name).lower()} {as_written(_text(one))}"
                for name, one in _mapping(data.get("conditions")).items()
            )
            value = _text(data.get("value"))
            tolerance = as_written(_text(data.get("tolerance")))
            entries.append(
                Entry(
                    id=f"point-{number + 1}",
                    title=conditions[:1].upper() + conditions[1:] or "As the pack stands",
                    value=f"{as_written(value)} ± {tolerance}" if tolerance else as_written(value),
                    si=in_si(value),
                    source=str(data.get("source") or ""),
                    note=str(data.get("note") or ""),
                    place=reading.place((number,)),
                )
            )
        yield BookSection(kind, heading(kind), tuple(entries))


def _grid(rows: list[Any]) -> Grid | None:
    """Return a list of plain mappings with the same few keys as a grid, None for any other list."""
    maps = [_mapping(row) for row in rows]
    if not all(maps) or any(_is_group(one) or _mapping(one) for row in maps for one in row.values()):
        return None
    heads = tuple(dict.fromkeys(key for row in maps for key in row))
    if len(heads) > 4 or any(set(row) != set(heads) for row in maps):
        return None
    cells = tuple(tuple(as_written(_text(row[head])) for head in heads) for row in maps)
    return Grid(tuple(heading(head) for head in heads), cells)


def _is_group(value: Any) -> bool:
    """Return whether a value is a mapping, or a list of mappings, that is neither a value nor a table."""
    if isinstance(value, list):
        items = cast("list[Any]", value)
        return bool(items) and all(isinstance(one, dict) for one in items)
    data = _mapping(value)
    return bool(data) and "value" not in data and not _is_table(value)


def _is_table(value: Any) -> bool:
    data = _mapping(value)
    return "values" in data or "file" in data


def _words_of_table(data: dict[str, Any]) -> str:
    axes = [heading(key).lower() for key in data if key not in TABLE_KEYS]
    by = f", by {' and '.join(axes)}" if axes else ""
    values, unit = data.get("values"), str(data.get("unit") or "")
    if isinstance(values, list) and all(isinstance(one, str) for one in cast("list[Any]", values)):
        numbers = cast("list[str]", values)
        return as_written(f"{numbers[0]}") + f" to {as_written(f'{numbers[-1]} {unit}'.strip())}{by}"
    return f"table{by}"


def _name_of(row: Any, number: int) -> str:
    data = _mapping(row)
    return str(data.get("title") or heading(str(data.get("setting") or number + 1)))


def _text(value: Any) -> str:
    if isinstance(value, list):
        items = cast("list[Any]", value)
        nested = any(isinstance(one, list) for one in items)
        return ("; " if nested else ", ").join(_text(one).replace("_", " ") for one in items)
    if isinstance(value, dict):
        pairs = cast("dict[str, Any]", value).items()
        return ", ".join(f"{heading(key).lower()} {as_written(_text(one))}" for key, one in pairs)
    if value is None:
        return ""
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def _mapping(value: Any) -> dict[str, Any]:
    return cast("dict[str, Any]", value) if isinstance(value, dict) else {}
