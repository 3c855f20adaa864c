"""Guidelines on the cockpit: how the hand travels, and what is asked twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from sortiewright.procedures.guidelines_marks import (
    Mark,
    Marks,
    Place,
    controls_of,
    in_order,
    lists,
    plain,
    quoted,
)
from sortiewright.procedures.schema import Item, Procedure

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures

MOST_RETURNS = 2
"""Returns of one seat's hand to a panel that it has left, in one list. Common practice, no source."""


def panel_returns(procedures: Procedures) -> Marks:
    """Mark lists that send a hand back and forth between panels."""
    for name, procedure in lists(procedures, "normal"):
        for seat in procedures.pack.mass.seats:
            back = list(returns(procedures, procedure, seat))
            if len(back) > MOST_RETURNS:
                where = ", ".join(f"{procedure.items[at].id} to {panel}" for at, panel in back)
                text = f"the {seat} seat's hand goes back {len(back)} times ({where}): order by panel"
                yield Mark(name, None, text)


def returns(procedures: Procedures, procedure: Procedure, seat: str) -> Iterator[tuple[int, str]]:
    """Yield each item at which a seat's hand comes back to a panel that it had left, with the panel."""
    left: set[str] = set()
    here = ""
    for at, item in enumerate(procedure.items):
        if seat not in item.seat:
            continue
        for control in controls_of(procedures, item).values():
            if not control.panel or control.panel == here:
                continue
            if control.panel in left:
                yield at, control.panel
            left.add(here)
            here = control.panel


class Earlier(NamedTuple):
    """Where a thing was asked or set last."""

    place: Place
    position: str = ""


def repeated_items(procedures: Procedures) -> Marks:
    """Mark items that ask what an earlier item of the sortie has asked, nothing having moved since."""
    route = [name for name, _ in in_order(procedures)]
    go_around = procedures.order.go_around
    if go_around in procedures.procedures and go_around not in route:
        route.append(go_around)
    yield from repeats(procedures, route)
    for name, _ in lists(procedures, "abnormal", "emergency"):
        # An emergency may repeat what a normal list has, not itself.
        yield from repeats(procedures, [name])


def repeats(procedures: Procedures, route: list[str]) -> Marks:
    """Mark what is repeated along a route through lists without a reason in ``again``."""
    asked: dict[tuple[str, str], Earlier] = {}
    stands: dict[str, Earlier] = {}
    for name in route:
        for at, item in enumerate(procedures.procedures[name].items):
            place = Place(name, at, item)
            if not item.again and (mark := repeat(place, asked, stands)):
                yield mark
            for control, position in item.sets.items():
                if control in stands and stands[control].position != position:
                    asked = {key: one for key, one in asked.items() if not speaks_of(one.place.item, control)}
                stands[control] = Earlier(place, position)
            asked[(plain(item.challenge), plain(item.response))] = Earlier(place)


def repeat(place: Place, asked: dict[tuple[str, str], Earlier], stands: dict[str, Earlier]) -> Mark | None:
    """Return the mark of an item that repeats an earlier one, None where it does not."""
    item = place.item
    known = {control: stands[control] for control in item.sets if control in stands}
    if any(before.position != item.sets[control] for control, before in known.items()):
        return None  # it moves something
    for control, before in known.items():
        if overlap(item, before.place.item):
            where = told(before.place)
            text = f"sets {control} to {before.position}, as {where} did; drop one, or say why again"
            return Mark(place.procedure, place.at, text)
    before = asked.get((plain(item.challenge), plain(item.response)))
    if before and overlap(item, before.place.item):
        text = f"asks {quoted(item.challenge)} again, after {told(before.place)}; drop one, or say why again"
        return Mark(place.procedure, place.at, text)
    return None


def speaks_of(item: Item, control: str) -> bool:
    """Return whether an item sets a control or needs it to stand somewhere."""
    return control in item.sets or control in re.findall(r"\w+", item.needs)


def overlap(one: Item, other: Item) -> bool:
    """Return whether two items can be a repetition: a seat in common, and not two cases of a choice."""
    if one.when and other.when and one.when != other.when:
        return False
    return not one.seat or not other.seat or bool(set(one.seat) & set(other.seat))


def told(place: Place) -> str:
    """Return an item by its names."""
    return f"{place.procedure}.{place.item.id}"
