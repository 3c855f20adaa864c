"""The excess power chart: lines of equal specific excess power over Mach number and altitude."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.axes import ticks
from sortiewright.cards.chart_frame import ASPECT, TEXT_SIZE, WIDTH, Chart, Floats, at_power
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Point
from sortiewright.performance import ExcessPowerGrid, ManoeuvreNumbers
from sortiewright.sortie import MINUS, Kind, System, convert, show

Flags = NDArray[np.bool_]

MOST_LINES = 9
NEGATIVE_LINES = 2
SIDEROOM = 0.05
EDGE_STEPS = 60


def excess_power_chart(
    numbers: ManoeuvreNumbers,
    *,
    system: System = "trade",
    row: int = 0,
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    aspect: float = ASPECT,
) -> tuple[Drawing, str]:
    """Return the excess power chart of one case, and in words what it shows; ``width`` in points.

    Heights in thousands of feet, power in feet a second, or metres and metres a second.
    """
    grid = numbers.excess_power
    chart = Chart("excess power chart", width, text_size, "00", aspect=aspect)
    foot = convert(1.0, Kind.HEIGHT, system)[0]
    heights = grid.altitude * foot / 1000.0
    low, high = float(grid.mach[0]), float(grid.mach[-1])
    chart.set_scale((low, high + SIDEROOM * (high - low)), (float(heights[0]), float(heights[-1])))
    lines = _contours(chart, grid, row, heights, foot)
    lift, speed = _bounds(chart, grid, row, foot)
    mass = show(float(numbers.mass[row]), Kind.MASS, system).text
    sign = "ft" if system == "trade" else "m"
    load = f"{grid.load_factor:g} g, " if grid.load_factor != 1.0 else ""
    beside = f"Excess power, {sign}/s, at {load}{at_power(numbers.power_title)}, {mass}"
    chart.axes("Mach number", f"Pressure altitude, 1\u202f000 {sign}", beside)
    _today(chart, numbers, row, foot, sign)
    if len(lift) > 1:
        chart.want("lift", ["Lift limit"], chart.along(lift), bold=1)
    if len(speed) > 1 and bool(grid.is_at_limit[row].any()):
        chart.want("speed", ["Speed limit"], chart.along(speed), bold=1)
    homeless = chart.set_labels()
    for text, points in lines:
        chart.on_line(text, points)
    words = f"{beside}, over Mach number and pressure altitude. {chart.told()}."
    return chart.drawing, words + (f" Without room: {'; '.join(homeless)}." if homeless else "")


def _contours(
    chart: Chart, grid: ExcessPowerGrid, row: int, heights: Floats, foot: float
) -> list[tuple[str, list[Point]]]:
    """Draw a line for each round value, nought the heaviest, and return their labels."""
    values = grid.continued[row] * foot
    shown = grid.energy_rate[row] * foot
    if not np.isfinite(shown).any():
        return []
    # Imported here: it is compiled code that only this chart needs.
    from contourpy import contour_generator

    # Masked where the tables end: no line is drawn into a cell that lacks a value.
    masked: Any = np.ma.masked_invalid(values)
    cells: Any = contour_generator(grid.mach, heights, masked)
    labels: list[tuple[str, list[Point]]] = []
    for level in _levels(float(np.nanmin(shown)), float(np.nanmax(shown))):
        role = "curve" if level == 0.0 else "contour" if level > 0.0 else "contour_dashed"
        for line in cells.lines(level):
            free = _is_allowed(grid, row, line[:, 0], line[:, 1] * 1000.0 / foot)
            for first, last in _runs(free):
                # One point more at either end: the limit's hatching then cuts the line where it is.
                part = line[max(first - 1, 0) : last + 2]
                chart.line(part[:, 0].tolist(), part[:, 1].tolist(), role)
                inner = line[first : last + 1]
                points = chart.scale.line(inner[:, 0].tolist(), inner[:, 1].tolist())
                labels.append((f"{level:g}".replace("-", MINUS), points))
    return labels


def _levels(least: float, most: float) -> list[float]:
    """Return round values from a little under nought to the greatest."""
    if most <= 0.0:
        return ticks(least, 0.0, MOST_LINES)[-NEGATIVE_LINES - 1 :]
    steps = ticks(0.0, most, MOST_LINES)
    step = steps[1] - steps[0] if len(steps) > 1 else most
    below = [-step * count for count in range(NEGATIVE_LINES, 0, -1) if -step * count > least]
    return [*below, *steps]


def _is_allowed(grid: ExcessPowerGrid, row: int, mach: Floats, altitude: Floats) -> Flags:
    """Return which points no limit hides."""
    ceiling: Floats = np.interp(mach, grid.lift_mach, _ceiling(grid, row))
    fastest = _fastest(grid, row, altitude)
    return np.asarray((altitude <= ceiling) & (mach <= fastest))


def _fastest(grid: ExcessPowerGrid, row: int, altitude: Floats) -> Floats:
    """Return the highest Mach number at each altitude."""
    top: Floats = grid.top_mach[row]
    return np.interp(altitude, grid.altitude, top)


def _ceiling(grid: ExcessPowerGrid, row: int) -> Floats:
    """Return the altitude of the lift limit, the lowest one drawn where there is none."""
    lift: Floats = grid.lift_altitude[row]
    return np.where(np.isfinite(lift), lift, grid.altitude[0])


def _runs(flags: Flags) -> list[tuple[int, int]]:
    """Return first and last index of each run of true ones."""
    turns = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return [(int(first), int(after) - 1) for first, after in zip(turns[::2], turns[1::2], strict=True)]


def _bounds(chart: Chart, grid: ExcessPowerGrid, row: int, foot: float) -> tuple[list[Point], list[Point]]:
    """Hatch what lies beyond the lift limit and beyond the speed limit, and return both lines."""
    scale, plot, shown = chart.scale, chart.plot, foot / 1000.0
    bottom, top = float(grid.altitude[0]), float(grid.altitude[-1])
    level = np.linspace(bottom, top, EDGE_STEPS)
    fastest = _fastest(grid, row, level)
    speed = scale.line(fastest.tolist(), (level * shown).tolist())
    chart.drawing.path([*speed, (plot.right, plot.top), (plot.right, plot.bottom)], "hatched", closed=True)
    mach, ceiling = _between(grid.lift_mach, _ceiling(grid, row), bottom, top)
    most: Floats = np.interp(ceiling, level, fastest)
    inside = mach <= most
    lift = scale.line(mach[inside].tolist(), (ceiling[inside] * shown).tolist())
    if lift:
        corner = [(lift[-1][0], plot.top), (plot.left, plot.top)]
        chart.drawing.path([(plot.left, plot.bottom), *lift, *corner], "hatched", closed=True)
        speed = [point for point in speed if point[1] >= lift[-1][1] - 1.0]
    for line in (lift, speed):
        if len(line) > 1:
            chart.drawing.path(line, "limit")
            chart.lines.append(line)
    return lift, speed


def _between(mach: Floats, altitude: Floats, bottom: float, top: float) -> tuple[Floats, Floats]:
    """Return the line from where it leaves the bottom of the picture to where it first reaches the top."""
    above = np.flatnonzero(altitude > bottom)
    if not above.size:
        return mach[:0], altitude[:0]
    first = max(int(above[0]) - 1, 0)
    over = np.flatnonzero(altitude[first:] >= top)
    last = first + int(over[0]) if over.size else len(mach) - 1
    x, y = mach[first : last + 1].copy(), altitude[first : last + 1].copy()
    for end, beside in ((0, 1), (-1, -2)):
        held = min(max(float(y[end]), bottom), top)
        if held != y[end] and len(x) > 1:
            x[end] = x[beside] + (held - y[beside]) / (y[end] - y[beside]) * (x[end] - x[beside])
            y[end] = held
    return x, y


def _today(chart: Chart, numbers: ManoeuvreNumbers, row: int, foot: float, sign: str) -> None:
    mach, height = float(numbers.mach[row]), float(numbers.altitude[row]) * foot / 1000.0
    scale = chart.scale
    if not (scale.x[0] <= mach <= scale.x[1] and scale.y[0] <= height <= scale.y[1]):
        return
    point = scale.at(mach, height)
    rate = float(numbers.energy_rate[row]) * foot
    chart.mark(point, "disc", size=7.5)
    said = f"{rate:.0f} {sign}/s".replace("-", MINUS) if math.isfinite(rate) else "beyond a limit"
    chart.want("today", ["Today", said], [point], bold=2)
