"""The desk as one web application."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Mount

from sortiewright.desk import pages_frame
from sortiewright.desk.compression import Compressed
from sortiewright.desk.current import CurrentSortie
from sortiewright.desk.drafts import Drafts
from sortiewright.desk.gate import Gate
from sortiewright.desk.guard import Guard
from sortiewright.desk.opening import Parts
from sortiewright.desk.options import DeskOptions
from sortiewright.desk.refusals import FaultPage, http_refusal, refuser
from sortiewright.desk.sessions import Sessions
from sortiewright.desk.shelf import Shelf, ShelfEntry
from sortiewright.desk.state import Desk

log = logging.getLogger(__name__)

LOOK_EVERY = 1.0  # s between looks at the open sortie's file


def make_app(
    shelf: Shelf | None = None,
    options: DeskOptions | None = None,
    *,
    opened: Path | None = None,
    early: bool = False,
) -> Starlette:
    """Return the desk over a shelf of sorties, with the one in the file ``opened``, or the demo, open.

    ``early`` leaves the modules of the parts to be imported once the server runs; until then every page says
    that the sortie is being opened. ``app.state.desk`` is the ``Desk``.
    """
    options = options or DeskOptions()
    shelf = shelf or Shelf(options.folder)

    def first() -> ShelfEntry:
        return (None if opened is None else shelf.entry_of(opened)) or shelf.demo()

    drafts = Drafts(options.data_folder)
    current = CurrentSortie(first, drafts.recall)
    desk = Desk(options, shelf, current, Sessions(options.data_folder), drafts=drafts)
    refuse = refuser(desk)
    parts = Parts(desk)
    if not early:
        parts.load()
    app = Starlette(
        routes=[*pages_frame.routes(desk), Mount("/", parts)],
        middleware=[
            Middleware(
                Guard,
                hosts=options.hosts,
                uploads=parts.uploads,
                refuse=refuse,
                patience=options.patience,
            ),
            Middleware(Compressed),
            Middleware(FaultPage, refuse=refuse),
            Middleware(Gate, sessions=desk.sessions, refuse=refuse),
        ],
        exception_handlers={HTTPException: http_refusal(refuse)},
        lifespan=_lifespan,
    )
    app.state.desk, app.state.parts = desk, parts
    return app


@asynccontextmanager
async def _lifespan(app: Starlette) -> AsyncGenerator[None, None]:
    desk: Desk = app.state.desk
    desk.hub.start()
    watching = asyncio.create_task(_watch(desk, app.state.parts))
    try:
        yield
    finally:
        watching.cancel()
        with suppress(asyncio.CancelledError):
            await watching
        desk.hub.close()


async def _watch(desk: Desk, parts: Parts) -> None:
    """Load the parts and compute the sortie, then compute it again whenever its file is changed outside."""
    loaded = False
    while True:
        try:
            if loaded:
                await desk.opened()
            else:
                loaded = True
                await parts.open()
        except Exception:  # the pages say that something is wrong; the desk goes on looking
            log.exception("opening the sortie")
        await asyncio.sleep(LOOK_EVERY)
