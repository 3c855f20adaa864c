"""The sorties a user has: those that are shipped and those in a folder of theirs, addressed by short ids."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

MOST_LISTED = 500
"""Sorties of one folder that are listed."""
_TITLE = re.compile(r"^title:[ \t]*(.+?)[ \t]*(?:[ \t]#.*)?$", re.MULTILINE)


@dataclass(frozen=True)
class ShelfEntry:
    """One sortie file: ``id`` is how requests name it, never its path."""

    id: str
    name: str
    file: Path
    shipped: bool

    def title(self) -> str:
        """Return the title as the file's own line has it, or its name; the file need not be valid."""
        try:
            found = _TITLE.search(self.file.read_text("utf-8", errors="replace")[:4000])
        except OSError:
            return self.name
        return found[1].strip("\"'") if found else self.name


class Shelf:
    """All sorties of a user: the shipped ones, single files named when the desk was started, and a folder."""

    def __init__(self, folder: Path | None = None, files: tuple[Path, ...] = ()) -> None:
        self.folder = folder
        self._files = tuple(file.resolve() for file in files)

    def entries(self) -> tuple[ShelfEntry, ...]:
        """Return every sortie there is now: the user's own first, then those shipped, demo at their head."""
        found = {entry.file: entry for entry in (*self._own(), *self._shipped())}
        return tuple(found.values())

    def find(self, id: str) -> ShelfEntry | None:
        """Return the sortie with this id, None if there is none."""
        return next((entry for entry in self.entries() if entry.id == id), None)

    def demo(self) -> ShelfEntry:
        """Return the shipped demo sortie."""
        return _entry(_demo(), shipped=True)

    def entry_of(self, file: Path) -> ShelfEntry | None:
        """Return the entry of a file on the shelf, None if it is not on it."""
        return next((entry for entry in self.entries() if entry.file == file.resolve()), None)

    def _own(self) -> Iterator[ShelfEntry]:
        for file in self._files:
            if file.is_file():
                yield _entry(file, shipped=file.parent == _demo().parent)
        if self.folder is None or not self.folder.is_dir():
            return
        home = self.folder.resolve()
        for file in sorted(self.folder.glob("*.yaml"))[:MOST_LISTED]:
            # A link that leads elsewhere is not of this folder.
            if file.is_file() and file.resolve().parent == home:
                yield _entry(file.resolve(), shipped=False)

    def _shipped(self) -> Iterator[ShelfEntry]:
        demo = _demo()
        yield _entry(demo, shipped=True)
        for file in sorted(demo.parent.glob("*.yaml")):
            yield _entry(file, shipped=True)


def _demo() -> Path:
    # The room of sorties takes half a second to import: the first page is shown before.
    from sortiewright.sortie import demo_sortie_path

    return demo_sortie_path().resolve()


def _entry(file: Path, *, shipped: bool) -> ShelfEntry:
    slug = re.sub(r"[^a-z0-9]+", "-", file.stem.lower()).strip("-")[:40] or "sortie"
    mark = hashlib.sha256(file.as_posix().encode()).hexdigest()[:6]
    return ShelfEntry(f"{slug}-{mark}", file.stem, file, shipped)
