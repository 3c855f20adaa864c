"""A table of the pack as a grid of numbers, in the reader's units."""

from __future__ import annotations

from typing import Any, cast

import numpy as np

from sortiewright.desk.reference_book import Grid, KeyPath
from sortiewright.desk.reference_units import SPELLED, TRADE_OF, grouped, heading
from sortiewright.pack import LoadedPack, Table, unit_factor
from sortiewright.sortie import System

MOST_PANELS = 12


def table_at(loaded: LoadedPack, path: KeyPath) -> Table | None:
    """Return the table at a key path, None where there is none."""
    found: Any = loaded.pack
    for key in path:
        found = _inside(found, key)
    found = found if isinstance(found, Table) else getattr(found, "value", None)
    return found if isinstance(found, Table) else None


def _inside(found: Any, key: str | int) -> Any:
    if isinstance(found, dict):
        return cast("dict[Any, Any]", found).get(key)
    if isinstance(key, int):
        rows = cast("list[Any]", found) if isinstance(found, tuple | list) else []
        return rows[key] if key < len(rows) else None
    return getattr(found, key, None)


def grids_of(table: Table, system: System) -> tuple[tuple[str, Grid], ...]:
    """Return a table as grids: one for a table of one or two axes, one a step of the third axis for three."""
    values, unit = _scaled(np.asarray(table.values), table.unit, system)
    axes = [_scaled(axis, one, system) for axis, one in zip(table.axes, table.units, strict=True)]
    names = [_named(name, one) for name, (_, one) in zip(table.names, axes, strict=True)]
    steps = [_texts(axis) for axis, _ in axes]
    label = f"in {SPELLED.get(unit, unit)}" if unit else ""
    if len(axes) == 1:
        rows = tuple(zip(steps[0], _texts(values), strict=True))
        return ((label, Grid((names[0], SPELLED.get(unit, unit) or "Value"), rows)),)
    if len(axes) == 2:
        return ((label, _square(names, steps, values)),)
    panels = range(min(len(steps[0]), MOST_PANELS))
    return tuple(
        (f"{names[0]} {steps[0][n]} {label}".strip(), _square(names[1:], steps[1:], values[n]))
        for n in panels
    )


def _square(names: list[str], steps: list[list[str]], values: Any) -> Grid:
    heads = (f"{names[0]} \\ {names[1]}", *steps[1])
    return Grid(heads, tuple((step, *_texts(row)) for step, row in zip(steps[0], values, strict=True)))


def _scaled(values: Any, unit: str, system: System) -> tuple[Any, str]:
    wanted = TRADE_OF.get(unit, unit) if system == "trade" else unit
    if wanted == unit or not unit:
        return values, unit
    scale, offset = unit_factor(wanted, unit)
    return (values - offset) / scale, wanted


def _named(name: str, unit: str) -> str:
    return f"{heading(name)}, {SPELLED.get(unit, unit)}" if unit else heading(name)


def _texts(values: Any) -> list[str]:
    """Return numbers with as many decimals as the finest of them needs, at most four."""
    numbers = [float(value) for value in values]
    size = max((abs(one) for one in numbers), default=0.0)
    most = 0 if size >= 1000 else 1 if size >= 100 else 2 if size >= 10 else 4
    places = next(
        (
            n
            for n in range(most + 1)
            if all(abs(one - round(one, n)) < 1e-6 * max(size, 1.0) for one in numbers)
        ),
        most,
    )
    return [grouped(f"{one:.{places}f}") for one in numbers]
