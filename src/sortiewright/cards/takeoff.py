"""The takeoff data card: the verdict, the speeds in the order they are met, and what stands behind them."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.reading import Reading, Row, distance_bars, uncovered_band, verdict_data
from sortiewright.cards.typeface import printable

# Who says the number aloud. The seat that steers listens; the other watches the needle and calls.
VOICES = {
    "line_speed_minimum": "rear",
    "decision_speed": "rear",
    "rotation_speed": "rear",
    "gear_up_cas": "front",
    "flap_up_cas": "front",
}
CLIMB_AWAY = (
    "takeoff_attitude",
    "gear_up_cas",
    "flap_up_cas",
    "power_reduction_cas",
    "climb_cas",
    "gear_limit_time",
)
MARGINS = ("tail_strike_margin", "tyre_speed_margin", "takeoff_fuel")
ONE_ENGINE = (
    "single_engine_climb_cas",
    "single_engine_gradient_gear_down",
    "single_engine_gradient_gear_up",
    "single_engine_rate_gear_up",
)
DISTANCES = (
    ("takeoff", "ground_run"),
    ("takeoff", "distance_to_screen"),
    ("engine_failure", "accelerate_stop_at_decision"),
    ("engine_failure", "accelerate_go_at_decision"),
    ("engine_failure", "critical_field_length"),
)
CONDITIONS = (
    ("loading", "takeoff_mass"),
    ("loading", "centre_of_gravity_takeoff"),
    ("loading", "drag_index"),
    ("weather", "temperature"),
    ("weather", "qnh"),
    ("weather", "pressure_altitude"),
    ("weather", "wind"),
    ("weather", "headwind"),
    ("weather", "crosswind"),
    ("field", "runway_condition_reading"),
)


def takeoff_data(reading: Reading, seat: str) -> dict[str, Any]:
    """Return what the takeoff data card of one seat shows."""
    decision = reading.row(
        "engine_failure",
        "decision_speed",
        title="Decision speed",
        required=True,
        voice=VOICES["decision_speed"],
    )
    return {
        "verdict": verdict_data(reading),
        "decision": decision,
        "decision_basis": printable(reading.figure_text("engine_failure", "decision_speed_basis")),
        "uncovered": printable(uncovered_band(reading)),
        "speeds": speed_rows(reading),
        "settings": setting_cells(reading),
        "conditions": conditions(reading),
        "distances": distances(reading),
        "run_up": reading.rows("run_up", [figure.name for figure in reading.figures("run_up")]),
        "margins": reading.rows("takeoff", MARGINS),
        "climb_away": voiced(reading, "takeoff", CLIMB_AWAY),
        "one_engine": reading.rows("engine_failure", ONE_ENGINE),
        "seat": seat,
        "holder": printable(holder(reading, seat)),
    }


def holder(reading: Reading, seat: str) -> str:
    """Return the name of who sits in a seat: the crew's entry that names it, else by order."""
    crew = reading.plan.crew
    named = [name for title, name in crew if seat in title.lower()]
    at = 0 if seat == "front" else 1
    return named[0] if named else crew[at][1] if len(crew) > at else ""


def speed_rows(reading: Reading) -> list[Row]:
    """Return the speeds of the run in the order they are met; the refusal speed last, as a bound."""
    marker = reading.figure_text("takeoff", "line_marker")
    planned = reading.figure_text("takeoff", "line_speed")
    note = ", ".join(
        part for part in (f"at {marker}" if marker else "", f"planned {planned}" if planned else "") if part
    )
    wanted = (
        ("takeoff", "line_speed_minimum", "Line speed, at least", note),
        ("takeoff", "nosewheel_lift_off_speed", "Nosewheel lift-off", ""),
        ("takeoff", "rotation_speed", "Rotation", ""),
        ("takeoff", "lift_off_speed", "Lift-off", ""),
        ("engine_failure", "refusal_speed", "Refusal", ""),
    )
    rows = (
        reading.row(section, name, title=title, note=note, required=True, voice=VOICES.get(name, ""))
        for section, name, title, note in wanted
    )
    return [one for one in rows if one is not None]


def setting_cells(reading: Reading) -> list[Row]:
    """Return what is set before the run: trim, flaps, power."""
    wanted = (("loading", "trim", "Trim"), ("takeoff", "flaps", "Flaps"), ("takeoff", "power", "Power"))
    cells = (reading.row(section, name, title=title, required=True) for section, name, title in wanted)
    return [one for one in cells if one is not None]


def voiced(reading: Reading, section: str, names: tuple[str, ...]) -> list[Row]:
    """Return the named figures with the seat that calls each."""
    found = (reading.row(section, name, voice=VOICES.get(name, "")) for name in names)
    return [one for one in found if one is not None]


def conditions(reading: Reading) -> list[list[str]]:
    """Return title and value of what the numbers hold for, so that the crew sees when it changes."""
    pairs: list[list[str]] = []
    for section, name in CONDITIONS:
        figure = reading.figure(section, name)
        if figure is None:
            continue
        value = reading.shown(figure).text
        if figure.value is None and not figure.text:
            value = f"{value} ({figure.problem})" if figure.problem else value
        pairs.append([printable(figure.title), printable(value)])
    return pairs


def distances(reading: Reading) -> dict[str, Any]:
    """Return the distances of the takeoff against the runway from brake release."""
    runway = reading.plan.runway
    found = [
        (figure.title, figure.value, figure.problem)
        for section, name in DISTANCES
        if (figure := reading.figure(section, name)) is not None
    ]
    return distance_bars(found, runway.length - runway.start_offset, reading)
