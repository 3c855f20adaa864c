"""An engine failure at every speed: where on the runway, where a stop ends, where going on lifts off.

Everything is read off the plan's curves and put into words here, in the reader's units; the page's script
only chooses the step that is shown.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np

from sortiewright.sortie import Curve, Kind, Plan, System, convert, show

CLOSE = 0.5
"""Metres by which a distance may miss the end and still fit: a solved-for stop ends there exactly."""
ROOM_BEHIND = 0.02
"""Of the runway's length, drawn behind its end where there is no overrun; the cards' drawing has as much."""


@dataclass(frozen=True, slots=True)
class Point:
    """One end of what may happen: its place on the picture in percent, in words, and whether it fits.

    ``at`` is None where it is never reached; at most 100, where ``is_beyond`` says that it lies further on.
    """

    at: float | None
    is_beyond: bool
    distance: str
    left: str
    fits: bool


@dataclass(frozen=True, slots=True)
class FailureStep:
    """An engine failing at one speed."""

    speed: str
    at: float
    """Where on the picture, percent."""
    place: str
    stop: Point | None
    lift_off: Point | None
    screen: Point | None
    covers: str
    """stop, go, both or neither: what fits."""
    way_out: str

    def data(self) -> list[Any]:
        """Return it for the page's script, in the order that it takes apart; short, as there are many."""
        points = [_point_data(point) for point in (self.stop, self.lift_off, self.screen)]
        return [self.speed, round(self.at, 2), self.place, self.way_out, *points]


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of speeds with the same way out, percent of the slider; ``words`` are its ends."""

    covers: str
    start: float
    width: float
    words: str


@dataclass(frozen=True)
class Failure:
    """The slider: its steps from slow to fast, where it begins, and what lies where on its scale."""

    steps: tuple[FailureStep, ...]
    first: int
    bands: tuple[Band, ...]
    ticks: tuple[tuple[float, str], ...]
    signs: tuple[tuple[float, str], ...]
    """Decision, minimum control and so on: percent of the slider, and what it is."""
    end: float
    """Of the runway, percent of the picture."""
    release: float
    unit: str
    decides: str
    """lift_off or screen: what going on is measured to."""
    table: tuple[FailureStep, ...] = field(default=())


def failure_of(plan: Plan, system: System) -> Failure | None:
    """Return the slider of a plan; None where it has no curves."""
    curves = {curve.name: curve for curve in plan.curves}
    run, stop = curves.get("speed_over_distance"), curves.get("stop_distance")
    if run is None or stop is None:
        return None
    go, screen = curves.get("go_distance"), curves.get("go_screen_distance")
    size = 1.0 / convert(1.0, Kind.CAS, system)[0]
    lift_off = _value(plan, "takeoff", "lift_off_speed") or float(stop.x[-1])
    first = math.ceil(float(stop.x[0]) / size + 1e-9)
    last = math.floor(min(lift_off, float(stop.x[-1])) / size + 1e-9)
    if last - first < 2:
        return None
    decision = _value(plan, "engine_failure", "decision_speed")
    speeds = [count * size for count in range(first, last + 1)]
    steps = tuple(_step(plan, system, speed, run, stop, go, screen, decision) for speed in speeds)
    start = steps_before(speeds, decision)
    runway, whole = plan.runway, _whole(plan)
    return Failure(
        steps=steps,
        first=start,
        bands=_bands(steps, system, speeds),
        ticks=_ticks(first, last),
        signs=_signs(plan, speeds),
        end=100.0 * runway.length / whole,
        release=100.0 * runway.start_offset / whole,
        unit=show(0.0, Kind.CAS, system).unit,
        decides=runway.goes_to,
        table=tuple(step for count, step in enumerate(steps, first) if count % 10 == 0),
    )


def steps_before(speeds: list[float], decision: float | None) -> int:
    """Return the step at the decision speed, the middle where there is none."""
    if decision is None:
        return len(speeds) // 2
    return max((n for n in range(len(speeds)) if speeds[n] <= decision + 1e-6), default=0)


def _step(
    plan: Plan,
    system: System,
    speed: float,
    run: Curve,
    stop: Curve,
    go: Curve | None,
    screen: Curve | None,
    decision: float | None,
) -> FailureStep:
    runway = plan.runway
    reached = float(np.interp(speed, run.y, run.x))
    stopped = _point(plan, system, _on(stop, speed), runway.stop_available)
    lifted = None if go is None else _point(plan, system, _on(go, speed), runway.run_available)
    over = None if screen is None else _point(plan, system, _on(screen, speed), runway.screen_available)
    goes = over if runway.goes_to == "screen" else lifted
    stops, continues = stopped.fits, goes is not None and goes.fits
    covers = {(True, True): "both", (True, False): "stop", (False, True): "go", (False, False): "neither"}
    place = show(reached + runway.start_offset, Kind.RUNWAY_DISTANCE, system, rounding="nearest").text
    return FailureStep(
        show(speed, Kind.CAS, system, rounding="nearest").text,
        _percent(plan, reached + runway.start_offset),
        place,
        stopped,
        lifted,
        over,
        covers[stops, continues],
        _way_out(covers[stops, continues], speed, decision, goes is not None, system),
    )


def _way_out(covers: str, speed: float, decision: float | None, can_go: bool, system: System) -> str:
    """Return what a crew does at a speed: as briefed where that fits, else what alone does, if anything."""
    if covers == "neither":
        return "Neither fits" if can_go else "No stop fits"
    if decision is None:
        return "Only a stop fits" if covers == "stop" else "Only going on fits" if covers == "go" else ""
    # The decision speed is shown rounded down: at the speed that is read, the takeoff goes on.
    size = 1.0 / convert(1.0, Kind.CAS, system)[0]
    goes_on = can_go and speed >= math.floor(decision / size + 1e-6) * size - 1e-6
    if covers in ("both", "go" if goes_on else "stop"):
        return f"As briefed: {'go on' if goes_on else 'stop'}"
    return "Only a stop fits" if covers == "stop" else "Only going on fits"


def _point(plan: Plan, system: System, distance: float, room: float) -> Point:
    if not math.isfinite(distance):
        return Point(None, True, "never", "at no distance", False)
    left = room - distance
    fits = left >= -CLOSE
    kind = Kind.RUNWAY_DISTANCE
    if fits:
        words = f"{show(max(left, 0.0), kind, system, rounding='down').text} left"
    else:
        words = f"{show(-left, kind, system, rounding='up').text} too long"
    place = _percent(plan, distance + plan.runway.start_offset)
    return Point(min(place, 100.0), place > 100.0, show(distance, kind, system).text, words, fits)


def _point_data(point: Point | None) -> list[Any] | None:
    if point is None:
        return None
    at = None if point.at is None else round(point.at, 2)
    return [at, int(point.is_beyond), point.distance, point.left, int(point.fits)]


def as_text(failure: Failure) -> str:
    """Return the steps as JSON that may stand in a page as text; what texts end in is listed, as it recurs.

    ``{"endings": [" ft left", ...], "steps": [...]}``, where a text is its beginning and, as a letter from a
    on, which ending follows.
    """
    endings: dict[str, str] = {}

    def short(data: Any) -> Any:
        if isinstance(data, list):
            return [short(one) for one in cast("list[Any]", data)]
        if not isinstance(data, str):
            return data
        cut = max((n for n, sign in enumerate(data, 1) if sign.isdigit()), default=0)
        return data[:cut] + endings.setdefault(data[cut:], chr(ord("a") + len(endings)))

    steps = [short(step.data()) for step in failure.steps]
    text = json.dumps({"endings": list(endings), "steps": steps}, ensure_ascii=False, separators=(",", ":"))
    return text.replace("&", "&amp;").replace("<", "&lt;")


def _whole(plan: Plan) -> float:
    runway = plan.runway
    return runway.length + max(runway.overrun, ROOM_BEHIND * runway.length)


def _percent(plan: Plan, distance: float) -> float:
    return 100.0 * distance / _whole(plan)


def _on(curve: Curve, x: float) -> float:
    """Return a curve's height, ``inf`` where it does not reach."""
    if not float(curve.x[0]) - 1e-6 <= x <= float(curve.x[-1]) + 1e-6:
        return math.inf
    return float(np.interp(x, curve.x, curve.y))


