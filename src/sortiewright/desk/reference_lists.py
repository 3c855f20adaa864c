"""A pack's procedures as the book prints them: every item, today's numbers, and what is left out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sortiewright.procedures import (
    Checklists,
    Item,
    LeftOut,
    Procedure,
    Procedures,
    ReadyItem,
    ReadyProcedure,
)

KINDS = {"emergency": "Emergency", "abnormal": "Abnormal", "normal": "Normal"}
PARTS = {"immediate": "Immediate actions", "follow-up": "Follow-up", "deferred": "Deferred"}
ENDS = {"resume": "Then back to the list that was interrupted", "end": "The sortie ends here"}


@dataclass(frozen=True, slots=True)
class ListItem:
    """One item. ``left_out`` says why it does not apply today, empty where it does."""

    id: str
    number: int
    challenge: str
    response: str
    seats: str
    part: str
    """The heading that begins with this item, empty where none does."""
    memory: bool
    killer: bool
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    hold: str
    branch: str
    branch_title: str
    branch_case: str
    place: str
    why: str
    until: str
    seen: str
    left_out: str
    file_place: str


@dataclass(frozen=True, slots=True)
class BookList:
    """One procedure in the book."""

    id: str
    title: str
    kind: str
    phase: str
    entry: str
    not_if: str
    read: str
    items: tuple[ListItem, ...]
    complete: str
    then: str
    then_title: str
    status: tuple[str, ...]
    left_out: str
    source: str
    place: str

    @property
    def memory_items(self) -> tuple[ListItem, ...]:
        """What is done before the book is opened."""
        return tuple(item for item in self.items if item.memory)

    @property
    def path(self) -> str:
        """Where it is read."""
        return f"/reference/lists/{self.id}"


def book_lists(procedures: Procedures, today: Checklists | None) -> tuple[BookList, ...]:
    """Return every procedure: the normal ones in their order, then the others as their files have them.

    Without ``today``, the sortie having no plan, names of figures stand where its numbers would.
    """
    order = [*procedures.order.sortie, *([procedures.order.go_around] if procedures.order.go_around else [])]
    names = list(dict.fromkeys([*order, *procedures.procedures]))
    return tuple(_list(procedures, name, today) for name in names if name in procedures.procedures)


def _list(procedures: Procedures, name: str, today: Checklists | None) -> BookList:
    said = procedures.procedures[name]
    ready = None if today is None else today.by_id.get(name)
    gone = {} if today is None else {one.id: one for one in today.left_out}
    then = said.then
    return BookList(
        id=name,
        title=said.title if ready is None else ready.title,
        kind=said.kind,
        phase=said.phase,
        entry=said.entry if ready is None else ready.entry,
        not_if=said.not_if if ready is None else ready.not_if,
        read="read, then do" if said.style == "read-do" else "do, then confirm",
        items=tuple(_items(procedures, name, said, ready)),
        complete=(said.complete or f"{said.title} complete") if ready is None else ready.complete,
        then=then if then in procedures.procedures else "",
        then_title=procedures.procedures[then].title if then in procedures.procedures else ENDS.get(then, ""),
        status=said.status if ready is None else ready.status,
        left_out=_why(gone.get(name)),
        source=_source(procedures, name),
        place=procedures.where("procedures", name),
    )


def _items(
    procedures: Procedures, name: str, said: Procedure, ready: ReadyProcedure | None
) -> Iterable[ListItem]:
    filled = {} if ready is None else {item.id: item for item in ready.items}
    gone = {} if ready is None else {one.id: one for one in ready.left_out if not one.unknown}
    part = ""
    for number, item in enumerate(said.items, 1):
        own = item.part or ("immediate" if item.memory else "")
        begins = PARTS.get(own, "") if own != part else ""
        part = own
        where = procedures.where("procedures", name, "items", number - 1)
        yield _item(procedures, number, item, filled.get(item.id), gone.get(item.id), begins, where)


def _item(
    procedures: Procedures,
    number: int,
    item: Item,
    ready: ReadyItem | None,
    gone: LeftOut | None,
    begins: str,
    place: str,
) -> ListItem:
    seats = procedures.pack.mass.seats
    titles = [seats[seat].title if seat in seats else seat for seat in item.seat]
    branch = item.if_not
    controls = procedures.cockpit.controls
    panels = dict.fromkeys(controls[name].panel for name in item.sets if name in controls)
    text: Item | ReadyItem = item if ready is None else ready
    return ListItem(
        id=item.id,
        number=number,
        challenge=text.challenge,
        response=text.response,
        seats=(" or " if item.any_one else " and ").join(titles),
        part=begins,
        memory=item.memory,
        killer=item.killer,
        warnings=text.warnings,
        cautions=text.cautions,
        notes=text.notes,
        hold=""
        if item.hold is None
        else f"{item.hold.awaits}, from {_who(procedures, item.hold.cleared_by)}",
        branch="" if branch is None else branch.go,
        branch_title="" if branch is None else procedures.procedures[branch.go].title,
        branch_case="" if branch is None else branch.case,
        place=", ".join(panel for panel in panels if panel),
        why=text.why,
        until=text.until,
        seen=item.seen,
        left_out=_why(gone),
        file_place=place,
    )


def _why(gone: LeftOut | None) -> str:
    return "" if gone is None or gone.unknown else f"Not today: {gone.because}"


def _who(procedures: Procedures, person: str) -> str:
    parties, seats = procedures.cockpit.parties, procedures.pack.mass.seats
    return parties[person].title if person in parties else seats[person].title if person in seats else person


def _source(procedures: Procedures, name: str) -> str:
    own = procedures.sources.get(name)
    if own is not None:
        return own.text or own.note
    file = procedures.where("procedures", name).partition(":")[0]
    whole = procedures.sources.get(file)
    return whole.text if whole is not None else procedures.order.sources
