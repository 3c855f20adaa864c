"""HTML and SVG made of elements: every text and attribute is escaped, whatever a file has named it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from html import escape
from typing import Any
from unicodedata import category

_EMPTY = frozenset({"meta", "br", "input", "link"})


class Markup(str):
    """Text that is markup already."""

    __slots__ = ()


def element(name: str, /, *children: Any, **attributes: str | float | bool | None) -> Markup:
    """Return an element. Children are texts, markup, None or iterables of these.

    An attribute's trailing underscore falls away and others become hyphens (``class_``, ``aria_label``);
    None and False leave it out, True gives it no value.
    """
    opening = [name]
    for key, value in attributes.items():
        attribute = key.rstrip("_").replace("_", "-")
        if value is None or value is False:
            continue
        if value is True:
            opening.append(attribute)
            continue
        text = f"{value:.7g}" if isinstance(value, float) else str(value)
        opening.append(f'{attribute}="{escape(_plain(text))}"')
    if name in _EMPTY:
        return Markup(f"<{' '.join(opening)}>")
    return Markup(f"<{' '.join(opening)}>{joined(children)}</{name}>")


def joined(children: Iterable[Any]) -> Markup:
    """Return children as one piece of markup, texts escaped."""
    parts: list[str] = []
    for child in children:
        if child is None:
            continue
        if isinstance(child, Markup):
            parts.append(child)
        elif isinstance(child, str):
            parts.append(escape(_plain(child)))
        else:
            parts.append(joined(child))
    return Markup("".join(parts))


def _plain(text: str) -> str:
    """Return a text without control and direction signs: HTML does not allow them, or they turn it round."""
    if text.isprintable():
        return text
    return "".join(
        "\ufffd" if category(sign).startswith("C") and sign not in "\n\t" else sign for sign in text
    )


def data_script(identity: str, data: Any) -> Markup:
    """Return a script element that holds data; nothing in it can end the element."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(f'<script type="application/json" id="{escape(identity)}">{text}</script>')
