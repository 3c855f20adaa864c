"""Speed over distance of a takeoff, planned and flown, drawn for paper."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box, Point
from sortiewright.cards.typeface import printable, text_width
from sortiewright.sortie import Kind, convert

if TYPE_CHECKING:
    from sortiewright.recording import TakeoffComparison

Floats = NDArray[np.float64]

ASPECT = 0.62
"""Height over width."""


def takeoff_picture(takeoff: TakeoffComparison, width: float, text_size: float) -> dict[str, Any]:
    """Return the run from brake release to 50 ft as a drawing; planned dashed, flown solid."""
    drawing = Drawing("speed over distance", width, text_size=text_size)
    drawing.height = ASPECT * width
    plot = plot_area(drawing, "000")
    curves = takeoff.curves
    by_airspeed = bool(np.isfinite(curves.flown_cas).any())
    runs: dict[str, Floats] = {
        "planned": curves.planned_cas if by_airspeed else curves.planned_ground_speed,
        "flown": curves.flown_cas if by_airspeed else curves.flown_ground_speed,
    }
    foot, knot = convert(1.0, Kind.RUNWAY_DISTANCE)[0], convert(1.0, Kind.CAS)[0]
    far = float(curves.distance[-1]) * foot
    fast = 1.12 * max(float(np.nanmax(values)) for values in runs.values()) * knot

    def at(distance: float, speed: float) -> Point:
        return plot.left + distance / far * plot.width, plot.bottom - speed / fast * plot.height

    across = [(at(x, 0.0)[0], f"{x:,.0f}".replace(",", "\u202f")) for x in ticks(0.0, far, 5)]
    up = [(at(0.0, y)[1], f"{y:.0f}") for y in ticks(0.0, fast, 5)]
    kind = "Airspeed, kt calibrated" if by_airspeed else "Ground speed, kt"
    draw_axes(drawing, plot, Axis("From brake release, ft", across), Axis(kind, up))
    for name, values in runs.items():
        good = np.isfinite(values)
        points = zip((curves.distance[good] * foot).tolist(), (values[good] * knot).tolist(), strict=True)
        drawing.path([at(x, y) for x, y in points], "go" if name == "planned" else "stop")
    _marks(drawing, plot, takeoff, runs, at, foot, knot)
    return drawing.data("Speed over distance of the takeoff, planned dashed, flown solid")


def _marks(
    drawing: Drawing,
    plot: Box,
    takeoff: TakeoffComparison,
    runs: dict[str, Floats],
    at: Callable[[float, float], Point],
    foot: float,
    knot: float,
) -> None:
    """Mark lift-off on both runs and name the runs in the free corner below them."""
    run = takeoff.value("ground_run")
    lines: list[str] = []
    for name, distance in (("flown", run.flown), ("planned", run.planned)):
        values = runs[name]
        good = np.isfinite(values)
        if distance is None or not math.isfinite(distance) or not good.any():
            continue
        speed = float(np.interp(distance, takeoff.curves.distance[good], values[good]))
        drawing.mark(at(distance * foot, speed * knot), "disc" if name == "flown" else "ring")
        thousands = f"{round(distance * foot, -1):,.0f}".replace(",", "\u202f")
        lines.append(f"{name}: lift-off at {thousands} ft, {speed * knot:.0f} kt")
    height = LINE_HEIGHT * drawing.text_size
    sample = 22.0
    for row, line in enumerate(lines):
        top = plot.bottom - (len(lines) - row) * height * 1.25 - 4.0
        width = 1.02 * text_width(printable(line), drawing.text_size)
        left = plot.right - width
        role = "stop" if line.startswith("flown") else "go"
        drawing.path([(left - sample - 4.0, top + height / 2), (left - 4.0, top + height / 2)], role)
        drawing.text(Box(left, top, width, height), [line])
