"""Prepare: the sortie is chosen and edited, every number follows, and its file is written."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.editing import Edit, EditError, path_of, plain_data
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.prepare_bench import Bench
from sortiewright.desk.prepare_board import PANELS, board_of
from sortiewright.desk.prepare_fields import Form, quantity_text
from sortiewright.desk.prepare_load_edits import fuel_edits, station_edits
from sortiewright.desk.prepare_place import aerodrome_edits, runway_edits
from sortiewright.desk.prepare_route import leg_edits, point_edits, then_edits, wind_edits
from sortiewright.desk.ribbon import plan_standing
from sortiewright.desk.saving import ChangedOutside, SaveError
from sortiewright.desk.state import preferences_of
from sortiewright.desk.weather_words import decoded
from sortiewright.pack import Pack, load_pack, pack_names, record_shape, shape_at
from sortiewright.sortie import Sortie

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

NAMES = tuple(name for name, _ in PANELS)
MOST_FIELDS = 40
Act = Callable[[FormData, Opened], tuple[Sequence[Edit], str]]
"""What a form asks for, as edits and in words; it may raise ``EditError``."""


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""
    bench = Bench(desk)
    desk.parts["prepare"] = bench

    async def page(request: Request) -> Response:
        at = request.path_params.get("panel", "load")
        if at not in NAMES:
            raise HTTPException(404)
        return await drawn(request, at, request.query_params.get("station", "")[:60])

    async def drawn(request: Request, at: str, station: str, said: str = "", status: int = 200) -> Response:
        opened = await desk.opened()
        seen, draft = bench.seen(opened), bench.draft(opened)
        units = preferences_of(request).units
        packs = desk.current.packs
        # Not in a thread: it takes a few ms, and waiting for others' work between would take longer.
        board = board_of(opened, draft, seen, packs, at=at, station=station, units=units)
        context: dict[str, Any] = {"board": board, "panels": PANELS, "said": said, "entries": ()}
        if at == "sorties":
            context["entries"] = tuple((one, one.title()) for one in desk.shelf.entries())
        if "hx-request" in request.headers:
            return await desk.fragment(request, "prepare/board.html", status=status, **context)
        return await desk.page(
            request, "prepare/page.html", here="prepare", title="Prepare", status=status, **context
        )

    async def answered(request: Request, form: FormData, said: str = "", status: int = 200) -> Response:
        """Return the board after a change: in place for htmx, else by the page anew."""
        at = str(form.get("at", "load"))
        at, station = at if at in NAMES else "load", str(form.get("station", ""))[:60]
        if said or "hx-request" in request.headers:
            return await drawn(request, at, station, said, status)
        query = f"?{urlencode({'station': station})}" if station else ""
        return RedirectResponse(f"/prepare/{at}{query}", 303)

    def changing(act: Act, *, joins: str = "") -> Callable[[Request], Awaitable[Response]]:
        """Return the endpoint of a form that edits; what it cannot do is said on the board."""

        async def endpoint(request: Request) -> Response:
            form = await request.form(max_files=0, max_fields=MOST_FIELDS)
            key = str(form.get(joins, ""))[:80] if joins else ""
            try:
                await bench.change(lambda opened: act(form, opened), key=key, joins=bool(key))
            except EditError as error:
                return await answered(request, form, str(error), 200 if htmx(request) else 400)
            return await answered(request, form)

        return endpoint

    def stepping(step: Callable[[], Awaitable[Opened]]) -> Callable[[Request], Awaitable[Response]]:
        async def endpoint(request: Request) -> Response:
            form = await request.form(max_files=0, max_fields=MOST_FIELDS)
            try:
                await step()
            except ChangedOutside as error:
                return await answered(request, form, str(error), 200 if htmx(request) else 409)
            except SaveError as error:
                return await answered(request, form, str(error), 200 if htmx(request) else 400)
            return await answered(request, form)

        return endpoint

    async def copy(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=MOST_FIELDS)
        try:
            file = await bench.copy(str(form.get("name", ""))[:200])
        except SaveError as error:
            return await answered(request, form, str(error), 200 if htmx(request) else 400)
        if (entry := desk.shelf.entry_of(file)) is not None:
            await desk.open(entry.id)
        return RedirectResponse("/prepare", 303)

    async def decode(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=MOST_FIELDS)
        report = str(form.get("value", ""))
        lines, remarks, problem = decoded(report, preferences_of(request).units)
        return await desk.fragment(
            request, "prepare/decoded.html", lines=lines, remarks=remarks, problem=problem
        )

    return (
        Route("/prepare", page),
        Route("/prepare/edit", changing(edit_value), methods=["POST"]),
        Route("/prepare/station", changing(edit_station), methods=["POST"]),
        Route("/prepare/release", changing(edit_release), methods=["POST"]),
        Route("/prepare/fuel", changing(edit_fuel, joins="slides"), methods=["POST"]),
        Route("/prepare/aerodrome", changing(edit_aerodrome), methods=["POST"]),
        Route("/prepare/runway", changing(edit_runway), methods=["POST"]),
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


def htmx(request: Request) -> bool:
    """Return whether a part of the page is wanted."""
    return "hx-request" in request.headers


def form_of(opened: Opened) -> Form:
    """Return the text on the desk as edits see it."""
    return Form(plain_data(opened.text), ())


def pack_of(opened: Opened) -> Pack:
    """Return the pack that the sortie names. Raises ``EditError`` if there is none."""
    if opened.loaded is not None:
        return opened.loaded.pack.pack
    name = form_of(opened).text("pack")
    if name not in pack_names():
        raise EditError("The sortie names no aircraft that is known. Choose one under Crew and time.")
    return load_pack(name).pack


def text_in(form: FormData, name: str, longest: int = 4000) -> str:
    """Return one field of a form as text without space around it."""
    value = form.get(name, "")
    return value.strip()[:longest] if isinstance(value, str) else ""


def number_in(form: FormData, name: str) -> int:
    """Return one field of a form as a small whole number, -1 if it is none."""
    value = text_in(form, name, 8)
    return int(value) if value.isascii() and value.isdecimal() else -1


def edit_value(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Put what was typed at its key; nothing typed takes the key away."""
    path = path_of(text_in(form, "key", 400))
    shape = shape_at(record_shape(Sortie), path)
    if shape.sort in ("record", "mapping", "list", "table"):
        raise EditError("That key takes no single value.")
    value = " ".join(text_in(form, "value").split())
    if shape.sort == "quantity":
        value = quantity_text(value, text_in(form, "unit", 20))
    named = " ".join(key for key in path[-2:] if isinstance(key, str)).replace("_", " ")
    words = f"{named}: {value or 'nothing'}"[:90]
    edits: list[Edit] = []
    if value or (shape.sort == "text" and not shape.optional):
        edits.append(Edit("put", path, value))
    else:
        edits.append(Edit("remove", path))
    if path[:2] == ("aerodrome", "runways") and path[-1] == "designator":
        data = form_of(opened)
        if data.text(*path) == data.text("runway"):  # the runway in use keeps being in use
            edits.append(Edit("put", ("runway",), value))
    return edits, words


