"""Numbers: go, caution or no-go, why, the runway, every figure of the plan, its charts, and what if."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.numbers_failure import Failure, as_text, failure_of
from sortiewright.desk.numbers_lines import Line, SectionLines, id_of, section_lines
from sortiewright.desk.numbers_margins import Margin, margins
from sortiewright.desk.numbers_what_if import WhatIf
from sortiewright.desk.page_family import PageFamily, Standing
from sortiewright.desk.ribbon import plan_standing
from sortiewright.desk.state import Preferences, preferences_of

if TYPE_CHECKING:
    from sortiewright.cards import RunwayDrawing
    from sortiewright.desk.state import Desk
    from sortiewright.sortie import Plan

NEAREST = 4
"""Margins that a plan without reasons shows."""
WIDTHS = {"wide": 560.0, "narrow": 300.0}
"""Points of a chart, by the width of the page."""
RUNWAY_WIDTHS = {"wide": 980.0, "middle": 600.0, "narrow": 310.0}
CHARTS_OF = {
    "engine_failure": ("stop-or-go",),
    "loading": ("balance",),
    "route": ("route",),
    "fuel": ("fuel",),
    "flight": ("climb", "turn", "energy", "load-factor"),
    "landing": ("landing",),
}
"""Charts beside the sections that they show."""
HEADLINE = (
    ("engine_failure", "decision_speed", "Decision"),
    ("takeoff", "rotation_speed", "Rotation"),
    ("takeoff", "lift_off_speed", "Lift-off"),
    ("landing", "approach_cas", "Approach"),
    ("fuel", "bingo", "Bingo"),
)
"""What a crew says aloud: beside the verdict."""
ORDER = ("takeoff", "engine_failure", "loading", "route", "fuel", "flight", "landing")
"""Sections in the order of what is decided first; all others follow, as the plan has them."""


class Group(NamedTuple):
    """A section on the page: its lines, and its charts by name with what each shows."""

    section: SectionLines
    charts: tuple[tuple[str, str], ...]


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        context = await context_of(await desk.opened(), preferences_of(request))
        return await desk.page(request, "numbers/page.html", here="numbers", title="Numbers", **context)

    async def table(request: Request) -> Response:
        context = await context_of(await desk.opened(), preferences_of(request))
        return await desk.fragment(request, "numbers/numbers.html", **context)

    async def chart(request: Request) -> Response:
        from sortiewright.cards import CHARTS

        name = request.path_params["name"]
        if name not in CHARTS:
            raise HTTPException(404, "There is no such chart.")
        opened = await desk.opened()
        width = "narrow" if request.query_params.get("width") == "narrow" else "wide"
        drawn = await asyncio.to_thread(chart_of, opened, preferences_of(request), name, width)
        context: dict[str, Any] = {"name": name, "says": CHARTS[name], "drawn": drawn}
        if request.headers.get("hx-request") == "true":
            return await desk.fragment(request, "numbers/chart.html", **context)
        return await desk.page(request, "numbers/chart_page.html", here="numbers", title="Chart", **context)

    async def what_if(request: Request) -> Response:
        opened = await desk.opened()
        asked: WhatIf = desk.parts.setdefault("numbers", WhatIf())
        fields = fields_of(request.query_params)
        strip = await asked.strip(opened, fields, preferences_of(request).units)
        return await desk.page(request, "numbers/what_if.html", here="numbers", title="What if", strip=strip)

    return (
        Route("/numbers", page),
        Route("/numbers/table", table),
        Route("/numbers/charts/{name}", chart),
        Route("/numbers/what-if", what_if),
    )


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return the verdict."""
    return plan_standing(opened)


def fields_of(query: Mapping[str, str]) -> dict[str, str]:
    """Return a query's fields, none longer than anyone types."""
    return {name: text[:64] for name, text in query.items()}


async def context_of(opened: Opened, preferences: Preferences) -> dict[str, Any]:
    """Return what the page shows of a sortie; empty parts where it has no plan."""
    if opened.plan is None or opened.loaded is None:
        return {"groups": [], "rest": [], "nearest": (), "headline": (), "runway": None, "failure": None}
    plan, units = opened.plan, preferences.units
    sections = section_lines(plan, units)
    nearest = margins(plan, opened.loaded.pack.pack, opened.loaded.sortie)[:NEAREST]
    runway, failure = await asyncio.to_thread(drawn_runway, plan, preferences)
    return {
        "groups": [group for group in groups_of(sections) if group.section.name in ORDER],
        "rest": [group.section for group in groups_of(sections) if group.section.name not in ORDER],
        "nearest": nearest,
        "headline": headline_of(sections),
        "runway": runway,
        "failure": failure,
        "steps": "" if failure is None else as_text(failure),
        "ids": ids_of(plan, sections, nearest),
    }


def groups_of(sections: Sequence[SectionLines]) -> list[Group]:
    """Return the sections with their charts, in the order of what is decided first."""
    from sortiewright.cards import CHARTS

    says: dict[str, str] = {**CHARTS}
    ranked = sorted(sections, key=lambda one: ORDER.index(one.name) if one.name in ORDER else len(ORDER))
    return [Group(one, tuple((name, says[name]) for name in CHARTS_OF.get(one.name, ()))) for one in ranked]


def headline_of(sections: Sequence[SectionLines]) -> list[tuple[str, Line]]:
    """Return the numbers beside the verdict, as far as the plan has them."""
    lines = {(section.name, line.name): line for section in sections for line in section.lines}
    found = [(title, lines.get((section, name))) for section, name, title in HEADLINE]
    return [(title, line) for title, line in found if line is not None and line.number]


def ids_of(plan: Plan, sections: Sequence[SectionLines], nearest: Sequence[Margin]) -> dict[str, str]:
    """Return where on the page each figure stands that a reason or a margin names."""
    names = {reason.figure for reason in plan.reasons} | {margin.figure for margin in nearest}
    return {name: id for name in names if name and (id := id_of(sections, name))}


def drawn_runway(plan: Plan, preferences: Preferences) -> tuple[dict[str, RunwayDrawing], Failure | None]:
    """Return the runway by width of the page, and the slider of an engine failure on it."""
    from sortiewright.cards import CardError, screen_runway

    drawn: dict[str, RunwayDrawing] = {}
    for name, width in RUNWAY_WIDTHS.items():
        try:
            drawn[name] = screen_runway(
                plan, system=preferences.units, scheme=preferences.scheme, width=width, text_size=10.0
            )
        except CardError:  # a label wider than a phone: the next wider drawing is shown there, only smaller
            drawn[name] = drawn["middle" if name == "narrow" else "wide"]
    return drawn, failure_of(plan, preferences.units)


def chart_of(opened: Opened, preferences: Preferences, name: Any, width: str) -> dict[str, Any]:
    """Return a chart as SVG with what found no room in it, or why there is none."""
    from sortiewright.cards import CardError, screen_chart

    if opened.plan is None:
        return {"svg": "", "beside": (), "why": "The sortie cannot be read, so there is nothing to draw."}
    try:
        made = screen_chart(
            opened.plan, name, system=preferences.units, scheme=preferences.scheme, width=WIDTHS[width]
        )
    except CardError as error:
        return {"svg": "", "beside": (), "why": str(error)}
    return {"svg": made.svg, "beside": made.beside, "why": ""}


FAMILY = PageFamily("numbers", "Numbers", "2", routes, standing)
