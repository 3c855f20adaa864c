"""The live feed recorded from the page: on the disk as it comes, then a recording to be debriefed.

It is written as ``link record`` writes it, in parts: a desk that is killed loses its last second only, and
the next start puts the parts together and lays them beside the recordings that were dropped.
"""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sortiewright.link import PartsWriter, Row, RowAssembler, Update, parts_folder, recover
from sortiewright.pack import InputError

if TYPE_CHECKING:
    from sortiewright.desk.debrief_shelf import KeptRecording, RecordingShelf

FOLDER = "feed"
WRITTEN_EVERY = 0.5  # s; with the quarter second that rows settle, a kill loses less than 2 s
NAME = "%Y-%m-%d-%H%M%S"
ENDING, PARTS = ".parquet", ".parts"
SILENT = 6.0  # s; a recording on which nobody has worked for so long is nobody's


class FeedRecording:
    """One recording at a time. All methods are called in the server's thread."""

    def __init__(self, shelf: RecordingShelf) -> None:
        self._shelf = shelf
        self._folder = shelf.folder / FOLDER
        self._rows = RowAssembler()
        self._writer: PartsWriter | None = None
        self._keeping: asyncio.Task[None] | None = None
        self._lock = asyncio.Lock()
        self.begun: datetime | None = None
        self.last: KeptRecording | None = None
        """The one that was finished last."""
        self.said = ""
        """Why there is none, where one was asked for."""

    @property
    def is_on(self) -> bool:
        """Whether what comes is recorded."""
        return self._writer is not None

    async def start(self) -> None:
        """Begin a recording; one that is under way goes on. ``said`` tells why there is none."""
        async with self._lock:
            if self.is_on:
                return
            self._rows, self.last, self.said = RowAssembler(), None, ""
            begun = datetime.now(UTC)
            file = self._folder / f"{begun.strftime(NAME)}{ENDING}"
            try:
                self._writer = await asyncio.to_thread(PartsWriter, file)
            except (OSError, InputError) as fault:
                self.said = f"The feed cannot be recorded: {_words(fault)}."
                return
            self.begun = begun
            self._keeping = asyncio.create_task(self._keep(self._writer))

    def take(self, update: Update) -> None:
        """Take what has come from the feed."""
        if self.is_on:
            self._rows.add(update)

    async def stop(self) -> None:
        """End the recording and lay it beside the others, as ``last``; nothing came: there is none."""
        async with self._lock:
            writer, self._writer = self._writer, None
            if writer is None:
                return
            if self._keeping is not None:
                self._keeping.cancel()
                with suppress(asyncio.CancelledError):
                    await self._keeping
            rest = self._rows.rest()
            try:
                await asyncio.to_thread(writer.write, rest)
                made = await asyncio.to_thread(writer.close)
                self.last = await asyncio.to_thread(self._laid_down, writer.path) if made.rows else None
            except (OSError, InputError) as fault:
                self.said = f"The recording could not be finished: {_words(fault)}. What came is kept."
                return
            self.said = "" if self.last else "Nothing came, so nothing was recorded."

    async def _keep(self, writer: PartsWriter) -> None:
        """Write what has come, in a thread: the feed must not wait for a disk."""
        while True:
            await asyncio.sleep(WRITTEN_EVERY)
            rows = self._rows.ready(time.monotonic())
            # A write that has begun is finished: its rows are nowhere else.
            writing = asyncio.ensure_future(asyncio.to_thread(_write, writer, rows))
            try:
                await asyncio.shield(writing)
            except asyncio.CancelledError:
                with suppress(OSError):
                    await writing
                raise
            except OSError as fault:
                self._writer = None
                self.said = f"The recording has stopped: {_words(fault)}. What came before is kept."
                return

    async def take_up(self, told: Callable[[], None]) -> None:
        """Lay down what earlier desks left unfinished, and tell of it; over once nothing is left."""
        while True:
            laid, left = await asyncio.to_thread(self._take_up)
            if laid:
                told()
            if not left:
                return
            await asyncio.sleep(SILENT)

    def _take_up(self) -> tuple[int, int]:
        """Return how many recordings were laid down, and how many may still be another desk's."""
        laid = left = 0
        found = sorted(self._folder.glob(f"*{ENDING}*")) if self._folder.is_dir() else []
        for parts in (one for one in found if one.suffix == PARTS):
            with suppress(OSError, InputError):
                if time.time() - parts.stat().st_mtime < SILENT:
                    left += 1
                else:
                    recover(parts.with_name(parts.name.removesuffix(PARTS)))
        for file in (one for one in sorted(self._folder.glob(f"*{ENDING}")) if one.is_file()):
            if not parts_folder(file).exists():
                with suppress(OSError):
                    self._laid_down(file)
                    laid += 1
        return laid, left

    def _laid_down(self, file: Path) -> KeptRecording:
        return self._shelf.adopt(f"live-feed-{file.name}", file)


def _write(writer: PartsWriter, rows: Sequence[Row]) -> None:
    """Bring rows to the disk, and leave a sign that somebody is at it."""
    writer.write(rows)
    os.utime(writer.folder)


def _words(fault: Exception) -> str:
    if isinstance(fault, InputError):
        return fault.problems[0].expected
    return (fault.strerror if isinstance(fault, OSError) else "") or str(fault)
