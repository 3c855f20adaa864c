"""What a recording holds, channel by channel: figures by which a person sees whether it was read right."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np

from sortiewright.pack import CHANNELS
from sortiewright.recording.recording import Recording


@dataclass(frozen=True, slots=True)
class ChannelSummary:
    """One channel. Numbers in its SI unit; of truths the mean is the share of time it is true."""

    channel: str
    unit: str
    kind: str
    least: float | None
    mean: float | None
    most: float | None
    words: tuple[tuple[str, int], ...]
    """Of a choice: each word and its samples."""
    missing: float
    """Share of samples without a value."""
    column: str
    derived: str
    """From what it was worked out; empty where the file has it."""


def summarise(recording: Recording) -> list[ChannelSummary]:
    """Return a summary of each channel, in the order of the channel table."""
    return [_summary(recording, name) for name in CHANNELS if recording.has(name)]


def _summary(recording: Recording, name: str) -> ChannelSummary:
    channel = CHANNELS[name]
    values: Any = recording.columns[name]
    column, derived = recording.source_columns.get(name, ""), recording.derived.get(name, "")
    if channel.kind == "choice":
        texts: list[str] = values.tolist()
        counted = Counter(word for word in texts if word)
        missing = texts.count("") / len(texts)
        words = tuple(counted.most_common())
        return ChannelSummary(name, "", channel.kind, None, None, None, words, missing, column, derived)
    finite = values[np.isfinite(values)]
    missing = 1.0 - len(finite) / len(values)
    if not len(finite):
        return ChannelSummary(
            name, channel.unit, channel.kind, None, None, None, (), missing, column, derived
        )
    least, mean, most = float(finite.min()), float(finite.mean()), float(finite.max())
    return ChannelSummary(name, channel.unit, channel.kind, least, mean, most, (), missing, column, derived)


def sample_rate(recording: Recording) -> float:
    """Return how many samples a second most of a recording has, Hz."""
    return 1.0 / float(np.median(np.diff(recording.time)))
