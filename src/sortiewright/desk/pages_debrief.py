"""Debrief: a recording dropped, its columns mapped, what was found in it, and the flight seen again."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator, Sequence
from typing import TYPE_CHECKING, Any

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.debrief_jobs import TOPIC, Wanted, room_of, wanted_of
from sortiewright.desk.debrief_kept import order_in
from sortiewright.desk.debrief_mapping import (
    MOST_LISTED,
    TIME_UNITS,
    MapRefused,
    checked_text,
    columns_with,
    map_from,
    rows_of,
)
from sortiewright.desk.debrief_shelf import KeptRecording, RecordingRefused
from sortiewright.desk.page_family import Level, PageFamily, Standing
from sortiewright.desk.pages_debrief_result import json_answer, result_page, result_routes
from sortiewright.desk.state import preferences_of

if TYPE_CHECKING:
    from sortiewright.desk.debrief_jobs import Look
    from sortiewright.desk.slow_work import Work
    from sortiewright.desk.state import Desk

LARGEST_RECORDING = 600_000_000
"""Bytes: an hour at 60 Hz with two hundred columns of text has some 400 million."""
CHUNK = 1_000_000
WAITED = 0.3  # s for what may be over soon
MOST_FIELDS = 600
LARGEST_MAP = 200_000


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        return await listed(request)

    async def listed(request: Request, *, status: int = 200, problem: str = "") -> Response:
        room = room_of(desk)
        kept = await asyncio.to_thread(room.shelf.entries)
        return await desk.page(
            request,
            "debrief/page.html",
            here="debrief",
            title="Debrief",
            topics=(TOPIC,),
            status=status,
            kept=await asyncio.to_thread(lambda: [(one, standing_of(desk, one)) for one in kept]),
            keeps=room.shelf.keeps,
            largest=LARGEST_RECORDING,
            problem=problem,
        )

    async def upload(request: Request) -> Response:
        async with request.form(max_files=1, max_fields=8) as form:
            file = form.get("recording")
            if not isinstance(file, UploadFile) or not file.size:
                return await listed(request, status=422, problem="Choose a recording's file first.")
            try:
                kept = await added(file.filename or "", chunks_of(file))
            except RecordingRefused as refused:
                return await listed(request, status=422, problem=str(refused))
        room_of(desk).look(kept)
        return RedirectResponse(f"/debrief/{kept.id}/map", 303)

    async def added(name: str, chunks: AsyncIterator[bytes], *, made_up: bool = False) -> KeptRecording:
        try:
            return await room_of(desk).shelf.add(name, chunks, made_up=made_up)
        except OSError as error:
            words = f"The recording cannot be kept: {error.strerror or error}."
            raise HTTPException(507, words) from None

    async def example(request: Request) -> Response:
        from sortiewright.recording import example_recording

        opened = await desk.opened()
        if opened.loaded is None or opened.plan is None:
            raise HTTPException(409, "The example is made from the plan, and this sortie has none yet.")
        content = await asyncio.to_thread(example_recording, opened.loaded)

        async def once() -> AsyncIterator[bytes]:
            yield content

        kept = await added(f"{opened.entry.name}-made-up.csv", once(), made_up=True)
        room_of(desk).begin(kept, wanted_of(opened, preferences_of(request).units))
        return RedirectResponse(f"/debrief/{kept.id}", 303)

    def kept_of(request: Request) -> KeptRecording:
        found = room_of(desk).shelf.find(request.path_params["id"])
        if found is None:
            raise HTTPException(404, "There is no such recording.")
        return found

    async def one(request: Request) -> Response:
        kept = kept_of(request)
        work = await room_of(desk).resumed(kept)
        if work is None:
            return RedirectResponse(f"/debrief/{kept.id}/map", 303)
        await work.within(WAITED)
        if work.result is not None:
            return await result_page(desk, request, kept, work.result)
        return await working(request, kept, work, "Debrief")

    async def working(request: Request, kept: KeptRecording, work: Work[Any], what: str) -> Response:
        return await desk.page(
            request,
            "debrief/working.html",
            here="debrief",
            title="Debrief",
            topics=(TOPIC,),
            kept=kept,
            work=work,
            what=what,
        )

    async def map_page(request: Request) -> Response:
        kept = kept_of(request)
        work = room_of(desk).look(kept)
        await work.within(WAITED)
        if work.result is None:
            return await working(request, kept, work, "Columns")
        return await mapped(request, kept, work.result)

    async def mapped(
        request: Request,
        kept: KeptRecording,
        look: Look,
        *,
        status: int = 200,
        problem: str = "",
        refused: MapRefused | None = None,
        text: str | None = None,
    ) -> Response:
        from sortiewright.recording import map_text, sample_rate

        by_channel, typed = (refused.by_channel, refused.typed) if refused else ({}, {})
        rows = rows_of(look, preferences_of(request).units, by_channel, typed)
        recording = look.recording
        return await desk.page(
            request,
            "debrief/map.html",
            here="debrief",
            title="Columns of a recording",
            status=status,
            kept=kept,
            look=look,
            rows=rows,
            columns=look.columns[:MOST_LISTED],
            time_column=typed.get("time", look.channel_map.time.column),
            time_units=TIME_UNITS,
            rate=None if recording is None else sample_rate(recording),
            span=None if recording is None else float(recording.time[-1] - recording.time[0]),
            text=map_text(look.channel_map) if text is None else text,
            problem=problem or look.fault,
            by_channel=by_channel,
        )

    async def columns(request: Request) -> Response:
        work = room_of(desk).look(kept_of(request))
        await work.within(WAITED)
        columns = () if work.result is None else work.result.columns
        return json_answer(columns_with(columns, request.query_params.get("find", "")[:200]))

    async def save_map(request: Request) -> Response:
        kept, room = kept_of(request), room_of(desk)
        form = await request.form(max_files=0, max_fields=MOST_FIELDS)
        work = room.look(kept)
        await work.within(WAITED)
        if work.result is None:
            raise HTTPException(409, "The columns are still being looked at.")
        text = form.get("text")
        try:
            await asyncio.to_thread(keep_map, kept, work.result, form, text)
            wanted = wanted_from(form, await desk.opened(), request) if form.get("do") == "debrief" else None
        except MapRefused as refused:
            typed = text if isinstance(text, str) else None
            return await mapped(
                request, kept, work.result, status=422, problem=str(refused),
                refused=refused, text=typed,
            )  # fmt: skip
        room.look(kept, again=True)
        if wanted is None:
            return RedirectResponse(f"/debrief/{kept.id}/map", 303)
        room.looks.pop(kept.id).cancel()  # the debrief reads it by the new map
        room.begin(kept, wanted)
        return RedirectResponse(f"/debrief/{kept.id}", 303)

    def keep_map(kept: KeptRecording, look: Look, form: FormData, text: object) -> None:
        from sortiewright.recording import map_text

        if isinstance(text, str):
            if len(text) > LARGEST_MAP:
                raise MapRefused("That is longer than any map.")
            found = checked_text(text)
        else:
            found = checked_text(map_text(map_from(form, look)))
        room_of(desk).shelf.map_file(kept).write_text(map_text(found), "utf-8")

    async def map_file(request: Request) -> Response:
        kept = kept_of(request)
        file = room_of(desk).shelf.map_file(kept)
        if not file.is_file():
            raise HTTPException(404, "This recording has no map yet.")
        disposition = {"Content-Disposition": f'attachment; filename="{kept.stem}-map.yaml"'}
        return Response(file.read_bytes(), media_type="application/yaml", headers=disposition)

    async def stop(request: Request) -> Response:
        kept, room = kept_of(request), room_of(desk)
        for works in (room.looks, room.debriefs):
            if kept.id in works:
                works[kept.id].cancel()
        return RedirectResponse("/debrief", 303)

    async def forget(request: Request) -> Response:
        await asyncio.to_thread(room_of(desk).forget, kept_of(request))
        desk.ribbon_changed()
        return RedirectResponse("/debrief", 303)

    return (
        Route("/debrief", page),
        Route("/debrief/upload", upload, methods=["POST"]),
        Route("/debrief/example", example, methods=["POST"]),
        Route("/debrief/{id}", one),
        Route("/debrief/{id}/map", map_page),
        Route("/debrief/{id}/map", save_map, methods=["POST"]),
        Route("/debrief/{id}/map.yaml", map_file),
        Route("/debrief/{id}/columns", columns),
        Route("/debrief/{id}/stop", stop, methods=["POST"]),
        Route("/debrief/{id}/forget", forget, methods=["POST"]),
        *result_routes(desk, kept_of),
    )


async def chunks_of(file: UploadFile) -> AsyncIterator[bytes]:
    """Yield an upload's bytes piece by piece."""
    while chunk := await file.read(CHUNK):
        yield chunk


