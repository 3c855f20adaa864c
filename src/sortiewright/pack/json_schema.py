"""JSON Schema of a pack's files, so that an editor completes keys and marks slips while they are typed.

It describes the files as people write them: quantities are text such as ``45000 lb``, tables are grids or
name a CSV file, and any value may be wrapped as ``{value, source, note}``. What the loader alone can check
(names that must exist, steps that must rise) is left to it.
"""

from __future__ import annotations

import ast
import inspect
import re
import sys
from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from sortiewright.pack.errors import choice_hint
from sortiewright.pack.load import HEAD, PARTS, WORDS_ONLY
from sortiewright.pack.measure import article, kind_of
from sortiewright.pack.schema import Pack
from sortiewright.pack.shape import Shape, fields_of, record_shape
from sortiewright.pack.units import COMMON_UNITS

DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]

_NUMBER = r"[-+−]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?"
_SOURCE: Schema = {"type": "string", "description": "Where it comes from: title, year, page; or: invented."}
_NOTE: Schema = {"type": "string", "description": "What a reader should know of it."}


def pack_json_schema(part: str) -> Schema:
    """Return the JSON Schema (2020-12) of one file of a pack: ``pack``, ``airframe``, ``engine`` ...

    Raises ``ValueError`` for a name that is no part of a pack.
    """
    if part not in (HEAD, *PARTS):
        raise ValueError(f'"{part}" is not a part of a pack. {choice_hint(part, (HEAD, *PARTS), "parts")}')
    words = part in WORDS_ONLY
    writer = _Writer(words_only=words)
    if part == HEAD:
        body = writer.record(Pack, keys=[name for name in fields_of(Pack) if name not in PARTS])
    else:
        body = writer.schema(fields_of(Pack)[part], wrap=False)
    title = f"{part}.yaml of an aircraft pack"
    return {
        "$schema": DIALECT,
        "title": title,
        **body,
        **({"$defs": writer.definitions} if writer.definitions else {}),
    }


def record_json_schema(record: type[BaseModel], title: str) -> Schema:
    """Return the JSON Schema of a file that holds one record, such as a sortie."""
    writer = _Writer(words_only=False)
    body = writer.schema(record_shape(record), wrap=False)
    return {
        "$schema": DIALECT,
        "title": title,
        **body,
        **({"$defs": writer.definitions} if writer.definitions else {}),
    }


