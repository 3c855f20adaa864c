"""The route and its fuel as plain data: full precision, every value with its unit."""

from __future__ import annotations

from typing import Any

from sortiewright.sortie.figures import Kind
from sortiewright.sortie.json_values import quantity
from sortiewright.sortie.route_flown import (
    FlownRoute,
    FuelPlan,
    PlacedPoint,
    ReturnFuel,
    RouteFault,
    RouteRow,
)
from sortiewright.sortie.units import System


def route_to_json(flown: FlownRoute, system: System) -> dict[str, Any]:
    """Return points, rows and faults of a route; directions are degrees, positions degrees north and east."""
    return {
        "complete": flown.complete,
        "points": [place_to_json(point) for point in flown.points],
        "rows": [_row(row, system) for row in flown.rows],
        "faults": [_fault(fault) for fault in flown.faults],
    }


def fuel_to_json(fuel: FuelPlan, system: System) -> dict[str, Any]:
    """Return the ladder, every way home, and bingo by distance."""

    def mass(value: float | None) -> Any:
        return quantity(value, Kind.MASS, system)

    return {
        "bingo": mass(fuel.bingo),
        "joker": mass(fuel.joker),
        "minimum": mass(fuel.minimum),
        "emergency": mass(fuel.emergency),
        "at_fix": mass(fuel.at_fix),
        "landing_fuel": mass(fuel.landing_fuel),
        "farthest": None if fuel.farthest is None else place_to_json(fuel.farthest),
        "radius": quantity(fuel.radius, Kind.DISTANCE, system),
        "last_return": None if fuel.last_return is None else place_to_json(fuel.last_return),
        "last_return_elapsed": quantity(fuel.last_return_elapsed, Kind.TIME, system),
        "ladder": [
            {
                "title": step.title,
                "row": str(step.row),
                "planned": mass(step.planned),
                "least": mass(step.least),
                "tanks": {name: mass(kg) for name, kg in step.tanks.items()},
                "mass": mass(step.balance.mass),
                "centre_of_gravity": quantity(step.balance.share_of_chord, Kind.PERCENT_MAC, system),
                "inside": step.check.inside,
                "elapsed": quantity(step.elapsed, Kind.TIME, system),
                "remarks": list(step.remarks),
            }
            for step in fuel.ladder
        ],
        "returns": [_way_home(one, system) for one in fuel.returns],
        "alternate": None if fuel.alternate is None else _way_home(fuel.alternate, system),
        "bingo_by_distance": [
            {"distance": quantity(float(far), Kind.DISTANCE, system), "bingo": mass(float(kg))}
            for far, kg in zip(fuel.bingo_distance, fuel.bingo_fuel, strict=True)
        ],
        "faults": [_fault(fault) for fault in fuel.faults],
    }


def place_to_json(point: PlacedPoint) -> dict[str, Any]:
    """Return a point: its name, degrees north and east."""
    return {
        "name": point.name,
        "latitude": {"value": point.latitude_deg, "unit": "deg"},
        "longitude": {"value": point.longitude_deg, "unit": "deg"},
    }


def _row(row: RouteRow, system: System) -> dict[str, Any]:
    values = (
        ("start_altitude", Kind.LEVEL),
        ("end_altitude", Kind.LEVEL),
        ("mach", Kind.MACH),
        ("cas", Kind.CAS),
        ("tas", Kind.TAS),
        ("ground_speed", Kind.GROUND_SPEED),
        ("wind_speed", Kind.WIND_SPEED),
        ("distance", Kind.DISTANCE),
        ("air_distance", Kind.DISTANCE),
        ("time", Kind.TIME),
        ("fuel", Kind.MASS),
        ("fuel_on", Kind.MASS),
        ("fuel_flow", Kind.MASS_FLOW),
        ("fuel_aboard", Kind.MASS),
        ("elapsed", Kind.TIME),
    )
    directions = (
        "true_course",
        "magnetic_course",
        "true_heading",
        "magnetic_heading",
        "variation",
        "wind_from",
    )
    return {
        "part": row.part,
        "leg": None if row.leg < 0 else str(row.leg),
        "title": row.title,
        "start": place_to_json(row.start),
        "end": place_to_json(row.end),
        "at": f"{row.at:%Y-%m-%dT%H:%M:%SZ}",
        **{name: quantity(getattr(row, name), kind, system) for name, kind in values},
        **{name: quantity(getattr(row, f"{name}_deg"), Kind.COURSE, system) for name in directions},
        "isa_deviation": quantity(row.isa_deviation, Kind.TEMPERATURE, system, True),
        "mass": quantity(row.balance.mass, Kind.MASS, system),
        "remarks": list(row.remarks),
    }


def _way_home(one: ReturnFuel, system: System) -> dict[str, Any]:
    masses = ("climb_fuel", "cruise_fuel", "descent_fuel", "recovery_fuel", "unusable", "bingo")
    return {
        "profile": one.profile,
        "start": place_to_json(one.start),
        "to": place_to_json(one.to),
        "distance": quantity(one.distance, Kind.DISTANCE, system),
        "altitude": quantity(one.altitude, Kind.LEVEL, system),
        "mach": quantity(one.mach, Kind.MACH, system),
        "time": quantity(one.time, Kind.TIME, system),
        **{name: quantity(getattr(one, name), Kind.MASS, system) for name in masses},
        "problem": one.problem,
        "remark": one.remark,
    }


def _fault(fault: RouteFault) -> dict[str, Any]:
    return {
        "severity": fault.severity,
        "leg": None if fault.leg < 0 else str(fault.leg),
        "text": fault.text,
        "hint": fault.hint,
        "key": ".".join(str(part) for part in fault.key),
    }
