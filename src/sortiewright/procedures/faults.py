"""What is wrong with procedures that their schema cannot see: names and conditions that lead nowhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from sortiewright.pack import Problem, shown
from sortiewright.procedures.fault_checks import Checks
from sortiewright.procedures.faults_items import item_faults
from sortiewright.procedures.faults_paths import path_faults
from sortiewright.procedures.schema import END, RESUME, Control, Invariant, Procedure

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures


def faults_of(procedures: Procedures) -> Iterator[Problem]:
    """Yield every fault, with file and line."""
    checks = Checks(procedures)
    yield from _cockpit_faults(checks)
    yield from _order_faults(checks)
    for number, invariant in enumerate(procedures.order.invariants):
        yield from _invariant_faults(checks, number, invariant)
    for name, procedure in procedures.procedures.items():
        yield from _procedure_faults(checks, name, procedure)
        yield from item_faults(checks, name, procedure)
    yield from path_faults(checks)


def _cockpit_faults(checks: Checks) -> Iterator[Problem]:
    cockpit = checks.procedures.cockpit
    for name, control in cockpit.controls.items():
        path = ("controls", name)
        yield from checks.is_name(path, name)
        yield from checks.has_text((*path, "title"), control.title)
        yield from _position_faults(checks, name, control)
        for seat in control.seats:
            yield from checks.known((*path, "seats"), seat, checks.seats, f"seats of {checks.pack.name}")
    for name, state in cockpit.states.items():
        path = ("states", name)
        yield from checks.is_name(path, name)
        yield from checks.has_text((*path, "title"), state.title)
        yield from checks.once((*path, "values"), state.values)
        yield from checks.known((*path, "at_start"), state.at_start, state.values, f"values of {name}")
        if name in cockpit.controls:
            yield checks.problem(path, shown(name), "is a control too", "Give one of them another name")
    for name, party in cockpit.parties.items():
        path = ("parties", name)
        yield from checks.has_text((*path, "title"), party.title)
        if name in checks.seats:
            yield checks.problem(path, shown(name), "is a seat", "A party is not in the aircraft")


def _position_faults(checks: Checks, name: str, control: Control) -> Iterator[Problem]:
    path = ("controls", name)
    yield from checks.once((*path, "positions"), control.positions)
    if not control.at_start:
        yield checks.problem((*path, "at_start"), "", "names no position")
    for position in control.at_start:
        yield from checks.known((*path, "at_start"), position, control.positions, f"positions of {name}")


def _order_faults(checks: Checks) -> Iterator[Problem]:
    order, procedures = checks.procedures.order, checks.procedures.procedures
    yield from checks.once(("order", "sortie"), order.sortie)
    for number, name in enumerate(order.sortie):
        yield from _normal(checks, ("order", "sortie", number), name)
    if order.go_around:
        yield from _normal(checks, ("order", "go_around"), order.go_around)
        if order.go_around in order.sortie:
            expected = "stands in the order of the sortie too"
            yield checks.problem(("order", "go_around"), shown(order.go_around), expected)
    moved = {name for procedure in procedures.values() for item in procedure.items for name in item.sets}
    for name, why in order.unchanged.items():
        path = ("order", "unchanged", name)
        yield from checks.known(path, name, checks.procedures.cockpit.controls, "controls")
        yield from checks.has_text(path, why, "needs a reason")
        if name in moved:
            yield checks.problem(path, shown(name), "is set by an item", "Delete the line")
    seen: set[str] = set()
    for number, invariant in enumerate(order.invariants):
        if invariant.id in seen:
            path = ("order", "invariants", number, "id")
            yield checks.problem(path, shown(invariant.id), "stands here twice")
        seen.add(invariant.id)


def _normal(checks: Checks, path: tuple[str | int, ...], name: str) -> Iterator[Problem]:
    procedures = checks.procedures.procedures
    yield from checks.known(path, name, procedures, "procedures")
    if name in procedures and (kind := procedures[name].kind) != "normal":
        article = "an" if kind[0] in "ae" else "a"
        yield checks.problem(path, shown(name), f"is {article} {kind} procedure, a normal one is wanted")


def _invariant_faults(checks: Checks, number: int, invariant: Invariant) -> Iterator[Problem]:
    path = ("order", "invariants", number)
    yield from checks.has_text((*path, "why"), invariant.why)
    forms = {
        "never": bool(invariant.never),
        "first and before": bool(invariant.first or invariant.before),
        "holds": bool(invariant.holds or invariant.at_start_of or invariant.at_end_of),
    }
    given = [form for form, is_given in forms.items() if is_given]
    hint = "Write never, or first with before, or holds with at_start_of or at_end_of"
    if len(given) != 1:
        said = f"has {' and '.join(given)}, one form is wanted" if given else "says nothing that must hold"
        yield checks.problem((*path, "id"), shown(invariant.id), said, hint)
    if bool(invariant.first) != bool(invariant.before):
        key, missing = ("first", "before") if invariant.first else ("before", "first")
        yield checks.problem((*path, key), "", f"needs {missing} beside it", hint)
    moments = [key for key in ("at_start_of", "at_end_of") if getattr(invariant, key)]
    if invariant.holds and len(moments) != 1:
        said = "needs at_start_of or at_end_of beside it" if not moments else "has two moments, one is wanted"
        yield checks.problem((*path, "holds"), "", said, hint)
    if moments and not invariant.holds:
        yield checks.problem((*path, moments[0]), "", "needs holds beside it", hint)
    for key in moments:
        procedure = getattr(invariant, key)
        yield from checks.known((*path, key), procedure, checks.procedures.procedures, "procedures")
    for key in ("never", "first", "before", "holds"):
        yield from checks.condition((*path, key), getattr(invariant, key), checks.of_cockpit)
    yield from checks.condition((*path, "when"), invariant.when, checks.of_sortie)


def _procedure_faults(checks: Checks, name: str, procedure: Procedure) -> Iterator[Problem]:
    path = ("procedures", name)
    if name in (RESUME, END):
        yield checks.problem(path, shown(name), "is a word of its own here", "Choose another name")
    yield from checks.has_text((*path, "title"), procedure.title)
    yield from checks.condition((*path, "when"), procedure.when, checks.of_sortie)
    texts = {
        "title": (procedure.title,),
        "entry": (procedure.entry,),
        "not_if": (procedure.not_if,),
        "complete": (procedure.complete,),
        "status": procedure.status,
    }
    yield from checks.texts(path, texts)
    yield from _place_faults(checks, path, procedure)


def _place_faults(checks: Checks, path: tuple[str, ...], procedure: Procedure) -> Iterator[Problem]:
    """Yield what is wrong with where a procedure may be called, and where it leads."""
    procedures = checks.procedures.procedures
    normal = {name: one for name, one in procedures.items() if one.kind == "normal"}
    if procedure.kind == "normal":
        for key in ("then", "applies_in", "status"):
            if getattr(procedure, key):
                hint = "The order of normal procedures stands in order.yaml" if key == "then" else ""
                expected = "belongs to an abnormal or emergency procedure"
                yield checks.problem((*path, key), "", expected, hint)
        return
    places = [*normal, *dict.fromkeys(one.phase for one in normal.values() if one.phase)]
    for place in procedure.applies_in:
        yield from checks.known((*path, "applies_in"), place, places, "normal procedures and phases")
    if not procedure.then:
        hint = "Write then: resume, then: end, or a procedure"
        yield checks.problem(path, "", "says nothing of where it leads", hint)
    elif procedure.then not in (RESUME, END):
        choices: Iterable[str] = [*procedures, RESUME, END]
        yield from checks.known((*path, "then"), procedure.then, choices, "procedures")
