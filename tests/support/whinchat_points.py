"""Handbook rows of an aircraft that is whinchat but for known factors: what a fit must find again."""

from __future__ import annotations

import csv
import io

import numpy as np

HEAD = [
    *(
        "row",
        "quantity",
        "value",
        "unit",
        "tolerance",
        "mass",
        "pressure_altitude",
        "to_altitude",
        "temperature",
    ),
    *("headwind", "slope", "configuration", "power", "runway_condition_reading", "mach", "cas", "drag_index"),
]
UNITS = ["", "", "", "", "", "lb", "ft", "ft", "degC", "kt", "%", "", "", "", "", "kt", ""]


def cases(quantity, unit, names, *values):
    """Rows of one quantity: the named conditions, with one tuple of values each."""
    return [{"quantity": quantity, "unit": unit, **dict(zip(names, one, strict=True))} for one in values]


FIELD = ("mass", "pressure_altitude", "temperature")
CASES = [
    *cases(
        "ground_run",
        "ft",
        (*FIELD, "headwind", "slope", "drag_index"),
        (6500, 0, 15, 0, 0, 0),
        (7400, 0, 30, 0, 0, 0),
        (7900, 2000, 20, 10, 0, 24),
        (7000, 4000, 25, 0, 1, 0),
        (6000, 1000, 0, 0, -1, 0),
    ),
    *cases("distance_to_screen", "ft", FIELD, (7400, 0, 15), (7900, 3000, 25)),
    *cases("lift_off_speed", "kt", FIELD, (6200, 0, 15), (7000, 0, 15), (7800, 0, 15)),
    *cases(
        "stall_speed",
        "kt",
        (*FIELD, "configuration"),
        (6500, 0, 15, "clean"),
        (7500, 0, 15, "clean"),
        (6500, 0, 15, "takeoff"),
        (7500, 0, 15, "takeoff"),
        (6500, 0, 15, "landing"),
        (7400, 0, 15, "landing"),
    ),
    *cases(
        "rate_of_climb",
        "ft/min",
        ("mass", "pressure_altitude", "cas", "drag_index"),
        (7400, 1000, 230, 0),
        (7000, 10000, 230, 0),
        (6800, 18000, 230, 0),
        (7600, 5000, 230, 24),
    ),
    *cases("time_to_climb", "min", ("mass", "pressure_altitude", "to_altitude"), (7400, 1000, 20000)),
    *cases("fuel_to_climb", "lb", ("mass", "pressure_altitude", "to_altitude"), (7400, 1000, 20000)),
    *cases(
        "fuel_flow",
        "lb/h",
        ("mass", "pressure_altitude", "mach", "drag_index"),
        (6800, 15000, 0.40, 0),
        (6400, 20000, 0.45, 0),
        (7200, 10000, 0.40, 24),
    ),
    *cases("approach_speed", "kt", FIELD, (6300, 0, 15), (7300, 0, 15)),
    *cases(
        "landing_roll",
        "ft",
        (*FIELD, "runway_condition_reading"),
        (6300, 0, 15, 23),
        (7300, 2000, 15, 23),
        (6500, 0, 15, 12),
    ),
]
"""Thirty rows: takeoff, stall, climb, cruise, approach and landing."""

TOLERANCES = {"kt": 0.01, "ft": 0.02, "ft/min": 0.02, "min": 0.02, "lb": 0.02, "lb/h": 0.015}
"""Shares, taken as 95 %: what a chart can be read to; common practice, no source."""


def text_of(values, *, cases=CASES, tolerances=TOLERANCES):
    """The file that holds these values, in each row's own unit."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(HEAD)
    writer.writerow(UNITS)
    for number, (case, value) in enumerate(zip(cases, values, strict=True), 1):
        row = {
            "row": f"P{number}",
            "value": f"{value:.7g}",
            "tolerance": f"{100 * tolerances[case['unit']]:g}%",
        }
        writer.writerow([{**row, **case}.get(name, "") for name in HEAD])
    return stream.getvalue()


def noisy(exact, generator, *, cases=CASES, scale=1.0):
    """The values with errors of half each tolerance as standard deviation."""
    shares = np.array([TOLERANCES[case["unit"]] / 2 for case in cases])
    return np.asarray(exact) * (1.0 + scale * shares * generator.standard_normal(len(shares)))
