"""Factors for a pack from takeoffs that were flown, or from handbook points."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import (
    FOR_PEOPLE,
    Output,
    Row,
    aligned,
    print_json,
    print_text,
    remark,
    wrapped,
)

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.commands.output import System
    from sortiewright.recording import Calibration, Prior, RunObservation
    from sortiewright.sortie import LoadedSortie, Numbers

FactorName = Literal["thrust", "drag", "friction", "pitch_rate"]


def calibrate(
    *recordings: Annotated[Path, Parameter(metavar="recording")],
    sortie: SortieFile,
    out: Annotated[Path | None, Parameter(metavar="file")] = None,
    points: Annotated[Path | None, Parameter(metavar="file")] = None,
    map: Annotated[Path | None, Parameter(name="--map", metavar="file")] = None,
    free: Annotated[list[FactorName] | None, Parameter(metavar="factor", negative="")] = None,
    prior: Annotated[list[str] | None, Parameter(metavar="factor=mean,sigma", negative="")] = None,
    replace: Annotated[bool, Parameter(negative="")] = False,
    output: Output = FOR_PEOPLE,
) -> None:
    """Factors on thrust, drag, rolling friction and pitch rate, from recorded takeoffs or handbook points.

    Example: sortiewright calibrate flight.csv --sortie sortie.yaml --out overlay.yaml

    Each factor comes with its 95 % interval. What the data cannot tell is held at the pack's value, and said.
    A sortie that names the file uses the factors: overlay: overlay.yaml

    Parameters
    ----------
    recordings
        CSV files, plain or gzip, or Parquet files: every takeoff in them is used.
    sortie
        The sortie that was flown: pack, power, load and field. Weight and weather are the recording's where
        it has them.
    out
        Where to write the factors.
    points
        Handbook points instead of recordings: a CSV file with quantity, value, tolerance, mass.
    map
        Channel map of the recordings; without one, the map that is proposed for each.
    free
        Only this factor, which the data must then tell; may be repeated.
    prior
        What is known of a factor before: thrust=1.0,0.02; may be repeated.
    replace
        Write over a file that is there.
    """
    from sortiewright.sortie import load_sortie

    _check(recordings, points, out, replace)
    known = dict(_prior(text) for text in prior or [])
    loaded = load_sortie(sortie)
    if points is not None:
        found = _from_points(points, loaded, free, known)
    else:
        found = _from_recordings(recordings, loaded, map, free, known)
    if out is not None:
        from sortiewright.pack import overlay_text

        out.write_text(overlay_text(found.overlay(loaded.pack)), encoding="utf-8")
    if output.json:
        print_json(calibration_data(found))
    else:
        print_text(calibration_lines(found, output.units))
    for one in found.remarks:
        remark(f"Remark: {one}")
    if out is not None:
        remark(f"Written: {out}")


def _check(recordings: Sequence[Path], points: Path | None, out: Path | None, replace: bool) -> None:
    if bool(recordings) == (points is not None):
        raise UsageError("calibrate: give recordings, or handbook points with --points, one of the two")
    if out is not None and out.exists() and not replace:
        raise UsageError(f"{out} is there already. Write over it with --replace, or choose another name")


def _prior(text: str) -> tuple[str, Prior]:
    from sortiewright.pack import FACTOR_TITLES, choice_hint
    from sortiewright.recording import Prior

    name, _, values = text.partition("=")
    if name not in FACTOR_TITLES:
        raise UsageError(f'--prior: "{name}" is no factor. {choice_hint(name, FACTOR_TITLES, "factors")}')
    try:
        mean, sigma = (float(part) for part in values.split(","))
    except ValueError:
        raise UsageError(f'--prior: "{text}" is no prior. Write it like this: {name}=1.0,0.02') from None
    if not (0.25 < mean < 4.0 and 0.0 < sigma < 1.0):
        raise UsageError(
            f'--prior: "{text}": the mean is 0.25 to 4, the standard deviation more than 0, below 1'
        )
    return name, Prior(mean, sigma)


def _from_points(
    points: Path, loaded: LoadedSortie, free: Sequence[str] | None, known: dict[str, Prior]
) -> Calibration:
    from sortiewright.recording import calibrate_points, read_points

    technique = loaded.pack.pack.technique.takeoff
    return calibrate_points(
        read_points(points), loaded.pack, technique, free=free, priors=known, name=points.name
    )


def _from_recordings(
    recordings: Sequence[Path],
    loaded: LoadedSortie,
    map: Path | None,
    free: Sequence[str] | None,
    known: dict[str, Prior],
) -> Calibration:
    from sortiewright.recording import calibrate_runs, planned_takeoff
    from sortiewright.sortie import compute

    numbers = compute(loaded.sortie, loaded.pack.pack)
    setup, _ = planned_takeoff(numbers, loaded.path.name)
    runs = [run for file in recordings for run in _runs(file, map, loaded, numbers)]
    return calibrate_runs(runs, loaded.pack, setup.technique, free=free, priors=known)


def _runs(file: Path, map: Path | None, loaded: LoadedSortie, numbers: Numbers) -> list[RunObservation]:
    """Return every takeoff run of a recording."""
    from sortiewright.recording import (
        count_takeoffs,
        flights_of,
        flown_takeoff,
        phase_limits_of,
        planned_takeoff,
        read_recording,
        require_same_aircraft,
        run_observation,
    )

    recording = read_recording(file, map)
    setup, _ = planned_takeoff(numbers, loaded.path.name)
    found: list[RunObservation] = []
    for flight in flights_of(recording, phase_limits_of(setup.pack)):
        for number in range(count_takeoffs(flight)):
            flown = flown_takeoff(recording, flight, setup, number=number)
            require_same_aircraft(recording, flown, loaded, numbers)
            for note in flown.notes:
                remark(f"{file.name}: {note}")
            found.append(run_observation(flown, setup))
    if not found:
        raise UsageError(
            f"{file.name}: no takeoff is found in it. See: sortiewright recording show {file.name}"
        )
    return found


def calibration_data(found: Calibration) -> dict[str, Any]:
    """Return a calibration as JSON: factors are plain numbers, distances m, speeds m/s."""
    return {
        "factors": {
            name: {"factor": one.value, "low": one.low, "high": one.high, "standard_deviation": one.sigma}
            for name, one in found.factors.items()
        },
        "held": dict(found.held),
        "correlations": dict(found.correlations),
        "compared": [
            {
                "name": one.name,
                "kind": one.kind,
                "observed": one.observed,
                "off_before": one.before,
                "off_after": one.after,
            }
            for one in found.compared
        ],
        "observations": found.observations,
        "made_from": list(found.made_from),
        "method": found.method,
        "remarks": list(found.remarks),
    }


def calibration_lines(found: Calibration, units: System) -> list[Text]:
    """Return a calibration as lines: factors, what is held and why, and how far off the pack was and is."""
    from rich.text import Text

    from sortiewright.pack import FACTOR_TITLES
    from sortiewright.sortie import Kind, show

    rows = [
        Row(FACTOR_TITLES[name], f"{one.value:.3f}", "", f"95 %: {one.low:.3f} to {one.high:.3f}")
        for name, one in found.factors.items()
    ]
    lines = [Text("Factors on the pack's own values", style="bold"), *aligned(rows, numbers=6)]
    if found.held:
        lines += [Text(), Text("Not told, so as the pack has it", style="bold")]
        for name, why in found.held.items():
            lines += wrapped(f"{FACTOR_TITLES[name]}: {why}", hanging=2)
    if found.compared:
        lines += [Text(), Text("Computed less observed, before and after", style="bold")]
        shown = [
            (
                one,
                *(
                    show(value, Kind(one.kind), system=units, rounding="nearest", difference=True)
                    for value in (one.before, one.after)
                ),
            )
            for one in found.compared
        ]
        for one, before, after in shown:
            whole = show(one.observed, Kind(one.kind), system=units, rounding="nearest")
            lines += wrapped(f"{one.name}: {whole.text}, off by {before.text}, then {after.text}", hanging=2)
    return lines
