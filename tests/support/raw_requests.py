"""Requests to an application as bytes, without a client that would put them right, in a loop of its own."""

from __future__ import annotations

import asyncio
import logging
import threading
from dataclasses import dataclass
from urllib.parse import unquote

FAULTS = logging.ERROR


@dataclass(frozen=True)
class Asked:
    """One request: ``target`` and header values as they go over the wire, the body in pieces."""

    method: str
    target: bytes
    headers: tuple[tuple[bytes, bytes], ...] = ()
    body: tuple[bytes, ...] = ()
    client: str = "127.0.0.1"


@dataclass(frozen=True)
class Answered:
    """What came back: ``headers`` with small letters, in their order."""

    status: int
    headers: tuple[tuple[bytes, bytes], ...]
    body: bytes

    def header(self, name: str) -> str:
        return ", ".join(value.decode("latin-1") for key, value in self.headers if key.decode() == name)


class Faults(logging.Handler):
    """Keeps what is logged as an error, by whomever."""

    def __init__(self):
        super().__init__(FAULTS)
        self.found = []

    def emit(self, record):
        self.found.append(self.format(record))


class Running:
    """An application in a thread of its own; ``faults`` is everything it logged as an error."""

    def __init__(self, app):
        self.app, self._loop = app, asyncio.new_event_loop()
        self._handler, self._over = Faults(), asyncio.Event()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)

    def __enter__(self):
        logging.getLogger().addHandler(self._handler)
        self._thread.start()
        self._life = self.app.router.lifespan_context(self.app)
        self._in_loop(self._life.__aenter__(), 60)
        return self

    def __exit__(self, *_):
        self._in_loop(self._life.__aexit__(None, None, None), 60)
        self._in_loop(self._ended(), 60)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()
        logging.getLogger().removeHandler(self._handler)

    @property
    def faults(self):
        return self._handler.found

    def ask(self, asked, within=60):
        """Return what is answered; TimeoutError where nothing comes."""
        return self._in_loop(_answered(self.app, asked), within)

    def run(self, work, within=60):
        """Return what a coroutine of the application's own loop comes to."""
        return self._in_loop(work, within)

    def _in_loop(self, work, within):
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(within)

    async def _ended(self):
        others = [one for one in asyncio.all_tasks() if one is not asyncio.current_task()]
        for one in others:
            one.cancel()
        await asyncio.gather(*others, return_exceptions=True)
        await self._loop.shutdown_default_executor()


async def _answered(app, asked):
    path, _, query = asked.target.partition(b"?")
    scope = {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": asked.method,
        "scheme": "http",
        "path": unquote(path.decode("ascii")),  # as uvicorn does
        "raw_path": path,
        "query_string": query,
        "root_path": "",
        "headers": [(name.lower(), value) for name, value in asked.headers],
        "client": (asked.client, 50_000),
        "server": ("127.0.0.1", 4711),
        "state": {},
    }
    pieces = list(asked.body) or [b""]
    sent = []

    async def receive():
        if pieces:
            return {"type": "http.request", "body": pieces.pop(0), "more_body": bool(pieces)}
        await asyncio.sleep(0.02)  # whoever waits for a stream's end sees the visitor go
        return {"type": "http.disconnect"}

    async def send(message):
        sent.append(message)

    await app(scope, receive, send)
    starts = [one for one in sent if one["type"] == "http.response.start"]
    assert len(starts) <= 1, "two answers to one request"
    if not starts:
        return Answered(0, (), b"")
    body = b"".join(one.get("body", b"") for one in sent if one["type"] == "http.response.body")
    headers = tuple((bytes(name).lower(), bytes(value)) for name, value in starts[0].get("headers", ()))
    return Answered(starts[0]["status"], headers, body)
