"""The files of a pack with factors written into their numbers; all else stays as its author wrote it."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

from sortiewright.pack import LoadedPack, pack_factors, read_text_file

DIGITS = 5  # that a corrected number keeps: a hundredth of what a chart can be read to
_TEXTS = (".yaml", ".yml", ".csv", ".md", ".txt")


def corrected_files(loaded: LoadedPack, factors: Mapping[str, float], said: str) -> dict[str, str]:
    """Return the texts of a pack's folder by name, ``/`` between folders, with factors in the numbers.

    ``said`` is added to the source of each number changed. A table in a CSV file that other keys use too is
    written to a file of its own. ``KeyError`` for a factor the pack has not.
    """
    files = {
        path.relative_to(loaded.folder).as_posix(): read_text_file(path, name=path.name)
        for path in sorted(loaded.folder.rglob("*"))
        if path.is_file() and path.suffix in _TEXTS
    }
    known = pack_factors(loaded.pack)
    by_part: dict[str, list[tuple[tuple[str | int, ...], float]]] = {}
    for name, factor in factors.items():
        for part, *inner in known[name].paths:
            by_part.setdefault(str(part), []).append((tuple(inner), factor))
    for part, changes in by_part.items():
        file = f"{part}.yaml"
        library = _yaml()
        data = library.load(files[file])
        for path, factor in changes:
            _scale(data, path, factor, f"times {factor:.4f}, {said}", files)
        stream = io.StringIO()
        library.dump(data, stream)
        files[file] = stream.getvalue()
    return files


def _yaml() -> Any:
    """Return a reader and writer that keeps comments, order and quotes."""
    library: Any = import_module("ruamel.yaml").YAML(typ="rt")
    library.preserve_quotes = True
    library.width = 4096
    library.indent(mapping=2, sequence=4, offset=2)
    return library


def _scale(data: Any, path: tuple[str | int, ...], factor: float, said: str, files: dict[str, str]) -> None:
    """Multiply what stands at a key path, in whatever way it is written there."""
    holder = data
    for key in path[:-1]:
        holder = _inside(holder)[key]
    holder = _inside(holder)
    key, written = path[-1], holder[path[-1]]
    if not hasattr(written, "keys"):
        holder[key] = _flow({"value": _times(written, factor), "source": said})
        return
    entries: Any = written
    if "value" in entries and not hasattr(entries["value"], "keys"):
        entries["value"] = _times(entries["value"], factor)
    else:
        table: Any = entries.get("value", entries)
        if "file" in table:
            table["file"] = _scaled_file(str(table["file"]), factor, files, str(path[-2]) if path[1:] else "")
        else:
            table["values"] = _scaled_rows(table["values"], factor)
    earlier = str(entries.get("source", "")).strip()
    entries["source"] = f"{earlier}; {said}" if earlier else said


def _inside(holder: Any) -> Any:
    wrapped = hasattr(holder, "keys") and "value" in holder and hasattr(holder["value"], "keys")
    return holder["value"] if wrapped else holder


def _flow(entries: dict[str, Any]) -> Any:
    found: Any = import_module("ruamel.yaml.comments").CommentedMap(entries)
    found.fa.set_flow_style()
    return found


def _scaled_rows(rows: Any, factor: float) -> Any:
    for k, row in enumerate(rows):
        if isinstance(row, list):
            _scaled_rows(row, factor)
        else:
            rows[k] = _times(row, factor)
    return rows


def _scaled_file(name: str, factor: float, files: dict[str, str], owner: str) -> str:
    """Write a CSV table with its values scaled, and return its name: a new one where others use it too."""
    uses = sum(text.count(name) for file, text in files.items() if file.endswith(".yaml"))
    path = Path(name)
    written = name if uses <= 1 else path.with_name(f"{path.stem}_{owner}{path.suffix}").as_posix()
    head_seen, lines = False, list[str]()
    for line in files[name].split("\n"):
        cells = line.split(",")
        if not line.strip() or line.lstrip().startswith("#") or not head_seen:
            head_seen = head_seen or bool(line.strip() and not line.lstrip().startswith("#"))
            lines.append(line)
        else:
            lines.append(",".join([cells[0], *(str(_times(cell.strip(), factor)) for cell in cells[1:])]))
    files[written] = "\n".join(lines)
    return written


def _times(written: Any, factor: float) -> Any:
    """Return a number, or a number with its unit, times a factor; text stays text."""
    if isinstance(written, str):
        number, _, unit = written.strip().strip('"').partition(" ")
        tail = ""
        while number and number[-1] not in "0123456789.":  # a unit written without a space: 23kN, 5%
            number, tail = number[:-1], number[-1] + tail
        return " ".join(part for part in (_rounded(float(number) * factor) + tail, unit) if part)
    return float(_rounded(float(written) * factor))


def _rounded(value: float) -> str:
    if value == 0.0 or not math.isfinite(value):
        return "0"
    return f"{round(value, DIGITS - 1 - math.floor(math.log10(abs(value)))):.12g}"
