"""A plan as plain data: full precision, every value with its unit."""

from __future__ import annotations

from typing import Any

from sortiewright.sortie.figures import Figure, Kind, Plan
from sortiewright.sortie.json_values import quantity
from sortiewright.sortie.to_json_route import fuel_to_json, route_to_json
from sortiewright.sortie.units import DIFFERENCES, System


def plan_to_json(plan: Plan, system: System = "trade") -> dict[str, Any]:
    """Return the plan for programs.

    An infinite value is the text "never", a margin of less than any runway "none"; a missing one is null with
    a problem. ``route`` and ``fuel`` are there where the sortie has a route.
    """
    flight: dict[str, Any] = {}
    if plan.route is not None:
        flight["route"] = route_to_json(plan.route, system)
    if plan.fuel is not None:
        flight["fuel"] = fuel_to_json(plan.fuel, system)
    return {
        "title": plan.title,
        "callsign": plan.callsign,
        "crew": [{"seat": seat, "name": name} for seat, name in plan.crew],
        "pack": {"name": plan.pack_name, "version": plan.pack_version, "digest": plan.pack_digest},
        "aerodrome": plan.aerodrome,
        "time": plan.time,
        "verdict": plan.verdict.value,
        "reasons": [
            {
                "severity": reason.severity.value,
                "text": reason.text,
                "figure": reason.figure,
                "value": quantity(reason.value, reason.kind, system),
                "limit": quantity(reason.limit, reason.kind, system),
            }
            for reason in plan.reasons
        ],
        "sections": {
            section.name: {figure.name: figure_to_json(figure, system) for figure in section.figures}
            for section in plan.sections
        },
        "load": [
            {
                "title": line.title,
                "group": line.group,
                "mass": quantity(line.mass, Kind.MASS, system),
                "arm_m": line.arm,
                "side_arm_m": line.side_arm,
            }
            for line in plan.load
        ],
        "balance": [
            {
                "title": point.title,
                "mass": quantity(point.mass, Kind.MASS, system),
                "centre_of_gravity": quantity(point.centre_of_gravity, Kind.PERCENT_MAC, system),
                "forward_limit": quantity(point.forward_limit, Kind.PERCENT_MAC, system),
                "aft_limit": quantity(point.aft_limit, Kind.PERCENT_MAC, system),
                "side_moment": quantity(point.side_moment, Kind.SIDE_MOMENT, system),
                "inside": point.inside,
            }
            for point in plan.balance
        ],
        "runway": {
            "designator": plan.runway.designator,
            "length": quantity(plan.runway.length, Kind.RUNWAY_DISTANCE, system),
            "start_offset": quantity(plan.runway.start_offset, Kind.RUNWAY_DISTANCE, system),
            "marks": [
                {
                    "name": mark.name,
                    "from_start": quantity(mark.distance, Kind.RUNWAY_DISTANCE, system),
                    "speed": quantity(mark.cas, Kind.CAS, system),
                }
                for mark in plan.runway.marks
            ],
        },
        "landings": [
            {
                "name": case.name,
                "title": case.title,
                "runway_condition_reading": case.runway_condition_reading,
                "chute": case.chute,
                "approach": quantity(case.approach_cas, Kind.CAS, system),
                "touchdown": quantity(case.touchdown_cas, Kind.CAS, system),
                "air_distance": quantity(case.air_distance, Kind.RUNWAY_DISTANCE, system),
                "ground_roll": quantity(case.ground_roll, Kind.RUNWAY_DISTANCE, system),
                "total": quantity(case.total, Kind.RUNWAY_DISTANCE, system),
                "margin": quantity(case.margin, Kind.RUNWAY_DISTANCE, system),
                "problem": case.problem,
            }
            for case in plan.landings
        ],
        "remarks": list(plan.remarks),
        "caution": plan.caution,
        **flight,
    }


def figure_to_json(figure: Figure, system: System) -> dict[str, Any]:
    """Return one figure with its unit, method and cautions; empty parts are left out."""
    data: dict[str, Any] = {"title": figure.title}
    worded = figure.value is None and figure.text and not figure.problem
    difference = figure.name in DIFFERENCES
    data["value"] = figure.text if worded else quantity(figure.value, figure.kind, system, difference)
    for name, bound in (("low", figure.low), ("high", figure.high)):
        if bound is not None:
            data[name] = quantity(bound, figure.kind, system, difference)
    for name in ("text", "method", "problem"):
        if getattr(figure, name) and not (name == "text" and worded):
            data[name] = getattr(figure, name)
    if figure.cautions:
        data["cautions"] = list(figure.cautions)
    return data
