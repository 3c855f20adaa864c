"""The report's pictures of speed over distance as SVG: takeoff, rejected takeoff, landing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sortiewright.recording.comparison_values import LAID, SCREEN, THRESHOLD
from sortiewright.recording.recording import Floats
from sortiewright.recording.report_markup import Markup, element
from sortiewright.recording.report_plot import (
    BOTTOM,
    HEIGHT,
    LEFT,
    TOP,
    WIDTH,
    Frame,
    axes,
    figure,
    line,
    unit_size,
)
from sortiewright.recording.report_words import value_shown
from sortiewright.sortie import Kind, System

if TYPE_CHECKING:
    from sortiewright.recording.comparison_landing import LandingComparison
    from sortiewright.recording.comparison_rejected import RejectedComparison
    from sortiewright.recording.comparison_takeoff import TakeoffComparison
    from sortiewright.recording.comparison_values import RunMark, SpeedOverDistance

SIGN_WIDTH = 7.5  # of a character of a label, generously
LANE = 35.0  # from one row of labels to the next
HEADROOM = 1.34  # of the highest speed: room for two rows of labels above it
ASIDE = 1.19  # of the distance: room for the labels of the stops


def speed_over_distance_picture(takeoff: TakeoffComparison, units: System) -> Markup:
    """Return the run as planned and as flown, from brake release to 50 ft."""
    curves = takeoff.curves
    by_airspeed = bool(np.isfinite(curves.flown_cas).any())
    planned = curves.planned_cas if by_airspeed else curves.planned_ground_speed
    flown = curves.flown_cas if by_airspeed else curves.flown_ground_speed
    metre, far_sign = unit_size(Kind.RUNWAY_DISTANCE, units)
    knot, fast_sign = unit_size(Kind.CAS, units)
    x = curves.distance / metre
    frame = Frame(
        (0.0, float(x[-1]) * 1.02), (0.0, float(np.nanmax(np.concatenate([planned, flown]))) / knot * 1.18)
    )
    axis = f"airspeed, {fast_sign} calibrated" if by_airspeed else f"ground speed, {fast_sign}"
    parts = [*axes(frame, f"from brake release, {far_sign}", axis)]
    parts += _runs(frame, x, planned / knot, flown / knot)
    for row, (quantity, title) in enumerate((("ground_run", "lift-off"), ("distance_to_screen", "50 ft"))):
        one = takeoff.value(quantity)
        for values, distance, style in ((planned, one.planned, "planned"), (flown, one.flown, "flown")):
            good = np.isfinite(values)
            if distance is None or not math.isfinite(distance) or not good.any():
                continue
            speed = float(np.interp(distance, curves.distance[good], values[good]))
            across, down = frame.at(distance / metre, speed / knot)
            numbers = f"{value_shown(distance, one.kind, units=units)}, {speed / knot:.0f} {fast_sign}"
            parts.append(element("circle", cx=across, cy=down, r=5.0, class_=f"mark {style}"))
            parts += _beside(across, down, (f"{title} {style}", numbers), style, row)
    run = takeoff.value("ground_run")
    said = (
        "Speed over distance from brake release. Ground run planned "
        f"{value_shown(run.planned, run.kind, units=units)}, "
        f"flown {value_shown(run.flown, run.kind, units=units)}. The values stand in the table below."
    )
    return figure(parts, said, HEIGHT)


def _beside(across: float, down: float, lines: tuple[str, str], style: str, row: int) -> Iterator[Markup]:
    """Yield two lines beside a mark: the planned run's at its upper left, the flown one's hung below it."""
    if style == "planned":
        x, y, anchor = across - 10.0, down - 24.0, "end"
    else:
        y, is_right = down + 44.0 + 46.0 * row, across > WIDTH - 170.0
        x, anchor = (across - 6.0, "end") if is_right else (across + 6.0, "start")
        yield element("line", x1=across, x2=across, y1=down, y2=y + 15.0, class_="lead")
    yield _text(x, y, lines, style, anchor)


def _text(x: float, y: float, lines: Sequence[str], style: str, anchor: str) -> Markup:
    spans = [element("tspan", text, x=x, y=y + 15.0 * at) for at, text in enumerate(lines)]
    return element("text", spans, class_=f"label {style}", text_anchor=anchor)


def _runs(frame: Frame, x: Floats, planned: Floats, flown: Floats) -> Iterator[Markup]:
    for name, values in (("planned", planned), ("flown", flown)):
        good = np.isfinite(values)
        points = [frame.at(a, b) for a, b in zip(x[good], values[good], strict=True)]
        yield line(points, f"run {name}")


def rejected_picture(rejected: RejectedComparison, units: System) -> Markup:
    """Return the run to where the levers closed and the stop from there, planned and flown."""
    whole = rejected.value("accelerate_stop_distance")
    said = (
        "Speed over distance from brake release to the stop. Stop planned from the speed at which the levers "
        f"closed: {value_shown(whole.planned, whole.kind, units=units)} from brake release, flown "
        f"{value_shown(whole.flown, whole.kind, units=units)}. The values stand in the table below."
    )
    return _roll_picture(rejected.curves, rejected.marks, "from brake release", said, units)


def landing_picture_of(landing: LandingComparison, units: System) -> Markup | None:
    """Return the landing from 50 ft to the stop, planned and flown; None where it has a gap."""
    picture = landing.picture
    if picture is None:
        return None
    roll = landing.value("landing_distance")
    where = {
        THRESHOLD: "from the threshold",
        SCREEN: "from 50 ft of height",
        LAID: "from 50 ft of height as planned",
    }[picture.origin]
    laid = " Height is not recorded: both touchdowns are laid on one place." if picture.origin == LAID else ""
    said = (
        f"Speed over distance of the landing, {where}. From 50 ft to the end of the roll planned "
        f"{value_shown(roll.planned, roll.kind, units=units)}, "
        f"flown {value_shown(roll.flown, roll.kind, units=units)}.{laid} "
        "The values stand in the table below."
    )
    return _roll_picture(
        picture.curves, picture.marks, where, said, units, threshold=picture.origin == THRESHOLD
    )


def _roll_picture(
    curves: SpeedOverDistance,
    marks: Sequence[RunMark],
    where: str,
    said: str,
    units: System,
    *,
    threshold: bool = False,
) -> Markup:
    """Return both runs over ground speed, every moment on them named."""
    metre, far_sign = unit_size(Kind.RUNWAY_DISTANCE, units)
    knot, fast_sign = unit_size(Kind.GROUND_SPEED, units)
    x = curves.distance / metre
    planned, flown = curves.planned_ground_speed / knot, curves.flown_ground_speed / knot
    fast = float(np.nanmax(np.concatenate([planned, flown])))
    least, most = float(x[0]), float(x[-1])
    frame = Frame((least, least + ASIDE * (most - least)), (0.0, HEADROOM * fast))
    parts = [*axes(frame, f"{where}, {far_sign}", f"ground speed, {fast_sign}")]
    if threshold:
        across = frame.at(0.0, 0.0)[0]
        parts.append(element("line", x1=across, x2=across, y1=TOP, y2=HEIGHT - BOTTOM, class_="threshold"))
    parts += _runs(frame, x, planned, flown)
    placed = [
        _Placed(
            one.run,
            *frame.at(one.distance / metre, one.speed / knot),
            (
                f"{one.title} {one.run}",
                f"{value_shown(one.distance, Kind.RUNWAY_DISTANCE, units=units)}, "
                f"{one.speed / knot:.0f} {fast_sign}",
            ),
            is_stop=one.name == "stop",
        )
        for one in marks
    ]
    parts += _labels_above([one for one in placed if one.style == "flown" or one.is_stop])
    below = [one for one in placed if one.style == "planned" and not one.is_stop]
    named = frame.at(0.0, 0.0)[0] if threshold else None
    parts += _labels_below(below, named)
    parts += [element("circle", cx=one.x, cy=one.y, r=5.0, class_=f"mark {one.style}") for one in placed]
    return figure(parts, said, HEIGHT)


@dataclass(frozen=True)
class _Placed:
    """A mark in the picture, with what stands beside it."""

    style: str
    x: float
    y: float
    lines: tuple[str, str]
    is_stop: bool

    @property
    def width(self) -> float:
        return SIGN_WIDTH * max(len(text) for text in self.lines)


def _labels_above(marks: Iterable[_Placed]) -> Iterator[Markup]:
    """Yield labels hung from the top, each to the right of a line that rises from its mark.

    A speed falls from left to right: above and to the right of a mark there is room. A label that would
    overlap one to its left stands a row lower, so that no line crosses a label.
    """
    taken: list[tuple[float, float, int]] = []
    for one in sorted(marks, key=lambda each: each.x):
        lane = _free_lane(taken, one.x - 6.0, one.x + 5.0 + one.width)
        top = TOP + 14.0 + LANE * lane
        yield element("line", x1=one.x, x2=one.x, y1=one.y, y2=top - 10.0, class_="lead")
        yield _text(one.x + 5.0, top, one.lines, one.style, "start")


def _labels_below(marks: Iterable[_Placed], threshold: float | None) -> Iterator[Markup]:
    """Yield labels standing over the axis, each to the left of a line that falls from its mark.

    ``threshold`` is where the word for it stands, lowest of all; None: nowhere.
    """
    taken: list[tuple[float, float, int]] = []
    if threshold is not None:
        word = "threshold"
        yield _text(threshold + 5.0, HEIGHT - BOTTOM - 8.0, (word,), "planned", "start")
        taken.append((threshold, threshold + 8.0 + SIGN_WIDTH * len(word), 0))
    for one in sorted(marks, key=lambda each: -each.x):
        x = max(one.x - 5.0, LEFT + 4.0 + one.width)
        lane = _free_lane(taken, x - one.width, max(one.x + 6.0, x))
        bottom = HEIGHT - BOTTOM - 12.0 - LANE * lane
        yield element("line", x1=one.x, x2=one.x, y1=one.y, y2=bottom + 4.0, class_="lead")
        yield _text(x, bottom - 15.0, one.lines, one.style, "end")


def _free_lane(taken: list[tuple[float, float, int]], begin: float, end: float) -> int:
    """Return the row beyond all that a stretch of the picture has, and take it."""
    lane = 1 + max((row for low, high, row in taken if low < end and begin < high), default=-1)
    taken.append((begin, end, lane))
    return lane
