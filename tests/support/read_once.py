"""Work that many tests ask for alike, done once a process: shipped files parsed, pages of a PDF read."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import sortiewright
from sortiewright.pack import yaml_scanner

SHIPPED = Path(sortiewright.__file__).parent


def parse_shipped_files_once() -> None:
    """Have the text of a shipped pack or sortie parsed once; any other text each time, as ever.

    A pack is loaded some thousand times, and four fifths of that is spent in the parser of YAML.
    """
    as_ever = yaml_scanner.recorded_events

    def recorded_events(text: str) -> Iterator[Any]:
        return iter(events_of(text)) if text in shipped_texts() else as_ever(text)

    @functools.cache
    def events_of(text: str) -> tuple[Any, ...]:
        return tuple(as_ever(text))

    yaml_scanner.recorded_events = recorded_events


@functools.cache
def shipped_texts() -> frozenset[str]:
    """Return the texts of all YAML files that come with the package."""
    return frozenset(file.read_text("utf-8") for file in SHIPPED.rglob("*.yaml"))


class Words(NamedTuple):
    """A text as a page of a PDF holds it, its size in points and the matrices that place it."""

    text: str
    size: float
    cm: list[float]
    tm: list[float]


class PageWords(NamedTuple):
    """The whole text of a page, and its parts in order."""

    text: str
    words: list[Words]

    @property
    def flat(self) -> str:
        """The text with one space wherever there is space."""
        return re.sub(r"\s+", " ", self.text)


def read_page(page: Any) -> PageWords:
    """Return what stands on a page of ``pypdf``; to read it takes longer than to typeset it, so only once."""
    if not hasattr(page, "was_read"):
        words: list[Words] = []

        def note(text: str, cm: list[float], tm: list[float], _font: Any, size: float) -> None:
            if text.strip():
                a, b, c, d = cm[0] * tm[0], cm[1] * tm[3], cm[2] * tm[0], cm[3] * tm[3]
                words.append(Words(text, size * abs(a * d - b * c) ** 0.5, list(cm), list(tm)))

        page.was_read = PageWords(page.extract_text(visitor_text=note), words)
    return page.was_read
