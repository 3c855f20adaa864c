"""Loading a pack: a folder of YAML files and CSV tables becomes one checked ``Pack``."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from pathlib import PurePosixPath
from typing import Any

from pydantic import ValidationError

from sortiewright.pack.catalogue import pack_folder
from sortiewright.pack.errors import FileError, InputError, Path, Problem, key_text, shown, suggestion
from sortiewright.pack.overlay import Overlay, load_overlay, overlay_problem, with_overlay
from sortiewright.pack.provenance import Source, Stripped, without_sources
from sortiewright.pack.schema import Pack
from sortiewright.pack.shape import Shape, fields_of, record_shape
from sortiewright.pack.table_csv import csv_opener
from sortiewright.pack.text import Document, parse_yaml, read_text_file
from sortiewright.pack.validation import not_a_mapping, problems_of
from sortiewright.pack.yaml_data import Position

HEAD = "pack"
"""The file that says what the pack is: ``pack.yaml``."""

PARTS: tuple[str, ...] = tuple(name for name, shape in fields_of(Pack).items() if shape.sort != "text")
"""Keys of a pack that are files of their own, in the schema's order."""

WORDS_ONLY = (HEAD, "book")
"""Files without numbers of their own: ``version: 1.10`` stays as written."""


@dataclass(frozen=True)
class Places:
    """Where each key of a pack stands: file and line."""

    files: dict[str, tuple[str, dict[Path, Position]]] = field(repr=False)
    """By part: name of the file, and the position of each key path in it."""

    def place(self, path: Path) -> tuple[str, int | None, Path]:
        """Return file, line and the path within the file of a key path that begins with a part."""
        part, inner = (str(path[0]), path[1:]) if path and path[0] in self.files else (HEAD, path)
        name, positions = self.files.get(part, (f"{part}.yaml", {}))
        known = inner
        while known and known not in positions:
            known = known[:-1]
        position = positions.get(known)
        return name, position[0] if position else None, inner

    def problem(self, path: Path, read: str, expected: str, hint: str = "") -> Problem:
        """Return a fault at a key path of the pack."""
        name, line, inner = self.place(path)
        return Problem(name, line, key_text(inner), read, expected, hint)


@dataclass(frozen=True)
class LoadedPack:
    """A pack, and what only its files know.

    ``sources`` are by key path (``airframe.wing_area``). ``digest`` is the SHA-256 of all YAML files and
    tables that were read, line ends aside. ``notes`` is the text of ``notes.md``. ``remarks`` are not faults,
    but a reader may want to know of them. ``overlay`` holds the factors that ``pack`` was loaded with; they
    are in its numbers already.
    """

    pack: Pack
    folder: FilePath
    sources: dict[str, Source] = field(repr=False)
    digest: str
    notes: str = field(repr=False)
    remarks: tuple[str, ...]
    places: Places = field(repr=False)
    overlay: Overlay | None = None

    def where(self, *path: str | int) -> str:
        """Return file and line of a key, for messages: ``engine.yaml:41``."""
        name, line, _ = self.places.place(path)
        return name if line is None else f"{name}:{line}"


def load_pack(path_or_name: str | FilePath, *, overlay: str | FilePath | None = None) -> LoadedPack:
    """Return the pack in a folder, or the shipped pack of that name, with the factors of an overlay file.

    Raises ``InputError`` with every fault of every file: unreadable, not YAML, not the schema, or not
    consistent; or an overlay that was made for another pack, or for this one before it was changed.
    """
    folder = pack_folder(path_or_name)
    reading = _Reading(folder)
    pack = reading.pack()
    places = Places({part: (file.name, file.positions) for part, file in reading.files.items()})

    from sortiewright.pack.consistency import validate_loaded  # after the schema holds, for its names

    if problems := validate_loaded(pack, places):
        raise InputError(sorted(problems, key=_order))
    digest = digest_of_files(reading.texts)
    factors: Overlay | None = None
    if overlay is not None:
        loaded_overlay = load_overlay(overlay)
        if problem := overlay_problem(loaded_overlay, pack, digest):
            raise InputError([problem])
        factors = loaded_overlay.overlay
    return LoadedPack(
        pack=pack if factors is None else with_overlay(pack, factors),
        folder=folder,
        sources={key: source for file in reading.files.values() for key, source in file.sources.items()},
        digest=digest,
        notes=_notes(folder),
        remarks=tuple(_stray_files(folder)),
        places=places,
        overlay=factors,
    )


