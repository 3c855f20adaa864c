"""Tables kept as CSV grids beside a pack's files.

Two axes: the corner cell names them (``mach \\ pressure_altitude ft``), the first row holds the steps of the
second, the first column those of the first. One axis: a header ``outside_temperature degC,rpm`` and rows of
two cells. Lines that begin with ``#`` are comments.
"""

from __future__ import annotations

from collections.abc import Callable

from sortiewright.pack.errors import FileError, shown
from sortiewright.pack.table_reading import CsvGrid, TableError, TableFault
from sortiewright.pack.yaml_data import plain_value

MOST_CELLS = 100_000

Row = tuple[int, list[str]]
"""Line and cells."""


def read_csv_grid(text: str, file: str) -> CsvGrid:
    """Return the grid that a CSV text holds; ``TableError`` with line and column of every fault."""
    rows = [
        (line, [cell.strip().strip('"').strip() for cell in content.split(",")])
        for line, content in enumerate(text.split("\n"), 1)
        if content.strip() and not content.lstrip().startswith("#")
    ]
    if len(rows) < 2:
        hint = "Write a header and one row for each step of the first axis"
        raise TableError(
            [TableFault((), "", "this file holds no table", hint, file, rows[0][0] if rows else 1)]
        )
    if sum(len(cells) for _, cells in rows) > MOST_CELLS:
        raise TableError([TableFault((), "", f"holds more than {MOST_CELLS} cells", "", file, 1)])
    return _two_axes(rows, file) if "\\" in rows[0][1][0] else _one_axis(rows, file)


def csv_opener(read: Callable[[str], str]) -> Callable[[str], CsvGrid]:
    """Return a function that opens a named CSV file; ``read`` returns its text or raises ``FileError``."""

    def open_csv(name: str) -> CsvGrid:
        try:
            text = read(name)
        except FileError as error:
            fault = error.problems[0]
            if fault.line is None:  # the mistake may be in the key as well as in the file
                expected = f"{fault.expected}: {shown(name)}"
                raise TableError([TableFault(("file",), "", expected, fault.hint)]) from None
            raise TableError(
                [TableFault((), "", fault.expected, fault.hint, fault.file, fault.line)]
            ) from None
        return read_csv_grid(text, name)

    return open_csv


def _two_axes(rows: list[Row], file: str) -> CsvGrid:
    faults: list[TableFault] = []
    header_line, header = rows[0]
    first, _, second = header[0].partition("\\")
    steps = [_cell(cell, file, header_line, i + 2, faults) for i, cell in enumerate(header[1:])]
    row_steps: list[float] = []
    values: list[list[float]] = []
    for line, cells in _even_rows(rows, len(header), file, faults):
        numbers = [_cell(cell, file, line, i + 1, faults) for i, cell in enumerate(cells)]
        row_steps.append(numbers[0])
        values.append(numbers[1:])
    if not steps:
        faults.append(
            TableFault((), "", "the header holds no steps of the second axis", "", file, header_line)
        )
    axes = (
        (*_named(first, file, header_line, faults), row_steps),
        (*_named(second, file, header_line, faults), steps),
    )
    if faults:
        raise TableError(faults)
    return CsvGrid(
        file, axes, values, header_line, ([line for line, _ in rows[1:]], [header_line] * len(steps))
    )


def _one_axis(rows: list[Row], file: str) -> CsvGrid:
    faults: list[TableFault] = []
    header_line, header = rows[0]
    if len(header) != 2:
        hint = "For two axes the first cell is like: mach \\ pressure_altitude ft"
        faults.append(
            TableFault((), f"a header of {len(header)} cells", "is not one of two", hint, file, header_line)
        )
        raise TableError(faults)
    steps: list[float] = []
    values: list[float] = []
    for line, cells in _even_rows(rows, 2, file, faults):
        steps.append(_cell(cells[0], file, line, 1, faults))
        values.append(_cell(cells[1], file, line, 2, faults))
    name, unit = _named(header[0], file, header_line, faults)
    if faults:
        raise TableError(faults)
    return CsvGrid(file, ((name, unit, steps),), values, header_line, ([line for line, _ in rows[1:]],))


def _even_rows(rows: list[Row], width: int, file: str, faults: list[TableFault]) -> list[Row]:
    """Return the rows under the header that have its width; note the others."""
    even: list[Row] = []
    for line, cells in rows[1:]:
        if len(cells) == width:
            even.append((line, cells))
            continue
        hint = "Is there a decimal comma? Write a decimal point" if len(cells) > width else "Fill every cell"
        faults.append(
            TableFault((), f"{len(cells)} cells", f"do not fit the header's {width}", hint, file, line)
        )
    return even


def _named(text: str, file: str, line: int, faults: list[TableFault]) -> tuple[str, str]:
    """Return name and unit of an axis as a header cell gives them."""
    words = text.split()
    if not words:
        faults.append(TableFault((), "", "the header names no axis", "Write name and unit", file, line))
        return "", ""
    return words[0], "".join(words[1:])


def _cell(text: str, file: str, line: int, column: int, faults: list[TableFault]) -> float:
    value = plain_value(text)
    if isinstance(value, int | float) and not isinstance(value, bool) and value - value == 0:
        return float(value)
    if text:
        read, expected, hint = shown(text), "is not a number", ""
    else:
        read, expected, hint = "", "a value is missing", "Every cell needs one"
    faults.append(TableFault((f"column {column}",), read, expected, hint, file, line))
    return 0.0
