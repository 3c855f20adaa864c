"""The report's still pictures as SVG: speed over distance, and the ground track on the runway."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sortiewright.recording.debrief_record import FlightDebrief
from sortiewright.recording.debrief_runway import RunwayLine
from sortiewright.recording.moments import Event
from sortiewright.recording.recording import Floats, Recording
from sortiewright.recording.report_markup import Markup, element
from sortiewright.recording.report_words import event_title, value_shown
from sortiewright.sortie import Kind, convert

if TYPE_CHECKING:
    from sortiewright.recording.comparison_takeoff import TakeoffComparison

WIDTH, HEIGHT = 960.0, 420.0
LEFT, RIGHT, TOP, BOTTOM = 56.0, 24.0, 26.0, 48.0
NEAR, BESIDE = 1000.0, 200.0  # m before or past a runway, and beside it, that still belong to its picture
LONGEST = 5000.0  # m, of a runway whose length is not known
MOST_POINTS = 500  # of a track: finer than a pen

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


def speed_over_distance_picture(takeoff: TakeoffComparison) -> Markup:
    """Return the run as planned and as flown, from brake release to 50 ft."""
    curves = takeoff.curves
    by_airspeed = bool(np.isfinite(curves.flown_cas).any())
    planned = curves.planned_cas if by_airspeed else curves.planned_ground_speed
    flown = curves.flown_cas if by_airspeed else curves.flown_ground_speed
    foot, knot = 1.0 / _size(Kind.RUNWAY_DISTANCE), 1.0 / _size(Kind.CAS)
    x = curves.distance / foot
    frame = Frame(
        (0.0, float(x[-1]) * 1.02), (0.0, float(np.nanmax(np.concatenate([planned, flown]))) / knot * 1.18)
    )
    axis = "airspeed, kt calibrated" if by_airspeed else "ground speed, kt"
    parts = [*_axes(frame, "from brake release, ft", axis)]
    for name, values in (("planned", planned / knot), ("flown", flown / knot)):
        good = np.isfinite(values)
        parts.append(
            _line([frame.at(a, b) for a, b in zip(x[good], values[good], strict=True)], f"run {name}")
        )
    parts += _run_marks(takeoff, frame, planned / knot, flown / knot, x)
    run = takeoff.value("ground_run")
    said = (
        f"Speed over distance from brake release. Ground run planned {value_shown(run.planned, run.kind)}, "
        f"flown {value_shown(run.flown, run.kind)}. The values stand in the table below."
    )
    return _picture(parts, said, HEIGHT)


def _run_marks(
    takeoff: TakeoffComparison, frame: Frame, planned: Floats, flown: Floats, x: Floats
) -> Iterable[Markup]:
    """Yield lift-off and 50 ft on both runs, named; planned above its line, flown below."""
    foot = 1.0 / _size(Kind.RUNWAY_DISTANCE)
    for row, (quantity, title) in enumerate((("ground_run", "lift-off"), ("distance_to_screen", "50 ft"))):
        one = takeoff.value(quantity)
        for values, distance, style in ((planned, one.planned, "planned"), (flown, one.flown, "flown")):
            good = np.isfinite(values)
            if distance is None or not math.isfinite(distance) or not good.any():
                continue
            speed = float(np.interp(distance / foot, x[good], values[good]))
            across, down = frame.at(distance / foot, speed)
            yield element("circle", cx=across, cy=down, r=5.0, class_=f"mark {style}")
            said = f"{title} {style}", f"{value_shown(distance, one.kind)}, {speed:.0f} kt"
            yield from _label(across, down, said, style, row)


def _label(across: float, down: float, lines: tuple[str, str], style: str, row: int) -> Iterable[Markup]:
    """Yield two lines beside a mark: the planned run's at its upper left, the flown one's hung below it."""
    if style == "planned":
        x, y, anchor = across - 10.0, down - 24.0, "end"
    else:
        y, is_right = down + 44.0 + 46.0 * row, across > WIDTH - 170.0
        x, anchor = (across - 6.0, "end") if is_right else (across + 6.0, "start")
        yield element("line", x1=across, x2=across, y1=down, y2=y + 15.0, class_="lead")
    spans = [element("tspan", text, x=x, y=y + 15.0 * at) for at, text in enumerate(lines)]
    yield element("text", spans, class_=f"label {style}", text_anchor=anchor)


def track_picture(recording: Recording, one: FlightDebrief, line: RunwayLine) -> Markup | None:
    """Return the track on the runway seen from above, across it drawn larger; None where none is recorded."""
    spans = _spans(one)
    if not spans:
        return None
    foot = 1.0 / _size(Kind.RUNWAY_DISTANCE)
    tracks = [(style, _track(recording, line, begin, end, foot)) for style, begin, end in spans]
    here = [(style, points) for style, points in tracks if _is_on(line, points, foot)]
    elsewhere = len(here) < len(tracks)
    tracks = here
    if not tracks:
        return None
    every_x = np.concatenate([points[0] for _, points in tracks])
    every_y = np.concatenate([points[1] for _, points in tracks])
    length = None if line.length is None else line.length / foot
    half_width = None if line.width is None else 0.5 * line.width / foot
    far = max(float(every_x.max()), length or 0.0)
    near = min(float(every_x.min()), 0.0)
    beside = max(1.15 * float(np.abs(every_y).max()), 1.6 * (half_width or 0.0), 20.0)
    height = 300.0
    frame = Frame((near - 0.01 * (far - near), far + 0.02 * (far - near)), (-beside, beside), height)
    parts: list[Markup] = []
    if length is not None:
        parts += _pavement(frame, length, half_width or beside / 1.3)
    parts += _axes(frame, "along the runway, ft", "left and right of the centre line, ft", upward=False)
    for style, (x, y) in tracks:
        parts.append(_line([frame.at(a, b) for a, b in zip(x, -y, strict=True)], f"track {style}"))
    parts += _track_events(recording, one, line, frame, foot)
    across_scale = (height - TOP - BOTTOM) / (2 * beside)
    along_scale = (WIDTH - LEFT - RIGHT) / (frame.x[1] - frame.x[0])
    said = (
        f"Ground track on {f'runway {line.designator}' if line.designator else 'the runway used'}, "
        f"seen from above. Across the runway it is drawn "
        f"{across_scale / along_scale:.0f} times larger than along it. Farthest from the centre line: "
        f"{float(np.abs(every_y).max()):.0f} ft."
        f"{' What was flown elsewhere is not drawn.' if elsewhere else ''}"
    )
    return _picture(parts, said, height)


def _spans(one: FlightDebrief) -> list[tuple[str, float, float]]:
    """Return the times on the runway: takeoff or rejected takeoff, and landing."""
    flight, spans = one.flight, list[tuple[str, float, float]]()
    for phase in flight.phases:
        if phase.name in ("takeoff_roll", "rotation", "rejected_takeoff"):
            spans.append(("takeoff", phase.begins, phase.ends))
        elif phase.name in ("touchdown", "landing_roll", "chute"):
            spans.append(("landing", phase.begins, phase.ends))
    return spans


def _track(
    recording: Recording, line: RunwayLine, begin: float, end: float, foot: float
) -> tuple[Floats, Floats]:
    rows = np.flatnonzero((recording.time >= begin) & (recording.time <= end))
    rows = rows[np.isfinite(line.along.distance[rows])]
    rows = rows[:: max(1, len(rows) // MOST_POINTS)]
    return line.along.distance[rows] / foot, line.along.offset[rows] / foot


def _is_on(line: RunwayLine, points: tuple[Floats, Floats], foot: float) -> bool:
    """Return whether a track is on or beside the runway: a landing may have been made elsewhere."""
    along, off = points
    if len(along) < 2:
        return False
    far = (line.length or LONGEST) / foot + NEAR / foot
    return bool((np.abs(off) < BESIDE / foot).all() and (along > -NEAR / foot).all() and (along < far).all())


def _pavement(frame: Frame, length: float, half_width: float) -> list[Markup]:
    left, top = frame.at(0.0, half_width)
    right, bottom = frame.at(length, -half_width)
    middle = frame.at(0.0, 0.0)[1]
    return [
        element("rect", x=left, y=top, width=right - left, height=bottom - top, class_="pavement"),
        element("line", x1=left, x2=right, y1=middle, y2=middle, class_="centre"),
    ]


_ON_RUNWAY = (
    "brake_release",
    "rotation_begins",
    "lift_off",
    "levers_closed",
    "touchdown",
    "brakes_on",
    "stopped",
)


def _track_events(
    recording: Recording, one: FlightDebrief, line: RunwayLine, frame: Frame, foot: float
) -> Iterable[Markup]:
    good = np.isfinite(line.along.distance)
    time = recording.time[good]
    last: list[float] = [-1e9, -1e9]
    events: list[Event] = [event for event in one.flight.events if event.name in _ON_RUNWAY]
    for event in events:
        along = float(np.interp(event.time, time, line.along.distance[good])) / foot
        off = float(np.interp(event.time, time, line.along.offset[good])) / foot
        if not (frame.x[0] <= along <= frame.x[1] and abs(off) <= frame.y[1]):
            continue
        x, y = frame.at(along, -off)
        yield element("circle", cx=x, cy=y, r=4.5, class_="mark flown")
        row = min(range(2), key=lambda at: last[at] > x - 110.0)
        if last[row] > x - 110.0:
            continue
        last[row] = x
        yield element("line", x1=x, x2=x, y1=y, y2=TOP + 4 + 16 * row, class_="lead")
        yield element("text", event_title(event.name), x=x + 3, y=TOP + 12 + 16 * row, class_="label flown")


def _axes(frame: Frame, across: str, up: str, *, upward: bool = True) -> Iterable[Markup]:
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


def _line(points: Sequence[Point], style: str) -> Markup:
    text = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return element("polyline", points=text, class_=style)


def _picture(parts: Iterable[Markup], said: str, height: float) -> Markup:
    return element(
        "figure",
        element(
            "svg", parts, viewBox=f"0 0 {WIDTH:g} {height:g}", role="img", aria_label=said, class_="picture"
        ),
        element("figcaption", said),
    )


def _size(kind: Kind) -> float:
    """Return how many of the shown unit an SI unit has."""
    return convert(1.0, kind)[0]
