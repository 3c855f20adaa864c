"""Cards."""

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
        return await desk.page(request, "cards/page.html", here="cards", title="Cards")

    return (Route("/cards", page),)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whether there are numbers to print."""
    return Standing(Level.NOTHING, "to print" if opened.plan is not None else "no numbers yet")


FAMILY = PageFamily("cards", "Cards", "3", routes, standing)
