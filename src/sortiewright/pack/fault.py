"""One inconsistency of a pack, before its file and line are known."""

from __future__ import annotations

from typing import NamedTuple

from sortiewright.pack.errors import Path


class Fault(NamedTuple):
    """What is wrong at a key path; ``expected`` continues the sentence that ``read`` begins."""

    path: Path
    read: str
    expected: str
    hint: str = ""
