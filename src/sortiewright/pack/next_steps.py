"""What a pack that is being written still lacks, in the order in which it is best written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path as FilePath

from pydantic import BaseModel

from sortiewright.pack.catalogue import pack_folder
from sortiewright.pack.errors import InputError, Path, Problem, key_text
from sortiewright.pack.load import HEAD, PARTS, load_pack
from sortiewright.pack.new_pack import key_meanings
from sortiewright.pack.schema import Pack
from sortiewright.pack.shape import Shape, fields_of
from sortiewright.pack.text import Document, as_list, as_mapping, parse_yaml, read_text_file

ORDER = ("pack", "airframe", "mass", "wheels", "technique", "engine", "aero")
"""What a handbook gives outright comes first; thrust and drag, known by their effects only, come last."""


@dataclass(frozen=True, slots=True)
class FillingStep:
    """A value that is needed and is not there: its file and line, its key, and what is wanted."""

    file: str
    line: int
    key: Path
    wanted: str
    last_line: int
    """To which a fault there may point: a table is spread over several lines."""
    table_file: str = ""
    """The CSV file that is still without a table."""

    @property
    def key_text(self) -> str:
        """The key as people write it."""
        return key_text(self.key)


@dataclass(frozen=True)
class UnfinishedPack:
    """A pack that does not load yet: what is wrong in what is written, and what is still to be written."""

    faults: tuple[Problem, ...]
    steps: tuple[FillingStep, ...]

    @property
    def by_file(self) -> dict[str, int]:
        """Return how many values each file still lacks, in the order of the steps."""
        counts: dict[str, int] = {}
        for step in self.steps:
            counts[step.file] = counts.get(step.file, 0) + 1
        return counts


def unfinished_pack(path_or_name: str | FilePath) -> UnfinishedPack | None:
    """Return what a pack still lacks; None where every needed value is there, right or wrong.

    Raises ``InputError`` for a folder that is no pack.
    """
    folder = pack_folder(path_or_name)
    steps = tuple(step for part in ORDER for step in _steps_of(folder, part))
    if not steps:
        return None
    try:
        load_pack(folder)
    except InputError as error:
        faults = tuple(one for one in error.problems if not any(_explains(step, one) for step in steps))
    else:
        faults = ()
    return UnfinishedPack(faults, steps)


def _explains(step: FillingStep, fault: Problem) -> bool:
    if step.table_file and fault.file == step.table_file:
        return True
    return fault.file == step.file and (fault.line is None or step.line <= fault.line <= step.last_line)


def _steps_of(folder: FilePath, part: str) -> Iterator[FillingStep]:
    name = f"{part}.yaml"
    record = Pack if part == HEAD else fields_of(Pack)[part].record
    assert record is not None
    if not (folder / name).exists():
        yield FillingStep(name, 1, (), f"the file is missing: {record.__doc__}", 1)
        return
    try:
        document = parse_yaml(read_text_file(folder / name, name=name), name, numbers=part != HEAD)
    except InputError:
        return  # a fault, and said as one
    if document.data is None:
        yield FillingStep(name, 1, (), "nothing is written in it", 1)
    elif as_mapping(document.data) is not None:
        yield from _Walk(document, folder).record(
            record, document.data, (), skip=PARTS if part == HEAD else ()
        )


class _Walk:
    """A walk through one file beside the schema."""

    def __init__(self, document: Document, folder: FilePath) -> None:
        self.document, self.folder = document, folder

    def record(
        self, record: type[BaseModel], data: object, path: Path, skip: tuple[str, ...] = ()
    ) -> Iterator[FillingStep]:
        entries = as_mapping(data)
        if entries is None:
            return  # of the wrong sort: a fault
        for key, shape in fields_of(record).items():
            if key in skip:
                continue
            needed = record.model_fields[key].is_required()
            written = _unwrapped(entries.get(key))
            if written is None:
                if needed:
                    yield self._step(record, key, (*path, key))
            else:
                yield from self._below(record, key, shape, written, (*path, key))

    def _below(
        self, record: type[BaseModel], key: str, shape: Shape, data: object, path: Path
    ) -> Iterator[FillingStep]:
        if shape.table is not None:
            yield from self._table(record, key, data, path)
        elif shape.sort == "record" and shape.record is not None:
            yield from self.record(shape.record, data, path)
        elif shape.item is not None and shape.item.record is not None:
            named = as_mapping(data)
            items = named.items() if named is not None else enumerate(as_list(data) or ())
            for name, item in items:
                if item is not None and name not in ("source", "note"):
                    yield from self.record(shape.item.record, item, (*path, name))

    def _table(self, record: type[BaseModel], key: str, data: object, path: Path) -> Iterator[FillingStep]:
        entries = as_mapping(data)
        if entries is None:
            return
        if isinstance(file := entries.get("file"), str):
            if not _holds_rows(self.folder / file):
                yield self._step(record, key, path, table_file=file)
            return
        parts = [one for name, one in entries.items() if name not in ("unit", "source", "note")]
        inner = [as_mapping(one) for one in parts]
        values = [one if own is None else own.get("values") for one, own in zip(parts, inner, strict=True)]
        if any(one is None or one == [] for one in values):
            yield self._step(record, key, path, last=self.document.line((*path, "values")))

    def _step(
        self, record: type[BaseModel], key: str, path: Path, *, table_file: str = "", last: int = 0
    ) -> FillingStep:
        line = self.document.line(path)
        said = key_meanings()[record.__name__, key]
        example = "" if said.example == "see below" else said.example.replace("`", "")
        wanted = "; ".join(part for part in (example, said.meaning.replace("`", "")) if part)
        if table_file:
            wanted = f"in {table_file}: {wanted}"
        return FillingStep(self.document.name, line, path, wanted, max(line, last), table_file)


def _unwrapped(written: object) -> object:
    entries = as_mapping(written)
    if entries is not None and "value" in entries and entries.keys() <= {"value", "source", "note"}:
        return entries["value"]
    return written


def _holds_rows(file: FilePath) -> bool:
    """Return whether a CSV file holds more than its line of names; one that cannot be read is a fault."""
    try:
        text = read_text_file(file, name=file.name)
    except InputError:
        return True
    rows = [line for line in text.split("\n") if line.strip() and not line.lstrip().startswith("#")]
    return len(rows) > 1
