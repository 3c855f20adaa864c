"""Serving the desk: the port, this machine's names in its network, and a server that ends cleanly."""

from __future__ import annotations

import asyncio
import logging
import socket
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sortiewright.desk.options import LOOPBACK, DeskOptions
from sortiewright.desk.state import Desk

if TYPE_CHECKING:
    from types import FrameType

    import uvicorn
    from starlette.applications import Starlette

PORTS_TRIED = 20
EVERYWHERE = "0.0.0.0"
# An address of documentation (RFC 5737): to connect a UDP socket to it sends nothing, but chooses a way out.
SOMEWHERE = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Serving:
    """Where a desk is served: ``link`` lets whoever opens it first in, once."""

    address: str
    link: str


class PortTaken(Exception):
    """No port could be opened; says which were tried."""


def free_port(wanted: int, *, lan: bool = False, only: bool = False) -> int:
    """Return the wanted port, or the next free one after it; raises ``PortTaken`` if there is none.

    ``only`` takes no other than the wanted one.
    """
    tried = range(wanted, min(wanted + (1 if only else PORTS_TRIED), 65_536))
    for port in tried:
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as asked:
            if sys.platform != "win32":  # there it would let two servers share a port
                asked.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                asked.bind((EVERYWHERE if lan else LOOPBACK, port))
            except OSError:
                continue
            return port
    ports = f"port {wanted}" if only else f"ports {tried[0]} to {tried[-1]}"
    raise PortTaken(f"{ports}: in use by another program. Choose another: --port 8700")


def own_names() -> frozenset[str]:
    """Return the names and addresses by which other devices in the network reach this machine."""
    name = socket.gethostname().lower()
    found = {name, f"{name.partition('.')[0]}.local"}
    # Without a network nobody else is there.
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        asked.connect(SOMEWHERE)
        found.add(str(asked.getsockname()[0]))
    with suppress(OSError):  # a name that the network does not know
        found.update(str(one[4][0]) for one in socket.getaddrinfo(name, None, socket.AF_INET))
    return frozenset(found)


def serve_desk(
    app: Starlette, options: DeskOptions, ready: Callable[[Serving], None], *, seconds: float | None = None
) -> None:
    """Serve the desk until Ctrl-C, or for so many seconds; ``ready`` is called once it listens."""
    server_of(app, options, ready, seconds=seconds).run()


def server_of(
    app: Starlette, options: DeskOptions, ready: Callable[[Serving], None], *, seconds: float | None = None
) -> uvicorn.Server:
    """Return the server that ``serve_desk`` runs."""
    import uvicorn

    from sortiewright.desk.connections import patient_protocol

    desk: Desk = app.state.desk

    class Server(uvicorn.Server):
        """Ends the pages' streams first: otherwise it would wait for them for ever."""

        def end(self) -> None:
            desk.hub.close()
            self.should_exit = True

        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            desk.hub.close()
            super().handle_exit(sig, frame)

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                if seconds is not None:
                    asyncio.get_running_loop().call_later(seconds, self.end)
                address = f"http://{LOOPBACK}:{options.port}"
                ready(Serving(address, f"{address}/enter?token={desk.sessions.new_token()}"))

    # It would print a line for every form that somebody garbled.
    logging.getLogger("python_multipart").setLevel(logging.ERROR)
    patience = options.patience
    config = uvicorn.Config(
        app,
        host=EVERYWHERE if options.lan else LOOPBACK,
        port=options.port,
        http=patient_protocol(patience),
        ws="none",
        loop="asyncio",
        interface="asgi3",
        lifespan="on",
        log_level="error",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
        timeout_keep_alive=max(1, round(patience.idle)),
        # The last resort, where all of them are at work.
        limit_concurrency=patience.connections + 100,
    )
    return Server(config)
