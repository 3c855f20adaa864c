"""The desk itself: what all pages share, and how a page is drawn in the frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse

from sortiewright import CAUTION, __version__
from sortiewright.desk.current import CurrentSortie, Opened
from sortiewright.desk.drafts import Drafts
from sortiewright.desk.event_stream import Hub, Viewer
from sortiewright.desk.gate import visitor_of
from sortiewright.desk.options import DeskOptions
from sortiewright.desk.ribbon import stops
from sortiewright.desk.served_files import ServedFiles
from sortiewright.desk.sessions import JoinCode, Sessions
from sortiewright.desk.shelf import Shelf

if TYPE_CHECKING:
    from sortiewright.desk.page_family import PageFamily
    from sortiewright.sortie import System

TEMPLATES = Path(__file__).parent / "templates"
Scheme = Literal["day", "night"]
SCHEME_COOKIE = "sortiewright_scheme"
UNITS_COOKIE = "sortiewright_units"
FRAME_TOPICS = ("plan", "ribbon", "crew")
"""What every page listens to: the sortie was computed anew; a part's state changed; somebody came or went."""


@dataclass(frozen=True, slots=True)
class Preferences:
    """How one device likes its pages; kept in its own cookies."""

    scheme: Scheme
    units: System


@dataclass
class Desk:
    """Everything that lives as long as the server."""

    options: DeskOptions
    shelf: Shelf
    current: CurrentSortie
    sessions: Sessions
    families: Sequence[PageFamily] = ()
    """The parts of the job; none until their modules are imported."""
    drafts: Drafts = field(default_factory=Drafts)
    """Unsaved changes by sortie, which outlive the server."""
    code: JoinCode = field(default_factory=JoinCode)
    hub: Hub = field(default_factory=Hub)
    files: ServedFiles = field(default_factory=ServedFiles)
    parts: dict[str, Any] = field(default_factory=dict[str, Any])
    """What a page family keeps between requests, under its own name."""

    async def opened(self) -> Opened:
        """Return the sortie on the desk as it is now, and tell every page if that is news."""
        return self._told(self.current.ready, await self.current.opened())

    async def open(self, id: str) -> Opened | None:
        """Take another sortie from the shelf; None if there is none with this id."""
        entry = self.shelf.find(id)
        return None if entry is None else self._told(self.current.ready, await self.current.open(entry))

    async def show_draft(self, text: str, base: str | None = None) -> Opened:
        """Take an unsaved text of the sortie, begun when its file held ``base``, and tell every page."""
        return self._told(self.current.ready, await self.current.show_draft(text, base))

    async def drop_draft(self) -> Opened:
        """Return to what the sortie's file holds, and tell every page."""
        return self._told(self.current.ready, await self.current.drop_draft())

    def _told(self, before: Opened | None, now: Opened) -> Opened:
        if before is not None and before is not now:
            self.hub.publish("plan", now.state, event="plan-changed", latest="plan")
        return now

    def ribbon_changed(self) -> None:
        """Tell every page that the state of a part of the job changed."""
        self.hub.publish("ribbon", event="ribbon-changed", latest="ribbon", body="now")

    async def page(
        self,
        request: Request,
        template: str,
        *,
        here: str,
        title: str,
        status: int = 200,
        topics: Sequence[str] = (),
        **context: Any,
    ) -> HTMLResponse:
        """Return a whole page in the frame.

        ``here`` is the name of its family ("" for none); ``topics`` are what it listens to besides the
        frame's own. The template extends ``base.html`` and is drawn with everything that ``context_of``
        gives, and with ``context``.
        """
        framed = self.framed(request, await self.opened(), here=here, title=title, topics=topics)
        return HTMLResponse(self.render(template, **framed, **context), status)

    def framed(
        self, request: HTTPConnection, opened: Opened | None, *, here: str, title: str, topics: Sequence[str]
    ) -> dict[str, Any]:
        """Return what a template that extends ``base.html`` is drawn with."""
        return {
            **self.context_of(request, opened),
            "here": here,
            "title": title,
            "ribbon": stops(self, opened, here),
            "topics": ",".join((*FRAME_TOPICS, *topics)),
            "position": self.hub.position,
        }

    async def fragment(
        self, request: Request, template: str, *, status: int = 200, **context: Any
    ) -> HTMLResponse:
        """Return a part of a page, for htmx to swap in."""
        opened = await self.opened()
        return HTMLResponse(self.render(template, **self.context_of(request, opened), **context), status)

    def render(self, template: str, **context: Any) -> str:
        """Return a template's text. A missing name is an error; everything is escaped."""
        return self.environment.get_template(template).render(**context)

    def context_of(self, request: HTTPConnection, opened: Opened | None) -> dict[str, Any]:
        """Return what every template may use."""
        preferences = preferences_of(request)
        context: dict[str, Any] = {
            "opened": opened,
            "plan": None if opened is None else opened.plan,
            "visitor": visitor_of(request),
            "scheme": preferences.scheme,
            "units": preferences.units,
        }
        if opened is not None:
            from sortiewright.sortie import show  # imported by now

            context["shown"] = partial(show, system=preferences.units)
        return context

    def viewer(self, request: HTTPConnection) -> Viewer:
        """Return what the text of a message may depend on for whoever asks."""
        return Viewer(visitor_of(request).seat, preferences_of(request).units)

    @cached_property
    def environment(self) -> Environment:
        """The templates, and what all of them may use."""
        made = Environment(
            loader=FileSystemLoader(TEMPLATES),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        cast("dict[str, Any]", made.globals).update(
            asset=self.files.address, is_served=self.files.__contains__, caution=CAUTION, version=__version__
        )
        return made


def preferences_of(request: HTTPConnection) -> Preferences:
    """Return how a device likes its pages; day and trade units where it has not said."""
    return Preferences(
        "night" if request.cookies.get(SCHEME_COOKIE) == "night" else "day",
        "si" if request.cookies.get(UNITS_COOKIE) == "si" else "trade",
    )
