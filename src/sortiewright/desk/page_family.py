"""What a family of pages tells the frame: where it stands on the ribbon, its routes, its state."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.routing import BaseRoute

    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk


class Level(StrEnum):
    """The state of a part of the job; each has a shape of its own beside its colour."""

    NOTHING = "nothing"
    FINE = "fine"
    CAUTION = "caution"
    NO_GO = "no-go"
    UNKNOWN = "unknown"
    """Being computed, or not known any more."""


@dataclass(frozen=True, slots=True)
class Standing:
    """The state of a part of the job, and in a few words why."""

    level: Level = Level.NOTHING
    words: str = "nothing yet"


@dataclass(frozen=True)
class PageFamily:
    """A part of the job with pages of its own.

    ``name`` is the first part of its paths, of its templates' folder and of its files in ``assets``.
    ``key`` opens it from the keyboard. ``uploads`` names paths whose bodies may be larger than usual, with
    the most bytes each.
    """

    name: str
    title: str
    key: str
    routes: Callable[[Desk], Sequence[BaseRoute]]
    standing: Callable[[Desk, Opened], Standing]
    uploads: Mapping[str, int] = field(default_factory=dict[str, int])

    @property
    def path(self) -> str:
        """Where its first page is."""
        return f"/{self.name}"
