"""What no page ever sees: requests for other hosts, from other sites, too large, or too many.

Host names are checked against DNS rebinding, and every change must come from a page of this very origin
(RFC 6454); the headers let a browser load nothing from elsewhere and run no inline script (W3C Content
Security Policy Level 3).
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Mapping
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sortiewright.desk.options import LOOPBACK_NAMES, Patience
from sortiewright.desk.rates import Rates

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not no-referrer: it would make browsers send "Origin: null" with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_BODY = 1_000_000  # bytes
NEVER_CAME = "The rest of what was sent never came."
_CHARSET = re.compile(r"charset\s*\*?=\s*\"?([^\s\";,]*)", re.IGNORECASE)
# Requests a second and at once from one address: a page with all its files is about 20.
USUAL_RATE = (60.0, 300.0)

Refuse = Callable[[Scope, int, str], Response]
"""Makes the page that says no: the request, the status, and a sentence."""


class BodyRefused(Exception):
    """A body went on after the most bytes that its path takes, or did not go on."""

    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.status, self.words = status, words


class Guard:
    """The outermost layer: lets through what is addressed to us, comes from us, and keeps to its measure."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        hosts: frozenset[str],
        uploads: Mapping[str, int],
        refuse: Refuse,
        patience: Patience,
    ) -> None:
        self.app, self._hosts, self._uploads, self._refuse = app, hosts, uploads, refuse
        self._patience = patience
        self._rates = Rates(*USUAL_RATE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request, pass it on, and put the headers on what comes back."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # no page of ours opens a web socket
            return
        headers = Headers(scope=scope)
        started = False

        async def guarded_send(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                _add_headers(MutableHeaders(scope=message), host_name(headers.get("host", "")))
            await send(message)

        if refusal := self._refusal(scope, headers):
            await refusal(scope, receive, guarded_send)
            return
        most = self._uploads.get(scope["path"], LARGEST_BODY)
        try:
            await self.app(scope, _measured(receive, most, self._patience), guarded_send)
        except BodyRefused as refused:
            if not started:
                await self._refuse(scope, refused.status, refused.words)(scope, receive, guarded_send)

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        host = headers.getlist("host")
        if len(host) != 1 or host_name(host[0]) not in self._hosts:
            return self._refuse(scope, 421, "This desk does not answer to that name.")
        if wait := self._rates.take(client_of(scope)):
            refused = self._refuse(scope, 429, "Too many requests. Wait a moment.")
            refused.headers["Retry-After"] = str(int(wait) + 1)
            return refused
        if not _from_our_pages(scope, headers, host[0]):
            return self._refuse(scope, 403, "The request came from a page that is not of this desk.")
        if not _is_utf_8(headers.get("content-type", "")):
            return self._refuse(scope, 415, "Forms are read as UTF-8 and nothing else.")
        length = headers.get("content-length", "0")
        most = self._uploads.get(scope["path"], LARGEST_BODY)
        if not (length.isascii() and length.isdecimal()):
            return self._refuse(scope, 400, "The request does not say how long it is.")
        return self._refuse(scope, 413, _too_large(most)) if int(length[:20]) > most else None


def client_of(scope: Scope) -> str:
    """Return the address that a request comes from."""
    client: Any = scope.get("client")
    return str(client[0]) if client else ""


def host_name(host: str) -> str:
    """Return the name in a Host header, without its port."""
    text = host.strip().lower()
    if text.startswith("["):
        return text[1:].partition("]")[0]
    return text.rpartition(":")[0] if text.count(":") == 1 else text


def _from_our_pages(scope: Scope, headers: Headers, host: str) -> bool:
    """Return whether a request comes from our own origin, as far as its kind needs it to."""
    site = headers.get("sec-fetch-site")
    if scope["method"] in SAFE_METHODS:
        # Somebody may follow a link to a page; nobody else may draw our pages and data into theirs.
        return site in (None, "same-origin", "none") or headers.get("sec-fetch-mode") == "navigate"
    origin = headers.get("origin")
    if origin is None:
        return site == "same-origin"
    return origin.lower() == f"{scope['scheme']}://{host.lower()}"


def _is_utf_8(content_type: str) -> bool:
    """Return whether a body is in UTF-8, as far as its type says.

    Every codec of Python goes by a name: one of them makes half characters, another takes no text at all.
    """
    found = _CHARSET.findall(content_type)
    return all(one.lower() in ("utf-8", "utf8", "us-ascii") for one in found)


def _too_large(most: int) -> str:
    return f"That is too large: at most {most / 1e6:g} MB are taken here."


def _measured(receive: Receive, most: int, patience: Patience) -> Receive:
    """Return ``receive`` that stops at the most bytes a body may have, and where it stays away too long.

    Only the time counts that was spent waiting for more, so whoever is slow with what came is not meant.
    """
    seen, waited, is_whole = 0, 0.0, False
    clock = asyncio.get_running_loop().time

    async def measured() -> Message:
        nonlocal seen, waited, is_whole
        if is_whole:  # what comes now is the visitor's going, whenever that is
            return await receive()
        begin = clock()
        left = patience.pause + seen / patience.slowest - waited
        try:
            async with asyncio.timeout(min(patience.pause, left)):
                message = await receive()
        except TimeoutError:
            words = "What was sent came too slowly." if left < patience.pause else NEVER_CAME
            raise BodyRefused(408, words) from None
        waited += clock() - begin
        seen += len(message.get("body", b""))
        if seen > most:
            raise BodyRefused(413, _too_large(most))
        is_whole = not message.get("more_body", False)
        return message

    return measured


def _add_headers(headers: MutableHeaders, host: str) -> None:
    for name, value in HEADERS.items():
        headers[name] = value
    if host in LOOPBACK_NAMES:  # browsers complain of it where a page is not from a trustworthy origin
        headers["Cross-Origin-Opener-Policy"] = "same-origin"
    if "cache-control" not in headers:
        headers["Cache-Control"] = "no-store"
