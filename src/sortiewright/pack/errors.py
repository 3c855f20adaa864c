"""Faults in what a person wrote: one line each, all of them at once, never a traceback.

InputError            the files given cannot be used; carries every fault found
└── FileError         a file cannot be read as text at all
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

MOST_SHOWN = 50
"""Lines of one message: more faults than this have one cause, and the first lines show it."""

Path = tuple[str | int, ...]
"""Where a value stands in a file: keys and list positions from the top."""


@dataclass(frozen=True)
class Problem:
    """One fault: where it is, what was read, what was expected, and what to do.

    ``expected`` continues the sentence that ``read`` begins (``"23,4 kN"`` ``is not a quantity``); ``hint``
    is a sentence of its own. ``line`` is None where the fault is the file itself.
    """

    file: str
    line: int | None
    key: str
    read: str
    expected: str
    hint: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        said = " ".join(part for part in (self.read, self.expected) if part)
        key = f"{self.key}: " if self.key else ""
        hint = f". {self.hint}" if self.hint else ""
        text = f"{place}  {key}{said}{hint}"
        # Names come from files: whatever could break the line or steer a terminal becomes a space.
        return text if text.isprintable() else "".join(c if c.isprintable() else " " for c in text)


class InputError(Exception):
    """The files given cannot be used. ``problems`` holds every fault; the message is one line for each."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        lines = [str(problem) for problem in self.problems[:MOST_SHOWN]]
        if (rest := len(self.problems) - MOST_SHOWN) > 0:
            lines.append(f"and {rest} more faults")
        return "\n".join(lines)


class FileError(InputError):
    """A file cannot be read as text: missing, a folder, not allowed, not UTF-8, binary or too large."""

    def __init__(self, file: str, expected: str, hint: str = "", line: int | None = None) -> None:
        super().__init__([Problem(file, line, "", "", expected, hint)])


class QuantityError(ValueError):
    """A value is not what its key wants; the loader that knows file and line makes a ``Problem`` of it."""

    def __init__(self, read: str, expected: str, hint: str = "") -> None:
        self.read, self.expected, self.hint = read, expected, hint
        super().__init__(f"{read} {expected}" + (f". {hint}" if hint else ""))


def key_text(path: Sequence[str | int]) -> str:
    """Return a path as people write it: ``settings.military.thrust.values[3]``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def shown(value: Any) -> str:
    """Return a value as a message quotes it: text in quotes and cut short, a collection by its sort."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case str():
            text = value if len(value) <= 60 else value[:57] + "..."
            return '"' + text.replace("\n", " ").replace('"', "'") + '"'
        case float():
            return f"{value:.10g}" if math.isfinite(value) else str(value)
        case int():
            return str(value) if abs(value) < 10**20 else "a very long number"
        case dict():
            return "a mapping"
        case list() | tuple():
            return "a list"
        case _:
            return f"a {type(value).__name__}"


def suggestion(word: str, choices: Iterable[str]) -> str:
    """Return ``Did you mean ...?`` with the nearest of the choices, or an empty text if none is near."""
    by_case = {choice.casefold(): choice for choice in choices}
    near = difflib.get_close_matches(word.casefold()[:80], by_case, n=2, cutoff=0.6)
    names = [f'"{by_case[name]}"' for name in near]
    # The first only, unless the second is about as near: two good guesses beat one wrong one.
    if len(names) == 2:
        first, second = (difflib.SequenceMatcher(None, word.casefold()[:80], name).ratio() for name in near)
        names = names if first - second < 0.1 else names[:1]
    return f"Did you mean {' or '.join(names)}?" if names else ""


def listed(words: Iterable[str], most: int = 12) -> str:
    """Return words joined by commas, cut after ``most``."""
    names = list(words)
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def choice_hint(word: str, choices: Iterable[str], what: str) -> str:
    """Return the nearest choice, or failing one the list of all: ``Known tanks: front, rear``."""
    known = list(choices)
    return suggestion(word, known) or (f"Known {what}: {listed(known)}" if known else f"There are no {what}")
