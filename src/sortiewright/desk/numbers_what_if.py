"""The what-if strip: two variants of today's sortie, each planned in full, beside the plan."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from sortiewright.desk.current import Opened
from sortiewright.desk.numbers_differences import (
    ReasonChange,
    Row,
    figure_rows,
    margin_rows,
    reason_changes,
)
from sortiewright.desk.numbers_levers import (
    Lever,
    Variant,
    changed,
    levers_of,
    planned_words,
    quick_ways,
    read_variant,
    unit_of,
)
from sortiewright.desk.numbers_margins import margins
from sortiewright.sortie import LoadedSortie, Plan, SortieError, System, plan

LETTERS = ("a", "b")
MOST_KEPT = 24
"""Variants that are remembered: whoever moves one lever waits for that variant alone."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A variant's plan, or why there is none."""

    plan: Plan | None
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Side:
    """One variant on the page."""

    variant: Variant
    plan: Plan | None
    fault: str
    reasons: tuple[ReasonChange, ...]


@dataclass(frozen=True, slots=True)
class LeverRow:
    """One lever: what is planned, and what is typed for each variant."""

    lever: Lever
    unit: str
    planned: str


@dataclass(frozen=True, slots=True)
class Strip:
    """Everything that the page shows."""

    levers: tuple[LeverRow, ...]
    sides: tuple[Side, ...]
    margins: tuple[Row, ...]
    figures: tuple[tuple[str, tuple[Row, ...]], ...]
    quick: tuple[tuple[str, str], ...]
    """Title, and the query that adds it."""

    @property
    def is_used(self) -> bool:
        """Whether any variant was computed."""
        return any(side.plan is not None for side in self.sides)

    @property
    def figure_count(self) -> int:
        """How many numbers change."""
        return sum(len(rows) for _, rows in self.figures)


@dataclass
class WhatIf:
    """Plans variants, each once for the same sortie and levers."""

    _kept: OrderedDict[tuple[object, ...], Planned] = field(
        default_factory=OrderedDict[tuple[object, ...], Planned]
    )

    async def strip(self, opened: Opened, fields: Mapping[str, str], system: System) -> Strip | None:
        """Return the strip for a form's fields; None where the sortie has no plan."""
        if opened.loaded is None or opened.plan is None:
            return None
        loaded, planned = opened.loaded, opened.plan
        sortie, pack = loaded.sortie, loaded.pack.pack
        levers = levers_of(sortie, pack)
        variants = [read_variant(letter, fields, levers, system) for letter in LETTERS]
        made = [await self._planned(opened, loaded, one) for one in variants]
        plans = [one.plan for one in made]
        rows = margin_rows(
            margins(planned, pack, sortie),
            [
                None if one is None else margins(one, pack, changed(sortie, variant))
                for one, variant in zip(plans, variants, strict=True)
            ],
            system,
        )
        return Strip(
            tuple(
                LeverRow(one, unit_of(one, system), planned_words(one, sortie, pack, planned, system))
                for one in levers
            ),
            tuple(
                Side(variant, one.plan, one.fault, reason_changes(planned, one.plan) if one.plan else ())
                for variant, one in zip(variants, made, strict=True)
            ),
            rows if any(plans) else (),
            figure_rows(planned, plans, system) if any(plans) else (),
            tuple(
                (title, _with_quick(variants, name, text))
                for title, name, text in quick_ways(sortie, pack, planned, system)
            ),
        )

    async def _planned(self, opened: Opened, loaded: LoadedSortie, variant: Variant) -> Planned:
        if not variant.is_used:
            return Planned(None)
        key = (opened.digest, loaded.pack.digest, id(loaded.pack), variant.key)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        made = await asyncio.to_thread(_plan_of, loaded, variant)
        self._kept[key] = made
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        return made


def _with_quick(variants: Sequence[Variant], name: str, text: str) -> str:
    """Return the query that puts one change into the first variant that is still as planned."""
    free = next((one.letter for one in variants if not one.typed), LETTERS[0])
    kept = {
        f"{one.letter}.{key}": said
        for one in variants
        if one.letter != free
        for key, said in one.typed.items()
    }
    return urlencode({**kept, f"{free}.{name}": text})


def _plan_of(loaded: LoadedSortie, variant: Variant) -> Planned:
    try:
        return Planned(plan(changed(loaded.sortie, variant), loaded.pack))
    except SortieError as wrong:
        hint = f". {wrong.hint}" if wrong.hint else ""
        return Planned(None, f"{wrong.read} {wrong.expected}{hint}".strip())
    except ValueError as wrong:
        return Planned(None, str(wrong))
    except ArithmeticError:  # a day so far from any real one that a step of the numbers has no answer
        return Planned(None, "these values together leave nothing that can be worked out")
