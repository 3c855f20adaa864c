"""What is done with a recording, each in a thread with steps: looking at its columns, and the debrief."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.desk.current import opened_sortie
from sortiewright.desk.debrief_kept import DebriefOrder, keep_order, order_in
from sortiewright.desk.debrief_shelf import KeptRecording, RecordingShelf
from sortiewright.desk.slow_work import Work

if TYPE_CHECKING:
    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk
    from sortiewright.recording import ChannelMap, ChannelSummary, Debrief, Proposal, Recording
    from sortiewright.sortie import LoadedSortie, System

NAME = "debrief"
TOPIC, EVENT = "debrief", "debrief-moved"
MOST_IN_MEMORY = 2
"""Recordings whose samples are held: an hour at 60 Hz with fifty channels takes some 90 MB."""
LOOK_STEPS, DEBRIEF_STEPS = 2, 5
Step = Callable[[str], None]


@dataclass(frozen=True)
class Look:
    """A recording's columns, and what they are taken for."""

    proposal: Proposal
    columns: tuple[str, ...]
    channel_map: ChannelMap
    recording: Recording | None
    """None where the map does not fit it; ``fault`` then says why."""
    summaries: tuple[ChannelSummary, ...] = ()
    fault: str = ""


@dataclass(frozen=True)
class Wanted:
    """With what a recording is debriefed."""

    sortie: LoadedSortie | None
    title: str
    units: System
    anyway: bool = False
    runway_start: tuple[float, float] | None = None
    sortie_id: str = ""
    sortie_text: str = ""

    def order(self, severities: tuple[str, ...] | None = None) -> DebriefOrder:
        """Return what is kept of it."""
        given = self.sortie_id, self.sortie_text, self.units
        return DebriefOrder(*given, self.anyway, self.runway_start, severities)


@dataclass(frozen=True)
class Made:
    """A debrief that was made, and with what."""

    debrief: Debrief
    wanted: Wanted

    def shown_in(self, units: System) -> Debrief:
        """Return it with its values said in these units."""
        return replace(self.debrief, units=units)

    @cached_property
    def severities(self) -> tuple[str, ...]:
        """How grave its findings are, the gravest first."""
        return tuple(one.severity for _, one in self.debrief.findings())


class DebriefRoom:
    """Everything about recordings, for all devices. All methods are called in the server's thread."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.shelf = RecordingShelf(desk.options.data_folder)
        self.looks: dict[str, Work[Look]] = {}
        self.debriefs: dict[str, Work[Made]] = {}
        self.reports: dict[tuple[str, str, str], bytes] = {}
        self._turn = asyncio.Semaphore(1)

    def look(self, kept: KeptRecording, *, again: bool = False) -> Work[Look]:
        """Return the look at a recording's columns, begun if it is new or ``again``."""
        found = self.looks.pop(kept.id, None)
        if found is None or again or found.state == "cancelled":
            if found is not None:
                found.cancel()
            found = Work[Look](LOOK_STEPS, self.tell)
            file, map_file, name = self.shelf.file(kept), self.shelf.map_file(kept), kept.name
            found.begin(lambda step: looked_at(file, map_file, name, step), _faults(), self._turn)
        self.looks[kept.id] = found
        self._forget(self.looks)
        return found

    def begin(self, kept: KeptRecording, wanted: Wanted) -> Work[Made]:
        """Begin the debrief of a recording; one that is under way is cancelled."""
        if (before := self.debriefs.pop(kept.id, None)) is not None:
            before.cancel()
        look = self.looks.get(kept.id)
        read = None if look is None or look.result is None else look.result.recording
        file, map_file, folder = self.shelf.file(kept), self.shelf.map_file(kept), self.shelf.place(kept)
        work = Work[Made](DEBRIEF_STEPS, self.tell)

        def make(step: Step) -> Made:
            keep_order(folder, wanted.order())
            recording = read or read_named(file, map_file, kept.name, step)
            made = debriefed(recording, wanted, step)
            keep_order(folder, wanted.order(made.severities))
            return made

        work.begin(make, _faults(), self._turn)
        self.debriefs[kept.id] = work
        for key in [one for one in self.reports if one[0] == kept.id]:
            del self.reports[key]
        self._forget(self.debriefs)
        return work

    async def resumed(self, kept: KeptRecording) -> Work[Made] | None:
        """Return the debrief of a recording, begun again by the order that was kept where it is not at hand.

        None where it was never debriefed, or its sortie is there no more.
        """
        if kept.id in self.debriefs:
            return self.debriefs[kept.id]
        order = await asyncio.to_thread(order_in, self.shelf.place(kept))
        wanted = None if order is None else await self._wanted_again(order)
        if wanted is None:
            return None
        return self.debriefs.get(kept.id) or self.begin(kept, wanted)  # others may have come meanwhile

    async def _wanted_again(self, order: DebriefOrder) -> Wanted | None:
        if not order.sortie_text:
            return Wanted(None, "", order.units, order.anyway, order.runway_start)
        entry = await asyncio.to_thread(self.desk.shelf.find, order.sortie_id)
        if entry is None:
            return None
        packs = self.desk.current.packs
        opened = await asyncio.to_thread(opened_sortie, entry, draft=order.sortie_text, packs=packs)
        if opened.plan is None:
            return None
        return wanted_of(opened, order.units, anyway=order.anyway, runway_start=order.runway_start)

    def made(self, id: str) -> Made | None:
        """Return the debrief of a recording if it is at hand."""
        work = self.debriefs.get(id)
        return None if work is None else work.result

    def forget(self, kept: KeptRecording) -> None:
        """Delete a recording, and stop what is being done with it."""
        for works in (self.looks, self.debriefs):
            if (work := works.pop(kept.id, None)) is not None:
                work.cancel()
        self.shelf.forget(kept)

    def _forget(self, works: dict[str, Work[Any]]) -> None:
        while len(works) > MOST_IN_MEMORY:
            works.pop(next(iter(works))).cancel()

    def tell(self) -> None:
        """Tell every page that something about recordings changed; from any thread."""
        self.desk.hub.publish_from_thread(TOPIC, "now", event=EVENT, latest=EVENT)
        self.desk.hub.publish_from_thread("ribbon", "now", event="ribbon-changed", latest="ribbon")


