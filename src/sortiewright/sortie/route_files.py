"""The route in two open formats: GeoJSON (RFC 7946) and GPX 1.1 (topografix.com/GPX/1/1).

Longitude comes first in GeoJSON; heights in both are metres above mean sea level, which is taken as pressure
altitude less that of the altimeter's zero.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from math import isfinite
from xml.sax.saxutils import escape, quoteattr

from sortiewright import __version__
from sortiewright.sortie.route_flown import FlownRoute, PlacedPoint, RouteRow

GPX_NAMESPACE = "http://www.topografix.com/GPX/1/1"
DECIMALS = 6  # of a degree: a tenth of a metre


def route_geojson(flown: FlownRoute, *, title: str = "Route", sea_level: float = 0.0) -> str:
    """Return the route as a GeoJSON FeatureCollection: a point for each point, a line for the track.

    ``sea_level`` is the pressure altitude, m, of the altimeter's zero. A track across the 180th meridian is
    cut there, as RFC 7946, section 3.1.9, asks.
    """
    arrivals = _arrivals(flown)
    features: list[dict[str, object]] = []
    for number, point in enumerate(flown.points):
        properties: dict[str, object] = {"name": point.name, "number": number}
        if (row := arrivals.get(number)) is not None:
            properties["time"] = _clock(row.at)
            properties["fuel_kg"] = round(row.fuel_aboard, 1)
        where = {"type": "Point", "coordinates": _position(point)}
        features.append({"type": "Feature", "geometry": where, "properties": properties})
    lines = _lines(flown, sea_level)
    if lines:
        many = len(lines) > 1
        geometry = {
            "type": "MultiLineString" if many else "LineString",
            "coordinates": lines if many else lines[0],
        }
        properties = {"name": title, "complete": flown.complete}
        features.append({"type": "Feature", "geometry": geometry, "properties": properties})
    whole = {"type": "FeatureCollection", "features": features}
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def route_gpx(flown: FlownRoute, *, title: str = "Route", sea_level: float = 0.0) -> str:
    """Return the route as a GPX 1.1 document: its points as a route, its track with heights and times."""
    arrivals = _arrivals(flown)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator={quoteattr(f"sortiewright {__version__}")} xmlns="{GPX_NAMESPACE}">',
        f"  <metadata><name>{escape(title)}</name></metadata>",
        f"  <rte><name>{escape(title)}</name>",
    ]
    for number, point in enumerate(flown.points):
        row = arrivals.get(number)
        time = f"<time>{_clock(row.at)}</time>" if row is not None else ""
        lines.append(f"    <rtept {_place(point)}>{time}<name>{escape(point.name)}</name></rtept>")
    lines += ["  </rte>", f"  <trk><name>{escape(title)}</name><trkseg>"]
    start = _brake_release(flown)
    for number in range(len(flown.track_elapsed)):
        latitude, longitude = flown.track_latitude_deg[number], flown.track_longitude_deg[number]
        height = flown.track_altitude[number] - sea_level
        time = _clock(start + timedelta(seconds=float(flown.track_elapsed[number]))) if start else ""
        lines.append(
            f'    <trkpt lat="{latitude:.6f}" lon="{longitude:.6f}"><ele>{height:.1f}</ele>'
            + (f"<time>{time}</time>" if time else "")
            + "</trkpt>"
        )
    return "\n".join([*lines, "  </trkseg></trk>", "</gpx>"]) + "\n"


def _arrivals(flown: FlownRoute) -> dict[int, RouteRow]:
    """Return the row with which each point is reached, by the point's number."""
    found: dict[int, RouteRow] = {}
    for row in flown.rows:
        at_point = row.leg >= 0 and row.end == flown.points[row.leg + 1]
        if at_point and row.distance > 0.0:
            found.setdefault(row.leg + 1, row)
    return found


def _brake_release(flown: FlownRoute) -> datetime | None:
    if not flown.rows:
        return None
    first = flown.rows[0]
    return first.at - timedelta(seconds=first.elapsed)


def _lines(flown: FlownRoute, sea_level: float) -> list[list[list[float]]]:
    """Return the track as lines of positions, cut at the 180th meridian; points one after another differ."""
    lines: list[list[list[float]]] = []
    line: list[list[float]] = []
    for number in range(len(flown.track_latitude_deg)):
        position = [
            round(float(flown.track_longitude_deg[number]), DECIMALS),
            round(float(flown.track_latitude_deg[number]), DECIMALS),
            round(float(flown.track_altitude[number]) - sea_level, 1),
        ]
        if not all(isfinite(part) for part in position):
            continue
        if line and abs(position[0] - line[-1][0]) > 180.0:
            edge = 180.0 if line[-1][0] > 0.0 else -180.0
            crossing = _at_meridian(line[-1], position, edge)
            line.append([edge, *crossing])
            lines.append(line)
            line = [[-edge, *crossing]]
        if not line or position != line[-1]:
            line.append(position)
    return [one for one in (*lines, line) if len(one) > 1]


def _at_meridian(before: list[float], after: list[float], edge: float) -> list[float]:
    """Return latitude and height where a line between two positions crosses the 180th meridian."""
    turned = after[0] + (360.0 if edge > 0.0 else -360.0)
    share = (edge - before[0]) / (turned - before[0])
    return [
        round(low + share * (high - low), DECIMALS) for low, high in zip(before[1:], after[1:], strict=True)
    ]


def _position(point: PlacedPoint) -> list[float]:
    return [round(point.longitude_deg, DECIMALS), round(point.latitude_deg, DECIMALS)]


def _place(point: PlacedPoint) -> str:
    return f'lat="{point.latitude_deg:.6f}" lon="{point.longitude_deg:.6f}"'


def _clock(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
