"""Loading a pack's procedures: the files of its folder ``procedures/`` become one checked ``Procedures``."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any, TypeVar, cast

from pydantic import BaseModel

from sortiewright.pack import (
    Document,
    InputError,
    LoadedPack,
    Pack,
    Problem,
    Source,
    digest_of_files,
    parse_yaml,
    read_record,
    read_text_file,
    shown,
)
from sortiewright.procedures.places import KeyPath, ProcedurePlaces
from sortiewright.procedures.schema import Cockpit, Order, Procedure

FOLDER = "procedures"
CONTROLS, ORDER = "controls.yaml", "order.yaml"
NAME = re.compile(r"[a-z][a-z0-9_]*\Z")
Record = TypeVar("Record", bound=BaseModel)


@dataclass(frozen=True)
class Procedures:
    """What a pack's crew does, and with what: as its files say, every name checked.

    ``sources`` are by key path within their file's procedures (``before_start.items[3]``). ``digest`` is the
    SHA-256 of all files read, line ends aside. ``remarks`` are not faults, but their author may want to know.
    """

    cockpit: Cockpit
    order: Order
    procedures: dict[str, Procedure]
    places: ProcedurePlaces = field(repr=False)
    digest: str
    pack: Pack = field(repr=False)
    sources: dict[str, Source] = field(default_factory=dict[str, Source], repr=False)
    remarks: tuple[str, ...] = ()

    def where(self, *path: str | int) -> str:
        """Return file and line of a key: ``where("procedures", "before_start", "items", 2)``."""
        return self.places.where(*path)


def has_procedures(loaded: LoadedPack) -> bool:
    """Return whether a pack has a folder of procedures."""
    return (loaded.folder / FOLDER).is_dir()


def load_procedures(loaded: LoadedPack) -> Procedures:
    """Return the procedures of a pack.

    Raises ``InputError`` with every fault of every file: unreadable, not YAML, not the schema, or names,
    conditions and values that lead nowhere.
    """
    folder = loaded.folder / FOLDER
    if not folder.is_dir():
        hint = f"Write {CONTROLS}, {ORDER} and the procedures into its folder {FOLDER}"
        raise InputError([Problem(loaded.pack.name, None, "", "", "has no procedures", hint)])
    reading = _Reading(folder)
    found = reading.procedures(loaded.pack)

    from sortiewright.procedures.faults import faults_of  # after the schema holds, for its names

    if problems := list(faults_of(found)):
        raise InputError(sorted(problems, key=_order))
    return found


class _Reading:
    """The files of one folder being read: collects faults and goes on."""

    def __init__(self, folder: FilePath) -> None:
        self.folder = folder
        self.texts: dict[str, str] = {}
        self.problems: list[Problem] = []
        self.places = ProcedurePlaces()
        self.sources: dict[str, Source] = {}
        self.remarks: list[str] = []

    def procedures(self, pack: Pack) -> Procedures:
        """Return what the files hold; raise ``InputError`` with everything that does not fit the schema."""
        cockpit = self._record(CONTROLS, Cockpit, ())
        order = self._record(ORDER, Order, ("order",))
        procedures = self._lists()
        if not procedures and not self.problems:
            expected = "holds no procedure: every file beside controls.yaml and order.yaml may hold some"
            self.problems.append(Problem(FOLDER, None, "", "", expected))
        if self.problems or cockpit is None or order is None:
            raise InputError(sorted(self.problems, key=_order))
        return Procedures(
            cockpit=cockpit,
            order=order,
            procedures=procedures,
            places=self.places,
            digest=digest_of_files(self.texts),
            pack=pack,
            sources=self.sources,
            remarks=(*self.remarks, *_stray_files(self.folder, self.texts)),
        )

    def _record(self, file: str, record: type[Record], prefix: tuple[str, ...]) -> Record | None:
        try:
            document = self._document(file)
            found, sources = read_record(document, record)
        except InputError as error:
            self.problems += error.problems
            return None
        self._take_places(document, prefix)
        self.sources |= sources
        return found

    def _lists(self) -> dict[str, Procedure]:
        found: dict[str, Procedure] = {}
        for file in sorted(path.name for path in self.folder.glob("*.yaml")):
            if file in (CONTROLS, ORDER):
                continue
            try:
                document = self._document(file)
                lists = procedures_of(document, self.problems, self.sources)
            except InputError as error:
                self.problems += error.problems
                continue
            for name in lists:
                if name in found:
                    first = self.places.where("procedures", name)
                    expected = "stands in another file too"
                    self.problems.append(document.problem((name,), shown(name), expected, f"See {first}"))
            self._take_places(document, ("procedures",))
            self._note_remarks(document, lists)
            found |= lists
        return found

    def _document(self, file: str) -> Document:
        name = f"{FOLDER}/{file}"
        text = read_text_file(self.folder / file, name=name)
        self.texts[name] = text
        # Words only: positions such as 1, 2 or OFF, and answers such as 40, stay as they are written.
        return parse_yaml(text, name, numbers=False)

    def _take_places(self, document: Document, prefix: tuple[str, ...]) -> None:
        for path, (line, _) in document.positions.items():
            self.places.lines[(*prefix, *path)] = (document.name, line)

    def _note_remarks(self, document: Document, lists: dict[str, Procedure]) -> None:
        """A ``note`` is for readers of the file; an author who means the crew writes ``notes``."""
        for name, procedure in lists.items():
            for index in range(len(procedure.items)):
                path = (name, "items", index, "note")
                if path in document.positions:
                    place = f"{document.name}:{document.line(path)}"
                    self.remarks.append(f"{place}  note is for readers of this file; the crew reads notes")


def procedures_of(
    document: Document, problems: list[Problem], sources: dict[str, Source]
) -> dict[str, Procedure]:
    """Return the procedures of one file; what is wrong and the sources are added to the arguments.

    Each procedure is read as a record of its own, and its keys are then told with its name before them.
    """
    if (data := _mapping(document.data)) is None:
        expected = "this file is empty" if document.data is None else "is not a mapping of procedures"
        read = "" if document.data is None else shown(document.data)
        raise InputError(
            [document.problem((), read, expected, "Write a name, a colon, and the procedure below")]
        )
    lists: dict[str, Procedure] = {}
    for name, part in _parts(document, data).items():
        if name in ("source", "note") and isinstance(part.data, str):
            sources[f"{document.name}"] = Source(part.data, "", document.name, part.line(()))
            continue
        if not NAME.match(name):
            hint = "Small letters, digits and _ only, beginning with a letter"
            problems.append(document.problem((name,), shown(name), "cannot be the name of a procedure", hint))
            continue
        try:
            lists[name], found = read_record(part, Procedure)
        except InputError as error:
            problems += [replace(one, key=_below(name, one.key)) for one in error.problems]
        else:
            sources |= {_below(name, key): source for key, source in found.items()}
    return lists


def _mapping(data: Any) -> dict[str, Any] | None:
    return cast("dict[str, Any]", data) if isinstance(data, dict) else None


def _parts(document: Document, data: dict[str, Any]) -> dict[str, Document]:
    """Return the value of each top key as a document with its places."""
    positions: dict[str, dict[KeyPath, tuple[int, int]]] = {name: {} for name in data}
    for path, position in document.positions.items():
        if path:
            positions[str(path[0])][path[1:]] = position
    return {name: Document(document.name, value, positions[name]) for name, value in data.items()}


def _below(name: str, key: str) -> str:
    return f"{name}.{key}" if key else name


def _order(problem: Problem) -> tuple[int, str, int]:
    known = (f"{FOLDER}/{CONTROLS}", f"{FOLDER}/{ORDER}")
    rank = known.index(problem.file) if problem.file in known else len(known)
    return rank, problem.file, problem.line or 0


def _stray_files(folder: FilePath, texts: dict[str, str]) -> list[str]:
    """Return a remark for each file whose name looks like a slip: it is not read."""
    stray = sorted(path.name for path in folder.iterdir() if path.suffix in (".yml", ".yaml"))
    return [
        f"{FOLDER}/{name}  this file is not read. Name it {FilePath(name).stem}.yaml"
        for name in stray
        if f"{FOLDER}/{name}" not in texts
    ]
