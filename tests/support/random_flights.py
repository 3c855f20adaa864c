"""A crew that flies a pack's lists by dice: random sorties, emergencies, branches and orders of answering.

A plain second reading of what procedures mean, at the shipped packs' real size. It proves nothing, but shares
no code with the proof, nor with the conditions: these are read by Python itself.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

CALLED = 0.08
"""Share of the moments at which a flight's emergency may arise in which it does."""
NOT_WANTED = 0.01, 0.4
"""Share of answers with a branch that are not the one wanted: in normal lists, and in all others."""
FACTS = ("carries", "carries_at", "loaded", "occupied", "known", "abs", "min", "max")
CALL = re.compile(r"\b([A-Za-z_0-9]+)\(")
NUMBER = re.compile(r"\b[A-Za-z_0-9]+\((-?[0-9.]+)\)")


class SortieOver(Exception):
    """A list said that the sortie ends here."""


class LeadsTo(Exception):
    """A list leads to a normal one, and the sortie goes on from there."""

    def __init__(self, name: str) -> None:
        self.name = name


@dataclass
class Flight:
    """One sortie being flown. ``breaches`` tells what went wrong, and after which answers."""

    procedures: Any
    dice: random.Random
    emergency: str = ""
    """The one list that this crew is called to, wherever it applies."""
    breaches: dict[str, list[str]] = field(default_factory=dict)
    visited: set[str] = field(default_factory=set)
    log: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        cockpit = self.procedures.cockpit
        self.lists = self.procedures.procedures
        self.stands = {name: self.dice.choice(control.at_start) for name, control in cockpit.controls.items()}
        self.stands |= {name: state.at_start for name, state in cockpit.states.items()}
        self.sortie = random_sortie(self.procedures, self.dice)
        self.answers: dict[str, bool] = {}
        self.rules = [one for one in self.procedures.order.invariants if self.applies(one.when)]
        self.readers: dict[str, list[Any]] = {}
        for rule in self.rules:
            for name in {name for text in (rule.never, rule.first, rule.before) for name in names_in(text)}:
                self.readers.setdefault(name, []).append(rule)
        self.been: set[str] = set()

    def fly(self) -> None:
        """Go through the sortie's lists until they end, or something ends them."""
        order = self.procedures.order
        self.look()
        place = 0
        while place < len(order.sortie):
            try:
                self.do(order.sortie[place])
                if order.sortie[place] == "before_landing" and self.dice.random() < 0.3:
                    self.do(order.go_around)
                else:
                    place += 1
            except LeadsTo as way:
                place = order.sortie.index(way.name)
            except SortieOver:
                return

    def do(self, name: str, depth: int = 0) -> None:
        """Go through one list."""
        procedure = self.lists[name]
        if not self.applies(procedure.when):
            return
        self.visited.add(name)
        self.hold_at("at_start_of", name)
        for item in self.in_some_order(procedure):
            self.be_called(name, depth)
            if item.hold:
                self.set(f"{name}.{item.id} hold", item.hold.sets)
                self.want(f"{name}.{item.id} hold", item.hold.after)
                self.be_called(name, depth)
            self.want(f"{name}.{item.id}", item.needs)
            if item.if_not and self.is_not_wanted(procedure) and self.branch(name, item, depth):
                continue
            self.visited.add(f"{name}.{item.id}")
            self.set(f"{name}.{item.id}", item.sets)
        self.be_called(name, depth)
        self.hold_at("at_end_of", name)
        if procedure.kind != "normal":
            self.go_on(procedure, depth)

    def go_on(self, procedure: Any, depth: int) -> None:
        """Follow an emergency to where it leads."""
        if procedure.then == "end":
            raise SortieOver
        if procedure.then in ("", "resume"):
            return
        if self.lists[procedure.then].kind == "normal":
            raise LeadsTo(procedure.then)
        self.do(procedure.then, depth)

    def branch(self, name: str, item: Any, depth: int) -> bool:
        """Leave a list by another answer than the one wanted; return whether the item is passed over then."""
        if not self.applies(self.lists[item.if_not.go].when):
            return False
        self.log.append(f"{name}.{item.id} no")
        self.do(item.if_not.go, depth + 1)
        return self.dice.random() < 0.5

    def is_not_wanted(self, procedure: Any) -> bool:
        return self.dice.random() < NOT_WANTED[procedure.kind != "normal"]

    def be_called(self, name: str, depth: int) -> None:
        """Perhaps be called to this flight's emergency, one deep."""
        if not self.emergency or depth:
            return
        called = self.lists[self.emergency]
        here = {name, self.lists[name].phase} & set(called.applies_in)
        while here and self.dice.random() < CALLED and self.applies(called.when):
            self.log.append(f"called to {self.emergency}")
            self.do(self.emergency, 1)

    def in_some_order(self, procedure: Any) -> Iterator[Any]:
        """Yield the items that somebody is there to answer; in a list apart, each seat at its own pace."""
        items = [item for item in procedure.items if self.applies(item.when) and self.manned(item)]
        if procedure.pace == "together":
            yield from items
            return
        while items:
            ready = [
                item for at, item in enumerate(items) if not any(joined(item, one) for one in items[:at])
            ]
            chosen = self.dice.choice(ready)
            items.remove(chosen)
            yield chosen

    def manned(self, item: Any) -> bool:
        """Return whether somebody is there to answer."""
        return not item.seat or any(self.sortie["occupied"](seat) for seat in item.seat)

    def set(self, what: str, changes: dict[str, str]) -> None:
        """Move controls and look around."""
        self.log.append(f"{what} {dict(changes)}")
        self.stands.update(changes)
        self.look(changes)

    def look(self, moved: Iterable[str] | None = None) -> None:
        """Note every rule that is broken now; only those that speak of what moved can be."""
        rules = (
            self.rules if moved is None else [rule for name in moved for rule in self.readers.get(name, ())]
        )
        for rule in rules:
            if rule.never and self.so(rule.never):
                self.breach(f"never {rule.id}")
            if rule.first and self.so(rule.first):
                self.been.add(rule.id)
            if rule.before and rule.id not in self.been and self.so(rule.before):
                self.breach(f"first {rule.id}")

    def hold_at(self, where: str, name: str) -> None:
        """Note the rules that should hold at this end of a list and do not."""
        for rule in self.rules:
            if rule.holds and getattr(rule, where) == name and not self.so(rule.holds):
                self.breach(f"{where} {name}: {rule.id}")

    def want(self, what: str, condition: str) -> None:
        """Note a condition that is not met."""
        if condition and not self.so(condition):
            self.breach(f"{what} wants {condition}")

    def breach(self, what: str) -> None:
        self.breaches.setdefault(what, self.log[-12:])

    def so(self, condition: str) -> bool:
        return bool(eval(code(condition), {"__builtins__": {}}, self.stands))

    def applies(self, condition: str) -> bool:
        if condition not in self.answers:
            value = not condition or eval(code(condition), {"__builtins__": {}}, self.sortie)
            self.answers[condition] = bool(value)
        return self.answers[condition]


