"""Checklists of a sortie, and of a pack."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import App, Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.checklist_prove import prove
from sortiewright.commands.checklist_run import checklist_run
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import FOR_PEOPLE, Output, print_json, print_text, remark
from sortiewright.commands.plan import exit_code, verdict_text

if TYPE_CHECKING:
    from sortiewright.procedures import Checklists, ReadyProcedure
    from sortiewright.sortie import Plan

app = App(name="checklist", group_parameters="Options")
app.command(checklist_run, name="run", sort_key=2)
app.command(prove, sort_key=3)


@app.command(sort_key=1)
def show(
    sortie: SortieFile,
    /,
    *,
    procedure: Annotated[tuple[str, ...], Parameter(negative="", metavar="name")] = (),
    emergencies: Annotated[bool, Parameter(negative="")] = False,
    why: Annotated[bool, Parameter(negative="")] = False,
    amplified: Annotated[bool, Parameter(negative="")] = False,
    output: Output = FOR_PEOPLE,
) -> int:
    """Today's checklists: the items that apply, for both seats, with the plan's numbers.

    Example: sortiewright checklist show demo --procedure before_takeoff --why

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie such as demo.
    procedure
        Only this list; may be given several times. All normal lists where absent.
    emergencies
        The abnormal and emergency procedures.
    why
        Also what is left out today, and what leaves it out.
    amplified
        Also the reasons that the pack gives for its items.
    """
    from sortiewright import sortie as room
    from sortiewright.procedures import load_procedures, tailor_checklists

    loaded = room.load_sortie(sortie)
    procedures = load_procedures(loaded.pack)
    made = room.plan(loaded.sortie, loaded.pack)
    lists = tailor_checklists(procedures, loaded.sortie, made, output.units)
    chosen = chosen_lists(lists, procedure, emergencies=emergencies)
    if output.json:
        print_json(checklists_data(lists, chosen, made))
    else:
        from sortiewright.commands.checklist_page import page_text

        print_text([*verdict_text(made), *page_text(lists, chosen, made, why=why, amplified=amplified)])
        for one in lists.remarks:
            remark(f"Remark: {one}")
    return exit_code(made)


def chosen_lists(
    lists: Checklists, names: Iterable[str], *, emergencies: bool = False
) -> tuple[ReadyProcedure, ...]:
    """Return the lists asked for: by name, or the abnormal and emergency ones, or all normal ones."""
    from sortiewright.pack import choice_hint

    found: list[ReadyProcedure] = []
    for name in names:
        if name in lists.by_id:
            found.append(lists.by_id[name])
            continue
        for gone in lists.left_out:
            if gone.id == name:
                raise UsageError(f"{gone.title} does not apply today: {gone.because}")
        raise UsageError(f'"{name}" is no procedure. {choice_hint(name, lists.by_id, "procedures")}')
    if found or emergencies:
        others = [one for one in lists.others if emergencies and one.kind != "normal" and one not in found]
        return (*found, *others)
    go_around = [lists.by_id[lists.go_around]] if lists.go_around else []
    return (*lists.normal, *go_around)


def checklists_data(lists: Checklists, chosen: Iterable[ReadyProcedure], plan: Plan) -> dict[str, Any]:
    """Return today's checklists for programs."""
    from dataclasses import asdict

    return {
        "title": plan.title,
        "callsign": plan.callsign,
        "verdict": plan.verdict.value,
        "pack": {"name": plan.pack_name, "version": plan.pack_version, "digest": plan.pack_digest},
        "digest": lists.digest,
        "seats": [{"name": name, "title": title} for name, title in lists.seats],
        "parties": [{"name": name, "title": title} for name, title in lists.parties],
        "procedures": [asdict(one) for one in chosen],
        "left_out": [asdict(one) for one in lists.left_out],
        "go_around": lists.go_around,
        "remarks": list(lists.remarks),
    }
