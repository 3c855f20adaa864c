"""The whole book of the pack on the desk, put together once for a pack, a sortie and the reader's units."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import BaseModel

from sortiewright.desk.current import Opened
from sortiewright.desk.reference_book import BookSection, Chapter, Entry, Found
from sortiewright.desk.reference_lists import KINDS, BookList, book_lists
from sortiewright.desk.reference_notes import NotePart, note_parts
from sortiewright.desk.reference_rules import BookRule, book_rules
from sortiewright.desk.reference_search import Index
from sortiewright.desk.reference_units import heading
from sortiewright.desk.reference_values import GENERAL, sections_of
from sortiewright.pack import InputError, LoadedPack, overlay_summary
from sortiewright.procedures import Procedures, has_procedures, load_procedures, tailor_checklists
from sortiewright.recording import has_rules, load_rules
from sortiewright.sortie import System

PATIENCE = 0.4
"""Seconds that a request waits for a book; the page then comes back for it by itself."""
MOST_KEPT = 6
"""Books that are remembered: a pack in two systems of units, with a few sorties."""
VALUE_CHAPTERS: tuple[tuple[str, str, str, tuple[tuple[str, str], ...]], ...] = (
    ("limits", "Limits", "What must not be exceeded", ()),
    ("technique", "Technique", "How it is flown by the book", ()),
    (
        "mass",
        "Weight and balance",
        "Basic weight, seats, tanks, stations and the envelope",
        (("envelope", "Envelope of the centre of gravity with the weight limits"),),
    ),
    ("stores", "Stores", "What it can carry, and what that allows", ()),
    ("wheels", "Wheels, brakes, chute and hook", "Friction, brake energy, tyres", ()),
    (
        "engine",
        "Engine",
        "Power settings, times, readings",
        (("thrust", "Net thrust of one engine"), ("fuel_flow", "Fuel flow of one engine")),
    ),
    (
        "aero",
        "Aerodynamics",
        "Lift, drag and moments by configuration",
        (("lift", "Lift over angle of attack"), ("drag", "Drag polar, gear up")),
    ),
    ("airframe", "Airframe", "Reference geometry", ()),
    ("book", "Book points", "Published values that the program is held against", ()),
)
"""Name of the file, title, words, drawings."""
WEIGHTS = {"limits": 3.0, "emergency": 2.0, "technique": 1.0, "abnormal": 1.0}
"""What a crew that searches wants first."""
LIST_WORDS = {
    "emergency": "Danger now: memory items first",
    "abnormal": "Something failed, and there is time to read",
    "normal": "From walk-round to leaving the aircraft",
}


@dataclass(frozen=True)
class Book:
    """The pack as it is read."""

    title: str
    version: str
    summary: str
    rights: str
    calibrated: str
    chapters: tuple[Chapter, ...]
    lists: tuple[BookList, ...]
    rules: tuple[tuple[str, tuple[BookRule, ...]], ...]
    notes: tuple[NotePart, ...]
    faults: tuple[str, ...]
    """Parts of the pack that cannot be read, in words."""

    @cached_property
    def by_name(self) -> dict[str, Chapter]:
        """The chapters by their names."""
        return {chapter.name: chapter for chapter in self.chapters}

    @cached_property
    def lists_by_id(self) -> dict[str, BookList]:
        """The procedures by their ids."""
        return {one.id: one for one in self.lists}

    @cached_property
    def tables(self) -> dict[str, Entry]:
        """Every table by its key path as text: what a page may ask for."""
        return {
            ".".join(str(key) for key in entry.table): entry
            for chapter in self.chapters
            for section in chapter.sections
            for entry in section.entries
            if entry.table
        }

    @cached_property
    def index(self) -> Index:
        """What the search looks through."""
        return Index(found for chapter in self.chapters for found in chapter.search)

    def lists_of(self, kind: str) -> tuple[BookList, ...]:
        """Return the procedures of one kind."""
        return tuple(one for one in self.lists if one.kind == kind)


@dataclass(frozen=True)
class _Parts:
    """What of a book hangs on the pack alone."""

    loaded: LoadedPack
    procedures: Procedures | None
    rules: tuple[tuple[str, tuple[BookRule, ...]], ...]
    values: tuple[Chapter, ...]
    notes: tuple[NotePart, ...]
    faults: tuple[str, ...]


class Library:
    """Books, put together in a thread of their own: a pack's lists and rules take a second to read."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], Future[Book]] = OrderedDict()
        self._parts: _Parts | None = None
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="reference")

    async def book(self, opened: Opened, system: System) -> Book | None:
        """Return the book of the sortie's pack; None where it is not ready after ``PATIENCE`` seconds.

        The sortie must name a pack that can be read.
        """
        assert opened.loaded is not None
        key = (id(opened.loaded.pack), opened.digest, opened.plan is None, system)
        if key not in self._kept:
            self._kept[key] = self._worker.submit(self._make, opened, system)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        making = self._kept[key]
        try:
            return await asyncio.wait_for(asyncio.shield(asyncio.wrap_future(making)), PATIENCE)
        except TimeoutError:
            return None

    def _make(self, opened: Opened, system: System) -> Book:
        assert opened.loaded is not None
        if self._parts is None or self._parts.loaded is not opened.loaded.pack:
            self._parts = _parts_of(opened.loaded.pack)
        return _book(opened, self._parts, system)


def make_book(opened: Opened, system: System) -> Book:
    """Return the book of a sortie's pack, with today's numbers in its lists."""
    assert opened.loaded is not None
    return _book(opened, _parts_of(opened.loaded.pack), system)


