"""Write docs/cli.md from the commands' own --help: python tools/make_cli_page.py"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

from cyclopts import App
from rich.console import Console

from sortiewright.cli import app

PAGE = Path(__file__).resolve().parents[1] / "docs" / "cli.md"
WIDTH = 88
HEAD = """# Commands

This page is made from `--help` by `tools/make_cli_page.py`; a test fails when it is stale.

Results go to standard output, remarks and faults to standard error.
Colour is used on a terminal only, and not where `NO_COLOR` is set.
Nothing asks a question.
`--json` prints everything at full precision, each value with its unit.

| Exit code | Meaning |
|---|---|
| 0 | fine: a go, or a caution that is named |
| 1 | the flight has a no-go |
| 2 | bad input or usage, or a pack whose book points do not hold |
| 70 | a fault of the program: please report it with what it printed |
| 130, 141 | stopped by Ctrl-C; the reader of a pipe went away |
"""


def commands(parent: App, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Yield the names that lead to each command, groups before what they hold."""
    yield path
    named = parent.resolved_commands()
    for name in sorted(named, key=lambda one: named[one].sort_key or 0):
        if not name.startswith("-"):
            yield from commands(named[name], (*path, name))


def help_text(path: tuple[str, ...]) -> str:
    """Return the help of a command as plain text."""
    console = Console(file=io.StringIO(), width=WIDTH, force_terminal=False, color_system=None)
    app.help_print(list(path), console=console)
    assert isinstance(console.file, io.StringIO)
    return "\n".join(line.rstrip() for line in console.file.getvalue().rstrip().splitlines())


def page() -> str:
    """Return the page."""
    parts = [HEAD]
    for path in commands(app):
        parts.append(f"## {' '.join(('sortiewright', *path))}\n\n```text\n{help_text(path)}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