def wanted_from(form: FormData, opened: Opened, request: Request) -> Wanted:
    """Return with what a form wants a recording debriefed. Raises ``MapRefused`` for a place that is none."""
    typed = [str(form.get(name, "")).strip() for name in ("latitude", "longitude")]
    start: tuple[float, float] | None = None
    if any(typed):
        try:
            latitude, longitude = (float(one.replace(",", ".")) for one in typed)
        except ValueError:
            raise MapRefused("Where the runway begins needs a latitude and a longitude in degrees.") from None
        if not (math.isfinite(longitude) and abs(latitude) <= 90.0 and abs(longitude) <= 180.0):
            raise MapRefused("A latitude is from −90 to 90, a longitude from −180 to 180 degrees.")
        start = latitude, longitude
    return wanted_of(
        opened,
        preferences_of(request).units,
        against=form.get("against") == "on",
        anyway=form.get("anyway") == "on",
        runway_start=start,
    )


def standing_of(desk: Desk, kept: KeptRecording) -> Standing:
    """Return how far a recording has come."""
    room = room_of(desk)
    work = room.debriefs.get(kept.id)
    if work is None:
        order = order_in(room.shelf.place(kept))
        if order is None or order.severities is None:
            return Standing(Level.NOTHING, "not debriefed yet")
        return findings_standing(order.severities)
    if work.result is not None:
        return findings_standing(work.result.severities)
    if work.state == "failed":
        return Standing(Level.NO_GO, "cannot be debriefed")
    if work.state == "cancelled":
        return Standing(Level.NOTHING, "stopped")
    return Standing(Level.UNKNOWN, work.words)


def findings_standing(severities: Sequence[str]) -> Standing:
    """Return what findings come to: the crew's caution is what it should look at first."""
    if not severities:
        return Standing(Level.FINE, "nothing to do better")
    level = Level.CAUTION if "high" in severities else Level.FINE
    return Standing(level, f"{len(severities)} to do better")


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return the state of the recording debriefed last."""
    room = room_of(desk)
    if not room.debriefs:
        return Standing()
    work = list(room.debriefs.values())[-1]
    if work.result is not None:
        return findings_standing(work.result.severities)
    if work.state == "failed":
        return Standing(Level.NO_GO, "failed")
    return Standing() if work.is_over else Standing(Level.UNKNOWN, "computing")


FAMILY = PageFamily(
    "debrief", "Debrief", "5", routes, standing, uploads={"/debrief/upload": LARGEST_RECORDING}
)
