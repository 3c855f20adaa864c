"""The notes of a pack: the few forms of Markdown that they use, as data for the page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Run = tuple[Literal["", "b", "i", "code"], str]
"""A stretch of text in one look."""
_INLINE = re.compile(r"(\*\*.+?\*\*|`[^`]+`|\*[^* ][^*]*\*)")
_HEADING = re.compile(r"(#{1,4})\s+(.+?)\s*#*\Z")
_ITEM = re.compile(r"\s*(?:[-*+]|\d+\.)\s+(.*)\Z")
_RULE = re.compile(r"\|?\s*:?-{3,}")


@dataclass(frozen=True, slots=True)
class Block:
    """A paragraph, a list or a table; its texts are runs. ``rows`` are list items or table rows of cells."""

    kind: Literal["p", "ul", "table"]
    rows: tuple[tuple[tuple[Run, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class NotePart:
    """A heading and what stands under it; ``text`` is all of it for the search."""

    id: str
    title: str
    blocks: tuple[Block, ...]
    text: str


def note_parts(text: str, title: str = "Notes") -> tuple[NotePart, ...]:
    """Return the parts of a text by its headings; what stands before the first is under ``title``."""
    parts: list[tuple[str, list[str]]] = [(title, [])]
    for line in text.splitlines():
        if match := _HEADING.match(line):
            parts.append((match[2], []))
        else:
            parts[-1][1].append(line)
    made: list[NotePart] = []
    for number, (name, lines) in enumerate(parts):
        body = "\n".join(lines).strip()
        if body or number:
            plain = body.replace("**", "").replace("`", "")
            made.append(NotePart(slug(name, number), _plain(name), tuple(_blocks(lines)), plain))
    return tuple(made)


def slug(title: str, number: int) -> str:
    """Return a heading as an id; its number keeps two alike apart."""
    words = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40]
    return f"note-{number}-{words}" if words else f"note-{number}"


def _plain(text: str) -> str:
    return text.replace("**", "").replace("`", "")


def _blocks(lines: list[str]) -> list[Block]:
    found: list[Block] = []
    paragraph: list[str] = []
    items: list[str] = []
    table: list[str] = []

    def close() -> None:
        if paragraph:
            found.append(Block("p", ((runs(" ".join(paragraph)),),)))
        if items:
            found.append(Block("ul", tuple((runs(item),) for item in items)))
        if table:
            rows = [_cells(row) for row in table if not _RULE.match(row)]
            found.append(Block("table", tuple(rows)))
        paragraph.clear()
        items.clear()
        table.clear()

    for line in lines:
        item = _ITEM.match(line)
        if not line.strip():
            close()
        elif line.lstrip().startswith("|"):
            if not table:
                close()
            table.append(line.strip())
        elif item:
            if not items:
                close()
            items.append(item[1])
        elif items and line.startswith(" "):
            items[-1] += " " + line.strip()
        else:
            if items or table:
                close()
            paragraph.append(line.strip())
    close()
    return found


def _cells(row: str) -> tuple[tuple[Run, ...], ...]:
    return tuple(runs(cell.strip()) for cell in row.strip("|").split("|"))


def runs(text: str) -> tuple[Run, ...]:
    """Return a line as runs of plain, bold, slanted and literal text."""
    found: list[Run] = []
    for piece in _INLINE.split(text):
        if piece.startswith("**") and piece.endswith("**") and len(piece) > 4:
            found.append(("b", piece[2:-2]))
        elif piece.startswith("`") and piece.endswith("`") and len(piece) > 2:
            found.append(("code", piece[1:-1]))
        elif piece.startswith("*") and piece.endswith("*") and len(piece) > 2:
            found.append(("i", piece[1:-1]))
        elif piece:
            found.append(("", piece))
    return tuple(found)
