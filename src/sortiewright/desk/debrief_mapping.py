"""The channel map as a form: which column each channel is, in what unit, and which way round."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import islice
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sortiewright.desk.debrief_jobs import Look
    from sortiewright.recording import ChannelMap, ChannelSummary, ColumnUse
    from sortiewright.sortie import System

TRADE = {
    "m/s": ("kt", 0), "m": ("ft", 0), "rad": ("deg", 1), "rad/s": ("deg/s", 1), "kg": ("lb", 0),
    "K": ("degC", 0), "kg/s": ("lb/h", 0), "Pa": ("psi", 0),
}  # fmt: skip
"""Trade unit of each SI unit, and its decimals."""
UNITS_OFFERED = {
    "m": ("ft", "m", "km", "nmi"),
    "m/s": ("kt", "m/s", "km/h", "ft/s", "ft/min", "mph"),
    "rad": ("deg", "rad"),
    "deg": ("deg", "rad"),
    "rad/s": ("deg/s", "rad/s"),
    "kg": ("lb", "kg", "t"),
    "kg/s": ("lb/h", "kg/h", "kg/s"),
    "K": ("degC", "degF", "K"),
    "Pa": ("psi", "hPa", "kPa", "Pa", "inHg"),
}
"""What a person chooses from; a map written by hand takes more."""
TIME_UNITS = ("s", "ms", "us", "ns", "min", "h", "iso", "clock")
MOST_LISTED = 400
"""Columns that a page lists at once; of more, those that hold what is typed are asked for."""
MOST_FOUND = 60
LONGEST_TYPED = 200


@dataclass(frozen=True)
class MapRow:
    """A channel in the form. ``column`` is the name of its column as its field shows it, empty for none."""

    channel: str
    title: str
    need: str
    column: str
    unit: str
    units: tuple[str, ...]
    """Offered; none where the channel has no unit."""
    invert: bool
    can_invert: bool
    sure: str = ""
    reasons: tuple[str, ...] = ()
    asks: bool = False
    """Whether a person should decide: another column could be it, or it is a guess."""
    range: str = ""
    problem: str = ""


class MapRefused(ValueError):
    """A form that no page of ours sends, or a map with faults: ``by_channel`` and the rest.

    ``typed`` is what was typed for columns that there are not.
    """

    def __init__(
        self,
        text: str,
        by_channel: Mapping[str, str] | None = None,
        typed: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(text)
        self.by_channel, self.typed = dict(by_channel or {}), dict(typed or {})


def rows_of(
    look: Look,
    units: System,
    problems: Mapping[str, str] | None = None,
    typed: Mapping[str, str] | None = None,
) -> list[MapRow]:
    """Return a row for each channel: what asks for a decision first, then those bound, then the rest."""
    from sortiewright.pack import CHANNELS

    bindings = {one.channel: one for one in look.proposal.bindings}
    summaries = {one.channel: one for one in look.summaries}
    rows: list[MapRow] = []
    for name, channel in CHANNELS.items():
        if name == "time":
            continue
        use = look.channel_map.channels.get(name)
        binding = bindings.get(name)
        same = binding is not None and use is not None and binding.use.column == use.column
        guess = binding is not None and binding.sure == "guess" and use is None
        rows.append(
            MapRow(
                channel=name,
                title=channel.title,
                need=channel.need,
                column=(typed or {}).get(name) or ("" if use is None else use.column),
                unit="" if use is None else use.unit or "",
                units=_units(channel.unit, use) if channel.kind == "number" else (),
                invert=use is not None and use.invert,
                can_invert=channel.kind == "number",
                sure=binding.sure if binding is not None and (same or guess) else "",
                reasons=_reasons(binding) if binding is not None and (same or guess) else (),
                asks=guess or (same and binding is not None and bool(binding.others)),
                range=_range(summaries.get(name), units) if use is not None else "",
                problem=(problems or {}).get(name, ""),
            )
        )
    needs = {"must": 0, "should": 1, "could": 2}
    rows.sort(key=lambda row: (not row.problem, not row.asks, not row.column, needs[row.need]))
    return rows


def map_from(form: Mapping[str, Any], look: Look) -> ChannelMap:
    """Return the map that a form describes. Raises ``MapRefused``."""
    from sortiewright.pack import CHANNELS
    from sortiewright.recording import ChannelMap, ColumnUse

    before, chosen = look.channel_map, _chosen(form, look)
    channels: dict[str, ColumnUse] = {}
    for name, channel in CHANNELS.items():
        if name == "time":
            continue
        if name not in chosen:
            if name in before.channels:
                channels[name] = before.channels[name]
            continue
        column = chosen[name]
        if not column:
            continue
        unit = str(form.get(f"unit-{name}", ""))[:30] or None
        changes: dict[str, Any] = {
            "unit": unit if channel.kind == "number" else None,
            "invert": form.get(f"invert-{name}") == "on",
        }
        known = _known(look, name, column)
        channels[name] = (
            ColumnUse(column=column, **changes) if known is None else known.model_copy(update=changes)
        )
    time = chosen.get("time", before.time.column)
    if not time:
        raise MapRefused("There is no debrief without a time: choose its column.", {"time": "Choose one."})
    unit = form.get("unit-time", "")
    if unit and unit not in TIME_UNITS:
        raise MapRefused("Time has no such unit.")
    use = before.time.model_copy(update={"column": time, "unit": unit or None})
    return ChannelMap(
        title=before.title,
        time=use,
        channels=channels,
        wind=before.wind,
        constants=before.constants,
        ignore=before.ignore,
    )


def columns_with(columns: Sequence[str], words: str) -> list[str]:
    """Return the columns whose names hold all these words, in the file's order; no more than a list takes."""
    wanted = words.casefold().split()
    holding = (one for one in columns if all(word in one.casefold() for word in wanted))
    return list(islice(holding, MOST_FOUND))


