"""A pack's procedures as they apply to one sortie: what does not apply left out, numbers filled in."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from sortiewright.expressions import Expression, Vocabulary, parse_expression
from sortiewright.procedures.filling import Filler
from sortiewright.procedures.loading import Procedures
from sortiewright.procedures.schema import END, RESUME, Hold, Item, Procedure
from sortiewright.procedures.tailored import (
    Checklists,
    FilledBranch,
    FilledHold,
    LeftOut,
    ReadyItem,
    ReadyProcedure,
)
from sortiewright.procedures.vocabulary import Fact, FactValue, fact_kinds, fact_values, sortie_vocabulary
from sortiewright.sortie import Kind, Plan, Sortie, System, show


def tailor_checklists(
    procedures: Procedures, sortie: Sortie, plan: Plan, units: System = "trade"
) -> Checklists:
    """Return today's checklists: the items that apply, for the seats that are taken, with today's numbers.

    Items keep the number that their place in the pack gives them. What nothing can tell stays in, with a
    remark. Raises ``SortieError`` or ``MetarError`` where the day itself cannot be read.
    """
    pack = procedures.pack
    values = fact_values(sortie, plan, pack)
    work = _Tailoring(
        procedures,
        Filler(pack, plan, units),
        _Judge(sortie_vocabulary(pack), values, fact_kinds(pack), units),
        tuple(seat for seat in pack.mass.seats if values["occupied", seat]),
    )
    return work.checklists()


@dataclass(frozen=True)
class _Judge:
    """Says whether conditions hold today, and why."""

    vocabulary: Vocabulary
    values: Mapping[Fact, FactValue]
    kinds: Mapping[str, Kind]
    units: System

    def left_out(self, condition: str, name: str, title: str) -> LeftOut | None:
        """Return what a condition leaves out, None where it holds; unknown is marked as such."""
        if not condition:
            return None
        expression: Expression = parse_expression(condition, self.vocabulary)
        truth = expression.truth(self.values)
        if truth:
            return None
        because = expression.explain(self.values, self._shown)
        return LeftOut(name, title, condition, because, unknown=truth is None)

    def _shown(self, name: str, value: Any) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str) or name not in self.kinds:
            return str(value)
        return show(value, self.kinds[name], self.units, difference=name == "isa_deviation").text


@dataclass
class _Tailoring:
    """One sortie's checklists in the making."""

    procedures: Procedures
    filler: Filler
    judge: _Judge
    seats: tuple[str, ...]
    remarks: list[str] = field(default_factory=list[str])

    def checklists(self) -> Checklists:
        """Return everything: normal lists in order, then the go-around, then abnormal and emergency ones."""
        order, cockpit = self.procedures.order, self.procedures.cockpit
        ready: dict[str, ReadyProcedure] = {}
        gone: list[LeftOut] = []
        for name in self._reading_order():
            made, why = self._applying(name)
            if made is not None:
                ready[name] = made
            if why is not None:
                gone.append(why)
        ready = {name: self._with_ways_that_exist(one, ready) for name, one in ready.items()}
        lists = Checklists(
            normal=tuple(ready[name] for name in order.sortie if name in ready),
            others=tuple(one for name, one in ready.items() if name not in order.sortie),
            seats=tuple((seat, self._who(seat)) for seat in self.seats),
            parties=tuple((name, party.title) for name, party in cockpit.parties.items()),
            left_out=tuple(gone),
            remarks=tuple(dict.fromkeys(self.remarks)),
            go_around=order.go_around if order.go_around in ready else "",
            by_id=ready,
        )
        return replace(lists, digest=digest_of(lists))

    def _reading_order(self) -> list[str]:
        order = self.procedures.order
        first = [*order.sortie, *([order.go_around] if order.go_around else [])]
        return list(dict.fromkeys([*first, *self.procedures.procedures]))

    def _applying(self, name: str) -> tuple[ReadyProcedure | None, LeftOut | None]:
        """Return a procedure as it applies today, or None; and what leaves it out, or may leave it out."""
        procedure = self.procedures.procedures[name]
        title = self._text(procedure.title)
        why = self.judge.left_out(procedure.when, name, title)
        if why is not None and not why.unknown:
            return None, why
        if why is not None:
            self._keep(title, why)
        items, gone = self._items(procedure)
        if not items:
            return None, LeftOut(name, title, "", "none of its items applies today")
        made = ReadyProcedure(
            id=name,
            title=title,
            kind=procedure.kind,
            style=procedure.style,
            pace=procedure.pace,
            phase=procedure.phase,
            entry=self._text(procedure.entry),
            not_if=self._text(procedure.not_if),
            items=items,
            complete=self._text(procedure.complete) or f"{title} complete",
            then=procedure.then,
            applies_in=procedure.applies_in,
            status=self._texts(procedure.status),
            left_out=gone,
        )
        return made, why

    def _items(self, procedure: Procedure) -> tuple[tuple[ReadyItem, ...], tuple[LeftOut, ...]]:
        items: list[ReadyItem] = []
        gone: list[LeftOut] = []
        for number, item in enumerate(procedure.items, 1):
            challenge = self._text(item.challenge)
            why = self._unmanned(item, challenge) or self.judge.left_out(item.when, item.id, challenge)
            if why is not None:
                gone.append(replace(why, number=number))
            if why is None or why.unknown:
                items.append(self._item(number, item))
                if why is not None:
                    self._keep(f"{procedure.title} {number}, {challenge}", why)
                if item.hold is not None and self._is_empty(item.hold.cleared_by):
                    who = self._who(item.hold.cleared_by)
                    self.remarks.append(
                        f"{procedure.title} {number} waits for the {who.lower()}, which is empty"
                    )
        return tuple(items), tuple(gone)

    def _item(self, number: int, item: Item) -> ReadyItem:
        written = (item.response, item.challenge, *item.warnings, *item.cautions, *item.notes)
        problems = [filled.problem for text in written if (filled := self.filler.fill(text)).problem]
        controls = self.procedures.cockpit.controls
        panels = [controls[name].panel for name in item.sets if name in controls]
        return ReadyItem(
            id=item.id,
            number=number,
            challenge=self._text(item.challenge),
            response=self._text(item.response),
            seats=tuple(seat for seat in self.seats if seat in item.seat),
            any_one=item.any_one,
            part=item.part or ("immediate" if item.memory else ""),
            memory=item.memory,
            killer=item.killer,
            warnings=self._texts(item.warnings),
            cautions=self._texts(item.cautions),
            notes=self._texts(item.notes),
            hold=None if item.hold is None else self._hold(item.hold),
            place=", ".join(dict.fromkeys(panel for panel in panels if panel)),
            seen=item.seen,
            branch=self._branch(item),
            until=self._text(item.until),
            why=self._text(item.why),
            problem="; ".join(dict.fromkeys(problems)),
        )

    def _hold(self, hold: Hold) -> FilledHold:
        return FilledHold(self._text(hold.awaits), hold.cleared_by, self._who(hold.cleared_by))

    def _branch(self, item: Item) -> FilledBranch | None:
        if item.if_not is None:
            return None
        title = self.procedures.procedures[item.if_not.go].title
        return FilledBranch(item.if_not.go, self._text(title), self._text(item.if_not.case))

    def _unmanned(self, item: Item, challenge: str) -> LeftOut | None:
        """Return what leaves out an item whose every seat is empty."""
        if not item.seat or any(seat in self.seats for seat in item.seat):
            return None
        because = " and ".join(self._who(seat) for seat in item.seat)
        condition = " or ".join(f"occupied('{seat}')" for seat in item.seat)
        verb = "is" if len(item.seat) == 1 else "are"
        return LeftOut(item.id, challenge, condition, f"{because} {verb} empty")

    def _with_ways_that_exist(
        self, procedure: ReadyProcedure, ready: Mapping[str, ReadyProcedure]
    ) -> ReadyProcedure:
        """Return a procedure without branches to lists that do not apply today."""
        items = list(procedure.items)
        for index, item in enumerate(items):
            if item.branch is not None and item.branch.go not in ready:
                where = f"{procedure.title} {item.number}, {item.challenge}"
                self.remarks.append(
                    f"{where}: {item.branch.title} does not apply today, so nothing leads there"
                )
                items[index] = replace(item, branch=None)
        then = procedure.then
        if then not in ("", RESUME, END) and then not in ready:
            title = self._text(self.procedures.procedures[then].title)
            self.remarks.append(f"{procedure.title} ends where it was called: {title} does not apply today")
            then = RESUME
        return replace(procedure, items=tuple(items), then=then)

    def _keep(self, where: str, why: LeftOut) -> None:
        self.remarks.append(f"{where}: kept, as nothing says whether it applies: {why.because}")

    def _is_empty(self, person: str) -> bool:
        return person in self.procedures.pack.mass.seats and person not in self.seats

    def _who(self, person: str) -> str:
        seats, parties = self.procedures.pack.mass.seats, self.procedures.cockpit.parties
        return parties[person].title if person in parties else seats[person].title

    def _text(self, text: str) -> str:
        return self.filler.fill(text).text

    def _texts(self, texts: Iterable[str]) -> tuple[str, ...]:
        return tuple(self._text(text) for text in texts)


def digest_of(lists: Checklists) -> str:
    """Return the SHA-256 of what the crew reads: canonical JSON without the digest itself."""
    data = {name: value for name, value in asdict(lists).items() if name not in ("digest", "by_id")}
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
