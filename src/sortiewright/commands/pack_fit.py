"""A pack made to agree with a handbook: ``pack fit``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

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

    from sortiewright.pack import LoadedPack
    from sortiewright.pack_fitting import FactorPrior, FittedFactor, FittedRow, PackFit

DRAWINGS = (".svg", ".png", ".pdf")
OVERLAYS = (".yaml", ".yml")


def fit(
    pack: Annotated[str, Parameter(metavar="pack")],
    /,
    *,
    points: Annotated[Path, Parameter(metavar="file")],
    out: Annotated[Path | None, Parameter(metavar="folder or overlay.yaml")] = None,
    free: Annotated[list[str] | None, Parameter(metavar="factor", negative="")] = None,
    prior: Annotated[list[str] | None, Parameter(metavar="factor=mean,sigma", negative="")] = None,
    keep_all: Annotated[bool, Parameter(negative="")] = False,
    draw: Annotated[Path | None, Parameter(metavar="file")] = None,
    scheme: Literal["day", "night", "print"] = "day",
    replace: Annotated[bool, Parameter(negative="")] = False,
    output: Output = FOR_PEOPLE,
) -> None:
    """Make a pack agree with handbook points: factors on its numbers, what they leave open, what disagrees.

    Example: sortiewright pack fit whinchat --points points.csv --out corrected

    Points are rows of takeoff, climb, cruise and landing charts: see docs/make-a-pack.md.

    Parameters
    ----------
    pack
        A shipped pack's name, or a folder: a first guess, complete.
    points
        CSV file: a line of names, a line of units, then a row a line.
    out
        Folder of the corrected pack; or a .yaml file, for an overlay that a sortie names.
    free
        Only this factor, which the points must then tell; may be repeated.
    prior
        What is known of a factor before: fuel_flow=1.0,0.02; may be repeated.
    keep_all
        Fit points that disagree with the rest too. Without it they are named and left out.
    draw
        Chart of what each point is off by, before and after: .svg, .png or .pdf.
    scheme
        Colours of the chart.
    replace
        Write over what is there.
    """
    from sortiewright.pack import load_pack
    from sortiewright.pack_fitting import draw_residuals, fit_pack, read_fit_points

    _check(out, draw, replace)
    known = dict(_prior(text) for text in prior or [])
    loaded = load_pack(pack)
    rows = read_fit_points(points, loaded.pack)
    found = fit_pack(loaded, rows, free=free, priors=known, keep_all=keep_all, name=points.name)
    written = _write(found, loaded, out) if out is not None else None
    if output.json:
        print_json(fit_data(found))
    else:
        print_text(fit_lines(found))
    if draw is not None:
        draw_residuals(found, draw, scheme, title=f"{loaded.pack.title}: {points.name}")
        remark(f"Drawn: {draw}")
    if written:
        remark(written)


def _check(out: Path | None, draw: Path | None, replace: bool) -> None:
    if draw is not None and draw.suffix.lower() not in DRAWINGS:
        raise UsageError(f"--draw: {draw} is none of {', '.join(DRAWINGS)}")
    for one in (out, draw):
        taken = one is not None and one.exists() and not (one.is_dir() and not any(one.iterdir()))
        if taken and not replace:
            raise UsageError(f"{one} is there already. Write over it with --replace, or choose another name")


def _prior(text: str) -> tuple[str, FactorPrior]:
    from sortiewright.pack_fitting import FactorPrior

    name, _, values = text.partition("=")
    try:
        mean, sigma = (float(part) for part in values.split(","))
    except ValueError:
        raise UsageError(f'--prior: "{text}" is no prior. Write it like this: fuel_flow=1.0,0.02') from None
    if not (0.25 < mean < 4.0 and 0.0 < sigma < 1.0):
        raise UsageError(
            f'--prior: "{text}": the mean is 0.25 to 4, the standard deviation more than 0, below 1'
        )
    return name, FactorPrior(mean, sigma)


def _write(found: PackFit, loaded: LoadedPack, out: Path) -> str:
    """Write the overlay or the corrected pack, and return what to say of it."""
    from sortiewright.pack import load_pack, overlay_text
    from sortiewright.pack_fitting import corrected_files
    from sortiewright.pack_sampling import write_pack_folder

    if out.suffix.lower() in OVERLAYS:
        out.write_text(overlay_text(found.overlay(loaded)), encoding="utf-8", newline="\n")
        return f"Written: {out}"
    write_pack_folder(out, corrected_files(loaded, found.values, f"fitted to {found.name}"))
    load_pack(out)
    return f"Written: {out}, {loaded.pack.name} with the factors in its numbers"


def fit_data(found: PackFit) -> dict[str, Any]:
    """Return a fit as JSON: factors are plain numbers, rows in SI."""
    return {
        "factors": {
            name: {
                "factor": one.value,
                "standard_deviation": one.sigma,
                "low": one.low,
                "high": one.high,
                "low_with_held": one.low_with_held,
                "high_with_held": one.high_with_held,
                "rows": len(one.informed_by),
                "pack_value": one.pack_value,
                "bounds": [one.factor.least, one.factor.most],
                "at_bound": one.at_bound,
            }
            for name, one in found.factors.items()
        },
        "held": dict(found.held),
        "correlations": dict(found.correlations),
        "condition_number": found.condition,
        "misfit_over_tolerance": found.scatter,
        "degrees_of_freedom": found.degrees,
        "rows": [
            {
                "row": row.point.name,
                "line": row.point.line,
                "quantity": row.point.quantity,
                "printed": row.point.value,
                "before": row.before,
                "after": row.after,
                "studentised_residual": row.studentised,
                "disagrees": row.disagrees,
                "used": row.used,
            }
            for row in found.rows
        ],
        "disagreeing_left_out": found.left_out,
    }


def fit_lines(found: PackFit) -> list[Text]:
    """Return a fit as lines: factors, what is held and why, which rows disagree, and how far off all are."""
    from rich.text import Text

    lines = [Text("Factors on the pack's own numbers", style="bold")]
    lines += aligned([_factor_row(one) for one in found.factors.values()], numbers=6)
    if found.held:
        lines += [Text(), Text("Not told, so as the pack has it", style="bold")]
        for name, why in found.held.items():
            lines += wrapped(f"{name}: {why}", hanging=2)
    if found.disagreeing:
        left = "left out" if found.left_out else "fitted all the same"
        lines += [Text(), Text(f"Rows that disagree with the rest, {left}", style="bold")]
        for row in found.disagreeing:
            lines += wrapped(_disagreement(row), hanging=2, style="yellow")
    lines += [Text(), *wrapped(_misfit(found), indent=0)]
    return lines


def _factor_row(one: FittedFactor) -> Row:
    count = len(one.informed_by)
    note = f"95 %: {one.low:.3f} to {one.high:.3f}, {count} row{'s' if count != 1 else ''}"
    if one.high_with_held - one.low_with_held > 1.2 * (one.high - one.low):
        note += f"; with the doubt in what is held {one.low_with_held:.3f} to {one.high_with_held:.3f}"
    if one.at_bound:
        note += "; at its bound: look at the rows, or at the pack's own number"
    return Row(one.factor.name, f"{one.value:.3f}", "", note, "yellow" if one.at_bound else "")


def _disagreement(row: FittedRow) -> str:
    from sortiewright.pack_fitting import in_unit

    point = row.point
    printed, computed = (in_unit(value, point.unit, point.quantity) for value in (point.value, row.after))
    return (
        f"{point.label}: printed {printed:.5g} {point.unit}, computed {computed:.5g}, "
        f"{100 * (row.after / point.value - 1):+.1f} %, {abs(row.studentised):.1f} standard deviations from "
        "the rest"
    )


def _misfit(found: PackFit) -> str:
    kept = [row for row in found.rows if row.used]
    before, after = (
        100 * (sum((value / row.point.value - 1) ** 2 for row, value in pairs) / len(pairs)) ** 0.5
        for pairs in ([(row, row.before) for row in kept], [(row, row.after) for row in kept])
    )
    return (
        f"{len(kept)} of {len(found.rows)} rows used, off by {before:.1f} % before and {after:.1f} % after "
        f"(root mean square), {found.scatter:.2f} times what their tolerances say."
    )