def room_of(desk: Desk) -> DebriefRoom:
    """Return the desk's debriefing room."""
    if NAME not in desk.parts:
        desk.parts[NAME] = DebriefRoom(desk)
    return desk.parts[NAME]


def wanted_of(
    opened: Opened,
    units: System,
    *,
    against: bool = True,
    anyway: bool = False,
    runway_start: tuple[float, float] | None = None,
) -> Wanted:
    """Return a debrief against the open sortie as it is now, or against none."""
    loaded = opened.loaded if against and opened.plan is not None else None
    if loaded is None or opened.plan is None:
        return Wanted(None, "", units, anyway, runway_start)
    return Wanted(loaded, opened.plan.title, units, anyway, runway_start, opened.entry.id, opened.text)


class _Named(Exception):
    """A fault of a recording, with its name in place of where it is kept."""


def looked_at(file: Path, map_file: Path, name: str, step: Step) -> Look:
    """Return what the columns of a recording are taken for: by its map if there is one, else as proposed."""
    from sortiewright.pack import InputError
    from sortiewright.recording import load_channel_map, map_text, proposed_map, read_recording, summarise

    step("looking at the columns")
    try:
        proposal = proposed_map(file)
    except InputError as error:
        raise _named(error, file, name) from None
    columns = _columns_of(proposal)
    channel_map = load_channel_map(map_file) if map_file.is_file() else proposal.channel_map()
    step("reading the samples")
    if not channel_map.channels:
        fault = "None of its columns can be told for a channel: choose them below."
        return Look(proposal, columns, channel_map, None, fault=fault)
    if not map_file.is_file():
        map_file.write_text(map_text(channel_map), "utf-8")
    try:
        recording = replace(read_recording(file, channel_map), name=name)
    except InputError as error:
        return Look(proposal, columns, channel_map, None, fault=str(_named(error, file, name)))
    return Look(proposal, columns, channel_map, recording, tuple(summarise(recording)))


def _columns_of(proposal: Proposal) -> tuple[str, ...]:
    wind = [proposal.wind.north.column, proposal.wind.east.column] if proposal.wind else []
    bound = [one.use.column for one in proposal.bindings]
    others = [name for one in proposal.bindings for name in one.others]
    return tuple(dict.fromkeys([proposal.time.column, *bound, *others, *wind, *proposal.unused]))


def read_named(file: Path, map_file: Path, name: str, step: Step) -> Recording:
    """Return a recording under the name that its file had."""
    from sortiewright.pack import InputError
    from sortiewright.recording import read_recording

    step("reading the samples")
    try:
        return replace(read_recording(file, map_file if map_file.is_file() else None), name=name)
    except InputError as error:
        raise _named(error, file, name) from None


def debriefed(recording: Recording, wanted: Wanted, step: Step) -> Made:
    """Return the debrief of a recording."""
    from sortiewright.recording import debrief

    made = debrief(
        recording,
        wanted.sortie,
        runway_start=wanted.runway_start,
        anyway=wanted.anyway,
        units=wanted.units,
        step=step,
    )
    step("laying it out")
    return Made(made, wanted)


def _named(error: Exception, file: Path, name: str) -> _Named:
    return _Named(str(error).replace(str(file), name).replace(file.name, name))


def _faults() -> tuple[type[Exception], ...]:
    from sortiewright.air import MetarError
    from sortiewright.pack import InputError, OutsideTable
    from sortiewright.sortie import SortieError

    return _Named, InputError, OutsideTable, SortieError, MetarError
