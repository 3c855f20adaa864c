"""A channel map proposed for a file that has none: by names, units, ranges and what channels say of others.

Each column is taken for the channel that its name fits best; where two columns could be one channel, or
one column two, the proposal says so. It says how sure it is: ``certain`` a name that means one thing only
and a unit that is stated or known; ``likely`` where the values or other channels had to decide; ``guess``
where nothing else speaks for it. A recording read without a map uses all but the guesses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import numpy as np

from sortiewright.pack import CHANNELS, FileError, listed
from sortiewright.recording.channel_map import ChannelMap, ColumnUse, TimeUse, WindParts, map_text
from sortiewright.recording.consistency import sampled
from sortiewright.recording.mapping_proposal_columns import Candidate, candidates_of
from sortiewright.recording.mapping_proposal_units import Option, Solution, options_for, solve
from sortiewright.recording.reading_table import RawTable, read_table
from sortiewright.recording.reading_time import clock_of, time_unit
from sortiewright.recording.reading_values import ABSURD, truths_of
from sortiewright.recording.recording import Floats

Sureness = Literal["certain", "likely", "guess"]
_RANK: dict[Sureness, int] = {"certain": 0, "likely": 1, "guess": 2}
_MOST_SAMPLES = 1500
"""Samples on which all ways to read the columns are tried."""
_COMPARED = 0.5
"""s between the rows on which columns are compared."""


@dataclass(frozen=True, slots=True)
class Binding:
    """A channel, the column proposed for it, how sure that is and why."""

    channel: str
    use: ColumnUse
    sure: Sureness
    reasons: tuple[str, ...]
    others: tuple[str, ...] = ()
    """Columns that could be this channel as well."""


@dataclass(frozen=True)
class Proposal:
    """A proposed channel map."""

    file: str
    time: TimeUse
    time_reason: str
    bindings: tuple[Binding, ...]
    wind: WindParts | None = None
    unused: tuple[str, ...] = ()
    """Columns that fit no channel."""
    questions: tuple[str, ...] = field(default=())
    """What a person should decide, each a sentence."""

    def channel_map(self, least: Sureness = "likely") -> ChannelMap:
        """Return the map of all bindings at least so sure."""
        taken = {one.channel: one.use for one in self.bindings if _RANK[one.sure] <= _RANK[least]}
        return ChannelMap(time=self.time, channels=taken, wind=self.wind)

    def text(self) -> str:
        """Return the map as YAML, each line with how sure it is and why; guesses stand as comments."""
        sure = {one.channel: one for one in self.bindings if one.sure != "guess"}
        comments = {name: _said(one) for name, one in sure.items()} | {"time": self.time_reason}
        whole = self.channel_map()
        lines = map_text(whole, comments).splitlines()
        guesses = [one for one in self.bindings if one.sure == "guess"]
        if guesses:
            lines += ["", "# Guesses. Move those that are right up under channels, without the #."]
            lone = (ChannelMap(time=self.time, channels={one.channel: one.use}) for one in guesses)
            texts = (map_text(one).splitlines()[2] for one in lone)
            lines += [f"#{text}  # {_said(one)}" for text, one in zip(texts, guesses, strict=True)]
        if self.questions:
            lines += ["", *(f"# ? {question}" for question in self.questions)]
        if self.unused:
            lines += ["", f"# Not used: {', '.join(self.unused)}"]
        return "\n".join(lines) + "\n"


def _said(binding: Binding) -> str:
    other = f"; or {listed(binding.others, 4)}" if binding.others else ""
    return f"{binding.sure}: {'; '.join(binding.reasons)}{other}"


def proposed_map(path: Path | str) -> Proposal:
    """Return a channel map for a recording's file. Raises ``InputError`` for no table and for no time."""
    return proposal_for(read_table(Path(path)))


def proposal_for(table: RawTable) -> Proposal:
    """Return a channel map for a table. Raises ``InputError`` where no column is the time."""
    # Absurd numbers are passed over; that a sum of them overflows is no news.
    with np.errstate(over="ignore", invalid="ignore"):
        return _proposal(table)


