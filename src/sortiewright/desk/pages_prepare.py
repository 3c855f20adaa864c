"""Prepare: the sortie is chosen and edited, every number follows, and its file is written."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.editing import Edit, EditError
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.prepare_acts import (
    Act,
    chosen_after,
    edit_aerodrome,
    edit_fuel,
    edit_landing,
    edit_leg,
    edit_point,
    edit_release,
    edit_route,
    edit_runway,
    edit_station,
    edit_then,
    edit_value,
    edit_wind,
    edit_words,
    form_of,
    names_position,
    seen_mark,
    signature,
    text_in,
)
from sortiewright.desk.prepare_bench import Bench
from sortiewright.desk.prepare_board import PANELS, Asked, board_of
from sortiewright.desk.ribbon import plan_standing
from sortiewright.desk.saving import ChangedOutside, SaveError
from sortiewright.desk.state import preferences_of
from sortiewright.desk.weather_words import decoded

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

NAMES = tuple(name for name, _ in PANELS)
MOST_FIELDS = 60
LONGEST_CHOSEN = 60
SEEN_BEFORE = (
    "This was changed on another page meanwhile. Here it is as it is now: press again if it is still wanted."
)


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""
    bench = Bench(desk)
    desk.parts["prepare"] = bench

    async def page(request: Request) -> Response:
        at = request.path_params.get("panel", "load")
        if at not in NAMES:
            raise HTTPException(404)
        chosen = request.query_params.get(Asked(at).choosing, "")[:LONGEST_CHOSEN]
        return await drawn(request, Asked(at, chosen))

    async def drawn(request: Request, asked: Asked, status: int = 200) -> Response:
        opened = await desk.opened()
        seen, draft = bench.seen(opened), bench.draft(opened)
        units = preferences_of(request).units
        packs = desk.current.packs
        # Not in a thread: it takes a few ms, and waiting for others' work between would take longer.
        board = board_of(opened, draft, seen, packs, asked=asked, units=units)
        context: dict[str, Any] = {"board": board, "panels": PANELS, "entries": ()}
        if asked.at == "sorties":
            context["entries"] = tuple((one, one.title()) for one in desk.shelf.entries())
        if htmx(request):
            return await desk.fragment(request, "prepare/board.html", status=status, **context)
        return await desk.page(
            request, "prepare/page.html", here="prepare", title="Prepare", status=status, **context
        )

    async def answered(request: Request, asked: Asked, status: int = 200) -> Response:
        """Return the board after a change: in place for htmx, else by the page anew."""
        if asked.said or htmx(request):
            return await drawn(request, asked, 200 if htmx(request) else status)
        query = f"?{urlencode({asked.choosing: asked.chosen})}" if asked.chosen else ""
        return RedirectResponse(f"/prepare/{asked.at}{query}", 303)

    def changing(act: Act, *, joins: str = "") -> Callable[[Request], Awaitable[Response]]:
        """Return the endpoint of a form that edits; what it cannot do is said on the board."""

        async def endpoint(request: Request) -> Response:
            form = await request.form(max_files=0, max_fields=MOST_FIELDS)
            asked, path = asked_in(form), request.url.path
            seen, drag = text_in(form, "seen", 40), text_in(form, joins, 80) if joins else ""
            # The same press sent twice is done once: it carries the lists as its page had them.
            key = drag or (signature(path, form) if seen else "")

            def make(opened: Opened) -> tuple[Sequence[Edit], str]:
                now = seen_mark(form_of(opened), asked.at)
                if seen and now != seen and names_position(path, form):
                    raise EditError(SEEN_BEFORE)
                return act(form, opened)

            try:
                opened = await bench.change(make, key=key, joins=bool(drag))
            except EditError as error:
                beside = text_in(form, "beside", 120)
                typed = text_in(form, "value", 400) if beside else ""
                return await answered(
                    request, replace(asked, said=str(error), said_at=beside, typed=typed), 400
                )
            chosen = chosen_after(path, form, opened) if asked.at == "route" else asked.chosen
            return await answered(request, replace(asked, chosen=chosen[:LONGEST_CHOSEN]))

        return endpoint

    def stepping(step: Callable[[], Awaitable[Opened]]) -> Callable[[Request], Awaitable[Response]]:
        async def endpoint(request: Request) -> Response:
            form = await request.form(max_files=0, max_fields=MOST_FIELDS)
            try:
                await step()
            except ChangedOutside as error:
                return await answered(request, replace(asked_in(form), said=str(error)), 409)
            except SaveError as error:
                return await answered(request, replace(asked_in(form), said=str(error)), 400)
            return await answered(request, asked_in(form))

        return endpoint

    async def copy(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=MOST_FIELDS)
        try:
            file = await bench.copy(str(form.get("name", ""))[:200])
        except SaveError as error:
            return await answered(request, replace(asked_in(form), said=str(error)), 400)
        if (entry := desk.shelf.entry_of(file)) is not None:
            await desk.open(entry.id)
        return RedirectResponse("/prepare", 303)

    async def decode(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=MOST_FIELDS)
        report = str(form.get("value", ""))
        lines, remarks, problem = decoded(report, preferences_of(request).units)
        mark = "-landing" if text_in(form, "key", 60).startswith("/landing_place/") else ""
        return await desk.fragment(
            request,
            "prepare/decoded.html",
            lines=lines,
            remarks=remarks,
            problem=problem,
            decoded_id=f"decoded{mark}",
        )

    return (
        Route("/prepare", page),
        Route("/prepare/edit", changing(edit_value), methods=["POST"]),
        Route("/prepare/words", changing(edit_words), methods=["POST"]),
        Route("/prepare/station", changing(edit_station), methods=["POST"]),
        Route("/prepare/release", changing(edit_release), methods=["POST"]),
        Route("/prepare/fuel", changing(edit_fuel, joins="slides"), methods=["POST"]),
        Route("/prepare/aerodrome", changing(edit_aerodrome), methods=["POST"]),
        Route("/prepare/runway", changing(edit_runway), methods=["POST"]),
        Route("/prepare/landing", changing(edit_landing), methods=["POST"]),
        Route("/prepare/route-itself", changing(edit_route), methods=["POST"]),
        Route("/prepare/leg", changing(edit_leg), methods=["POST"]),
        Route("/prepare/then", changing(edit_then), methods=["POST"]),
        Route("/prepare/point", changing(edit_point), methods=["POST"]),
        Route("/prepare/wind", changing(edit_wind), methods=["POST"]),
        Route("/prepare/decode", decode, methods=["POST"]),
        Route("/prepare/undo", stepping(bench.undo), methods=["POST"]),
        Route("/prepare/redo", stepping(bench.redo), methods=["POST"]),
        Route("/prepare/revert", stepping(bench.revert), methods=["POST"]),
        Route("/prepare/keep-mine", stepping(bench.keep_mine), methods=["POST"]),
        Route("/prepare/save", stepping(bench.save), methods=["POST"]),
        Route("/prepare/copy", copy, methods=["POST"]),
        Route("/prepare/{panel}", page),
    )


def asked_in(form: FormData) -> Asked:
    """Return the page that a form is on, and what is chosen there."""
    at = text_in(form, "at", 20)
    at = at if at in NAMES else "load"
    return Asked(at, text_in(form, Asked(at).choosing, LONGEST_CHOSEN))


def htmx(request: Request) -> bool:
    """Return whether a part of the page is wanted."""
    return "hx-request" in request.headers


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whether the sortie's text can be read, and whether it is saved."""
    if opened.loaded is None:
        return plan_standing(opened)
    if opened.is_draft and opened.changed_outside:
        return Standing(Level.CAUTION, "changed twice")
    return Standing(Level.FINE, "not saved" if opened.is_draft else "ready")


FAMILY = PageFamily("prepare", "Prepare", "1", routes, standing)
