"""Speed over distance of takeoff, rejected takeoff and landing, planned and flown, drawn for paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box, Point
from sortiewright.cards.typeface import printable, text_width
from sortiewright.sortie import Kind, System, convert, show

if TYPE_CHECKING:
    from sortiewright.recording import (
        LandingComparison,
        RejectedComparison,
        RunMark,
        SpeedOverDistance,
        TakeoffComparison,
    )

Floats = NDArray[np.float64]

ASPECT, LOW = 0.62, 0.5
"""Height over width of a picture alone, and of one of several."""
SAMPLE = 15.0
"""Length of the line beside the name of a run, points."""
HEADROOM = 1.12
ROOM_FOR_NAMES = 1.42
"""Of the highest speed, where the runs are named above their lines."""


def takeoff_picture(
    takeoff: TakeoffComparison, width: float, text_size: float, units: System = "trade", *, low: bool = False
) -> dict[str, Any]:
    """Return the run from brake release to 50 ft as a drawing; planned dashed, flown solid."""
    curves = takeoff.curves
    by_airspeed = bool(np.isfinite(curves.flown_cas).any())
    runs = {
        "planned": curves.planned_cas if by_airspeed else curves.planned_ground_speed,
        "flown": curves.flown_cas if by_airspeed else curves.flown_ground_speed,
    }
    size = _Size(width, (LOW if low else ASPECT) * width, text_size)
    picture = _Picture.of(curves.distance, runs, "takeoff", size, units)
    picture.axes("From brake release", "Airspeed, calibrated" if by_airspeed else "Ground speed")
    picture.lines()
    run, said = takeoff.value("ground_run"), list[tuple[str, str]]()
    for name, distance in (("flown", run.flown), ("planned", run.planned)):
        values = runs[name]
        good = np.isfinite(values)
        if distance is None or not math.isfinite(distance) or not good.any():
            continue
        speed = float(np.interp(distance, curves.distance[good], values[good]))
        picture.mark(name, distance, speed)
        said.append((name, f"{name}: lift-off at {picture.place_said(distance, speed)}"))
    picture.names(said, at_top=False)
    return picture.drawing.data("Speed over distance of the takeoff, planned dashed, flown solid")


def rejected_picture(
    rejected: RejectedComparison,
    width: float,
    text_size: float,
    units: System = "trade",
    *,
    low: bool = False,
) -> dict[str, Any]:
    """Return the run to where the levers closed and the stop from there as a drawing."""
    size = _Size(width, (LOW if low else ASPECT) * width, text_size)
    return _roll(rejected.curves, rejected.marks, "From brake release", "rejected takeoff", size, units)


def landing_picture(
    landing: LandingComparison, width: float, text_size: float, units: System = "trade", *, low: bool = False
) -> dict[str, Any] | None:
    """Return the landing from 50 ft to the stop as a drawing; None where it has a gap."""
    picture = landing.picture
    if picture is None:
        return None
    where = f"From {'the ' if picture.origin == 'threshold' else ''}{picture.origin}"
    size = _Size(width, (LOW if low else ASPECT) * width, text_size)
    return _roll(picture.curves, picture.marks, where, "landing", size, units)


def _roll(
    curves: SpeedOverDistance,
    marks: Sequence[RunMark],
    where: str,
    what: str,
    size: _Size,
    units: System,
) -> dict[str, Any]:
    runs = {"planned": curves.planned_ground_speed, "flown": curves.flown_ground_speed}
    picture = _Picture.of(curves.distance, runs, what, size, units, ROOM_FOR_NAMES)
    picture.axes(where, "Ground speed")
    picture.lines()
    named = {run: picture.with_room(run, marks) for run in ("flown", "planned")}
    for run, moments in named.items():
        for one in moments:
            picture.mark(run, one.distance, one.speed)
    picture.names([(run, picture.moments_said(run, moments)) for run, moments in named.items() if moments])
    return picture.drawing.data(f"Speed over distance of the {what}, planned dashed, flown solid")


@dataclass(frozen=True)
class _Size:
    """Of a picture and its texts, points."""

    width: float
    height: float
    text: float


@dataclass(frozen=True)
class _Picture:
    """A drawing with its scales; distances m, speeds m/s."""

    drawing: Drawing
    plot: Box
    distance: Floats
    runs: dict[str, Floats]
    units: System
    fast: float
    """Speed at the top."""

    @classmethod
    def of(
        cls,
        distance: Floats,
        runs: dict[str, Floats],
        what: str,
        size: _Size,
        units: System,
        headroom: float = HEADROOM,
    ) -> _Picture:
        drawing = Drawing(f"speed over distance, {what}", size.width, text_size=size.text)
        drawing.height = size.height
        fast = headroom * max(float(np.nanmax(values)) for values in runs.values())
        return cls(drawing, plot_area(drawing, "000"), distance, runs, units, fast)

    def at(self, distance: float, speed: float) -> Point:
        least, most = float(self.distance[0]), float(self.distance[-1])
        across = self.plot.left + (distance - least) / (most - least) * self.plot.width
        return across, self.plot.bottom - speed / self.fast * self.plot.height

    def axes(self, across: str, up: str) -> None:
        (foot, foot_sign), (knot, knot_sign) = (
            convert(1.0, kind, self.units) for kind in (Kind.RUNWAY_DISTANCE, Kind.GROUND_SPEED)
        )
        least, most = float(self.distance[0]), float(self.distance[-1])
        level = [(self.at(x / foot, 0.0)[0], _grouped(x)) for x in ticks(least * foot, most * foot, 5)]
        upright = [(self.at(least, y / knot)[1], f"{y:.0f}") for y in ticks(0.0, self.fast * knot, 5)]
        draw_axes(
            self.drawing,
            self.plot,
            Axis(f"{across}, {foot_sign}", level),
            Axis(f"{up}, {knot_sign}", upright),
        )

    def lines(self) -> None:
        for name, values in self.runs.items():
            good = np.isfinite(values)
            points = zip(self.distance[good].tolist(), values[good].tolist(), strict=True)
            self.drawing.path([self.at(x, y) for x, y in points], _role(name))

    def mark(self, run: str, distance: float, speed: float) -> None:
        self.drawing.mark(self.at(distance, speed), "disc" if run == "flown" else "ring")

    def place_said(self, distance: float, speed: float) -> str:
        knot, knot_sign = convert(speed, Kind.GROUND_SPEED, self.units)
        sign = convert(1.0, Kind.RUNWAY_DISTANCE, self.units)[1]
        return f"{self._far(distance)} {sign}, {knot:.0f} {knot_sign}"

    def _far(self, distance: float) -> str:
        """Return a distance as the tables have it, without its unit."""
        return show(distance, Kind.RUNWAY_DISTANCE, self.units, rounding="nearest").number

    def with_room(self, run: str, marks: Sequence[RunMark]) -> list[RunMark]:
        """Return the moments of a run that can be named in one line: first and last before those between."""
        mine = sorted((one for one in marks if one.run == run and one.name != "gate_50"), key=_distance)
        chosen: list[RunMark] = []
        for one in [*mine[:1], *mine[1:][-1:], *mine[1:-1]]:
            more = sorted([*chosen, one], key=_distance)
            wide = text_width(printable(self.moments_said(run, more)), self.drawing.text_size)
            if not chosen or 1.02 * wide + SAMPLE + 8.0 <= self.plot.width:
                chosen = more
        return chosen

    def moments_said(self, run: str, moments: Sequence[RunMark]) -> str:
        """Return where a run's moments are, in the order of distance: ``brakes on 2 460, stop 4 020 ft``."""
        sign = convert(1.0, Kind.RUNWAY_DISTANCE, self.units)[1]
        parts = [f"{one.title} {self._far(one.distance)}" for one in moments]
        return f"{run}: {', '.join(parts)} {sign}"

    def names(self, runs: Sequence[tuple[str, str]], *, at_top: bool = True) -> None:
        """Name the runs in the free room: above the lines, or in the corner below them."""
        size = self.drawing.text_size
        height = LINE_HEIGHT * size
        for row, (name, line) in enumerate(runs):
            below = self.plot.bottom - (len(runs) - row) * height * 1.25 - 4.0
            top = self.plot.top + row * height * 1.25 if at_top else below
            wide = 1.02 * text_width(printable(line), size)
            left = max(self.plot.right - wide, self.plot.left + SAMPLE + 8.0)
            middle = top + height / 2
            self.drawing.path([(left - SAMPLE - 4.0, middle), (left - 4.0, middle)], _role(name))
            self.drawing.text(Box(left, top, wide, height), [line])


def _distance(mark: RunMark) -> float:
    return mark.distance


def _role(run: str) -> str:
    return "go" if run == "planned" else "stop"


def _grouped(value: float) -> str:
    return f"{value:,.0f}".replace(",", "\u202f").replace("-", "\u2212")
