"""Where cards and lists are rendered: each set once for the same plan and choice, in a thread of its own."""

from __future__ import annotations

import asyncio
import hashlib
import io
import re
import shutil
import tempfile
import weakref
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.desk.cards_choice import Choice
from sortiewright.desk.slow_work import Work

if TYPE_CHECKING:
    from sortiewright.desk.current import Opened
    from sortiewright.desk.state import Desk
    from sortiewright.procedures import Checklists

NAME = "cards"
TOPIC, EVENT = "cards", "cards-moved"
MOST_SETS = 8
CARDS_PPI, LISTS_PPI = 200.0, 130.0
"""Of pages as pictures: a booklet has a hundred of them."""
_PAGE = re.compile(r".*-(\d+)-([a-z0-9_-]+)\.png$")


@dataclass(frozen=True)
class Sheet:
    """A file that was made."""

    file: Path
    title: str
    seat: str = ""

    @property
    def name(self) -> str:
        """What a download is called."""
        return self.file.name


@dataclass(frozen=True)
class Printed:
    """A set that was made: documents and pages in order."""

    documents: tuple[Sheet, ...]
    pages: tuple[Sheet, ...]

    def pages_zipped(self) -> bytes:
        """Return all pages as one ZIP file; pictures are packed already, so they are only stored."""
        target = io.BytesIO()
        with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
            for one in self.pages:
                archive.write(one.file, one.name)
        return target.getvalue()


@dataclass(frozen=True)
class PrintSet:
    """A choice for a plan, and its rendering."""

    id: str
    choice: Choice
    work: Work[Printed]

    @property
    def printed(self) -> Printed | None:
        """What was made; None while it is being made, and where it cannot be."""
        return self.work.result


class Press:
    """Renders sets and remembers the newest. All methods are called in the server's thread."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._folder = Path(tempfile.mkdtemp(prefix="sortiewright-"))
        weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
        self._sets: dict[str, PrintSet] = {}
        self._turn = asyncio.Semaphore(1)
        self.usual: dict[str, Choice] = {}
        """By visitor: what was chosen last."""

    def find(self, id: str) -> PrintSet | None:
        """Return a set by its id; None if it is not remembered."""
        return self._sets.get(id)

    def order(self, opened: Opened, choice: Choice) -> PrintSet:
        """Return the set of a choice for the open sortie, which must have a plan; begun if it is new."""
        id = _id(opened, choice)
        for one in self._sets.values():  # the same of a plan that is overtaken
            if one.choice == choice and one.id != id:
                one.work.cancel()
        found = self._sets.pop(id, None)
        if found is None or found.work.state in ("failed", "cancelled"):
            found = PrintSet(id, choice, Work(_steps(choice), self._tell))
            folder = self._folder / id
            found.work.begin(_maker(opened, choice, folder), _faults(), self._turn)
        self._sets[id] = found
        self._forget()
        return found

    def _forget(self) -> None:
        while len(self._sets) > MOST_SETS:
            gone = self._sets.pop(next(iter(self._sets)))
            gone.work.cancel()
            if gone.printed is not None:
                for one in (*gone.printed.documents, *gone.printed.pages):
                    one.file.unlink(missing_ok=True)

    def _tell(self) -> None:
        self._desk.hub.publish_from_thread(TOPIC, "now", event=EVENT, latest=EVENT)


def press_of(desk: Desk) -> Press:
    """Return the desk's press."""
    if NAME not in desk.parts:
        desk.parts[NAME] = Press(desk)
    return desk.parts[NAME]


def cards_offered(opened: Opened) -> dict[str, str]:
    """Return name and title of each card that the open sortie's plan has something for."""
    from sortiewright.cards import TITLES, cards_of

    return {} if opened.plan is None else {name: TITLES[name] for name in cards_of(opened.plan)}


def every_card() -> dict[str, str]:
    """Return name and title of each card there is."""
    from sortiewright.cards import TITLES

    return {**TITLES}


