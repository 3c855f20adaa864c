"""How commands print: aligned figures for people, JSON for programs. Remarks go to stderr."""

from __future__ import annotations

import json as json_format
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple

from cyclopts import Parameter

if TYPE_CHECKING:
    from rich.text import Text

System = Literal["trade", "si"]

NARROWEST = 60
"""Columns below which a table is not squeezed further."""
_TYPOGRAPHIC = str.maketrans({"\u202f": " ", "\u2009": " ", "\u2212": "-", "\u2011": "-"})


@Parameter(name="*")
@dataclass(frozen=True)
class Output:
    """How a result is to be written."""

    json: Annotated[
        bool, Parameter(negative="", help="Print JSON at full precision, each value with its unit.")
    ] = False
    units: Annotated[System, Parameter(help="Units of what is printed.")] = "trade"


FOR_PEOPLE = Output()


def joined(number: str, unit: str) -> str:
    """Return number and unit in one text."""
    return f"{number}{'' if unit in ('', '°') else ' '}{unit}"


class Row(NamedTuple):
    """A row of a table of figures: words without a unit stand where the number would, aligned left."""

    label: str
    number: str
    unit: str = ""
    note: str = ""
    style: str = ""


def aligned(rows: Sequence[Row], *, indent: int = 2, labels: int = 0, numbers: int = 0) -> list[Text]:
    """Return rows with their numbers one under the other; notes wrap under themselves.

    ``labels`` and ``numbers`` are least widths, for tables that stand one under the other.
    """
    from rich.text import Text

    width = terminal_width()
    label_width = max([labels, *(len(row.label) for row in rows)])
    number_width = max([numbers, *(len(row.number) for row in rows if is_number(row.number))])
    units = max([0, *(len(row.unit) for row in rows if is_number(row.number))])
    start = indent + label_width + 2
    lines: list[Text] = []
    for row in rows:
        line = Text(" " * indent + row.label.ljust(label_width) + "  ", style=row.style)
        if is_number(row.number):
            gap = "" if row.unit.startswith("°") and row.unit != "°C" else " "
            line.append(row.number.rjust(number_width), style="bold").append(gap + row.unit)
            note_start = start + number_width + 1 + units + 2
            lines += _with_note(line, row.note, note_start, width)
        else:
            words = " ".join(part for part in (row.number, row.unit) if part)
            lines += _with_note(line, f"{words}  {row.note}".strip(), start, width, dim=False)
    return lines


def _with_note(line: Text, note: str, start: int, width: int, *, dim: bool = True) -> list[Text]:
    """Return a line and the note beside it, or below it where there is no room beside."""
    from rich.text import Text

    style = "dim" if dim else ""
    if not note:
        return [line]
    if width - start < 24:  # too narrow a strip to read
        return [line, *wrapped(note, indent=6, style=style)]
    first, *rest = _folded(note, width - start)
    line.append(" " * (start - len(line))).append(first, style=style)
    return [line, *(Text(" " * start + one, style=style) for one in rest)]


def is_number(text: str) -> bool:
    """Return whether a text is set with the numbers, at their right edge."""
    return not any(letter.isalpha() for letter in text) and len(text) <= 12


def wrapped(text: str, *, indent: int = 2, hanging: int = 0, style: str = "") -> list[Text]:
    """Return a text broken into lines of the terminal's width, the later ones further in by ``hanging``."""
    from rich.text import Text

    first, *rest = _folded(text, terminal_width() - indent, hanging) or [""]
    return [Text(" " * indent + first, style=style), *(Text(" " * indent + one, style=style) for one in rest)]


def _folded(text: str, width: int, hanging: int = 0) -> list[str]:
    import textwrap

    return textwrap.wrap(text, max(width, 20), subsequent_indent=" " * hanging, break_long_words=False)


def terminal_width() -> int:
    """Return the columns there are; 80 where the output is no terminal."""
    import shutil

    return max(shutil.get_terminal_size((80, 24)).columns, NARROWEST)


def print_text(lines: Iterable[Text]) -> None:
    """Print to stdout, coloured on a terminal only."""
    from rich.console import Console

    # Captured and written by ourselves: rich answers a closed pipe with exit code 1, which is a no-go here.
    console = Console(width=terminal_width(), highlight=False, markup=False, soft_wrap=True)
    with console.capture() as captured:
        for line in lines:
            console.print(line)
    sys.stdout.write("\n".join(one.rstrip() for one in captured.get().translate(_TYPOGRAPHIC).split("\n")))


def print_json(data: Any) -> None:
    """Print JSON to stdout; what is not a finite number must have been replaced before."""
    print(json_format.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def remark(text: str) -> None:
    """Print a remark to stderr, after what stdout has had so far."""
    sys.stdout.flush()
    print(text.translate(_TYPOGRAPHIC), file=sys.stderr)


class Steps:
    """Tells on stderr, on a terminal only, which of some steps is under way; call it as each begins."""

    def __init__(self, total: int) -> None:
        self.total = total
        self._bar: Any = None
        self._task: Any = None

    def __enter__(self) -> Steps:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, Progress, TextColumn

            columns = (BarColumn(bar_width=24), TextColumn("{task.description}"))
            self._bar = Progress(*columns, console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task("", total=self.total)
            self._bar.start()
        return self

    def __call__(self, text: str) -> None:
        """Begin the next step."""
        if self._bar is not None:
            done = self._bar.tasks[0].description != ""
            self._bar.update(self._task, advance=1 if done else 0, description=text, refresh=True)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()
