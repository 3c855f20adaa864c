"""The route in figures: how far, how long, what it burns, the first climb, times on target."""

from __future__ import annotations

from math import isfinite

from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.route_flown import FlownRoute, RouteRow
from sortiewright.sortie.route_text import clock

FLOWN = "rows of the route added up"
CLIMB = "excess power integrated over height and speed, through today's winds and temperatures"


def route_section(numbers: Numbers) -> Section | None:
    """Return the route's figures, None where the sortie has no route."""
    route = numbers.route
    if route is None:
        return None
    if route.flown is None or not route.flown.rows:
        why = route.problem or "nothing of it can be flown"
        lost = Figure("route_length", "Distance", None, Kind.DISTANCE, problem=why)
        return Section("route", "Route", (lost,))
    return Section("route", "Route", tuple(_figures(route.flown)))


def _figures(flown: FlownRoute) -> list[Figure]:
    rows = [row for row in flown.rows if row.leg >= 0 or row.part in ("takeoff", "approach")]
    cut = () if flown.complete else ("as far as it can be flown",)
    distance = sum(row.distance for row in rows)
    figures = [
        Figure("route_length", "Distance", distance, Kind.DISTANCE, FLOWN, cautions=cut),
        Figure(
            "flight_time",
            "Brake release to touchdown",
            sum(row.time for row in rows),
            Kind.TIME,
            FLOWN,
            cautions=cut,
        ),
        Figure(
            "route_fuel",
            "Fuel burnt, start to touchdown",
            sum(row.fuel for row in flown.rows),
            Kind.MASS,
            "fuel flow of each row, and the pack's allowances",
            cautions=cut,
        ),
    ]
    if (taken := sum(row.fuel_on for row in rows)) > 0.0:
        figures.append(Figure("fuel_taken_on", "Fuel taken on", taken, Kind.MASS, "refuelling of the route"))
    figures += _first_climb(flown)
    high = max(rows, key=lambda row: row.end_altitude)
    figures.append(Figure("highest_level", "Highest level", high.end_altitude, Kind.LEVEL, "of the route"))
    if flown.complete and len(rows) > 1:
        figures.append(_at_fix(rows))
    return figures


def _first_climb(flown: FlownRoute) -> list[Figure]:
    """Return time, fuel and distance from brake release to the top of the first climb."""
    end = next((number for number, row in enumerate(flown.rows) if row.part == "climb"), None)
    if end is None:
        return []
    rows = [row for row in flown.rows[: end + 1] if row.part in ("takeoff", "climb")]
    top = rows[-1]
    return [
        Figure("climb_top", "First climb to", top.end_altitude, Kind.LEVEL, "of the route"),
        Figure(
            "climb_time", "Brake release to top of climb", sum(row.time for row in rows), Kind.TIME, CLIMB
        ),
        Figure("climb_fuel", "Fuel to top of climb", sum(row.fuel for row in rows), Kind.MASS, CLIMB),
        Figure(
            "climb_length",
            "Distance to top of climb",
            sum(row.distance for row in rows),
            Kind.DISTANCE,
            CLIMB,
        ),
    ]


def _at_fix(rows: list[RouteRow]) -> Figure:
    last = rows[-2] if rows[-1].part == "approach" else rows[-1]
    text = f"{clock(last.at)}Z at {last.end.name}" if isfinite(last.elapsed) else ""
    return Figure("time_at_fix", "Recovery fix", None, Kind.TIME, FLOWN, text=text)
