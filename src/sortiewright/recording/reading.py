"""A recording read: file and channel map in, channels in SI out, and everything odd about them said."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import CHANNELS, FileError
from sortiewright.recording.channel_map import ChannelMap, load_channel_map
from sortiewright.recording.channel_map_checks import columns_missing, constant_value, unused
from sortiewright.recording.deriving import derive
from sortiewright.recording.quality import inspect
from sortiewright.recording.reading_order import in_order
from sortiewright.recording.reading_table import RawTable, read_table
from sortiewright.recording.reading_time import clock_of
from sortiewright.recording.reading_values import channel_values, unit_of, wind_values
from sortiewright.recording.recording import Defect, Recording


def read_recording(path: Path | str, channel_map: ChannelMap | Path | str | None = None) -> Recording:
    """Return the samples of a CSV (plain or gzip) or Parquet file on canonical channels.

    Without a map the one that ``proposed_map`` proposes is used, as far as it is sure of it. Rows out of
    order are sorted and repeated ones dropped, and both reported; what the file lacks is worked out where it
    can be, and named in ``derived``.

    Raises ``InputError`` for a file that is no recording and a map that does not fit it.
    """
    file = Path(path)
    if channel_map is None:
        from sortiewright.recording.mapping_proposal import proposal_for

        table = read_table(file)
        proposed = proposal_for(table).channel_map()
        if not proposed.channels:
            hint = f"See what could be meant: sortiewright recording map {path}"
            raise FileError(str(path), "none of its columns can be told for a channel without a map", hint)
        return recording_from(table, proposed)
    chosen = channel_map if isinstance(channel_map, ChannelMap) else load_channel_map(channel_map)

    def wanted(names: Sequence[str]) -> Sequence[str]:
        columns_missing(chosen, names, str(path))
        return chosen.columns()

    return recording_from(read_table(file, wanted), chosen)


def recording_from(table: RawTable, channel_map: ChannelMap) -> Recording:
    """Return the recording that a table and a map give. Raises ``InputError`` without two samples."""
    columns_missing(channel_map, table.names, table.file)
    # Absurd numbers are looked for and said; that a sum of them overflows is no news.
    with np.errstate(over="ignore", invalid="ignore"):
        return _recording(table, channel_map)


def _recording(table: RawTable, channel_map: ChannelMap) -> Recording:
    clock = clock_of(table, channel_map.time)
    order = in_order(table, clock.seconds, channel_map.time.column)
    if len(order.time) < 2:
        count = "no sample" if not len(order.time) else "one sample"
        raise FileError(table.file, f"it holds {count} with a time; a recording has at least two")
    columns = _columns(table, channel_map, order.rows, len(order.time))
    defects = [
        Defect(one.kind, one.column, float(order.time[0]), float(order.time[-1]), one.text, one.count)
        for one in table.remarks
    ]
    raw = Recording(
        name=Path(table.file).name,
        time=order.time,
        columns=columns,
        breaks=order.breaks,
        started=clock.started,
        unmapped=unused(channel_map, table.all_names),
        defects=(*defects, *order.defects),
        source_columns=_sources(channel_map),
    )
    units = {
        name: unit_of(table, use, CHANNELS[name])
        for name, use in channel_map.channels.items()
        if CHANNELS[name].kind == "number" and use.full is None
    }
    return derive(inspect(_above_wheels(raw, channel_map), units), channel_map)


def _columns(
    table: RawTable, channel_map: ChannelMap, rows: NDArray[np.intp] | None, count: int
) -> dict[str, NDArray[Any]]:
    columns: dict[str, NDArray[Any]] = {}
    for name, use in channel_map.channels.items():
        values = channel_values(table, name, use)
        columns[name] = values if rows is None else values[rows]
    if channel_map.wind is not None:
        for name, values in zip(
            ("wind_speed", "wind_from_deg"), wind_values(table, channel_map.wind), strict=True
        ):
            columns.setdefault(name, values if rows is None else values[rows])
    for name, value in channel_map.constants.items():
        if name in CHANNELS:
            columns.setdefault(name, np.full(count, constant_value(name, value)))
    return columns


def _sources(channel_map: ChannelMap) -> dict[str, str]:
    sources = {name: use.column for name, use in channel_map.channels.items()}
    if channel_map.wind is not None:
        both = f"{channel_map.wind.north.column}, {channel_map.wind.east.column}"
        sources = {"wind_speed": both, "wind_from_deg": both} | sources
    return sources


def _above_wheels(recording: Recording, channel_map: ChannelMap) -> Recording:
    """Return heights less what they read on the wheels, where the map asks for it and they are known."""
    from dataclasses import replace

    columns, derived = dict(recording.columns), dict(recording.derived)
    for name, use in channel_map.channels.items():
        legs = [leg for leg in ("left", "right") if recording.has(f"weight_on_wheels_{leg}")]
        if not use.zero_on_wheels or not legs:
            continue
        on = np.logical_and.reduce([recording.number(f"weight_on_wheels_{leg}") == 1.0 for leg in legs])
        heights = recording.number(name)[on]
        heights = heights[np.isfinite(heights)]
        if len(heights):
            zero = float(np.median(heights))
            columns[name] = recording.number(name) - zero
            derived[name] = f"{use.column} less {zero:.2f} m, what it reads with weight on wheels"
    return replace(recording, columns=columns, derived=derived)
