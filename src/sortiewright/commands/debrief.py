"""A recording debriefed: what to do better, what was measured, and how it compares with the plan."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from sortiewright.commands.arguments import argument, sortie_file
from sortiewright.commands.inputs import place
from sortiewright.commands.output import (
    Row,
    Steps,
    System,
    aligned,
    print_json,
    print_text,
    remark,
    terminal_width,
    wrapped,
)

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.recording import Debrief, Finding, FlightDebrief

FOLDER = Path("debrief")
_STYLES = {"high": "bold red", "medium": "bold yellow", "low": "bold"}


def debrief(
    recording: Annotated[Path, Parameter(metavar="file")],
    /,
    *,
    sortie: Annotated[str | None, argument(sortie_file, "file")] = None,
    map: Annotated[Path | None, Parameter(name="--map", metavar="file")] = None,
    pack: Annotated[str | None, Parameter(metavar="pack")] = None,
    runway_start: Annotated[Any, argument(place, "place")] = None,
    anyway: Annotated[bool, Parameter(negative="")] = False,
    out: Annotated[Path | None, Parameter(metavar="folder")] = None,
    units: Annotated[System, Parameter()] = "trade",
    pdf: Annotated[bool, Parameter(name="--pdf", negative="--no-pdf", show_default=False)] = True,
    json: Annotated[bool, Parameter(negative="")] = False,
) -> None:
    """What really happened in a recorded flight, against the book and against the plan.

    Example: sortiewright debrief flight.csv --sortie demo --out debrief

    Writes a page for the browser that needs no network, one page of PDF, and the same as JSON.

    Parameters
    ----------
    recording
        A CSV file, plain or gzip, or a Parquet file.
    sortie
        The sortie that was flown: a file, or a shipped sortie such as demo. Without it nothing is compared.
    map
        Channel map of the recording; without one, the map that is proposed for it.
    pack
        The pack that was flown, where no sortie names it.
    runway_start
        Where the pavement of the runway begins; without it brake release tells.
    anyway
        Compare although runway, wind or weight are not those of the sortie.
    out
        Where to write; the folder debrief where absent.
    units
        Units of what is printed, of the page and the PDF; values in JSON are always SI.
    pdf
        Write the PDF, or leave it out.
    json
        Print JSON, and write files only where --out is given.
    """
    from sortiewright import recording as room

    with Steps(7 if pdf else 6) as step:
        step("reading")
        read = room.read_recording(recording, map)
        loaded = _sortie(sortie)
        made = room.debrief(
            read,
            loaded,
            pack=_pack(pack),
            runway_start=None if runway_start is None else (runway_start[1], runway_start[2]),
            anyway=anyway,
            units=units,
            step=step,
        )
        data = room.debrief_to_json(made)
        folder = out if out is not None or json else FOLDER
        files = [] if folder is None else _written(made, data, folder, _stem(recording), step, pdf=pdf)
    if json:
        print_json(data)
    else:
        print_text(debrief_text(made))
    for file in files:
        if json:
            remark(f"Written: {file}")
        else:
            print(file)
    for note in _notes(made):
        remark(f"Remark: {note}")


def _sortie(sortie: str | None) -> Any:
    from sortiewright.sortie import load_sortie

    return None if sortie is None else load_sortie(sortie)


def _pack(pack: str | None) -> Any:
    from sortiewright.pack import load_pack

    return None if pack is None else load_pack(pack)


def _stem(recording: Path) -> str:
    """Return the recording's name without what says how it is kept: ``flight`` of ``flight.csv.gz``."""
    name = recording.name
    for ending in (".gz", ".csv", ".parquet", ".txt", ".tsv"):
        if name.lower().endswith(ending) and len(name) > len(ending):
            name = name[: -len(ending)]
    return name


def _written(
    made: Debrief, data: dict[str, Any], folder: Path, stem: str, step: Steps, *, pdf: bool
) -> list[Path]:
    """Write the reports and return their files."""
    from sortiewright.recording import report_page

    folder.mkdir(parents=True, exist_ok=True)
    step("writing the page")
    files = [folder / f"{stem}-debrief.html", folder / f"{stem}-debrief.json"]
    files[0].write_text(report_page(made), encoding="utf-8")
    text = json_format.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)
    files[1].write_text(f"{text}\n", encoding="utf-8", errors="replace")
    if pdf:
        from sortiewright.cards import render_debrief

        step("writing the PDF")
        files.insert(1, folder / f"{stem}-debrief.pdf")
        files[1].write_bytes(render_debrief(made))
    return files


