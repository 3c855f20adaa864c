"""The weight and balance card: the envelope with the burn on it, and the load sheet."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box, Label, Point, place_around
from sortiewright.cards.load_sheet import load_groups, load_total, load_units
from sortiewright.cards.reading import Reading
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import BalancePoint, Kind, show

ASPECT = 0.66
FIGURES = (
    "centre_of_gravity_takeoff",
    "centre_of_gravity_zero_fuel",
    "side_moment_takeoff",
    "drag_index",
    "trim",
)
MASSES = ("zero_fuel_mass", "fuel_at_ramp", "ramp_mass", "takeoff_mass", "landing_mass")


def balance_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the weight and balance card shows."""
    return {
        "finding": finding(reading),
        "envelope": envelope(reading, sheet),
        "figures": reading.rows("loading", FIGURES),
        "masses": reading.rows("loading", MASSES),
        "groups": load_groups(reading),
        "units": load_units(reading.system),
        "total": load_total(reading),
    }


def margin(point: BalancePoint) -> float:
    """Return how far a point lies inside the nearer limit, a share of the mean chord; negative outside."""
    return min(point.centre_of_gravity - point.forward_limit, point.aft_limit - point.centre_of_gravity)


def worst_step(points: tuple[BalancePoint, ...]) -> BalancePoint | None:
    """Return the step nearest to a limit, one that is outside before all others."""
    return min(points, key=lambda point: (point.inside, margin(point)), default=None)


def finding(reading: Reading) -> dict[str, Any]:
    """Return in words whether the whole burn stays inside, and by how much at the worst step."""
    points = reading.plan.balance
    worst = worst_step(points)
    if worst is None:
        return {"look": "caution", "word": "NOT EVALUATED", "text": "The plan has no balance points"}
    forward = worst.centre_of_gravity - worst.forward_limit
    limit = "forward limit" if forward <= worst.aft_limit - worst.centre_of_gravity else "aft limit"
    room = reading.text(abs(margin(worst)), Kind.PERCENT_MAC, rounding="down")
    outside = sum(not point.inside for point in points)
    if not outside:
        text = f"Worst step: {worst.title}, {room} inside the {limit}"
        return {"look": "go", "word": "INSIDE", "text": printable(text)}
    where = f"{room} outside the {limit}" if margin(worst) < 0 else "outside the envelope"
    text = f"At {worst.title}: {where}; {outside} of {len(points)} steps"
    return {"look": "no_go", "word": "OUTSIDE", "text": printable(text)}


def envelope(reading: Reading, sheet: Sheet) -> dict[str, Any] | None:
    """Return the envelope drawn to scale with the path of the burn, None where the plan has none."""
    plan = reading.plan
    if len(plan.envelope) < 3:
        return None
    size = sheet.sizes["note"]
    drawing = Drawing("envelope", sheet.width, text_size=size)
    drawing.height = ASPECT * sheet.width
    plot = plot_area(drawing, show(99_999, Kind.MASS, reading.system, step=1).number)
    chords = [x for _, x in plan.envelope] + [point.centre_of_gravity for point in plan.balance]
    masses = [m for m, _ in plan.envelope] + [point.mass for point in plan.balance]
    (low_x, high_x), (low_m, high_m) = widened(chords), widened(masses)

    def at(mass: float, chord: float) -> Point:
        return (
            plot.left + (chord - low_x) / (high_x - low_x) * plot.width,
            plot.bottom - (mass - low_m) / (high_m - low_m) * plot.height,
        )

    drawing.rectangle(plot, "hatched")
    corners = [at(m, x) for m, x in plan.envelope]
    drawing.path(corners, "inside", closed=True)
    draw_scales(drawing, reading, plot, (low_x, high_x), (low_m, high_m), at)
    path = [at(point.mass, point.centre_of_gravity) for point in plan.balance]
    drawing.path(path, "burn")
    homeless = draw_steps(drawing, reading, plot, path, [*corners, corners[0]])
    words = f"Envelope of mass against centre of gravity with {len(path)} steps of the burn. "
    return drawing.data(words + finding(reading)["text"]) | {"homeless": homeless}


def widened(values: list[float]) -> tuple[float, float]:
    """Return the range of the values with a little room on both sides."""
    room = 0.08 * max(max(values) - min(values), 1e-6)
    return min(values) - room, max(values) + room


def draw_scales(
    drawing: Drawing,
    reading: Reading,
    plot: Box,
    chords: tuple[float, float],
    masses: tuple[float, float],
    at: Any,
) -> None:
    """Draw the frame, ticks and units: %MAC across, mass up."""
    unit, size = reading.unit(Kind.MASS)
    across = [
        (at(masses[0], tick / 100)[0], f"{tick:g}") for tick in ticks(100 * chords[0], 100 * chords[1], 7)
    ]
    up = [
        (
            at(tick * size, chords[0])[1],
            show(tick * size, Kind.MASS, reading.system, step=1).number,
        )
        for tick in ticks(masses[0] / size, masses[1] / size, 6)
    ]
    draw_axes(drawing, plot, Axis("Centre of gravity, %MAC", across), Axis(f"Mass, {unit}", up))


def draw_steps(
    drawing: Drawing, reading: Reading, plot: Box, path: list[Point], edge: list[Point]
) -> list[str]:
    """Mark each step of the burn and label it, the worst one filled and first; return what found no room."""
    points = reading.plan.balance
    worst = worst_step(points)
    labels: list[tuple[Label, list[str]]] = []
    for number, (point, place) in enumerate(zip(points, path, strict=True)):
        shape = "disc" if point is worst else "ring" if point.inside else "square"
        drawing.mark(place, shape, size=8.0 if point is worst else 6.0)
        lines = [point.title]
        if point is worst:
            lines.append(show(point.centre_of_gravity, Kind.PERCENT_MAC, reading.system).text)
        bold = len(lines) if point is worst else 0
        labels.append((drawing.label(str(number), lines, place, bold_lines=bold), lines))
    labels.sort(key=lambda pair: len(pair[1]), reverse=True)
    dots = [Box(x - 4, y - 4, 8, 8) for x, y in path]
    boxes, homeless = place_around(
        [label for label, _ in labels], bounds=plot, taken=dots, curves=[path, edge]
    )
    for label, lines in labels:
        if label.name in boxes:
            box = boxes[label.name]
            drawing.lead(box, [label.anchor])
            drawing.text(box, lines, bold_lines=len(lines) if len(lines) > 1 else 0, ground=True)
    return [printable(points[int(label.name)].title) for label in homeless]
