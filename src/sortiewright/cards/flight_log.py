"""The flight log card: a line a point with room for what is really seen, and the chart of the route."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from sortiewright.cards.chart_route import route_chart
from sortiewright.cards.reading import Reading
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import FlownRoute, Kind, RouteRow, clock, legs_of, level_text, show

STAYS = frozenset({"orbit", "refuel", "release", "task", "turn"})


def flight_log_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the flight log shows; the plan has a route."""
    flown = reading.plan.route
    assert flown is not None
    drawing, words = route_chart(
        flown,
        system=reading.system,
        width=sheet.width,
        text_size=sheet.sizes["note"],
        # The first card of a set also holds the caution, two lines and a little air.
        highest=sheet.height - 2.0 * sheet.sizes["heading"] - 4.5 * sheet.sizes["note"],
        times=False,
    )
    return {
        "entries": list(_entries(reading, flown)),
        "mass": reading.unit(Kind.MASS)[0],
        "complete": flown.complete,
        "faults": [printable(fault.text) for fault in flown.faults],
        "chart": drawing.data(words),
    }


def _entries(reading: Reading, flown: FlownRoute) -> Iterator[dict[str, Any]]:
    for rows in legs_of(flown):
        first = rows[0]
        if first.leg < 0 and first.part != "approach":
            for row in rows:
                yield _entry(reading, flown, row.title, "", [row])
            continue
        moving = [row for row in rows if row.part not in STAYS and row.distance > 0.0]
        if moving:
            yield _entry(reading, flown, moving[-1].end.name, str(first.leg + 1), moving)
        waiting: list[RouteRow] = []
        for row in rows:
            if row in moving:
                continue
            # A change of height over a point belongs to what is done there.
            waiting.append(row)
            if row.part in STAYS or row.part == "approach":
                title = "Release" if row.part == "release" else row.title
                yield _entry(reading, flown, title, "", waiting)
                waiting = []


def _entry(
    reading: Reading, flown: FlownRoute, title: str, number: str, rows: list[RouteRow]
) -> dict[str, Any]:
    """Return one entry: its name, when it ends, the fuel left then, and how it is flown."""
    last = rows[-1]
    return {
        "number": number,
        "title": printable(title),
        "at": clock(last.at),
        "left": printable(show(last.fuel_aboard, Kind.MASS, reading.system, rounding="down").number),
        "details": [printable(one) for one in _details(reading, flown, rows)],
        "words": printable(rows[0].title if rows[0].part == "release" else ""),
    }


def _details(reading: Reading, flown: FlownRoute, rows: list[RouteRow]) -> Iterator[str]:
    """Yield how an entry is flown: heading, level, speed, ground speed, distance, time, fuel."""
    last = rows[-1]
    level = next((row for row in rows if row.part == "cruise"), last)
    if math.isfinite(level.magnetic_course_deg):
        course, heading = (
            show(angle, Kind.COURSE).text for angle in (level.magnetic_course_deg, level.magnetic_heading_deg)
        )
        yield f"crs {course}"
        yield f"hdg {heading}"
    if last.part not in ("start_and_taxi", "run_up", "approach"):
        heights = [level_text(row.end_altitude, flown.sea_level, reading.system) for row in (level, last)]
        yield heights[0] if heights[0] == heights[1] else f"{heights[0]}, then {heights[1]}"
        yield reading.text(level.cas, Kind.CAS)
    if math.isfinite(level.ground_speed):
        yield f"GS {show(level.ground_speed, Kind.GROUND_SPEED, reading.system).number}"
    if (distance := sum(row.distance for row in rows)) > 0.0:
        yield reading.text(distance, Kind.DISTANCE)
    if (time := sum(row.time for row in rows)) > 0.0:
        minutes, seconds = divmod(round(time), 60)
        yield f"{minutes}:{seconds:02d}"
    if (taken := sum(row.fuel_on for row in rows)) > 0.0:
        yield f"+{show(taken, Kind.MASS, reading.system).number}"
    if (burnt := sum(row.fuel for row in rows)) > 0.0:
        yield f"−{show(burnt, Kind.MASS, reading.system).number}"
