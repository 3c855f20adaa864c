"""A plan flown by a scripted pilot in a flight model, as a recording: ``fly``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.output import Row, Steps, aligned, print_json, print_text, remark

if TYPE_CHECKING:
    from rich.text import Text

NO_GO = 1
"""Exit code of a plan that is one, and was not flown."""
SWITCH = Parameter(negative="", show_default=False)


def fly(
    sortie: SortieFile,
    /,
    *,
    model: Annotated[str, Parameter(metavar="model")],
    out: Annotated[Path, Parameter(metavar="file")] = Path("flight.csv.gz"),
    flaw: Annotated[list[str] | None, Parameter(metavar="flaw", negative="")] = None,
    taxi: Annotated[bool, Parameter(show_default=False)] = True,
    circuit: Annotated[bool, Parameter(show_default=False)] = True,
    circuit_height: Annotated[float, Parameter(metavar="ft")] = 1500.0,
    rate: Annotated[float, Parameter(metavar="Hz")] = 20.0,
    takeoff_flap: Annotated[float | None, Parameter(metavar="share")] = None,
    anyway: Annotated[bool, SWITCH] = False,
    replace: Annotated[bool, SWITCH] = False,
    json: Annotated[bool, SWITCH] = False,
) -> int:
    """Fly a plan in the library JSBSim: taxi, takeoff, circuit and landing, with mistakes on request.

    Example: sortiewright fly sortie.yaml --model T38 --no-taxi --no-circuit --out flown.csv.gz

    Writes a recording for debrief and calibrate, and beside it a truth file with every moment and flaw.

    Flaws, most with a usual amount: fast_taxi=35 (kt), early_rotation=15, late_rotation=15 (kt from the
    rotation speed), over_rotation=6 (deg over the attitude), gear_late=15 (s), engine_failure=KT (stops below
    decision speed, else goes), engine_failure_stop=KT, engine_failure_go=KT, levers_late=2 (s, in a rejected
    takeoff), gear_down_late=600 (ft), unstable_approach=25 (kt too fast, and steep), hard_landing=600
    (ft/min), long_landing=2000 (ft beyond the aim point).

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie.
    model
        An aircraft that comes with the library, or a model's own file: the one that the pack was made from.
    out
        The recording, .csv or .csv.gz.
    flaw
        A mistake to make: late_rotation, late_rotation=20, engine_failure=135; may be repeated.
    taxi
        Begin with a taxi and a run-up, or standing on the runway.
    circuit
        Fly round and land, or end the recording in the climb.
    circuit_height
        Above the field.
    rate
        Rows a second.
    takeoff_flap
        Flap lever at takeoff, share of its travel; the lever's setting nearest half where absent.
    anyway
        Fly a plan that is a no-go.
    replace
        Write over files that are there.
    json
        Print JSON.
    """
    from sortiewright import flying
    from sortiewright.sortie import load_sortie

    _check(circuit_height, rate, takeoff_flap)
    flaws = flying.flaws_of(flaw or [])
    flying.require_recording_file(out, replace=replace)
    order = flying.FlightOrder(
        model,
        flaws,
        taxies=taxi,
        circuit=circuit,
        circuit_height=circuit_height * FOOT,
        rate=rate,
        takeoff_flap=takeoff_flap,
        anyway=anyway,
    )
    try:
        with Steps(flying.STAGES) as step:
            flown = flying.fly_plan(load_sortie(sortie), order, stage=step)
    except flying.PlanIsNoGo as no_go:
        remark(str(no_go))
        return NO_GO
    files = flying.write_flight(flown, out)
    if json:
        print_json(
            {"recording": str(files[0]), "truth": str(files[1]), "rows": len(flown.rows), **flown.truth}
        )
    else:
        print_text(_moment_lines(flown.truth))
        for file in files:
            print(file)
    for one in flown.remarks:
        remark(f"Remark: {one}")
    return 0


FOOT, KNOT = 0.3048, 1852.0 / 3600.0
_RANGES = {
    "--circuit-height": (600.0, 5000.0, "is no height for a circuit", "Write 600 to 5000 ft"),
    "--rate": (1.0, 60.0, "is no rate for a recording", "Write 1 to 60 rows a second"),
    "--takeoff-flap": (0.0, 1.0, "is not a share of the lever's travel", "Write 0 to 1: 0.6"),
}


def _check(circuit_height: float, rate: float, takeoff_flap: float | None) -> None:
    """Raise ``InputError`` for an option that cannot be flown."""
    from sortiewright.pack import InputError, Problem

    given = zip(_RANGES, (circuit_height, rate, takeoff_flap or 0.0), strict=True)
    wrong = [
        Problem(name, None, "", f"{value:g}", expected, hint)
        for name, value in given
        for low, high, expected, hint in [_RANGES[name]]
        if not low <= value <= high
    ]
    if wrong:
        raise InputError(wrong)


def _moment_lines(truth: dict[str, Any]) -> list[Text]:
    """Return what was flown, and its moments with time, speed and height."""
    from rich.text import Text

    head = f"{truth['callsign']}: {truth['title']}, {truth['model']} of {truth['library']}"
    lines = [Text(head, style="bold")]
    lines += [Text(f"  Flaw {one['name']}: the pilot {one['says']}") for one in truth["flaws"]]
    rows: list[Row] = []
    for one in truth["moments"]:
        name = str(one["name"]).replace("_", " ").capitalize()
        speed, height = one["calibrated_airspeed"] / KNOT, max(one["height_above_ground"], 0.0) / FOOT
        rows.append(Row(name, f"{one['time']:.1f}", "s", note=f"{speed:.0f} kt, {height:.0f} ft"))
    return [*lines, *aligned(rows)]
