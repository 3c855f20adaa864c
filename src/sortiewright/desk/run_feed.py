"""The live feed of a run: a listener started from the page, and what its values say of the items.

A value that is older than two seconds is none: it is struck out, and confirms nothing.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sortiewright.desk.event_stream import Hub, Viewer
from sortiewright.desk.run_live_text import DIALS, short_name, value_text
from sortiewright.link import LOOPBACK, PORT, Intake, LiveState, Update, listen

if TYPE_CHECKING:
    from sortiewright.expressions import Expression
    from sortiewright.link import Value
    from sortiewright.sortie import System

log = logging.getLogger(__name__)

LIVE, LIVE_EVENT = "run-live", "run-live"
EVERYWHERE = "0.0.0.0"
EVERY = 0.1  # s between messages to the pages
STARTS_WITHIN = 2.0  # s in which a port is had or not


@dataclass(frozen=True, slots=True)
class Dial:
    """A value that is always shown; ``stale``: struck out."""

    title: str
    text: str
    stale: bool


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside an item: its values, whether they confirm it (None: unknown), if they are old."""

    text: str
    seen: bool | None
    stale: bool


@dataclass(frozen=True, slots=True)
class Live:
    """The feed at one moment, in the units of one reader."""

    state: str
    """off, waiting (nothing has come yet), live, lost."""
    sender: str = ""
    items: Mapping[str, Beside] = field(default_factory=dict[str, Beside])
    """By item of the list in hand."""
    dials: tuple[Dial, ...] = ()


class RunFeed:
    """Listens for a simulation and tells the pages ten times a second what it says."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self.also: Callable[[Update], None] | None = None
        """Who takes what comes besides: a recording."""
        self._task: asyncio.Task[None] | None = None
        self._beside: dict[str, Expression] = {}
        self._was_live = False
        self._clear()

    def _clear(self) -> None:
        self.intake, self.state = Intake(), LiveState()
        self.port, self.everywhere, self.fault = 0, False, ""

    @property
    def is_on(self) -> bool:
        """Whether it listens."""
        return self._task is not None and not self._task.done()

    def watch(self, conditions: Mapping[str, Expression]) -> None:
        """Set the conditions of the list in hand, by item."""
        self._beside = dict(conditions)

    async def start(self, port: int = PORT, *, everywhere: bool = False) -> None:
        """Listen at a port, of this machine only unless told otherwise; ``fault`` says why it does not."""
        await self.stop()
        self._clear()
        had: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        self._task = asyncio.create_task(self._listen(port, everywhere, had))
        with suppress(TimeoutError):
            self.port = await asyncio.wait_for(asyncio.shield(had), STARTS_WITHIN)
        self.everywhere = everywhere

    async def stop(self) -> None:
        """Stop listening."""
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task
        self._task = None

    async def _listen(self, port: int, everywhere: bool, had: asyncio.Future[int]) -> None:
        def ready(bound: int) -> None:
            if not had.done():
                had.set_result(bound)

        host = EVERYWHERE if everywhere else LOOPBACK
        try:
            await listen(
                self.intake, self._take, host=host, port=port, tick=self._tick, every=EVERY, ready=ready
            )
        except OSError as error:
            self.fault = f"Port {port} cannot be had: {error.strerror or error}. Choose another."
        except Exception:  # the run goes on without a feed
            log.exception("the live feed")
            self.fault = "The feed was stopped by a fault of the program."
        finally:
            ready(0)

    def _take(self, update: Update) -> None:
        if update.begins_anew:
            self.state.forget()
        self.state.take(update.values, update.time, update.arrived)
        if self.also is not None:
            self.also(update)

    def _tick(self, now: float) -> None:
        live = self.state.is_live(now)
        if live or self._was_live:
            self._tell(now)
        self._was_live = live

    def _tell(self, now: float) -> None:
        # Made when a page is sent it: what the feed says may have changed by then, for the better.
        made: dict[System, str] = {}

        def body(viewer: Viewer) -> str:
            if viewer.units not in made:
                made[viewer.units] = json.dumps(live_data(self.live(viewer.units)), ensure_ascii=False)
            return made[viewer.units]

        self._hub.publish(LIVE, body, event=LIVE_EVENT, latest=LIVE)

    def live(self, units: System, now: float | None = None) -> Live:
        """Return what the feed says now."""
        if not self.is_on:
            return Live("off")
        now = time.monotonic() if now is None else now
        if not self.state.latest:
            return Live("waiting", self._sender)
        fresh = self.state.values(now)
        items = {name: self._item(one, fresh, units) for name, one in self._beside.items()}
        kept = {name: beside for name, beside in items.items() if beside is not None}
        state = "live" if self.state.is_live(now) else "lost"
        return Live(state, self._sender, kept, tuple(self._dials(fresh, units)))

    @property
    def _sender(self) -> str:
        return self.intake.sender_name or self.intake.marking

    def _item(self, condition: Expression, fresh: Mapping[str, Value], units: System) -> Beside | None:
        channels = [name for name in sorted(condition.names) if name in self.state.latest]
        if not channels:
            return None
        texts = [value_text(name, self.state.latest[name].value, units) for name in channels]
        named = len(channels) > 1 or texts[0] in ("yes", "no")
        words = [f"{short_name(n)}: {t}" if named else t for n, t in zip(channels, texts, strict=True)]
        return Beside(", ".join(words), condition.truth(fresh), any(name not in fresh for name in channels))

    def _dials(self, fresh: Mapping[str, Value], units: System) -> Iterable[Dial]:
        for title, channels in DIALS:
            channel = next((one for one in channels if one in self.state.latest), None)
            if channel is not None:
                text = value_text(channel, self.state.latest[channel].value, units)
                yield Dial(title, text, channel not in fresh)


def live_data(live: Live) -> dict[str, Any]:
    """Return the feed as plain data."""
    return {
        "state": live.state,
        "items": {
            name: {"text": one.text, "seen": one.seen, "stale": one.stale} for name, one in live.items.items()
        },
        "dials": [{"title": one.title, "text": one.text, "stale": one.stale} for one in live.dials],
    }
