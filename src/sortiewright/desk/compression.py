"""Text sent compressed to browsers that take it: a tablet then gets a page in a third of the bytes.

Only what is whole goes through here: an event stream, or anything else sent piece by piece, passes untouched.
Compressed size tells a listener about what is said (the attack called BREACH, 2013), where a secret stands in
a page beside words of the asker's. The only secret in any page of ours is the join code, and the pages
that show or take it are left as they are.
"""

from __future__ import annotations

import asyncio
import zlib

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LEAST = 1000  # bytes; less fits into one packet anyway
LEVEL = 5
"""Of zlib's 9: a page takes 2 ms; the best saves another twentieth in three times that."""
LARGE = 200_000  # bytes that are compressed in a thread
GZIP = 16 + zlib.MAX_WBITS  # zlib's number for the format of RFC 1952
MOST_KEPT = 64
TEXTS = ("text/", "application/json", "application/yaml", "image/svg+xml")
LEFT_ALONE = frozenset({"/crew", "/crew/new-code", "/crew/present", "/join", "/run"})
"""Paths whose pages show the join code, or take it."""


class Compressed:
    """Compresses whole answers of text; files that never change, once."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._kept: dict[str, bytes] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, and compress what comes back if that helps."""
        if scope["type"] != "http" or scope["path"] in LEFT_ALONE or not takes_gzip(scope):
            await self.app(scope, receive, send)
            return
        start: Message | None = None

        async def compressed_send(message: Message) -> None:
            nonlocal start
            if message["type"] == "http.response.start":
                start = message
                return
            held, start = start, None
            if held is not None:
                message = await self._compressed(scope["path"], held, message)
                await send(held)
            await send(message)

        await self.app(scope, receive, compressed_send)
        if start is not None:  # an answer without any body
            await send(start)

    async def _compressed(self, path: str, start: Message, message: Message) -> Message:
        """Return the body compressed, and say so in the headers; both as they are where it does not help."""
        headers = MutableHeaders(scope=start)
        body: bytes = message.get("body", b"")
        is_text = headers.get("content-type", "").startswith(TEXTS)
        if message.get("more_body") or not is_text or "content-encoding" in headers:
            return message
        headers.add_vary_header("Accept-Encoding")
        if len(body) < LEAST:
            return message
        forever = start["status"] == 200 and "immutable" in headers.get("cache-control", "")
        made = self._kept.get(path) if forever else None
        if made is None:
            made = await asyncio.to_thread(gzip, body) if len(body) > LARGE else gzip(body)
        if forever and len(self._kept) < MOST_KEPT:
            self._kept[path] = made
        headers["Content-Encoding"], headers["Content-Length"] = "gzip", str(len(made))
        return {**message, "body": made}


def gzip(body: bytes) -> bytes:
    """Return bytes as a gzip without a time in it."""
    return zlib.compress(body, LEVEL, GZIP)


def takes_gzip(scope: Scope) -> bool:
    """Return whether an answer may come as gzip (RFC 9110, section 12.5.3)."""
    for part in Headers(scope=scope).get("accept-encoding", "").lower().split(","):
        name, _, weight = part.partition(";")
        if name.strip() in ("gzip", "x-gzip"):
            return weight.replace(" ", "").rstrip("0.") not in ("q=", "q")
    return False
