"""Aircraft packs: which there are, what one holds, whether one is sound, and schemas for editors."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import App, Parameter

from sortiewright.commands.output import (
    FOR_PEOPLE,
    Output,
    Row,
    System,
    aligned,
    joined,
    print_json,
    print_text,
    remark,
    wrapped,
)
from sortiewright.commands.pack_fit import fit
from sortiewright.commands.pack_new import new, unfinished_data, unfinished_lines
from sortiewright.commands.pack_sample import sample

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.pack import LoadedPack
    from sortiewright.performance import BookResult

BOOK_NOT_HELD = 2
"""Exit code where a computed value is outside a book point's tolerance: the pack is not right."""

NOT_COMPLETE = 2
"""Exit code of a pack that lacks needed values: bad input, as for a fault in one."""

app = App(name="pack", group_parameters="Options")
app.command(sample)
app.command(new)
app.command(fit)

# Spelled out again, so that the help needs no import of the pack room; a test holds them to it.
Part = Literal[
    "pack", "airframe", "aero", "engine", "mass", "stores", "wheels", "limits", "technique", "book"
]
PackPath = Annotated[str, Parameter(metavar="pack")]
_UNITS: dict[str, tuple[str, int, str, int]] = {
    "m2": ("ft2", 1, "m2", 2),
    "m": ("ft", 2, "m", 3),
    "rad": ("deg", 1, "deg", 1),
    "N": ("lbf", 0, "kN", 1),
    "kg": ("lb", 0, "kg", 0),
    "m/s": ("kt", 0, "m/s", 1),
}


@app.command(name="list")
def list_packs(*, json: Annotated[bool, Parameter(negative="")] = False) -> None:
    """Name, version and summary of each shipped pack.

    Example: sortiewright pack list

    Parameters
    ----------
    json
        Print JSON.
    """
    from sortiewright.pack import packs_available

    entries = packs_available()
    if json:
        print_json([entry._asdict() for entry in entries])
        return
    print_text(
        aligned([Row(one.name, f"{one.title} {one.version}.", "", one.summary) for one in entries], indent=0)
    )


@app.command
def show(pack: PackPath, /, *, output: Output = FOR_PEOPLE) -> None:
    """What a pack holds, in a page.

    Example: sortiewright pack show dotterel

    Parameters
    ----------
    pack
        A shipped pack's name, or a folder.
    """
    from sortiewright.pack import load_pack, summarise_pack

    loaded = load_pack(pack)
    rows = summarise_pack(loaded)
    if output.json:
        values = [
            {"group": row.group, "label": row.label, "value": row.value, "unit": row.unit} for row in rows
        ]
        print_json(values)
        return
    print_pack(loaded, output.units)


def print_pack(loaded: LoadedPack, units: System) -> None:
    """Print the summary of a pack, group by group."""
    from rich.text import Text

    from sortiewright.pack import summarise_pack

    rows = summarise_pack(loaded)
    lines: list[Text] = []
    labels = max(len(row.label) for row in rows)
    for group in dict.fromkeys(row.group for row in rows):
        shown = [
            Row(row.label[:1].upper() + row.label[1:], *_written(row.value, row.unit, units))
            for row in rows
            if row.group == group
        ]
        title = Text(group[:1].upper() + group[1:], style="bold")
        lines += [*([Text()] if lines else []), title, *aligned(shown, labels=labels, numbers=8)]
    print_text(lines)


def _written(value: float | str, unit: str, system: System, *, whole: bool = False) -> tuple[str, str]:
    from sortiewright.pack import unit_factor

    if isinstance(value, str):
        return value or "-", ""
    if unit not in _UNITS:
        return f"{value:g}", unit
    trade, trade_places, si, si_places = _UNITS[unit]
    wanted, places = (trade, trade_places) if system == "trade" else (si, si_places)
    scale, offset = unit_factor(wanted, unit)
    places = 0 if whole and unit == "m" else places  # distances, not dimensions of the aircraft
    return f"{(value - offset) / scale:,.{places}f}".replace(",", " "), "°" if wanted == "deg" else wanted