def edit_station(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Hang a store on a station, or take one off."""
    action, store = text_in(form, "act", 20), text_in(form, "store", 80)
    if hang := text_in(form, "hang", 80):
        action, store = "hang", hang
    elif text_in(form, "take", 8):
        action = "take"
    station = text_in(form, "station", 80)
    return station_edits(form_of(opened), pack_of(opened), station, action, store, number_in(form, "take"))


def edit_release(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Sort the stations in the order of their release."""
    key, data = ("load", "release_order"), form_of(opened)
    order = data.items(*key)
    if name := text_in(form, "add", 80):
        if name not in data.names("load", "stores"):
            raise EditError("Nothing hangs there.")
        return [Edit("insert", (*key, len(order)), name)], f"{name} is released last"
    for act, by in (("earlier", -1), ("later", 1)):
        if text_in(form, act, 8):
            at = number_in(form, act)
            return [Edit("move", (*key, at), to=at + by)], "order of release"
    at = number_in(form, "leave")
    if not 0 <= at < len(order):
        raise EditError("That is not in the order of release.")
    return [Edit("remove", (*key, at))], "one station less to release"


def edit_fuel(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Put fuel into a tank, or all."""
    sortie = None if opened.loaded is None else opened.loaded.sortie
    what, name = text_in(form, "what", 20), text_in(form, "name", 80)
    value, unit = text_in(form, "value", 40), text_in(form, "unit", 8)
    return fuel_edits(form_of(opened), pack_of(opened), sortie, what, name, value, unit)


def edit_aerodrome(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Write a field by its code."""
    return aerodrome_edits(text_in(form, "value", 8))


def edit_runway(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Choose, add or remove a runway."""
    return runway_edits(form_of(opened), text_in(form, "act", 20), number_in(form, "index"))


def edit_leg(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add, remove, sort or change a leg of the route."""
    act, index = text_in(form, "act", 20), number_in(form, "index")
    value = " ".join(text_in(form, "value", 60).split())
    return leg_edits(form_of(opened), act, index, value, text_in(form, "unit", 8))


def edit_then(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Leave out something done at a point."""
    return then_edits(form_of(opened), number_in(form, "index"), number_in(form, "then"))


def edit_point(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add or remove a point of the route."""
    place = (text_in(form, "latitude", 20), text_in(form, "longitude", 20))
    return point_edits(form_of(opened), text_in(form, "act", 20), text_in(form, "name", 40), place)


def edit_wind(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add, remove or move a wind aloft."""
    act, index = text_in(form, "act", 20), number_in(form, "index")
    value, unit = text_in(form, "value", 30), text_in(form, "unit", 8)
    return wind_edits(form_of(opened), act, index, value, unit)


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whether the sortie's text can be read, and whether it is saved."""
    if opened.loaded is None:
        return plan_standing(opened)
    if opened.is_draft and opened.changed_outside:
        return Standing(Level.CAUTION, "changed twice")
    return Standing(Level.FINE, "not saved" if opened.is_draft else "ready")


FAMILY = PageFamily("prepare", "Prepare", "1", routes, standing)
