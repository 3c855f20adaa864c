"""The reading of one written table into a ``Table``: collects every fault and goes on."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sortiewright.pack.errors import Path, QuantityError, choice_hint, shown
from sortiewright.pack.measure import kind_of, to_si
from sortiewright.pack.table import Table
from sortiewright.pack.text import as_list, as_mapping
from sortiewright.pack.units import COMMON_UNITS, canonical_unit, unit_factor

if TYPE_CHECKING:
    from sortiewright.pack.table_text import TableKind


@dataclass(frozen=True)
class TableFault:
    """One fault inside a table: the key below the table, or the place in its CSV file."""

    path: Path
    read: str
    expected: str
    hint: str = ""
    file: str | None = None
    line: int | None = None


class TableError(ValueError):
    """A table cannot be read; ``faults`` has one entry for each fault."""

    def __init__(self, faults: Sequence[TableFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{f.read} {f.expected}".strip() for f in faults))


@dataclass(frozen=True)
class Axis:
    """An axis a table must have."""

    name: str
    si_unit: str


@dataclass(frozen=True)
class CsvGrid:
    """What a CSV file holds: axes with their unit text, and values in the order of the file's axes."""

    file: str
    axes: tuple[tuple[str, str, list[float]], ...]
    values: list[Any]
    header_line: int
    axis_lines: tuple[list[int], ...]
    """Line of each step of each axis."""


@dataclass(frozen=True)
class TableSource:
    """A table as written, with what only the loader knows: full name, source, how to open its CSV file."""

    name: str
    raw: Any
    source: str = ""
    open_csv: Callable[[str], CsvGrid] | None = field(default=None, repr=False)


