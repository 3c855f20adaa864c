"""Packs that were loaded once and kept until one of their files changes: an edit waits for no disk."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sortiewright.pack import LoadedPack

MOST_KEPT = 4
"""Packs kept at once; each has some megabytes of tables."""

Stamp = tuple[tuple[str, int, int], ...]


class PackCache:
    """Loads packs as ``load_pack`` does; one whose files are as they were is returned as it was."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, str], tuple[Stamp, LoadedPack]] = {}

    def __call__(self, path_or_name: str | Path, /, *, overlay: Path | None = None) -> LoadedPack:
        """Return the pack of a name or folder, with an overlay's factors; raises as ``load_pack``."""
        from sortiewright.pack import load_pack  # the schema takes a moment: the first page is shown before

        key = (str(path_or_name), str(overlay or ""))
        kept = self._kept.get(key)
        if kept is not None and stamp_of(kept[1].folder, overlay) == kept[0]:
            return kept[1]
        loaded = load_pack(path_or_name, overlay=overlay)
        self._kept.pop(key, None)
        self._kept[key] = (stamp_of(loaded.folder, overlay), loaded)
        while len(self._kept) > MOST_KEPT:
            del self._kept[next(iter(self._kept))]
        return loaded


def stamp_of(folder: Path, overlay: Path | None = None) -> Stamp:
    """Return what changes when a file of a pack, or its overlay, is written, added or taken away."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return tuple(written(file) for file in (*files, *((overlay,) if overlay is not None else ())))


def written(file: Path) -> tuple[str, int, int]:
    """Return a file's name, when it was written and how long it is; zeros for one that is not there."""
    try:
        found = file.stat()
    except OSError:
        return str(file), 0, 0
    return str(file), found.st_mtime_ns, found.st_size
