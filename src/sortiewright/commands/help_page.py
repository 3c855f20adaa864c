"""The layout of ``--help``: no boxes, one blank line between parts, readable as plain text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cyclopts.help import HelpEntry, HelpPanel
    from rich.console import Console, ConsoleOptions

NAMES_WIDTH = 26
"""Columns for names; a longer name has its description on the next line."""


class HelpPage:
    """Renders a help page for cyclopts, which calls the three methods in this order."""

    def render_usage(self, console: Console, options: ConsoleOptions, usage: Any) -> None:
        """Print how the command is typed."""
        from rich.text import Text

        if usage:
            console.print(Text("Usage: ", style="bold").append(_plain(usage)), highlight=False)
            console.print()

    def render_description(self, console: Console, options: ConsoleOptions, description: Any) -> None:
        """Print the sentence, what else there is to say, and the example, which is never broken."""
        if text := _plain(getattr(description, "primary_renderable", description)):
            for line in text.splitlines():
                if line.startswith("Example: "):
                    console.print(line, markup=False, highlight=False, soft_wrap=True)
                else:
                    console.print(line, markup=False, highlight=False)
            console.print()

    def __call__(self, console: Console, options: ConsoleOptions, panel: HelpPanel) -> None:
        """Print one list of commands or parameters."""
        from rich.padding import Padding
        from rich.text import Text

        if not panel.entries:
            return
        console.print(Text(_plain(panel.title), style="bold"))
        for entry in panel.entries:
            names, words = _names(entry, panel.format), _words(entry)
            line = Text(f"  {names}", style="cyan")
            indent = NAMES_WIDTH + 2
            if len(names) >= NAMES_WIDTH:
                console.print(line, highlight=False)
                console.print(Padding(Text(words), (0, 0, 0, indent)), highlight=False)
            else:
                lines = Text(words).wrap(console, max(console.width - indent, 20))
                first = lines[0] if lines else Text()
                console.print(line.append(" " * (indent - len(line))).append(first.plain, style="default"))
                for rest in lines[1:]:
                    console.print(Padding(rest, (0, 0, 0, indent)), highlight=False)
        console.print()


def _names(entry: HelpEntry, sort: str) -> str:
    if sort == "command":
        return ", ".join((*entry.positive_names, *entry.positive_shorts))
    return ", ".join(entry.display_labels_with_metavar)


def _words(entry: HelpEntry) -> str:
    description = getattr(entry.description, "primary_renderable", entry.description)
    words = [_plain(description)]
    if entry.choices:
        words.append(f"One of: {', '.join(entry.choices)}.")
    if entry.default is not None:
        words.append(f"Default: {entry.default}.")
    if entry.required and not entry.positional_label:
        words.append("Required.")
    return " ".join(word for word in words if word)


def _plain(text: Any) -> str:
    return str(getattr(text, "plain", text) or "").strip()
