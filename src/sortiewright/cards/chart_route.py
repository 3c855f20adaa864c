"""The route on a plain chart: north up, to scale, with the heights along it underneath."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.cards.axes import BELOW
from sortiewright.cards.chart_frame import TEXT_SIZE, WIDTH, Chart
from sortiewright.cards.chart_profile import profile_chart
from sortiewright.cards.chart_stack import stacked
from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box, Point
from sortiewright.sortie import FlownRoute, Kind, PlacedPoint, RouteRow, System, clock, convert, show

Floats = NDArray[np.float64]

EARTH_RADIUS = 6_371_009.0  # m, mean (IUGG 1980, R1): only where a chart puts what is computed elsewhere
LEAST_ASPECT, MOST_ASPECT = 0.5, 0.95
GAP = 8.0
MARGIN = 0.12
"""Room round the route, of its extent."""
LEAST_EXTENT = 10_000.0  # m
GRATICULE = tuple(minutes / 60.0 for minutes in (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200))
MOST_LINES = 6
GRATICULE_POINTS = 61
SHORTEST_LEG = 1.5
"""A leg shorter than so many times its course and distance stays without them."""
NARROW = 340.0
"""Points, of a chart with room for the names of its points alone."""
BAR_LENGTHS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)


@dataclass(frozen=True, slots=True)
class Projection:
    """Degrees to metres right and up of a middle: azimuthal equidistant, north up in the middle.

    Distance and direction from the middle are true; the scale elsewhere is off by less than 0.1 % within
    250 nmi, and by what the earth differs from a sphere, 0.4 %. Snyder, Map Projections: A Working Manual,
    USGS Professional Paper 1395 (1987), equations 22-4, 22-5 and 25-2 (from memory).
    """

    latitude_deg: float
    longitude_deg: float

    def at(self, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> tuple[Floats, Floats]:
        """Return metres right and up of places in degrees."""
        middle, latitude = math.radians(self.latitude_deg), np.radians(latitude_deg)
        turned = np.radians(np.subtract(longitude_deg, self.longitude_deg))
        level = np.cos(latitude)
        right = level * np.sin(turned)
        up = math.cos(middle) * np.sin(latitude) - math.sin(middle) * level * np.cos(turned)
        away = math.sin(middle) * np.sin(latitude) + math.cos(middle) * level * np.cos(turned)
        short = np.hypot(right, up)
        angle = np.arctan2(short, away)
        stretch = EARTH_RADIUS * np.where(short > 1e-12, angle / np.where(short > 1e-12, short, 1.0), 1.0)
        return stretch * right, stretch * up


def route_chart(
    flown: FlownRoute,
    *,
    system: System = "trade",
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    highest: float | None = None,
    times: bool = True,
) -> tuple[Drawing, str]:
    """Return the chart with the profile under it, and in words what it shows.

    ``width`` is in points; so is ``highest``, the height it must not pass. ``times`` puts time and fuel
    beside each point where the chart is wide enough.
    """
    profile, _ = profile_chart(flown, system=system, width=width, text_size=text_size)
    most = MOST_ASPECT
    if highest is not None:
        most = max(LEAST_ASPECT, min(most, (highest - profile.height - GAP) / width))
    plan, told = plan_view(
        flown, system=system, width=width, text_size=text_size, most_aspect=most, times=times
    )
    return stacked("route chart", [plan, profile], gap=GAP), told


def plan_view(
    flown: FlownRoute,
    *,
    system: System = "trade",
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    most_aspect: float = MOST_ASPECT,
    times: bool = True,
) -> tuple[Drawing, str]:
    """Return the route seen from above, north up, and in words what it shows."""
    latitude, longitude = _places(flown)
    projection = Projection(0.5 * float(latitude.min() + latitude.max()), _middle(longitude))
    right, up = projection.at(latitude, longitude)
    ways = [_room(right), _room(up)]
    aspect = min(max((ways[1][1] - ways[1][0]) / (ways[0][1] - ways[0][0]), LEAST_ASPECT), most_aspect)
    chart = Chart("route plan", width, text_size, "00°00'W", aspect=aspect)
    _fit(chart, ways)
    _graticule(chart, projection)
    count = len(flown.points)
    if len(right) > count:
        chart.line(right[count:].tolist(), up[count:].tolist(), "curve")
    else:
        chart.line(right.tolist(), up.tolist(), "curve_dashed")
    _furniture(chart, system)
    words = _points(chart, flown, projection, system, times)
    homeless = chart.set_labels()
    _courses(chart, flown, projection, system)
    _frame(chart)
    told = f"Route, north up: {words}."
    return chart.drawing, told + (f" Without room: {'; '.join(homeless)}." if homeless else "")


def _places(flown: FlownRoute) -> tuple[Floats, Floats]:
    points = [(point.latitude_deg, point.longitude_deg) for point in flown.points]
    latitude = np.array([one for one, _ in points] + flown.track_latitude_deg.tolist())
    longitude = np.array([one for _, one in points] + flown.track_longitude_deg.tolist())
    return latitude, longitude


def _middle(longitude: Floats) -> float:
    """Return the middle of the longitudes, also across the 180th meridian."""
    turned = (longitude - longitude[0] + 180.0) % 360.0 - 180.0
    return float(longitude[0] + 0.5 * (turned.min() + turned.max()))


def _room(values: Floats) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    spread = max(high - low, LEAST_EXTENT)
    centre = 0.5 * (low + high)
    half = (0.5 + MARGIN) * spread
    return centre - half, centre + half


def _fit(chart: Chart, ways: Sequence[tuple[float, float]]) -> None:
    """Set the scale so that a metre is as long across as up."""
    (west, east), (south, north) = ways
    size = min(chart.plot.width / (east - west), chart.plot.height / (north - south))
    wide, high = 0.5 * chart.plot.width / size, 0.5 * chart.plot.height / size
    across, up = 0.5 * (west + east), 0.5 * (south + north)
    chart.set_scale((across - wide, across + wide), (up - high, up + high))


def _graticule(chart: Chart, projection: Projection) -> None:
    """Draw parallels and meridians at round minutes, named where they meet the left and lower edge."""
    plot, scale, line = chart.plot, chart.scale, LINE_HEIGHT * chart.drawing.text_size
    per_degree = math.radians(1.0) * EARTH_RADIUS
    south, north = (projection.latitude_deg + end / per_degree for end in scale.y)
    shrink = max(math.cos(math.radians(max(abs(south), abs(north)))), 0.05)
    west, east = (projection.longitude_deg + end / per_degree / shrink for end in scale.x)
    # Both curve, so that a corner may lie beyond what the middle of an edge shows.
    along = np.linspace(-0.15, 1.15, GRATICULE_POINTS)
    for value in _round_degrees(south, north):
        part = _inside(chart, *projection.at(np.full(len(along), value), west + (east - west) * along))
        if len(part) < 2:
            continue
        chart.drawing.path(part, "grid")
        y = part[0][1]
        if part[0][0] <= plot.left + 1.0 and plot.top - 2.0 <= y - line / 2 <= plot.bottom + 4.0 - line:
            box = Box(0.0, y - line / 2, plot.left - 4.0, line)
            chart.drawing.text(box, [degrees_text(value, "NS")], role="second", align="right")
    for value in _round_degrees(west, east):
        part = _inside(chart, *projection.at(south + (north - south) * along, np.full(len(along), value)))
        if len(part) < 2:
            continue
        chart.drawing.path(part, "grid")
        text, x = degrees_text((value + 180.0) % 360.0 - 180.0, "EW"), part[0][0]
        width = chart.drawing.label(text, [text], (0.0, 0.0)).width
        is_low = part[0][1] >= plot.bottom - 1.0
        if is_low and x - width / 2 >= plot.left and x + width / 2 <= chart.drawing.width:
            box = Box(x - width / 2, plot.bottom + BELOW - 2.0, width, line)
            chart.drawing.text(box, [text], role="second", align="center")


def _inside(chart: Chart, right: Floats, up: Floats) -> list[Point]:
    """Return the part of a line that lies on the chart, its ends on the edge."""
    scale, plot = chart.scale, chart.plot
    points = [scale.at(float(x), float(y)) for x, y in zip(right, up, strict=True)]
    kept: list[Point] = []
    for number, point in enumerate(points):
        if plot.contains(point):
            if not kept and number:
                kept.append(_at_edge(plot, point, points[number - 1]))
            kept.append(point)
        elif kept:
            kept.append(_at_edge(plot, points[number - 1], point))
            break
    return kept


def _at_edge(plot: Box, inner: Point, outer: Point) -> Point:
    """Return where the line from a point inside to one outside leaves the plot."""
    share = 1.0
    for value, step, low, high in (
        (inner[0], outer[0] - inner[0], plot.left, plot.right),
        (inner[1], outer[1] - inner[1], plot.top, plot.bottom),
    ):
        if step > 0.0:
            share = min(share, (high - value) / step)
        elif step < 0.0:
            share = min(share, (low - value) / step)
    return inner[0] + share * (outer[0] - inner[0]), inner[1] + share * (outer[1] - inner[1])


def _round_degrees(low: float, high: float) -> list[float]:
    step = next((one for one in GRATICULE if (high - low) / one <= MOST_LINES), GRATICULE[-1])
    first, last = math.ceil(low / step), math.floor(high / step)
    return [number * step for number in range(first, last + 1)]


def degrees_text(value: float, signs: str) -> str:
    """Return an angle of a graticule: degrees and minutes, and which side."""
    minutes = round(abs(value) * 60.0)
    side = signs[0] if value >= 0.0 else signs[1]
    return f"{minutes // 60}°{minutes % 60:02d}'{side}"


def _furniture(chart: Chart, system: System) -> None:
    """Draw a scale bar at the upper left above the frame, and the arrow to the north at the right."""
    scale, plot = chart.scale, chart.plot
    unit = 1.0 / convert(1.0, Kind.DISTANCE, system)[0]
    points_per_unit = plot.width / (scale.x[1] - scale.x[0]) * unit
    length = max(
        [one for one in BAR_LENGTHS if one * points_per_unit <= 0.3 * plot.width] or [BAR_LENGTHS[0]]
    )
    line = LINE_HEIGHT * chart.drawing.text_size
    y = 0.5 * line
    left, right = plot.left, plot.left + length * points_per_unit
    chart.drawing.path([(left, y - 3.0), (left, y + 3.0)], "axis")
    chart.drawing.path([(left, y), (right, y)], "limit")
    chart.drawing.path([(right, y - 3.0), (right, y + 3.0)], "axis")
    text = show(length * unit, Kind.DISTANCE, system).text
    label = chart.drawing.label(text, [text], (0.0, 0.0))
    chart.drawing.text(Box(right + 5.0, 0.0, label.width, line), [text], role="second")
    x = plot.right - 6.0
    chart.drawing.path([(x, line - 1.0), (x, 1.0)], "axis")
    chart.drawing.path([(x - 3.0, 5.5), (x, 0.5), (x + 3.0, 5.5)], "axis")
    north = "north up"
    label = chart.drawing.label(north, [north], (0.0, 0.0))
    box = Box(x - 8.0 - label.width, 0.0, label.width, line)
    chart.drawing.text(box, [north], role="second", align="right")


def _points(chart: Chart, flown: FlownRoute, projection: Projection, system: System, times: bool) -> str:
    """Mark every point once, named, with the time and the fuel with which it is first reached."""
    arrivals = arrivals_of(flown)
    told: list[str] = []
    seen: set[str] = set()
    for number, point in enumerate(flown.points):
        at = _placed(chart, projection, point)
        lines = [point.name]
        if (row := arrivals.get(number)) is not None:
            fuel = show(row.fuel_aboard, Kind.MASS, system, rounding="down").text
            lines.append(f"{clock(row.at, seconds=False)}Z {fuel}")
        told.append(" ".join(lines))
        lines = lines if times and chart.drawing.width > NARROW else lines[:1]
        place = f"{at[0]:.0f} {at[1]:.0f}"
        if place in seen:  # come back to: named when it was first met
            continue
        seen.add(place)
        chart.mark(at, "square" if number == 0 else "disc", size=6.5)
        chart.want(f"point {number}", lines, [at], bold=1)
    return "; ".join(told)


def arrivals_of(flown: FlownRoute) -> dict[int, RouteRow]:
    """Return by a point's number the row with which it is reached."""
    found: dict[int, RouteRow] = {}
    for row in flown.rows:
        if row.leg >= 0 and row.distance > 0.0 and row.end == flown.points[row.leg + 1]:
            found.setdefault(row.leg + 1, row)
    return found


