"""An empty pack: every key with its meaning beside it; needed ones stand empty, the others are commented."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from pydantic import BaseModel

from sortiewright.pack.load import HEAD, PARTS
from sortiewright.pack.schema import Pack
from sortiewright.pack.shape import Shape, fields_of
from sortiewright.pack.units import COMMON_UNITS

CONFIGURATIONS = ("clean", "takeoff", "landing")
SETTINGS = ("idle", "military")
TANKS = ("main",)
SEATS = ("front", "rear")
COMMENT_AT = 34
"""Column at which comments begin, where the key leaves room."""
_TRADE_UNITS = {"N": "lbf", "kg/s": "lb/h", "m/s": "kt", "K": "degC", "kg": "lb", "m": "ft", "rad": "deg"}


@dataclass(frozen=True, slots=True)
class PackNames:
    """What the new pack calls its own things: flap settings, power settings (idle first), tanks, stations."""

    configurations: Sequence[str] = CONFIGURATIONS
    settings: Sequence[str] = SETTINGS
    tanks: Sequence[str] = TANKS
    stations: Sequence[str] = tuple[str, ...]()

    def below(self, record: str, key: str) -> Sequence[str] | None:
        """Return the names to write under a key that holds things by name."""
        return {
            "Aero.configurations": self.configurations,
            "Engine.settings": self.settings,
            "MassAndBalance.seats": SEATS,
            "MassAndBalance.tanks": self.tanks,
            "MassAndBalance.stations": self.stations,
        }.get(f"{record}.{key}")


@dataclass(frozen=True, slots=True)
class KeyMeaning:
    """What the page on the pack's format says of a key: an example, what holds without it, what it means."""

    example: str
    left_out: str
    meaning: str


@cache
def key_meanings() -> Mapping[tuple[str, str], KeyMeaning]:
    """Return the meaning of every key, by record and key."""
    file = resources.files("sortiewright.pack") / "key_meanings.csv"
    rows = csv.DictReader(io.StringIO(file.read_text(encoding="utf-8")))
    return {
        (row["record"], row["key"]): KeyMeaning(row["written_as"], row["if_left_out"], row["meaning"])
        for row in rows
    }


def new_pack_files(name: str, names: PackNames | None = None) -> dict[str, str]:
    """Return the files of an empty pack by name: one a part, and a CSV file for each table over two axes."""
    writer = _Writer(names or PackNames())
    files = {f"{HEAD}.yaml": writer.head(name)}
    for part in PARTS:
        files[f"{part}.yaml"] = writer.part(part)
    return {**files, **writer.tables}


