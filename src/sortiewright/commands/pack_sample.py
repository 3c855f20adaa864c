"""A pack from a flight model: ``pack sample``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from sortiewright.commands.output import print_json, print_text, remark, wrapped


def sample(
    model: Annotated[str, Parameter(metavar="model")],
    /,
    *,
    out: Annotated[Path, Parameter(metavar="folder")],
    name: Annotated[str | None, Parameter(metavar="name")] = None,
    takeoff_flap: Annotated[float | None, Parameter(metavar="share")] = None,
    replace: Annotated[bool, Parameter(negative="")] = False,
    json: Annotated[bool, Parameter(negative="")] = False,
) -> None:
    """A pack from a flight model of the library JSBSim: forces, thrust, masses and wheels, measured in it.

    Example: sortiewright pack sample T38 --out t38

    What the model does not say is left out, or marked as a placeholder where a pack must have it.

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
    replace
        Write over a pack that is there.
    json
        Print JSON.
    """
    from sortiewright.pack import load_pack
    from sortiewright.pack_sampling import (
        pack_files,
        placeholder_remarks,
        require_new_folder,
        sample_model,
        write_pack_folder,
    )

    _check(name, takeoff_flap)
    if not replace:
        require_new_folder(out)
    aircraft = sample_model(
        model, takeoff_flap=takeoff_flap, progress=lambda text: remark(f"Sampling {text}")
    )
    write_pack_folder(out, pack_files(aircraft, name))
    loaded = load_pack(out)
    remarks = [*placeholder_remarks(aircraft), *aircraft.remarks]
    if json:
        print_json(
            {
                "name": loaded.pack.name,
                "folder": str(out),
                "model": aircraft.model,
                "library": f"JSBSim {aircraft.version}",
                "remarks": remarks,
            }
        )
        return
    print(f"{loaded.pack.name} written to {out}: {aircraft.model} of JSBSim {aircraft.version}.")
    print("Not the model's, or not the whole model:")
    for one in remarks:
        print_text(wrapped(f"- {one}", indent=2, hanging=2))


def _check(name: str | None, takeoff_flap: float | None) -> None:
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
    if problems:
        raise InputError(problems)


NAME = r"[a-z][a-z0-9_-]*"  # as the schema of pack.yaml has it