def _proposal(table: RawTable) -> Proposal:
    found = candidates_of(table)
    time = _time(table, found.times)
    unit, reason = _time_unit(table, time)
    clock = clock_of(table, TimeUse(column=time, unit=unit)).seconds
    rows = _rows(clock)
    best = _options(table, found.by_channel, rows)
    options = {name: one[1] for name, one in best.items() if one[1]}
    solution = _solved(clock[rows], options)
    bindings = tuple(
        _binding(name, best[name][0], options.get(name, []), solution, found.by_channel[name])
        for name in CHANNELS
        if name in best
    )
    taken = {one.use.column for one in bindings} | {time} | set(found.wind_columns)
    unused = tuple(name for name in table.names if name not in taken)
    return Proposal(
        table.file,
        TimeUse(column=time, unit=unit),
        reason,
        bindings,
        found.wind,
        unused,
        _questions(bindings),
    )


def _time(table: RawTable, candidates: Sequence[str]) -> str:
    for name in candidates:
        if table.is_moment(name) or not table.is_number(name):
            return name
        values = table.numbers(name)
        steps = np.diff(values[np.isfinite(values)])
        # A countdown or a stopwatch that stands still is no time of the samples; a coarse clock may be.
        if len(steps) == 0 or (float(np.mean(steps >= 0.0)) > 0.5 and float(np.mean(steps > 0.0)) > 0.01):
            return name
    hint = f"Columns: {listed(table.names)}. Name the one that is the time in a map, as time: {{column: ...}}"
    raise FileError(table.file, "no column of it looks like the time", hint)


def _time_unit(
    table: RawTable, name: str
) -> tuple[Literal["s", "ms", "us", "ns", "min", "h", "iso", "clock"], str]:
    if table.is_moment(name) or not table.is_number(name):
        clock = clock_of(table, TimeUse(column=name))
        return clock.unit, clock.reason
    return time_unit(name, table.units.get(name), table.numbers(name))


def _rows(clock: Floats) -> np.ndarray:
    """Return rows with a time, in its order, about half a second apart."""
    good = np.flatnonzero(np.isfinite(clock))
    steps = np.diff(clock[good[:5000]])
    step = float(np.median(steps)) if len(steps) else 0.0
    good = good[:: max(1, int(_COMPARED / step))] if step > 0.0 else good
    return good[np.argsort(clock[good], kind="stable")]


def _options(
    table: RawTable, by_channel: Mapping[str, Sequence[Candidate]], rows: np.ndarray
) -> dict[str, tuple[Candidate, list[Option]]]:
    """Return the best candidate of each channel with the ways to read it."""
    best: dict[str, tuple[Candidate, list[Option]]] = {}
    for name, candidates in by_channel.items():
        channel = CHANNELS[name]
        for candidate in candidates:
            if channel.kind == "choice":
                best[name] = candidate, []
                break
            if channel.kind == "truth":
                raw = truths_of(table, ColumnUse(column=candidate.column), rows)
            elif not table.is_number(candidate.column):
                continue
            else:
                raw = table.numbers(candidate.column)[rows]
                raw = np.where(np.abs(raw) < ABSURD, raw, np.nan)
            if not np.isfinite(raw).any():
                continue
            best[name] = candidate, _read_as(candidate, options_for(channel, raw, candidate.unit), raw)
            break
    return best


def _read_as(candidate: Candidate, options: list[Option], raw: Floats) -> list[Option]:
    if candidate.full is not None:
        return [Option("", False, candidate.full, raw / candidate.full, 0.0, candidate.note)]
    if not candidate.is_known:
        return options
    # The direction of a known column is known too.
    return [one for one in options if not one.invert or candidate.invert][-1 if candidate.invert else 0 :][:1]


def _solved(time: Floats, options: Mapping[str, Sequence[Option]]) -> Solution:
    flat = {f"{name}|{index}": one.values for name, many in options.items() for index, one in enumerate(many)}
    if len(time) < 3:
        return solve({}, sampled(np.arange(3.0), np.zeros(0, np.intp), {}))
    steps = np.diff(time)
    breaks = np.flatnonzero(steps > 10.0 * max(float(np.median(steps)), 1e-6)) + 1
    samples = sampled(time, breaks.astype(np.intp), flat, most=_MOST_SAMPLES)
    thinned = {
        name: [
            Option(
                one.unit, one.invert, one.full, samples.columns[f"{name}|{index}"], one.penalty, one.reason
            )
            for index, one in enumerate(many)
        ]
        for name, many in options.items()
    }
    return solve(thinned, samples)