def _bands(steps: tuple[FailureStep, ...], system: System, speeds: list[float]) -> tuple[Band, ...]:
    """Return stretches of steps with the same way out; each reaches halfway to the next."""
    last = len(steps) - 1
    edges = [n for n in range(1, len(steps)) if steps[n].covers != steps[n - 1].covers]
    found: list[Band] = []
    for start, end in zip([0, *edges], [*edges, len(steps)], strict=True):
        left = 0.0 if start == 0 else (start - 0.5) / last
        right = 1.0 if end == len(steps) else (end - 0.5) / last
        low = show(speeds[start], Kind.CAS, system, rounding="nearest").number
        words = f"{low} to {show(speeds[end - 1], Kind.CAS, system, rounding='nearest').text}"
        found.append(Band(steps[start].covers, 100.0 * left, 100.0 * (right - left), words))
    return tuple(found)


def _ticks(first: int, last: int) -> tuple[tuple[float, str], ...]:
    step = 20 if last - first > 60 else 10
    counts = range(math.ceil(first / step) * step, last + 1, step)
    return tuple((100.0 * (count - first) / (last - first), str(count)) for count in counts)


def _signs(plan: Plan, speeds: list[float]) -> tuple[tuple[float, str], ...]:
    found: list[tuple[float, str]] = []
    for name, title in (
        ("decision_speed", "Decision"),
        ("critical_engine_failure_speed", "Critical"),
        ("minimum_control_ground_speed", "Control"),
    ):
        value = _value(plan, "engine_failure", name)
        if value is not None and speeds[0] <= value <= speeds[-1]:
            found.append((100.0 * (value - speeds[0]) / (speeds[-1] - speeds[0]), title))
    return tuple(found)


def _value(plan: Plan, section: str, name: str) -> float | None:
    try:
        value = plan.figure(section, name).value
    except KeyError:
        return None
    return value if value is not None and math.isfinite(value) else None
