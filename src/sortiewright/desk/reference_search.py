"""Search over the whole book: every word must be found, titles count most, the places are marked."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sortiewright.desk.reference_book import Found

MOST_RESULTS = 40
LONGEST_QUERY = 80
MOST_WORDS = 6
SNIPPET = 170
"""Characters of text around the first word found."""

Piece = tuple[bool, str]
"""Whether it is marked, and the text."""


@dataclass(frozen=True, slots=True)
class Result:
    """One place in the book, its texts cut where they are marked."""

    path: str
    chapter: str
    title: tuple[Piece, ...]
    value: tuple[Piece, ...]
    text: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Results:
    """What a search found: the best ``MOST_RESULTS``, and how many there are in all."""

    query: str
    found: tuple[Result, ...]
    count: int


class Index:
    """What is searched, prepared once."""

    def __init__(self, everything: Iterable[Found]) -> None:
        self._all = [
            (one, folded(one.title), folded(one.value), folded(f"{one.chapter} {one.text}"))
            for one in everything
        ]

    def __len__(self) -> int:
        return len(self._all)

    def search(self, query: str) -> Results:
        """Return what holds every word of the query."""
        query = " ".join(query[:LONGEST_QUERY].split())
        words = [folded(word) for word in query.split()][:MOST_WORDS]
        if not words:
            return Results(query, (), 0)
        scored: list[tuple[float, int, Found]] = []
        for number, (one, title, value, text) in enumerate(self._all):
            score = _score(words, title, value, text)
            if score:
                scored.append((-score - one.weight, number, one))
        scored.sort(key=lambda each: each[:2])
        best = [one for _, _, one in scored[:MOST_RESULTS]]
        return Results(query, tuple(_result(one, words) for one in best), len(scored))


def folded(text: str) -> str:
    """Return a text for comparing: small letters, no accents, plain spaces; as long as it was."""
    kept: list[str] = []
    for sign in text:
        plain = unicodedata.normalize("NFD", sign)[0].lower() if sign.strip() else " "
        kept.append(plain if len(plain) == 1 else sign)
    return "".join(kept)


def _score(words: Sequence[str], title: str, value: str, text: str) -> float:
    total = 0.0
    for word in words:
        if _begins(word, title):
            total += 12.0
        elif word in title:
            total += 6.0
        elif word in value:
            total += 4.0
        elif _begins(word, text):
            total += 2.0
        elif word in text:
            total += 1.0
        else:
            return 0.0
    return total + 6.0 * (title == " ".join(words)) + 1.0 / (1.0 + len(title))


def _begins(word: str, text: str) -> bool:
    return text.startswith(word) or f" {word}" in text


def _result(one: Found, words: Sequence[str]) -> Result:
    return Result(
        one.path,
        one.chapter,
        marked(one.title, words),
        marked(one.value, words),
        marked(snippet(one.text, words), words),
    )


def snippet(text: str, words: Sequence[str]) -> str:
    """Return the part of a text around the first word found, whole where it is short."""
    text = " ".join(text.split())
    if len(text) <= SNIPPET:
        return text
    plain = folded(text)
    first = min((at for word in words if (at := plain.find(word)) >= 0), default=0)
    start = max(0, first - SNIPPET // 3)
    start = text.rfind(" ", 0, start) + 1 if start else 0
    end = min(len(text), start + SNIPPET)
    return f"{'… ' if start else ''}{text[start:end].rstrip()}{' …' if end < len(text) else ''}"


def marked(text: str, words: Sequence[str]) -> tuple[Piece, ...]:
    """Return a text cut at every place where one of the words stands."""
    plain = folded(text)
    pattern = "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))
    pieces: list[Piece] = []
    at = 0
    for match in re.finditer(pattern, plain):
        if match.start() > at:
            pieces.append((False, text[at : match.start()]))
        pieces.append((True, text[match.start() : match.end()]))
        at = match.end()
    if at < len(text):
        pieces.append((False, text[at:]))
    return tuple(pieces)
