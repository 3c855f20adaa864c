"""A sortie's route in open formats, for maps and other programs."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import remark

RouteFormat = Literal["geojson", "gpx"]


def route(
    sortie: SortieFile,
    /,
    *,
    format: Annotated[RouteFormat | None, Parameter(show_default=False)] = None,
    out: Annotated[Path | None, Parameter(metavar="file")] = None,
) -> int:
    """A sortie's route as flown on paper, with heights, times and fuel: GeoJSON or GPX.

    Example: sortiewright route demo --format gpx --out route.gpx

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie such as demo.
    format
        How it is written; as the file's ending says where absent, else GeoJSON.
    out
        File to write; standard output where absent.
    """
    from sortiewright import sortie as room

    loaded = room.load_sortie(sortie)
    made = room.plan(loaded.sortie, loaded.pack)
    if made.route is None:
        told = next((reason.text for reason in made.reasons if reason.figure == "route_length"), "")
        raise UsageError(told or "the sortie has no route: write one under route")
    ending = "" if out is None else out.suffix.lower()
    as_gpx = format == "gpx" or (format is None and ending == ".gpx")
    write = room.route_gpx if as_gpx else room.route_geojson
    text = write(made.route, title=f"{made.callsign}: {made.title}", sea_level=made.route.sea_level)
    if out is None:
        sys.stdout.write(text)
    else:
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_text(text, encoding="utf-8")
        print(out)
    for fault in made.route.faults:
        remark(f"{fault.severity.capitalize()}: {fault.text}")
    return 0
