"""Numbers: go, caution or no-go, why, and every figure of the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sortiewright.desk.current import Opened
from sortiewright.desk.page_family import PageFamily, Standing
from sortiewright.desk.ribbon import plan_standing
from sortiewright.desk.state import preferences_of
from sortiewright.sortie import Figure, Plan, System, show

if TYPE_CHECKING:
    from sortiewright.desk.state import Desk


class Line(NamedTuple):
    """A figure as it is read: its name, number and unit or words, and what is to be heeded."""

    name: str
    title: str
    number: str
    unit: str
    words: str
    spread: str
    notes: tuple[str, ...]
    is_missing: bool


def routes(desk: Desk) -> Sequence[Route]:
    """Return the routes of this part."""

    async def page(request: Request) -> Response:
        opened = await desk.opened()
        return await desk.page(
            request, "numbers/page.html", here="numbers", title="Numbers", sections=lines_for(request, opened)
        )

    async def table(request: Request) -> Response:
        opened = await desk.opened()
        return await desk.fragment(request, "numbers/numbers.html", sections=lines_for(request, opened))

    return (Route("/numbers", page), Route("/numbers/table", table))


def standing(desk: Desk, opened: Opened) -> Standing:
    """Return the verdict."""
    return plan_standing(opened)


def lines_for(request: Request, opened: Opened) -> list[tuple[str, str, list[Line]]]:
    """Return the plan's sections in the units of whoever asks; none where there is no plan."""
    return [] if opened.plan is None else section_lines(opened.plan, preferences_of(request).units)


def section_lines(plan: Plan, units: System) -> list[tuple[str, str, list[Line]]]:
    """Return every section of a plan as name, title and lines."""
    return [
        (section.name, section.title, [figure_line(figure, units) for figure in section.figures])
        for section in plan.sections
    ]


def figure_line(figure: Figure, units: System) -> Line:
    """Return a figure as it is read."""
    if figure.problem:
        return Line(figure.name, figure.title, "", "", figure.problem, "", figure.cautions, True)
    notes, words, spread = list(figure.cautions), figure.text, ""
    if figure.low is not None and figure.high is not None and figure.value is not None:
        half = show(0.5 * (figure.high - figure.low), figure.kind, units, difference=True)
        spread = f"± {half.text.lstrip('+')}"
    if words and figure.value is not None and not words[0].isdigit():
        notes.insert(0, words)
        figure, words = replace(figure, text=""), ""
    number, unit = ("", "") if words else show(figure, system=units)
    return Line(figure.name, figure.title, number, unit, words, spread, tuple(notes), False)


FAMILY = PageFamily("numbers", "Numbers", "2", routes, standing)
