"""Where each key of a pack's procedures stands: file and line."""

from __future__ import annotations

from dataclasses import dataclass, field

from sortiewright.pack import Problem, key_text

KeyPath = tuple[str | int, ...]
"""From the top: ``("controls", "battery", "at_start")``, ``("order", "invariants", 3)``,
``("procedures", "before_start", "items", 2, "when")``."""


@dataclass(frozen=True)
class ProcedurePlaces:
    """File and line of every key of ``controls.yaml``, ``order.yaml`` and the files of procedures."""

    lines: dict[KeyPath, tuple[str, int]] = field(default_factory=dict[KeyPath, tuple[str, int]], repr=False)

    def place(self, path: KeyPath) -> tuple[str, int | None]:
        """Return file and line of a key path, or of the nearest key above that is in a file."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, ("procedures", None))

    def where(self, *path: str | int) -> str:
        """Return file and line for messages: ``procedures/ground.yaml:41``."""
        file, line = self.place(path)
        return file if line is None else f"{file}:{line}"

    def problem(self, path: KeyPath, read: str, expected: str, hint: str = "") -> Problem:
        """Return a fault at a key path, whose key is written as in its file."""
        file, line = self.place(path)
        inner = path[1:] if path[:1] in (("order",), ("procedures",)) else path
        return Problem(file, line, key_text(inner), read, expected, hint)
