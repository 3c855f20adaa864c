"""A debrief on its page: findings, the flight seen again, planned against flown, and the reports."""

from __future__ import annotations

import asyncio
import json
import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.debrief_checklist import checklist_data
from sortiewright.desk.debrief_jobs import TOPIC, Made, room_of
from sortiewright.desk.debrief_shelf import KeptRecording
from sortiewright.desk.debrief_shown import findings_shown, flight_data, parts_shown
from sortiewright.desk.debrief_strips import (
    LEAST_WIDTH,
    MOST_STRIPS,
    MOST_WIDTH,
    strips_of,
    window_bytes,
)
from sortiewright.desk.run_logs import RunFolder
from sortiewright.desk.state import preferences_of

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk
    from sortiewright.recording import Debrief

REPORTS = {"html": "text/html", "pdf": "application/pdf", "json": "application/json"}
MOST_REPORTS = 12
KeptOf = Callable[[Request], KeptRecording]


async def result_page(desk: Desk, request: Request, kept: KeptRecording, made: Made) -> Response:
    """Return the page of a debrief."""
    from sortiewright.recording import defects_table, headline

    debrief = made.shown_in(preferences_of(request).units)
    parts = await asyncio.to_thread(parts_shown, debrief)
    runs = RunFolder(desk.options.data_folder).ids() if desk.options.data_folder else ()
    return await desk.page(
        request,
        "debrief/result.html",
        here="debrief",
        title="Debrief",
        topics=(TOPIC,),
        kept=kept,
        made=made,
        debrief=debrief,
        headline=headline(debrief),
        findings=findings_shown(debrief),
        parts=parts,
        well=tuple(dict.fromkeys(text for one in debrief.flights for text in one.went_well)),
        defects=defects_table(debrief),
        runs=runs,
    )


def result_routes(desk: Desk, kept_of: KeptOf) -> Sequence[Route]:
    """Return the routes of a debrief's data and reports."""

    def made_of(request: Request) -> Made:
        found = room_of(desk).made(kept_of(request).id)
        if found is None:
            raise HTTPException(
                404, "This recording is not debriefed, or its debrief is not at hand any more."
            )
        return found

    async def flight(request: Request) -> Response:
        made = made_of(request)
        data = await asyncio.to_thread(flight_data, made, preferences_of(request).units)
        return json_answer(data)

    async def strips(request: Request) -> Response:
        recording = made_of(request).debrief.recording
        known = {one.channel: one for one in strips_of(recording, preferences_of(request).units)}
        names = request.query_params.get("channels", "")[:600].split(",")[:MOST_STRIPS]
        if any(name not in known for name in names):
            raise HTTPException(400, "The recording has no such channel.")
        begin, end = number_of(request, "begin"), number_of(request, "end")
        width = number_of(request, "width")
        if begin > end:
            raise HTTPException(400, "A window ends after it begins.")
        pixels = int(min(max(width, LEAST_WIDTH), MOST_WIDTH))
        chosen = [known[name] for name in names]
        content = await asyncio.to_thread(window_bytes, recording, chosen, begin, end, pixels)
        return Response(content, media_type="application/octet-stream")

    async def checklist(request: Request) -> Response:
        made = made_of(request)
        wanted = request.query_params.get("run", "")[:200]
        state = await asyncio.to_thread(RunFolder(desk.options.data_folder).read, wanted)
        if state is None:
            raise HTTPException(404, "There is no such run.")
        return json_answer(await asyncio.to_thread(checklist_data, state, made.debrief.recording))

    async def report(request: Request) -> Response:
        kept, made, kind = kept_of(request), made_of(request), request.path_params["kind"]
        if kind not in REPORTS:
            raise HTTPException(404, "There is no such report.")
        units = preferences_of(request).units
        reports, key = room_of(desk).reports, (kept.id, kind, units)
        if key not in reports:
            reports[key] = await asyncio.to_thread(written, made.shown_in(units), kind)
            while len(reports) > MOST_REPORTS:
                del reports[next(iter(reports))]
        disposition = {"Content-Disposition": f'attachment; filename="{kept.stem}-debrief.{kind}"'}
        return Response(reports[key], media_type=REPORTS[kind], headers=disposition)

    return (
        Route("/debrief/{id}/flight.json", flight),
        Route("/debrief/{id}/strips", strips),
        Route("/debrief/{id}/checklist.json", checklist),
        Route("/debrief/{id}/report.{kind}", report),
    )


def number_of(request: Request, name: str) -> float:
    """Return a number of the request's address."""
    try:
        found = float(request.query_params.get(name, "")[:40])
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise HTTPException(400, f"{name} is a number.")
    return found


def json_answer(data: Any) -> Response:
    """Return data as JSON; a number that is none would be a fault of ours."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Response(text.encode("utf-8", errors="replace"), media_type="application/json")


def written(debrief: Debrief, kind: str) -> bytes:
    """Return a report as a file."""
    from sortiewright.recording import debrief_to_json, report_page

    if kind == "html":
        return report_page(debrief).encode("utf-8", errors="replace")
    if kind == "json":
        text = json.dumps(debrief_to_json(debrief), indent=1, ensure_ascii=False, allow_nan=False)
        return f"{text}\n".encode("utf-8", errors="replace")
    from sortiewright.cards import render_debrief

    return render_debrief(debrief)
