"""Which columns may be which channel: those with a known name, and those whose name resembles one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import CHANNELS
from sortiewright.recording.channel_map import ColumnUse, WindParts
from sortiewright.recording.known_columns import Known, known_column
from sortiewright.recording.mapping_proposal_names import SIDED, NameMatch, name_matches, sides_of
from sortiewright.recording.reading_table import RawTable
from sortiewright.recording.reading_values import fits
from sortiewright.recording.unit_names import unit_in_name, unit_in_units_row

_CHUTE = {"0": "stowed", "1": "deployed", "2": "released"}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A column that may be a channel."""

    column: str
    score: float
    reason: str
    unit: str | None = None
    """As stated by the file or known of the column; None where neither."""
    is_known: bool = False
    invert: bool = False
    full: float | None = None
    zero_on_wheels: bool = False
    is_magnetic: bool = False
    note: str = ""
    words: Mapping[str, str] = field(default_factory=dict[str, str])


@dataclass(frozen=True)
class Candidates:
    """All candidates of a file, best first."""

    by_channel: Mapping[str, Sequence[Candidate]]
    times: Sequence[str]
    wind: WindParts | None
    wind_columns: tuple[str, ...]


def candidates_of(table: RawTable) -> Candidates:
    """Return the columns that may be each channel; each column only where its name fits it best."""
    by_channel: dict[str, list[Candidate]] = {}
    times: list[tuple[float, str]] = []
    wind: dict[str, ColumnUse] = {}
    by_name: dict[str, NameMatch] = {}
    for name in table.names:
        known = known_column(name)
        if known is None:
            matches = name_matches(name)
            if matches and matches[0].channel == "time":
                times.append((matches[0].score, name))
            elif matches:
                by_name[name] = _fitting(table, name, matches)
        elif known.channel == "time":
            times.append((2.0, name))
        elif known.channel in ("wind_north", "wind_east"):
            wind[known.channel.removeprefix("wind_")] = ColumnUse(column=name, unit=known.unit)
        elif known.channel:
            candidate = _known(table, name, known)
            if candidate is not None:
                by_channel.setdefault(known.channel, []).append(candidate)
    _add_by_name(table, by_name, by_channel)
    ordered = {name: sorted(many, key=lambda one: -one.score) for name, many in by_channel.items()}
    parts = WindParts(north=wind["north"], east=wind["east"]) if len(wind) == 2 else None
    columns = tuple(use.column for use in wind.values()) if parts else ()
    return Candidates(ordered, [name for _, name in sorted(times, key=lambda one: -one[0])], parts, columns)


def _known(table: RawTable, name: str, known: Known) -> Candidate | None:
    unit = known.unit if CHANNELS[known.channel].kind == "number" else None
    reason = "one of our channels" if name == known.channel else "a known property"
    candidate = Candidate(
        name, 2.0, reason, unit, True, known.invert, None, known.zero_on_wheels, False, known.note
    )
    if not known.full_from:
        # Of our own channels' names, too, the file may have another unit than ours, and say so.
        stated = unit_in_units_row(table.units.get(name, "")) if name in table.units else None
        if stated and fits(stated, CHANNELS[known.channel]):
            return replace(candidate, unit=stated)
        return candidate
    full = _full_travel(table, name, known.full_from)
    if full is None:
        return None
    return replace(candidate, unit=None, full=full, note=f"full travel {full:.4g}, from {known.full_from}")


def _full_travel(table: RawTable, name: str, command: str) -> float | None:
    """Return what a position reads at full travel, from where it has settled at a known share of it."""
    if command not in table.names:
        return None
    share, here = table.numbers(command), table.numbers(name)
    settled = np.concatenate([[False], (np.diff(here) == 0.0) & (np.diff(share) == 0.0)])
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = here / share
    ratio = ratio[settled & np.isfinite(ratio) & (share > 0.05) & (ratio > 0.0)]
    if len(ratio):
        return float(np.median(ratio))
    # Both at nought all the time: nought is the same share of any travel.
    return 1.0 if _is_nought(share) and _is_nought(here) else None


def _is_nought(values: NDArray[np.float64]) -> bool:
    known = values[np.isfinite(values)]
    return bool(known.size) and not known.any()


def _fitting(table: RawTable, name: str, matches: Sequence[NameMatch]) -> NameMatch:
    """Return the match whose unit fits what the file states; the best name where none does."""
    stated = _stated(table, name)
    if stated is None:
        return matches[0]
    for one in matches:
        if one.score > matches[0].score - 0.4 and _unit_fits(stated, one):
            return one
    return matches[0]


def _unit_fits(unit: str, match: NameMatch) -> bool:
    channel = CHANNELS.get(match.channel) or CHANNELS.get(f"{match.channel}_left")
    return channel is not None and fits(unit, channel)


def _stated(table: RawTable, name: str) -> str | None:
    return unit_in_units_row(table.units[name]) if name in table.units else unit_in_name(name)[1]


def _add_by_name(
    table: RawTable, by_name: Mapping[str, NameMatch], by_channel: dict[str, list[Candidate]]
) -> None:
    sided: dict[str, list[str]] = {}
    for match in by_name.values():
        if match.channel in SIDED:
            sided.setdefault(match.channel, []).append(match.side)
    for name, match in by_name.items():
        if match.channel in SIDED:
            ending = sides_of(sided[match.channel], match.channel).get(match.side)
            targets = _sided(match.channel, ending)
        else:
            targets = [match.channel]
        for channel in targets:
            if channel in CHANNELS:
                candidate = _by_name(table, name, match, channel)
                by_channel.setdefault(channel, []).append(candidate)


def _sided(channel: str, ending: str | None) -> list[str]:
    if ending is None:
        return []
    if ending == "" and f"{channel}" not in CHANNELS:
        # One brake pedal or one switch for both main wheels.
        return [f"{channel}_left", f"{channel}_right"]
    return [f"{channel}{ending}"]


def _by_name(table: RawTable, name: str, match: NameMatch, channel: str) -> Candidate:
    stated = _stated(table, name)
    score = match.score
    if stated is not None and not fits(stated, CHANNELS[channel]):
        if stated and CHANNELS[channel].kind == "number" and CHANNELS[channel].unit:
            score *= 0.4  # a speed in feet is something else
        stated = None
    words = _CHUTE if channel == "drag_chute" else {}
    return Candidate(name, score, "by its name", stated, is_magnetic=match.is_magnetic, words=words)
