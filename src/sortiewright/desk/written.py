"""Where each key and value of a YAML text stands in it, to the character."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Literal

from sortiewright.pack import NUMBER_ROW


@dataclass(slots=True)
class Node:
    """A value as it is written: ``text[start:end]``, where a block's ``end`` says little.

    ``announced`` is the character behind the key's colon, or behind the dash of a list's item, -1 for the
    whole file. ``keys`` are spans of a mapping's keys, ``dashes`` the places of a block list's dashes.
    """

    kind: Literal["map", "list", "scalar"]
    start: int
    end: int
    column: int = 0
    flow: bool = False
    inside_flow: bool = False
    text: str = ""
    announced: int = -1
    keys: dict[str, tuple[int, Node]] = field(default_factory=dict[str, "tuple[int, Node]"])
    items: list[Node] = field(default_factory=list["Node"])
    dashes: list[int] = field(default_factory=list[int])

    @property
    def children(self) -> list[tuple[str | int, Node]]:
        """Keys, or positions, and what stands under them."""
        if self.kind == "map":
            return [(key, node) for key, (_, node) in self.keys.items()]
        return list(enumerate(self.items))

    def child(self, key: str | int) -> Node | None:
        """Return what stands under a key or list position, None if nothing does."""
        if self.kind == "map":
            found = self.keys.get(key) if isinstance(key, str) else None
            return None if found is None else found[1]
        if self.kind == "list" and isinstance(key, int) and 0 <= key < len(self.items):
            return self.items[key]
        return None

    def span(self, at: int) -> tuple[int, int]:
        """Return where the entry at a position begins (its key or its dash) and ends."""
        if self.kind == "map":
            start, node = list(self.keys.values())[at]
            return start, node.last_end
        node = self.items[at]
        return (node.start if self.flow else self.dashes[at]), node.last_end

    @property
    def last_end(self) -> int:
        """Where its last character stands that is neither space nor comment."""
        if self.kind == "scalar" or self.flow:
            return self.end
        nodes = self.children
        return nodes[-1][1].last_end if nodes else self.end

    @property
    def inner_end(self) -> int:
        """Where the last of its entries ends; it must have one."""
        return self.children[-1][1].last_end

    def data(self) -> Any:
        """Return it as dict, list and text."""
        if self.kind == "map":
            return {key: node.data() for key, (_, node) in self.keys.items()}
        return [node.data() for node in self.items] if self.kind == "list" else self.text


@lru_cache(maxsize=4)
def written_tree(text: str) -> Node | None:
    """Return a text's outermost value; None where it is not plain YAML, or holds nothing.

    The nodes are shared between callers and must not be changed.
    """
    from sortiewright.pack import recorded_events

    builder = _Builder(text)
    try:
        for event in recorded_events(text):
            builder.take(event)
    except Exception:  # on absurd text the library also fails with errors of its own code
        return None
    return builder.root


class _Builder:
    def __init__(self, text: str) -> None:
        self.text = text
        self.root: Node | None = None
        self.open: list[Node] = []
        self.key: tuple[str, int, int] | None = None
        self.pending: list[tuple[str, int, int] | None] = []

    def take(self, event: Any) -> None:
        """Add one event."""
        name = type(event).__name__
        if name == "ScalarEvent" and event.style == NUMBER_ROW:
            self._take_row(event)
        elif name == "ScalarEvent":
            inside = bool(self.open) and self.open[-1].flow
            start, end = event.start_mark.index, event.end_mark.index
            if self.open and self.open[-1].kind == "map" and self.key is None:
                self.key = (event.value, start, end)
                return
            self._place(
                Node(
                    "scalar",
                    start,
                    _scalar_end(self.text, event),
                    event.start_mark.column,
                    inside_flow=inside,
                    text=event.value,
                )
            )
        elif name in ("MappingStartEvent", "SequenceStartEvent"):
            if self.open and self.open[-1].kind == "map" and self.key is None:
                raise ValueError("a key that is no word")
            flow = bool(event.flow_style)
            node = Node(
                "map" if name == "MappingStartEvent" else "list",
                event.start_mark.index,
                event.end_mark.index,
                event.start_mark.column,
                flow=flow,
                inside_flow=bool(self.open) and self.open[-1].flow,
            )
            self._place(node)
            self.open.append(node)
            self.key = None
        elif name in ("MappingEndEvent", "SequenceEndEvent"):
            node = self.open.pop()
            node.end = event.end_mark.index
        elif name == "AliasEvent":
            raise ValueError("an alias")

    def _take_row(self, event: Any) -> None:
        """Add a list of numbers that came as one event."""
        if self.open and self.open[-1].kind == "map" and self.key is None:
            raise ValueError("a key that is no word")
        start, column = event.start_mark.index, event.start_mark.column
        row = Node(
            "list",
            start,
            event.end_mark.index,
            column,
            flow=True,
            inside_flow=bool(self.open) and self.open[-1].flow,
        )
        self._place(row)
        inside = self.text.index("[", start) + 1  # a tag may stand before it
        for number in re.finditer(r"[^,\s]+", event.value):
            begin, end = (inside + at for at in number.span())
            row.items.append(
                Node("scalar", begin, end, column + begin - start, inside_flow=True, text=number[0])
            )

    def _place(self, node: Node) -> None:
        if not self.open:
            if self.root is not None:
                raise ValueError("a second document")
            self.root = node
            return
        parent = self.open[-1]
        if parent.kind == "map":
            assert self.key is not None
            key, start, end = self.key
            node.announced = self.text.index(":", end) + 1
            parent.keys[key] = (start, node)
            self.key = None
            return
        parent.items.append(node)
        if not parent.flow:
            dash = _dash_before(self.text, parent)
            parent.dashes.append(dash)
            node.announced = dash + 1


def _dash_before(text: str, parent: Node) -> int:
    """Return the place of the dash of a block list's newest item: at the list's own column."""
    if len(parent.items) == 1:
        return parent.start
    at = parent.items[-2].last_end
    while True:
        line = text.find("\n", at) + 1
        if line == 0:
            raise ValueError("no dash")
        at = line + parent.column
        if text[line:at].strip() == "" and text[at : at + 1] == "-":
            return at
        at = line


def _scalar_end(text: str, event: Any) -> int:
    """Return where a scalar's own characters end; a plain one of several lines ends with its last word."""
    start, end = event.start_mark.index, event.end_mark.index
    return start + len(text[start:end].rstrip())
