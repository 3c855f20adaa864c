"""A plot as SVG: its frame, axes, lines, and the figure around it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sortiewright.recording.report_markup import Markup, element
from sortiewright.sortie import Kind, System, convert

WIDTH, HEIGHT = 960.0, 420.0
LEFT, RIGHT, TOP, BOTTOM = 56.0, 24.0, 26.0, 48.0

Point = tuple[float, float]


@dataclass(frozen=True)
class Frame:
    """A plot: ranges in shown units, and the picture's height."""

    x: tuple[float, float]
    y: tuple[float, float]
    height: float = HEIGHT

    def at(self, x: float, y: float) -> Point:
        """Return the place of a point in the picture."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return (
            LEFT + across * (WIDTH - LEFT - RIGHT),
            self.height - BOTTOM - up * (self.height - TOP - BOTTOM),
        )


def round_steps(low: float, high: float, most: int) -> list[float]:
    """Return round values within a range, at steps of 1, 2 or 5, at most ``most`` of them."""
    least = (high - low) / max(1, most - 1)
    if not (math.isfinite(least) and least > 0):
        return [low]
    power = 10.0 ** math.floor(math.log10(least))
    step = next(power * lead for lead in (1, 2, 5, 10) if power * lead >= least * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(n * step, 9) for n in range(first, last + 1)]


def axes(frame: Frame, across: str, up: str, *, upward: bool = True) -> Iterable[Markup]:
    """Yield the grid with its ticks, and both titles; without ``upward`` left and right of a middle line."""
    bottom, right = frame.at(frame.x[0], frame.y[0])[1], WIDTH - RIGHT
    for value in round_steps(*frame.x, 9):
        x = frame.at(value, 0.0)[0]
        yield element("line", x1=x, x2=x, y1=TOP, y2=bottom, class_="grid")
        yield element(
            "text",
            f"{value:,.0f}".replace(",", "\u202f").replace("-", "−"),
            x=x,
            y=bottom + 18,
            class_="tick",
            text_anchor="middle",
        )
    for value in round_steps(*frame.y, 7 if upward else 5):
        y = frame.at(0.0, value)[1]
        yield element("line", x1=LEFT, x2=right, y1=y, y2=y, class_="grid")
        text = (
            f"{value:.0f}"
            if upward
            else f"{abs(value):.0f}{' L' if value > 0 else ' R' if value < 0 else ''}"
        )
        yield element("text", text, x=LEFT - 8, y=y + 4, class_="tick", text_anchor="end")
    yield element("text", across, x=right, y=bottom + 38, class_="axis", text_anchor="end")
    yield element("text", up, x=4, y=14, class_="axis")


def line(points: Sequence[Point], style: str) -> Markup:
    """Return a line through points of the picture."""
    text = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return element("polyline", points=text, class_=style)


def figure(parts: Iterable[Markup], said: str, height: float) -> Markup:
    """Return a picture with what it shows in words, below it and for those who hear it."""
    return element(
        "figure",
        element(
            "svg", parts, viewBox=f"0 0 {WIDTH:g} {height:g}", role="img", aria_label=said, class_="picture"
        ),
        element("figcaption", said),
    )


def unit_size(kind: Kind, units: System) -> tuple[float, str]:
    """Return the size of the unit in which a kind is shown, SI, and its sign."""
    size, name = convert(1.0, kind, units)
    return 1.0 / size, name
