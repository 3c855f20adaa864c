"""Where the points of a route lie, and the way between them: distance, courses, variation."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from sortiewright.air import (
    OutsideMagneticModel,
    UnknownAerodrome,
    aerodrome_by_icao,
    destination,
    geodesic,
    magnetic_variation,
)
from sortiewright.sortie.place import landing_place, takeoff_place
from sortiewright.sortie.route_flown import PlacedPoint
from sortiewright.sortie.route_schema import PointName, RoutePoint
from sortiewright.sortie.schema import AerodromeToday, Sortie


@dataclass(frozen=True, slots=True)
class Way:
    """The geodesic between two points: m, and true courses, degrees, at its start and middle.

    Heading is that of the start, as a flight log has it; wind along the way is taken on the course at the
    middle.
    """

    start: PlacedPoint
    end: PlacedPoint
    distance: float
    course_deg: float
    middle_course_deg: float

    def point_at(self, distance: float, name: str) -> PlacedPoint:
        """Return the point ``distance`` m from the start, or the end itself."""
        if distance >= self.distance - 0.5:
            return self.end
        latitude, longitude, _ = _ahead(
            self.start.latitude_deg, self.start.longitude_deg, self.course_deg, round(distance, 3)
        )
        return PlacedPoint(name, latitude, longitude)


def way_between(start: PlacedPoint, end: PlacedPoint) -> Way:
    """Return the geodesic from one point to another."""
    distance, course, middle = _way(
        start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg
    )
    return Way(start, end, distance, course, middle)


def placed_point(sortie: Sortie, name: PointName) -> PlacedPoint | None:
    """Return where a point of the sortie's route lies; None where nothing of that name is known.

    A name is looked for among the route's points, then the sortie's own fields, then the open list of
    aerodromes.
    """
    if isinstance(name, RoutePoint):
        return PlacedPoint(name.title or _position_name(name), name.latitude, name.longitude)
    if sortie.route is not None and (point := sortie.route.points.get(name)) is not None:
        return PlacedPoint(name, point.latitude, point.longitude)
    for field in (takeoff_place(sortie).field, landing_place(sortie).field):
        if name in _names(field) and (place := field_position(field)) is not None:
            return PlacedPoint(name, *place)
    try:
        known = aerodrome_by_icao(name)
    except UnknownAerodrome:
        return None
    return PlacedPoint(known.icao, known.latitude_deg, known.longitude_deg)


def field_point(field: AerodromeToday) -> PlacedPoint | None:
    """Return a field of the sortie as a point, under its name; None where its place is not known."""
    place = field_position(field)
    return None if place is None else PlacedPoint(field.name or field.icao or "field", *place)


def field_position(field: AerodromeToday) -> tuple[float, float] | None:
    """Return latitude and longitude of a field, as written or from the open list."""
    if field.latitude is not None and field.longitude is not None:
        return field.latitude, field.longitude
    try:
        known = aerodrome_by_icao(field.icao or "")
    except UnknownAerodrome:
        return None
    latitude = known.latitude_deg if field.latitude is None else field.latitude
    return latitude, known.longitude_deg if field.longitude is None else field.longitude


def known_names(sortie: Sortie) -> list[str]:
    """Return the names of points a route of this sortie may use, but for the open list's codes."""
    points = list(sortie.route.points) if sortie.route is not None else []
    fields = (takeoff_place(sortie).field, landing_place(sortie).field)
    return list(dict.fromkeys([*points, *(name for field in fields for name in _names(field))]))


@lru_cache(maxsize=256)
def variation_at(point: PlacedPoint, day: date) -> float | None:
    """Return the magnetic variation, degrees east positive; None outside the years of the model."""
    try:
        return float(magnetic_variation(point.latitude_deg, point.longitude_deg, day))
    except OutsideMagneticModel:
        return None


def _names(field: AerodromeToday) -> list[str]:
    return [name for name in (field.name, field.icao) if name]


def _position_name(point: RoutePoint) -> str:
    north, east = ("N" if point.latitude >= 0 else "S"), ("E" if point.longitude >= 0 else "W")
    return f"{abs(point.latitude):.3f}{north} {abs(point.longitude):.3f}{east}"


# A crew that edits its route plans the same legs again and again; the library solves one line at a time.
@lru_cache(maxsize=512)
def _way(
    latitude_1: float, longitude_1: float, latitude_2: float, longitude_2: float
) -> tuple[float, float, float]:
    line = geodesic(latitude_1, longitude_1, latitude_2, longitude_2)
    distance, course = float(line.distance), float(line.initial_course_deg)
    middle = destination(latitude_1, longitude_1, course, 0.5 * distance)
    return distance, course, float(middle.final_course_deg)


@lru_cache(maxsize=512)
def _ahead(latitude: float, longitude: float, course: float, distance: float) -> tuple[float, float, float]:
    found = destination(latitude, longitude, course, distance)
    return float(found.latitude_deg), float(found.longitude_deg), float(found.final_course_deg)