class _Reading:
    """The files of one pack being read: collects faults and goes on."""

    def __init__(self, folder: FilePath) -> None:
        self.folder = folder
        self.texts: dict[str, str] = {}
        self.files: dict[str, Stripped] = {}
        self.problems: list[Problem] = []
        self.unread: set[str] = set()

    def pack(self) -> Pack:
        """Return the pack as the schema wants it; raise ``InputError`` with everything that is wrong."""
        shapes = fields_of(Pack)
        self._read(HEAD, record_shape(Pack), required=True)
        required = {name for name, info in Pack.model_fields.items() if info.is_required()}
        for part in PARTS:
            self._read(part, shapes[part], required=part in required)
        head = self.files.get(HEAD)
        data: dict[str, Any] = dict(head.data) if head else {}
        for part in [part for part in PARTS if part in data and head]:
            self.problems.append(
                self.files[HEAD].problem((part,), "", "does not belong here", f"See {part}.yaml")
            )
            del data[part]
        data |= {part: file.data for part, file in self.files.items() if part != HEAD}
        try:
            pack = Pack.model_validate(data, context={"from_file": True})
        except ValidationError as error:
            for details in error.errors():
                self.problems += self._problems_of(details)
        else:
            if not self.problems:
                return pack
        raise InputError(sorted(self.problems, key=_order))

    def _read(self, part: str, shape: Shape, *, required: bool) -> None:
        """Read one file; one that cannot be used is noted and left out."""
        name = f"{part}.yaml"
        try:
            path = self.folder / name
            if not required and not path.exists():
                return
            text = read_text_file(path, name=name)
            self.texts[name] = text
            document = parse_yaml(text, name, numbers=part not in WORDS_ONLY)
        except InputError as error:
            self.problems += error.problems
            self.unread.add(part)
            return
        if not required and document.data is None and text.strip():
            return  # all of it is commented, as a new pack has it
        if not self._has_right_form(document, shape):
            self.unread.add(part)
            return
        prefix = "" if part == HEAD else part
        opener = csv_opener(inside_folder(self.folder, self.texts))
        self.files[part] = without_sources(document, shape, prefix=prefix, open_csv=opener)

    def _has_right_form(self, document: Document, shape: Shape) -> bool:
        if isinstance(document.data, list if shape.sort == "list" else dict):
            return True
        if shape.sort == "list" and document.data is not None:
            hint = 'Begin each entry with "- "'
            self.problems.append(document.problem((), shown(document.data), "is not a list", hint))
        else:
            self.problems.append(not_a_mapping(document, document.data))
        return False

    def _problems_of(self, details: Any) -> list[Problem]:
        location = tuple(details["loc"])
        part = location[0] if location and location[0] in PARTS else HEAD
        if part in self.unread or part not in self.files:
            return []
        if part == HEAD:
            return problems_of(details, self.files[HEAD], record_shape(Pack))
        return problems_of(details, self.files[part], fields_of(Pack)[part], location[1:])


def _order(problem: Problem) -> tuple[int, str, int]:
    """Return where a fault stands among others: files in the order of the schema, then by line."""
    known = (HEAD, *PARTS)
    part = problem.file.removesuffix(".yaml")
    return known.index(part) if part in known else len(known), problem.file, problem.line or 0


def inside_folder(folder: FilePath, texts: dict[str, str]) -> Callable[[str], str]:
    """Return a function that reads a file of a folder by its name and keeps its text in ``texts``.

    It raises ``FileError`` for a name that leads out of the folder, also by a symbolic link.
    """

    def read(name: str) -> str:
        if name in texts:
            return texts[name]
        parts = PurePosixPath(name).parts
        strange = not name or "\\" in name or ":" in name or "\0" in name
        if strange or name.startswith("/") or ".." in parts:
            raise FileError(
                name, "this is not a file of the pack", "Write a path below its folder: tables/name.csv"
            )
        path = folder / name
        try:
            leads_out = not path.resolve().is_relative_to(folder.resolve())
        except (OSError, RuntimeError):  # a loop of links
            leads_out = True
        if leads_out:
            raise FileError(name, "this leads out of the pack's folder", "Copy the file into the pack")
        texts[name] = read_text_file(path, name=name)
        return texts[name]

    return read


def digest_of_files(texts: Mapping[str, str]) -> str:
    """Return the SHA-256 of files by name, in the order of the names; line ends and trailing blanks aside."""
    total = hashlib.sha256()
    for name in sorted(texts):
        lines = (line.rstrip() for line in texts[name].rstrip().split("\n"))
        total.update(f"{name}\0".encode() + "\n".join(lines).encode() + b"\0")
    return total.hexdigest()


def _notes(folder: FilePath) -> str:
    try:
        return read_text_file(folder / "notes.md", name="notes.md")
    except FileError:
        return ""


def _stray_files(folder: FilePath) -> list[str]:
    """Return a remark for each YAML file whose name looks like a slip: it is not read."""
    known = [f"{part}.yaml" for part in (HEAD, *PARTS)]
    found = sorted(path.name for path in folder.iterdir() if path.suffix in (".yaml", ".yml"))
    remarks: list[str] = []
    for name in found:
        hint = suggestion(name, [file for file in known if file not in found])
        if name not in known and hint:
            remarks.append(f"{name}  this file is not read. {hint}")
    return remarks