def _courses(chart: Chart, flown: FlownRoute, projection: Projection, system: System) -> None:
    """Write magnetic course and distance on each leg where there is room; the log has them all."""
    for leg in range(len(flown.points) - 1):
        rows = [row for row in flown.rows_of_leg(leg) if row.distance > 0.0]
        course = next(
            (row.magnetic_course_deg for row in rows if math.isfinite(row.magnetic_course_deg)), None
        )
        if course is None:
            continue
        ends = [_placed(chart, projection, point) for point in flown.points[leg : leg + 2]]
        distance = sum(row.distance for row in rows)
        if leg == 0:  # from the field, the takeoff's acceleration included
            distance += sum(row.distance for row in flown.rows if row.part == "takeoff")
        number = show(distance, Kind.DISTANCE, system).number
        text = f"{show(course, Kind.COURSE).text} {number}"
        chart.on_line(text, _between(ends), shortest=SHORTEST_LEG)


def _placed(chart: Chart, projection: Projection, point: PlacedPoint) -> Point:
    right, up = projection.at(point.latitude_deg, point.longitude_deg)
    return chart.scale.at(float(right), float(up))


def _between(ends: Sequence[Point]) -> list[Point]:
    (x0, y0), (x1, y1) = ends
    return [(x0 + (x1 - x0) * k / 10.0, y0 + (y1 - y0) * k / 10.0) for k in range(11)]


def _frame(chart: Chart) -> None:
    plot = chart.plot
    corners = [
        (plot.left, plot.top),
        (plot.right, plot.top),
        (plot.right, plot.bottom),
        (plot.left, plot.bottom),
    ]
    chart.drawing.path(corners, "axis", closed=True)
