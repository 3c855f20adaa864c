"""The three types of an expression: a truth, a number with an SI unit, a choice among words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

from sortiewright.pack import KINDS


@dataclass(frozen=True, slots=True)
class TruthType:
    """True, false, or unknown."""

    def __str__(self) -> str:
        return "a condition"


@dataclass(frozen=True, slots=True)
class NumberType:
    """A number; ``unit`` is its SI unit as ``KINDS`` of the pack room spells it, ``""`` for a plain one."""

    unit: str = ""

    def __post_init__(self) -> None:
        # A gradient is a ratio like any other: percent(2.4) and ft(200) / nmi(1) are both one.
        if self.unit in ("m/m", "1"):
            object.__setattr__(self, "unit", "")

    def __str__(self) -> str:
        kind = KINDS.get(self.unit, self.unit)
        return f"{'an' if kind[:1] in 'aeiou' else 'a'} {kind}"


@dataclass(frozen=True, slots=True)
class ChoiceType:
    """One of ``words``. ``what`` says in messages what they are: stores, positions, surfaces."""

    words: tuple[str, ...]
    what: str = field(default="words", compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "words", tuple(dict.fromkeys(self.words)))

    def __str__(self) -> str:
        return "a choice of words"


Type: TypeAlias = TruthType | NumberType | ChoiceType
TRUTH = TruthType()
PLAIN = NumberType("")
