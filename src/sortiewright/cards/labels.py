"""Where labels stand in a drawing, so that no two overlap and each is near what it names.

Lengths in points, x to the right, y downwards.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.top + self.height

    def overlaps(self, other: Box) -> bool:
        """Return whether the two have more than an edge in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def contains(self, point: Point) -> bool:
        """Return whether the point lies inside or on the edge."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom

    def within(self, other: Box) -> bool:
        """Return whether no part of this box sticks out of the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )


@dataclass(frozen=True, slots=True)
class Label:
    """A text to place: its size, and the point that it names."""

    name: str
    width: float
    height: float
    anchor: Point
    others: tuple[Point, ...] = ()
    """Further points that it may stand beside instead."""


@dataclass(frozen=True, slots=True)
class Flag:
    """A label of a line of marks: which tier it stands on, and on which side of its leader."""

    label: Label
    tier: int
    left: float
    to_right: bool

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.label.width


GAP = 4.0
"""Between a leader and its flag, and the least between two labels."""


def raise_flags(labels: Sequence[Label], *, left: float, right: float) -> list[Flag]:
    """Return the labels as flags on tiers above a line of marks, tier 0 next to it.

    From some mark on, flags stand to the left of their leaders instead of to the right. Each takes the lowest
    tier on which it overlaps no other and no leader crosses a flag; where there is none such, the lowest free
    one, and the leader passes behind a flag. Of all ways to divide them the one with the fewest such
    crossings, then the fewest tiers, is returned.

    Raises
    ------
    ValueError
        If a label is wider than the room between ``left`` and ``right``; the message is its name.
    """
    if wide := [label for label in labels if label.width > right - left]:
        raise ValueError(wide[0].name)
    marks = sorted(labels, key=lambda label: label.anchor[0])
    ways = [
        divided(marks[:split], marks[split:], left, right, right_first)
        for split in range(len(marks) + 1)
        for right_first in (True, False)
    ]
    return min(ways, key=lambda flags: (crossings(flags), max((flag.tier for flag in flags), default=0)))


def divided(
    to_right: Sequence[Label], to_left: Sequence[Label], left: float, right: float, right_first: bool
) -> list[Flag]:
    """Return the flags of one division: a staircase falling to the right and one rising to it."""
    falling = [(label, min(label.anchor[0] + GAP, right - label.width), True) for label in reversed(to_right)]
    rising = [(label, max(label.anchor[0] - GAP - label.width, left), False) for label in to_left]
    placed: list[Flag] = []
    for label, place, is_right in [*falling, *rising] if right_first else [*rising, *falling]:
        placed.append(lowest_flag(label, place, is_right, placed))
    return placed


def crossings(flags: Sequence[Flag]) -> int:
    """Return how many leaders pass behind flags, each also counted where its own flag covers its end."""
    return sum(
        low.tier <= high.tier and low.left < high.label.anchor[0] < low.right
        for low in flags
        for high in flags
    )


def lowest_flag(label: Label, left: float, to_right: bool, placed: Sequence[Flag]) -> Flag:
    """Return the label on the lowest tier that is free, preferably one where no leader crosses a flag."""
    tiers = range(len(placed) + 1)
    free = [
        tier
        for tier in tiers
        if not any(
            flag.tier == tier and left < flag.right + GAP and flag.left < left + label.width + GAP
            for flag in placed
        )
    ]
    uncrossed = [tier for tier in free if not crosses(label, left, tier, placed)]
    return Flag(label, (uncrossed or free)[0], left, to_right)


def crosses(label: Label, left: float, tier: int, placed: Sequence[Flag]) -> bool:
    """Return whether the label's leader would pass behind a flag, or a placed leader behind the label."""
    x = label.anchor[0]
    for flag in placed:
        if flag.tier < tier and flag.left < x < flag.right:
            return True
        if flag.tier > tier and left < flag.label.anchor[0] < left + label.width:
            return True
    return False


REACHES = (6.0, 10.0, 14.0, 22.0, 32.0, 46.0, 64.0, 88.0, 120.0)
DIRECTIONS = ((1, -1), (1, 0), (1, 1), (-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1))
CURVE_STEP = 4.0


def place_around(
    labels: Sequence[Label],
    *,
    bounds: Box,
    taken: Iterable[Box] = (),
    curves: Iterable[Sequence[Point]] = (),
    avoid: Sequence[Box] = (),
) -> tuple[dict[str, Box], list[Label]]:
    """Return a box for each label beside its anchor, by name, and the labels that found no room.

    No two boxes overlap, none overlaps ``taken``, all lie within ``bounds``. Near is preferred, and free of
    ``curves`` and ``avoid`` is preferred to near. Labels are placed in the order given, so the important ones
    come first.
    """
    occupied = list(taken)
    points = [point for curve in curves for point in dense(curve)]
    boxes: dict[str, Box] = {}
    homeless: list[Label] = []
    for label in labels:
        best: tuple[float, Box] | None = None
        for cost, box in candidates(label):
            if best is not None and cost >= best[0]:
                continue
            if not box.within(bounds) or any(padded(box).overlaps(other) for other in occupied):
                continue
            cost += 40.0 * sum(box.contains(point) for point in points)
            cost += 25.0 * sum(box.overlaps(other) for other in avoid)
            if best is None or cost < best[0]:
                best = cost, box
        if best is None:
            homeless.append(label)
            continue
        boxes[label.name] = best[1]
        occupied.append(best[1])
    return boxes, homeless


def candidates(label: Label) -> Iterable[tuple[float, Box]]:
    """Yield every place for the label with what it costs to stand that far off."""
    for order, anchor in enumerate((label.anchor, *label.others)):
        for reach in REACHES:
            for rank, (across, down) in enumerate(DIRECTIONS):
                yield reach + order + 0.1 * rank, beside(label, anchor, reach, across, down)


def beside(label: Label, anchor: Point, reach: float, across: int, down: int) -> Box:
    """Return the label's box at ``reach`` from the anchor, towards one of eight directions."""
    x, y = anchor
    diagonal = 0.7 if across and down else 1.0
    left = x + across * reach * diagonal - (0.5 - 0.5 * across) * label.width
    top = y + down * reach * diagonal - (0.5 - 0.5 * down) * label.height
    return Box(left, top, label.width, label.height)


def padded(box: Box) -> Box:
    """Return the box with a little air around it."""
    return Box(box.left - GAP / 2, box.top - 1, box.width + GAP, box.height + 2)


def dense(curve: Sequence[Point]) -> list[Point]:
    """Return points along the curve, close enough that a line through a text is noticed."""
    points: list[Point] = list(curve[:1])
    for (x0, y0), (x1, y1) in itertools.pairwise(curve):
        steps = max(1, int(max(abs(x1 - x0), abs(y1 - y0)) / CURVE_STEP))
        points.extend((x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps) for k in range(1, steps + 1))
    return points
