"""Server-sent events: one stream a page, fed by topics, bounded, and resumed after a break.

The format is that of the HTML standard, section 9.2 "Server-sent events". Every message has an id
``epoch-number``: the epoch is drawn when the server starts, so a page that comes back after a restart is told
to paint itself anew, and one that was away briefly gets what it missed.
"""

from __future__ import annotations

import asyncio
import secrets
import time
from collections import deque
from collections.abc import AsyncIterator, Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

BEAT = 1.0  # s; a page that hears nothing for two and a half knows that it is cut off
RETRY = 1000  # ms
MOST_WAITING = 64
"""Messages one page may be behind; then it is told to paint itself anew instead."""
MOST_REMEMBERED = 512
MOST_SUBSCRIBERS = 256
REPAINT = "repaint"
BEAT_EVENT = "beat"
CREW, CREW_EVENT = "crew", "crew-changed"
SETTLED_AFTER = 0.4  # s


@dataclass(frozen=True, slots=True)
class Viewer:
    """What the text of a message may depend on: the reader's seat and units."""

    seat: str
    units: Literal["trade", "si"]


Body = str | Callable[[Viewer], str]


@dataclass(frozen=True)
class Message:
    """One message: markup to be swapped in, or a named event with its data.

    ``event`` empty means markup (``<hx-partial>`` elements); else pages hear a DOM event of that name.
    ``latest`` names a value of which only the newest counts: an older one that waits is replaced.
    """

    number: int
    topic: str
    body: Body
    event: str = ""
    latest: str = ""
    _texts: dict[Viewer, str] = field(default_factory=dict[Viewer, str], repr=False, compare=False)

    def text(self, viewer: Viewer) -> str:
        """Return the body for one kind of reader; made once for all who read the same."""
        if isinstance(self.body, str):
            return self.body
        if viewer not in self._texts:
            self._texts[viewer] = self.body(viewer)
        return self._texts[viewer]


@dataclass(eq=False)
class Subscriber:
    """One open page: what it listens to, who reads it, and what waits to be sent."""

    topics: frozenset[str]
    viewer: Viewer
    visitor: str
    since: float
    waiting: deque[Message] = field(default_factory=deque[Message])
    woken: asyncio.Event = field(default_factory=asyncio.Event)
    behind: bool = False

    def put(self, message: Message) -> None:
        """Queue a message; too many waiting become one repaint."""
        if message.latest:
            kept = [one for one in self.waiting if (one.topic, one.latest) != (message.topic, message.latest)]
            self.waiting = deque(kept)
        if len(self.waiting) >= MOST_WAITING:
            self.waiting.clear()
            self.behind = True
        else:
            self.waiting.append(message)
        self.woken.set()


