"""Ways over the ground that a scripted pilot follows: lines and arcs as rows of points, and where to look.

Coordinates are metres along the runway from where its pavement begins, and right of its centre line; courses
are rad to the right of the runway's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

SPACING = 2.0  # m on the ground; in the air a share of the radius
LEFT = -1.0


@dataclass
class Way:
    """A row of points. Following it, one never goes back along it."""

    along: list[float] = field(default_factory=list[float])
    right: list[float] = field(default_factory=list[float])
    spacing: float = SPACING
    at: int = 0

    def line_to(self, along: float, right: float) -> Way:
        """Go straight to a point."""
        a, r = self.along[-1], self.right[-1]
        distance = math.hypot(along - a, right - r)
        count = max(1, math.ceil(distance / self.spacing))
        for i in range(1, count + 1):
            self.along.append(a + (along - a) * i / count)
            self.right.append(r + (right - r) * i / count)
        return self

    def turn(self, course: float, change: float, radius: float) -> Way:
        """Turn from a course by an angle, right positive."""
        side = math.copysign(1.0, change)
        a, r = self.along[-1], self.right[-1]
        middle_a, middle_r = a - side * radius * math.sin(course), r + side * radius * math.cos(course)
        count = max(2, math.ceil(abs(change) * radius / self.spacing))
        for i in range(1, count + 1):
            now = course + change * i / count
            self.along.append(middle_a + side * radius * math.sin(now))
            self.right.append(middle_r - side * radius * math.cos(now))
        return self

    def look(self, along: float, right: float, ahead: float) -> tuple[float, float]:
        """Return the point of the way that lies ``ahead`` of the nearest one; beyond the end, straight on."""
        last = len(self.along) - 1
        while self.at < last and self._closer(along, right):
            self.at += 1
        steps = ahead / self.spacing
        index = self.at + int(steps)
        if index <= last:
            return self.along[index], self.right[index]
        beyond = (index - last) * self.spacing
        course = self.end_course
        return self.along[last] + beyond * math.cos(course), self.right[last] + beyond * math.sin(course)

    def _closer(self, along: float, right: float) -> bool:
        i = self.at
        here = (self.along[i] - along) ** 2 + (self.right[i] - right) ** 2
        there = (self.along[i + 1] - along) ** 2 + (self.right[i + 1] - right) ** 2
        return there <= here

    @property
    def end_course(self) -> float:
        """Return the course at the end."""
        return math.atan2(self.right[-1] - self.right[-2], self.along[-1] - self.along[-2])

    @property
    def left(self) -> float:
        """Return how far it is to the end from the nearest point."""
        return (len(self.along) - 1 - self.at) * self.spacing


def taxi_way(*, line_up: float, straight: float, side: float, radius: float) -> tuple[Way, int, int]:
    """Return a taxiway from beside the runway to its centre line, the row of its first turn's beginning, and
    that of its hold short.

    It runs ``straight`` against the runway's direction, ``side`` to the right of it, then makes two right
    turns and ends on the centre line at ``line_up``.
    """
    entry = line_up - radius - LINE_UP_ROLL
    way = Way([entry + radius + straight], [side])
    way.line_to(entry + radius, side)
    first_turn = len(way.along) - 1
    way.turn(math.pi, math.pi / 2, radius)
    way.line_to(entry, hold_line(radius))
    hold = len(way.along) - 1
    way.line_to(entry, radius)
    way.turn(-math.pi / 2, math.pi / 2, radius)
    way.line_to(line_up, 0.0)
    return way, first_turn, hold


def hold_line(radius: float) -> float:
    """Return how far from the centre line one holds short of a turn of this radius."""
    return max(HOLD_SHORT, radius + ROOM_TO_STOP)


ROOM_TO_STOP = 20.0  # m
LINE_UP_ROLL = 40.0  # m straight on the centre line before stopping
HOLD_SHORT = 90.0  # m from the centre line: ICAO Annex 14, table 3-2, precision approach runway


def circuit_way(
    *, along: float, right: float, radius: float, final_from: float, far_end: float
) -> tuple[Way, int, int]:
    """Return a left-hand circuit from a point past the runway to its final, with the rows at which the
    downwind leg and the last turn begin.

    Two half circles of ``radius``; the second ends on the centre line at ``final_from``, and the way goes on
    along it to ``far_end``.
    """
    way = Way([along], [right], spacing=max(radius / 60.0, SPACING))
    course = 0.0
    way.line_to(along + 4.0 * way.spacing, right)
    way.turn(course, LEFT * math.pi, radius)
    downwind = len(way.along) - 1
    way.line_to(final_from, -2.0 * radius)
    base = len(way.along) - 1
    way.turn(math.pi, LEFT * math.pi, radius)
    way.line_to(far_end, 0.0)
    return way, downwind, base


def turn_rate_to(way: Way, *, along: float, right: float, course: float, speed: float, ahead: float) -> float:
    """Return the turn rate, right positive, of the circle through a point of the way ``ahead``."""
    to_along, to_right = way.look(along, right, ahead)
    bearing = math.remainder(math.atan2(to_right - right, to_along - along) - course, 2.0 * math.pi)
    distance = max(math.hypot(to_along - along, to_right - right), 0.5 * ahead)
    return 2.0 * speed * math.sin(max(min(bearing, math.pi / 2), -math.pi / 2)) / distance
