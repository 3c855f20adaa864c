"""The shipped sortie, from file to cards, in an empty folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from sortiewright.commands.cards import FORMATS, render
from sortiewright.commands.output import Steps, System, remark
from sortiewright.commands.plan import exit_code, print_plan


def demo(
    *,
    out: Annotated[Path, Parameter(metavar="folder")] = Path("sortiewright-demo"),
    units: System = "trade",
) -> int:
    """Numbers and cards of the shipped demonstration sortie.

    Example: sortiewright demo --out demo-cards

    Parameters
    ----------
    out
        Where the cards and a copy of the sortie file go.
    units
        Units of numbers and cards.
    """
    from sortiewright import sortie as room

    shipped = room.demo_sortie_path()
    with Steps(2 + len(FORMATS)) as step:
        step("reading the sortie")
        loaded = room.load_sortie(shipped)
        step("computing")
        made = room.plan(loaded.sortie, loaded.pack)
        files = render(made, out, step, units=units)
    print_plan(made, units)
    copy = out / "sortie.yaml"
    kept = copy.exists()  # it may hold somebody's changes by now
    if not kept:
        copy.write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    pdf = next(file for file in files if file.suffix == ".pdf")
    pages = sum(file.suffix == ".png" for file in files)
    print(f"\nCards: {pdf} and {pages} pages as PNG beside it.")
    print(f"Next: change a weight or the wind in {copy}, then run")
    print(f"  sortiewright plan {copy}")
    if kept:
        remark(f"Remark: {copy} was there already and is left as it is.")
    return exit_code(made)
