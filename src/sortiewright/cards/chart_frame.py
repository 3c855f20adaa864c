"""What the manoeuvre charts have in common: scales, a frame, and labels on or beside lines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box, Label, Point, dense, place_around
from sortiewright.sortie import THIN_SPACE

Floats = NDArray[np.float64]

WIDTH, TEXT_SIZE = 480.0, 10.0
"""Points, of a chart that stands by itself."""
ASPECT = 0.7
"""Height over width."""
SIGN = 2.0
"""Half of what a sign keeps free for itself: a label has its own air around it."""
LEADER_BOXES = 12
TICK_LINES = 1.3
"""Lines of text that a tick of the upright axis takes at least."""
SHORTEST = 2.5
"""A line shorter than so many times its label stays without one."""
SHARES = (0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2, 0.9, 0.1)
"""Where along a line its label may stand, the best place first."""


def at_power(title: str) -> str:
    """Return a power setting's title as it stands in a sentence: "maximum power"."""
    return f"{title.lower().removesuffix(' power')} power"


@dataclass(frozen=True, slots=True)
class Scale:
    """From the values shown on two axes to points of the plot."""

    plot: Box
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> Point:
        """Return the point of two values."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return self.plot.left + across * self.plot.width, self.plot.bottom - up * self.plot.height

    def line(self, x: Iterable[float], y: Iterable[float]) -> list[Point]:
        """Return the points of a line, those that are no numbers left out."""
        return [
            self.at(one, other)
            for one, other in zip(x, y, strict=True)
            if math.isfinite(one) and math.isfinite(other)
        ]


class Chart:
    """One chart while it is drawn: the drawing, its scale, and labels collected on the way."""

    def __init__(
        self, name: str, width: float, text_size: float, widest: str, *, aspect: float = ASPECT
    ) -> None:
        self.drawing = Drawing(name, width, text_size=text_size)
        self.drawing.height = aspect * width
        self.plot = plot_area(self.drawing, widest)
        self.scale = Scale(self.plot, (0.0, 1.0), (0.0, 1.0))
        self.wanted: list[tuple[Label, list[str], int]] = []
        self.lines: list[Sequence[Point]] = []
        self.taken: list[Box] = []
        self.avoid: list[Box] = []

    def set_scale(self, x: tuple[float, float], y: tuple[float, float]) -> Scale:
        """Set and return what the axes cover."""
        self.scale = Scale(self.plot, x, y)
        return self.scale

    def axes(self, across: str, up: str, beside: str = "", *, grid: bool = False, most: int = 8) -> None:
        """Draw the frame with round ticks; ``beside`` stands at the upper right: what the chart holds for."""
        scale, plot = self.scale, self.plot
        rows = min(8, int(plot.height / (TICK_LINES * LINE_HEIGHT * self.drawing.text_size)))
        level = [(scale.at(v, scale.y[0])[0], _number(v)) for v in ticks(*scale.x, most)]
        upright = [(scale.at(scale.x[0], v)[1], _number(v)) for v in ticks(*scale.y, rows)]
        if grid:
            for x, _ in level:
                self.drawing.path([(x, plot.top), (x, plot.bottom)], "grid")
            for y, _ in upright:
                self.drawing.path([(plot.left, y), (plot.right, y)], "grid")
        draw_axes(self.drawing, plot, Axis(across, level), Axis(up, upright))
        above = self.drawing.label(up, [up], (0.0, 0.0)).width
        while beside:
            label = self.drawing.label(beside, [beside], (0.0, 0.0))
            if ", " in beside and above + 8.0 + label.width > plot.right:
                beside = beside.rpartition(", ")[0]  # what says least goes first
                continue
            box = Box(plot.right - label.width, 0.0, label.width, LINE_HEIGHT * self.drawing.text_size)
            self.drawing.text(box, [beside], role="second", align="right")
            break

    def line(self, x: Iterable[float], y: Iterable[float], role: str) -> list[Point]:
        """Draw a line that labels keep off, and return its points."""
        points = self.scale.line(x, y)
        if len(points) > 1:
            self.drawing.path(points, role)
            self.lines.append(points)
        return points

    def mark(self, at: Point, shape: str, *, size: float = 7.5) -> None:
        """Draw a sign that no label may hide."""
        self.drawing.mark(at, shape, size=size)
        self.taken.append(Box(at[0] - SIGN, at[1] - SIGN, 2.0 * SIGN, 2.0 * SIGN))

    def want(self, name: str, lines: list[str], anchors: Sequence[Point], *, bold: int = 0) -> None:
        """Ask for a label beside the first of these points where there is room; the important ones first."""
        if anchors:
            label = self.drawing.label(name, lines, anchors[0], bold_lines=bold)
            self.wanted.append((replace(label, others=tuple(anchors[1:])), lines, bold))

    def along(self, points: Sequence[Point]) -> list[Point]:
        """Return places along a line for its label, the best first."""
        return [points[round(share * (len(points) - 1))] for share in SHARES] if points else []

    def on_line(
        self,
        text: str,
        points: Sequence[Point],
        shares: Sequence[float] = SHARES,
        *,
        off_lines: bool = False,
        shortest: float = SHORTEST,
    ) -> bool:
        """Write a short text on a line where it hides nothing written, and say whether there was room.

        ``off_lines`` keeps it off the lines drawn with ``line`` too, for a text on a line that was not.
        A line less than ``shortest`` times as long as the text stays without it.
        """
        if len(points) < 2:
            return False
        label = self.drawing.label(text, [text], (0.0, 0.0))
        if _length(points) < shortest * label.width:
            return False
        drawn = [point for line in self.lines for point in dense(line)] if off_lines else []
        for share in shares:
            x, y = _at_share(points, share)
            box = Box(x - label.width / 2, y - label.height / 2, label.width, label.height)
            air = Box(box.left - 3.0, box.top - 2.0, box.width + 6.0, box.height + 4.0)
            if any(air.contains(point) for point in drawn):
                continue
            if box.within(self.plot) and not any(air.overlaps(other) for other in self.taken):
                self.drawing.text(box, [text], role="second", ground=True)
                self.taken.append(box)
                return True
        return False

    def set_labels(self) -> list[str]:
        """Set every label that was asked for, and return those that found no room."""
        boxes, homeless = place_around(
            [label for label, _, _ in self.wanted],
            bounds=self.plot,
            taken=self.taken,
            curves=self.lines,
            avoid=self.avoid,
        )
        for label, lines, bold in self.wanted:
            if label.name in boxes:
                self._lead(boxes[label.name], (label.anchor, *label.others))
                self.drawing.text(boxes[label.name], lines, bold_lines=bold, ground=True)
                self.taken.append(boxes[label.name])
        missing = {label.name for label in homeless}
        return [": ".join(lines) for label, lines, _ in self.wanted if label.name in missing]

    def _lead(self, box: Box, anchors: Sequence[Point]) -> None:
        """Draw the leader that a label needs, if any, and keep what is written later off it."""
        before = len(self.drawing.parts)
        self.drawing.lead(box, anchors)
        for part in self.drawing.parts[before:]:
            (x0, y0), (x1, y1) = part["points"]
            steps = (share / LEADER_BOXES for share in range(1, LEADER_BOXES))
            self.taken += [Box(x0 + (x1 - x0) * s - 1.0, y0 + (y1 - y0) * s - 1.0, 2.0, 2.0) for s in steps]

    def told(self) -> str:
        """Return every label in words."""
        return "; ".join(" ".join(lines) for _, lines, _ in self.wanted)


def _length(points: Sequence[Point]) -> float:
    return sum(math.dist(one, other) for one, other in pairwise(points))


def _at_share(points: Sequence[Point], share: float) -> Point:
    """Return the point at a share of a line's length."""
    xs, ys = np.asarray([x for x, _ in points]), np.asarray([y for _, y in points])
    steps: Floats = np.hypot(np.diff(xs), np.diff(ys))
    length: Floats = np.concatenate([np.zeros(1), np.cumsum(steps)])
    place = share * float(length[-1])
    return float(np.interp(place, length, xs)), float(np.interp(place, length, ys))


def _number(value: float) -> str:
    text = f"{value:,.0f}" if abs(value) >= 1_000.0 else f"{value:.6g}"
    return text.replace(",", THIN_SPACE).replace("-", "−")