def joined(item: Any, before: Any) -> bool:
    """Return whether an item has to wait for one before it."""
    return bool(item.hold or before.hold or set(item.seat) & set(before.seat))


CODES: dict[str, Any] = {}


def code(condition: str) -> Any:
    if condition not in CODES:
        CODES[condition] = compile(" ".join(condition.split()), "condition", "eval")
    return CODES[condition]


def names_in(condition: str) -> tuple[str, ...]:
    return code(condition).co_names if condition else ()


def random_sortie(procedures: Any, dice: random.Random) -> dict[str, Any]:
    """Return what a condition may ask, by dice: a load that hangs where it can, seats, weather."""
    stations = procedures.pack.mass.stations
    load = {name: dice.choice(one.carries) for name, one in stations.items() if dice.random() < 0.4}
    rear = dice.random() < 0.7
    names: dict[str, Any] = {
        "carries": lambda store: store in load.values(),
        "carries_at": lambda station, store: load.get(station) == store,
        "loaded": lambda station: station in load,
        "occupied": lambda seat: seat == "front" or rear,
        "known": lambda value: True,
        **{"abs": abs, "min": min, "max": max},
        "takeoff_power": dice.choice(tuple(procedures.pack.engine.settings)),
    }
    text, asked = questions(procedures)
    # The dice throw numbers in the unit of whatever they are compared with, so that units need no size.
    names |= dict.fromkeys((unit for unit in CALL.findall(text) if unit not in FACTS), float)
    numbers = sorted({float(value) for value in NUMBER.findall(text)})
    for name, is_number in asked.items():
        if name in names:
            continue
        if name.endswith("runway_condition"):
            names[name] = dice.choice(("dry", "wet", "icy"))
        elif is_number:
            # On either side of every number that somebody compares with.
            names[name] = dice.choice([0.0, *numbers]) + dice.choice((-1e-3, 0.0, 1e-3))
        else:
            names[name] = dice.random() < 0.5
    return names


ASKED: dict[int, tuple[Any, str, dict[str, bool]]] = {}
"""By identity of the procedures, which are kept so that no other object takes their place."""


def questions(procedures: Any) -> tuple[str, dict[str, bool]]:
    """Return every condition on the sortie in one text, and its names: whether they are numbers."""
    if id(procedures) not in ASKED:
        whens = dict.fromkeys(
            [one.when for one in procedures.procedures.values()]
            + [item.when for one in procedures.procedures.values() for item in one.items]
            + [rule.when for rule in procedures.order.invariants]
        )
        text = "\n".join(whens)
        names = sorted({name for when in whens for name in names_in(when)})
        numbers = {name: bool(re.search(rf"\b{name}\)? *[<>]|[<>]=? *{name}\b", text)) for name in names}
        ASKED[id(procedures)] = procedures, text, numbers
    return ASKED[id(procedures)][1:]


def fly_all(procedures: Any, flights: int, emergency: str = "") -> tuple[dict[str, list[str]], set[str]]:
    """Return every breach of so many flights, each with the answers before it, and what was visited.

    Flights take the emergencies in turn, or all the same one; every fourth has none.
    """
    emergencies = [name for name, one in procedures.procedures.items() if one.kind != "normal"]
    breaches: dict[str, list[str]] = {}
    visited: set[str] = set()
    for number in range(flights):
        called = emergency or emergencies[number % len(emergencies)]
        flight = Flight(procedures, random.Random(number), called if number % 4 else "")
        flight.fly()
        breaches = flight.breaches | breaches
        visited |= flight.visited
    return breaches, visited
