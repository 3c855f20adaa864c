"""Scripts, styles and fonts: a fixed list of files by name, with addresses that change when a file does."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable
from pathlib import Path

FOLDERS = (Path(__file__).parent / "assets", Path(__file__).parent / "vendor")
MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".woff2": "font/woff2",
}
LOOKED_AT_EVERY = 1.0  # s
FOREVER = "public, max-age=31536000, immutable"


class ServedFiles:
    """The files that the desk serves.

    Only names found in its folders are known, so no path from a request reaches the file system. All share
    one version, so that files which name each other relatively stay together.
    """

    def __init__(
        self, folders: tuple[Path, ...] = FOLDERS, *, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._folders, self._clock = folders, clock
        self._files: dict[str, Path] = {}
        self._version, self._looked = "", -LOOKED_AT_EVERY

    @property
    def version(self) -> str:
        """What changes whenever one of the files does."""
        if self._clock() - self._looked >= LOOKED_AT_EVERY:
            self._look()
        return self._version

    def address(self, name: str) -> str:
        """Return the address of a file; KeyError for one that is not there."""
        version = self.version
        if name not in self._files:
            raise KeyError(f"{name} is not served: is it built? pip install -e . makes the fetched files")
        return f"/assets/{version}/{name}"

    def __contains__(self, name: str) -> bool:
        return bool(self.version) and name in self._files

    def content(self, name: str) -> tuple[bytes, str] | None:
        """Return a file's bytes and media type; None for a name that is not served."""
        file = self._files.get(name) if self.version else None
        return None if file is None else (file.read_bytes(), MEDIA_TYPES[file.suffix])

    def _look(self) -> None:
        found = [
            file
            for folder in self._folders
            if folder.is_dir()
            for file in sorted(folder.iterdir())
            if file.suffix in MEDIA_TYPES
        ]
        self._files = {file.name: file for file in found}
        digest = hashlib.sha256()
        for file in found:
            facts = file.stat()
            digest.update(f"{file.name} {facts.st_mtime_ns} {facts.st_size}\n".encode())
        self._version, self._looked = digest.hexdigest()[:10], self._clock()
