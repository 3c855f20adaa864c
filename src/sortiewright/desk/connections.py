"""Connections that say nothing, or too little, or never listen: each ends after a while.

A server waits for as long as it is let; RFC 9110, section 15.5.9 and RFC 9112, section 9.5 leave it to the
server when to lose patience. Its time for a request runs from the connection's begin, or from the answer
before, whatever trickles in meanwhile, so that one byte now and then keeps nothing open.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any, ClassVar, cast

from uvicorn.protocols.http.h11_impl import H11Protocol

from sortiewright.desk.options import Patience

FULL = (
    b"HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nRetry-After: 5\r\n"
    b"Content-Type: text/plain; charset=utf-8\r\nContent-Length: 52\r\n\r\n"
    b"Too many connections are open from here. Close some."
)


class PatientProtocol(H11Protocol):
    """One connection of uvicorn's HTTP/1.1, with an end to waiting."""

    patience: ClassVar[Patience] = Patience()
    counts: ClassVar[Counter[str]] = Counter()
    """Connections by the address that they come from."""

    def __init__(self, *args: Any, **others: Any) -> None:
        super().__init__(*args, **others)
        self.host: str | None = None
        self.waiting_since = 0.0
        self.waiting: asyncio.TimerHandle | None = None
        self.stalled: asyncio.TimerHandle | None = None

    @property
    def is_answering(self) -> bool:
        """Whether a request is being answered."""
        cycle = cast("Any", self.cycle)  # None until the first
        return cycle is not None and not cycle.response_complete

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        host = self.client[0] if self.client else ""
        full = self.counts[host] >= self.patience.connections_of_one
        if full and not self._make_room(host):
            transport.write(FULL)
            transport.close()
            return
        self.host = host
        self.counts[host] += 1
        self._wait()
        if len(self.connections) > self.patience.connections:
            self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self._stop_waiting()
        self.resume_writing()
        if self.host is not None:
            self.counts[self.host] -= 1
            if not self.counts[self.host]:
                del self.counts[self.host]
            self.host = None

    def data_received(self, data: bytes) -> None:
        if self.host is None:
            return  # it was refused
        super().data_received(data)
        if self.is_answering:
            self._stop_waiting()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        if not self.is_answering:  # the next request may have been there already
            self._wait()

    def pause_writing(self) -> None:
        super().pause_writing()
        if self.stalled is None:
            self.stalled = self.loop.call_later(self.patience.stall, self._give_up)

    def resume_writing(self) -> None:
        super().resume_writing()
        if self.stalled is not None:
            self.stalled.cancel()
            self.stalled = None

    def _wait(self) -> None:
        self._stop_waiting()
        self.waiting_since = self.loop.time()
        self.waiting = self.loop.call_later(self.patience.request, self._give_up)

    def _stop_waiting(self) -> None:
        if self.waiting is not None:
            self.waiting.cancel()
            self.waiting = None

    def _give_up(self) -> None:
        self.transport.abort()  # what it was sent, if anything, it did not take

    def _make_room(self, host: str | None = None) -> bool:
        """End the connection, of one address or of all, that has waited longest without a request.

        It is the least loss: a browser opens another when it has something to ask. Whether there was one.
        """
        ours = [cast("PatientProtocol", one) for one in self.connections if one is not self]
        waiting = [one for one in ours if one.waiting is not None and host in (None, one.host)]
        if waiting:
            longest = min(waiting, key=lambda one: one.waiting_since)
            longest._stop_waiting()  # it is counted until it is gone, but it makes room once only
            longest._give_up()
        return bool(waiting)


def patient_protocol(patience: Patience) -> type[PatientProtocol]:
    """Return what a server speaks; the connections made with it are counted together."""

    class Patiently(PatientProtocol):
        pass

    Patiently.patience, Patiently.counts = patience, Counter()
    return Patiently