class Hub:
    """Passes messages to every page that listens to their topic."""

    def __init__(self, *, clock: Callable[[], float] = time.time) -> None:
        self.epoch = secrets.token_hex(4)
        self._clock = clock
        self._number = 0
        self._remembered: deque[Message] = deque(maxlen=MOST_REMEMBERED)
        self._subscribers: set[Subscriber] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closing = False
        self._announced: dict[str, Viewer] = {}
        self._announcing: asyncio.TimerHandle | None = None

    def publish(self, topic: str, body: Body = "", *, event: str = "", latest: str = "") -> None:
        """Send to every page that listens to ``topic``; call it in the server's own thread.

        ``body`` is markup, or the data of a named ``event``; as a function it is called once for each kind of
        reader. It may not be empty without an event.
        """
        self._number += 1
        message = Message(self._number, topic, body, event, latest)
        if latest:  # what is overtaken need not be replayed
            kept = [one for one in self._remembered if (one.topic, one.latest) != (topic, latest)]
            self._remembered = deque(kept, maxlen=MOST_REMEMBERED)
        self._remembered.append(message)
        for subscriber in self._subscribers:
            if topic in subscriber.topics:
                subscriber.put(message)

    def publish_from_thread(self, topic: str, body: Body = "", *, event: str = "", latest: str = "") -> None:
        """Send from another thread than the server's."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(lambda: self.publish(topic, body, event=event, latest=latest))

    def start(self) -> None:
        """Note the loop that the server runs in."""
        self._loop, self._closing = asyncio.get_running_loop(), False

    def close(self) -> None:
        """End every stream, so that the server can stop; pages will try to come back."""
        self._closing = True
        for subscriber in self._subscribers:
            subscriber.woken.set()

    @property
    def position(self) -> str:
        """The id of the last message: a page painted now goes on from here."""
        return f"{self.epoch}-{self._number}"

    @property
    def full(self) -> bool:
        """Whether no further page can listen."""
        return len(self._subscribers) >= MOST_SUBSCRIBERS

    def present(self) -> Mapping[str, Viewer]:
        """Return the visitors that have a page open."""
        return {one.visitor: one.viewer for one in sorted(self._subscribers, key=lambda one: one.since)}

    def pages_of(self, visitor: str) -> int:
        """Return how many pages of a visitor listen."""
        return sum(one.visitor == visitor for one in self._subscribers)

    async def stream(
        self, topics: Iterable[str], viewer: Viewer, visitor: str, last_id: str = ""
    ) -> AsyncIterator[str]:
        """Yield the text of a page's stream until the page goes or the server stops."""
        subscriber = Subscriber(frozenset(topics), viewer, visitor, self._clock())
        missed = self._missed(subscriber.topics, last_id)
        self._subscribers.add(subscriber)
        self._presence_changed()
        try:
            yield f"retry: {RETRY}\n\n" + self._beat()
            if missed is None:
                yield self._repaint()
            else:
                subscriber.waiting.extendleft(reversed(missed))
            while not self._closing:
                for message in self._taken(subscriber):
                    yield self._framed(message, viewer)
                if subscriber.behind:
                    subscriber.behind = False
                    yield self._repaint()
                try:
                    await asyncio.wait_for(subscriber.woken.wait(), BEAT)
                    subscriber.woken.clear()
                except TimeoutError:
                    yield self._beat()
        finally:
            self._subscribers.discard(subscriber)
            self._presence_changed()

    def _presence_changed(self) -> None:
        # Whoever goes from one page to the next is away for a moment only: that is no news.
        if self._announcing is None and not self._closing:
            self._announcing = asyncio.get_running_loop().call_later(SETTLED_AFTER, self._announce)

    def _announce(self) -> None:
        self._announcing = None
        now = dict(self.present())
        if now != self._announced:
            self._announced = now
            self.publish(CREW, str(len(now)), event=CREW_EVENT, latest=CREW_EVENT)

    def _taken(self, subscriber: Subscriber) -> list[Message]:
        taken = list(subscriber.waiting)
        subscriber.waiting.clear()
        return taken

    def _missed(self, topics: frozenset[str], last_id: str) -> list[Message] | None:
        """Return what came after a message; None where that cannot be told, and a repaint is due."""
        if not last_id:
            return []
        epoch, _, number = last_id.partition("-")
        if epoch != self.epoch or not (number.isascii() and number.isdecimal()) or len(number) > 15:
            return None
        last = int(number)
        oldest = self._remembered[0].number if self._remembered else self._number + 1
        if last > self._number or (last < oldest - 1 and len(self._remembered) == MOST_REMEMBERED):
            return None
        return [one for one in self._remembered if one.number > last and one.topic in topics]

    def _framed(self, message: Message, viewer: Viewer) -> str:
        return _event(message.event, message.text(viewer), f"{self.epoch}-{message.number}")

    def _repaint(self) -> str:
        return _event(REPAINT, "", self.position)

    def _beat(self) -> str:
        # With its id a page that never got a message still says from where it wants to go on.
        return _event(BEAT_EVENT, f"{self._clock():.3f}", self.position)


def _event(event: str, data: str, id: str) -> str:
    name = f"event: {event}\n" if event else ""
    lines = "".join(f"data: {line}\n" for line in data.splitlines() or [""])
    return f"id: {id}\n{name}{lines}\n"
