"""Recordings: a map proposed for a file, its samples checked, and what it holds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import App, Parameter

from sortiewright.commands.output import (
    FOR_PEOPLE,
    Output,
    System,
    print_json,
    print_text,
    remark,
    wrapped,
)

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.recording import ChannelSummary, Defect, Flight, Proposal, Recording

app = App(name="recording", group_parameters="Options")

MapFile = Annotated[Path | None, Parameter(name="--map", metavar="file")]
Json = Annotated[bool, Parameter(negative="")]

_UNITS: dict[str, tuple[str, int]] = {
    "m/s": ("kt", 1), "m": ("ft", 0), "rad": ("deg", 1), "rad/s": ("deg/s", 1), "kg": ("lb", 0),
    "K": ("degC", 1), "kg/s": ("lb/h", 0), "Pa": ("psi", 0),
}  # fmt: skip
"""Trade unit of each SI unit, and its decimals."""


@app.command(name="map", sort_key=1)
def map_(
    recording: Annotated[Path, Parameter(metavar="file")],
    /,
    *,
    write: Annotated[Path | None, Parameter(metavar="file")] = None,
    json: Json = False,
) -> None:
    """Propose which column of a recording is which channel, how sure that is, and why.

    Example: sortiewright recording map flight.csv.gz --write map.yaml

    Parameters
    ----------
    recording
        A CSV file, plain or gzip, or a Parquet file.
    write
        Where to write the map, to be looked through and used as --map.
    json
        Print JSON.
    """
    from sortiewright.recording import proposed_map

    proposal = proposed_map(recording)
    if write is not None:
        write.write_text(proposal.text(), encoding="utf-8")
    if json:
        print_json(_proposal_data(proposal))
        return
    print(proposal.text(), end="")
    all_sure = [one.sure for one in proposal.bindings]
    said = ", ".join(f"{all_sure.count(sure)} {sure}" for sure in ("certain", "likely", "guess"))
    remark(f"Channels: {said}. Columns not used: {len(proposal.unused)}.")
    for question in proposal.questions:
        remark(f"Please look: {question}.")
    if write is not None:
        remark(f"Written: {write}")


@app.command(sort_key=2)
def check(
    recording: Annotated[Path, Parameter(metavar="file")], /, *, map: MapFile = None, json: Json = False
) -> None:
    """What is odd about a recording's samples: gaps, pauses, jumps, spikes, missing values, doubtful units.

    Example: sortiewright recording check flight.csv.gz

    Parameters
    ----------
    recording
        A CSV file, plain or gzip, or a Parquet file.
    map
        Its channel map; without one, the map that is proposed for it.
    json
        Print JSON.
    """
    from sortiewright.recording import read_recording

    found = read_recording(recording, map)
    if json:
        print_json({**_head_data(found), "defects": [_defect_data(one) for one in found.defects]})
        return
    print_text([*_head_lines(found), *_defect_lines(found)])


@app.command(sort_key=3)
def show(
    recording: Annotated[Path, Parameter(metavar="file")],
    /,
    *,
    map: MapFile = None,
    phases: Annotated[bool, Parameter(negative="")] = False,
    output: Output = FOR_PEOPLE,
) -> None:
    """What a recording holds: each channel's least, mean and greatest value, and where it comes from.

    Example: sortiewright recording show flight.csv.gz --units si

    Parameters
    ----------
    recording
        A CSV file, plain or gzip, or a Parquet file.
    map
        Its channel map; without one, the map that is proposed for it.
    phases
        The phases and events of each sortie instead of the channels.
    """
    from sortiewright.recording import read_recording, summarise

    found = read_recording(recording, map)
    if phases:
        _print_phases(found, as_json=output.json)
        return
    rows = summarise(found)
    if output.json:
        channels = [_summary_data(one) for one in rows]
        print_json({**_head_data(found), "channels": channels, "unmapped": list(found.unmapped)})
        return
    print_text([*_head_lines(found), *_channel_lines(rows, output.units)])
    if found.unmapped:
        remark(f"Columns not used: {', '.join(found.unmapped)}")
    if found.defects:
        remark(f"{len(found.defects)} oddities: sortiewright recording check {recording}")


def _print_phases(recording: Recording, *, as_json: bool) -> None:
    from rich.text import Text

    from sortiewright.recording import flight_lines, flights_of

    flights = flights_of(recording)
    if as_json:
        print_json({**_head_data(recording), "sorties": [_flight_data(one) for one in flights]})
        return
    print_text([*_head_lines(recording), *(Text(line) for line in flight_lines(flights))])


def _flight_data(flight: Flight) -> dict[str, Any]:
    return {
        "phases": [{"name": one.name, "begins": one.begins, "ends": one.ends} for one in flight.phases],
        "events": [{"name": one.name, "time": one.time, "basis": one.basis or None} for one in flight.events],
        "notes": list(flight.notes),
    }


def _head_lines(recording: Recording) -> list[Text]:
    from rich.text import Text

    from sortiewright.recording import sample_rate

    span = float(recording.time[-1] - recording.time[0])
    began = "" if recording.started is None else f", begun {recording.started.isoformat(' ', 'seconds')}"
    text = f"{recording.rows} samples, {sample_rate(recording):.3g} a second, over {span:.1f} s{began}"
    return [Text(recording.name, style="bold"), *wrapped(text)]


def _head_data(recording: Recording) -> dict[str, Any]:
    from sortiewright.recording import sample_rate

    return {
        "name": recording.name,
        "samples": recording.rows,
        "rate": sample_rate(recording),
        "begins": float(recording.time[0]),
        "ends": float(recording.time[-1]),
        "started": None if recording.started is None else recording.started.isoformat(),
    }


def _defect_lines(recording: Recording) -> list[Text]:
    from rich.text import Text

    if not recording.defects:
        return [Text("  Nothing odd was found.")]
    lines: list[Text] = []
    for one in recording.defects:
        when = f"{one.begin:.2f} s" if one.begin == one.end else f"{one.begin:.2f} to {one.end:.2f} s"
        what = f"{one.kind.replace('_', ' ')}{f', {one.channel}' if one.channel else ''}"
        lines += wrapped(f"{what}, {when}: {one.text}", hanging=4)
    return lines


def _defect_data(defect: Defect) -> dict[str, Any]:
    return {
        "kind": defect.kind,
        "channel": defect.channel or None,
        "begins": defect.begin,
        "ends": defect.end,
        "count": defect.count,
        "text": defect.text,
    }


def _channel_lines(rows: list[ChannelSummary], units: System) -> list[Text]:
    from rich.text import Text

    width = max((len(row.channel) for row in rows), default=0)
    heads = "".join(f"{head:>10}" for head in ("least", "mean", "most"))
    lines = [Text(f"  {'':{width}}{heads}  unit  missing", style="dim")]
    for row in rows:
        figures, unit = _figures(row, units)
        missing = f"{100 * row.missing:.2g} %" if row.missing else ""
        mark = "  derived" if row.derived else ""
        lines.append(Text(f"  {row.channel:{width}}{figures}  {unit:6}{missing:>7}{mark}"))
    return lines


def _figures(row: ChannelSummary, units: System) -> tuple[str, str]:
    if row.kind == "choice":
        return f"  {', '.join(f'{word} {count}' for word, count in row.words):28}", ""
    if row.least is None or row.mean is None or row.most is None:
        return f"{'':30}", ""
    if row.kind == "truth":
        return f"{row.least:10.0f}{row.mean:10.2f}{row.most:10.0f}", ""
    unit, places = _shown_in(row, units)
    return "".join(
        f"{_in(value, unit, row.unit):10.{places}f}" for value in (row.least, row.mean, row.most)
    ), unit


def _shown_in(row: ChannelSummary, units: System) -> tuple[str, int]:
    if units == "si" or row.unit not in _UNITS:
        places = {"": 3, "rad": 3, "rad/s": 3, "deg": 4 if "itude" in row.channel else 1}.get(row.unit, 1)
        return row.unit, places
    return ("ft/min", 0) if row.channel == "vertical_speed" else _UNITS[row.unit]


def _in(value: float, unit: str, si_unit: str) -> float:
    from sortiewright.pack import unit_factor

    if unit == si_unit:
        return value
    scale, offset = unit_factor(unit, si_unit)
    return (value - offset) / scale


def _summary_data(row: ChannelSummary) -> dict[str, Any]:
    return {
        "channel": row.channel,
        "unit": row.unit,
        "least": row.least,
        "mean": row.mean,
        "most": row.most,
        "words": dict(row.words) or None,
        "missing": row.missing,
        "column": row.column or None,
        "derived": row.derived or None,
    }


def _proposal_data(proposal: Proposal) -> dict[str, Any]:
    return {
        "time": {**proposal.time.model_dump(exclude_none=True), "reason": proposal.time_reason},
        "channels": [
            {
                "channel": one.channel,
                **one.use.model_dump(exclude_defaults=True),
                "sure": one.sure,
                "reasons": list(one.reasons),
                "others": list(one.others),
            }
            for one in proposal.bindings
        ],
        "wind": None if proposal.wind is None else proposal.wind.model_dump(exclude_defaults=True),
        "unused": list(proposal.unused),
        "questions": list(proposal.questions),
    }
