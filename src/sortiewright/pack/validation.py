"""A file's data checked against a schema, with every fault in plain words at its line."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from sortiewright.pack.errors import (
    InputError,
    Path,
    Problem,
    QuantityError,
    choice_hint,
    key_text,
    listed,
    shown,
    suggestion,
)
from sortiewright.pack.measure import article, kind_of
from sortiewright.pack.provenance import Source, Stripped, without_sources
from sortiewright.pack.shape import Shape, fields_of, record_shape, shape_at
from sortiewright.pack.table_reading import TableError
from sortiewright.pack.text import Document

Record = TypeVar("Record", bound=BaseModel)


def read_record(document: Document, record: type[Record]) -> tuple[Record, dict[str, Source]]:
    """Return the record that a document holds, and the sources of its values by key path.

    Raises ``InputError`` with every fault. For files that hold one record each, such as a sortie.
    """
    shape = record_shape(record)
    if not isinstance(document.data, dict):
        raise InputError([not_a_mapping(document, document.data)])
    stripped = without_sources(document, shape)
    try:
        return record.model_validate(stripped.data, context={"from_file": True}), stripped.sources
    except ValidationError as error:
        found = [problem for details in error.errors() for problem in problems_of(details, stripped, shape)]
        raise InputError(sorted(found, key=lambda problem: problem.line or 0)) from None


def not_a_mapping(document: Document | Stripped, data: Any) -> Problem:
    """Return the fault of a file that holds no keys."""
    if data is None:
        return Problem(document.name, None, "", "", "this file is empty", "Write its keys, or delete it")
    return Problem(
        document.name, document.line(()), "", shown(data), "is not a mapping", 'Write "key: value" lines'
    )


def problems_of(
    details: ErrorDetails, stripped: Stripped, shape: Shape, path: Path | None = None
) -> list[Problem]:
    """Return what one of pydantic's findings says in plain words; ``path`` is its place within the file."""
    path = tuple(details["loc"]) if path is None else path
    cause = details.get("ctx", {}).get("error")
    if isinstance(cause, TableError):
        return [
            Problem(fault.file or stripped.name, fault.line, key_text(fault.path), *_said(fault))
            if fault.file
            else stripped.problem((*path, *fault.path), *_said(fault))
            for fault in cause.faults
        ]
    if isinstance(cause, QuantityError):
        return [stripped.problem(path, *_said(cause))]
    return [_in_plain_words(details, stripped, shape, path)]


def _said(fault: Any) -> tuple[str, str, str]:
    return fault.read, fault.expected, fault.hint


def _in_plain_words(details: ErrorDetails, stripped: Stripped, shape: Shape, path: Path) -> Problem:
    kind, context = details["type"], details.get("ctx", {})
    try:
        read = shown(stripped.value(path))
    except KeyError:
        read = shown(details["input"])
    parent, key = path[:-1], path[-1] if path else ""
    match kind:
        case "missing":
            return _missing(stripped, shape, path)
        case "extra_forbidden":
            known = fields_of(owner) if (owner := shape_at(shape, parent).record) else {}
            line = stripped.line(path)
            hint = choice_hint(str(key), known, "keys here")
            return Problem(stripped.name, line, key_text(parent), shown(str(key)), "is not a known key", hint)
        case "greater_than":
            return stripped.problem(path, read, f"must be greater than {context['gt']:g}")
        case "greater_than_equal":
            bound = "must not be negative" if context["ge"] == 0 else f"must be at least {context['ge']:g}"
            return stripped.problem(path, read, bound)
        case "less_than" | "less_than_equal":
            limit = context.get("lt", context.get("le"))
            word = "less than" if kind == "less_than" else "at most"
            return stripped.problem(path, read, f"must be {word} {limit:g}")
        case "literal_error":
            choices = shape_at(shape, path).choices
            hint = suggestion(read.strip('"'), choices)
            return stripped.problem(path, read, f"is not one of: {listed(choices)}", hint)
        case "finite_number":
            return stripped.problem(path, read, "is not a finite number")
        case "string_pattern_mismatch":
            hint = "Small letters, digits, - and _ only, beginning with a letter"
            return stripped.problem(path, read, "cannot be used as a name here", hint)
        case "too_long" | "too_short":
            wanted = context.get("max_length", context.get("min_length"))
            return stripped.problem(
                path, read, f"has {context['actual_length']} entries, {wanted} are wanted"
            )
        case _:
            return _wrong_sort(stripped, shape_at(shape, path), path, read)


def _missing(stripped: Stripped, shape: Shape, path: Path) -> Problem:
    what = "is missing" if isinstance(path[-1], str) else "an entry is missing"
    return stripped.problem(path, "", what, _wanted(shape_at(shape, path)))


def _wrong_sort(stripped: Stripped, shape: Shape, path: Path, read: str) -> Problem:
    if read == "nothing":
        return stripped.problem(path, "", "the value is missing", _wanted(shape))
    is_unquoted = shape.sort == "text" and read[0] in "-0123456789tf"
    hint = f'Text is wanted, so put it in quotes: "{read}"' if is_unquoted else _wanted(shape)
    return stripped.problem(path, read, "does not fit here", hint)


def _wanted(shape: Shape) -> str:
    """Return a sentence that says what a shape wants."""
    match shape.sort:
        case "record":
            required = [name for name, info in _model_fields(shape).items() if info.is_required()]
            return "A mapping is wanted" + (f" with {listed(required, 6)}" if required else "")
        case "mapping":
            return "A mapping of names is wanted"
        case "list":
            return f"A list of {len(shape.items)} is wanted" if shape.items else "A list is wanted"
        case "table":
            return f"A table over {shape.table.axis_names if shape.table else ''} is wanted"
        case "quantity" if shape.quantity is not None:
            kind = article(kind_of(shape.quantity.si_unit), first=True)
            return f"{kind} is wanted, for example {shape.quantity.example}"
        case "number":
            return "A whole number is wanted" if "whole" in shape.bounds else "A number is wanted"
        case "text":
            return "Text is wanted"
        case "flag":
            return "true or false is wanted"
        case "choice":
            return f"One of {listed(shape.choices)} is wanted"
        case _:
            return "Another kind of value is wanted"


def _model_fields(shape: Shape) -> dict[str, Any]:
    return dict(shape.record.model_fields) if shape.record else {}
