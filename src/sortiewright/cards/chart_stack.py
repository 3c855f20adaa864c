"""Drawings put together into one: panels of a chart under or beside each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box


def stacked(name: str, drawings: Sequence[Drawing], *, gap: float = 8.0) -> Drawing:
    """Return the drawings under one another as one, as wide as the widest."""
    whole = Drawing(name, max(one.width for one in drawings), text_size=drawings[0].text_size)
    down = 0.0
    for one in drawings:
        _put(whole, one, 0.0, down)
        down += one.height + gap
    whole.height = down - gap
    return whole


def side_by_side(name: str, drawings: Sequence[Drawing], *, gap: float = 8.0) -> Drawing:
    """Return the drawings beside one another as one, as high as the highest."""
    width = sum(one.width for one in drawings) + gap * (len(drawings) - 1)
    whole = Drawing(name, width, text_size=drawings[0].text_size)
    across = 0.0
    for one in drawings:
        _put(whole, one, across, 0.0)
        across += one.width + gap
    whole.height = max(one.height for one in drawings)
    return whole


def _put(whole: Drawing, one: Drawing, across: float, down: float) -> None:
    """Copy every part of a drawing, moved."""
    for part in one.parts:
        moved: dict[str, Any] = dict(part)
        if part["kind"] == "path":
            moved["points"] = [[round(x + across, 2), round(y + down, 2)] for x, y in part["points"]]
        elif part["kind"] == "mark":
            x, y = part["at"]
            moved["at"] = [round(x + across, 2), round(y + down, 2)]
        else:
            left, top, width, height = part["box"]
            moved["box"] = [round(left + across, 2), round(top + down, 2), width, height]
        whole.parts.append(moved)
    whole.text_boxes += [
        Box(box.left + across, box.top + down, box.width, box.height) for box in one.text_boxes
    ]
