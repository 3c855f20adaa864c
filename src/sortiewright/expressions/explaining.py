"""Why a condition is true, false or unknown, in words that name what settles it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from sortiewright.expressions.nodes import Constant, Either, Every, Lookup, Node, Not, walk
from sortiewright.expressions.value_types import NumberType
from sortiewright.expressions.values import Choices, Columns, Truth
from sortiewright.pack import readable

Show: TypeAlias = Callable[[str, Any], str]
"""Words the value of a name: SI number, bool or word."""


def shown_value(name: str, value: Any) -> str:
    """Return a value as text: yes and no, words as they are, numbers as they stand."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def reason(text: str, node: Node, values: Mapping[Any, Any], show: Show) -> str:
    """Return the parts that make a condition what it is, each with its values."""
    columns = Columns(values)
    said = [_leaf(text, leaf, columns, show) for leaf in _deciding(node, columns)]
    return "; ".join(dict.fromkeys(said)) or text


def _state(node: Node, columns: Columns) -> bool | None:
    truth: Truth = node.evaluate(columns)
    return True if truth.yes else False if truth.no else None


def _deciding(node: Node, columns: Columns) -> list[Node]:
    """Return the leaves without which it might be otherwise: those that are as the whole is.

    A conjunction that is false is so by its false parts, one that is unknown by its unknown parts, and one
    that is true by all; a disjunction likewise.
    """
    match node:
        case Not():
            return _deciding(node.condition, columns)
        case Every() | Either():
            state = _state(node, columns)
            alike = [part for part in node.conditions if _state(part, columns) == state]
            return [leaf for part in alike for leaf in _deciding(part, columns)]
        case _:
            return [node]


def _leaf(text: str, node: Node, columns: Columns, show: Show) -> str:
    said = text[node.start : node.end]
    if isinstance(node, Constant):
        return said
    if isinstance(node, Lookup):
        return f"{said} is {_value(said, node, columns, show)}"
    parts = {
        name: f"{name} is {_value(name, part, columns, show)}"
        for part in walk(node)
        if isinstance(part, Lookup)
        for name in [text[part.start : part.end]]
    }
    return f"{said}: {', '.join(parts.values())}" if parts else said


def _value(name: str, node: Lookup, columns: Columns, show: Show) -> str:
    known = _plain(node.evaluate(columns))
    if known is None:
        return "not known"
    if show is shown_value and isinstance(node.type, NumberType):
        return readable(known, node.type.unit)
    return show(name, known)


def _plain(value: Any) -> Any:
    """Return a value as the mapping that it came from may have held it; None where it is missing."""
    if isinstance(value, Truth):
        return True if value.yes else False if value.no else None
    if isinstance(value, Choices):
        code: int = value.codes
        return value.words[code] if code >= 0 else None
    number: float = value
    return None if math.isnan(number) else number
