"""The crew run that the desk holds: one log, one engine, every device's presses in the order they come.

The engine is used by one thread of its own, so that waiting for the disk keeps no page waiting. What pages
show is a frozen state; each change of it is drawn once for each kind of reader and sent to all of them.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar
from uuid import uuid4

from sortiewright.desk import debrief_jobs
from sortiewright.desk.event_stream import REPAINT, Viewer
from sortiewright.desk.run_feed import RunFeed
from sortiewright.desk.run_logs import RunFolder, run_stem
from sortiewright.desk.run_presence import SeatWatch
from sortiewright.desk.run_recording import FeedRecording
from sortiewright.desk.run_sheet import own_seats
from sortiewright.expressions import Expression, ExpressionError, channel_vocabulary, parse_expression
from sortiewright.pack import InputError
from sortiewright.procedures import (
    Already,
    CallOut,
    Checklists,
    CrewRun,
    Deed,
    Event,
    Joined,
    Left,
    Refusal,
    RunState,
    call_outs,
    load_procedures,
    tailor_checklists,
)

if TYPE_CHECKING:
    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk
    from sortiewright.sortie import System

log = logging.getLogger(__name__)

NAME = "run"
SHEET, SHEET_OF_BOTH = "run", "run-both"
"""Topics on which the sheet is sent: to devices with one seat, and to those that answer for both."""
SAID, SAID_EVENT = "run-said", "run-said"
LOOK_EVERY = 0.5  # s between looks at who is there and at what other programs have added to the log
LISTS_AT_ONCE = 4
"""Sorties whose tailored lists are remembered."""

Result = TypeVar("Result")
Outcome = Event | Refusal | Already


@dataclass(frozen=True, slots=True)
class Today:
    """The lists that the open sortie has now, or why it has none."""

    opened: Opened
    lists: Checklists | None
    fault: str = ""


class RunRoom:
    """Holds the run in hand for all devices. All methods are called in the server's thread."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.folder = RunFolder(desk.options.data_folder)
        self.feed = RunFeed(desk.hub)
        self.recording = FeedRecording(debrief_jobs.room_of(desk).shelf)
        self.feed.also = self.recording.take
        self.seats = SeatWatch()
        self.state: RunState | None = None
        self.said = ""
        """What there is to know about the run since it was taken in hand."""
        self._run: CrewRun | None = None
        self._worker = ThreadPoolExecutor(1, "crew-run")
        self._opening: asyncio.Task[None] | None = None
        self._watching: asyncio.Task[None] | None = None
        self._laying_down: asyncio.Task[None] | None = None
        self._tried = False
        self._today: dict[tuple[int, str], Today] = {}
        self._conditions: dict[tuple[str, str], Expression] = {}
        self._standing = ""

    # What there is

    @property
    def id(self) -> str:
        """The id of the run in hand; empty without one."""
        return "" if self._run is None else self._run.log.path.stem

    @property
    def is_opening(self) -> bool:
        """Whether the run that was in hand before a restart is still being read."""
        return not self._tried or (self._opening is not None and not self._opening.done())

    async def awake(self, *, within: float | None = None) -> None:
        """Take up what was in hand before the desk was started; wait so long for it, in s, or until it is."""
        if self._watching is None or self._watching.done():
            self._watching = asyncio.create_task(self._watch())
            self._laying_down = asyncio.create_task(
                self.recording.take_up(debrief_jobs.room_of(self.desk).tell)
            )
        if not self._tried and (self._opening is None or self._opening.done()):
            self._opening = asyncio.create_task(self._take_up())
        if self._opening is not None and not self._opening.done():
            with suppress(TimeoutError):
                await asyncio.wait_for(asyncio.shield(self._opening), within)

    async def today(self, opened: Opened, units: System, *, within: float | None = None) -> Today | None:
        """Return the lists of the open sortie, tailored once; None where that takes longer than so many s.

        The pages are painted anew when they are there.
        """
        known = self._today.get((id(opened), units))
        if known is not None and known.opened is opened:
            return known
        making = asyncio.ensure_future(asyncio.to_thread(self._made, opened, units))
        done, _ = await asyncio.wait({making}, timeout=within)
        if done:
            return making.result()
        making.add_done_callback(lambda _: self.repaint())
        return None

    def _made(self, opened: Opened, units: System) -> Today:
        made = _tailored(opened, units)
        self._today[id(opened), units] = made
        for old in list(self._today)[:-LISTS_AT_ONCE]:
            self._today.pop(old, None)
        return made

    # What is done with runs

    async def begin(self, opened: Opened, lists: Checklists) -> None:
        """Begin a new run of the open sortie; one that is in hand is put away."""
        await self._let_go()
        title, stem = _title(opened), stem_of(opened)
        run = await self._in_worker(lambda: self.folder.begin(lists, title, stem))
        await self._take(run, "")

    async def go_on(self, id: str, opened: Opened, units: System) -> bool:
        """Take up a run that is kept; whether there is one. Raises ``InputError`` where it cannot be used."""
        today = await self.today(opened, units)
        lists = None if today is None else today.lists
        await self._let_go()
        found = await self._in_worker(lambda: self.folder.go_on(id, lists, _title(opened)))
        if found is not None:
            await self._take(*found)
        return found is not None

    async def put_away(self) -> None:
        """Have no run in hand any more; its log stays where it is."""
        await self._let_go()
        await self._in_worker(self.folder.put_away)
        self.repaint()

    async def propose(self, deed: Deed, actor: str, identity: str) -> Outcome | None:
        """Return what became of a deed, once it is on the disk; None without a run.

        Raises ``InputError`` where the log cannot be written: the deed is not done and may be sent again.
        """
        run = self._run
        if run is None:
            return None
        outcome, after = await self._in_worker(lambda: (run.propose(deed, actor, identity), run.state))
        if run is self._run:
            self._moved(after)
        return outcome

    def own(self, seat: str, *, both: bool) -> tuple[str, ...]:
        """Return the seats of the run that a device answers for."""
        return () if self.state is None else own_seats(self.state, seat, both=both)

    # Behind it

    async def _in_worker(self, act: Callable[[], Result]) -> Result:
        return await asyncio.get_running_loop().run_in_executor(self._worker, act)

    async def _take_up(self) -> None:
        """Go on with the run that was in hand when the desk was last up."""
        try:
            id = await self._in_worker(self.folder.in_hand)
            if id:
                found = await self._in_worker(lambda: self.folder.go_on(id, None, id))
                if found is not None:
                    await self._take(*found)
        except InputError as fault:
            self.said = f"The run {fault}"
        except Exception:  # without it the desk could do nothing at all
            log.exception("taking up the run")
            self.said = "The run that was in hand could not be read: a fault of the program."
        finally:
            self._tried = True
            self.repaint()

    async def _take(self, run: CrewRun, said: str) -> None:
        tanks = await self._tanks()
        self._run, self.said, self._tried = run, said, True
        self.seats = SeatWatch(run.log.path, [key for key, _ in run.state.checklists.seats])
        self._conditions = await asyncio.to_thread(_conditions, run.state.checklists, tanks)
        self.state = None
        self._moved(run.state)
        self.repaint()

    async def _tanks(self) -> tuple[str, ...]:
        ready = self.desk.current.ready or await self.desk.opened()
        return () if ready.loaded is None else tuple(ready.loaded.pack.pack.mass.tanks)

    async def _let_go(self) -> None:
        await self.awake()
        run, self._run, self.state, self.said = self._run, None, None, ""
        if run is not None:
            self.seats.stop()
            await self._in_worker(run.close)

    def _moved(self, after: RunState) -> None:
        """Show a later state, and say what is called out on the way to it."""
        before, self.state = (
            self.state,
            after if self.state is None or after.seq >= self.state.seq else self.state,
        )
        if self.state is not after or (before is not None and before.seq == after.seq):
            return
        current = after.current
        names = {
            key[1]: one for key, one in self._conditions.items() if current and key[0] == current.procedure
        }
        self.feed.watch(names)
        self._news()
        if before is not None and (calls := call_outs(before, after)):
            data = json.dumps({"at": time.time(), "calls": [_said(one) for one in calls]}, ensure_ascii=False)
            self.desk.hub.publish(SAID, data, event=SAID_EVENT, latest=SAID)

    def repaint(self) -> None:
        """Have every page of the run painted anew: another run is in hand, or none."""
        for topic in (SHEET, SHEET_OF_BOTH):
            self.desk.hub.publish(topic, event=REPAINT, latest=topic)
        self._tell_ribbon()

    def _news(self) -> None:
        """Send every page the sheet as it is now."""
        from sortiewright.desk.run_pages import sheet_markup

        state = self.state
        for topic, both in ((SHEET, False), (SHEET_OF_BOTH, True)):

            def body(viewer: Viewer, both: bool = both) -> str:
                return sheet_markup(self.desk, self, state, viewer, both=both)

            self.desk.hub.publish(topic, body, latest=topic)
        self._tell_ribbon()

    def _tell_ribbon(self) -> None:
        words = standing_words(self.state)
        if words != self._standing:
            self._standing = words
            self.desk.ribbon_changed()

    async def _watch(self) -> None:
        while True:
            await asyncio.sleep(LOOK_EVERY)
            try:
                await self._look()
            except Exception:  # a disk that is full for a moment; the next look may do
                log.exception("watching the run")

    async def _look(self) -> None:
        run = self._run
        if run is None or self.state is None:
            return
        try:
            if await self._in_worker(run.refresh) and run is self._run:
                self._moved(run.state)
            here = self.seats.present(self.desk.hub.present(), self.own)
            for seat, joins in await self._in_worker(lambda: self.seats.changes(run.state, here)):
                await self.propose(Joined(seat) if joins else Left(seat), seat, uuid4().hex)
        except InputError:
            return  # the log is held by another program; whoever presses next is told