@app.command
def check(
    pack: PackPath,
    /,
    *,
    draw: Annotated[Path | None, Parameter(metavar="folder")] = None,
    format: Literal["png", "svg"] = "png",
    scheme: Literal["day", "night", "print"] = "day",
    output: Output = FOR_PEOPLE,
) -> int:
    """Check a pack: every fault with its place, book points, checklist guidelines; and draw its tables.

    Example: sortiewright pack check dotterel --draw drawings

    Of a pack that is not complete: what to fill next.

    Parameters
    ----------
    pack
        A shipped pack's name, or a folder.
    draw
        Where to draw lift, drag, thrust, fuel flow and envelope.
    format
        Of the drawings.
    scheme
        Colours of the drawings.
    """
    from sortiewright.commands.pack_guidelines import (
        checked_procedures,
        checked_rules,
        guideline_data,
        guideline_lines,
    )
    from sortiewright.pack import draw_pack, load_pack, unfinished_pack
    from sortiewright.performance import check_book

    if unfinished := unfinished_pack(pack):
        if output.json:
            print_json(unfinished_data(unfinished))
        else:
            print_text(unfinished_lines(unfinished))
        return NOT_COMPLETE
    loaded = load_pack(pack)
    checked, rules = checked_procedures(loaded), checked_rules(loaded)
    results = check_book(loaded)
    for one in loaded.remarks:
        remark(f"Remark: {one}")
    if not results:
        remark("Remark: the pack has no book points, so nothing says whether its numbers are right.")
    drawings = [] if draw is None else draw_pack(loaded.pack, draw, scheme, format)
    if output.json:
        print_json(
            {
                "name": loaded.pack.name,
                "version": loaded.pack.version,
                "digest": loaded.digest,
                "book": [book_data(one) for one in results],
                "guidelines": guideline_data(checked[1]) if checked else [],
                "drawings": [str(file) for file in drawings],
            }
        )
    else:
        print(f"{loaded.pack.name} {loaded.pack.version}: no faults in its files.")
        if results:
            print_text(book_lines(results, output.units))
        if checked:
            print_text(guideline_lines(*checked))
        if rules:
            print(rules)
        for file in drawings:
            print(file)
    return 0 if all(one.holds for one in results) else BOOK_NOT_HELD


def book_data(result: BookResult) -> dict[str, Any]:
    """Return a book point and what was computed, SI."""
    computed = None if result.problem else {"book": result.book, "computed": result.computed}
    return {
        "quantity": result.point.quantity,
        "conditions": dict(result.point.conditions),
        "unit": result.unit,
        **(computed or {"book": None, "computed": None}),
        "tolerance": None if result.problem else result.tolerance,
        "holds": result.holds,
        "problem": result.problem,
    }


def book_lines(results: Sequence[BookResult], units: System) -> list[Text]:
    """Return the book points: what the book says, what is computed, and below each for what case."""
    from rich.text import Text

    held = sum(one.holds for one in results)
    heads = ("book", "computed", "error", "within")
    title = f"Book points: {held} of {len(results)} hold"
    labels = max(len(title), *(len(one.point.quantity) + 2 for one in results))
    lines = [
        Text.assemble(
            (title.ljust(labels), "bold"),
            ("".join(f"{head:>11}" for head in heads), "dim"),
        )
    ]
    for one in results:
        label = f"  {one.point.quantity.replace('_', ' ')}".ljust(labels)
        if one.problem:
            lines += wrapped(f"{label.strip()}: {one.problem}", hanging=2, style="yellow")
        else:
            book, computed = (
                joined(*_written(value, one.unit, units, whole=True)) for value in (one.book, one.computed)
            )
            cells = (book, computed, f"{100 * one.error:+.1f} %", one.point.tolerance)
            text = label + "".join(f"{cell:>11}" for cell in cells)
            lines.append(Text(text if one.holds else f"{text}  NO", style="" if one.holds else "red"))
        conditions = (f"{name.replace('_', ' ')} {text}" for name, text in one.point.conditions.items())
        lines += wrapped(", ".join(conditions), indent=4, style="dim")
    return lines


@app.command
def schema(part: Part = "pack", /) -> None:
    """JSON Schema of a pack's file, for an editor that completes and checks while one types.

    Example: sortiewright pack schema airframe

    Parameters
    ----------
    part
        The file it is for, without its .yaml.
    """
    from sortiewright.pack import pack_json_schema

    print_json(pack_json_schema(part))
