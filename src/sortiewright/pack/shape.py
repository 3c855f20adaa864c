"""What kind of value a schema wants at each key, for those who read or describe files by the schema."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sortiewright.pack.quantities import Quantity
from sortiewright.pack.table_text import TableKind

Sort = Literal["record", "mapping", "list", "table", "quantity", "number", "text", "flag", "choice", "any"]
_SIMPLE: dict[Any, Sort] = {bool: "flag", int: "number", float: "number", str: "text"}


@dataclass(frozen=True)
class Shape:
    """The kind of value wanted at one key; the fields that do not apply to it are empty."""

    sort: Sort
    record: type[BaseModel] | None = None
    item: Shape | None = None
    """Of a mapping's values, or of a list of any length."""
    items: tuple[Shape, ...] = ()
    """Of a list whose length is fixed."""
    table: TableKind | None = None
    quantity: Quantity | None = None
    choices: tuple[str, ...] = ()
    optional: bool = False
    bounds: Mapping[str, Any] = field(default_factory=dict[str, Any], hash=False)
    """Limits on the SI value: gt, ge, lt, le; or the pattern of a text."""

    def child(self, key: str | int) -> Shape:
        """Return the shape under a key or list position; ``any`` where the schema has none."""
        if self.record is not None:
            return fields_of(self.record).get(str(key), ANY)
        if self.items and isinstance(key, int):
            return self.items[key] if key < len(self.items) else ANY
        return self.item or ANY

    def has(self, key: str) -> bool:
        """Return whether this is a record with a field of that name."""
        return self.record is not None and key in fields_of(self.record)


ANY = Shape("any")


@cache
def fields_of(record: type[BaseModel]) -> dict[str, Shape]:
    """Return the shape of each field of a record."""
    return {name: _field_shape(info) for name, info in record.model_fields.items()}


@cache
def record_shape(record: type[BaseModel]) -> Shape:
    """Return the shape of a whole file that holds one record."""
    return Shape("record", record=record)


def shape_at(shape: Shape, path: tuple[str | int, ...]) -> Shape:
    """Return the shape at a key path below a shape."""
    for key in path:
        shape = shape.child(key)
    return shape


def _field_shape(info: FieldInfo) -> Shape:
    return _shape(info.annotation, tuple(info.metadata))


def _shape(annotation: Any, metadata: tuple[Any, ...] = ()) -> Shape:
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _shape(arguments[0], (*arguments[1:], *metadata))
    if origin in (Union, types.UnionType):
        chosen = [argument for argument in arguments if argument is not type(None)]
        inner = _shape(chosen[0], metadata) if len(chosen) == 1 else ANY
        return replace(inner, optional=len(chosen) < len(arguments))
    for mark in metadata:
        if isinstance(mark, Quantity):
            return Shape("quantity", quantity=mark, bounds=_bounds(metadata))
        if isinstance(mark, TableKind):
            return Shape("table", table=mark)
    if origin is dict:
        return Shape("mapping", item=_shape(arguments[1]))
    if origin in (tuple, list):
        if origin is list or (len(arguments) == 2 and arguments[1] is Ellipsis):
            return Shape("list", item=_shape(arguments[0]))
        return Shape("list", items=tuple(_shape(argument) for argument in arguments))
    if origin is Literal:
        return Shape("choice", choices=tuple(str(choice) for choice in arguments))
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return record_shape(annotation)
    bounds = {**_bounds(metadata), **({"whole": True} if annotation is int else {})}
    return Shape(_SIMPLE.get(annotation, "any"), bounds=bounds)


def _bounds(metadata: tuple[Any, ...]) -> dict[str, Any]:
    """Return the limits that pydantic's markers put on a value."""
    found: dict[str, Any] = {}
    for mark in metadata:
        marks = mark.metadata if isinstance(mark, FieldInfo) else [mark]
        for one in marks:
            for name in ("gt", "ge", "lt", "le", "pattern"):
                if (value := getattr(one, name, None)) is not None:
                    found[name] = value
    return found
