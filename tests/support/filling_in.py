"""A script that fills an empty pack as a person would: what the checker names, with whinchat's values."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from sortiewright.pack import load_pack, parse_yaml
from sortiewright.pack.next_steps import FillingStep

WHINCHAT = load_pack("whinchat").folder
NAMES = [
    *("--configuration", "clean", "--configuration", "takeoff", "--configuration", "landing"),
    *("--setting", "idle", "--setting", "takeoff_power"),
    *("--tank", "fuselage", "--tank", "left_wing", "--tank", "right_wing"),
    *("--station", "left", "--station", "right"),
]
"""Options of ``pack new`` by which the new pack has whinchat's names."""


def written(part: str):
    """What whinchat's file of a part says."""
    text = (WHINCHAT / f"{part}.yaml").read_text(encoding="utf-8")
    return parse_yaml(text, part, numbers=part not in ("pack", "book")).data


def fill(folder: Path, step: FillingStep) -> None:
    """Write whinchat's value where a step asks for one; other lines stay."""
    value = written(step.file.removesuffix(".yaml"))
    for key in step.key:
        value = value[key]
    if step.table_file:
        shutil.copy(WHINCHAT / value["file"], folder / step.table_file)
        return
    if isinstance(value, dict) and "file" in value:
        target = folder / value["file"]
        target.parent.mkdir(exist_ok=True)
        shutil.copy(WHINCHAT / value["file"], target)
    file = folder / step.file
    lines = file.read_text(encoding="utf-8").split("\n")
    head = lines[step.line - 1].split(":")[0]
    comment = lines[step.line - 1].partition("#")[2]
    lines[step.line - 1 : step.last_line] = [f"{head}: {json.dumps(value)}  #{comment}"]
    file.write_text("\n".join(lines), encoding="utf-8")


def add_what_may_be_left_out(folder: Path, part: str) -> None:
    """Write each key that whinchat has and the new file has not, below the key that holds it."""
    file = folder / f"{part}.yaml"
    ours = parse_yaml(file.read_text(encoding="utf-8"), part, numbers=part not in ("pack", "book"))
    lines = file.read_text(encoding="utf-8").split("\n")
    added: list[tuple[int, str]] = []

    def walk(theirs, mine, path, indent):
        for key, value in theirs.items():
            if key not in mine:
                line = ours.line(path) if path else len(lines)
                added.append((line, f"{' ' * indent}{key}: {json.dumps(value)}"))
                continue
            own, at = mine[key], (*path, key)
            if not isinstance(value, dict) or not isinstance(own, dict) or {"value", "file"} & value.keys():
                continue
            # What stands on a single line was filled from whinchat as a whole.
            if ours.line((*at, next(iter(own), ""))) > ours.line(at):
                walk(value, own, at, indent + 2)

    walk(written(part), ours.data, (), 0)
    for line, text in sorted(added, key=lambda one: -one[0]):
        lines.insert(line, text)
    file.write_text("\n".join(lines), encoding="utf-8")
