"""A recording that grows on disk in parts, so that a process that is killed loses its last second only.

``flight.parquet`` is written as ``flight.parquet.parts/0000001-0000001.parquet`` and so on, each under
another name first, brought to the disk, and renamed. Closing puts them together and removes the folder;
``recover`` does it for a process that could not. Small parts become a large one from time to time; rows
that a kill leaves in both are the same, and count once.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from sortiewright.link.channel_values import CLOCK
from sortiewright.link.rows import Row
from sortiewright.pack import CHANNELS, InputError, Problem

if TYPE_CHECKING:
    import polars

TOGETHER = 120  # small parts that become one large part
_UNFINISHED = ".unfinished"


class Recovered(NamedTuple):
    """What a recording was put together from."""

    rows: int
    parts: int
    unreadable: tuple[str, ...]


def parts_folder(path: Path) -> Path:
    """Return where the parts of a recording stand until it is closed."""
    return path.with_name(f"{path.name}.parts")


def check_is_free(path: Path) -> None:
    """Raise ``InputError`` where a file, or the parts of one, are there already."""
    if path.exists():
        raise _problem(path, "is there already", "Choose another name, or move it away")
    if (folder := parts_folder(path)).exists():
        hint = f"Run: sortiewright link recover {path}"
        raise _problem(folder, "holds parts of a recording that was not closed", hint)


class PartsWriter:
    """Writes rows of canonical channels in SI, in the order of time, to a Parquet file."""

    def __init__(self, path: Path) -> None:
        """Begin a recording. Raises what ``check_is_free`` does."""
        check_is_free(path)
        self.path = path
        self.folder = parts_folder(path)
        import_module("polars")  # 0.2 s that must not fall on the first part
        self.folder.mkdir(parents=True)
        self.rows = 0
        self._next = 1
        self._large = 1

    def write(self, rows: Sequence[Row]) -> None:
        """Bring rows to the disk; returns when they are there."""
        if not rows:
            return
        _write(frame_of(rows), self.folder / _part_name(self._next, self._next))
        self.rows += len(rows)
        self._next += 1
        if self._next - self._large >= TOGETHER:
            self._put_together()

    def close(self) -> Recovered:
        """Put the parts together in the file and remove them. Without rows there is no file."""
        return recover(self.path)

    def _put_together(self) -> None:
        small = [self.folder / _part_name(n, n) for n in range(self._large, self._next)]
        _write(_joined(small), self.folder / _part_name(self._large, self._next - 1))
        for one in small:
            one.unlink()
        self._large = self._next


def recover(path: Path) -> Recovered:
    """Put together what a recording's parts hold and remove them; parts that cannot be read stay.

    Raises ``InputError`` where there are no parts.
    """
    import polars

    folder = parts_folder(path)
    if not folder.is_dir():
        raise _problem(folder, "is not there: nothing to recover", "Name the file that was being recorded")
    readable: list[Path] = []
    unreadable: list[str] = []
    for part in sorted(folder.glob("*.parquet")):
        try:
            polars.read_parquet(part)
        except (OSError, polars.exceptions.PolarsError):
            unreadable.append(part.name)
        else:
            readable.append(part)
    if path.exists() and readable:
        raise _problem(path, "is there already", "Move it away, then recover again")
    rows = 0
    if readable:
        made = _joined(readable).unique(CLOCK, keep="first", maintain_order=True).sort(CLOCK)
        rows = made.height
        _write(made, path)
    if not unreadable:
        shutil.rmtree(folder)
    return Recovered(rows, len(readable), tuple(unreadable))


def frame_of(rows: Sequence[Row]) -> polars.DataFrame:
    """Return rows as a table: ``time`` and each channel that has a value, typed as its channel is."""
    import polars

    types: dict[str, Any] = {"number": polars.Float64, "truth": polars.Boolean, "choice": polars.String}
    there = {name for row in rows for name in row.values}
    names = [name for name in CHANNELS if name in there and name != CLOCK]
    columns: dict[str, list[Any]] = {CLOCK: [row.time for row in rows]}
    columns |= {name: [row.values.get(name) for row in rows] for name in names}
    schema = {name: types[CHANNELS[name].kind] for name in columns}
    return polars.DataFrame(columns, schema=schema, strict=False)


def _part_name(first: int, last: int) -> str:
    return f"{first:07}-{last:07}.parquet"


def _joined(parts: Sequence[Path]) -> polars.DataFrame:
    import polars

    return polars.concat([polars.read_parquet(part) for part in parts], how="diagonal")


def _write(frame: polars.DataFrame, path: Path) -> None:
    """Write a file that is whole, and on the disk, once it has its name."""
    units = {f"unit:{name}": CHANNELS[name].unit for name in frame.columns}
    unfinished = path.with_name(path.name + _UNFINISHED)
    frame.write_parquet(unfinished, metadata=units)
    with unfinished.open("rb+") as file:
        os.fsync(file.fileno())
    unfinished.replace(path)
    if hasattr(os, "O_DIRECTORY"):  # elsewhere a folder cannot be opened; the name may come a little later
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _problem(path: Path, what: str, hint: str) -> InputError:
    return InputError([Problem(str(path), None, "", "", what, hint)])
