"""How a run is drawn: the same templates for a whole page and for what is sent when something changes."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

from sortiewright.desk.event_stream import Viewer
from sortiewright.desk.run_proposals import OFFERED, WANTS_WORDS
from sortiewright.desk.run_sheet import grouped, here, normal_lists, sheet_of

if TYPE_CHECKING:
    from sortiewright.desk.run_room import RunRoom
    from sortiewright.desk.state import Desk
    from sortiewright.procedures import RunState


def sheet_markup(desk: Desk, room: RunRoom, state: RunState | None, viewer: Viewer, *, both: bool) -> str:
    """Return the sheet of one kind of reader as markup to be swapped in."""
    return desk.render("run/news.html", **sheet_context(room, state, viewer, both=both))


def sheet_context(room: RunRoom, state: RunState | None, viewer: Viewer, *, both: bool) -> dict[str, Any]:
    """Return what the sheet's templates are drawn with."""
    own = () if state is None else room.own(viewer.seat, both=both)
    return {
        "room": room,
        "sheet": None if state is None else sheet_of(state, own),
        "here_lists": [] if state is None else here(state),
        "live": room.feed.live(viewer.units),
        "seat": viewer.seat,
        "ends": {} if state is None else {one.procedure: one.end or "open" for one in state.lists},
        "both": both and len(own) > 1,
        "now": time.time(),
    }


def book_context(state: RunState) -> dict[str, Any]:
    """Return what the panels are drawn with that change only with the run."""
    return {
        "emergencies": grouped(state),
        "normal": normal_lists(state),
        "asked_words": WANTS_WORDS,
        "asked_offers": OFFERED,
    }
