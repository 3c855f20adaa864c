"""The climb: altitude over time, over distance and over fuel, side by side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.cards.chart_frame import TEXT_SIZE, WIDTH, Chart
from sortiewright.cards.chart_stack import side_by_side
from sortiewright.cards.drawing import Drawing
from sortiewright.sortie import TAKEOFF, FlightNumbers, Kind, System, convert, show

PANEL_ASPECT, WIDE_ASPECT = 1.5, 2.0
"""Height over width of a panel; the second where the chart is wider than ``WIDTH``."""
SIDEROOM = 1.45
GAP = 6.0
THOUSAND = 1_000.0
NARROW = 340.0
"""Points, of three panels that have room for few ticks."""
BETWEEN = 8
"""Parts of the curve between two computed altitudes."""


def climb_chart(
    flight: FlightNumbers, *, system: System = "trade", width: float = WIDTH, text_size: float = TEXT_SIZE
) -> tuple[Drawing, str]:
    """Return three panels of the climb by the pack's schedule in still air, and in words what they show.

    Raises ``ValueError`` where no climb could be computed.
    """
    path = flight.climb
    if path is None:
        raise ValueError(flight.problems.get("climb") or "the pack says no climb schedule (technique.climb)")
    foot, level_sign = convert(1.0, Kind.LEVEL, system)
    altitude = path.altitude * foot / THOUSAND
    good = np.isfinite(path.time)
    mass = convert(1.0, Kind.MASS, system)
    distance = convert(1.0, Kind.DISTANCE, system)
    panels: list[Drawing] = []
    ends: list[str] = []
    each = (width - 2 * GAP) / 3.0
    ceiling = None if flight.summary is None else float(flight.summary.service_ceiling[TAKEOFF])
    top = max(
        float(altitude[good].max()), ceiling * foot / THOUSAND if ceiling and np.isfinite(ceiling) else 0.0
    )
    for place, (title, values) in enumerate(
        (
            ("Time, min", path.time / 60.0),
            (f"Distance, {distance[1]}", path.distance * distance[0]),
            (f"Fuel, {mass[1]}", path.fuel * mass[0]),
        )
    ):
        chart = Chart(
            f"climb {place}", each, text_size, "00", aspect=WIDE_ASPECT if width > WIDTH else PANEL_ASPECT
        )
        chart.set_scale((0.0, SIDEROOM * float(values[good].max())), (0.0, 1.08 * top))
        most = 5 if width > NARROW else 3
        chart.axes(title, f"1\u202f000 {level_sign}" if place == 0 else "", grid=True, most=most)
        if ceiling is not None and np.isfinite(ceiling):
            high = ceiling * foot / THOUSAND
            chart.line(list(chart.scale.x), [high, high], "limit_dashed")
            if place == 0:
                across = [chart.scale.at(x, high) for x in chart.scale.x]
                chart.on_line("ceiling", across, (0.3, 0.5, 0.7))
        points = chart.line(*_curve(values[good], altitude[good]), "curve")
        chart.mark(points[-1], "disc", size=6.0)
        end = _end(values[good][-1], title)
        ends.append(end)
        chart.want("end", [end], [points[-1]], bold=1)
        chart.set_labels()
        panels.append(chart.drawing)
    weight = show(path.mass, Kind.MASS, system).text
    words = f"Climb from {weight} to {show(float(path.altitude[good][-1]), Kind.LEVEL, system).text}: "
    return side_by_side("climb chart", panels, gap=GAP), words + ", ".join(ends) + "."


def _curve(values: NDArray[np.float64], altitude: NDArray[np.float64]) -> tuple[list[float], list[float]]:
    """Return the curve through computed points without corners, monotone where they are.

    Source: Fritsch and Carlson, Monotone Piecewise Cubic Interpolation, SIAM Journal on Numerical Analysis 17
    (2), 1980.
    """
    if len(altitude) < 3 or not (np.diff(altitude) > 0.0).all():
        return values.tolist(), altitude.tolist()
    from scipy.interpolate import PchipInterpolator

    parts = len(altitude) - 1
    fine: NDArray[np.float64] = np.linspace(0.0, float(parts), BETWEEN * parts + 1)
    level = np.interp(fine, np.arange(parts + 1), altitude)
    between: NDArray[np.float64] = PchipInterpolator(altitude, values)(level)
    return between.tolist(), level.tolist()


def _end(value: float, title: str) -> str:
    unit = title.rsplit(" ", 1)[1]
    number = f"{value:.1f}" if unit == "min" else f"{value:,.0f}".replace(",", "\u202f")
    return f"{number} {unit}"
