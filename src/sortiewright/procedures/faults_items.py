"""What is wrong with the items of a procedure."""

from __future__ import annotations

from collections.abc import Iterator

from sortiewright.pack import Problem, shown
from sortiewright.procedures.fault_checks import Checks
from sortiewright.procedures.places import KeyPath
from sortiewright.procedures.schema import Item, Procedure


def item_faults(checks: Checks, name: str, procedure: Procedure) -> Iterator[Problem]:
    """Yield every fault of a procedure's items."""
    seen: dict[str, int] = {}
    for number, item in enumerate(procedure.items):
        path: KeyPath = ("procedures", name, "items", number)
        if item.id in seen:
            first = checks.procedures.where("procedures", name, "items", seen[item.id])
            yield checks.problem(
                (*path, "id"), shown(item.id), "stands here twice", f"The first is in {first}"
            )
        seen.setdefault(item.id, number)
        yield from _form_faults(checks, path, item, procedure)
        yield from _seat_faults(checks, path, item)
        yield from _name_faults(checks, path, item)
        yield from _text_faults(checks, path, item)


def _form_faults(checks: Checks, path: KeyPath, item: Item, procedure: Procedure) -> Iterator[Problem]:
    yield from checks.has_text((*path, "challenge"), item.challenge)
    if not item.response.strip() and item.hold is None:
        hint = "Write the state or the value that is wanted"
        yield checks.problem((*path, "response"), shown(item.id), "has no response", hint)
    if procedure.kind == "normal":
        for key in ("memory", "part"):
            if getattr(item, key):
                expected = "belongs to an abnormal or emergency procedure"
                yield checks.problem((*path, key), shown(item.id), expected)
    elif item.memory and item.part not in (None, "immediate"):
        expected = "cannot be done from memory"
        yield checks.problem((*path, "part"), f"a {item.part} item", expected, "Write part: immediate")


def _seat_faults(checks: Checks, path: KeyPath, item: Item) -> Iterator[Problem]:
    known = f"seats of {checks.pack.name}"
    for seat in item.seat:
        yield from checks.known((*path, "seat"), seat, checks.seats, known)
    yield from checks.once((*path, "seat"), item.seat)
    if not item.seat and item.hold is None:
        hint = f"Write one of {', '.join(checks.seats)}, or a list"
        yield checks.problem((*path, "seat"), shown(item.id), "is for nobody: seat is missing", hint)
    if item.any_one and len(item.seat) < 2:
        yield checks.problem((*path, "any_one"), shown(item.id), "needs several seats to choose among")


def _name_faults(checks: Checks, path: KeyPath, item: Item) -> Iterator[Problem]:
    yield from checks.condition((*path, "when"), item.when, checks.of_sortie)
    yield from checks.condition((*path, "needs"), item.needs, checks.of_cockpit)
    yield from checks.condition((*path, "seen"), item.seen, checks.of_channels)
    yield from checks.sets((*path, "sets"), item.sets)
    if item.hold is not None:
        here = (*path, "hold")
        yield from checks.has_text((*here, "awaits"), item.hold.awaits)
        people = [*checks.procedures.cockpit.parties, *checks.seats]
        yield from checks.known((*here, "cleared_by"), item.hold.cleared_by, people, "parties and seats")
        yield from checks.condition((*here, "after"), item.hold.after, checks.of_cockpit)
        yield from checks.sets((*here, "sets"), item.hold.sets)
    if item.if_not is not None:
        here = (*path, "if_not", "go")
        yield from checks.known(here, item.if_not.go, checks.procedures.procedures, "procedures")


def _text_faults(checks: Checks, path: KeyPath, item: Item) -> Iterator[Problem]:
    texts = {
        "challenge": (item.challenge,),
        "response": (item.response,),
        "warnings": item.warnings,
        "cautions": item.cautions,
        "notes": item.notes,
        "until": (item.until,),
        "why": (item.why,),
    }
    yield from checks.texts(path, texts)
    if item.hold is not None:
        yield from checks.texts((*path, "hold"), {"awaits": (item.hold.awaits,)})
    if item.if_not is not None:
        yield from checks.texts((*path, "if_not"), {"case": (item.if_not.case,)})
