"""Debrief."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.page_family import PageFamily, Standing

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        return await desk.page(request, "debrief/page.html", here="debrief", title="Debrief")

    return (Route("/debrief", page),)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return the state of this part."""
    return Standing()


FAMILY = PageFamily("debrief", "Debrief", "5", routes, standing)
