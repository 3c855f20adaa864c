"""The stop and go distances against the speed of an engine failure, with what is covered and what is not."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from sortiewright.cards.axes import Axis, draw_axes, plot_area, ticks
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box, Label, Point, place_around
from sortiewright.cards.reading import Reading, uncovered_band
from sortiewright.cards.sheet import Sheet
from sortiewright.sortie import THIN_SPACE, Curve, Kind

LEAST_ASPECT, MOST_ASPECT = 0.41, 0.62
"""Height over width of the chart: as high as the page leaves room for, within these."""
PRIORITY = ("critical field length", "stop_distance", "go_distance", "decision", "uncovered")
"""Labels in the order in which they choose their place."""
CURVE_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
"""Where along a curve its label may stand, the best place first."""
ROLES = {"stop_distance": "stop", "go_distance": "go"}


def failure_chart(reading: Reading, sheet: Sheet, room: float) -> dict[str, Any] | None:
    """Return the chart of stop and go distance against failure speed, None where the plan has no curve.

    ``room`` is the height that the page has left; a chart that would be too flat in it gets its own page.
    """
    curves = [curve for curve in reading.plan.curves if curve.name in ROLES]
    if not any(finite_points(curve) for curve in curves):
        return None
    high = MOST_ASPECT * sheet.width
    height = min(room, high) if room >= LEAST_ASPECT * sheet.width else high
    chart = Chart(reading, sheet, curves, height)
    chart.draw()
    return chart.drawing.data(chart.in_words()) | {"homeless": chart.homeless}


def finite_points(curve: Curve) -> list[Point]:
    """Return the points of a curve that can be drawn."""
    pairs = zip(curve.x.tolist(), curve.y.tolist(), strict=True)
    return [(x, y) for x, y in pairs if math.isfinite(x) and math.isfinite(y)]


class Chart:
    """One chart while it is drawn: scales from SI to points, and the labels collected on the way."""

    def __init__(self, reading: Reading, sheet: Sheet, curves: list[Curve], height: float) -> None:
        self.reading = reading
        self.curves = curves
        self.size = sheet.sizes["note"]
        self.drawing = Drawing("failure chart", sheet.width, text_size=self.size)
        self.drawing.height = height
        self.plot = plot_area(self.drawing, "00")
        runway = reading.plan.runway
        self.available = runway.length - runway.start_offset
        points = [point for curve in curves for point in finite_points(curve)]
        self.low_speed, self.high_speed = min(x for x, _ in points), max(x for x, _ in points)
        field = reading.value("engine_failure", "critical_field_length") or 0.0
        self.high_distance = max(1.18 * self.available, min(1.22 * field, 1.5 * self.available))
        self.labels: list[tuple[Label, list[str], int]] = []
        self.paths: list[list[Point]] = []
        self.avoid: list[Box] = []
        self.homeless: list[str] = []

    def at(self, speed: float, distance: float) -> Point:
        """Return the point of a speed and a distance."""
        across = (speed - self.low_speed) / max(self.high_speed - self.low_speed, 1e-9)
        return (
            self.plot.left + across * self.plot.width,
            self.plot.bottom - distance / self.high_distance * self.plot.height,
        )

    def draw(self) -> None:
        """Draw the ground first, then bands, curves, points, and last the labels where there is room."""
        self.draw_limit()
        self.draw_band()
        self.draw_axes()
        for curve in self.curves:
            self.draw_curve(curve)
        self.draw_speeds()
        self.set_labels()

    def draw_limit(self) -> None:
        """Hatch what lies beyond the runway."""
        plot = self.plot
        y = self.at(self.low_speed, self.available)[1]
        beyond = Box(plot.left, plot.top, plot.width, y - plot.top)
        self.drawing.rectangle(beyond, "hatched")
        self.avoid.append(beyond)
        self.drawing.path([(plot.left, y), (plot.right, y)], "limit")
        text = self.reading.text(self.available, Kind.RUNWAY_DISTANCE, rounding="down")
        label = self.drawing.label("runway", [f"Runway {text}"], (0.0, 0.0), bold_lines=1)
        box = Box(plot.left + 4, y - label.height - 2, label.width, label.height)
        self.fixed = [box]
        self.drawing_texts: list[tuple[Box, list[str], int]] = [(box, [f"Runway {text}"], 1)]

    def draw_band(self) -> None:
        """Hatch the speeds from which neither stopping nor going fits."""
        reading = self.reading
        stops = [reading.value("engine_failure", name) for name in ("refusal_speed", "decision_speed")]
        highest_stop = min((v for v in stops if v is not None), default=None)
        if not uncovered_band(reading) or highest_stop is None:
            return
        # Without a minimum go speed the band is open: nothing goes before lift-off.
        minimum_go = reading.value("engine_failure", "minimum_go_speed") or self.high_speed
        left, right = (
            self.at(min(max(v, self.low_speed), self.high_speed), 0.0)[0] for v in (highest_stop, minimum_go)
        )
        if right <= left:
            return
        band = Box(left, self.plot.top, right - left, self.plot.height)
        self.drawing.rectangle(band, "uncovered")
        self.avoid.append(band)
        low, high = self.plot.bottom - 1.8 * self.size, self.plot.bottom - 0.6 * self.plot.height
        self.add_label(
            "uncovered",
            ["Neither fits", uncovered_band(reading)],
            (right, low),
            bold_lines=1,
            others=((left, low), (right, high), (left, high)),
        )

    def draw_axes(self) -> None:
        """Draw the frame, the ticks and what the axes mean."""
        speed_unit, speed_size = self.reading.unit(Kind.CAS)
        distance_unit, distance_size = self.reading.unit(Kind.RUNWAY_DISTANCE)
        low, high = self.low_speed / speed_size, self.high_speed / speed_size
        speeds = [(self.at(tick * speed_size, 0.0)[0], f"{tick:g}") for tick in ticks(low, high, 7)]
        top = self.high_distance / distance_size
        distances = [
            (self.at(self.low_speed, tick * distance_size)[1], f"{tick / 1000:g}")
            for tick in ticks(0.0, top, 6)
        ]
        draw_axes(
            self.drawing,
            self.plot,
            Axis(f"Speed at which the engine fails, {speed_unit}", speeds),
            Axis(f"Distance from brake release, 1{THIN_SPACE}000 {distance_unit}", distances),
        )

    def draw_curve(self, curve: Curve) -> None:
        """Draw a curve as far as the picture goes, and ask for its label at its outer part."""
        points = [self.at(x, y) for x, y in finite_points(curve) if y <= self.high_distance]
        if len(points) < 2:
            return
        self.drawing.path(points, ROLES[curve.name])
        self.paths.append(points)
        # Inside the runway, where the hatching leaves the label alone.
        limit = self.at(self.low_speed, self.available)[1]
        inner = [point for point in points if point[1] > limit] or points
        anchors = [inner[int(share * (len(inner) - 1))] for share in CURVE_SHARES]
        self.add_label(curve.name, [curve.title], anchors[0], bold_lines=1, others=tuple(anchors[1:]))

    def draw_speeds(self) -> None:
        """Draw the decision speed as a line, and the critical field length as a point."""
        reading = self.reading
        decision = reading.value("engine_failure", "decision_speed")
        if decision is not None and self.low_speed <= decision <= self.high_speed:
            x = self.at(decision, 0.0)[0]
            line = [(x, self.plot.top), (x, self.plot.bottom)]
            self.drawing.path(line, "decision")
            self.avoid.append(Box(x - 1, self.plot.top, 2, self.plot.height))
            title = ["Decision", reading.figure_text("engine_failure", "decision_speed")]
            low, high = self.plot.bottom - 1.8 * self.size, self.plot.bottom - 0.5 * self.plot.height
            self.add_label("decision", title, (x, low), bold_lines=2, others=((x, high),))
        speed = reading.value("engine_failure", "critical_engine_failure_speed")
        length = reading.value("engine_failure", "critical_field_length")
        if speed is None or length is None or length > self.high_distance:
            return
        if self.low_speed <= speed <= self.high_speed:
            point = self.at(speed, length)
            self.drawing.mark(point, "disc")
            field = reading.figure_text("engine_failure", "critical_field_length")
            self.add_label("critical field length", ["Critical field length", field], point)

    def add_label(
        self,
        name: str,
        lines: list[str],
        anchor: Point,
        *,
        bold_lines: int = 0,
        others: tuple[Point, ...] = (),
    ) -> None:
        """Ask for a label; ``others`` are further points that it may stand beside."""
        label = replace(self.drawing.label(name, lines, anchor, bold_lines=bold_lines), others=others)
        self.labels.append((label, lines, bold_lines))

    def set_labels(self) -> None:
        """Set every label where there is room; what finds none is listed under the chart."""
        self.labels.sort(key=lambda labelled: PRIORITY.index(labelled[0].name))
        boxes, homeless = place_around(
            [label for label, _, _ in self.labels],
            bounds=self.plot,
            taken=self.fixed,
            curves=self.paths,
            avoid=self.avoid,
        )
        for box, lines, bold in self.drawing_texts:
            self.drawing.text(box, lines, bold_lines=bold, ground=True)
        for label, lines, bold in self.labels:
            if label.name in boxes:
                self.drawing.lead(boxes[label.name], (label.anchor, *label.others))
                self.drawing.text(boxes[label.name], lines, bold_lines=bold, ground=True)
        missing = {label.name for label in homeless}
        self.homeless = [": ".join(lines) for label, lines, _ in self.labels if label.name in missing]

    def in_words(self) -> str:
        """Return what the chart says, for those who do not see it."""
        told = "; ".join(" ".join(lines) for _, lines, _ in self.labels)
        return f"Distance to stop and to go on against the speed at which an engine fails. {told}."
