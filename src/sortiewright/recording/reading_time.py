"""The time of each sample, s, from whatever a file has: seconds, milliseconds, ISO 8601, a clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from sortiewright.pack import FileError, InputError, Problem
from sortiewright.recording.channel_map import TimeUnit, TimeUse
from sortiewright.recording.reading_table import RawTable, moment
from sortiewright.recording.recording import Floats
from sortiewright.recording.unit_names import unit_in_name, unit_in_units_row

_SIZE: dict[str, float] = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0}
_DAY = 86_400.0
_EPOCH = 3e8
"""Seconds: no simulation runs for ten years, so more than this is counted from 1970."""
_LATEST = 1e11
"""Seconds that no clock shows: 3000 years."""
_ISO = r"^\s*(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?)\s*(Z|[+-]\d\d(?::?\d\d)?)?\s*$"
_CLOCK = r"^\s*(?:(\d{1,2}):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)\s*$"


@dataclass(frozen=True)
class Clock:
    """Times as the file has them, in its order: s, NaN where there is none; and when it began."""

    seconds: Floats
    started: datetime | None
    unit: TimeUnit
    reason: str
    """Why this unit."""


def clock_of(table: RawTable, use: TimeUse) -> Clock:
    """Return the time of each row. Raises ``InputError`` where the column holds no time."""
    name = use.column
    if table.is_moment(name):
        return _since_1970(table.numbers(name), "iso", "a column of moments")
    if use.unit in ("iso", "clock") or (use.unit is None and not table.is_number(name)):
        return _from_text(table, use)
    values = table.numbers(name)
    unit, reason = (
        (use.unit, "the map says so") if use.unit else time_unit(name, table.units.get(name), values)
    )
    with np.errstate(over="ignore", invalid="ignore"):
        seconds = values * _SIZE[unit]
        seconds = np.where(np.abs(seconds) < _LATEST, seconds, np.nan)
    if not np.isfinite(seconds).any():
        raise InputError([Problem(table.file, None, "time", "", f"column {name} holds no time")])
    first = float(seconds[np.isfinite(seconds)][0])
    if first > _EPOCH:
        return _since_1970(seconds, unit, reason)
    return Clock(seconds, None, unit, reason)


def time_unit(name: str, row_unit: str | None, values: Floats) -> tuple[TimeUnit, str]:
    """Return the unit of a column of numbers that is the time, and what tells it."""
    for unit, reason in (
        (unit_in_units_row(row_unit or "") or None, "the units row says so"),
        (unit_in_name(name)[1], "its name says so"),
    ):
        if unit in _SIZE:
            return unit, reason  # pyright: ignore[reportReturnType]
    finite = values[np.isfinite(values)]
    if not len(finite):
        return "s", "it is empty"
    first = float(finite[0])
    for least, unit in ((1e17, "ns"), (1e14, "us"), (1e11, "ms")):
        if first > least:
            return unit, "the size of its numbers: since 1970"  # pyright: ignore[reportReturnType]
    steps = np.diff(finite[:20_000])
    steps = steps[steps > 0.0]
    step = float(np.median(steps)) if len(steps) else 0.0
    is_whole = bool((finite[:20_000] == np.round(finite[:20_000])).all())
    if is_whole and step > 3000.0:
        return "us", f"its steps of {step:g}"
    if is_whole and step >= 4.0:
        return "ms", f"its steps of {step:g}"
    return "s", f"its steps of {step:.3g}"


def _since_1970(seconds: Floats, unit: TimeUnit, reason: str) -> Clock:
    finite = seconds[np.isfinite(seconds)]
    if not len(finite):
        return Clock(seconds, None, unit, reason)
    # From the first sample on, because floats of today's date are good to a quarter of a microsecond only.
    return Clock(seconds - finite[0], moment(float(finite[0])), unit, reason)


def _from_text(table: RawTable, use: TimeUse) -> Clock:
    import polars as pl

    texts = table.texts(use.column)
    sample = texts.drop_nulls().head(1000)
    if use.unit != "clock" and int(sample.str.contains(_ISO).sum()) * 2 > sample.len():
        groups = pl.DataFrame({"text": texts}).select(
            day=pl.col("text").str.extract(_ISO, 1),
            time=pl.col("text").str.extract(_ISO, 2).str.replace(",", ".", literal=True),
            zone=pl.col("text").str.extract(_ISO, 3),
        )
        return _iso(groups)
    if use.unit != "iso" and int(sample.str.contains(_CLOCK).sum()) * 2 > sample.len():
        parts = [texts.str.extract(_CLOCK, group) for group in (1, 2, 3)]
        hours, minutes, seconds = (
            part.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False).to_numpy()
            for part in parts
        )
        total = np.nan_to_num(hours) * 3600.0 + minutes * 60.0 + seconds
        return Clock(_past_midnight(total), None, "clock", "it is written as a clock")
    numbers = table.numbers(use.column)
    if use.unit is None and np.isfinite(numbers).sum() * 2 > len(numbers):
        unit, reason = time_unit(use.column, table.units.get(use.column), numbers)
        return Clock(numbers * _SIZE[unit], None, unit, reason)
    example = next((str(one) for one in sample), "")
    raise FileError(
        table.file,
        f'column {use.column} cannot be read as time: it has "{example[:40]}"',
        "Write seconds, or ISO 8601: 2026-05-14T09:30:00.25Z",
    )


def _iso(groups: Any) -> Clock:
    import polars as pl

    text = groups["day"] + "T" + groups["time"]
    moments = text.str.to_datetime("%Y-%m-%dT%H:%M:%S%.f", time_unit="us", strict=False)
    short = text.str.to_datetime("%Y-%m-%dT%H:%M", time_unit="us", strict=False)
    moments = moments.zip_with(moments.is_not_null(), short)
    seconds = np.where(moments.is_null(), np.nan, moments.to_physical().fill_null(0).to_numpy() * 1e-6)
    zone = groups["zone"].fill_null("")
    digits = zone.str.replace_all(r"[^0-9]", "").str.pad_end(4, "0").cast(pl.Int64, strict=False).fill_null(0)
    minutes = (digits // 100 * 60 + digits % 100).to_numpy()
    sign = np.where(zone.str.starts_with("-").to_numpy(), -1.0, 1.0)
    has_zone = bool((zone != "").any())
    clock = _since_1970(seconds - sign * minutes * 60.0, "iso", "it is written as a date with its time")
    if has_zone or clock.started is None:
        return clock
    # No zone was written, so none is claimed.
    return Clock(clock.seconds, clock.started.replace(tzinfo=None), clock.unit, clock.reason)


def _past_midnight(seconds: Floats) -> Floats:
    filled = np.where(np.isfinite(seconds), seconds, -np.inf)
    known = np.isfinite(seconds)
    days = np.zeros(len(seconds))
    steps = np.diff(filled[known])
    days[np.flatnonzero(known)[1:]] = np.cumsum(steps < -_DAY / 2) * _DAY
    return seconds + days
