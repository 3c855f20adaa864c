"""With what a recording was debriefed, and what was found: kept beside it, so that a restart loses neither.

The debrief itself is not kept: it is made again from the recording, its map and this, which takes seconds and
cannot come apart from them.
"""

from __future__ import annotations

import json
import logging
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from sortiewright.desk.atomic_write import write_whole

if TYPE_CHECKING:
    from sortiewright.sortie import System

log = logging.getLogger(__name__)

FILE = "debrief.json"
LARGEST = 2_000_000  # bytes: a sortie's text, and little else


@dataclass(frozen=True)
class DebriefOrder:
    """How a recording was debriefed last: against a sortie by its id, as its text then was, or against none.

    ``severities`` are those of its findings, worst first; None until it was done.
    """

    sortie_id: str
    sortie_text: str
    units: System
    anyway: bool = False
    runway_start: tuple[float, float] | None = None
    severities: tuple[str, ...] | None = None


def keep_order(folder: Path, order: DebriefOrder) -> None:
    """Keep an order in a recording's folder; one that cannot be written is only forgotten at the end."""
    try:
        write_whole(folder / FILE, json.dumps(asdict(order)).encode())
    except OSError as error:
        log.warning("how %s was debriefed is not kept: %s", folder.name, error)


def order_in(folder: Path) -> DebriefOrder | None:
    """Return the order kept in a recording's folder; None where there is none that can be read."""
    file = folder / FILE
    try:
        text = file.read_text("utf-8") if file.stat().st_size <= LARGEST else ""
        raw = cast("dict[str, Any]", json.loads(text))
        start, severities = raw["runway_start"], raw["severities"]
        return DebriefOrder(
            str(raw["sortie_id"]),
            str(raw["sortie_text"]),
            "si" if raw["units"] == "si" else "trade",
            raw["anyway"] is True,
            None if start is None else (float(start[0]), float(start[1])),
            None if severities is None else tuple(str(one) for one in severities),
        )
    except (OSError, ValueError, KeyError, TypeError, IndexError, RecursionError):
        return None
