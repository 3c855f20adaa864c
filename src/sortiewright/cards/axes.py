"""The frame of a chart: where it is plotted, its ticks, and what its two axes mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box
from sortiewright.cards.typeface import text_width

TICK = 3.0
BELOW = 7.2
"""From the level axis to its tick texts: more than half a line, so that they clear the lowest at the side."""
RIGHT = 4.0
AIR = 0.1
"""Between the tick texts and the axis title, in shares of the text size."""


@dataclass(frozen=True, slots=True)
class Axis:
    """What one axis shows: its title, and its ticks as place along the axis, points, and text."""

    title: str
    ticks: Sequence[tuple[float, str]]


def plot_area(drawing: Drawing, widest: str) -> Box:
    """Return the area inside the axes; ``widest`` is the longest text at the ticks of the upright one."""
    line = LINE_HEIGHT * drawing.text_size
    left = text_width(widest, drawing.text_size) + TICK + 5.0
    top = line + 2.0
    bottom = BELOW + 2 * line + AIR * drawing.text_size
    return Box(left, top, drawing.width - left - RIGHT, drawing.height - top - bottom)


def draw_axes(drawing: Drawing, plot: Box, across: Axis, up: Axis) -> None:
    """Draw the frame: the title of the upright axis above it, that of the level one below its ticks."""
    size = drawing.text_size
    line = LINE_HEIGHT * size
    drawing.path([(plot.left, plot.top), (plot.left, plot.bottom), (plot.right, plot.bottom)], "axis")
    for x, text in across.ticks:
        drawing.path([(x, plot.bottom), (x, plot.bottom + TICK)], "axis")
        width = drawing.label(text, [text], (0.0, 0.0)).width
        left = min(x - width / 2, drawing.width - width)
        drawing.text(Box(left, plot.bottom + BELOW, width, line), [text], role="second", align="center")
    for y, text in up.ticks:
        if y - line / 2 < plot.top - 2.0:
            continue  # it would run into the title above
        drawing.path([(plot.left - TICK, y), (plot.left, y)], "axis")
        width = drawing.label(text, [text], (0.0, 0.0)).width
        box = Box(plot.left - TICK - 2.0 - width, y - line / 2, width, line)
        drawing.text(box, [text], role="second", align="right")
    above = drawing.label(up.title, [up.title], (0.0, 0.0))
    drawing.text(Box(0.0, 0.0, above.width, line), [up.title], role="second")
    below = drawing.label(across.title, [across.title], (0.0, 0.0))
    top = plot.bottom + BELOW + line + AIR * size
    drawing.text(
        Box(plot.right - below.width, top, below.width, line), [across.title], role="second", align="right"
    )


def ticks(low: float, high: float, most: int) -> list[float]:
    """Return round values from ``low`` to ``high``, at most ``most`` of them, at steps of 1, 2 or 5."""
    least = (high - low) / max(1, most - 1)
    if least <= 0:
        return [low]
    power = 10.0 ** math.floor(math.log10(least))
    step = next(power * lead for lead in (1, 2, 5, 10) if power * lead >= least * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(n * step, 10) for n in range(first, last + 1)]
