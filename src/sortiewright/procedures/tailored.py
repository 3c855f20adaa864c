"""Today's checklists: what is left of a pack's procedures for one sortie, its numbers filled in."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class FilledHold:
    """A hold as the crew sees it."""

    awaits: str
    cleared_by: str
    """Party or seat, by its key."""
    cleared_by_title: str


@dataclass(frozen=True, slots=True)
class FilledBranch:
    """Where to go if the answer is not the one wanted; ``title`` is the procedure's."""

    go: str
    title: str
    case: str


@dataclass(frozen=True, slots=True)
class ReadyItem:
    """One item that applies today. ``seats`` are keys of seats that are occupied."""

    id: str
    number: int
    """Fixed by the pack: gaps show what does not apply."""
    challenge: str
    response: str
    seats: tuple[str, ...]
    any_one: bool = False
    part: str = ""
    memory: bool = False
    killer: bool = False
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    hold: FilledHold | None = None
    place: str = ""
    """Panels of the controls that it sets, joined."""
    seen: str = ""
    branch: FilledBranch | None = None
    until: str = ""
    why: str = ""
    problem: str = ""
    """Why a value in the response is missing."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An item, or a whole procedure, that does not apply today, and what left it out."""

    id: str
    title: str
    condition: str
    because: str
    """The condition with today's values: ``carries('belly_tank') is no``."""
    unknown: bool = False
    """Nothing says whether it applies; such an item is kept, with this as a remark."""
    number: int = 0
    """An item's number; 0 for a whole procedure."""


@dataclass(frozen=True, slots=True)
class ReadyProcedure:
    """One list as it applies today."""

    id: str
    title: str
    kind: str
    style: str
    pace: str
    phase: str
    entry: str
    not_if: str
    items: tuple[ReadyItem, ...]
    complete: str
    then: str
    applies_in: tuple[str, ...] = ()
    status: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True)
class Checklists:
    """Everything a crew of this sortie reads: normal lists in order, then abnormal and emergency ones."""

    normal: tuple[ReadyProcedure, ...]
    others: tuple[ReadyProcedure, ...]
    seats: tuple[tuple[str, str], ...]
    """(key, title) of each occupied seat, the pack's order."""
    parties: tuple[tuple[str, str], ...]
    left_out: tuple[LeftOut, ...] = ()
    """Whole procedures."""
    remarks: tuple[str, ...] = ()
    go_around: str = ""
    digest: str = ""
    """SHA-256 of what was tailored: a run belongs to exactly these lists."""
    by_id: dict[str, ReadyProcedure] = field(default_factory=dict[str, ReadyProcedure], repr=False)