def room_of(desk: Desk) -> RunRoom:
    """Return the desk's room for the run."""
    room = desk.parts.get(NAME)
    if room is None:
        room = desk.parts[NAME] = RunRoom(desk)
    return room


def stem_of(opened: Opened) -> str:
    """Return how the log of a sortie's run is called."""
    date = opened.plan.time[:10] if opened.plan is not None else "undated"
    return run_stem(date, opened.entry.id)


def standing_words(state: RunState | None) -> str:
    """Return where the run stands, in a few words for the ribbon."""
    if state is None:
        return ""
    current = state.current
    if current is None:
        if state.over or not state.lists:
            return "over" if state.over else "begun"
        begun = {one.procedure for one in state.lists}
        is_through = all(one.id in begun for one in state.checklists.normal)
        return "all lists done" if is_through else "between lists"
    procedure = state.checklists.by_id.get(current.procedure)
    return "" if procedure is None else procedure.title


def _title(opened: Opened) -> str:
    plan = opened.plan
    if plan is None:
        return opened.entry.name
    return f"{plan.callsign}: {plan.title}" if plan.callsign else plan.title


def _tailored(opened: Opened, units: System) -> Today:
    if opened.loaded is None or opened.plan is None:
        return Today(opened, None, "The sortie has faults: mend them in Prepare, then begin.")
    try:
        procedures = load_procedures(opened.loaded.pack)
        return Today(opened, tailor_checklists(procedures, opened.loaded.sortie, opened.plan, units))
    except (InputError, ValueError) as fault:  # the pack has no lists, or the day cannot be read
        return Today(opened, None, str(fault))


def _conditions(lists: Checklists, tanks: tuple[str, ...]) -> dict[tuple[str, str], Expression]:
    """Return the condition by which a feed confirms an item, by list and item."""
    vocabulary = channel_vocabulary(tanks)
    found: dict[tuple[str, str], Expression] = {}
    for one in (*lists.normal, *lists.others):
        for item in one.items:
            if item.seen:
                with suppress(ExpressionError):  # of another pack's channels: nothing is seen there
                    found[one.id, item.id] = parse_expression(item.seen, vocabulary)
    return found


def _said(call: CallOut) -> dict[str, object]:
    return {"text": call.text, "seats": list(call.seats), "sort": call.sort}
