"""Today's checklists as data: the booklet of one seat, from its table of contents to what was left out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from sortiewright.cards.card_set import CardError, check_names, head_data, style_data, too_wide
from sortiewright.cards.checklist_rows import list_body
from sortiewright.cards.reading import Reading
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.sheet import MARGINS, MILLIMETRE, PaperName, Sheet
from sortiewright.cards.takeoff import holder
from sortiewright.cards.typeface import TypefaceError, printable, text_width
from sortiewright.pack import choice_hint
from sortiewright.procedures import Checklists, LeftOut, ReadyProcedure
from sortiewright.sortie import Plan

LEAST_ROW = 12.0 * MILLIMETRE
"""Height of an item: what a gloved finger finds. Common practice, no source."""
SEAT_CELL = 34.0
NUMBER = 38.0
LONGEST_TAB = 0.42
"""Share of the page's height that a thumb tab may take."""
TAB_TRACKING = 0.5

CONTENTS, LEFT_OUT = "Checklists", "Left out today"
LEGEND = (
    ("own", "your answer"),
    ("other", "the other seat's answer"),
    ("killer", "critical: must not be missed"),
    ("memory", "from memory, then confirmed here"),
    ("hold", "wait here until it is given"),
)


def checklist_data(
    checklists: Checklists,
    plan: Plan,
    *,
    seat: str,
    paper: PaperName = "a5",
    scheme: SchemeName = "day",
    procedures: Sequence[str] | None = None,
) -> dict[str, Any]:
    """Return everything that one seat's booklet prints, as JSON types.

    ``procedures`` chooses lists by their names; all where None.

    Raises
    ------
    CardError
        If a name is unknown, the seat is empty, the fonts are missing, or a title is too long for its tab.
    """
    check_names(paper, scheme, (), ())
    check_seat(checklists, seat)
    sheet = Sheet(paper, scheme)
    try:
        return {
            "style": style_data(sheet) | {"row": LEAST_ROW, "cell": SEAT_CELL, "number": NUMBER},
            "head": head(checklists, plan),
            "cards": cards(checklists, plan, sheet, seat, chosen(checklists, procedures)),
        }
    except OverflowError as overflow:
        raise too_wide(str(overflow)) from None
    except TypefaceError as missing:
        raise CardError(str(missing)) from None


def check_seat(checklists: Checklists, seat: str) -> None:
    """Raise CardError for a seat in which nobody sits."""
    occupied = [key for key, _ in checklists.seats]
    if seat not in occupied:
        raise CardError(f"nobody sits in seat {seat!r} today. Occupied: {', '.join(occupied) or 'none'}.")


def chosen(checklists: Checklists, names: Sequence[str] | None) -> set[str]:
    """Return the names of the lists to print; raise CardError for one that there is not today."""
    known = [one.id for one in (*checklists.normal, *checklists.others)]
    for name in names or ():
        if name not in known:
            gone = next((one.because for one in checklists.left_out if one.id == name), "")
            why = (
                f"does not apply today: {gone}"
                if gone
                else f"is unknown. {choice_hint(name, known, 'lists')}"
            )
            raise CardError(f"list {name!r} {why}")
    return set(known if names is None else names)


def head(checklists: Checklists, plan: Plan) -> dict[str, Any]:
    """Return what every page repeats; the foot says from which pack, of which day, and which lists."""
    pack = f"Pack {plan.pack_name} {plan.pack_version}"
    lists = f"lists {checklists.digest[:8]}" if checklists.digest else ""
    status = ", ".join(part for part in (pack, lists, plan.time) if part)
    return head_data(plan) | {"status": printable(status)}


def cards(
    checklists: Checklists, plan: Plan, sheet: Sheet, seat: str, wanted: set[str]
) -> list[dict[str, Any]]:
    """Return the booklet's cards in their order: contents, lists, emergencies, what was left out."""
    normal = [one for one in checklists.normal if one.id in wanted]
    others = [one for one in checklists.others if one.id in wanted]
    person = printable(holder(Reading(plan), seat))
    common = {"seat": printable(seat.replace("_", " ").upper()), "holder": person, "striped": False}
    phases = list(dict.fromkeys(phase_of(one) for one in normal))
    made = [
        common
        | card_of(one, checklists, seat)
        | {"tab": tab(phase_of(one), phases.index(phase_of(one)), len(phases), sheet)}
        for one in normal
    ]
    made += [
        common
        | card_of(one, checklists, seat)
        | {"tab": tab(one.title, at, len(others), sheet), "striped": one.kind == "emergency"}
        for at, one in enumerate(others)
    ]
    gone = left_out_groups(checklists, wanted)
    last = [common | plain_card("left-out", LEFT_OUT, {"groups": gone})] if gone else []
    first = plain_card("contents", CONTENTS, contents(checklists, plan, normal, others, gone))
    return [common | first, *made, *last]


