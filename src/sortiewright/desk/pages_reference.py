"""Reference: the pack as a book, every value with its source, and a search over all of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.reference_contents import Book, Library
from sortiewright.desk.reference_drawings import NAMES, Drawings
from sortiewright.desk.reference_grids import grids_of, table_at
from sortiewright.desk.reference_lists import BookList
from sortiewright.desk.reference_search import LONGEST_QUERY
from sortiewright.desk.state import preferences_of

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk

LIST_CHAPTERS = ("emergency", "abnormal", "normal")
PHASES = ("ground", "takeoff", "flight", "approach", "landing")
TEMPLATES = {"memory": "memory", "rules": "rules", "notes": "notes"} | dict.fromkeys(LIST_CHAPTERS, "lists")
"""By chapter; all others are chapters of values."""


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def book_of(request: Request) -> Book | None:
        """Return the book, None while it is being put together; 404 where there is no pack to read."""
        opened = await desk.opened()
        if opened.loaded is None:
            raise HTTPException(404, "There is no book to open: the sortie's pack cannot be read.")
        library: Library = desk.parts.setdefault("reference", Library())
        return await library.book(opened, preferences_of(request).units)

    async def shown(request: Request, template: str, title: str, **context: Any) -> Response:
        query = f"?{request.url.query}" if request.url.query else ""
        said: dict[str, Any] = {
            "query": request.query_params.get("q", "")[:LONGEST_QUERY],
            "address": f"{request.url.path}{query}",
            "results": None,
        }
        said |= context
        return await desk.page(request, f"reference/{template}.html", here="reference", title=title, **said)

    async def opening(request: Request) -> Response:
        return await shown(request, "opening", "Reference")

    async def contents(request: Request) -> Response:
        if (await desk.opened()).loaded is None:
            return await shown(request, "none", "Reference")
        book = await book_of(request)
        if book is None:
            return await opening(request)
        query = request.query_params.get("q", "")
        results = book.index.search(query) if query.strip() else None
        return await shown(request, "page", "Reference", book=book, results=results)

    async def search(request: Request) -> Response:
        book, query = await book_of(request), request.query_params.get("q", "")
        if request.headers.get("hx-request") != "true":
            return RedirectResponse(f"/reference?{urlencode({'q': query[:LONGEST_QUERY]})}", 303)
        results = book.index.search(query) if book is not None and query.strip() else None
        return await desk.fragment(request, "reference/results.html", results=results)

    async def chapter(request: Request) -> Response:
        book, name = await book_of(request), request.path_params["chapter"]
        if book is None:
            return await opening(request)
        found = book.by_name.get(name)
        if found is None:
            raise HTTPException(404, "The book has no such chapter.")
        template = TEMPLATES.get(name, "chapter")
        groups = by_phase(book.lists_of(name))
        return await shown(request, template, found.title, book=book, chapter=found, groups=groups)

    async def one_list(request: Request) -> Response:
        book = await book_of(request)
        if book is None:
            return await opening(request)
        found = book.lists_by_id.get(request.path_params["id"])
        if found is None:
            raise HTTPException(404, "The book has no such list.")
        own = book.lists_of(found.kind)
        at = own.index(found)
        return await shown(
            request,
            "list",
            found.title,
            book=book,
            chapter=book.by_name[found.kind],
            list=found,
            before=own[at - 1] if at else None,
            after=own[at + 1] if at + 1 < len(own) else None,
        )

    async def table(request: Request) -> Response:
        book, opened = await book_of(request), await desk.opened()
        if book is None:
            return await opening(request)
        entry = book.tables.get(request.path_params["id"])
        loaded = None if opened.loaded is None else opened.loaded.pack
        found = None if entry is None or loaded is None else table_at(loaded, entry.table)
        if entry is None or found is None:
            raise HTTPException(404, "The book has no such table.")
        grids = grids_of(found, preferences_of(request).units)
        if request.headers.get("hx-request") == "true":
            return await desk.fragment(request, "reference/grids.html", grids=grids, entry=entry)
        return await shown(request, "table", entry.title, book=book, entry=entry, grids=grids)

    async def drawing(request: Request) -> Response:
        name, opened = request.path_params["name"], await desk.opened()
        if name not in NAMES or opened.loaded is None:
            raise HTTPException(404, "There is no such drawing.")
        drawings: Drawings = desk.parts.setdefault("reference_drawings", Drawings())
        content = await drawings.picture(opened.loaded.pack, name, preferences_of(request))
        # The address names the pack's digest, colours and units, so the same address is the same picture.
        return Response(content, media_type="image/png", headers={"Cache-Control": "private, max-age=3600"})

    return (
        Route("/reference", contents),
        Route("/reference/search", search),
        Route("/reference/lists/{id}", one_list),
        Route("/reference/tables/{id}", table),
        Route("/reference/drawings/{name}", drawing),
        Route("/reference/{chapter}", chapter),
    )


def by_phase(lists: Sequence[BookList]) -> list[tuple[str, list[BookList]]]:
    """Return lists by the part of the sortie that they are for; normal ones stay in their one order."""
    if all(one.kind == "normal" for one in lists):
        return [("", list(lists))]
    phases = sorted({one.phase for one in lists}, key=lambda one: (*PHASES, one).index(one))
    return [(phase, [one for one in lists if one.phase == phase]) for phase in phases]


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return whose book it is."""
    return Standing(Level.NOTHING, opened.loaded.pack.pack.name) if opened.loaded is not None else Standing()


FAMILY = PageFamily("reference", "Reference", "6", routes, standing)
