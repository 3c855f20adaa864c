"""The recordings that a user dropped on the desk: each in a folder of its own, addressed by an id."""

from __future__ import annotations

import asyncio
import json
import re
import secrets
import shutil
import tempfile
import weakref
from collections.abc import AsyncIterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO, cast

FOLDER = "recordings"
LARGEST_CONTENT = 2_000_000_000
"""Bytes of a gzip's content: five hours at 60 Hz with two hundred columns of text."""
FILE, MAP, ABOUT = "recording.data", "map.yaml", "about.json"
MOST_LISTED = 100
LONGEST_NAME = 120
_ID = re.compile(r"[0-9a-f]{12}")
_ENDINGS = (".gz", ".csv", ".parquet", ".txt", ".tsv")


@dataclass(frozen=True, slots=True)
class KeptRecording:
    """A recording that is kept. ``name`` is what its file was called where it came from: words, no path."""

    id: str
    name: str
    size: int
    stored: datetime
    made_up: bool = False
    """Whether this program made it as an example."""

    @property
    def stem(self) -> str:
        """The name without what says how the file is kept, of letters that every system takes."""
        name = self.name
        for ending in _ENDINGS:
            if name.lower().endswith(ending) and len(name) > len(ending):
                name = name[: -len(ending)]
        return re.sub(r"[^A-Za-z0-9_-]+", "-", name).strip("-")[:60] or "flight"


class RecordingRefused(ValueError):
    """A file that is not kept; says why."""


class RecordingShelf:
    """Recordings below the desk's data folder; in a temporary one where the desk keeps nothing."""

    def __init__(self, data_folder: Path | None) -> None:
        self.keeps = data_folder is not None
        if data_folder is None:
            self.folder = Path(tempfile.mkdtemp(prefix="sortiewright-"))
            weakref.finalize(self, shutil.rmtree, self.folder, ignore_errors=True)
        else:
            self.folder = data_folder / FOLDER

    def entries(self) -> tuple[KeptRecording, ...]:
        """Return what is kept, the newest first."""
        if not self.folder.is_dir():
            return ()
        found = [_about(one) for one in self.folder.iterdir() if _ID.fullmatch(one.name)]
        newest = sorted((one for one in found if one), key=lambda one: one.stored, reverse=True)
        return tuple(newest[:MOST_LISTED])

    def find(self, id: str) -> KeptRecording | None:
        """Return the recording of an id, None if there is none."""
        return next((one for one in self.entries() if one.id == id), None)

    def place(self, kept: KeptRecording) -> Path:
        """Return the folder with everything of a recording."""
        return self.folder / kept.id

    def file(self, kept: KeptRecording) -> Path:
        """Return a recording's file."""
        return self.folder / kept.id / FILE

    def map_file(self, kept: KeptRecording) -> Path:
        """Return where its channel map is, or would be."""
        return self.folder / kept.id / MAP

    async def add(self, name: str, chunks: AsyncIterator[bytes], *, made_up: bool = False) -> KeptRecording:
        """Keep a recording whose bytes come piece by piece, and return it.

        Raises ``OSError`` without room, and ``RecordingRefused`` for a gzip of too much.
        """
        id = secrets.token_hex(6)
        place = self.folder / id
        place.mkdir(parents=True)
        try:
            with (place / FILE).open("wb") as file:
                size = await _copied(chunks, file)
            await asyncio.to_thread(_check_content, place / FILE, _plain(name))
            kept = KeptRecording(id, _plain(name), size, datetime.now(UTC), made_up)
            self._describe(kept)
        except BaseException:
            shutil.rmtree(place, ignore_errors=True)
            raise
        return kept

    def adopt(self, name: str, file: Path) -> KeptRecording:
        """Take a file of this machine's into the shelf, and return it; it is moved. Raises ``OSError``."""
        kept = KeptRecording(secrets.token_hex(6), _plain(name), file.stat().st_size, datetime.now(UTC))
        self.place(kept).mkdir(parents=True)
        file.replace(self.file(kept))
        self._describe(kept)
        return kept

    def _describe(self, kept: KeptRecording) -> None:
        about = asdict(kept) | {"stored": kept.stored.isoformat()}
        (self.place(kept) / ABOUT).write_text(json.dumps(about), "utf-8")

    def forget(self, kept: KeptRecording) -> None:
        """Delete a recording and everything that was kept with it."""
        shutil.rmtree(self.folder / kept.id, ignore_errors=True)


def _check_content(file: Path, name: str) -> None:
    from sortiewright.pack import InputError
    from sortiewright.recording import check_unpacked

    try:
        check_unpacked(file, LARGEST_CONTENT)
    except InputError as error:
        raise RecordingRefused(f"{name}: {error.problems[0].expected}.") from None


async def _copied(chunks: AsyncIterator[bytes], file: BinaryIO) -> int:
    size = 0
    async for chunk in chunks:
        size += file.write(chunk)
    return size


def _plain(name: str) -> str:
    """Return what a file was called, without folders and without signs that print as nothing."""
    last = re.split(r"[\\/]", name)[-1]
    shown = "".join(sign for sign in last if sign.isprintable()).strip()
    return shown[-LONGEST_NAME:] or "recording"


def _about(place: Path) -> KeptRecording | None:
    try:
        raw = json.loads((place / ABOUT).read_text("utf-8"))
        found = cast("dict[str, object]", raw)
        return KeptRecording(
            place.name,
            _plain(str(found["name"])),
            int(str(found["size"])),
            datetime.fromisoformat(str(found["stored"])),
            found.get("made_up") is True,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
