"""Where crew runs are kept: a log a run, named by sortie and date, with the lists that it is of beside it.

The lists are kept as they were tailored when the run began, so that a run goes on after a restart whatever
has become of the sortie and the pack meanwhile.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import tempfile
import weakref
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sortiewright.pack import InputError
from sortiewright.procedures import (
    Checklists,
    CrewRun,
    DamagedLog,
    OtherChecklists,
    RunLog,
    RunState,
    fold,
    recover_log,
    resume_run,
    start_run,
)

if TYPE_CHECKING:
    from pydantic import TypeAdapter

FOLDER = "runs"
SUFFIX = ".crewrun"
LISTS_SUFFIX = ".lists.json"
IN_HAND = "in-hand"
"""The file that names the log of the run in hand: what the desk goes on with when it is started again."""
MOST_LISTED = 100


@dataclass(frozen=True, slots=True)
class KeptRun:
    """A run that is kept: ``id`` is how requests name it, never its path."""

    id: str
    written: datetime


class RunFolder:
    """The runs of a user. Not for several threads."""

    def __init__(self, data_folder: Path | None) -> None:
        self.keeps = data_folder is not None
        self._folder = None if data_folder is None else data_folder / FOLDER

    @property
    def folder(self) -> Path:
        """Where the logs lie; of a desk that keeps nothing, a folder that goes when the desk does."""
        if self._folder is None:
            self._folder = Path(tempfile.mkdtemp(prefix="sortiewright-"))
            weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
        return self._folder

    def begin(self, checklists: Checklists, title: str, stem: str) -> CrewRun:
        """Return a new run, in hand from now on."""
        self.folder.mkdir(parents=True, exist_ok=True)
        path = self._free_name(stem)
        _write(_lists_of(path), _adapter().dump_json(replace(checklists, by_id={})))
        run = start_run(checklists, path, title)
        self._take_in_hand(path)
        return run

    def go_on(self, id: str, today: Checklists | None, title: str) -> tuple[CrewRun, str] | None:
        """Return a run that is kept, and what there is to say of it; None if there is none of this id.

        Raises ``InputError`` where its log cannot be used.
        """
        path = self._log_of(id)
        if path is None:
            return None
        lists = _read_lists(path) or today
        if lists is None:
            return None
        try:
            run, said = resume_run(lists, path, title), ""
        except OtherChecklists:
            if today is None or lists is today:
                raise
            run, said = resume_run(today, path, title), ""
        except DamagedLog as damaged:
            saved = recover_log(damaged, self._free_name(f"{path.stem}-recovered"))
            _write(_lists_of(saved.path), _adapter().dump_json(replace(lists, by_id={})))
            run = resume_run(lists, saved.path, title)
            said = (
                f"{damaged}. The {len(saved.events)} events that can be read are copied to "
                f"{saved.path.name}; what was done after them is lost: do again what comes next"
            )
        self._take_in_hand(run.log.path)
        return run, said

    def in_hand(self) -> str:
        """Return the id of the run that was in hand when the desk was last up; empty if none was."""
        try:
            named = (self.folder / IN_HAND).read_text("utf-8").strip()
        except (OSError, ValueError):
            return ""
        return named if self._log_of(named) is not None else ""

    def put_away(self) -> None:
        """Have no run in hand any more; its log stays."""
        with contextlib.suppress(OSError):
            (self.folder / IN_HAND).unlink(missing_ok=True)

    def kept(self, stem: str) -> tuple[KeptRun, ...]:
        """Return the runs of a sortie on a date, the one written last first."""
        found = [
            KeptRun(path.stem, datetime.fromtimestamp(path.stat().st_mtime).astimezone())
            for path in self._logs()
            if re.fullmatch(rf"{re.escape(stem)}(-\d+|-recovered)*", path.stem)
        ]
        return tuple(sorted(found, key=lambda one: one.written, reverse=True))

    def ids(self) -> tuple[str, ...]:
        """Return the id of every run that is kept, the last by name first."""
        return tuple(path.stem for path in reversed(self._logs()))

    def read(self, id: str) -> RunState | None:
        """Return what a run came to, without taking it in hand; None where it cannot be read."""
        path = self._log_of(id)
        lists = None if path is None else _read_lists(path)
        if path is None or lists is None:
            return None
        try:
            with RunLog.open(path) as log_of_run:
                return fold(lists, log_of_run.events())
        except InputError:  # a damaged log is mended where the run is gone on with
            return None

    def _logs(self) -> list[Path]:
        if not self.folder.is_dir():
            return []
        return sorted(self.folder.glob(f"*{SUFFIX}"))[-MOST_LISTED:]

    def _log_of(self, id: str) -> Path | None:
        return next((path for path in self._logs() if path.stem == id), None)

    def _free_name(self, stem: str) -> Path:
        number = 1
        while True:
            path = self.folder / f"{stem if number == 1 else f'{stem}-{number}'}{SUFFIX}"
            if not path.exists():
                return path
            number += 1

    def _take_in_hand(self, path: Path) -> None:
        _write(self.folder / IN_HAND, path.stem.encode())


def run_stem(date: str, sortie: str) -> str:
    """Return the name of a sortie's log of a day, without its ending: ``2026-05-14-range-1a2b3c``."""
    return f"{date}-{sortie}"


def _lists_of(log: Path) -> Path:
    return log.with_name(f"{log.stem}{LISTS_SUFFIX}")


def _read_lists(log: Path) -> Checklists | None:
    """Return the lists kept beside a log; None where there are none that can be read."""
    try:
        found = _adapter().validate_json(_lists_of(log).read_bytes())
    except (OSError, ValueError):  # pydantic's fault is a ValueError
        return None
    by_id = {one.id: one for one in (*found.normal, *found.others)}
    return replace(found, by_id=by_id)


def _adapter() -> TypeAdapter[Checklists]:
    from pydantic import TypeAdapter  # imported with the schema of the lists, where they are tailored

    return TypeAdapter(Checklists)


def _write(path: Path, content: bytes) -> None:
    """Write a small file so that a reader, or a loss of power, finds the old one or the new one whole."""
    fresh = path.with_name(f"{path.name}.new")
    try:
        with fresh.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError as error:
        from sortiewright.pack import Problem

        words = f"cannot be written: {error.strerror or error}"
        raise InputError([Problem(path.name, None, "", "", words)]) from None
