"""A recording's file as named columns of numbers and words, whatever its carrier.

The only module that knows polars, which reads text in parallel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import FileError
from sortiewright.recording.reading_layout import NO_VALUE, Layout, layout_of
from sortiewright.recording.reading_source import Source, decoded_sample, open_source, unpacked
from sortiewright.recording.recording import Floats

if TYPE_CHECKING:
    import polars as pl

MOST_VALUES = 700_000_000
"""Rows times columns beyond which a file is refused: 5 GB as floats."""


@dataclass(frozen=True)
class TableRemark:
    """Something that was wrong with the file as a file."""

    kind: Literal["truncated", "missing"]
    """``missing``: cells that are no numbers."""
    column: str
    count: int
    text: str


@dataclass(frozen=True)
class RawTable:
    """The columns of a file, not yet channels, all of one length."""

    file: str
    columns: dict[str, Floats | pl.Series]
    """By name, in the file's order: numbers with NaN for blanks, else a polars series of words or moments."""
    units: dict[str, str]
    """By column, where the file has a units row: as written there."""
    remarks: tuple[TableRemark, ...]
    all_names: tuple[str, ...]
    """Every column of the file, also those that were not asked for."""

    @property
    def names(self) -> tuple[str, ...]:
        """The columns, in the file's order."""
        return tuple(self.columns)

    @property
    def rows(self) -> int:
        """Number of lines of data."""
        return next((len(one) for one in self.columns.values()), 0)

    def is_number(self, name: str) -> bool:
        """Return whether a column holds numbers or truths."""
        return isinstance(self.columns[name], np.ndarray)

    def is_moment(self, name: str) -> bool:
        """Return whether a column holds dates with times."""
        import polars as pl

        return self.columns[name].dtype == pl.Datetime("us")

    def numbers(self, name: str) -> Floats:
        """Return a column as floats, NaN where it has no number; moments as s since 1970."""
        column = self.columns[name]
        if isinstance(column, np.ndarray):
            return column
        if self.is_moment(name):
            return np.where(column.is_null(), np.nan, column.to_physical().fill_null(0).to_numpy() * 1e-6)
        return _as_numbers(column).to_numpy()

    def words(self, name: str) -> tuple[NDArray[np.intp], list[str]]:
        """Return a column as positions in a list of its different texts; -1 where it is blank."""
        import polars as pl

        column = self.columns[name]
        if isinstance(column, np.ndarray):
            different, codes = np.unique(column, return_inverse=True)
            texts = [f"{value:g}" if np.isfinite(value) else "" for value in different]
        else:
            text = column.cast(pl.String).fill_null("").str.strip_chars(' "')
            different_text, codes = np.unique(text.to_numpy().astype(str), return_inverse=True)
            texts = [str(one) for one in different_text]
        codes = codes.astype(np.intp)
        blank = [index for index, one in enumerate(texts) if one.lower() in NO_VALUE]
        return np.where(np.isin(codes, blank), -1, codes), texts

    def texts(self, name: str) -> Any:
        """Return a column of words as a polars series, blanks as null."""
        import polars as pl

        column = self.columns[name]
        series = pl.Series(name, column).fill_nan(None) if isinstance(column, np.ndarray) else column
        return series.cast(pl.String).str.strip_chars(' "')


Choose = Callable[[Sequence[str]], Iterable[str]]


def read_table(path: Path, choose: Choose | None = None) -> RawTable:
    """Return the columns of a CSV (plain, gzip) or Parquet file; where ``choose`` is given, those it returns.

    ``choose`` is called with the file's columns before the rest is read, and may raise. Raises ``FileError``.
    """
    source = open_source(path)
    if source.is_parquet:
        return _parquet(source, choose)
    text, is_utf8 = decoded_sample(source)
    layout = layout_of(text, str(path), is_whole=source.is_whole)
    return _csv(source, layout, _chosen(layout.names, choose), is_utf8=is_utf8)


def _chosen(names: Sequence[str], choose: Choose | None) -> list[str]:
    wanted = set(names if choose is None else choose(names))
    return [name for name in names if name in wanted]


def column_names(path: Path) -> tuple[str, ...]:
    """Return the names of a file's columns without reading the rest of it. Raises ``FileError``."""
    source = open_source(path)
    if source.is_parquet:
        return tuple(_parquet_schema(source))
    return layout_of(decoded_sample(source)[0], str(path), is_whole=source.is_whole).names


