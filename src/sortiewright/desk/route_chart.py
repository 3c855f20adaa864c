"""The route on a plain chart: points, legs, the track as flown, a grid of degrees, and a scale.

Plate carree about the middle of the points: east is scaled by the cosine of the middle latitude, so that a
route of a few hundred miles keeps its shape.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from sortiewright.sortie import FlownRoute

WIDTH, MOST_HEIGHT, MARGIN = 640.0, 560.0, 64.0
LEAST_EXTENT, EXTENT_OF_ONE = 0.2, 1.5  # degrees, of several points and about a single one
GRID_STEPS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0)
SCALES_NMI = (1, 2, 5, 10, 20, 50, 100, 200, 500)
MOST_TRACK_POINTS = 400
Placed = Callable[[float, float], tuple[float, float]]
"""Puts latitude and longitude, degrees, on the chart."""


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A point as drawn, and where its name stands; ``anchor`` is SVG's text-anchor."""

    name: str
    x: float
    y: float
    label_x: float
    label_y: float
    anchor: str
    is_home: bool
    numbers: str
    is_chosen: bool = False


@dataclass(frozen=True, slots=True)
class GridLine:
    """A line of the grid with its label."""

    x1: float
    y1: float
    x2: float
    y2: float
    label: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything that is drawn, in the units of ``width`` and ``height``.

    ``north`` and ``west`` are degrees at the upper left corner, ``latitude_step`` and ``longitude_step``
    degrees a unit down and to the right: with them a script finds the place under a pointer.
    """

    width: float
    height: float
    points: tuple[ChartPoint, ...]
    legs: str
    track: str
    grid: tuple[GridLine, ...]
    scale_length: float
    scale_text: str
    north: float
    west: float
    latitude_step: float
    longitude_step: float
    chosen_leg: str = ""
    pin: tuple[float, float] | None = None


def chart_of(
    places: Mapping[str, tuple[float, float]],
    order: Sequence[str],
    home: str,
    flown: FlownRoute | None = None,
    *,
    chosen_leg: int = -1,
    chosen_point: str = "",
    pin: tuple[float, float] | None = None,
) -> Chart | None:
    """Return the chart of points by name (latitude, longitude, degrees) with legs in ``order`` from home.

    None where there is no point to draw. Nothing is drawn across the date line. ``pin`` is one more place,
    marked where it lies on the chart; it does not make the chart larger.
    """
    if not places:
        return None
    least = LEAST_EXTENT if len(places) > 1 else EXTENT_OF_ONE
    south, north = _extent([one[0] for one in places.values()], least)
    middle = (south + north) / 2
    narrow = max(math.cos(math.radians(middle)), 0.05)
    west, east = _extent([one[1] for one in places.values()], least / narrow)
    wide, high = (east - west) * narrow, north - south
    size = min((WIDTH - 2 * MARGIN) / wide, (MOST_HEIGHT - 2 * MARGIN) / high)
    height = high * size + 2 * MARGIN
    left = (WIDTH - wide * size) / 2

    def placed(latitude: float, longitude: float) -> tuple[float, float]:
        x = left + (longitude - west) * narrow * size
        return round(x, 1), round(MARGIN + (north - latitude) * size, 1)

    line = [placed(*places[name]) for name in (home, *order) if name in places]
    spots = {name: placed(*place) for name, place in places.items()}
    scale = max((one for one in SCALES_NMI if one / 60 * size <= WIDTH / 4), default=SCALES_NMI[0])
    ends = (home, *order)[chosen_leg : chosen_leg + 2] if chosen_leg >= 0 else ()
    pinned = None if pin is None else placed(*pin)
    inside = pinned is not None and 0 < pinned[0] < WIDTH and 0 < pinned[1] < height
    return Chart(
        WIDTH,
        round(height, 1),
        tuple(_named(spots, order, home, height, chosen_point)),
        _path(line),
        _track(flown, placed, height),
        tuple(_grid((south, north), (west, east), placed, height)),
        round(scale / 60 * size, 1),
        f"{scale} nmi",
        round(north + MARGIN / size, 6),
        round(west - left / (narrow * size), 6),
        1 / size,
        1 / (narrow * size),
        _path([placed(*places[name]) for name in ends if name in places]),
        pinned if inside else None,
    )


def _extent(values: Sequence[float], least: float) -> tuple[float, float]:
    low, high = min(values), max(values)
    more = max(least - (high - low), 0.0) / 2
    return low - more, high + more


Box = tuple[float, float, float, float]


def _named(
    spots: Mapping[str, tuple[float, float]], order: Sequence[str], home: str, height: float, chosen: str
) -> list[ChartPoint]:
    """Return the points with their names beside them, each on the first side where it covers least."""
    legs = [spots[name] for name in (home, *order) if name in spots]
    on_line = [
        (x1 + (x2 - x1) * step / 24, y1 + (y2 - y1) * step / 24)
        for (x1, y1), (x2, y2) in itertools.pairwise(legs)
        for step in range(25)
    ]
    taken: list[Box] = [(x - 11, y - 11, x + 11, y + 11) for x, y in spots.values()]
    found: list[ChartPoint] = []
    for name, (x, y) in spots.items():
        numbers = ", ".join(str(index + 1) for index, one in enumerate(order) if one == name)
        width = 11.0 * len(name) + 9.0 * len(numbers) + 6.0
        sides = (
            (x + 15, y + 6, "start", x + 14),
            (x - 15, y + 6, "end", x - 14 - width),
            (x, y - 16, "middle", x - width / 2),
            (x, y + 28, "middle", x - width / 2),
        )
        boxes = [(left, at - 15, left + width, at + 4) for _, at, _, left in sides]
        free = [
            (sum(box[0] < x < box[2] and box[1] < y < box[3] for x, y in on_line), index)
            for index, box in enumerate(boxes)
            if box[0] > 0 and box[2] < WIDTH and box[1] > 0 and box[3] < height - 34
            if not any(_overlap(box, other) for other in taken if other is not taken[len(found)])
        ]
        _, best = min(free, default=(0, 0))
        taken.append(boxes[best])
        label_x, label_y, anchor, _ = sides[best]
        found.append(ChartPoint(name, x, y, label_x, label_y, anchor, name == home, numbers, name == chosen))
    return found


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _path(line: Sequence[tuple[float, float]]) -> str:
    return "" if len(line) < 2 else "M" + "L".join(f"{x:g} {y:g}" for x, y in line)


def _track(flown: FlownRoute | None, placed: Placed, height: float) -> str:
    if flown is None:
        return ""
    step = max(len(flown.track_latitude_deg) // MOST_TRACK_POINTS, 1)
    line: list[tuple[float, float]] = []
    for latitude, longitude in zip(
        flown.track_latitude_deg[::step], flown.track_longitude_deg[::step], strict=True
    ):
        x, y = placed(float(latitude), float(longitude))
        if math.isfinite(x) and math.isfinite(y) and -WIDTH < x < 2 * WIDTH and -height < y < 2 * height:
            line.append((x, y))
    return _path(line)


def _grid(
    latitudes: Sequence[float], longitudes: Sequence[float], placed: Placed, height: float
) -> list[GridLine]:
    found: list[GridLine] = []
    extent = max(max(latitudes) - min(latitudes), max(longitudes) - min(longitudes), 0.1)
    step = next((one for one in GRID_STEPS if extent / one <= 7), GRID_STEPS[-1])
    for number in range(math.floor(min(latitudes) / step), math.ceil(max(latitudes) / step) + 1):
        y = placed(number * step, longitudes[0])[1]
        if 14 < y < height - 14:
            found.append(GridLine(0, y, WIDTH, y, _degrees(number * step, "N", "S")))
    for number in range(math.floor(min(longitudes) / step), math.ceil(max(longitudes) / step) + 1):
        x = placed(latitudes[0], number * step)[0]
        if 40 < x < WIDTH - 40:
            found.append(GridLine(x, 0, x, height, _degrees(number * step, "E", "W")))
    return found


def _degrees(value: float, positive: str, negative: str) -> str:
    side = positive if value >= 0 else negative
    whole, minutes = divmod(round(abs(value) * 60), 60)
    return f"{whole}°{minutes:02d}′{side}"
