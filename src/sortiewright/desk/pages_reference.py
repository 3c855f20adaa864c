"""Reference."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.page_family import Level, PageFamily, Standing

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        return await desk.page(request, "reference/page.html", here="reference", title="Reference")

    return (Route("/reference", page),)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whose book it is."""
    return Standing(Level.NOTHING, opened.loaded.pack.pack.name) if opened.loaded is not None else Standing()


FAMILY = PageFamily("reference", "Reference", "6", routes, standing)
