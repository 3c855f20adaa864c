"""Files that a sortie names, its pack and its overlay: which may be chosen, and their paths in a copy.

A name that a form sends reaches the file system only if it is one the desk found by itself, or one that the
sortie's file names already.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from sortiewright.desk.current import Opened
from sortiewright.desk.editing import Edit, EditError, edited, plain_data
from sortiewright.desk.prepare_fields import Form
from sortiewright.pack import pack_names

MOST_FILES = 200
_OVERLAY = re.compile(r"^pack_digest:", re.MULTILINE)


def overlays_beside(file: Path) -> tuple[str, ...]:
    """Return the names of the calibrated factors' files that lie beside a sortie's file."""
    found: list[str] = []
    for one in sorted(file.parent.glob("*.yaml"))[:MOST_FILES]:
        try:
            with one.open(encoding="utf-8", errors="replace") as opened:
                if one != file and _OVERLAY.search(opened.read(2000)):
                    found.append(one.name)
        except OSError:
            continue
    return tuple(found)


def check_file_name(key: str, value: str, opened: Opened) -> None:
    """Raise ``EditError`` unless a pack or an overlay is one that may be chosen."""
    if value in {_said(text, key) for text in (opened.text, opened.file_text, opened.base_text)}:
        return
    if key == "pack" and value not in pack_names():
        raise EditError(
            "Choose one of the aircraft that the desk knows; write another one into the file itself."
        )
    if key == "overlay" and value and value not in overlays_beside(opened.entry.file):
        raise EditError(
            "Choose a file of factors that lies beside the sortie; write another into the file itself."
        )


def _said(text: str, key: str) -> str:
    return Form(plain_data(text), ()).text(key)


def text_elsewhere(text: str, file: Path, folder: Path) -> str:
    """Return a sortie's text for a copy in another folder: paths that it names lead to the same files.

    A text that cannot be read as plain YAML is returned as it is.
    """
    if file.parent.resolve() == folder.resolve():
        return text
    try:
        return edited(text, list(_moved(text, file.parent.resolve(), folder.resolve())))
    except EditError:
        return text


def _moved(text: str, old: Path, new: Path) -> Iterator[Edit]:
    for key in ("pack", "overlay"):
        said = _said(text, key).strip()
        if not said or (key == "pack" and said in pack_names()) or Path(said).is_absolute():
            continue
        there = old / said
        try:
            path = Path(os.path.relpath(there, new))
        except ValueError:  # another drive
            path = there
        inside = path.parts[:1] != ("..",) and not path.is_absolute()
        yield Edit("put", (key,), f"./{path.as_posix()}" if inside and key == "pack" else path.as_posix())