def lists_offered(opened: Opened) -> list[tuple[str, str]]:
    """Return name and title of each list of the open sortie's pack; slow the first time."""
    from sortiewright.pack import InputError
    from sortiewright.procedures import has_procedures, load_procedures

    if opened.loaded is None or not has_procedures(opened.loaded.pack):
        return []
    try:
        found = load_procedures(opened.loaded.pack)
    except InputError:
        return []
    return [(name, one.title) for name, one in found.procedures.items()]


def _id(opened: Opened, choice: Choice) -> str:
    pack = "" if opened.plan is None else opened.plan.pack_digest
    return hashlib.sha256(f"{opened.digest} {pack} {choice.query}".encode()).hexdigest()[:20]


def _steps(choice: Choice) -> int:
    return 2 if choice.kind == "cards" else 1 + 2 * len(choice.seats)


def _faults() -> tuple[type[Exception], ...]:
    from sortiewright.cards import CardError
    from sortiewright.pack import InputError

    return CardError, InputError


def _maker(opened: Opened, choice: Choice, folder: Path) -> Callable[[Callable[[str], None]], Printed]:
    def make(step: Callable[[str], None]) -> Printed:
        return (_cards if choice.kind == "cards" else _lists)(opened, choice, folder, step)

    return make


def _cards(opened: Opened, choice: Choice, folder: Path, step: Callable[[str], None]) -> Printed:
    from sortiewright.cards import TITLES, render_cards

    assert opened.plan is not None
    common: dict[str, Any] = {
        "paper": choice.paper,
        "scheme": choice.scheme,
        "units": choice.units,
        "cards": choice.cards,
        "seats": choice.seats,
        "ppi": CARDS_PPI,
    }
    step("setting the cards")
    documents = render_cards(opened.plan, folder, formats=("pdf",), **common)
    step("drawing the pages")
    pages = render_cards(opened.plan, folder, formats=("png",), **common)
    return Printed(tuple(Sheet(one, "All cards") for one in documents), _titled(pages, TITLES))


def _lists(opened: Opened, choice: Choice, folder: Path, step: Callable[[str], None]) -> Printed:
    from sortiewright.cards import render_checklists

    assert opened.plan is not None
    step("tailoring the lists to the sortie")
    lists = _tailored(opened, choice)
    seats = dict(lists.seats)
    documents: list[Sheet] = []
    pages: list[Sheet] = []
    for seat in [one for one in seats if one in choice.seats] or list(seats):
        for form, words in (("pdf", "setting"), ("png", "drawing")):
            step(f"{words} the lists, {seats[seat].lower()}")
            files = render_checklists(
                lists,
                opened.plan,
                folder,
                paper=choice.paper,
                scheme=choice.scheme,
                formats=(form,),  # pyright: ignore[reportArgumentType]
                seats=(seat,),
                procedures=(choice.procedure,) if choice.procedure else None,
                ppi=LISTS_PPI,
            )
            if form == "pdf":
                documents += [Sheet(one, f"Checklists, {seats[seat].lower()}", seat) for one in files]
            else:
                titles = {one.id: one.title for one in (*lists.normal, *lists.others)}
                pages += _titled(files, titles, seat)
    return Printed(tuple(documents), tuple(pages))


def _tailored(opened: Opened, choice: Choice) -> Checklists:
    from sortiewright.procedures import load_procedures, tailor_checklists

    assert opened.loaded is not None
    assert opened.plan is not None
    procedures = load_procedures(opened.loaded.pack)
    return tailor_checklists(procedures, opened.loaded.sortie, opened.plan, choice.units)


def _titled(files: list[Path], titles: Mapping[Any, str], seat: str = "") -> tuple[Sheet, ...]:
    """Return pages with what they show; a page's file is named by its number and its card or list."""
    found: list[Sheet] = []
    for file in files:
        match = _PAGE.match(file.name)
        name = match[2] if match else ""
        bare, _, last = name.rpartition("-")
        at = last if last in ("front", "rear") and bare in titles else seat
        key = bare if bare in titles and last in ("front", "rear") else name
        found.append(Sheet(file, titles.get(key, key.replace("-", " ").replace("_", " ").capitalize()), at))
    return tuple(found)
