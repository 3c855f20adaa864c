"""A recording sent as a live feed, at its own pace or any other."""

from __future__ import annotations

import asyncio
import math
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sortiewright.link.channel_values import CLOCK, Value
from sortiewright.link.listening import LOOPBACK, PORT
from sortiewright.link.messages import hello_text, sample_texts
from sortiewright.link.rows import Row
from sortiewright.pack import CHANNELS

HELLO_EVERY = 1.0  # s
SHORTEST_WAIT = 0.001  # s; moments that are nearer go out together


@dataclass(slots=True)
class Sent:
    """What was sent."""

    rows: int = 0
    datagrams: int = 0
    hellos: int = 0
    socket_errors: int = 0
    """Times that the system told that nobody listens there."""
    behind: float = 0.0
    """The most that a row went out after its time, s."""


def rows_of_columns(columns: Mapping[str, Any]) -> Iterator[Row]:
    """Yield the rows of columns that have ``time``: arrays of SI numbers, truths as 0 and 1, words.

    NaN and the empty word are None: not known. Columns that are no channels are left out.
    """
    names = [name for name in columns if name in CHANNELS and name != CLOCK]
    lists = [_values(name, _listed(columns[name])) for name in names]
    for row, at in enumerate(_listed(columns[CLOCK])):
        yield Row(float(at), {name: column[row] for name, column in zip(names, lists, strict=True)})


def _listed(column: Any) -> list[Any]:
    return column.tolist() if hasattr(column, "tolist") else list(column)


def _values(name: str, column: list[Any]) -> list[Value]:
    kind = CHANNELS[name].kind
    if kind == "choice":
        return [one or None for one in column]
    known = (None if one is None or math.isnan(one) else one for one in column)
    if kind == "truth":
        return [None if one is None else bool(one) for one in known]
    return [None if one is None else float(one) for one in known]


async def replay(
    rows: Iterator[Row],
    *,
    host: str = LOOPBACK,
    port: int = PORT,
    rate: float = 1.0,
    seconds: float | None = None,
    sender: str = "",
    progress: Callable[[Row, Sent], None] | None = None,
) -> Sent:
    """Send rows as samples, each at its time divided by ``rate``; stop after ``seconds`` of the recording.

    Raises ``ValueError`` for a rate that is not positive, ``OSError`` for a host that is not to be found.
    """
    if not (rate > 0.0 and math.isfinite(rate)):
        raise ValueError(f"a rate must be a positive number, got {rate:g}")
    sent = Sent()
    loop = asyncio.get_running_loop()
    transport, _ = await loop.create_datagram_endpoint(lambda: _Outlet(sent), remote_addr=(host, port))
    try:
        await _send_all(transport, rows, rate, seconds, hello_text(1, {}, sender), sent, progress)
        await asyncio.sleep(0)  # so that what the system has to say of the last one is heard
    finally:
        transport.close()
    return sent


async def _send_all(
    transport: asyncio.DatagramTransport,
    rows: Iterator[Row],
    rate: float,
    seconds: float | None,
    hello: bytes,
    sent: Sent,
    progress: Callable[[Row, Sent], None] | None,
) -> None:
    begun, first, said_hello, sequence = time.monotonic(), None, -math.inf, 0
    for row in rows:
        first = row.time if first is None else first
        if seconds is not None and row.time - first > seconds:
            return
        due = begun + (row.time - first) / rate
        if (wait := due - time.monotonic()) > SHORTEST_WAIT:
            await asyncio.sleep(wait)
        elif sent.rows % 16 == 0:
            await asyncio.sleep(0)
        now = time.monotonic()
        sent.behind = max(sent.behind, now - due)
        if now - said_hello >= HELLO_EVERY:
            transport.sendto(hello)
            said_hello, sent.hellos = now, sent.hellos + 1
        for datagram in sample_texts(row.time, sequence, row.values):
            transport.sendto(datagram)
            sequence += 1
        sent.rows, sent.datagrams = sent.rows + 1, sequence
        if progress is not None:
            progress(row, sent)


class _Outlet(asyncio.DatagramProtocol):
    def __init__(self, sent: Sent) -> None:
        self._sent = sent

    def error_received(self, exc: Exception) -> None:
        self._sent.socket_errors += 1