def _binding(
    name: str,
    candidate: Candidate,
    options: Sequence[Option],
    solution: Solution,
    candidates: Sequence[Candidate],
) -> Binding:
    chosen = options[solution.chosen.get(name, 0)] if options else None
    others = tuple(
        one.column for one in candidates if one is not candidate and one.score > candidate.score - 0.2
    )
    confirmed, contradicted = solution.confirmed.get(name, ()), solution.contradicted.get(name, ())
    lead = solution.lead.get(name, 0.0)
    reasons = [candidate.reason]
    if chosen is not None:
        reasons += _unit_reason(name, candidate, chosen, options, confirmed, lead)
    reasons += [f"but not so: {text}" for text in contradicted[:2]]
    sure = _sureness(candidate, chosen, options, confirmed, contradicted, lead, bool(others))
    # Where the file states the unit the map states it too, so that it stands by itself.
    unit = chosen.unit if chosen is not None and chosen.unit and CHANNELS[name].kind == "number" else None
    use = ColumnUse(
        column=candidate.column,
        unit=unit if chosen is None or chosen.full is None else None,
        invert=chosen.invert if chosen is not None else candidate.invert,
        full=chosen.full if chosen is not None else candidate.full,
        zero_on_wheels=candidate.zero_on_wheels,
        words=dict(candidate.words),
    )
    return Binding(name, use, sure, tuple(reasons), others)


def _unit_reason(
    name: str,
    candidate: Candidate,
    chosen: Option,
    options: Sequence[Option],
    confirmed: Sequence[str],
    lead: float,
) -> list[str]:
    if candidate.is_known:
        return [candidate.note] if candidate.note else []
    said: list[str] = []
    if CHANNELS[name].kind == "number" and chosen.unit:
        if candidate.unit is not None:
            said.append(f"{chosen.unit} as the file says")
        elif lead > 0.3 and confirmed:
            said.append(f"{chosen.unit}, because {confirmed[0]}")
        elif len({one.unit for one in options}) == 1:
            said.append(f"{chosen.unit} by its range")
        else:
            said.append(f"{chosen.unit} as is usual, nothing here tells")
    if chosen.reason and (chosen.invert or chosen.full is not None):
        said.append(chosen.reason)
    if candidate.is_magnetic:
        said.append("magnetic: write the variation, east positive, as offset")
    return said


def _sureness(
    candidate: Candidate,
    chosen: Option | None,
    options: Sequence[Option],
    confirmed: Sequence[str],
    contradicted: Sequence[str],
    lead: float,
    is_contested: bool,
) -> Sureness:
    if candidate.is_known:
        return "likely" if contradicted else "certain"
    if candidate.is_magnetic or (chosen is not None and chosen.full is not None and candidate.full is None):
        return "guess"
    if contradicted and not confirmed and candidate.unit is None:
        return "guess"
    units = {one.unit for one in options}
    is_unit_sure = chosen is None or candidate.unit is not None or len(units) == 1 or lead > 0.3
    if not is_unit_sure or candidate.score < 0.5:
        return "guess"
    if candidate.score < 0.8:
        return "likely" if confirmed else "guess"
    has_stated = candidate.unit is not None or chosen is None or units == {""}
    if has_stated and not contradicted and not is_contested and (confirmed or candidate.score >= 0.95):
        return "certain"
    return "likely"


def _questions(bindings: Sequence[Binding]) -> tuple[str, ...]:
    found: list[str] = []
    by_column: dict[str, list[str]] = {}
    for one in bindings:
        by_column.setdefault(one.use.column, []).append(one.channel)
        if one.others:
            found.append(
                f"{one.channel}: {one.use.column} was taken; {listed(one.others, 6)} could be it too"
            )
    for column, channels in by_column.items():
        if len(channels) > 1:
            found.append(f"{column} was taken for {' and '.join(channels)}: is it the only one?")
    return tuple(found)