def card_of(procedure: ReadyProcedure, checklists: Checklists, seat: str) -> dict[str, Any]:
    """Return the card of one list, without what all cards of its kind share."""
    return {
        "id": procedure.id,
        "name": "list",
        "kind": procedure.kind,
        "title": printable(procedure.title),
        "body": list_body(procedure, checklists, seat),
    }


def plain_card(name: str, title: str, body: dict[str, Any]) -> dict[str, Any]:
    """Return a card that is not a list."""
    return {"id": name, "name": name, "kind": "", "title": title, "tab": None, "body": body}


def phase_of(procedure: ReadyProcedure) -> str:
    """Return the part of the sortie that a normal list's tab names."""
    return procedure.phase or "sortie"


def contents(
    checklists: Checklists,
    plan: Plan,
    normal: Sequence[ReadyProcedure],
    others: Sequence[ReadyProcedure],
    gone: list[dict[str, Any]],
) -> dict[str, Any]:
    """Return the first card: which lists there are, what the marks mean, how much does not apply today."""

    def entries(lists: Iterable[ReadyProcedure]) -> list[dict[str, str]]:
        return [{"id": one.id, "title": printable(one.title)} for one in lists]

    emergencies = [one for one in others if one.kind == "emergency"]
    abnormal = [one for one in others if one.kind != "emergency"]
    groups = (("Emergency", emergencies), ("Abnormal", abnormal), ("Normal", normal))
    return {
        "about": printable(plan.title),
        "groups": [{"title": title, "lists": entries(lists)} for title, lists in groups if lists],
        "legend": [{"mark": mark, "text": text} for mark, text in LEGEND],
        "gone": sum(len(group["lines"]) for group in gone),
        "remarks": [printable(remark) for remark in checklists.remarks],
        "pack": printable(f"{plan.pack_title or plan.pack_name} {plan.pack_version}".strip()),
    }


def left_out_groups(checklists: Checklists, wanted: set[str]) -> list[dict[str, Any]]:
    """Return what does not apply today with what left it out, list by list; whole lists first."""
    groups = [("Whole lists", [one for one in checklists.left_out if not one.unknown])]
    groups += [
        (one.title, [item for item in one.left_out if not item.unknown])
        for one in (*checklists.normal, *checklists.others)
        if one.id in wanted
    ]
    return [
        {"title": printable(title), "lines": [left_out_line(one) for one in lines]}
        for title, lines in groups
        if lines
    ]


def left_out_line(one: LeftOut) -> dict[str, str]:
    """Return one line of what does not apply: its title and the condition with today's values."""
    return {"title": printable(one.title), "because": printable(one.because or one.condition)}


def tab(label: str, at: int, count: int, sheet: Sheet) -> dict[str, Any]:
    """Return a thumb tab: its words on one line or two, and how far down the page it stands, 0 to 1.

    Raises ``OverflowError`` for a label that is too long for the edge of the page.
    """
    size = sheet.sizes["tab"]
    words = printable(label.upper()).split()

    def width(line: str) -> float:
        return text_width(line, size, bold=True) + TAB_TRACKING * len(line)

    splits = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    whole = " ".join(words)
    room = LONGEST_TAB * sheet.page_height - 12.0
    lines = [whole]
    if splits and width(whole) > 0.5 * room:
        lines = list(min(splits, key=lambda pair: max(width(line) for line in pair)))
    length = max(width(line) for line in lines)
    if length > room:
        raise OverflowError(f"tab: {whole}")
    return {
        "lines": lines,
        "length": length + 12.0,
        "place": at / (count - 1) if count > 1 else 0.0,
        "width": MARGINS["right"] - 5.0,
    }
