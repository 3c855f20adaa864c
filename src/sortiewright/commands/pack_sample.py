"""A pack from a flight model: ``pack sample``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from sortiewright.commands.output import print_json, print_text, remark, wrapped

if TYPE_CHECKING:
    from sortiewright.pack_sampling import SampledAircraft
    from sortiewright.sortie import Plan


def sample(
    model: Annotated[str, Parameter(metavar="model")],
    /,
    *,
    out: Annotated[Path, Parameter(metavar="folder")],
    name: Annotated[str | None, Parameter(metavar="name")] = None,
    takeoff_flap: Annotated[float | None, Parameter(metavar="share")] = None,
    seats: Annotated[int | None, Parameter(metavar="number")] = None,
    replace: Annotated[bool, Parameter(negative="")] = False,
    json: Annotated[bool, Parameter(negative="")] = False,
) -> None:
    """A pack from a flight model of the library JSBSim: forces, thrust, masses and wheels, measured in it.

    Example: sortiewright pack sample T38 --out t38

    What the model does not say is left out, or marked as a placeholder where a pack must have it. Checklists,
    debrief rules and a first sortie come with it, generic ones: see docs/sample-a-flight-model.md.

    Parameters
    ----------
    model
        An aircraft that comes with the library, or a model's own file.
    out
        Folder of the new pack.
    name
        Name of the pack; the model's where absent.
    takeoff_flap
        Flap lever at takeoff, share of its travel: 0.6. The lever's setting nearest half where absent.
    seats
        Seats of an aircraft whose model has no crew: 1 or 2. One where absent.
    replace
        Write over a pack that is there.
    json
        Print JSON.
    """
    from sortiewright.pack import load_pack
    from sortiewright.pack_sampling import (
        FIRST_SORTIE,
        pack_files,
        placeholder_remarks,
        require_new_folder,
        sample_model,
        write_pack_folder,
    )

    _check(name, takeoff_flap, seats)
    if not replace:
        require_new_folder(out)
    aircraft = sample_model(
        model, takeoff_flap=takeoff_flap, seats=seats, progress=lambda text: remark(f"Sampling {text}")
    )
    write_pack_folder(out, pack_files(aircraft, name))
    loaded = load_pack(out)
    first = _write_first_sortie(aircraft, out)
    remarks = [*placeholder_remarks(aircraft), *aircraft.remarks]
    sortie = out / FIRST_SORTIE
    if json:
        print_json(
            {
                "name": loaded.pack.name,
                "folder": str(out),
                "model": aircraft.model,
                "library": f"JSBSim {aircraft.version}",
                "sortie": str(sortie),
                "verdict": first.verdict.value,
                "reasons": [reason.text for reason in first.reasons],
                "remarks": remarks,
            }
        )
        return
    print(f"{loaded.pack.name} written to {out}: {aircraft.model} of JSBSim {aircraft.version}.")
    print("Not the model's, or not the whole model:")
    for one in remarks:
        print_text(wrapped(f"- {one}", indent=2, hanging=2))
    _print_next(out, sortie, first)


MOST_REASONS = 3


def _print_next(folder: Path, sortie: Path, first: Plan) -> None:
    """Print what to do with the pack, and how its first sortie comes out."""
    print("Next:")
    for words in (
        f"sortiewright pack check {folder}",
        f"sortiewright checklist prove {folder}",
        f"sortiewright plan {sortie}",
        f"sortiewright cards {sortie} --checklists --out cards",
    ):
        print(f"  {words}")
    print(f"The first sortie comes out as {first.verdict.value}.")
    for reason in first.reasons[:MOST_REASONS]:
        print_text(wrapped(f"- {reason.text}", indent=2, hanging=2))


SHARES = (1.0, 0.75, 0.5, 0.3)
"""Of full tanks: the first sortie takes the most with which it may fly."""


def _write_first_sortie(aircraft: SampledAircraft, folder: Path) -> Plan:
    """Write the sortie with the most fuel with which it is no no-go, with full tanks where all are; return
    its plan."""
    from sortiewright.pack_sampling import FIRST_SORTIE, first_sortie_text
    from sortiewright.sortie import Verdict, load_sortie, plan

    plans: list[Plan] = []
    powers = (None, "military") if "maximum" in aircraft.power else (None,)
    choices = [(share, power) for power in powers for share in SHARES]
    for share, power in (*choices, choices[0]):
        file = folder / FIRST_SORTIE
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(first_sortie_text(aircraft, fuel=share, power=power), encoding="utf-8", newline="\n")
        loaded = load_sortie(file)
        plans.append(plan(loaded.sortie, loaded.pack))
        if plans[-1].verdict is not Verdict.NO_GO:
            break
    return plans[-1]


def _check(name: str | None, takeoff_flap: float | None, seats: int | None) -> None:
    """Raise ``InputError`` for an option that no pack can have, before anything is sampled."""
    import re

    from sortiewright.pack import InputError, Problem, shown

    problems: list[Problem] = []
    if name is not None and not re.fullmatch(NAME, name):
        hint = "Small letters, digits, - and _, a letter first: my_jet"
        problems.append(Problem("--name", None, "", shown(name), "is not a pack's name", hint))
    if takeoff_flap is not None and not 0.0 <= takeoff_flap <= 1.0:
        read, expected = f"{takeoff_flap:g}", "is not a share of the lever's travel"
        problems.append(Problem("--takeoff-flap", None, "", read, expected, "Write 0 to 1: 0.6"))
    if seats is not None and seats not in (1, 2):
        read, expected = str(seats), "is not a number of seats that checklists are for"
        problems.append(Problem("--seats", None, "", read, expected, "Write 1 or 2"))
    if problems:
        raise InputError(problems)


NAME = r"[a-z][a-z0-9_-]*"  # as the schema of pack.yaml has it
