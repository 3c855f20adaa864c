"""The folder that the user named once, into which cards go without a download; checked at each use."""

from __future__ import annotations

import contextlib
import ipaddress
import json
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from sortiewright.desk.guard import client_of

if TYPE_CHECKING:
    from starlette.requests import Request

    from sortiewright.desk.cards_press import Sheet

SETTINGS = "settings.json"
LONGEST_PATH = 1000
_OURS = re.compile(r"(cards|checklists)-[a-z0-9_-]+\.(pdf|png)$")


class FolderRefused(ValueError):
    """A typed folder cannot be used; the sentence says why."""


class CardFolder:
    """Remembers the folder in the desk's settings file, or in memory where the desk keeps nothing."""

    def __init__(self, data_folder: Path | None) -> None:
        self._file = None if data_folder is None else data_folder / SETTINGS
        self._settings = _read(self._file)

    @property
    def path(self) -> str:
        """The folder as it was typed; empty before it was named."""
        found = self._settings.get("cards_folder", "")
        return found if isinstance(found, str) else ""

    def name(self, typed: str) -> None:
        """Remember a folder. Raises ``FolderRefused``."""
        checked_folder(typed)
        self._settings["cards_folder"] = typed.strip()
        self._keep()

    def put(self, kind: str, sheets: Sequence[Sheet]) -> Path:
        """Write sheets into the folder, and take away what was put there before and is of no use now.

        An earlier card that stayed beside the new ones would show another day's numbers. Raises
        ``FolderRefused``.
        """
        folder = checked_folder(self.path)
        try:
            for one in sheets:
                fresh = folder / f"{one.name}.new"
                fresh.write_bytes(one.file.read_bytes())
                fresh.replace(folder / one.name)
            for name in self._written(kind) - {one.name for one in sheets}:
                (folder / name).unlink(missing_ok=True)
        except OSError as error:
            raise FolderRefused(f"It cannot be written to: {error.strerror or error}.") from None
        before: Any = self._settings.get("cards_written")
        kept = cast("dict[str, Any]", before) if isinstance(before, dict) else {}
        self._settings["cards_written"] = kept | {kind: [one.name for one in sheets]}
        self._keep()
        return folder

    def _written(self, kind: str) -> set[str]:
        written: Any = self._settings.get("cards_written")
        lists = cast("dict[str, Any]", written) if isinstance(written, dict) else {}
        names: Any = lists.get(kind)
        found = cast("list[Any]", names) if isinstance(names, list) else []
        return {one for one in found if isinstance(one, str) and _OURS.fullmatch(one)}

    def _keep(self) -> None:
        if self._file is None:
            return
        # Another part may have written its own settings meanwhile.
        self._settings = _read(self._file) | self._settings
        with contextlib.suppress(OSError):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            fresh = self._file.with_name(f"{self._file.name}.new")
            fresh.write_text(json.dumps(self._settings, indent=1), "utf-8")
            fresh.replace(self._file)


def checked_folder(typed: str) -> Path:
    """Return a typed folder that is there and can be written to. Raises ``FolderRefused``."""
    text = typed.strip()
    if not text:
        raise FolderRefused("Type the folder's whole path.")
    if len(text) > LONGEST_PATH or not text.isprintable():
        raise FolderRefused("That is no path of a folder.")
    try:
        folder = Path(text).expanduser()
        if not folder.is_absolute():
            raise FolderRefused("Type the whole path, from the root or the drive on.")
        if not folder.exists():
            raise FolderRefused("There is no such folder. Make it first.")
        if not folder.is_dir():
            raise FolderRefused("That is a file, not a folder.")
    except (OSError, RuntimeError) as error:  # RuntimeError: no such user's home
        raise FolderRefused(f"It cannot be reached: {error}.") from None
    if not os.access(folder, os.W_OK):
        raise FolderRefused("It cannot be written to.")
    return folder


def is_at_this_machine(request: Request) -> bool:
    """Return whether a request comes over the loopback, and not from another device."""
    try:
        return ipaddress.ip_address(client_of(request.scope)).is_loopback
    except ValueError:
        return False


def _read(file: Path | None) -> dict[str, Any]:
    if file is None:
        return {}
    try:
        found = json.loads(file.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return cast("dict[str, Any]", found) if isinstance(found, dict) else {}
