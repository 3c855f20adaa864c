"""The weight and balance card: the envelope with the burn on it, and the load sheet."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box, Point, place_around
from sortiewright.cards.load_sheet import load_groups, load_total, load_units
from sortiewright.cards.reading import Reading
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import BalancePoint, Kind, show

ASPECT = 0.66
MOST_NAMES = 7
"""Steps named in the picture itself; more of them are numbered."""
FIGURES = (
    "centre_of_gravity_takeoff",
    "centre_of_gravity_zero_fuel",
    "side_moment_takeoff",
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
    key = draw_steps(drawing, reading, plot, path, [*corners, corners[0]])
    words = f"Envelope of mass against centre of gravity with {len(path)} steps of the burn. "
    return drawing.data(words + finding(reading)["text"]) | {"key": key}


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
    draw_axes(drawing, plot, Axis("Centre of gravity, %MAC", across), Axis(f"Weight, {unit}", up))


def draw_steps(
    drawing: Drawing, reading: Reading, plot: Box, path: list[Point], edge: list[Point]
) -> list[list[str]]:
    """Mark the steps of the burn, the worst one filled, and label those that have a name.

    Few and short names stand beside their points. Many or long ones become numbers, whose key is returned:
    number and name each. A step without a name is only a bend of the path.
    """
    points = reading.plan.balance
    worst = worst_step(points)
    named = [(point, place) for point, place in zip(points, path, strict=True) if point.title]
    for point, place in zip(points, path, strict=True):
        if point is worst or point.title or not point.inside:
            shape = "disc" if point is worst else "ring" if point.inside else "square"
            drawing.mark(place, shape, size=8.0 if point is worst else 6.0)
    texts = step_texts(drawing, reading, named, 0.4 * plot.width)
    key = []
    if not texts:
        texts = [[str(n)] for n in range(1, len(named) + 1)]
        key = [[str(n), printable(point.title)] for n, (point, _) in enumerate(named, start=1)]
    bold = [point is worst or bool(key) for point, _ in named]
    labels = [
        drawing.label(str(n), lines, place, bold_lines=len(lines) if bold[n] else 0)
        for n, (lines, (_, place)) in enumerate(zip(texts, named, strict=True))
    ]
    first = sorted(labels, key=lambda label: named[int(label.name)][0] is not worst)
    dots = [Box(x - 4, y - 4, 8, 8) for x, y in path]
    boxes, homeless = place_around(first, bounds=plot, taken=dots, curves=[path, edge])
    for label in labels:
        if label.name in boxes:
            lines = texts[int(label.name)]
            drawing.lead(boxes[label.name], [label.anchor])
            drawing.text(
                boxes[label.name], lines, bold_lines=len(lines) if bold[int(label.name)] else 0, ground=True
            )
    return key or [["", printable(named[int(label.name)][0].title)] for label in homeless]


def step_texts(
    drawing: Drawing, reading: Reading, named: list[tuple[BalancePoint, Point]], widest: float
) -> list[list[str]]:
    """Return the text beside each named step, empty where they are too many or too long for the picture."""
    worst = worst_step(reading.plan.balance)
    texts = [[point.title] for point, _ in named]
    for (point, _), lines in zip(named, texts, strict=True):
        if point is worst:
            lines.append(show(point.centre_of_gravity, Kind.PERCENT_MAC, reading.system).text)
    fits = all(drawing.label("", lines, (0.0, 0.0), bold_lines=2).width <= widest for lines in texts)
    return texts if fits and len(texts) <= MOST_NAMES else []