def _csv(source: Source, layout: Layout, kept: list[str], *, is_utf8: bool) -> RawTable:
    import polars as pl

    reason = ""
    content: bytes | Path = source.path
    if source.is_gzip:
        content, reason = unpacked(source)
    if source.is_wide:
        raw = content if isinstance(content, bytes) else content.read_bytes()
        content = raw.decode("utf-16", errors="replace").encode()
    if not isinstance(content, Path) or b"\r" in source.sample:
        content = _with_line_ends(content, source)
    types: dict[str, Any] = {
        name: pl.String if is_text else pl.Float64
        for name, is_text in zip(layout.names, layout.is_text, strict=True)
    }
    remarks = [TableRemark("truncated", "", 1, reason)] if reason else []
    columns, odd = _frame(content, layout, types, kept, str(source.path), is_utf8=is_utf8)
    remarks += odd
    units = {name: unit for name, unit in zip(layout.names, layout.units, strict=True) if unit}
    return RawTable(str(source.path), _by_name(columns), units, tuple(remarks), layout.names)


def _by_name(columns: list[pl.Series]) -> dict[str, Floats | pl.Series]:
    """Return columns by name, those of numbers as floats with NaN for blanks; the list is emptied.

    Text is read in pieces. They are joined column by column, and each column's pieces are let go before the
    next: its memory serves the next one, and a long recording is never held twice.
    """
    import polars as pl

    found: dict[str, Floats | pl.Series] = {}
    columns.reverse()
    while columns:
        column = columns.pop()
        found[column.name] = column.rechunk().to_numpy() if column.dtype == pl.Float64 else column
    return found


def _with_line_ends(content: bytes | Path, source: Source) -> bytes | Path:
    # Only old programs end lines with a carriage return alone; polars reads all others.
    if b"\r" not in source.sample or b"\n" in source.sample:
        return content
    raw = content if isinstance(content, bytes) else content.read_bytes()
    return raw.replace(b"\r", b"\n")


def _frame(
    content: bytes | Path, layout: Layout, types: dict[str, Any], kept: list[str], file: str, *, is_utf8: bool
) -> tuple[list[pl.Series], list[TableRemark]]:
    import polars as pl

    # Looking for each mark in every cell costs a quarter of the reading, so only for those that are used.
    used = {cell for row in layout.sample for cell in row}
    marks = [mark for mark in _MARKS if mark in used] or None

    def read(schema: dict[str, Any], *, quotes: bool) -> pl.DataFrame:
        lazy = pl.scan_csv(
            content,
            has_header=False,
            skip_lines=layout.lines_before,
            separator=layout.separator,
            decimal_comma=layout.decimal_comma,
            quote_char='"' if quotes else None,
            schema=schema,
            null_values=marks,
            truncate_ragged_lines=True,
            encoding="utf8" if is_utf8 else "utf8-lossy",
        )
        return lazy.select(kept).collect()

    said = ""
    # Numbers in quotes are read as text first: of a quote that stands alone polars would make a panic. Where
    # the first part has no quotes, a stray one later must not swallow the lines after it.
    if not layout.has_quotes:
        whole, said = _tried(lambda: read(types, quotes=False))
        if whole is not None:
            return whole.get_columns(), []
    # Some cell is no number: all as text, then each column by itself, counting what is lost.
    as_text = dict.fromkeys(types, pl.String)
    both = [_tried(lambda quotes=quotes: read(as_text, quotes=quotes)) for quotes in (True, False)]
    frames = [one for one, _ in both if one is not None]
    if not frames:
        raise FileError(file, f"this file cannot be read as a table ({said})")
    # A quote that is never closed takes the lines after it for one cell: whichever way gives more lines.
    frame = max(frames, key=lambda one: one.height)
    return _typed(frame, layout, {name: types[name] for name in kept})


def _tried(read: Callable[[], pl.DataFrame]) -> tuple[pl.DataFrame | None, str]:
    """Return what is read, or None and why it could not be."""
    import polars as pl

    try:
        return read(), ""
    except (pl.exceptions.PolarsError, UnicodeDecodeError, OSError) as error:
        # OSError: text whose first bytes happen to be the mark of some compressed format.
        return None, _first_line(error)
    except BaseException as error:
        # On some damaged text polars stops with a fault of its own, which is no Exception.
        if type(error).__name__ != "PanicException":
            raise
        return None, _first_line(error)


