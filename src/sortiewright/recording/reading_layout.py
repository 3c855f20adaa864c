"""How a CSV file is laid out: separator, decimal sign, names, units row, where the numbers begin.

Told from the file's first part. RFC 4180 leaves all of it but the quotes open, and programs differ.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from sortiewright.pack import FileError, Problem
from sortiewright.recording.unit_names import unit_in_units_row

SEPARATORS = (",", ";", "\t")
NO_VALUE = ("", "nan", "na", "n/a", "#n/a", "null", "none", "-", "--", "---")
"""How files write that there is no value, in small letters."""

_MOST_LINES = 150
_LONGEST_LINE = 200_000
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z|[-+]?(?:inf|infinity)\Z", re.IGNORECASE)
_COMMA_NUMBER = re.compile(r"[-+]?(?:\d+,?\d*|,\d+)(?:[eE][-+]?\d+)?\Z")


@dataclass(frozen=True)
class Layout:
    """How to read a CSV file."""

    separator: str
    decimal_comma: bool
    names: tuple[str, ...]
    units: tuple[str, ...]
    """Beside the names; empty texts where the file has no units row or the row is blank there."""
    lines_before: int
    """Lines before the first of data."""
    is_text: tuple[bool, ...]
    """Which columns hold something else than numbers in the file's first part."""
    sample: tuple[tuple[str, ...], ...]
    """The first rows of data, as text."""
    has_quotes: bool
    """Whether cells are in quotes."""


def layout_of(text: str, file: str, *, is_whole: bool) -> Layout:
    """Return the layout of a CSV file from its first part. Raises ``FileError`` for what is no table."""
    lines = text.split("\n")
    if not is_whole:
        lines = lines[:-1]
    if not lines or max(map(len, lines[:_MOST_LINES])) > _LONGEST_LINE:
        raise _no_table(file, "its first lines are too long for a table")
    lines = lines[:_MOST_LINES]
    candidates = [
        (score, separator, rows) for separator in SEPARATORS for score, rows in [_split(lines, separator)]
    ]
    score, separator, rows = max(candidates, key=lambda one: one[0])
    if score <= 0.0:
        raise _no_table(file, "no two columns of it can be told apart")
    width = _usual_width(rows)
    decimal_comma = separator != "," and _has_decimal_commas(rows)
    number = _COMMA_NUMBER if decimal_comma else _NUMBER
    first = next(index for index, row in enumerate(rows) if len(row) >= max(2, width - 1))
    if not is_heading(rows[first], number):
        has_quotes = any('"' in line for line in lines[first:])
        return _layout(separator, decimal_comma, ("",) * width, (), rows[first:], first, number, has_quotes)
    head = rows[first]
    second = first + 1
    while second < len(rows) and not any(rows[second]):
        second += 1
    has_units = second < len(rows) and _is_units_row(rows[second], number)
    units = rows[second] if has_units else ()
    begin = second + 1 if has_units else first + 1
    has_quotes = any('"' in line for line in lines[begin:])
    return _layout(separator, decimal_comma, head, units, rows[begin:], begin, number, has_quotes)


def is_heading(row: Sequence[str], number: re.Pattern[str] = _NUMBER) -> bool:
    """Return whether a row holds names rather than values: most of what is filled is no number."""
    filled = [cell for cell in row if cell.lower() not in NO_VALUE]
    words = [cell for cell in filled if not number.match(cell) and not looks_like_time(cell)]
    return len(words) * 2 > len(filled) and len(words) >= 2


def looks_like_time(cell: str) -> bool:
    """Return whether a cell is a date or a clock time."""
    return re.match(r"\d{4}-\d\d-\d\d|\d{1,2}:\d\d(?::\d\d|\.)", cell) is not None


def _split(lines: Sequence[str], separator: str) -> tuple[float, list[list[str]]]:
    """Return how well a separator fits, 0 for not at all, and the rows it gives."""
    rows: list[list[str]] = []
    for line in lines:
        # Line by line, because a stray quote would otherwise swallow all lines after it.
        try:
            row: list[str] = next(csv.reader([line], delimiter=separator), [""])
        except csv.Error:
            row = [""]
        rows.append([cell.strip() for cell in row])
    width = _usual_width(rows)
    if width < 2:
        return 0.0, rows
    filled = [row for row in rows if any(row)]
    fitting = sum(len(row) == width for row in filled) / len(filled)
    if fitting < 0.5:
        return 0.0, rows
    numeric = _share_of_numbers(filled[-200:], separator)
    return (fitting * (0.05 + numeric) * min(width, 8) if numeric > 0.0 else 0.0), rows


def _usual_width(rows: Sequence[Sequence[str]]) -> int:
    widths = Counter(len(row) for row in rows if any(row))
    return widths.most_common(1)[0][0] if widths else 0


def _share_of_numbers(rows: Sequence[Sequence[str]], separator: str) -> float:
    cells = [cell for row in rows for cell in row if cell.lower() not in NO_VALUE]
    if not cells:
        return 0.0
    fitting = sum(
        _NUMBER.match(cell) is not None
        or looks_like_time(cell)
        or (separator != "," and _COMMA_NUMBER.match(cell) is not None)
        for cell in cells
    )
    return fitting / len(cells)


def _has_decimal_commas(rows: Sequence[Sequence[str]]) -> bool:
    cells = [cell for row in rows for cell in row]
    with_comma = sum(_COMMA_NUMBER.match(cell) is not None and "," in cell for cell in cells)
    with_point = sum(_NUMBER.match(cell) is not None and "." in cell for cell in cells)
    return with_comma > with_point


def _is_units_row(row: Sequence[str], number: re.Pattern[str]) -> bool:
    filled = [cell for cell in row if cell.lower() not in NO_VALUE]
    if any((number.match(cell) and cell not in ("1",)) or looks_like_time(cell) for cell in filled):
        return False
    known = sum(unit_in_units_row(cell) is not None for cell in filled)
    return known >= 1 and known * 2 >= len(filled)


def _layout(
    separator: str,
    decimal_comma: bool,
    head: Sequence[str],
    units: Sequence[str],
    data: Sequence[Sequence[str]],
    lines_before: int,
    number: re.Pattern[str],
    has_quotes: bool,
) -> Layout:
    width = max(len(head), _usual_width(data))
    names = _distinct([*head, *[""] * (width - len(head))])
    padded_units = [*units, *[""] * (width - len(units))][:width]
    sample = tuple(tuple(row) for row in data if any(row))
    columns = [[row[index] for row in sample if index < len(row)] for index in range(width)]
    is_text = tuple(
        any(cell.lower() not in NO_VALUE and not number.match(cell) for cell in column) for column in columns
    )
    return Layout(
        separator, decimal_comma, names, tuple(padded_units), lines_before, is_text, sample, has_quotes
    )


def _distinct(head: Sequence[str]) -> tuple[str, ...]:
    """Return a name for each column: those without one by their number, repeated ones numbered."""
    seen: Counter[str] = Counter()
    names: list[str] = []
    for position, raw in enumerate(head, start=1):
        name = " ".join(raw.split()) or f"column {position}"
        seen[name] += 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(names)


def _no_table(file: str, why: str) -> FileError:
    fault = FileError(file, f"this is no table of samples: {why}")
    fault.problems = (Problem(file, None, "", "", f"this is no table of samples: {why}", _WANTED),)
    return fault


_WANTED = (
    "A recording is a CSV file with one line of names, commas, semicolons or tabs between the columns, "
    "and one line a sample; or a Parquet file"
)
