"""The parts of the job behind the frame: loaded while the first page is already shown."""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import BaseRoute, Router
from starlette.types import Receive, Scope, Send

from sortiewright.desk.event_stream import REPAINT
from sortiewright.desk.families import PARTS, load_families
from sortiewright.desk.state import Desk

TITLES = {name: title for name, title, _ in PARTS}


class Parts:
    """Serves every part of the job; until they are there, a page that says so and paints itself anew."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._router: Router | None = None
        self._ready = asyncio.Event()
        self.uploads: dict[str, int] = {}

    def load(self) -> None:
        """Import the parts' modules and take their routes."""
        self._take_routes()
        self._ready.set()

    def _take_routes(self) -> None:
        families = load_families()
        routes: list[BaseRoute] = [route for one in families for route in one.routes(self._desk)]
        for one in families:
            self.uploads.update(one.uploads)
        self._desk.families = families
        self._router = Router(routes, redirect_slashes=False)

    async def open(self) -> None:
        """Load what is not loaded yet, compute the sortie, and tell the pages that wait for it."""
        if self._router is not None:
            return
        try:
            await asyncio.to_thread(self._take_routes)
            await self._desk.opened()
        finally:  # a page that waits must not wait for ever, whatever went wrong
            self._ready.set()
            self._desk.hub.publish("plan", event=REPAINT)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request to its part."""
        if not self._ready.is_set():
            request = Request(scope)
            if request.method == "GET" and "hx-request" not in request.headers:
                await self._opening_page(request)(scope, receive, send)
                return
            await self._ready.wait()
        if self._router is None:
            raise RuntimeError("the parts of the desk could not be loaded; the log has said why")
        await self._router(scope, receive, send)

    def _opening_page(self, request: Request) -> HTMLResponse:
        here = request.scope["path"].strip("/").partition("/")[0]
        title = TITLES.get(here, "The desk")
        framed = self._desk.framed(request, None, here=here if here in TITLES else "", title=title, topics=())
        return HTMLResponse(self._desk.render("opening.html", **framed))
