"""Charts as wide as a part of a screen, as SVG; those of the runway cards too, else as wide as a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.balance import envelope
from sortiewright.cards.card_set import CardError
from sortiewright.cards.chart_svg import data_svg
from sortiewright.cards.charts import NEEDS_ROUTE, TURNING, ChartName, chart_of
from sortiewright.cards.failure_chart import MOST_ASPECT, failure_chart
from sortiewright.cards.reading import Reading
from sortiewright.cards.runway import beyond, fixed, landing_strip, takeoff_strip
from sortiewright.cards.schemes import SchemeName
from sortiewright.cards.sheet import DAY_SIZES, Sheet
from sortiewright.sortie import Plan, System

SURFACE = "surface"
UNSEEN = 0.2
"""Points by which a line may be off on a screen: a quarter of a pixel."""


@dataclass(frozen=True, slots=True)
class Screen(Sheet):
    """A part of a screen in place of a sheet of paper: its width and its size of type, points."""

    points: float = 480.0
    text_size: float = 10.0

    @property
    def width(self) -> float:
        """All of it."""
        return self.points

    @property
    def sizes(self) -> dict[str, float]:
        """One size of type; by night no larger, as a screen can be held nearer."""
        return {**DAY_SIZES, "note": self.text_size}


class ScreenChart(NamedTuple):
    """A chart as an SVG document, and in words what found no room in it."""

    svg: str
    beside: tuple[str, ...] = ()


class RunwayDrawing(NamedTuple):
    """The takeoff runway as SVG: its surface lies between two heights, shares of the drawing's."""

    svg: str
    top: float
    bottom: float
    beside: tuple[str, ...] = ()


def screen_chart(
    plan: Plan,
    name: ChartName,
    *,
    system: System = "trade",
    scheme: SchemeName = "day",
    width: float = 480.0,
    text_size: float = 10.0,
) -> ScreenChart:
    """Return a chart of a plan, ``width`` points wide; raises ``CardError`` as ``chart_of`` does."""
    if name in NEEDS_ROUTE or name in TURNING:
        data = chart_of(plan, name, system=system, scheme=scheme, width=width, text_size=text_size)
        return ScreenChart(_svg(data, scheme))
    reading, screen = Reading(plan, system), Screen("a5", scheme, width, text_size)
    data = _drawn(reading, screen, name)
    if data is None:
        raise CardError(f"The plan has nothing to draw for the chart {name!r}.")
    words = [*data.get("homeless", ()), *(" ".join(pair).strip() for pair in data.get("key", ()))]
    return ScreenChart(_svg(data, scheme), tuple(words))


def screen_runway(
    plan: Plan,
    *,
    system: System = "trade",
    scheme: SchemeName = "day",
    width: float = 960.0,
    text_size: float = 10.0,
) -> RunwayDrawing:
    """Return the takeoff runway with every point on it; raises ``CardError`` for a label wider than it."""
    reading = Reading(plan, system)
    data = _drawn(reading, Screen("a5", scheme, width, text_size), "runway")
    assert data is not None
    surface = next(part for part in data["parts"] if part.get("role") == SURFACE)
    heights = [y for _, y in surface["points"]]
    told = (*beyond(reading), *((fixed(reading),) if fixed(reading) else ()))
    return RunwayDrawing(
        _svg(data, scheme), min(heights) / data["height"], max(heights) / data["height"], told
    )


def _svg(data: dict[str, Any], scheme: SchemeName) -> str:
    """Return a drawing as SVG, without points that nobody can see, and without words over it."""
    parts = [
        {**part, "points": thinned(part["points"], UNSEEN)} if part["kind"] == "path" else part
        for part in data["parts"]
    ]
    return data_svg({**data, "parts": parts}, scheme, titled=False)


def thinned(points: Sequence[Sequence[float]], most: float) -> list[Sequence[float]]:
    """Return the fewest of a line's points that keep all others within ``most`` of the line through them.

    Source: Douglas and Peucker, Algorithms for the reduction of the number of points required to represent a
    digitized line, Cartographica 10 (2), 1973: a stretch is halved at its farthest point until it fits.
    """
    if len(points) < 3:
        return list(points)
    places = np.asarray(points, dtype=np.float64)
    kept = {0, len(points) - 1}
    stretches = [(0, len(points) - 1)]
    while stretches:
        begin, end = stretches.pop()
        if end - begin < 2:
            continue
        away = _away(places[begin + 1 : end], places[begin], places[end])
        farthest = int(np.argmax(away))
        if away[farthest] > most:
            middle = begin + 1 + farthest
            kept.add(middle)
            stretches += [(begin, middle), (middle, end)]
    return [points[one] for one in sorted(kept)]


def _away(
    places: NDArray[np.float64], begin: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far places are from the straight stretch between two points."""
    along = end - begin
    square = float(along @ along)
    share = np.clip((places - begin) @ along / square, 0.0, 1.0) if square else np.zeros(len(places))
    return np.hypot(*(places - begin - share[:, None] * along).T)


def _drawn(reading: Reading, screen: Screen, name: ChartName) -> dict[str, Any] | None:
    try:
        if name == "runway":
            return takeoff_strip(reading, screen)
        if name == "landing":
            return landing_strip(reading, screen)
        if name == "balance":
            return envelope(reading, screen)
        return failure_chart(reading, screen, MOST_ASPECT * screen.width)
    except OverflowError as overflow:
        raise CardError(f"{overflow} is wider than the screen") from None