def debrief_text(made: Debrief) -> list[Text]:
    """Return a debrief as lines: findings worst first, what went well, the run and the values."""
    from rich.text import Text

    from sortiewright.recording import headline

    lines = [Text(headline(made), style="bold")]
    for at, one in made.findings():
        lines += _finding_lines(made, one, f", flight {at + 1}" if len(made.flights) > 1 else "")
    for at, flight in enumerate(made.flights):
        if len(made.flights) > 1:
            lines += [Text(), Text(f"Flight {at + 1}", style="bold")]
        lines += _flight_lines(flight, made.units)
    return lines


def _finding_lines(made: Debrief, one: Finding, of: str) -> list[Text]:
    from sortiewright.recording import SEVERITY_WORDS, clock, finding_text

    text = finding_text(one, made.rules, made.units)
    head, *rest = wrapped(f"{SEVERITY_WORDS[one.severity]}, at {clock(one.peak_at)}{of}: {text}", hanging=2)
    head.stylize(_STYLES[one.severity], 2, 2 + len(SEVERITY_WORDS[one.severity]))
    return [head, *rest, *wrapped(one.advice, indent=4, style="dim")]


def _flight_lines(flight: FlightDebrief, units: System) -> list[Text]:
    from rich.text import Text

    lines: list[Text] = []
    if flight.went_well:
        lines += [Text(), Text("What went well", style="bold")]
        for text in flight.went_well:
            lines += wrapped(text, hanging=2)
    for takeoff in flight.takeoffs:
        lines += [Text(), *_compared_lines("Takeoff", takeoff.released_at, takeoff.compared, units)]
    for rejected in flight.rejected:
        lines += [Text(), *_compared_lines("Rejected", rejected.closed_at, rejected.compared, units)]
    for landing in flight.landings:
        lines += [Text(), *_compared_lines("Landing", landing.touched_down_at, landing.compared, units)]
    measured = [one for one in flight.measured if one.value is not None]
    if measured:
        lines += [Text(), Text("Values noted", style="bold"), *_measured_lines(measured, units)]
    return lines


def _compared_lines(what: str, time: float, compared: Any, units: System) -> list[Text]:
    """Return a takeoff's or landing's values: flown, planned, and the difference."""
    from rich.text import Text

    from sortiewright.recording import clock, value_shown

    rows = [
        (
            one.title,
            value_shown(one.flown, one.kind, units=units),
            value_shown(one.planned, one.kind, units=units),
            ""
            if one.difference is None
            else value_shown(one.difference, one.kind, difference=True, units=units),
        )
        for one in compared
        if one.flown is not None or one.planned is not None
    ]
    wide = max([12, *(len(cell) + 2 for row in rows for cell in row[1:])])
    title = min(max((len(row[0]) for row in rows), default=0), max(terminal_width() - 3 * wide - 4, 20))
    head = f"{what} at {clock(time)}".ljust(title + 2)
    heads = "".join(f"{name:>{wide}}" for name in ("flown", "planned", "difference"))
    lines = [Text(f"{head}{heads}", style="bold")]
    lines += [
        Text(f"  {row[0][:title]:{title}}" + "".join(f"{cell:>{wide}}" for cell in row[1:])) for row in rows
    ]
    return lines


def _measured_lines(measured: Any, units: System) -> list[Text]:
    from sortiewright.recording import clock, difference_shown, value_shown

    rows: list[Row] = []
    for one in measured:
        number, _, unit = value_shown(one.value, one.kind, units=units).rpartition("\u202f")
        notes = [f"at {clock(one.time)}"] if one.time is not None else []
        if one.planned is not None:
            notes.append(
                f"planned {value_shown(one.planned, one.kind, units=units)} ({difference_shown(one, units)})"
            )
        whole = (unit, "") if not number else (number, unit)
        rows.append(Row(one.title, *whole, note=", ".join(notes)))
    return aligned(rows)


def _notes(made: Debrief) -> list[str]:
    """Return what else must be known: what was not done, and why."""
    notes = [*made.notes]
    for flight in made.flights:
        notes += [*flight.planned_with, *flight.notes]
        notes += [f"Not compared. {text}" for text in flight.not_compared]
        for compared in (*flight.takeoffs, *flight.rejected, *flight.landings):
            notes += compared.remarks
        if flight.runway is not None and flight.judged:
            notes.append(f"Runway: {flight.runway.basis[:1].lower()}{flight.runway.basis[1:].rstrip('.')}")
    unjudged = sum(flight.count("not_evaluated") for flight in made.flights)
    if unjudged:
        notes.append(f"{unjudged} rules could not be judged; the page says why")
    if defects := made.recording.defects:
        notes.append(f"{len(defects)} oddities in the samples; see: sortiewright recording check")
    return list(dict.fromkeys(notes))
