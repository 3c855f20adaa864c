"""What every page of Prepare is drawn with: the figures that decide, what is wrong, and one panel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sortiewright.desk.editing import plain_data
from sortiewright.desk.prepare_acts import seen_mark
from sortiewright.desk.prepare_day import choice_fields, day_fields
from sortiewright.desk.prepare_fields import Form
from sortiewright.desk.prepare_files import overlays_beside
from sortiewright.desk.prepare_load import load_panel
from sortiewright.desk.prepare_place import place_panel
from sortiewright.desk.prepare_route import route_panel
from sortiewright.desk.prepare_strip import KeyFigure, key_figures
from sortiewright.desk.saving import DifferentLine, differences
from sortiewright.pack import InputError, Pack, pack_names

if TYPE_CHECKING:
    from sortiewright.desk.current import Opened
    from sortiewright.desk.drafts import Draft
    from sortiewright.desk.prepare_bench import Seen
    from sortiewright.sortie import LoadedSortie, PackLoader, Plan, Sortie, System

PANELS = (
    ("load", "Load and fuel"),
    ("place", "Field and weather"),
    ("route", "Route"),
    ("crew", "Crew and time"),
    ("choices", "Takeoff and landing"),
    ("sorties", "Sorties"),
)
"""Name and title of each page of Prepare, in the order of the work."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a page is asked for: which one, what is chosen on it, and what could not be done before it.

    ``said`` is why not, ``said_at`` the field that it stands beside (empty: at the head of the page), and
    ``typed`` what had been typed there.
    """

    at: str
    chosen: str = ""
    said: str = ""
    said_at: str = ""
    typed: str = ""

    @property
    def choosing(self) -> str:
        """How a request calls what is chosen."""
        return "station" if self.at == "load" else "chosen"


@dataclass(frozen=True, slots=True)
class Board:
    """A page of Prepare. ``stale`` says that the figures are of an older text, as this one has faults.

    ``seen`` changes with the lists of the page: a press carries it, as it names positions in them.
    """

    asked: Asked
    at: str
    chosen: str
    seen: str
    state: str
    figures: tuple[KeyFigure, ...]
    good: Plan | None
    stale: bool
    undoes: str
    redoes: str
    unplaced: tuple[str, ...]
    elsewhere: int
    """Problems that stand beside fields of other panels."""
    differs: tuple[DifferentLine, ...]
    can_save: bool
    panel: Any
    faulty_panels: frozenset[str]


PANEL_OF_KEY = {
    "load": "load",
    "aerodrome": "place",
    "runway": "place",
    "weather": "place",
    "landing_place": "place",
    "route": "route",
    "takeoff": "choices",
    "landing": "choices",
    "requirements": "choices",
    "notes": "choices",
}
"""Where a key of the file is edited; crew and time where nothing is said."""


def board_of(
    opened: Opened,
    draft: Draft,
    seen: Seen | None,
    packs: PackLoader,
    *,
    asked: Asked,
    units: System,
) -> Board:
    """Return what a page of Prepare shows of the sortie as it is."""
    at, form = asked.at, Form(plain_data(opened.text), opened.problems)
    loaded = opened.loaded or (None if seen is None else seen.loaded)
    pack = _pack_of(form, loaded, packs)
    sortie = None if loaded is None else loaded.sortie
    plan = opened.plan or (None if seen is None else seen.plan)
    overlays = overlays_beside(opened.entry.file) if at == "crew" else ()
    panel = _panel(form, pack, sortie, plan, asked, overlays, units)
    before = None if seen is None or opened.plan is None else seen.before
    faulty = frozenset(panel_of(one.key) for one in opened.problems)
    here = [one for one in opened.problems if panel_of(one.key) == at]
    unplaced = tuple(str(one) for one in here if one not in form.placed)
    return Board(
        asked=asked,
        at=at,
        chosen=asked.chosen,
        seen=seen_mark(form, at),
        state=opened.state,
        figures=() if plan is None else key_figures(plan, before, units),
        good=plan,
        stale=opened.plan is None,
        undoes=draft.undoes,
        redoes=draft.redoes,
        unplaced=(*unplaced, *((opened.fault,) if opened.fault else ())),
        elsewhere=len(opened.problems) - len(here),
        differs=differences(opened.text, opened.file_text)
        if opened.is_draft and opened.changed_outside
        else (),
        can_save=not opened.entry.shipped,
        panel=panel,
        faulty_panels=faulty,
    )


def panel_of(key: str) -> str:
    """Return the name of the panel on which a key is edited."""
    return PANEL_OF_KEY.get(key.partition(".")[0].partition("[")[0], "crew")


def _pack_of(form: Form, loaded: LoadedSortie | None, packs: PackLoader) -> Pack | None:
    """Return the pack that the text names; where that is none, that of the last text that could be read."""
    name = form.text("pack")
    last = None if loaded is None else loaded.pack.pack
    if (loaded is not None and name == loaded.sortie.pack) or name not in pack_names():
        return last
    try:
        return packs(name).pack
    except InputError:
        return last


def _panel(
    form: Form,
    pack: Pack | None,
    sortie: Sortie | None,
    plan: Plan | None,
    asked: Asked,
    overlays: tuple[str, ...],
    units: System,
) -> Any:
    match asked.at:
        case "load":
            fits = sortie if pack is not None and sortie is not None and _fits(sortie, pack) else None
            return None if pack is None else load_panel(form, pack, fits, asked.chosen, units)
        case "place":
            return place_panel(form, units)
        case "route":
            return route_panel(form, pack, plan, units, asked.chosen)
        case "crew":
            return day_fields(form, pack, tuple(pack_names()), overlays, units)
        case "choices":
            return None if pack is None else choice_fields(form, pack, units)
        case _:
            return None


def _fits(sortie: Sortie, pack: Pack) -> bool:
    """Return whether a sortie was written for this pack: its tanks and stores are the pack's."""
    known = all(name in pack.mass.tanks for name in sortie.load.fuel.tanks)
    return known and all(one in pack.stores for hung in sortie.load.stores.values() for one in hung)
