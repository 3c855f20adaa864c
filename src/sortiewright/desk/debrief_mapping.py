"""The channel map as a form: which column each channel is, in what unit, and which way round."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
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
NOT_USED = -1


@dataclass(frozen=True)
class MapRow:
    """A channel in the form. ``column`` is the place of its column in the list of columns, -1 for none."""

    channel: str
    title: str
    need: str
    column: int
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
    """A form that no page of ours sends, or a map with faults: ``by_channel`` and the rest."""

    def __init__(self, text: str, by_channel: Mapping[str, str] | None = None) -> None:
        super().__init__(text)
        self.by_channel = dict(by_channel or {})


def rows_of(look: Look, units: System, problems: Mapping[str, str] | None = None) -> list[MapRow]:
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
                column=NOT_USED if use is None else _place(look, use.column),
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
    rows.sort(key=lambda row: (not row.problem, not row.asks, row.column < 0, needs[row.need]))
    return rows


def map_from(form: Mapping[str, Any], look: Look) -> ChannelMap:
    """Return the map that a form describes. Raises ``MapRefused``."""
    from sortiewright.pack import CHANNELS
    from sortiewright.recording import ChannelMap, ColumnUse

    before = look.channel_map
    channels: dict[str, ColumnUse] = {}
    for name, channel in CHANNELS.items():
        if name == "time":
            continue
        column = _column(form, f"column-{name}", look) if f"column-{name}" in form else None
        if column is None:
            if f"column-{name}" not in form and name in before.channels:
                channels[name] = before.channels[name]
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
    time = _column(form, "column-time", look) if "column-time" in form else before.time.column
    if time is None:
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


def _column(form: Mapping[str, Any], field: str, look: Look) -> str | None:
    raw = str(form.get(field, ""))
    if raw in ("", str(NOT_USED)):
        return None
    if not (raw.isascii() and raw.isdecimal() and len(raw) < 7 and int(raw) < len(look.columns)):
        raise MapRefused("There is no such column.")
    return look.columns[int(raw)]


def _place(look: Look, column: str) -> int:
    return look.columns.index(column) if column in look.columns else NOT_USED


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
