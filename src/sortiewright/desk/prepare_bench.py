"""What Prepare keeps between requests: a change at a time, the plan before it, the last good one."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sortiewright.desk.drafts import Draft, Step, draft_of
from sortiewright.desk.editing import Edit, edited
from sortiewright.desk.prepare_files import text_elsewhere
from sortiewright.desk.saving import ChangedOutside, save_copy, save_over

if TYPE_CHECKING:
    from pathlib import Path

    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk
    from sortiewright.sortie import LoadedSortie, Plan


@dataclass(frozen=True, slots=True)
class Seen:
    """The plans of one sortie: the last that could be made, and the one before the last change."""

    digest: str
    plan: Plan
    loaded: LoadedSortie | None
    before: Plan | None = None


class Bench:
    """Changes the sortie on the desk, a change at a time."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._lock = asyncio.Lock()
        self._seen: dict[str, Seen] = {}

    def seen(self, opened: Opened) -> Seen | None:
        """Note a state of the sortie and return its last good plan; None if there was never one."""
        last = self._seen.get(opened.entry.id)
        if opened.plan is not None and (last is None or last.plan is not opened.plan):
            before = None if last is None else last.plan
            if last is not None and last.digest == opened.digest:  # saved, or the pack was written again
                before = last.before
            last = Seen(opened.digest, opened.plan, opened.loaded, before)
            self._seen = {opened.entry.id: last}
        return last

    def draft(self, opened: Opened) -> Draft:
        """Return the draft of what is on the desk, beginning one if there is none."""
        kept = self._desk.drafts.find(opened.entry)
        if kept is None:
            return draft_of(opened.file_text)
        if kept.text == opened.text:
            return kept
        # All was saved, and then the file was changed by another program; or another page showed a draft.
        return replace(kept, base=opened.base_text).done(Step("change made elsewhere", opened.text))

    async def change(
        self,
        make: Callable[[Opened], tuple[Sequence[Edit], str]],
        *,
        key: str = "",
        joins: bool = False,
    ) -> Opened:
        """Make edits as one step and return what follows.

        ``make`` sees the sortie as it then is, and returns the edits and what they are in words. A step
        whose ``key`` is that of the last one is the same press sent again: nothing is done, unless it joins.

        Raises ``EditError``.
        """
        async with self._lock:
            opened = await self._desk.opened()
            draft = self.draft(opened)
            if key and not joins and draft.at and draft.steps[draft.at - 1].key == key:
                return opened
            edits, label = make(opened)
            text = await asyncio.to_thread(edited, draft.text, edits)
            return await self._take(opened, draft.done(Step(label, text, key), joins=joins))

    async def undo(self) -> Opened:
        """Take the last step back."""
        async with self._lock:
            opened = await self._desk.opened()
            return await self._take(opened, self.draft(opened).undone())

    async def redo(self) -> Opened:
        """Do the step again that was taken back last."""
        async with self._lock:
            opened = await self._desk.opened()
            return await self._take(opened, self.draft(opened).redone())

    async def revert(self) -> Opened:
        """Return to what the file holds, as a step that can be undone."""
        async with self._lock:
            opened = await self._desk.opened()
            draft = replace(self.draft(opened), base=opened.file_text)
            return await self._take(opened, draft.done(Step("return to the file", opened.file_text)))

    async def keep_mine(self) -> Opened:
        """Go on with the changes over what another program wrote; the next save replaces that."""
        async with self._lock:
            opened = await self._desk.opened()
            return await self._take(opened, replace(self.draft(opened), base=opened.file_text))

    async def save(self) -> Opened:
        """Write the draft to its file. Raises ``SaveError``: ``ChangedOutside`` if that lost work."""
        async with self._lock:
            opened = await self._desk.opened()
            draft = self.draft(opened)
            try:
                await asyncio.to_thread(save_over, opened.entry, draft.text, base=draft.base)
            except ChangedOutside:
                await self._desk.opened()
                raise
            # What the file now holds is no draft any more; the steps stay, to be undone.
            return await self._take(opened, replace(draft, base=draft.text))

    async def copy(self, name: str) -> Path:
        """Write the draft to a new file; the sortie it came from goes back to what its file holds."""
        async with self._lock:
            opened = await self._desk.opened()
            folder = self._desk.options.folder
            text = opened.text
            if folder is not None:
                text = await asyncio.to_thread(text_elsewhere, text, opened.entry.file, folder)
            file = await asyncio.to_thread(save_copy, folder, name, text)
            await asyncio.to_thread(self._desk.drafts.forget, opened.entry)
            await self._desk.drop_draft()
            return file

    async def _take(self, opened: Opened, draft: Draft) -> Opened:
        self.seen(opened)
        keeping = asyncio.create_task(asyncio.to_thread(self._desk.drafts.keep, opened.entry, draft))
        try:
            if draft.text == draft.base:
                return await self._desk.drop_draft()
            return await self._desk.show_draft(draft.text, draft.base)
        finally:
            await keeping  # written while the numbers are computed
