"""Cards: what is to be printed, seen before it is, and taken away as PDF and PNG."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.cards_choice import (
    KINDS,
    PAPERS,
    SCHEMES,
    SEATS,
    UNITS,
    Choice,
    NotOffered,
    choice_of,
)
from sortiewright.desk.cards_folder import CardFolder, FolderRefused, is_at_this_machine
from sortiewright.desk.cards_press import (
    TOPIC,
    PrintSet,
    Sheet,
    cards_offered,
    every_card,
    lists_offered,
    press_of,
)
from sortiewright.desk.current import Opened
from sortiewright.desk.gate import for_owner, visitor_of
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.state import preferences_of

if TYPE_CHECKING:
    from sortiewright.desk.cards_press import Printed
    from sortiewright.desk.state import Desk

WAITED = 0.35  # s for a set that is quickly made
MOST_VISITORS = 64
_FOLDER = "cards_folder"


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        opened = await desk.opened()
        choice = wanted(request, await asyncio.to_thread(cards_offered, opened))
        remember(request, choice)
        made = await ordered(opened, choice)
        return await shown(request, opened, choice, made)

    def wanted(request: Request, cards: Mapping[str, str]) -> Choice:
        likes = preferences_of(request)
        usual = Choice(cards=tuple(cards), scheme=likes.scheme, units=likes.units)
        usual = press_of(desk).usual.get(visitor_of(request).id, usual)
        try:
            found = choice_of(request.query_params, usual, every_card())
        except NotOffered as refusal:
            raise HTTPException(400, str(refusal)) from None
        # What this sortie has nothing for is not printed, whatever was chosen before.
        return replace(found, cards=tuple(one for one in found.cards if one in cards))

    def remember(request: Request, choice: Choice) -> None:
        usual = press_of(desk).usual
        usual.pop(visitor_of(request).id, None)
        usual[visitor_of(request).id] = choice
        while len(usual) > MOST_VISITORS:
            del usual[next(iter(usual))]

    async def ordered(opened: Opened, choice: Choice) -> PrintSet | None:
        if opened.plan is None or choice.missing:
            return None
        made = press_of(desk).order(opened, choice)
        await made.work.within(WAITED)
        return made

    async def shown(
        request: Request,
        opened: Opened,
        choice: Choice,
        made: PrintSet | None,
        *,
        status: int = 200,
        typed: str | None = None,
        refusal: str = "",
        said: str = "",
    ) -> Response:
        lists = await asyncio.to_thread(lists_offered, opened)
        if choice.kind == "checklists" and choice.procedure not in {"", *(name for name, _ in lists)}:
            choice = replace(choice, procedure="")
        return await desk.page(
            request,
            "cards/page.html",
            here="cards",
            title="Cards",
            topics=(TOPIC,),
            status=status,
            choice=choice,
            made=made,
            lists=lists,
            offered={
                "kinds": KINDS,
                "cards": await asyncio.to_thread(cards_offered, opened),
                "seats": SEATS,
                "papers": PAPERS,
                "schemes": SCHEMES,
                "units": UNITS,
            },
            may_name_folder=visitor_of(request).owner and is_at_this_machine(request),
            folder=folder_of(desk).path,
            typed=folder_of(desk).path if typed is None else typed,
            refusal=refusal,
            said=said,
        )

    def printed(request: Request) -> tuple[PrintSet, Printed]:
        found = press_of(desk).find(request.path_params["id"])
        if found is None or found.printed is None:
            raise HTTPException(404, "These cards are not at hand any more. Open Cards to make them again.")
        return found, found.printed

    async def document(request: Request) -> Response:
        _, made = printed(request)
        return as_file(one_of(made.documents, request), "application/pdf")

    async def picture(request: Request) -> Response:
        _, made = printed(request)
        keep = "download" in request.query_params
        return as_file(one_of(made.pages, request), "image/png", inline=not keep)

    async def pages(request: Request) -> Response:
        found, made = printed(request)
        content = await asyncio.to_thread(made.pages_zipped)
        choice = found.choice
        name = f"{choice.kind}-{choice.paper}-{choice.scheme}.zip"
        disposition = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(content, media_type="application/zip", headers=disposition)

    async def print_view(request: Request) -> Response:
        found, made = printed(request)
        return await desk.fragment(request, "cards/print.html", made=made, set=found, title="Print")

    async def stop(request: Request) -> Response:
        found = press_of(desk).find(request.path_params["id"])
        if found is not None:
            found.work.cancel()
        return RedirectResponse("/cards", 303)

    async def save(request: Request) -> Response:
        if not is_at_this_machine(request):
            raise HTTPException(403, "A folder of this machine is written to from this machine alone.")
        form = await request.form(max_files=0, max_fields=8)
        typed = form.get("folder")
        found, made = printed(request)
        opened, folder = await desk.opened(), folder_of(desk)
        sheets = (*made.documents, *made.pages)
        try:
            if isinstance(typed, str):
                await asyncio.to_thread(folder.name, typed)
            await asyncio.to_thread(folder.put, found.choice.kind, sheets)
        except FolderRefused as refused:
            text = typed if isinstance(typed, str) else None
            return await shown(
                request, opened, found.choice, found, status=422, typed=text, refusal=str(refused)
            )
        said = f"{len(sheets)} files are in {folder.path}."
        return await shown(request, opened, found.choice, found, said=said)

    return (
        Route("/cards", page),
        Route("/cards/{id}/document/{number:int}", document),
        Route("/cards/{id}/page/{number:int}", picture),
        Route("/cards/{id}/pages.zip", pages),
        Route("/cards/{id}/print", print_view),
        Route("/cards/{id}/stop", stop, methods=["POST"]),
        Route("/cards/{id}/folder", for_owner(save), methods=["POST"]),
    )


def one_of(sheets: Sequence[Sheet], request: Request) -> Sheet:
    """Return the sheet whose number, from 1, is asked for."""
    number: int = request.path_params["number"]
    if not 1 <= number <= len(sheets):
        raise HTTPException(404, "There is no such page.")
    return sheets[number - 1]


def as_file(sheet: Sheet, media_type: str, *, inline: bool = False) -> Response:
    """Return a sheet as an answer; what it shows never changes, so it may be kept."""
    headers = {"Cache-Control": "private, max-age=86400, immutable"} if inline else None
    how: Any = "inline" if inline else "attachment"
    return FileResponse(
        sheet.file, media_type=media_type, filename=sheet.name, content_disposition_type=how, headers=headers
    )


def folder_of(desk: Desk) -> CardFolder:
    """Return what the desk knows of the user's folder for cards."""
    if _FOLDER not in desk.parts:
        desk.parts[_FOLDER] = CardFolder(desk.options.data_folder)
    return desk.parts[_FOLDER]


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whether there are numbers to print."""
    if opened.plan is None:
        return Standing(Level.NOTHING, "no numbers yet")
    if opened.is_draft:
        return Standing(Level.CAUTION, "of an unsaved sortie")
    return Standing(Level.FINE, "to print")


FAMILY = PageFamily("cards", "Cards", "3", routes, standing)
