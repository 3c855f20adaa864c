"""Fuel over time, with bingo from every point of the way and the fuel that must be left drawn under it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from itertools import pairwise

from sortiewright.cards.chart_frame import ASPECT, TEXT_SIZE, WIDTH, Chart
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box, Point
from sortiewright.sortie import FlownRoute, FuelPlan, Kind, System, clock, convert, row_place, show

HEADROOM, SIDEROOM = 1.06, 0.03
MINUTE = 60.0
BESIDE = 6.0
"""Points from a mark to the left end of its name."""
GROUND_OR_CHANGE = frozenset({"start_and_taxi", "run_up", "climb", "descent"})


def fuel_chart(
    fuel: FuelPlan,
    flown: FlownRoute,
    *,
    system: System = "trade",
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    aspect: float = ASPECT,
) -> tuple[Drawing, str]:
    """Return fuel aboard over minutes from brake release, and in words what it shows; ``width`` in points.

    Hatched is what is less than bingo from there, or than minimum fuel.
    """
    size, unit = convert(1.0, Kind.MASS, system)
    chart = Chart("fuel chart", width, text_size, "00\u202f000", aspect=aspect)
    minutes = (flown.track_elapsed / MINUTE).tolist()
    aboard = (flown.track_fuel * size).tolist()
    first = min([0.0, *minutes])
    last = max([1.0, *minutes])
    top = max([1.0, *aboard])
    room = SIDEROOM * (last - first)
    # At the right the line is low and its points close: the last name needs room there.
    share = min(_name_width(chart, flown, fuel, system) / chart.plot.width, 0.4)
    chart.set_scale((first - room, last + share / (1.0 - share) * (last - first)), (0.0, HEADROOM * top))
    steps = [step for step in fuel.ladder if step.least is not None]
    least = [(step.elapsed / MINUTE, (step.least or 0.0) * size) for step in steps]
    _forbidden(chart, least, fuel.minimum * size)
    release = flown.rows[0].at.timestamp() - flown.rows[0].elapsed if flown.rows else 0.0
    start = _clock(flown, release)
    chart.axes(f"Minutes from brake release{start}", f"Fuel aboard, {unit}")
    _level(chart, fuel.minimum * size, "limit")
    _level(chart, fuel.emergency * size, "limit_dashed")
    bingo = chart.line([x for x, _ in least], [y for _, y in least], "curve_dashed")
    chart.line(minutes, aboard, "curve")
    points = _marks(chart, fuel, flown, size, system)
    _limits(chart, fuel, size, system)
    _names(chart, fuel, bingo, system)
    _staircase(chart, points)
    chart.set_labels()
    return chart.drawing, f"Fuel aboard over time. {'; '.join(text for text, _ in points)}. {chart.told()}."


def _name_width(chart: Chart, flown: FlownRoute, fuel: FuelPlan, system: System) -> float:
    """Return how wide the name at the end of the line will be, with its distance from the mark."""
    if not fuel.ladder:
        return 0.0
    step = fuel.ladder[-1]
    number = show(step.planned, Kind.MASS, system, rounding="down").number
    text = f"{flown.rows[step.row].title} {number}"
    return chart.drawing.label(text, [text], (0.0, 0.0)).width + BESIDE + 2.0


def _clock(flown: FlownRoute, release: float) -> str:
    return f" at {clock(datetime.fromtimestamp(release, UTC), seconds=False)}Z" if flown.rows else ""


def _forbidden(chart: Chart, least: Sequence[tuple[float, float]], minimum: float) -> None:
    """Hatch what lies under bingo while away, and under minimum fuel everywhere."""
    scale = chart.scale
    edge = [scale.at(x, max(y, minimum)) for x, y in least]
    left, right, low = scale.x[0], scale.x[1], scale.at(0.0, minimum)[1]
    begin, end = (edge[0][0], edge[-1][0]) if edge else (scale.at(left, 0.0)[0], scale.at(right, 0.0)[0])
    outline: list[Point] = [
        scale.at(left, 0.0),
        scale.at(left, minimum),
        (begin, low),
        *edge,
        (end, low),
        scale.at(right, minimum),
        scale.at(right, 0.0),
    ]
    chart.drawing.path(outline, "hatched", closed=True)
    # Labels of the planned line keep off what is hatched.
    for (x0, y0), (x1, y1) in pairwise(edge):
        top = min(y0, y1)
        chart.avoid.append(Box(x0, top, x1 - x0, chart.plot.bottom - top))
    chart.avoid.append(Box(chart.plot.left, low, chart.plot.width, chart.plot.bottom - low))


def _level(chart: Chart, value: float, role: str) -> None:
    chart.line(list(chart.scale.x), [value, value], role)


def _marks(
    chart: Chart, fuel: FuelPlan, flown: FlownRoute, size: float, system: System
) -> list[tuple[str, Point]]:
    """Mark the steps of the ladder at which a leg ends, or something is done, and return their names."""
    names: list[tuple[str, Point]] = []
    for step in fuel.ladder:
        row = flown.rows[step.row]
        stays = row.distance <= 0.0
        is_end = row.leg < 0 or stays or row.end == flown.points[row.leg + 1]
        if not is_end or row.part == "release" or (stays and row.part in GROUND_OR_CHANGE):
            continue
        at = chart.scale.at(step.elapsed / MINUTE, step.planned * size)
        chart.mark(at, "disc" if step.least is None or step.planned >= step.least else "square", size=5.5)
        name = row.title if stays or row.leg < 0 else row_place(row)
        number = show(step.planned, Kind.MASS, system, rounding="down").number
        names.append((f"{name} {number}", at))
    return names


def _staircase(chart: Chart, names: Sequence[tuple[str, Point]]) -> None:
    """Set names above and to the right of their points, from the last to the first.

    Fuel falls: a name that makes room upwards never gets between a later point and its own.
    """
    drawing = chart.drawing
    placed: list[Box] = []
    for text, at in reversed(names):
        label = drawing.label(text, [text], at)
        left = min(at[0] + BESIDE, drawing.width - label.width)
        box = Box(left, at[1] - label.height - 1.0, label.width, label.height)
        while crossed := [one for one in placed if one.overlaps(box)]:
            box = Box(left, min(one.top for one in crossed) - label.height - 0.5, label.width, label.height)
        if box.top < chart.plot.top:
            continue
        drawing.lead(box, [at])
        drawing.text(box, [text], ground=True)
        placed.append(box)
    chart.taken += placed


def _names(chart: Chart, fuel: FuelPlan, bingo: Sequence[Point], system: System) -> None:
    if bingo:
        lines = ["Bingo from there"]
        if fuel.bingo is not None and fuel.farthest is not None:
            lines.append(f"{show(fuel.bingo, Kind.MASS, system, rounding='up').text} at {fuel.farthest.name}")
        if fuel.joker is not None:
            lines.append(f"joker {show(fuel.joker, Kind.MASS, system, rounding='up').text}")
        chart.want("bingo", lines, chart.along(list(bingo)), bold=1)


def _limits(chart: Chart, fuel: FuelPlan, size: float, system: System) -> None:
    """Name minimum and emergency fuel on their lines."""
    for title, kilograms in (("Minimum", fuel.minimum), ("Emergency", fuel.emergency)):
        text = f"{title} {show(kilograms, Kind.MASS, system).text}"
        low, high = chart.scale.x
        ends = [chart.scale.at(x, kilograms * size) for x in (low, high)]
        chart.on_line(text, ends, (0.14, 0.25, 0.4, 0.6))
