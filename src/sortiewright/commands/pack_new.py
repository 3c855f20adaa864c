"""A pack to be written: ``pack new``, and what ``pack check`` says while it is not complete."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from sortiewright.commands.output import print_json, wrapped

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.pack import UnfinishedPack

MOST_STEPS = 6
"""Values that are named at once: a list that is longer is not read."""


def new(
    folder: Annotated[Path, Parameter(metavar="folder")],
    /,
    *,
    name: Annotated[str | None, Parameter(metavar="name")] = None,
    configuration: Annotated[list[str] | None, Parameter(metavar="name", negative="")] = None,
    setting: Annotated[list[str] | None, Parameter(metavar="name", negative="")] = None,
    tank: Annotated[list[str] | None, Parameter(metavar="name", negative="")] = None,
    station: Annotated[list[str] | None, Parameter(metavar="name", negative="")] = None,
    replace: Annotated[bool, Parameter(negative="")] = False,
    json: Annotated[bool, Parameter(negative="")] = False,
) -> None:
    """An empty pack with every key and its meaning, to be filled from a flight manual.

    Example: sortiewright pack new my_jet

    "sortiewright pack check" then says what to fill next. See docs/make-a-pack.md.

    Parameters
    ----------
    folder
        Folder of the new pack.
    name
        Name of the pack; the folder's where absent.
    configuration
        A flap setting; may be repeated. Without it: clean, takeoff, landing.
    setting
        A power setting, idle first, then the most without afterburner; may be repeated. Without it: idle,
        military.
    tank
        A fuel tank of the aircraft; may be repeated. Without it: main.
    station
        A place that carries stores; may be repeated.
    replace
        Write over files that are there.
    json
        Print JSON.
    """
    from sortiewright.pack import PackNames, new_pack_files
    from sortiewright.pack_sampling import require_new_folder, write_pack_folder

    chosen = name if name is not None else folder.resolve().name
    _check_names("--name" if name is not None else "folder", [chosen])
    usual = PackNames()
    names = PackNames(
        configuration or usual.configurations, setting or usual.settings, tank or usual.tanks, station or ()
    )
    for option, given in (
        ("--configuration", names.configurations),
        ("--setting", names.settings),
        ("--tank", names.tanks),
        ("--station", names.stations),
    ):
        _check_names(option, given)
    if not replace:
        require_new_folder(folder)
    files = new_pack_files(chosen, names)
    write_pack_folder(folder, files)
    if json:
        print_json({"name": chosen, "folder": str(folder), "files": list(files)})
        return
    print(f"{chosen}: {len(files)} files written to {folder}.")
    print(f"What to fill first: sortiewright pack check {folder}")


def _check_names(option: str, names: Any) -> None:
    """Raise ``InputError`` for a name that no pack can have, or one given twice."""
    from sortiewright.pack import InputError, Problem, shown

    problems = [
        Problem(
            option, None, "", shown(one), "cannot be a name here", "Small letters, digits, - and _: my_jet"
        )
        for one in names
        if not re.fullmatch(r"[a-z][a-z0-9_-]*", one)
    ]
    problems += [
        Problem(option, None, "", shown(one), "is given twice")
        for one in sorted({one for one in names if list(names).count(one) > 1})
    ]
    if problems:
        raise InputError(problems)


def unfinished_data(found: UnfinishedPack) -> dict[str, Any]:
    """Return what a pack lacks, as JSON: all of it."""
    return {
        "complete": False,
        "faults": [str(one) for one in found.faults],
        "missing": [
            {"file": one.file, "line": one.line, "key": one.key_text, "wanted": one.wanted}
            for one in found.steps
        ],
    }


def unfinished_lines(found: UnfinishedPack) -> list[Text]:
    """Return what to mend, what to fill next, and how much then follows."""
    from rich.text import Text

    counts = found.by_file
    file, *later = counts
    total, next_ones = len(found.steps), [one for one in found.steps if one.file == file][:MOST_STEPS]
    values = "value is" if total == 1 else "values are"
    lines: list[Text] = []
    if found.faults:
        lines.append(Text("Mend first", style="bold"))
        for fault in found.faults[:MOST_STEPS]:
            lines += wrapped(str(fault), hanging=2)
        if (rest := len(found.faults) - MOST_STEPS) > 0:
            lines.append(Text(f"  and {rest} more"))
        lines.append(Text())
    lines.append(Text(f"Not complete: {total} {values} missing. Fill next", style="bold"))
    for step in next_ones:
        place = f"{step.file}:{step.line}"
        lines += wrapped(f"{place}  {f'{step.key_text}: ' if step.key else ''}{step.wanted}", hanging=4)
    more = [f"{counts[file] - len(next_ones)} more in {file}"] if counts[file] > len(next_ones) else []
    more += [f"{one} ({counts[one]})" for one in later]
    if more:
        lines += wrapped(f"Then {', '.join(more)}.", indent=0)
    return lines
