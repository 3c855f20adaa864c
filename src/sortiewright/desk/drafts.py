"""Unsaved changes of sorties: every step of them, and where in them one is; kept beside the cookies' key."""

from __future__ import annotations

import json
import logging
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.desk.atomic_write import write_whole

if TYPE_CHECKING:
    from sortiewright.desk.shelf import ShelfEntry

log = logging.getLogger(__name__)

MOST_STEPS = 100
LARGEST_DRAFT_FILE = 20_000_000  # bytes; a hundred steps of a long sortie have some 600,000
FOLDER = "drafts"


@dataclass(frozen=True, slots=True)
class Step:
    """One change: what was done, in words, and the whole text after it. ``key`` is what it was done to."""

    label: str
    text: str
    key: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """The text of a sortie's file as it was, and the changes since: those done, and those taken back.

    ``base`` is what the file holds as far as this draft knows: what a save may replace without asking.
    ``start`` is the text before the first step that is still known.
    """

    base: str
    start: str
    steps: tuple[Step, ...] = ()
    at: int = 0

    @property
    def text(self) -> str:
        """The sortie's text as it is now."""
        return self.steps[self.at - 1].text if self.at else self.start

    @property
    def undoes(self) -> str:
        """What undo would take back, in words; empty where there is nothing."""
        return self.steps[self.at - 1].label if self.at else ""

    @property
    def redoes(self) -> str:
        """What redo would do again."""
        return self.steps[self.at].label if self.at < len(self.steps) else ""

    def done(self, step: Step, *, joins: bool = False) -> Draft:
        """Return the draft after one more step; what was taken back is forgotten.

        With ``joins`` a step on the same key as the last takes its place: a slider is one change.
        """
        if step.text == self.text:
            return self
        kept = self.steps[: self.at]
        if joins and kept and step.key and kept[-1].key == step.key and self.at == len(self.steps):
            kept = kept[:-1]
        start = self.start
        if len(kept) >= MOST_STEPS:
            start, kept = kept[0].text, kept[1:]
        return replace(self, start=start, steps=(*kept, step), at=len(kept) + 1)

    def undone(self) -> Draft:
        """Return the draft before its last step."""
        return replace(self, at=max(self.at - 1, 0))

    def redone(self) -> Draft:
        """Return the draft after the step that was taken back last."""
        return replace(self, at=min(self.at + 1, len(self.steps)))


def draft_of(text: str) -> Draft:
    """Return a draft that changes nothing yet."""
    return Draft(text, text)


def to_json(draft: Draft) -> str:
    """Return a draft as the text of a file."""
    steps = [{"label": one.label, "key": one.key, "text": one.text} for one in draft.steps]
    return json.dumps({"base": draft.base, "start": draft.start, "at": draft.at, "steps": steps})


def from_json(text: str) -> Draft | None:
    """Return the draft that a file holds; None where it is none."""
    try:
        data: Any = json.loads(text)
        steps = tuple(Step(str(one["label"]), str(one["text"]), str(one["key"])) for one in data["steps"])
        at = int(data["at"])
        draft = Draft(str(data["base"]), str(data["start"]), steps[:MOST_STEPS], at)
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return draft if 0 <= at <= len(draft.steps) else None


class Drafts:
    """The drafts of all sorties, by the sortie's id; in a folder where there is one."""

    def __init__(self, data_folder: Path | None = None) -> None:
        self._folder = None if data_folder is None else data_folder / FOLDER
        self._kept: dict[str, Draft] = {}

    def find(self, entry: ShelfEntry) -> Draft | None:
        """Return the draft of a sortie, None if there is none."""
        if entry.id not in self._kept and (file := self._file(entry)) is not None:
            try:
                text = file.read_text("utf-8") if file.stat().st_size <= LARGEST_DRAFT_FILE else ""
            except (OSError, UnicodeDecodeError):
                text = ""
            if (found := from_json(text)) is not None:
                self._kept[entry.id] = found
        return self._kept.get(entry.id)

    def recall(self, entry: ShelfEntry) -> tuple[str, str] | None:
        """Return the unsaved text of a sortie and its base; None where all is saved."""
        draft = self.find(entry)
        return None if draft is None or draft.text == draft.base else (draft.text, draft.base)

    def keep(self, entry: ShelfEntry, draft: Draft) -> None:
        """Keep a draft; one that cannot be written is kept as long as the server lives."""
        self._kept[entry.id] = draft
        if (file := self._file(entry)) is None:
            return
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            write_whole(file, to_json(draft).encode())
        except OSError as error:
            log.warning("the draft of %s is not kept: %s", entry.name, error)

    def forget(self, entry: ShelfEntry) -> None:
        """Forget the draft of a sortie."""
        self._kept.pop(entry.id, None)
        if (file := self._file(entry)) is not None:
            try:
                file.unlink(missing_ok=True)
            except OSError as error:
                log.warning("the draft of %s is still there: %s", entry.name, error)

    def _file(self, entry: ShelfEntry) -> Path | None:
        # An id is made by the shelf from letters, digits and dashes.
        return None if self._folder is None else self._folder / f"{entry.id}.json"
