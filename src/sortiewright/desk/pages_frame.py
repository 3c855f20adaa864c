"""What belongs to no part of the job: entering, joining, seats, colours, units, events, served files."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from sortiewright.desk.gate import SESSION_COOKIE, for_owner, visitor_of
from sortiewright.desk.guard import client_of
from sortiewright.desk.pages_crew import crew_routes
from sortiewright.desk.ribbon import stops
from sortiewright.desk.served_files import FOREVER
from sortiewright.desk.sessions import LIFETIME, Visitor, seat_named
from sortiewright.desk.state import SCHEME_COOKIE, UNITS_COOKIE, preferences_of

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

YEAR = 365 * 86_400  # s
MOST_PAGES_OF_ONE = 12
"""Pages that one visitor may have listening at once."""
CHOICES = {SCHEME_COOKIE: ("day", "night"), UNITS_COOKIE: ("trade", "si")}


def routes(desk: Desk) -> Sequence[Route]:
    """Return the frame's own routes."""

    async def home(request: Request) -> Response:
        return RedirectResponse("/prepare", 303)

    async def enter(request: Request) -> Response:
        if not desk.sessions.use_token(request.query_params.get("token", "")):
            if request.state.visitor is not None:  # the link again, in the browser that used it
                return RedirectResponse("/prepare", 303)
            raise HTTPException(403, "This link has been used, or is of another desk.")
        return let_in(desk, RedirectResponse("/prepare", 303), desk.sessions.new_visitor("front", owner=True))

    async def join_page(request: Request) -> Response:
        return join_form(desk, request, request.query_params.get("code", "")[:12])

    async def join(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        client = client_of(request.scope)
        if wait := desk.code.wait(client):
            raise HTTPException(
                429, "Too many wrong codes. Wait before the next one.", {"Retry-After": str(int(wait) + 1)}
            )
        if not desk.code.matches(str(form.get("code", ""))[:64], client):
            return join_form(desk, request, "", "That is not the code. It is on the desk's crew page.", 403)
        seat = seat_named(form.get("seat")) or "watcher"
        return let_in(desk, RedirectResponse("/run", 303), desk.sessions.new_visitor(seat))

    async def leave(request: Request) -> Response:
        left = RedirectResponse("/join", 303)
        left.delete_cookie(SESSION_COOKIE, httponly=True, samesite="strict")
        return left

    async def choose_scheme(request: Request) -> Response:
        return await chosen(request, SCHEME_COOKIE, "scheme")

    async def choose_units(request: Request) -> Response:
        return await chosen(request, UNITS_COOKIE, "units")

    async def take_seat(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        seat = seat_named(form.get("seat"))
        if seat is None:
            raise HTTPException(400, "There is no such seat.")
        moved = desk.sessions.moved(visitor_of(request), seat)
        return let_in(desk, RedirectResponse(page_before(request), 303), moved)

    async def open_sortie(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        if await desk.open(str(form.get("sortie", ""))) is None:
            raise HTTPException(404, "There is no such sortie on the shelf.")
        return RedirectResponse(page_before(request), 303)

    async def events(request: Request) -> Response:
        visitor = visitor_of(request)
        if desk.hub.full or desk.hub.pages_of(visitor.id) >= MOST_PAGES_OF_ONE:
            raise HTTPException(503, "Too many pages are open. Close one.", {"Retry-After": "2"})
        topics = request.query_params.get("topics", "")[:400].split(",")[:20]
        last = request.headers.get("last-event-id") or request.query_params.get("since", "")
        stream = desk.hub.stream(topics, desk.viewer(request), visitor.id, last[:40])
        return StreamingResponse(stream, media_type="text/event-stream")

    async def ribbon(request: Request) -> Response:
        opened = await desk.opened()
        here = request.query_params.get("here", "")
        found = stops(desk, opened, here)
        return await desk.fragment(request, "parts/head.html", ribbon=found, here=here)

    async def asset(request: Request) -> Response:
        found = desk.files.content(request.path_params["name"])
        if found is None:
            raise HTTPException(404)
        current = request.path_params["version"] == desk.files.version
        return Response(
            found[0], media_type=found[1], headers={"Cache-Control": FOREVER if current else "no-cache"}
        )

    async def stop_joining(request: Request) -> Response:
        desk.code.renew()
        desk.sessions.send_all_away()
        return let_in(desk, RedirectResponse("/crew", 303), visitor_of(request))

    return (
        Route("/", home),
        Route("/enter", enter),
        Route("/join", join_page),
        Route("/join", join, methods=["POST"]),
        Route("/leave", leave, methods=["POST"]),
        Route("/scheme", choose_scheme, methods=["POST"]),
        Route("/units", choose_units, methods=["POST"]),
        Route("/seat", take_seat, methods=["POST"]),
        Route("/sortie", open_sortie, methods=["POST"]),
        Route("/crew/new-code", for_owner(stop_joining), methods=["POST"]),
        Route("/events", events),
        Route("/ribbon", ribbon),
        Route("/assets/{version}/{name}", asset),
        *crew_routes(desk),
    )


def let_in(desk: Desk, response: Response, visitor: Visitor) -> Response:
    """Return the response with the visitor's cookie."""
    response.set_cookie(
        SESSION_COOKIE, desk.sessions.cookie(visitor), max_age=LIFETIME, httponly=True, samesite="strict"
    )
    return response


async def chosen(request: Request, cookie: str, field: str) -> Response:
    """Return to the page before, with a preference kept in its cookie."""
    form = await request.form(max_files=0, max_fields=8)
    wanted = form.get(field)
    if wanted not in CHOICES[cookie]:
        raise HTTPException(400, f"{field}: choose {' or '.join(CHOICES[cookie])}.")
    answer = RedirectResponse(page_before(request), 303)
    answer.set_cookie(cookie, str(wanted), max_age=YEAR, httponly=True, samesite="strict")
    return answer


def page_before(request: Request) -> str:
    """Return the path of the page that a form was sent from: always one of this desk."""
    before = urlsplit(request.headers.get("referer", ""))
    if before.netloc != request.headers.get("host") or not before.path.startswith("/"):
        return "/prepare"
    path = "/" + before.path.lstrip("/")  # "//host" would lead away
    return f"{path}?{before.query}" if before.query else path


def join_form(desk: Desk, request: Request, code: str, problem: str = "", status: int = 200) -> HTMLResponse:
    """Return the page on which a device joins."""
    scheme = preferences_of(request).scheme
    return HTMLResponse(desk.render("join.html", scheme=scheme, code=code, problem=problem), status)
