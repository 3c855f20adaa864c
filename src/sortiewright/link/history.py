"""All rows since the feed began, as columns: what judging a flight while it is flown reads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.link.channel_values import CLOCK, Value
from sortiewright.link.rows import Row
from sortiewright.pack import CHANNELS

MOST_CHUNKS = 64


class ColumnHistory:
    """Rows in, columns out: floats with NaN where missing, truths as 0 and 1, words as text."""

    def __init__(self) -> None:
        self.rows = 0
        self._chunks: list[tuple[int, dict[str, NDArray[Any]]]] = []

    def add(self, rows: Sequence[Row]) -> None:
        """Append rows, which must be later than those before."""
        if not rows:
            return
        names = {name for row in rows for name in row.values}
        columns: dict[str, NDArray[Any]] = {CLOCK: np.array([row.time for row in rows])}
        for name in names:
            columns[name] = _column(name, [row.values.get(name) for row in rows])
        self._chunks.append((len(rows), columns))
        self.rows += len(rows)
        if len(self._chunks) > MOST_CHUNKS:
            self._chunks = [(self.rows, self.columns())]

    def columns(self) -> dict[str, NDArray[Any]]:
        """Return every channel that came, over all rows."""
        names = [name for name in CHANNELS if any(name in columns for _, columns in self._chunks)]
        return {
            name: np.concatenate([columns.get(name, _nothing(name, rows)) for rows, columns in self._chunks])
            for name in names
        }


def _column(name: str, values: list[Value]) -> NDArray[Any]:
    if CHANNELS[name].kind == "choice":
        return np.array([one if isinstance(one, str) else "" for one in values], dtype=np.str_)
    return np.array([np.nan if one is None or isinstance(one, str) else float(one) for one in values])


def _nothing(name: str, rows: int) -> NDArray[Any]:
    return np.full(rows, "" if CHANNELS[name].kind == "choice" else np.nan)
