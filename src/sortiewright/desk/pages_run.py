"""Run: today's checklists for two seats on two devices, on one log."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.gate import for_owner, visitor_of
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.pages_crew import join_place, picture_of
from sortiewright.desk.run_feed import LIVE
from sortiewright.desk.run_pages import book_context, sheet_context
from sortiewright.desk.run_proposals import OFFERED, WANTS_WORDS, Asked, Garbled, asked_of
from sortiewright.desk.run_room import (
    SAID,
    SHEET,
    SHEET_OF_BOTH,
    Outcome,
    room_of,
    standing_words,
    stem_of,
)
from sortiewright.desk.state import preferences_of
from sortiewright.link import PORT
from sortiewright.pack import InputError
from sortiewright.procedures import Already, Refusal

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

BOTH_COOKIE = "sortiewright_both_seats"
WAITED_FOR_LISTS = 0.4  # s; then the page says that they are being made
WAITED_FOR_RUN = 10.0  # s that a press waits for a run which is being read


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        room, opened = room_of(desk), await desk.opened()
        await room.awake(within=WAITED_FOR_LISTS)
        visitor, both = visitor_of(request), answers_for_both(request)
        (room.seats.both.add if both else room.seats.both.discard)(visitor.id)
        context = sheet_context(room, room.state, desk.viewer(request), both=both)
        if room.state is not None:
            context |= book_context(room.state)
        else:
            context |= await beginning(request, opened)
        topics = (SHEET_OF_BOTH if both else SHEET, SAID, LIVE)
        place = join_place(desk, request)
        return await desk.page(
            request,
            "run/page.html",
            here="run",
            title="Run",
            topics=topics,
            differs=differs(opened),
            place=place,
            code="" if visitor.seat == "watcher" else desk.code.code,
            picture=picture_of(f"http://{place}/join?code={desk.code.code}") if desk.options.lan else "",
            port=PORT,
            **context,
        )

    async def beginning(request: Request, opened: Opened) -> dict[str, Any]:
        room, units = room_of(desk), preferences_of(request).units
        kept = () if opened.plan is None else room.folder.kept(stem_of(opened))
        return {"today": await room.today(opened, units, within=WAITED_FOR_LISTS), "kept": kept}

    def differs(opened: Opened) -> bool:
        """Return whether the run in hand is of another sortie than the one that is open."""
        room = room_of(desk)
        return bool(room.id) and opened.plan is not None and not room.id.startswith(stem_of(opened))

    async def begin(request: Request) -> Response:
        room, opened = room_of(desk), await desk.opened()
        await room.awake()
        today = await room.today(opened, preferences_of(request).units)
        if today is None or today.lists is None:
            raise HTTPException(409, "" if today is None else today.fault)
        await room.begin(opened, today.lists)
        return RedirectResponse("/run", 303)

    async def go_on(request: Request) -> Response:
        room, form = room_of(desk), await request.form(max_files=0, max_fields=8)
        wanted = str(form.get("run", ""))[:200]
        try:
            found = await room.go_on(wanted, await desk.opened(), preferences_of(request).units)
        except InputError as fault:
            raise HTTPException(409, str(fault)) from None
        if not found:
            raise HTTPException(404, "There is no such run.")
        return RedirectResponse("/run", 303)

    async def put_away(request: Request) -> Response:
        await room_of(desk).put_away()
        return RedirectResponse("/run", 303)

    async def deeds(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        try:
            asked = asked_of(form.get("deed"), form.get("words", ""), form.get("id", ""))
        except Garbled as garbled:
            return answer(request, 400, "refused", str(garbled))
        return await done(request, asked)

    async def done(request: Request, asked: Asked) -> Response:
        room = room_of(desk)
        await room.awake(within=WAITED_FOR_RUN)
        if room.is_opening:
            return answer(request, 503, "later", "The run is still being read.")
        if room.state is None:
            return answer(request, 409, "refused", "No run is in hand: begin one.")
        if asked.seat not in room.own(visitor_of(request).seat, both=answers_for_both(request)):
            return answer(request, 403, "refused", "This device does not answer for that seat.")
        try:
            outcome = await room.propose(asked.deed, asked.seat, asked.identity)
        except InputError as fault:  # the log is held, or the disk is full: it may be sent again
            return answer(request, 503, "later", f"Not done. {fault}")
        return said(request, outcome)

    def said(request: Request, outcome: Outcome | None) -> Response:
        if outcome is None:
            return answer(request, 409, "refused", "No run is in hand: begin one.")
        if isinstance(outcome, Refusal):
            return answer(request, 409, "refused", outcome.reason)
        if isinstance(outcome, Already):
            return answer(request, 200, "already", outcome.words)
        return answer(request, 200, "done", "", outcome.seq)

    async def ask(request: Request) -> Response:
        deed = request.query_params.get("deed", "")[:400]
        kind = deed.partition(":")[0]
        if kind not in WANTS_WORDS or deed.count(":") != 4:
            raise HTTPException(404)
        return await desk.page(
            request,
            "run/ask_page.html",
            here="run",
            title="Run",
            deed=deed,
            asks=WANTS_WORDS[kind],
            offered=OFFERED[kind],
        )

    async def emergencies(request: Request) -> Response:
        room = room_of(desk)
        await room.awake(within=WAITED_FOR_RUN)
        if room.state is None:
            return RedirectResponse("/run", 303)
        context = sheet_context(room, room.state, desk.viewer(request), both=answers_for_both(request))
        context |= book_context(room.state)
        return await desk.page(request, "run/emergencies_page.html", here="run", title="Run", **context)

    async def both_seats(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        answered = RedirectResponse("/run", 303)
        if form.get("both") == "yes":
            answered.set_cookie(BOTH_COOKIE, "yes", httponly=True, samesite="strict")
        else:
            answered.delete_cookie(BOTH_COOKIE, httponly=True, samesite="strict")
        return answered

    async def start_listening(request: Request) -> Response:
        room, form = room_of(desk), await request.form(max_files=0, max_fields=8)
        port = str(form.get("port", ""))
        if not (port.isascii() and port.isdecimal() and len(port) < 6 and 1024 <= int(port) <= 65_535):
            raise HTTPException(400, "Port: a number from 1024 to 65535.")
        await room.recording.stop()  # what comes next is of another feed
        await room.feed.start(int(port), everywhere=form.get("from") == "network")
        room.repaint()
        return RedirectResponse("/run#feed", 303)

    async def stop_listening(request: Request) -> Response:
        room = room_of(desk)
        await room.recording.stop()
        await room.feed.stop()
        room.repaint()
        return RedirectResponse("/run#feed", 303)

    async def start_recording(request: Request) -> Response:
        room = room_of(desk)
        if not room.feed.is_on:
            raise HTTPException(409, "Listen to the simulation first: there is no feed to record.")
        await room.recording.start()
        room.repaint()
        return RedirectResponse("/run#feed", 303)

    async def stop_recording(request: Request) -> Response:
        room = room_of(desk)
        await room.recording.stop()
        room.repaint()
        return RedirectResponse("/run#feed", 303)

    return (
        Route("/run", page),
        Route("/run/begin", begin, methods=["POST"]),
        Route("/run/go-on", go_on, methods=["POST"]),
        Route("/run/away", put_away, methods=["POST"]),
        Route("/run/deeds", deeds, methods=["POST"]),
        Route("/run/ask", ask),
        Route("/run/emergencies", emergencies),
        Route("/run/both", both_seats, methods=["POST"]),
        Route("/run/listen", for_owner(start_listening), methods=["POST"]),
        Route("/run/stop-listening", for_owner(stop_listening), methods=["POST"]),
        Route("/run/record", for_owner(start_recording), methods=["POST"]),
        Route("/run/stop-recording", for_owner(stop_recording), methods=["POST"]),
    )


def answers_for_both(request: Request) -> bool:
    """Return whether a device answers for both seats: one screen for a crew, or somebody alone."""
    return request.cookies.get(BOTH_COOKIE) == "yes" and visitor_of(request).seat != "watcher"


def answer(request: Request, status: int, outcome: str, words: str, seq: int = 0) -> Response:
    """Return what became of a press: as data to a script, as a page to a form without one."""
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"outcome": outcome, "words": words, "seq": seq}, status)
    if status >= 400:
        raise HTTPException(status, words)
    return RedirectResponse("/run", 303)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return where the run stands."""
    room = room_of(desk)
    if room.state is None:
        return Standing()
    current = room.state.current
    procedure = None if current is None else room.state.checklists.by_id.get(current.procedure)
    special = procedure is not None and procedure.kind != "normal"
    return Standing(Level.CAUTION if special else Level.FINE, standing_words(room.state))


FAMILY = PageFamily("run", "Run", "4", routes, standing)