class TableReading:
    """One table being read: collects faults and goes on."""

    def __init__(self, kind: TableKind, written: TableSource) -> None:
        self.kind, self.written = kind, written
        self.faults: list[TableFault] = []
        self.csv_file: str | None = None
        self.csv_lines: dict[str, list[int]] = {}
        self.csv_header = 1

    def table(self) -> Table:
        """Return the table; raise ``TableError`` with everything that is wrong with it."""
        kind = self.kind
        entries = as_mapping(self.written.raw)
        if entries is None:
            hint = f"Write its axes ({kind.axis_names}) and values as keys, or {{file: tables/name.csv}}"
            raise TableError([TableFault((), shown(self.written.raw), "is not a table", hint)])
        if "file" in entries:
            entries = self._from_csv(entries)
        known = [axis.name for axis in kind.axes]
        for key in entries:
            if key not in (*known, "values", "unit", "file"):
                hint = choice_hint(key, [*known, "values", "unit"], "keys of this table")
                self._fault((), shown(key), "is not a key of this table", hint)
        axes = [self._axis(axis, entries) for axis in kind.axes]
        shape = [len(axis) if axis else None for axis in axes]
        values = self._values(entries, shape)
        if self.faults or values is None or any(axis is None for axis in axes):
            raise TableError(self.faults)
        return Table(
            self.written.name,
            tuple(np.asarray(axis, dtype=np.float64) for axis in axes),
            np.asarray(values, dtype=np.float64),
            tuple(known),
            tuple(axis.si_unit for axis in kind.axes),
            kind.si_unit,
            self.written.source,
        )

    def _fault(self, path: Path, read: str, expected: str, hint: str = "", line: int | None = None) -> None:
        file = self.csv_file if line is not None else None
        self.faults.append(TableFault(path, read, expected, hint, file, line))

    def _from_csv(self, entries: dict[str, Any]) -> dict[str, Any]:
        """Return the entries with the grid of the CSV file in the place of ``file``."""
        for key in entries.keys() - {"file", "unit"}:
            self._fault(
                (), shown(key), "cannot stand beside file", "The axes and values come from the CSV file"
            )
        if self.written.open_csv is None or not isinstance(entries["file"], str):
            raise TableError([TableFault(("file",), shown(entries["file"]), "is not a file of this pack")])
        grid = self.written.open_csv(entries["file"])
        self.csv_file = grid.file
        self.csv_header = grid.header_line
        names = [name for name, _, _ in grid.axes]
        wanted = [axis.name for axis in self.kind.axes]
        if sorted(names) != sorted(wanted):
            hint = f"This table is over {self.kind.axis_names}"
            self._fault(
                (),
                f"a table over {' and '.join(names)}",
                "does not fit here",
                hint,
                line=grid.header_line,
            )
            raise TableError(self.faults)
        values = grid.values
        if names != wanted:
            values = [list(column) for column in zip(*values, strict=True)]
        self.csv_lines = dict(zip(names, grid.axis_lines, strict=True))
        read: dict[str, Any] = {name: _csv_axis(unit, steps) for name, unit, steps in grid.axes}
        return {**read, "values": values, **({"unit": entries["unit"]} if "unit" in entries else {})}

    def _axis(self, axis: Axis, entries: dict[str, Any]) -> list[float] | None:
        """Return the steps of an axis in SI, or None after noting what is wrong with them."""
        if axis.name not in entries:
            self._fault(
                (), "", f"the axis {axis.name} is missing", f"This table is over {self.kind.axis_names}"
            )
            return None
        path: Path = (axis.name,)
        raw, unit = entries[axis.name], ""
        if (inner := as_mapping(raw)) is not None:
            for key in inner:
                if key not in ("unit", "values"):
                    self._fault(path, shown(key), "is not a key of an axis", "Write unit and values")
            unit, raw = inner.get("unit") or "", inner.get("values")
            path = (axis.name, "values")
        written = as_list(raw)
        if not written:
            self._fault(path, shown(raw), "is not a list of numbers", "Write [0, 0.2, 0.4]")
            return None
        convert = self._converter((axis.name,), unit, axis.si_unit)
        if convert is None:
            return None
        if convert.scale is None and not any(isinstance(step, str) for step in written):
            usual = _usual_unit(axis.si_unit)
            hint = f"Write {{unit: {usual}, values: [...]}}"
            if axis.name in self.csv_lines:
                hint = f"Write it behind the name: {axis.name} {usual}"
            line = self.csv_header if axis.name in self.csv_lines else None
            self._fault((axis.name,), "", f"the unit of {kind_of(axis.si_unit)} is missing", hint, line)
            return None
        steps = [self._number(value, (*path, i), convert, axis.name) for i, value in enumerate(written)]
        for i in range(1, len(steps)):
            before, here = steps[i - 1], steps[i]
            if before is not None and here is not None and here <= before:
                self._fault(
                    (*path, i),
                    shown(written[i]),
                    f"does not lie above {shown(written[i - 1])} before it",
                    f"The steps of {axis.name} must increase",
                    self._csv_line(axis.name, i),
                )
                return None
        return None if any(step is None for step in steps) else [step for step in steps if step is not None]

    def _values(self, entries: dict[str, Any], shape: list[int | None]) -> list[Any] | None:
        if "values" not in entries:
            self._fault((), "", "values are missing", "Write one row for each step of the first axis")
            return None
        convert = self._converter((), entries.get("unit") or "", self.kind.si_unit)
        if convert is None:
            return None
        if convert.scale is None and not _has_text(entries["values"]):
            hint = f"Write unit: {_usual_unit(self.kind.si_unit)} beside the axes or file"
            self._fault((), "", f"the unit of the values, a {kind_of(self.kind.si_unit)}, is missing", hint)
            return None
        return self._grid(entries["values"], ("values",), shape, convert)

    def _grid(self, raw: Any, path: Path, shape: list[int | None], convert: Convert) -> list[Any] | None:
        axis = self.kind.axes[len(self.kind.axes) - len(shape)].name
        rows = as_list(raw)
        if rows is None:
            self._fault(path, shown(raw), "is not a list", f"Write one entry for each step of {axis}")
            return None
        if shape[0] is not None and len(rows) != shape[0]:
            self._fault(path, f"{len(rows)} entries", f"do not fit {axis}, which has {shape[0]} steps")
            return None
        if len(shape) > 1:
            return [self._grid(row, (*path, i), shape[1:], convert) for i, row in enumerate(rows)]
        return [self._number(value, (*path, i), convert, None) for i, value in enumerate(rows)]

    def _converter(self, path: Path, unit: Any, si_unit: str) -> Convert | None:
        """Return what turns a written number into SI, or None after noting a bad unit."""
        if not isinstance(unit, str):
            self._fault((*path, "unit"), shown(unit), "is not a unit")
            return None
        if not unit and si_unit:
            return Convert(None, 0.0, si_unit)
        try:
            scale, offset = unit_factor(unit, si_unit)
        except QuantityError as fault:
            in_csv = bool(path) and str(path[0]) in self.csv_lines
            place = path if in_csv else (*path, "unit")
            line = self.csv_header if in_csv else None
            self._fault(place, fault.read, fault.expected, fault.hint, line)
            return None
        return Convert(scale, offset, si_unit)

    def _number(self, raw: Any, path: Path, convert: Convert, axis: str | None) -> float | None:
        line = self._csv_line(axis or self.kind.axes[0].name, _index(path, axis))
        try:
            value = convert(raw)
        except QuantityError as fault:
            self._fault(path, fault.read, fault.expected, fault.hint, line)
            return None
        if axis is None and not self.kind.least <= value <= self.kind.most:
            limit = (
                f"at least {self.kind.least:g}" if value < self.kind.least else f"at most {self.kind.most:g}"
            )
            unit = f" {self.kind.si_unit}" if self.kind.si_unit else ""
            self._fault(path, shown(raw), f"is outside what this table can hold, {limit}{unit}", "", line)
            return None
        return value

    def _csv_line(self, axis: str, index: int) -> int | None:
        lines = self.csv_lines.get(axis)
        return lines[index] if lines and index < len(lines) else None


@dataclass(frozen=True)
class Convert:
    """Turns one written number of a table into SI; ``scale`` None where each number must carry its unit."""

    scale: float | None
    offset: float
    si_unit: str

    def __call__(self, raw: Any) -> float:
        """Return the SI value; ``QuantityError`` if it is not a finite number of the right kind."""
        if isinstance(raw, str):
            return to_si(raw, self.si_unit)
        if raw is None:
            raise QuantityError("", "a value is missing", "Every step of every axis needs one")
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise QuantityError(shown(raw), "is not a number")
        if not math.isfinite(raw):
            raise QuantityError(shown(raw), "is not a finite number")
        if self.scale is None:
            raise QuantityError(shown(raw), f"has no unit of {kind_of(self.si_unit)}, others here have one")
        return raw * self.scale + self.offset


def _usual_unit(si_unit: str) -> str:
    return next(iter(COMMON_UNITS.get(canonical_unit(si_unit), {si_unit: 1.0})))


def _has_text(values: Any) -> bool:
    """Return whether any cell of a grid is text, as one with a unit of its own is."""
    if (rows := as_list(values)) is not None:
        return any(_has_text(row) for row in rows)
    return isinstance(values, str)


def _index(path: Path, axis: str | None) -> int:
    """Return the step of the axis that a path into ``values`` or into the axis itself stands for."""
    numbers = [part for part in path if isinstance(part, int)]
    return numbers[-1] if axis is not None else numbers[0]


def _csv_axis(unit: str, steps: list[float]) -> Any:
    return {"unit": unit, "values": steps} if unit else steps
