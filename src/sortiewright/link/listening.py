"""A UDP socket whose datagrams become updates: loopback unless told otherwise, one task, no threads."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import time
from collections.abc import Callable
from typing import Any, TypeAlias

from sortiewright.link.intake import Intake, Update

LOOPBACK = "127.0.0.1"
PORT = 4710
BUFFER = 4 * 1024 * 1024  # bytes asked of the system for what arrives while we are busy; it may give less
TICK = 0.1  # s

Take: TypeAlias = "Callable[[Update], None]"
Tick: TypeAlias = "Callable[[float], None]"


class _Door(asyncio.DatagramProtocol):
    """Hands each datagram to the intake, at once and in order."""

    def __init__(self, intake: Intake, take: Take, ended: asyncio.Future[None]) -> None:
        self._intake = intake
        self._take = take
        self._ended = ended

    def datagram_received(self, data: bytes, addr: Any) -> None:
        try:
            update = self._intake.take(data, addr, time.monotonic())
            if update is not None:
                self._take(update)
        except Exception as fault:  # ours, not the sender's: it must reach the caller, not the loop's log
            self._end(fault)

    def error_received(self, exc: Exception) -> None:
        # Windows tells a socket here that an earlier answer found nobody; it goes on.
        self._intake.counts.socket_errors += 1

    def connection_lost(self, exc: Exception | None) -> None:
        self._end(exc)

    def _end(self, fault: Exception | None) -> None:
        if self._ended.done():
            return
        if fault is None:
            self._ended.set_result(None)
        else:
            self._ended.set_exception(fault)


async def listen(
    intake: Intake,
    take: Take,
    *,
    host: str = LOOPBACK,
    port: int = PORT,
    seconds: float | None = None,
    tick: Tick | None = None,
    every: float = TICK,
    ready: Callable[[int], None] | None = None,
) -> None:
    """Listen until ``seconds`` have passed, or for good. Each update goes to ``take``.

    ``tick`` is called ``every`` so many s with the steady clock, ``ready`` once with the port; port 0 is any
    free one. What the callbacks raise is raised here. Raises ``OSError`` where the port cannot be had.
    """
    loop = asyncio.get_running_loop()
    ended: asyncio.Future[None] = loop.create_future()
    transport, _ = await loop.create_datagram_endpoint(
        lambda: _Door(intake, take, ended), sock=open_socket(host, port)
    )
    try:
        if ready is not None:
            ready(transport.get_extra_info("sockname")[1])
        await _until(ended, seconds, tick, every)
    finally:
        transport.close()
        if ended.done() and not ended.cancelled():
            ended.exception()  # asked for, so that the loop does not complain of it
        await asyncio.sleep(0)


async def _until(ended: asyncio.Future[None], seconds: float | None, tick: Tick | None, every: float) -> None:
    end = None if seconds is None else time.monotonic() + seconds
    while not ended.done():
        now = time.monotonic()
        if end is not None and now >= end:
            return
        wait = every if end is None else min(every, end - now)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(asyncio.shield(ended), wait)
        if tick is not None:
            tick(time.monotonic())
    ended.result()


def open_socket(host: str, port: int) -> socket.socket:
    """Return a bound UDP socket with as large a buffer as the system gives.

    Raises ``OSError`` that names host and port where it cannot be had.
    """
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_DGRAM)[0]
        made = socket.socket(family, kind, protocol)
    except OSError as error:
        raise OSError(error.errno, f"{error.strerror}", f"UDP {host} port {port}") from None
    try:
        made.setblocking(False)
        with contextlib.suppress(OSError):
            made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, BUFFER)
        made.bind(address)
    except OSError as error:
        made.close()
        raise OSError(error.errno, f"{error.strerror}", f"UDP {host} port {port}") from None
    return made