def _first_line(error: BaseException) -> str:
    return str(error).split("\n", 1)[0][:120]


def _typed(
    frame: pl.DataFrame, layout: Layout, types: dict[str, Any]
) -> tuple[list[pl.Series], list[TableRemark]]:
    import polars as pl

    remarks: list[TableRemark] = []
    columns: list[pl.Series] = []
    for name, kind in types.items():
        text = frame.get_column(name)
        if kind != pl.Float64:
            columns.append(text)
            continue
        numbers = _as_numbers(text, decimal_comma=layout.decimal_comma)
        filled = int((text.fill_null("").str.strip_chars() != "").sum())
        lost = filled - numbers.len() + int(numbers.null_count())
        if lost * 2 > filled:  # it only began like a column of numbers
            columns.append(text)
            continue
        columns.append(numbers)
        if lost:
            said = f"{lost} cell{'s' if lost > 1 else ''} of column {name} cannot be read as a number"
            remarks.append(TableRemark("missing", name, lost, said))
    return columns, remarks


def _as_numbers(text: Any, *, decimal_comma: bool = False) -> Any:
    import polars as pl

    plain = text.cast(pl.String).str.strip_chars().str.strip_chars('"').str.strip_chars()
    if decimal_comma:
        plain = plain.str.replace(",", ".", literal=True)
    blank = pl.Series(list(NO_VALUE), dtype=pl.String)
    plain = plain.set(plain.str.to_lowercase().is_in(blank.implode()), None)
    return plain.cast(pl.Float64, strict=False).alias(text.name)


def _parquet_schema(source: Source) -> dict[str, Any]:
    import polars as pl

    try:
        return dict(pl.read_parquet_schema(source.path))
    except BaseException as error:
        raise _parquet_fault(source, error) from None


def _parquet_fault(source: Source, error: BaseException) -> BaseException:
    """Return the fault of a damaged file; what is none of it, such as an interrupt, as it is."""
    # For damaged pages polars raises several unrelated types, one of which is no Exception.
    if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
        return error
    hint = "A Parquet file that was not closed has lost its end, and with it all its columns"
    return FileError(str(source.path), f"this Parquet file cannot be read ({_first_line(error)})", hint)


def _parquet(source: Source, choose: Choose | None) -> RawTable:
    import polars as pl

    schema = _parquet_schema(source)
    kept = _chosen([name for name in schema if _is_plain(schema[name])], choose)
    file = str(source.path)
    try:
        rows = int(pl.scan_parquet(source.path).select(pl.len()).collect().item())
        if rows * max(len(kept), 1) > MOST_VALUES:
            raise FileError(file, f"this file has {rows:,} samples of {len(kept)} columns, too many at once")
        frame = pl.read_parquet(source.path, columns=kept)
    except FileError:
        raise
    except BaseException as error:
        raise _parquet_fault(source, error) from None
    columns = [_plain(frame.get_column(name)) for name in kept]
    del frame
    return RawTable(file, _by_name(columns), {}, (), tuple(schema))


def _is_plain(kind: Any) -> bool:
    return not kind.is_nested() and str(kind) not in ("Binary", "Object", "Null")


def _plain(series: pl.Series) -> pl.Series:
    import polars as pl

    kind = series.dtype
    if kind.is_numeric() or kind == pl.Boolean:
        return series.cast(pl.Float64)
    if isinstance(kind, pl.Datetime):
        # Polars keeps moments with a zone in UTC, so dropping it leaves UTC.
        return (series.dt.replace_time_zone(None) if kind.time_zone is None else _in_utc(series)).cast(
            pl.Datetime("us")
        )
    if isinstance(kind, pl.Duration):
        return series.dt.total_microseconds().cast(pl.Float64) * 1e-6
    if kind == pl.Time:
        return series.cast(pl.Int64).cast(pl.Float64) * 1e-9
    return series.cast(pl.String)


def _in_utc(series: pl.Series) -> pl.Series:
    return series.dt.convert_time_zone("UTC").dt.replace_time_zone(None)


def moment(seconds: float) -> datetime | None:
    """Return the moment in UTC so many s after 1970; None where no calendar has it."""
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (OverflowError, ValueError, OSError):
        return None


_MARKS = ("NA", "N/A", "n/a", "#N/A", "null", "NULL", "None", "none", "-", "--", "---")
"""Marks of a missing value that polars does not take for one by itself."""
