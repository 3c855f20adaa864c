"""The crew page: who is at the desk, and how further devices join."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.gate import visitor_of

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

SEAT_TITLES = {"front": "Front seat", "rear": "Rear seat", "watcher": "Watching"}


def crew_routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of the crew page."""

    async def crew(request: Request) -> Response:
        place = join_place(desk, request)
        address = f"http://{place}/join?code={desk.code.code}"
        return await desk.page(
            request,
            "crew/page.html",
            here="",
            title="Crew",
            place=place,
            code=desk.code.code,
            picture=picture_of(address) if desk.options.lan else "",
            lan=desk.options.lan,
            present=present(desk, visitor_of(request).id),
        )

    async def present_list(request: Request) -> Response:
        listed = present(desk, visitor_of(request).id)
        return await desk.fragment(request, "crew/present.html", present=listed)

    return (Route("/crew", crew), Route("/crew/present", present_list))


def present(desk: Desk, own: str) -> list[tuple[str, bool]]:
    """Return who has a page open: the seat's title, and whether it is this device."""
    return [(SEAT_TITLES[viewer.seat], id == own) for id, viewer in desk.hub.present().items()]


def join_place(desk: Desk, request: Request) -> str:
    """Return host and port at which other devices reach this desk."""
    names = sorted(name for name in desk.options.names if name[:1].isdigit() and name[:4] != "127.")
    if desk.options.lan and names:
        return f"{names[0]}:{desk.options.port}"
    return request.headers.get("host", "")


def picture_of(address: str) -> str:
    """Return an address as a QR code (ISO/IEC 18004), as the text of an SVG element without any style."""
    import segno  # only this page needs it

    return segno.make(address, error="m", micro=False).svg_inline(
        scale=6, border=4, svgclass="qr", lineclass="qr-dark", omitsize=True
    )
