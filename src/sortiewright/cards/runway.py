"""The runway card: the runway to one scale, every point of the takeoff on it, and the stop and go curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sortiewright.cards.drawing import Drawing
from sortiewright.cards.failure_chart import failure_chart
from sortiewright.cards.labels import Box, Flag, Label, raise_flags
from sortiewright.cards.reading import CLOSE, Reading, cable_name
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import Kind, RunwayMark

STRIP_HEIGHT = 34.0
BOARD = 304.8  # m
"""Runway distance markers stand at every thousand feet remaining, whatever units the card is in."""
SHAPES = {"takeoff": "up", "reject": "square", "engine_failure": "ring", "landing": "down"}
LEADER_START = 5.0
REJECT_WEIGHT = 3
NARROW = 330.0
"""Points: less is a phone."""


def runway_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the runway card shows."""
    strip = takeoff_strip(reading, sheet)
    line = 1.5 * sheet.sizes["note"]
    below = line * (bool(fixed(reading)) + sum(1 + len(words) // 60 for words in beyond(reading)))
    heading = 2.8 * sheet.sizes["heading"]
    return {
        "strip": strip,
        "chart": failure_chart(reading, sheet, sheet.height - strip["height"] - below - heading - 12.0),
        "beyond": beyond(reading),
        "fixed": fixed(reading),
    }


def takeoff_strip(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return the runway with the points of the takeoff above it and those of a failure below."""
    marks = reading.plan.runway.marks
    above = [mark for mark in marks if mark.group == "takeoff"]
    below = [mark for mark in marks if mark.group in ("reject", "engine_failure")]
    return strip(reading, sheet, "runway", above, below)


def landing_strip(reading: Reading, sheet: Sheet) -> dict[str, Any] | None:
    """Return the runway with the points of today's landing above it, None where the plan has none."""
    above = [mark for mark in reading.plan.runway.marks if mark.group == "landing"]
    return strip(reading, sheet, "landing runway", above, []) if above else None


def strip(
    reading: Reading,
    sheet: Sheet,
    name: str,
    above: Sequence[RunwayMark],
    below: Sequence[RunwayMark],
) -> dict[str, Any]:
    """Return the runway drawn left to right, flags of ``above`` over it and flags of ``below`` under it."""
    runway = reading.plan.runway
    whole = runway.length + max(runway.overrun, 0.02 * runway.length)
    drawing = Drawing(name, sheet.width, text_size=sheet.sizes["note"])

    def x(distance: float) -> float:
        return distance / whole * sheet.width

    upper = flags(reading, drawing, above, whole, x)
    lower = flags(reading, drawing, below, whole, x)
    rise = tier_height(drawing, upper)
    top = (max((flag.tier for flag in upper), default=-1) + 1) * rise + LEADER_START
    bottom = top + STRIP_HEIGHT
    draw_strip(drawing, reading, x, top, [(x(mark.distance), mark.group) for mark in [*above, *below]])
    stand_flags(drawing, reading, upper, top, -1, rise, above)
    drop = tier_height(drawing, lower)
    stand_flags(drawing, reading, lower, bottom, 1, drop, below)
    drawing.height = bottom + LEADER_START + (max((flag.tier for flag in lower), default=-1) + 1) * drop
    words = [f"{mark.title}: {', '.join(mark_lines(reading, mark)[1:])}" for mark in [*above, *below]]
    length = reading.text(runway.length, Kind.RUNWAY_DISTANCE, rounding="down")
    told = [*words, fixed(reading)] if fixed(reading) else words
    return drawing.data(f"Runway {runway.designator}, {length}, left to right. " + "; ".join(told))


def draw_strip(
    drawing: Drawing, reading: Reading, x: Any, top: float, marks: Sequence[tuple[float, str]]
) -> None:
    """Draw the surface, boards, cables, overrun, displaced threshold and the point of brake release.

    The names of cables keep off ``marks``, places and groups, where they can.
    """
    runway = reading.plan.runway
    bottom = top + STRIP_HEIGHT
    end = x(runway.length)
    if runway.overrun > 0:
        drawing.rectangle(Box(end, top, x(runway.length + runway.overrun) - end, STRIP_HEIGHT), "hatched")
    drawing.rectangle(Box(0.0, top, end, STRIP_HEIGHT), "surface")
    if runway.displaced_threshold > 0:
        drawing.rectangle(Box(0.0, top, x(runway.displaced_threshold), STRIP_HEIGHT), "hatched")
    middle = top + 0.3 * STRIP_HEIGHT
    drawing.path([(0.0, middle), (end, middle)], "centreline")
    for thousands in range(1, int(runway.length / BOARD + 1e-6) + 1):
        at = x(runway.length - thousands * BOARD)
        label = drawing.label(f"board {thousands}", [str(thousands)], (at, bottom), bold_lines=1)
        width = label.width + 6
        box = Box(at - width / 2, bottom - label.height - 3, width, label.height)
        if box.left < x(runway.start_offset) + 2 or box.right > end:
            continue  # a board at the very threshold is behind the aircraft
        drawing.rectangle(box, "board")
        drawing.text(
            Box(box.left, box.top, width, box.height),
            [str(thousands)],
            role="board_ink",
            align="center",
            bold_lines=1,
        )
    for name, at in runway.cables:
        drawing.path([(x(at), top), (x(at), bottom)], "cable")
        name_cable(drawing, name, x(at), top + 2, (x(runway.start_offset) + 2, end - 2), marks)
    if runway.overrun > 0:
        write_inside(drawing, "overrun", end + 3, top + 2, drawing.width - 1)
    start = x(runway.start_offset)
    drawing.path([(start, top), (start, bottom)], "release")


def name_cable(
    drawing: Drawing,
    name: str,
    at: float,
    top: float,
    room: tuple[float, float],
    marks: Sequence[tuple[float, str]],
) -> None:
    """Write a cable's name on the side of it where fewer marks stand: a rejection's weighs most.

    On a drawing too narrow for either the name is left to the words below it.
    """
    width = drawing.label(name, [name], (at, top)).width

    def crossed(left: float) -> int:
        over = [group for place, group in marks if left - 2 <= place <= left + width + 2]
        return sum(REJECT_WEIGHT if group == "reject" else 1 for group in over)

    sides = [left for left in (at + 3, at - 3 - width) if room[0] <= left and left + width <= room[1]]
    for left in sorted(sides, key=crossed):
        if drawing.width < NARROW and crossed(left) >= REJECT_WEIGHT:
            return
        if write_inside(drawing, name, left, top, room[1]):
            return


def write_inside(drawing: Drawing, words: str, left: float, top: float, right: float) -> bool:
    """Write on the runway where there is room; what finds none is told below the picture all the same."""
    label = drawing.label(words, [words], (left, top))
    box = Box(left, top, label.width, label.height)
    if box.right <= right and not any(box.overlaps(other) for other in drawing.text_boxes):
        drawing.text(box, [words], ground=True)
        return True
    return False


def flags(
    reading: Reading, drawing: Drawing, marks: Sequence[RunwayMark], whole: float, x: Any
) -> list[Flag]:
    """Return the marks on the picture as flags on tiers; those beyond it are told in words."""
    labels: list[Label] = []
    for number, mark in enumerate(marks):
        if not on_picture(mark, whole):
            continue
        lines = mark_lines(reading, mark)
        labels.append(drawing.label(str(number), lines, (x(mark.distance), 0.0), bold_lines=1))
    tallest = max((label.height for label in labels), default=0.0)
    try:
        return raise_flags(
            [replace(label, height=tallest) for label in labels], left=0.0, right=drawing.width
        )
    except ValueError as wide:
        raise OverflowError(f"{drawing.name}: {marks[int(str(wide))].title}") from None


def on_picture(mark: RunwayMark, whole: float) -> bool:
    """Return whether a mark lies on the part of the world that is drawn."""
    return math.isfinite(mark.distance) and 0 <= mark.distance <= whole


def tier_height(drawing: Drawing, raised: Sequence[Flag]) -> float:
    """Return how far apart the tiers of flags are."""
    return max((flag.label.height for flag in raised), default=0.0) + 2.0


def stand_flags(
    drawing: Drawing,
    reading: Reading,
    raised: Sequence[Flag],
    edge: float,
    direction: int,
    rise: float,
    marks: Sequence[RunwayMark],
) -> None:
    """Draw leaders first and texts over them; ``direction`` is -1 upwards from ``edge``, 1 downwards."""
    for flag in raised:
        mark = marks[int(flag.label.name)]
        far = edge + direction * (LEADER_START + flag.tier * rise + flag.label.height)
        at = flag.label.anchor[0]
        drawing.path([(at, edge), (at, far)], "leader_dashed" if mark.group == "engine_failure" else "leader")
        drawing.mark((at, edge), SHAPES.get(mark.group, "none"))
    for flag in raised:
        near = edge + direction * (LEADER_START + flag.tier * rise)
        top = near - flag.label.height if direction < 0 else near
        box = Box(flag.left, top, flag.label.width, flag.label.height)
        drawing.text(
            box,
            mark_lines(reading, marks[int(flag.label.name)]),
            align="left" if flag.to_right else "right",
            bold_lines=1,
            ground=True,
        )


def beyond(reading: Reading) -> list[str]:
    """Return in words the points that lie past the picture, or that are never reached."""
    runway = reading.plan.runway
    whole = runway.length + max(runway.overrun, 0.02 * runway.length)
    words: list[str] = []
    for mark in runway.marks:
        if mark.group == "landing" or on_picture(mark, whole):
            continue
        words.append(f"{mark.title}: {', '.join(mark_lines(reading, mark)[1:])}")
    return words


def fixed(reading: Reading) -> str:
    """Return cables and overrun in words."""
    runway = reading.plan.runway
    words = [f"{cable_name(name)} {remaining(reading, at)} left" for name, at in runway.cables]
    if runway.overrun > 0:
        overrun = reading.text(runway.overrun, Kind.RUNWAY_DISTANCE, rounding="down")
        words.append(f"overrun {overrun}")
    return printable("; ".join(word[:1].upper() + word[1:] for word in words))


def mark_lines(reading: Reading, mark: RunwayMark) -> list[str]:
    """Return a mark's title, and its speed with the runway left there."""
    left = reading.plan.runway.length - mark.distance
    if not math.isfinite(left):
        place = "never"
    elif left >= -CLOSE:
        place = f"{reading.text(max(left, 0.0), Kind.RUNWAY_DISTANCE, rounding='down')} left"
    else:
        place = f"{reading.text(-left, Kind.RUNWAY_DISTANCE, rounding='up')} past the end"
    speed = "" if mark.cas is None else f"{reading.text(mark.cas, Kind.CAS)}, "
    return [mark.title, speed + place]


def remaining(reading: Reading, distance: float) -> str:
    """Return how much runway is left at a fixed place."""
    left = reading.plan.runway.length - distance
    return reading.text(left, Kind.RUNWAY_DISTANCE, rounding="nearest")
