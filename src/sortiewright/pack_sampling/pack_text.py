"""Text of a pack's files: YAML written line by line, so that every value can carry its source, and CSV."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Sourced:
    """A value as text with the words that say where it came from."""

    value: str
    source: str


def sourced(value: float, unit: str, places: int, source: str) -> Sourced:
    """Return a number with its unit and source."""
    return Sourced(quantity(value, unit, places), source)


def quantity(value: float, unit: str, places: int) -> str:
    """Return a number with its unit, rounded, without a minus sign before nought."""
    number = f"{value:.{places}f}"
    if not number.strip("-0."):
        number = number.lstrip("-")
    return f"{number} {unit}".strip()


def yaml_text(entries: Mapping[str, object], indent: int = 0) -> str:
    """Return a mapping as YAML."""
    return "".join(f"{line}\n" for line in _lines(entries, indent))


def _lines(entries: Mapping[str, object], indent: int) -> list[str]:
    pad = " " * indent
    lines: list[str] = []
    for key, value in entries.items():
        if isinstance(value, Mapping):
            inner: Mapping[str, object] = value  # pyright: ignore[reportUnknownVariableType]
            if not inner:
                lines.append(f"{pad}{key}: {{}}")
            elif _is_flat(inner) and len(flat := f"{pad}{key}: {_flat(inner)}") <= WIDTH:
                lines.append(flat)
            else:
                lines += [f"{pad}{key}:", *_lines(inner, indent + 2)]
        elif isinstance(value, list):
            items: list[object] = value  # pyright: ignore[reportUnknownVariableType]
            if all(not isinstance(one, Mapping) for one in items):
                lines.append(f"{pad}{key}: [{', '.join(_scalar(one) for one in items)}]")
            else:
                lines.append(f"{pad}{key}:")
                lines += [f"{pad}  - {_flat(one)}" for one in items if isinstance(one, Mapping)]  # pyright: ignore
        else:
            lines.append(f"{pad}{key}: {_scalar(value)}")
    return lines


WIDTH = 150


def _is_flat(entries: Mapping[str, object]) -> bool:
    return all(not isinstance(value, Mapping | Sourced) for value in entries.values())


def _flat(entries: Mapping[str, object]) -> str:
    return "{" + ", ".join(f"{key}: {_scalar(value)}" for key, value in entries.items()) + "}"


def _scalar(value: object) -> str:
    if isinstance(value, Sourced):
        return f"{{value: {_scalar(value.value)}, source: {_scalar(value.source)}}}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        items: list[object] = value  # pyright: ignore[reportUnknownVariableType]
        return "[" + ", ".join(_scalar(one) for one in items) + "]"
    text = str(value)
    return text if PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)


PLAIN = re.compile(r"[A-Za-z0-9_.%/-][A-Za-z0-9_.%/ ()-]*")
"""What YAML reads as the text it is: the words of a pack's values; anything else is quoted."""


def csv_text(corner: str, across: Floats, down: Floats, values: Floats, places: int, comment: str) -> str:
    """Return a table over two axes, the first running down."""
    head = ",".join([corner, *(_short(value) for value in across)])
    rows = [
        ",".join([_short(first), *(quantity(value, "", places) for value in row)])
        for first, row in zip(down, values, strict=True)
    ]
    return "\n".join([f"# {comment}", head, *rows, ""])


def column_text(axis: str, value: str, steps: Floats, values: Floats, places: int, comment: str) -> str:
    """Return a table over one axis."""
    rows = [f"{_short(step)},{quantity(one, '', places)}" for step, one in zip(steps, values, strict=True)]
    return "\n".join([f"# {comment}", f"{axis},{value}", *rows, ""])


def _short(value: float) -> str:
    return f"{round(float(value), 4) + 0.0:g}" if abs(value) < 1e4 else f"{float(value):.0f}"
