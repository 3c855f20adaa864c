"""The sortie on the desk: its file or an unsaved draft of it, its plan, and what is wrong with it."""

from __future__ import annotations

import asyncio
import hashlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from sortiewright.desk.pack_cache import PackCache, stamp_of, written

if TYPE_CHECKING:
    from sortiewright.desk.shelf import ShelfEntry
    from sortiewright.pack import Problem
    from sortiewright.sortie import LoadedSortie, Plan

Recall = Callable[["ShelfEntry"], "tuple[str, str] | None"]
"""Finds the unsaved text of a sortie that was left, and what its file held when it was begun."""
PACK_LOOKED_AT_EVERY = 0.5  # s
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

    @cached_property
    def state(self) -> str:
        """What changes with its text, its file's, or its base: a page that shows it is current."""
        parts = (self.digest, _digest(self.file_text), _digest(self.base_text))
        return _digest(" ".join(parts))[:20]

    @property
    def fault_lines(self) -> tuple[str, ...]:
        """What is wrong, a line each; nothing where there is a plan."""
        return (*(str(problem) for problem in self.problems), *((self.fault,) if self.fault else ()))


PACKS = PackCache()
"""One for the process: a pack takes ten times as long to load as a sortie to be read."""


class CurrentSortie:
    """Which sortie is open. Everything is computed in a worker thread, and once for the same text."""

    def __init__(self, first: Callable[[], ShelfEntry], recall: Recall | None = None) -> None:
        self._first, self._recall = first, recall
        self.packs = PACKS
        self._stamps = _Stamps()
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
        """Take another sortie, with the draft of it that was left if there is one, and return it."""
        async with self._lock:
            self._entry, self._draft, self._seen, self._opened = entry, None, (), None
            return await self._renewed()

    async def show_draft(self, text: str, base: str | None = None) -> Opened:
        """Take an unsaved text of this sortie in place of its file, and return what follows from it.

        ``base`` is what the file held when the draft was begun; what it holds now where that is not said.
        """
        async with self._lock:
            if base is not None:
                self._base = base
            elif self._draft is None:
                self._base = (await self._renewed()).file_text
            if base is not None and self._opened is not None and self._opened.base_text != base:
                self._seen = ()  # the same text over another base is another state
            self._draft = text
            return await self._renewed()

    async def drop_draft(self) -> Opened:
        """Return to what the file holds."""
        async with self._lock:
            self._draft = None
            return await self._renewed()

    async def _renewed(self) -> Opened:
        entry = self._entry or await asyncio.to_thread(lambda: self.entry)
        if self._opened is None and self._draft is None and self._recall is not None:
            left = await asyncio.to_thread(self._recall, entry)
            self._draft, self._base = left or (None, "")
        seen = await asyncio.to_thread(self._stamps, entry.file, self._opened)
        wanted = (*seen, self._draft)
        if self._opened is None or wanted != self._seen:
            base = None if self._draft is None else self._base
            self._opened = await asyncio.to_thread(
                opened_sortie, entry, draft=self._draft, base=base, packs=self.packs
            )
            # The pack is known only now, and its files count from here on.
            self._seen = (*await asyncio.to_thread(self._stamps, entry.file, self._opened), self._draft)
        return self._opened


def opened_sortie(
    entry: ShelfEntry,
    *,
    draft: str | None = None,
    base: str | None = None,
    packs: PackCache | None = None,
) -> Opened:
    """Return a sortie with its plan, from its file or from a draft begun when the file held ``base``.

    ``packs`` is what was loaded before.
    """
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
        folder, packs = entry.file.parent, packs or PackCache()
        loaded = read_sortie(text, entry.file.name, folder, entry.file, load=packs)
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


class _Stamps:
    """What changes when a sortie's file, or a file of its pack, is written.

    A pack is some thirty files and an answer asks several times, so its files are looked at now and then.
    """

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._looked, self._pack = 0.0, ()

    def __call__(self, file: Path, opened: Opened | None) -> tuple[object, ...]:
        folder = None if opened is None or opened.loaded is None else opened.loaded.pack.folder
        now = time.monotonic()
        if folder != self._folder or now - self._looked >= PACK_LOOKED_AT_EVERY:
            self._pack: tuple[object, ...] = () if folder is None else stamp_of(folder)
            self._folder, self._looked = folder, now
        return written(file), *self._pack
