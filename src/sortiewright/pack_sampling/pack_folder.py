"""Writing a pack's files into a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sortiewright.pack import FileError


def require_new_folder(folder: Path) -> None:
    """Raise ``FileError`` where something is there that is not an empty folder."""
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as error:
        raise _unwritable(folder, error) from None
    if taken:
        hint = "Name a new folder, or add --replace to write over what is there"
        raise FileError(str(folder), "is there already and is not an empty folder", hint)


def write_pack_folder(folder: Path, files: Mapping[str, str]) -> None:
    """Write the files of a pack over those of the same names; other files in the folder stay."""
    try:
        for name, text in files.items():
            file = folder / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise _unwritable(folder, error) from None


def _unwritable(folder: Path, error: OSError) -> FileError:
    return FileError(str(folder), f"cannot be written: {error.strerror or error}")
