"""The pack as a book: chapters of sections of entries, each with its source and its place in the files."""

from __future__ import annotations

from dataclasses import dataclass, field

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """One value, or one table.

    ``value`` is as its file has it, ``si`` the same in SI units, empty where it is no quantity. ``table`` is
    the key path of a table in the pack, empty for a value.
    """

    id: str
    title: str
    value: str
    si: str = ""
    source: str = ""
    source_of: str = ""
    """The group that the source was given for, where the value has none of its own."""
    note: str = ""
    severity: str = ""
    place: str = ""
    table: KeyPath = ()


@dataclass(frozen=True, slots=True)
class Grid:
    """A small table that is read in one piece: headings and rows, as the file has them."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class BookSection:
    """Entries that belong together."""

    id: str
    title: str
    entries: tuple[Entry, ...] = ()
    words: str = ""
    """What the pack says of the whole section."""
    grid: Grid | None = None
    place: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """What the search looks through: one thing with a place of its own in the book."""

    path: str
    chapter: str
    title: str
    value: str = ""
    text: str = ""
    weight: float = 0.0
    """How much rather it is wanted than another that fits as well."""


@dataclass(frozen=True)
class Chapter:
    """A chapter; ``charts`` are names of the pack's drawings with what each shows."""

    name: str
    title: str
    words: str
    sections: tuple[BookSection, ...] = ()
    charts: tuple[tuple[str, str], ...] = ()
    count: str = ""
    """How much is in it, in words."""
    not_given: tuple[str, ...] = ()
    """What the pack might say here and does not."""
    search: tuple[Found, ...] = field(default=(), repr=False)

    @property
    def path(self) -> str:
        """Where it is read."""
        return f"/reference/{self.name}"
