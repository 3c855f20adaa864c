"""Which log a run at this terminal belongs to: where it lies, whether it goes on, what if it cannot."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sortiewright.pack import InputError, Problem
from sortiewright.procedures import (
    DamagedLog,
    Joined,
    Left,
    OtherChecklists,
    Started,
    event_words,
    is_finished,
    recover_log,
    resume_run,
    start_run,
)

if TYPE_CHECKING:
    from sortiewright.procedures import Checklists, CrewRun

SUFFIX = ".crewrun"


@dataclass(frozen=True)
class Wanted:
    """What a run is asked for: today's lists, a title, and the name that its log has by default."""

    checklists: Checklists
    title: str
    stem: str


def data_folder() -> Path:
    """Return where programs keep a user's data: by the XDG base directories, or the system's own place."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "sortiewright"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "sortiewright"
    chosen = Path(os.environ.get("XDG_DATA_HOME") or "")
    # A relative path there is to be ignored: XDG Base Directory Specification 0.8.
    return (chosen if chosen.is_absolute() else Path.home() / ".local" / "share") / "sortiewright"


def log_stem(date: str, callsign: str) -> str:
    """Return a name for a log that every file system takes: ``2026-05-14-thistle-21``."""
    words = re.sub(r"[^a-z0-9]+", "-", callsign.casefold()).strip("-")[:40]
    return f"{date}-{words}" if words else date


def run_in_file(wanted: Wanted, log: Path, *, new: bool) -> tuple[CrewRun, list[str]]:
    """Return the run in a log that was named, begun where there is none, and what to say about it."""
    if not log.exists() or log.stat().st_size == 0:
        _need_folder(log)
        return _begun(wanted, log)
    if new:
        hint = "Name another file, or leave out --new to go on with it"
        raise InputError([Problem(log.name, None, "", "", "is there already", hint)])
    try:
        return _gone_on(wanted, log)
    except DamagedLog as damaged:
        return _recovered(wanted, damaged, _free_name(log.with_name(f"{log.stem}-recovered{log.suffix}")))


def run_by_date(wanted: Wanted, *, new: bool, folder: Path | None = None) -> tuple[CrewRun, list[str]]:
    """Return the run of this day and callsign: the last one if it is unfinished, else a new one."""
    folder = folder or data_folder() / "runs"
    folder.mkdir(parents=True, exist_ok=True)
    first = folder / f"{wanted.stem}{SUFFIX}"
    fresh = _free_name(first)
    last = _last_name(first)
    if new or last is None:
        return _begun(wanted, fresh)
    try:
        run, said = _gone_on(wanted, last)
    except DamagedLog as damaged:
        return _recovered(wanted, damaged, fresh)
    except OtherChecklists as other:
        run, said = _begun(wanted, fresh)
        return run, [f"Another run of today is kept as it is: {other}", *said]
    if is_finished(run.state):
        run.close()
        run, said = _begun(wanted, fresh)
        return run, [f"The run in {last.name} is finished", *said]
    return run, said


def _begun(wanted: Wanted, path: Path) -> tuple[CrewRun, list[str]]:
    return start_run(wanted.checklists, path, wanted.title), [f"A new run, kept in {path}"]


def _gone_on(wanted: Wanted, path: Path) -> tuple[CrewRun, list[str]]:
    run = resume_run(wanted.checklists, path, wanted.title)
    said = [f"Going on with the run in {path}"]
    done = [event for event in run.state.history if not isinstance(event.deed, Started | Joined | Left)]
    if done:
        said.append(f"Last: {done[-1].time:%H:%M:%S}Z {event_words(run.state, done[-1])}")
    if strange := len(run.state.ignored):
        said.append(f"{strange} of its events are not allowed by the rules and do not count")
    return run, said


def _recovered(wanted: Wanted, damaged: DamagedLog, to: Path) -> tuple[CrewRun, list[str]]:
    saved = recover_log(damaged, to)
    run, said = _gone_on(wanted, saved.path)
    count = len(saved.events)
    kept = f"The {count} that can be read are copied to {saved.path}. The damaged log stays as it is"
    return run, [str(damaged), kept, "What was done after them is lost: do again what comes next", *said[1:]]


def _need_folder(path: Path) -> None:
    if not path.absolute().parent.is_dir():
        hint = "Make it, or name a file in a folder that is there"
        raise InputError([Problem(str(path), None, "", "", "lies in a folder that is not there", hint)])


def _numbered(first: Path, number: int) -> Path:
    return first if number == 1 else first.with_name(f"{first.stem}-{number}{first.suffix}")


def _last_name(first: Path) -> Path | None:
    found = None
    number = 1
    while (path := _numbered(first, number)).exists():
        found, number = path, number + 1
    return found


def _free_name(first: Path) -> Path:
    number = 1
    while _numbered(first, number).exists():
        number += 1
    return _numbered(first, number)
