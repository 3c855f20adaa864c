"""The sortie on the desk: its file or an unsaved draft of it, its plan, and what is wrong with it."""

from __future__ import annotations

import asyncio
import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from sortiewright.desk.shelf import ShelfEntry
    from sortiewright.pack import Problem
    from sortiewright.sortie import LoadedSortie, Plan

LARGEST_SORTIE = 1_000_000  # bytes; a long sortie has three thousand


@dataclass(frozen=True)
class Opened:
    """A sortie as it is now, and everything that follows from it.

    ``text`` is the draft where there is one, else the file. ``plan`` is None where the text is faulty:
    ``problems`` or ``fault`` then says why. ``file_text`` is what the file held when it was last read;
    ``base_text`` what it held when the draft was begun.
    """

    entry: ShelfEntry
    text: str
    digest: str
    file_text: str
    base_text: str
    loaded: LoadedSortie | None = None
    plan: Plan | None = None
    problems: tuple[Problem, ...] = ()
    fault: str = ""

    @property
    def is_draft(self) -> bool:
        """Whether there are changes that are not saved."""
        return self.text != self.base_text

    @property
    def changed_outside(self) -> bool:
        """Whether the file was changed by somebody else since the draft was begun."""
        return self.file_text != self.base_text

    @property
    def fault_lines(self) -> tuple[str, ...]:
        """What is wrong, a line each; nothing where there is a plan."""
        return (*(str(problem) for problem in self.problems), *((self.fault,) if self.fault else ()))


class CurrentSortie:
    """Which sortie is open. Everything is computed in a worker thread, and once for the same text."""

    def __init__(self, first: Callable[[], ShelfEntry]) -> None:
        self._first = first
        self._entry: ShelfEntry | None = None
        self._draft: str | None = None
        self._base = ""
        self._seen: tuple[object, ...] = ()
        self._opened: Opened | None = None
        self._lock = asyncio.Lock()

    @property
    def entry(self) -> ShelfEntry:
        """The sortie that is open."""
        if self._entry is None:
            self._entry = self._first()
        return self._entry

    @property
    def ready(self) -> Opened | None:
        """What was computed last, without waiting; None before the first time."""
        return self._opened

    async def opened(self) -> Opened:
        """Return the sortie as it is now; computed anew only if its text, or its pack's files, changed."""
        async with self._lock:
            return await self._renewed()

    async def open(self, entry: ShelfEntry) -> Opened:
        """Take another sortie, dropping the draft, and return it."""
        async with self._lock:
            self._entry, self._draft, self._seen, self._opened = entry, None, (), None
            return await self._renewed()

    async def show_draft(self, text: str) -> Opened:
        """Take an unsaved text of this sortie in place of its file, and return what follows from it."""
        async with self._lock:
            if self._draft is None:
                self._base = (await self._renewed()).file_text
            self._draft = text
            return await self._renewed()

    async def drop_draft(self) -> Opened:
        """Return to what the file holds."""
        async with self._lock:
            self._draft = None
            return await self._renewed()

    async def _renewed(self) -> Opened:
        entry = self._entry or await asyncio.to_thread(lambda: self.entry)
        seen = await asyncio.to_thread(_stamp, entry.file, self._opened)
        wanted = (*seen, self._draft)
        if self._opened is None or wanted != self._seen:
            base = None if self._draft is None else self._base
            self._opened = await asyncio.to_thread(opened_sortie, entry, draft=self._draft, base=base)
            # The pack is known only now, and its files count from here on.
            self._seen = (*await asyncio.to_thread(_stamp, entry.file, self._opened), self._draft)
        return self._opened


def opened_sortie(entry: ShelfEntry, *, draft: str | None = None, base: str | None = None) -> Opened:
    """Return a sortie with its plan, from its file or from a draft begun when the file held ``base``."""
    # These rooms take half a second to import: the first page is shown before.
    from sortiewright.pack import FileError, InputError, read_text_file
    from sortiewright.sortie import plan, read_sortie

    try:
        file_text = read_text_file(entry.file, LARGEST_SORTIE, entry.file.name)
    except FileError as error:
        file_text, problems = "", error.problems
        if draft is None:
            return Opened(entry, "", _digest(""), "", "", problems=problems)
    text = file_text if draft is None else draft
    found = Opened(entry, text, _digest(text), file_text, file_text if base is None else base)
    loaded: LoadedSortie | None = None
    try:
        loaded = read_sortie(text, entry.file.name, entry.file.parent, entry.file)
        made = plan(loaded.sortie, loaded.pack)
    except InputError as error:
        return _with(found, problems=error.problems)
    except ValueError as error:  # the day itself cannot be read: SortieError, MetarError
        return _with(found, loaded=loaded, fault=str(error))
    return _with(found, loaded=loaded, plan=made)


def _with(
    found: Opened,
    *,
    loaded: LoadedSortie | None = None,
    plan: Plan | None = None,
    problems: tuple[Problem, ...] = (),
    fault: str = "",
) -> Opened:
    texts = (found.text, found.digest, found.file_text, found.base_text)
    return Opened(found.entry, *texts, loaded, plan, problems, fault)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _stamp(file: Path, opened: Opened | None) -> tuple[object, ...]:
    """Return what changes when the sortie's file or a file of its pack is written."""
    files = [file]
    if opened is not None and opened.loaded is not None:
        files += sorted(path for path in opened.loaded.pack.folder.rglob("*") if path.is_file())
    return tuple(_written(one) for one in files)


def _written(file: Path) -> tuple[str, int, int]:
    try:
        found = file.stat()
    except OSError:
        return file.name, 0, 0
    return file.name, found.st_mtime_ns, found.st_size