def _parts_of(loaded: LoadedPack) -> _Parts:
    faults: list[str] = []
    procedures: Procedures | None = None
    rules: tuple[tuple[str, tuple[BookRule, ...]], ...] = ()
    try:
        procedures = load_procedures(loaded) if has_procedures(loaded) else None
    except InputError as error:
        faults += [str(problem) for problem in error.problems]
    try:
        rules = book_rules(load_rules(loaded)) if has_rules(loaded) else ()
    except InputError as error:
        faults += [str(problem) for problem in error.problems]
    notes = note_parts(loaded.notes) if loaded.notes else ()
    return _Parts(loaded, procedures, rules, tuple(_value_chapters(loaded)), notes, tuple(faults))


def _book(opened: Opened, parts: _Parts, system: System) -> Book:
    lists: tuple[BookList, ...] = ()
    if parts.procedures is not None:
        today = None
        if opened.plan is not None and opened.loaded is not None:
            today = tailor_checklists(parts.procedures, opened.loaded.sortie, opened.plan, system)
        lists = book_lists(parts.procedures, today)
    pack, overlay = parts.loaded.pack, parts.loaded.overlay
    chapters = (
        *_list_chapters(lists),
        *parts.values,
        *_rule_chapter(parts.rules),
        *_note_chapter(parts.notes),
    )
    return Book(
        title=pack.title,
        version=pack.version,
        summary=pack.summary,
        rights=pack.rights,
        calibrated="" if overlay is None else overlay_summary(overlay),
        chapters=chapters,
        lists=lists,
        rules=parts.rules,
        notes=parts.notes,
        faults=parts.faults,
    )


def _value_chapters(loaded: LoadedPack) -> Iterator[Chapter]:
    for part, title, words, charts in VALUE_CHAPTERS:
        sections = sections_of(loaded, part)
        if not sections:
            continue
        count = sum(len(one.entries) + (len(one.grid.rows) if one.grid else 0) for one in sections)
        found = tuple(_found_values(part, title, sections))
        model: Any = getattr(loaded.pack, part, None)
        missing = _not_given(model) if part == "limits" else ()
        yield Chapter(part, title, words, sections, charts, f"{count} values", missing, found)


def _not_given(model: Any) -> tuple[str, ...]:
    if not isinstance(model, BaseModel):
        return ()
    return tuple(heading(name) for name in type(model).model_fields if getattr(model, name) is None)


def _found_values(part: str, chapter: str, sections: tuple[BookSection, ...]) -> Iterator[Found]:
    for section in sections:
        of = chapter if section.id == GENERAL else f"{chapter}, {section.title}"
        weight = WEIGHTS.get(part, 0.0)
        yield Found(f"/reference/{part}#{section.id}", chapter, section.title, "", section.words, weight)
        for entry in section.entries:
            text = ". ".join(one for one in (entry.note, entry.source) if one)
            yield Found(f"/reference/{part}#{entry.id}", of, entry.title, entry.value, text, weight)
        if section.grid is not None:
            text = "; ".join(", ".join(row) for row in section.grid.rows)
            yield Found(f"/reference/{part}#{section.id}", of, section.title, "", text, weight)


def _list_chapters(lists: tuple[BookList, ...]) -> Iterator[Chapter]:
    with_memory = [one for one in lists if one.memory_items]
    if with_memory:
        count = sum(len(one.memory_items) for one in with_memory)
        words = "What is done before the book is opened"
        yield Chapter("memory", "Memory items", words, count=f"{count} items in {len(with_memory)} lists")
    for kind, title in KINDS.items():
        own = tuple(one for one in lists if one.kind == kind)
        if own:
            found = tuple(one for each in own for one in _found_list(each, title))
            count = f"{len(own)} lists, {sum(len(one.items) for one in own)} items"
            yield Chapter(kind, f"{title} procedures", LIST_WORDS[kind], count=count, search=found)


def _found_list(one: BookList, kind: str) -> Iterator[Found]:
    weight = WEIGHTS.get(one.kind, 0.0)
    about = " ".join(text for text in (one.entry, one.not_if, *one.status) if text)
    yield Found(one.path, f"{kind} procedure", one.title, "", about, weight)
    for item in one.items:
        told = (*item.warnings, *item.cautions, *item.notes, item.why, item.branch_case, item.place)
        advice = " ".join(text for text in told if text)
        memory = "Memory item. " if item.memory else ""
        path = f"{one.path}#{item.id}"
        yield Found(path, one.title, item.challenge, item.response, f"{memory}{advice}", weight)


def _rule_chapter(rules: tuple[tuple[str, tuple[BookRule, ...]], ...]) -> Iterator[Chapter]:
    if not rules:
        return
    found = tuple(
        Found(
            f"/reference/rules#{rule.id}",
            f"Debrief rules, {heading(name).lower()}",
            rule.title,
            "",
            f"{rule.advice} {'; '.join(text for _, text in rule.facts)}",
        )
        for name, group in rules
        for rule in group
    )
    words = "What is looked for in a recording, and from where on"
    yield Chapter("rules", "Debrief rules", words, count=f"{len(found)} rules and measurements", search=found)


def _note_chapter(notes: tuple[NotePart, ...]) -> Iterator[Chapter]:
    if not notes:
        return
    found = tuple(Found(f"/reference/notes#{one.id}", "Notes", one.title, "", one.text) for one in notes)
    words = "How the numbers were chosen"
    yield Chapter("notes", "Notes", words, count=f"{len(notes)} parts", search=found)