class _Writer:
    """Writes the parts, and collects the tables that they name."""

    def __init__(self, names: PackNames) -> None:
        self.names = names
        self.tables: dict[str, str] = {}

    def head(self, name: str) -> str:
        keys = [key for key in fields_of(Pack) if key not in PARTS]
        lines = ["# What the pack is.", *_HOW_TO, ""]
        for key in keys:
            line = self.key(Pack, key, 0, key)
            lines += (
                [f"name: {name}" + _comment(f"name: {name}", _said(Pack, "name"))] if key == "name" else line
            )
        return _text(lines)

    def part(self, part: str) -> str:
        shape = fields_of(Pack)[part]
        needed = Pack.model_fields[part].is_required()
        if shape.record is not None:
            lines = [f"# {_sentence(shape.record)}", *_HOW_TO, ""]
            lines += self.record(shape.record, 0, part)
        else:
            assert shape.item is not None
            assert shape.item.record is not None
            lines = [f"# {_sentence(shape.item.record)}", "# Take the # away from what you use.", ""]
            inner = self.record(shape.item.record, 2, part, every=True)
            if shape.sort == "list":
                inner[0] = inner[0].replace("  ", "- ", 1)
            lines += [f"# {line}" for line in (["a_name:"] if shape.sort == "mapping" else []) + inner]
        if not needed:
            lines.insert(
                1, "# A pack can do without this file: it counts as absent while all of it is commented."
            )
        return _text(lines)

    def record(self, record: type[BaseModel], indent: int, path: str, *, every: bool = False) -> list[str]:
        """Return a record's keys, one or more lines each; ``every`` writes those that may be left out too."""
        lines: list[str] = []
        for key in fields_of(record):
            lines += self.key(record, key, indent, f"{path}.{key}", every=every)
        return lines

    def key(
        self, record: type[BaseModel], key: str, indent: int, path: str, *, every: bool = False
    ) -> list[str]:
        shape, needed = fields_of(record)[key], record.model_fields[key].is_required()
        said = _said(record, key)
        if record.__name__ == "Engine" and key in ("idle", "military"):
            chosen = [*self.names.settings, *SETTINGS][key == "military"]
            return [_line(indent, f"{key}: {chosen}", said)]
        if needed and not every:
            return self._needed(record, key, shape, indent, path, said)
        body = self._example(record, key, shape, indent, path, said)
        return body if every else [f"{' ' * indent}# {line[indent:]}" for line in body]

    def _needed(
        self, record: type[BaseModel], key: str, shape: Shape, indent: int, path: str, said: str
    ) -> list[str]:
        names = self.names.below(record.__name__, key)
        if shape.sort == "record" and shape.record is not None:
            return [_line(indent, f"{key}:", said), *self.record(shape.record, indent + 2, path)]
        if shape.sort == "mapping" and names is not None and shape.item and shape.item.record:
            if not names:
                return [_line(indent, f"{key}: {{}}", said)]
            lines = [_line(indent, f"{key}:", said)]
            for name in names:
                lines.append(f"{' ' * (indent + 2)}{name}:")
                lines += self.record(shape.item.record, indent + 4, f"{path}.{name}")
            return lines
        if shape.table is not None:
            return self._table(key, shape, indent, path, said)
        return [_line(indent, f"{key}:", said)]

    def _table(self, key: str, shape: Shape, indent: int, path: str, said: str) -> list[str]:
        assert shape.table is not None
        kind, pad = shape.table, " " * (indent + 2)
        unit = _unit(kind.si_unit)
        axis, *others = kind.axes
        if others:
            owner = path.split(".")[-2]
            file = f"tables/{key}_{owner}.csv"
            corner = " \\ ".join(f"{one.name} {_unit(one.si_unit)}".strip() for one in kind.axes)
            self.tables[file] = _CSV.format(path=path, first=axis.name, second=others[0].name, corner=corner)
            shown = f", unit: {unit}" if unit else ""
            return [_line(indent, f"{key}: {{file: {file}{shown}}}", said)]
        steps = f"{{unit: {_unit(axis.si_unit)}, values: }}" if axis.si_unit else ""
        return [
            _line(indent, f"{key}:", said),
            _line(indent + 2, f"{axis.name}: {steps}".rstrip(), "steps, rising: [1, 2, 3]"),
            *([f"{pad}unit: {unit}"] if unit else []),
            _line(indent + 2, "values:", "one for each step: [10, 20, 30]"),
        ]

    def _example(
        self, record: type[BaseModel], key: str, shape: Shape, indent: int, path: str, said: str
    ) -> list[str]:
        """Return the lines of a key that may be left out, as they look when filled in."""
        example = _example_of(record, key)
        if shape.sort == "record" and shape.record is not None:
            return [_line(indent, f"{key}:", said), *self.record(shape.record, indent + 2, path, every=True)]
        if shape.item is not None and shape.item.record is not None:
            inner = self.record(shape.item.record, indent + 4, path, every=True)
            if shape.sort == "list":
                inner[0] = f"{' ' * (indent + 2)}- {inner[0].lstrip()}"
            top = [f"{' ' * (indent + 2)}a_name:"] if shape.sort == "mapping" else []
            return [_line(indent, f"{key}:", said), *top, *inner]
        if shape.sort == "mapping" and shape.item is not None:
            item = shape.item.quantity.example if shape.item.quantity else "text"
            return [_line(indent, f"{key}:", said), f"{' ' * (indent + 2)}a_name: {item}"]
        if shape.table is not None:
            kind = shape.table
            unit = _unit(kind.si_unit)
            axes = ", ".join(f"{axis.name}: {_steps(axis.si_unit)}" for axis in kind.axes)
            return [
                _line(indent, f"{key}: {{{axes}{f', unit: {unit}' if unit else ''}, values: [1, 1]}}", said)
            ]
        return [_line(indent, f"{key}: {example}".rstrip(), said)]


_HOW_TO = (
    "# An empty key is needed: write its value behind the colon. A key behind a # may be left out.",
    "# The comment of an empty key begins with how another aircraft's value is written.",
    '# Any value may say where it came from: {value: 17.5 m2, source: "flight manual, figure 1-2"}',
)
_CSV = """# {path}: {first} runs down, {second} across. Write the steps of {second} behind the names below,
# then a line for each step of {first}: the step, and a value for each column. This line may go.
{corner}
"""


def _said(record: type[BaseModel], key: str) -> str:
    """Return what the comment of a key says: how it is written, what it means, what holds without it."""
    known = key_meanings()[record.__name__, key]
    needed = record.model_fields[key].is_required()
    example = known.example.replace("`", "") if needed else ""
    without = "" if needed else f"if left out: {known.left_out.replace('`', '')}"
    meaning = known.meaning.replace("`", "")
    return "; ".join(
        part for part in (f"{example}" if example != "see below" else "", meaning, without) if part
    )


def _example_of(record: type[BaseModel], key: str) -> str:
    """Return a value for a key that may be left out: the page's own, where that is one."""
    example = key_meanings()[record.__name__, key].example
    if example.startswith("`") and example.count("`") == 2:
        return example.strip("`")
    shape = fields_of(record)[key]
    if shape.sort == "choice":
        return shape.choices[0]
    return shape.quantity.example if shape.quantity is not None else "text"


def _sentence(record: type[BaseModel]) -> str:
    return " ".join((record.__doc__ or "").split("\n\n")[0].split())


def _unit(si_unit: str) -> str:
    if not si_unit:
        return ""
    return _TRADE_UNITS.get(si_unit) or next(iter(COMMON_UNITS.get(si_unit, {si_unit: 1.0})))


def _steps(si_unit: str) -> str:
    return f"{{unit: {_unit(si_unit)}, values: [1, 2]}}" if si_unit else "[0, 1]"


def _line(indent: int, text: str, said: str) -> str:
    written = " " * indent + text
    return written + _comment(written, said)


def _comment(written: str, said: str) -> str:
    return f"{' ' * max(2, COMMENT_AT - len(written))}# {said}" if said else ""


def _text(lines: Sequence[str]) -> str:
    return "\n".join(line.rstrip() for line in lines) + "\n"