def checked_text(text: str) -> ChannelMap:
    """Return the map in a YAML text. Raises ``MapRefused`` with every fault."""
    import tempfile
    from pathlib import Path

    from sortiewright.pack import InputError
    from sortiewright.recording import load_channel_map

    with tempfile.TemporaryDirectory(prefix="sortiewright-") as folder:
        file = Path(folder) / "map.yaml"
        file.write_text(text, "utf-8")
        try:
            return load_channel_map(file)
        except InputError as error:
            by_channel: dict[str, str] = {}
            said: list[str] = []
            for one in error.problems:
                parts = str(one.key).replace("/", ".").split(".")
                words = " ".join(part for part in (one.read, one.expected, one.hint) if part)
                if len(parts) > 1 and parts[0] == "channels":
                    by_channel[parts[1]] = words
                said.append(str(one).replace(str(file), "the map").replace(file.name, "the map"))
            raise MapRefused("\n".join(said), by_channel) from None


def _known(look: Look, name: str, column: str) -> ColumnUse | None:
    """Return how a column was read for a channel so far, or would be by the proposal."""
    use = look.channel_map.channels.get(name)
    if use is not None and use.column == column:
        return use
    found = next((one.use for one in look.proposal.bindings if one.channel == name), None)
    return found if found is not None and found.column == column else None


def _chosen(form: Mapping[str, Any], look: Look) -> dict[str, str]:
    """Return the column that a form names for each channel in it, empty for none. Raises ``MapRefused``."""
    from sortiewright.pack import CHANNELS

    by_letters = {_letters(name): name for name in reversed(look.columns)}
    known = frozenset(look.columns)
    chosen: dict[str, str] = {}
    problems: dict[str, str] = {}
    typed: dict[str, str] = {}
    for channel in CHANNELS:
        if (raw := form.get(f"column-{channel}")) is None:
            continue
        # A browser sends a name without its line ends; a person types it without heeding capitals.
        text = str(raw)
        found = text if text in known else by_letters.get(_letters(text)) if text.strip() else ""
        if found is None:
            typed[channel] = text[:LONGEST_TYPED]
            problems[channel] = f"No column is called {typed[channel]!r}{_near(look.columns, text)}"
        else:
            chosen[channel] = found
    if problems:
        count = len(problems)
        words = "One name is that of no column" if count == 1 else f"{count} names are those of no column"
        raise MapRefused(f"{words}: see below.", problems, typed)
    return chosen


def _letters(name: str) -> str:
    return "".join(name.split()).casefold()


def _near(columns: Sequence[str], text: str) -> str:
    """Return a question after the column that was meant, if one is near; a sentence's end if none is."""
    holding = columns_with(columns, text)
    # Looking for the likest of twenty thousand names would take seconds.
    near = holding or get_close_matches(text[:LONGEST_TYPED], columns[:MOST_LISTED], 1)
    return f": {near[0]}?" if near and text.strip() else "."


def _units(si_unit: str, use: ColumnUse | None) -> tuple[str, ...]:
    offered = UNITS_OFFERED.get(si_unit, (si_unit,) if si_unit else ())
    own = use.unit if use is not None else None
    return (*offered, own) if own and own not in offered else offered


def _reasons(binding: Any) -> tuple[str, ...]:
    said = tuple(str(one) for one in binding.reasons)
    return (*said, f"{' and '.join(binding.others[:4])} could be it too") if binding.others else said


def _range(summary: ChannelSummary | None, units: System) -> str:
    """Return least and greatest value, by which a person sees whether it was read right."""
    from sortiewright.pack import unit_factor

    if summary is None:
        return "no value"
    if summary.kind == "choice":
        return ", ".join(word for word, _ in summary.words[:4])
    if summary.least is None or summary.most is None:
        return "no value"
    if summary.kind == "truth":
        return f"true {100 * (summary.mean or 0.0):.0f} % of the time"
    unit, places = summary.unit, 4 if "itude_deg" in summary.channel else 2
    low, high = summary.least, summary.most
    if units == "trade" and unit in TRADE:
        unit, places = ("ft/min", 0) if summary.channel == "vertical_speed" else TRADE[unit]
        scale, offset = unit_factor(unit, summary.unit)
        low, high = (low - offset) / scale, (high - offset) / scale
    said = {"deg": "°", "degC": "°C"}.get(unit, unit)
    return f"{low:.{places}f} to {high:.{places}f} {said}".replace("-", "−").strip()
