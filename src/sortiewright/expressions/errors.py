"""Faults of an expression: all of them at once, each with the part of the text that it is about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault. ``expected`` goes on with the sentence that ``read`` begins; ``hint`` is a sentence."""

    start: int
    end: int
    """Characters of the text that it is about, ``text[start:end]``."""
    read: str
    expected: str
    hint: str = ""

    @property
    def message(self) -> str:
        """What is wrong, without the hint."""
        return " ".join(part for part in (self.read, self.expected) if part)


class ExpressionError(ValueError):
    """A text is not an expression. ``faults`` holds every fault, the first one first.

    ``start``, ``end``, ``message`` and ``hint`` are those of the first fault. ``str()`` shows the text, and
    for each fault a line of carets under the faulty part, with what is wrong and the hint.
    """

    def __init__(self, text: str, faults: Iterable[Fault]) -> None:
        self.text = text
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        first = self.faults[0]
        self.start, self.end, self.message, self.hint = first.start, first.end, first.message, first.hint
        super().__init__(text, self.faults)

    def __reduce__(self) -> tuple[type[ExpressionError], tuple[str, tuple[Fault, ...]]]:
        return ExpressionError, (self.text, self.faults)

    def __str__(self) -> str:
        lines = [self.text]
        for fault in self.faults:
            lines.append(" " * fault.start + "^" * max(1, fault.end - fault.start))
            lines.append(fault.message + (f". {fault.hint}" if fault.hint else ""))
        return "\n".join(_harmless(line) for line in lines)


def _harmless(line: str) -> str:
    """Return a line with a space for whatever could break it or steer a terminal; carets stay in place."""
    return "".join(sign if sign.isprintable() else " " for sign in line)
