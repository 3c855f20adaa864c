"""A drawing as data: paths, marks and texts in points, each with a role that the templates give a look."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from sortiewright.cards.labels import Box, Label, Point
from sortiewright.cards.typeface import printable, text_width

LINE_HEIGHT = 1.14
"""Of a line of text in a drawing, in shares of its size."""
LONG_WAY = 11.0
"""A label farther than this from its point needs a leader."""
SLACK = 1.01
"""Room for the last bit of rounding between our widths and the typesetter's."""


class Drawing:
    """Collects what is to be drawn on an area of given width; ``data`` is what the templates read."""

    def __init__(self, name: str, width: float, *, text_size: float) -> None:
        self.name = name
        self.width = width
        self.height = 0.0
        self.text_size = text_size
        self.parts: list[dict[str, Any]] = []
        self.text_boxes: list[Box] = []

    def path(self, points: Iterable[Point], role: str, *, closed: bool = False) -> None:
        """Draw a line through the points, or an area bounded by them."""
        rounded = [[round(x, 2), round(y, 2)] for x, y in points]
        self.parts.append({"kind": "path", "points": rounded, "role": role, "closed": closed})

    def rectangle(self, box: Box, role: str) -> None:
        """Draw an upright rectangle."""
        corners = (box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)
        self.path(corners, role, closed=True)

    def mark(self, at: Point, shape: str, *, size: float = 7.0) -> None:
        """Draw a small sign centred on a point: ``disc``, ``ring``, ``square``, ``up`` or ``down``."""
        self.parts.append(
            {"kind": "mark", "at": [round(at[0], 2), round(at[1], 2)], "shape": shape, "size": size}
        )

    def text(
        self,
        box: Box,
        lines: Sequence[str],
        *,
        role: str = "ink",
        align: str = "left",
        bold_lines: int = 0,
        ground: bool = False,
    ) -> None:
        """Set lines of text in a box, the first ``bold_lines`` bold; ``ground`` hides what is behind."""
        self.text_boxes.append(box)
        self.parts.append(
            {
                "kind": "text",
                "box": [round(v, 2) for v in (box.left, box.top, box.width, box.height)],
                "lines": [printable(line) for line in lines],
                "role": role,
                "align": align,
                "bold": bold_lines,
                "ground": ground,
                "name": f"{self.name}: {lines[0]}",
            }
        )

    def lead(self, box: Box, anchors: Sequence[Point]) -> None:
        """Draw a leader to a label from the nearest of its points, where it stands off from all of them."""
        ends = [
            ((min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)), (x, y)) for x, y in anchors
        ]
        end, anchor = min(ends, key=lambda pair: math.dist(*pair))
        if math.dist(end, anchor) > LONG_WAY:
            self.path([anchor, end], "leader")

    def label(self, name: str, lines: Sequence[str], anchor: Point, *, bold_lines: int = 0) -> Label:
        """Return the lines as a label to place, as large as they will be set."""
        width = max(
            text_width(printable(line), self.text_size, bold=n < bold_lines) for n, line in enumerate(lines)
        )
        return Label(name, width * SLACK, len(lines) * LINE_HEIGHT * self.text_size, anchor)

    def data(self, alternative: str) -> dict[str, Any]:
        """Return the drawing for the templates; ``alternative`` says in words what it shows."""
        return {
            "name": self.name,
            "width": round(self.width, 2),
            "height": round(self.height, 2),
            "size": self.text_size,
            "parts": self.parts,
            "alternative": printable(alternative),
        }
