"""Small recordings and flights made by hand, for rules to be judged on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from sortiewright.pack import LoadedPack, load_pack
from sortiewright.recording import Event, Flight, Phase, Recording


def made_recording(
    columns: Mapping[Any, Any], *, rate: float = 10.0, time: Any = None, breaks: Sequence[int] = ()
) -> Recording:
    """Return a recording: arrays as columns, and single values held throughout."""
    arrays = {name: np.asarray(values) for name, values in columns.items()}
    rows = max((len(one) for one in arrays.values() if one.ndim), default=0) if time is None else len(time)
    clock = np.arange(rows) / rate if time is None else np.asarray(time, np.float64)
    full = {name: np.full(rows, one) if one.ndim == 0 else one for name, one in arrays.items()}
    return Recording("made", clock, full, np.asarray(breaks, np.intp))


def made_flight(
    recording: Recording,
    phases: Sequence[tuple[str, float]] = (),
    events: Sequence[tuple[str, float]] = (),
) -> Flight:
    """Return one flight over a whole recording: phases by when each begins, s, and events."""
    time = recording.time
    begins = [int(np.searchsorted(time, begin)) for _, begin in phases]
    ends = [*begins[1:], recording.rows][: len(begins)]
    made = tuple(
        Phase(name, begin, end, float(time[begin]), float(time[min(end, len(time) - 1)]))
        for (name, _), begin, end in zip(phases, begins, ends, strict=True)
    )
    rows = [max(0, int(np.searchsorted(time, moment, side="right")) - 1) for _, moment in events]
    noted = tuple(Event(name, moment, row) for (name, moment), row in zip(events, rows, strict=True))
    labels = np.zeros(recording.rows, np.intp)
    for number, phase in enumerate(made):
        labels[phase.begin : phase.end] = number
    return Flight(0, recording.rows, made, tuple(sorted(noted, key=lambda one: one.time)), labels)


@cache
def _shipped(name: str) -> LoadedPack:
    return load_pack(name)


def pack_with_rules(folder: Path, text: str | Mapping[str, str], name: str = "dotterel") -> LoadedPack:
    """Return a shipped pack that holds these texts, by file name, as its rules, and no others."""
    rules = folder / "rules"
    rules.mkdir(exist_ok=True)
    for old in rules.iterdir():
        old.unlink()
    for file, content in ({"made.yaml": text} if isinstance(text, str) else text).items():
        (rules / file).write_text(content, encoding="utf-8")
    return replace(_shipped(name), folder=folder)
