"""Every number of a sortie, the verdict first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.output import (
    FOR_PEOPLE,
    Output,
    Row,
    System,
    aligned,
    is_number,
    print_json,
    print_text,
    remark,
    wrapped,
)
from sortiewright.commands.plan_route import fuel_lines, route_lines

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.sortie import Figure, LandingCase, Plan, Reason

NO_GO = 1
"""Exit code of a flight that does not fit its limits."""
_STYLES = {"go": "bold green", "caution": "bold yellow", "no-go": "bold red"}


def plan(sortie: SortieFile, /, *, output: Output = FOR_PEOPLE) -> int:
    """Every number of a sortie, its route and fuel included: go, caution or no-go, and why.

    Example: sortiewright plan demo

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie: demo, gusting_crosswind, hot_high_heavy,
        short_wet, trainer_circuits, trainer_navigation.
    """
    from sortiewright import sortie as room

    loaded = room.load_sortie(sortie)
    made = room.plan(loaded.sortie, loaded.pack)
    if output.json:
        print_json(room.plan_to_json(made, output.units))
    else:
        print_plan(made, output.units)
    return exit_code(made)


def exit_code(plan: Plan) -> int:
    """Return 1 for a no-go, else 0."""
    return NO_GO if plan.verdict.value == "no-go" else 0


def print_plan(plan: Plan, units: System) -> None:
    """Print a plan to stdout and its remarks to stderr."""
    print_text(plan_text(plan, units))
    for one in plan.remarks:
        remark(f"Remark: {one}")


def plan_text(plan: Plan, units: System) -> list[Text]:
    """Return the plan as lines: verdict and reasons, whose flight it is, then section by section."""
    from rich.text import Text

    lines = [*head_text(plan)]
    tables = [[figure_row(figure, units) for figure in section.figures] for section in plan.sections]
    every = [row for rows in tables for row in rows]
    labels = max((len(row.label) for row in every), default=0)
    numbers = max((len(row.number) for row in every if is_number(row.number)), default=0)
    for section, rows in zip(plan.sections, tables, strict=True):
        lines += [Text(), Text(section.title, style="bold")]
        lines += aligned(rows, labels=labels, numbers=numbers)
        if section.name == "landing" and plan.landings:
            lines += [Text(), *landing_lines(plan.landings, units)]
        if section.name == "route" and plan.route is not None:
            lines += [Text(), *route_lines(plan.route, units)]
        if section.name == "fuel" and plan.fuel is not None and plan.route is not None:
            lines += [Text(), *fuel_lines(plan.fuel, plan.route, units)]
    return lines


def head_text(plan: Plan) -> list[Text]:
    """Return the verdict with its reasons, and whose flight, where and with what."""
    lines = verdict_text(plan)
    crew = ", ".join(f"{seat.lower()} {name}" for seat, name in plan.crew if name)
    runway = plan.runway.designator
    where = f"{plan.aerodrome}, runway {runway}, {plan.time}"
    pack = (
        f"{plan.pack_title or plan.pack_name} ({plan.pack_name} {plan.pack_version}, {plan.pack_digest[:8]})"
    )
    for line in (where, pack, f"Crew: {crew}" if crew else ""):
        if line:
            lines += wrapped(line, style="dim")
    return lines


def verdict_text(plan: Plan) -> list[Text]:
    """Return the verdict and its reasons."""
    from rich.text import Text

    verdict = (plan.verdict.value.upper(), _STYLES[plan.verdict.value])
    lines = [Text.assemble(verdict, f"  {plan.callsign}: {plan.title}")]
    for reason in plan.reasons:
        lines += reason_lines(reason)
    return lines if plan.reasons else [*lines, *wrapped("Everything computed is inside its limits.")]


def reason_lines(reason: Reason) -> list[Text]:
    """Return one reason of the verdict, its severity in colour."""
    name = reason.severity.value
    first, *rest = wrapped(f"{name[:1].upper()}{name[1:]}: {reason.text}", hanging=2)
    first.stylize(_STYLES[name], 2, 2 + len(name) + 1)
    return [first, *rest]


def figure_row(figure: Figure, units: System) -> Row:
    """Return a figure as a row: number and unit, or its words; what is wrong or to be heeded beside."""
    from sortiewright.sortie import show

    notes = [*figure.cautions]
    if figure.problem:
        return Row(figure.title, "-", "", figure.problem, style="yellow")
    if figure.text and figure.value is not None and not figure.text[0].isdigit():
        notes.insert(0, figure.text)
        figure = replace(figure, text="")
    if figure.low is not None and figure.high is not None and figure.value is not None:
        spread = show(0.5 * (figure.high - figure.low), figure.kind, system=units, difference=True)
        notes.insert(0, f"± {spread.text.lstrip('+')}")
    shown = show(figure, system=units)
    number, unit = (shown.number, shown.unit) if is_number(shown.number) else (shown.text, "")
    return Row(figure.title, number, unit, ". ".join(notes))


def landing_lines(cases: tuple[LandingCase, ...], units: System) -> list[Text]:
    """Return the landing cases as a table of distances and speeds."""
    from rich.text import Text

    from sortiewright.sortie import Kind, convert, show

    distance = convert(0.0, Kind.RUNWAY_DISTANCE, units)[1]
    speed = convert(0.0, Kind.CAS, units)[1]
    heads = {"approach": speed, "touchdown": speed, "roll": distance, "total": distance, "spare": distance}
    widths = [max(len(head), 6) for head in heads]
    titles = max(20, min(31, max(len(case.title) for case in cases)))

    def row(title: str, cells: Iterable[str], style: str = "") -> Text:
        columns = (f"  {cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        return Text(f"{title.ljust(titles + 2)}{''.join(columns)}", style=style)

    head = row("Landings, total from 50 ft", heads)
    head.stylize("bold", 0, titles + 2)
    lines = [head, row("", heads.values(), "dim")]
    for case in cases:
        if case.problem:
            lines += wrapped(
                f"{case.title.ljust(titles)}  {case.problem}", hanging=titles + 2, style="yellow"
            )
            continue
        cells = (
            show(case.approach_cas, Kind.CAS, units),
            show(case.touchdown_cas, Kind.CAS, units),
            show(case.ground_roll, Kind.RUNWAY_DISTANCE, units),
            show(case.total, Kind.RUNWAY_DISTANCE, units),
            show(case.margin, Kind.RUNWAY_DISTANCE, units, rounding="down"),
        )
        numbers = (cell.number for cell in cells)
        lines.append(row(f"  {case.title[:titles]}", numbers, "" if case.margin >= 0 else "red"))
    return lines
