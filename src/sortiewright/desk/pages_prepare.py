"""Prepare."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.ribbon import plan_standing

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        return await desk.page(request, "prepare/page.html", here="prepare", title="Prepare")

    return (Route("/prepare", page),)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whether the sortie's text can be read, and whether it is saved."""
    if opened.loaded is None:
        return plan_standing(opened)
    return Standing(Level.FINE, "not saved" if opened.is_draft else "ready")


FAMILY = PageFamily("prepare", "Prepare", "1", routes, standing)
