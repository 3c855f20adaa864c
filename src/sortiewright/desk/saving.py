"""Sorties written back to their files: never over what somebody else wrote, never half."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from sortiewright.desk.atomic_write import write_whole
from sortiewright.desk.shelf import ShelfEntry
from sortiewright.pack import FileError, read_text_file

LONGEST_NAME = 60
NAMES_OF_DEVICES = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))]
)
"""Names that Windows gives to no file, whatever follows the point."""
MOST_LINES_SHOWN = 200


class SaveError(Exception):
    """A sortie cannot be written; the message is a sentence for whoever wanted it."""


class ChangedOutside(SaveError):
    """The file holds something else than when the changes were begun."""


def save_over(entry: ShelfEntry, text: str, *, base: str) -> None:
    """Write a sortie's text to its file, if that still holds ``base``. Line ends stay those of the file.

    Raises ``ChangedOutside`` if it holds something else, ``SaveError`` if it is shipped or cannot be written.
    """
    if entry.shipped:
        raise SaveError("This sortie is shipped with the program. Save a copy of it as your own.")
    try:
        now = read_text_file(entry.file)
    except FileError as error:
        raise ChangedOutside(f"The file cannot be read any more: {error}") from None
    if now != base:
        raise ChangedOutside("The file was changed by another program since these changes were begun.")
    try:
        raw = entry.file.read_bytes()
        mark = b"\xef\xbb\xbf" if raw.startswith(b"\xef\xbb\xbf") else b""
        ends = "\r\n" if b"\r\n" in raw else "\n"
        write_whole(entry.file, mark + text.replace("\n", ends).encode())
    except OSError as error:
        raise SaveError(f"The file cannot be written: {error.strerror or error}.") from None


def save_copy(folder: Path | None, name: str, text: str) -> Path:
    """Write a sortie's text to a new file of this name in the user's folder, and return the file.

    Raises ``SaveError`` for a name that is none, one that is taken, and a folder that cannot be written.
    """
    stem = file_stem(name)
    if folder is None:
        raise SaveError("The desk was started without a folder to keep sorties in.")
    file = folder / f"{stem}.yaml"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except FileExistsError:
        raise SaveError(f"There is a sortie named {stem} already. Choose another name.") from None
    except OSError as error:
        raise SaveError(f"The file cannot be written: {error.strerror or error}.") from None
    return file.resolve()


def file_stem(name: str) -> str:
    """Return the name of a file for what a person calls a sortie: small letters, digits, - and _.

    Raises ``SaveError`` where nothing is left of it.
    """
    stem = re.sub(r"[^a-z0-9]+", "_", name.lower()[:200]).strip("_")[:LONGEST_NAME].strip("_")
    if not stem:
        raise SaveError("Give the copy a name of letters and digits.")
    return f"{stem}_sortie" if stem in NAMES_OF_DEVICES else stem


@dataclass(frozen=True, slots=True)
class DifferentLine:
    """One line of a comparison; ``gap`` stands for lines that are left out."""

    side: Literal["mine", "theirs", "both", "gap"]
    text: str


def differences(mine: str, theirs: str) -> tuple[DifferentLine, ...]:
    """Return the lines in which two texts differ, with one line around each."""
    return tuple(_lines(mine.splitlines(), theirs.splitlines()))[:MOST_LINES_SHOWN]


def _lines(mine: list[str], theirs: list[str]) -> Iterator[DifferentLine]:
    first = True
    for line in difflib.unified_diff(theirs, mine, n=1, lineterm=""):
        match line[:1]:
            case "@":
                if not first:
                    yield DifferentLine("gap", "")
                first = False
            case "+" if not line.startswith("+++") or not first:
                yield DifferentLine("mine", line[1:])
            case "-" if not line.startswith("---") or not first:
                yield DifferentLine("theirs", line[1:])
            case " ":
                yield DifferentLine("both", line[1:])
            case _:
                pass
