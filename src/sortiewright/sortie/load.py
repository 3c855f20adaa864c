"""Loading a sortie: one YAML file, checked against its pack."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from sortiewright.pack import (
    Document,
    FileError,
    InputError,
    LoadedPack,
    choice_hint,
    load_pack,
    pack_folder,
    pack_names,
    parse_yaml,
    read_record,
    read_text_file,
    shown,
)
from sortiewright.sortie.faults import faults_of
from sortiewright.sortie.schema import Sortie

SORTIES = Path(__file__).parent.parent / "sorties"
"""The sorties that are shipped."""
LARGEST_SORTIE = 1_000_000  # bytes; a long sortie has three thousand


@dataclass(frozen=True)
class LoadedSortie:
    """A sortie, its pack, and the file they came from."""

    sortie: Sortie
    pack: LoadedPack
    path: Path
    document: Document


class PackLoader(Protocol):
    """What finds a sortie's pack: ``load_pack``, or something that remembers what it loaded."""

    def __call__(self, path_or_name: str | Path, /, *, overlay: Path | None = None) -> LoadedPack: ...


def demo_sortie_path() -> Path:
    """Return the shipped demo sortie's file."""
    return SORTIES / "demo.yaml"


def load_sortie(path: str | Path) -> LoadedSortie:
    """Return the sortie in a file (``-``: standard input), with the pack it names.

    A pack is named by a shipped pack's name or by a folder relative to the sortie's file. Raises
    ``InputError`` with every fault of the sortie, or of the pack.
    """
    if str(path) == "-":
        return read_sortie(_standard_input(), "standard input", Path.cwd())
    file = Path(path)
    return read_sortie(read_text_file(file, LARGEST_SORTIE, file.name), file.name, file.parent, file)


def read_sortie(
    text: str, name: str, folder: Path, path: Path | None = None, *, load: PackLoader = load_pack
) -> LoadedSortie:
    """Return the sortie that a text holds; packs named by path are looked for below ``folder``.

    ``load`` gives the pack; it may keep what it has loaded. Raises ``InputError`` as ``load_sortie``.
    """
    document = parse_yaml(text, name)
    sortie, _ = read_record(document, Sortie)
    overlay = folder / sortie.overlay if sortie.overlay.strip() else None
    loaded = load(_pack_place(sortie.pack, folder, document), overlay=overlay)
    if problems := list(faults_of(sortie, loaded.pack, document)):
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    return LoadedSortie(sortie, loaded, path or folder / name, document)


def _standard_input() -> str:
    buffer: Any = getattr(sys.stdin, "buffer", None)
    if buffer is None:  # put in place by a test or another program: text already
        return sys.stdin.read(LARGEST_SORTIE)
    raw: bytes = buffer.read(LARGEST_SORTIE + 1)
    if len(raw) > LARGEST_SORTIE:
        raise FileError("standard input", f"is larger than {LARGEST_SORTIE / 1e6:g} MB", "Is it a sortie?")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError("standard input", f"byte {error.start} is not UTF-8 text") from None


def _pack_place(name: str, folder: Path, document: Document) -> str | Path:
    """Return the shipped pack's name, or the folder beside the sortie; ``InputError`` if there is neither."""
    if name in pack_names():
        return name
    try:
        return pack_folder(folder / name) if name.strip() else pack_folder(folder / "no name given")
    except FileError:
        hint = choice_hint(name, pack_names(), "packs")
        raise InputError([document.problem(("pack",), shown(name), "is no pack", hint)]) from None
