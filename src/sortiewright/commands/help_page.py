"""The layout of ``--help``: no boxes, one blank line between parts, readable as plain text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cyclopts.help import HelpEntry, HelpPanel
    from rich.console import Console, ConsoleOptions

NAMES_WIDTH = 24
"""Columns for names; a longer name has its description on the next line."""


class HelpPage:
    """Renders a help page for cyclopts, which calls the three methods in this order."""

    def render_usage(self, console: Console, options: ConsoleOptions, usage: Any) -> None:
        """Print how the command is typed."""
        if usage:
            _print(console, f"[bold]Usage:[/] {_escaped(_plain(usage))}\n")

    def render_description(self, console: Console, options: ConsoleOptions, description: Any) -> None:
        """Print the sentence, what else there is to say, and the example, which is never broken."""
        if text := _plain(getattr(description, "primary_renderable", description)):
            for line in text.splitlines():
                # An example is to be copied, so it stays on its line.
                lines = [line] if "sortiewright " in line else textwrap.wrap(line, console.width - 1) or [""]
                for one in lines:
                    _print(console, _escaped(one))
            _print(console, "")

    def __call__(self, console: Console, options: ConsoleOptions, panel: HelpPanel) -> None:
        """Print one list of commands or parameters."""
        if not panel.entries:
            return
        _print(console, f"[bold]{_escaped(_plain(panel.title))}[/]")
        for entry in panel.entries:
            names = _names(entry, panel.format)
            room = console.width - NAMES_WIDTH - 3
            lines = textwrap.wrap(_words(entry), max(room, 20)) or [""]
            beside = lines.pop(0) if len(names) <= NAMES_WIDTH - 2 else ""
            gap = " " * (NAMES_WIDTH - len(names))
            _print(console, f"  [cyan]{_escaped(names)}[/]{gap}{_escaped(beside)}".rstrip())
            for line in lines:
                _print(console, " " * (NAMES_WIDTH + 2) + _escaped(line))
        _print(console, "")


def _print(console: Console, markup: str) -> None:
    console.print(markup, markup=True, highlight=False, soft_wrap=True)


def _escaped(text: str) -> str:
    from rich.markup import escape

    return escape(text)


def _names(entry: HelpEntry, sort: str) -> str:
    if sort == "command":
        return ", ".join((*entry.positive_names, *entry.positive_shorts))
    return ", ".join(entry.display_labels_with_metavar)


def _words(entry: HelpEntry) -> str:
    words = [_plain(getattr(entry.description, "primary_renderable", entry.description))]
    if entry.choices:
        words.append(f"One of: {', '.join(entry.choices)}.")
    if entry.default not in (None, "False", "()"):
        words.append(f"Default: {entry.default}.")
    if entry.required and not entry.positional_label:
        words.append("Required.")
    return " ".join(word for word in words if word)


def _plain(text: Any) -> str:
    return str(getattr(text, "plain", text) or "").strip()
