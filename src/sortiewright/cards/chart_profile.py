"""Heights along the route: a profile over distance, with the points named."""

from __future__ import annotations

import numpy as np

from sortiewright.cards.chart_frame import TEXT_SIZE, WIDTH, Chart
from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.labels import Box, raise_flags
from sortiewright.sortie import FlownRoute, Kind, System, convert

ASPECT = 0.24
HEADROOM = 1.08
THOUSAND = 1_000.0
TIER_AIR = 0.5
"""Between the lines of two tiers of flags."""
CLEAR = 3.0
"""Between a flag and what stands under it."""


def profile_chart(
    flown: FlownRoute, *, system: System = "trade", width: float = WIDTH, text_size: float = TEXT_SIZE
) -> tuple[Drawing, str]:
    """Return the profile, and in words what it shows: pressure altitude over distance flown.

    Raises ``OverflowError`` for a name wider than the chart; the message is its box.
    """
    foot = convert(1.0, Kind.LEVEL, system)[0] / THOUSAND
    mile, sign = convert(1.0, Kind.DISTANCE, system)
    # The approach is an allowance, without a way of its own: the line ends at the fix.
    last = int(np.argmax(flown.track_distance)) + 1 if len(flown.track_distance) else 0
    distance, altitude = flown.track_distance[:last] * mile, flown.track_altitude[:last] * foot
    far = max(float(distance[-1]) if last else 0.0, 1.0)
    high = max(float(altitude.max()) if last else 0.0, 1.0)
    points = _points(flown, mile, foot)
    chart = Chart("route profile", width, text_size, "00", aspect=ASPECT)
    plot = chart.plot
    labels = [
        chart.drawing.label(str(place), [name], (plot.left + x / far * plot.width, 0.0))
        for place, (name, x, _) in enumerate(points)
    ]
    try:
        flags = raise_flags(labels, left=plot.left, right=chart.drawing.width)
    except ValueError as wide:
        raise OverflowError(f"route profile: {points[int(str(wide))][0]}") from None
    line = LINE_HEIGHT * text_size + TIER_AIR
    tiers = max((flag.tier for flag in flags), default=-1) + 1
    room = tiers * line + CLEAR
    # Names stand over the line on as many tiers as they need, and the chart is that much higher.
    chart = Chart("route profile", width, text_size, "00", aspect=ASPECT + room / width)
    plot = chart.plot
    chart.set_scale((0.0, far), (0.0, HEADROOM * high * plot.height / (plot.height - room)))
    chart.axes(
        f"Distance flown, {sign}", f"Pressure altitude, 1\u202f000 {convert(0.0, Kind.LEVEL, system)[1]}"
    )
    for flag in flags:
        x, y = chart.scale.at(*points[int(flag.label.name)][1:])
        top = plot.top + room - CLEAR - (flag.tier + 1) * line
        chart.drawing.path([(x, y), (x, top + 0.15 * line)], "faint")
        box = Box(flag.left, top, flag.label.width, line - TIER_AIR)
        name = points[int(flag.label.name)][0]
        chart.drawing.text(box, [name], align="left" if flag.to_right else "right", ground=True)
    chart.line(distance.tolist(), altitude.tolist(), "curve")
    for _, x, y in points:
        chart.mark(chart.scale.at(x, y), "disc", size=5.5)
    names = ", ".join(dict.fromkeys(name for name, _, _ in points))
    return chart.drawing, f"Height along the route by {names}." if names else "No route."


def _points(flown: FlownRoute, mile: float, foot: float) -> list[tuple[str, float, float]]:
    """Return name, distance flown and pressure altitude, as they are drawn, of every leg's end."""
    points: list[tuple[str, float, float]] = []
    done = 0.0
    for row in flown.rows:
        done += row.distance
        if row.leg >= 0 and row.distance > 0.0 and row.end == flown.points[row.leg + 1]:
            points.append((row.end.name, done * mile, row.end_altitude * foot))
    return points