class _Writer:
    """Schemas by shape; those of quantities and tables stand once under ``$defs``."""

    def __init__(self, *, words_only: bool) -> None:
        self.words_only = words_only
        self.definitions: Schema = {}

    def schema(self, shape: Shape, *, wrap: bool = True) -> Schema:
        """Return the schema of one value, plain or wrapped with its source."""
        plain = self._plain(shape)
        empty = [{"type": "null"}] if shape.optional else []
        # A mapping carries source and note beside its own keys. The loader takes a wrapper there too, but
        # offering both would make an editor offer each key twice.
        if not wrap or shape.sort in ("record", "mapping", "table"):
            return {"anyOf": [plain, *empty]} if empty and wrap else plain
        wrapper: Schema = {
            "type": "object",
            "required": ["value"],
            "properties": {"value": plain, "source": self.source, "note": self.note},
            "additionalProperties": False,
        }
        return {"anyOf": [plain, wrapper, *empty]}

    @property
    def source(self) -> Schema:
        """Return a reference to what ``source`` may hold."""
        self.definitions["source"] = _SOURCE
        return {"$ref": "#/$defs/source"}

    @property
    def note(self) -> Schema:
        """Return a reference to what ``note`` may hold."""
        self.definitions["note"] = _NOTE
        return {"$ref": "#/$defs/note"}

    def record(self, record: type[BaseModel], keys: list[str] | None = None) -> Schema:
        """Return the schema of a record's mapping; ``keys`` limits it to some of its fields."""
        shapes = fields_of(record)
        names = list(shapes) if keys is None else keys
        words = _field_words(record)
        properties: Schema = {}
        for name in names:
            described = {"description": words[name]} if name in words else {}
            properties[name] = {**self.schema(shapes[name]), **described}
        properties.setdefault("source", self.source)
        properties.setdefault("note", self.note)
        return {
            "type": "object",
            "description": _first_sentence(record.__doc__ or ""),
            "required": [name for name in names if record.model_fields[name].is_required()],
            "properties": properties,
            "additionalProperties": False,
        }

    def _plain(self, shape: Shape) -> Schema:
        match shape.sort:
            case "record" if shape.record is not None:
                name = shape.record.__name__
                if name not in self.definitions:
                    self.definitions[name] = {}  # holds the place: a record may contain itself
                    self.definitions[name] = self.record(shape.record)
                return {"$ref": f"#/$defs/{name}"}
            case "mapping":
                assert shape.item is not None
                named: Schema = {"type": "object", "additionalProperties": self.schema(shape.item)}
                if shape.item.sort != "text":
                    named["properties"] = {"source": self.source, "note": self.note}
                return named
            case "list" if shape.items:
                items = [self.schema(item) for item in shape.items]
                size = len(items)
                return {"type": "array", "prefixItems": items, "minItems": size, "maxItems": size}
            case "list":
                return {"type": "array", "items": self.schema(shape.item) if shape.item else {}}
            case "table":
                return self._table(shape)
            case "quantity":
                return self._quantity(shape)
            case "number":
                return {"type": "integer" if "whole" in shape.bounds else "number", **_limits(shape.bounds)}
            case "text":
                return self._text(shape)
            case "flag":
                return {"type": "boolean"}
            case "choice":
                return {"enum": list(shape.choices)}
            case _:
                return {}

    def _text(self, shape: Shape) -> Schema:
        # In files of words only, what looks like a number is read as the text it is written as.
        kinds: Any = ["string", "number", "boolean"] if self.words_only else "string"
        pattern = shape.bounds.get("pattern")
        return {"type": kinds, **({"pattern": str(pattern)} if pattern else {})}

    def _quantity(self, shape: Shape) -> Schema:
        assert shape.quantity is not None
        si_unit = shape.quantity.si_unit
        if si_unit == "":
            text = {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*(%|%MAC|percent)?\s*$"}
            return {
                "anyOf": [{"type": "number", **_limits(shape.bounds)}, text],
                "description": "A plain number.",
            }
        sign = "positive" if "gt" in shape.bounds else "not_negative" if "ge" in shape.bounds else "signed"
        name = f"{sign}_{kind_of(si_unit).replace(' ', '_')}"
        self.definitions[name] = _quantity_text(si_unit, shape.quantity.example, signed=sign == "signed")
        return {"$ref": f"#/$defs/{name}"}

    def _table(self, shape: Shape) -> Schema:
        assert shape.table is not None
        kind = shape.table
        cells: Schema = {"type": "array", "minItems": 1, "items": {"type": ["number", "string"]}}
        grid = cells
        for _ in kind.axes[1:]:
            grid = {"type": "array", "minItems": 1, "items": grid}
        unit = {"type": "string", "description": f"Unit of the values: {_unit_names(kind.si_unit)}."}
        axes = {axis.name: _axis(axis.si_unit, cells) for axis in kind.axes}
        inline: Schema = {
            "type": "object",
            "required": [*axes, "values"],
            "properties": {"unit": unit, **axes, "values": grid, "source": self.source, "note": self.note},
            "additionalProperties": False,
        }
        file: Schema = {
            "type": "object",
            "required": ["file"],
            "properties": {
                "file": {
                    "type": "string",
                    "pattern": r"^[^/\\:][^\\:]*$",
                    "description": "A CSV grid in the pack.",
                },
                "unit": unit,
                "source": self.source,
                "note": self.note,
            },
            "additionalProperties": False,
        }
        name = "table_over_" + "_and_".join(axis.name for axis in kind.axes)
        name += f"_of_{kind_of(kind.si_unit).replace(' ', '_')}"
        self.definitions[name] = {"description": f"A table over {kind.axis_names}.", "anyOf": [inline, file]}
        return {"$ref": f"#/$defs/{name}"}


def _quantity_text(si_unit: str, example: str, *, signed: bool) -> Schema:
    number = _NUMBER if signed else _NUMBER.replace("[-+−]?", r"\+?", 1)
    kind = kind_of(si_unit)
    return {
        "type": "string",
        "pattern": rf"^\s*{number}\s*(1/|[^\s,'_0-9]).*$",
        "description": f"{article(kind, first=True)} with its unit ({_unit_names(si_unit)}): {example}.",
        "examples": [example],
    }


def _axis(si_unit: str, steps: Schema) -> Schema:
    if not si_unit:
        return {"anyOf": [steps, _axis_with_unit(si_unit, steps, required=["values"])]}
    return {"anyOf": [_axis_with_unit(si_unit, steps, required=["unit", "values"]), steps]}


def _axis_with_unit(si_unit: str, steps: Schema, *, required: list[str]) -> Schema:
    unit = {"type": "string", "description": f"{kind_of(si_unit).capitalize()}: {_unit_names(si_unit)}."}
    properties = {"unit": unit, "values": steps}
    return {"type": "object", "required": required, "properties": properties, "additionalProperties": False}


def _unit_names(si_unit: str) -> str:
    return ", ".join(name for name in COMMON_UNITS.get(si_unit, {si_unit: 1.0}) if name) or "none"


def _limits(bounds: Mapping[str, Any]) -> Schema:
    names = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}
    return {names[key]: value for key, value in bounds.items() if key in names}


def _first_sentence(text: str) -> str:
    return " ".join(re.split(r"\n\s*\n", inspect.cleandoc(text))[0].split())


@cache
def _field_words(record: type[BaseModel]) -> dict[str, str]:
    """Return the text that stands below each field of a record in its source.

    pydantic would do it too, but for every record at every start of the program.
    """
    words: dict[str, str] = {}
    for ancestor in reversed(record.__mro__):
        body = _class_bodies(ancestor.__module__).get(ancestor.__name__, [])
        for field, following in pairwise(body):
            if (
                isinstance(field, ast.AnnAssign)
                and isinstance(field.target, ast.Name)
                and isinstance(following, ast.Expr)
                and isinstance(following.value, ast.Constant)
                and isinstance(following.value.value, str)
            ):
                words[field.target.id] = _first_sentence(following.value.value)
    return words


@cache
def _class_bodies(module: str) -> dict[str, list[ast.stmt]]:
    try:
        tree = ast.parse(inspect.getsource(sys.modules[module]))
    except (KeyError, OSError, TypeError):
        return {}
    return {node.name: node.body for node in tree.body if isinstance(node, ast.ClassDef)}
