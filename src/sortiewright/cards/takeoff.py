"""The takeoff data card: the verdict, the speeds in the order they are met, and what stands behind them."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.reading import (
    Reading,
    Row,
    deciding_reason,
    distance_bars,
    uncovered_band,
    verdict_data,
)
from sortiewright.cards.run_up import run_up_table
from sortiewright.cards.typeface import printable

# Who says the number aloud. The seat that steers listens; the other watches the needle and calls.
VOICES = {
    "line_speed_minimum": "rear",
    "decision_speed": "rear",
    "rotation_speed": "rear",
    "gear_up_cas": "front",
    "flap_up_cas": "front",
}
# Name, title where the plan has none, and whether the card shows a dash in its absence; in customary order.
SPEEDS = (
    ("line_speed_minimum", "Line speed, at least", True),
    ("stick_aft_speed", "Stick aft", False),
    ("nosewheel_lift_off_speed", "Nosewheel lift-off", True),
    ("rotation_speed", "Rotation", True),
    ("lift_off_speed", "Lift-off", True),
)
CLIMB_AWAY = (
    "takeoff_attitude",
    "gear_up_cas",
    "flap_up_cas",
    "power_reduction_cas",
    "climb_cas",
    "gear_limit_cas",
    "gear_limit_time",
    "flap_limit_cas",
)
MARGINS = ("tail_strike_margin", "tyre_speed_margin")
ONE_ENGINE_HEADING = "One engine"
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
        "uncovered": "" if band_decides(reading) else printable(uncovered_band(reading)),
        "speeds": speed_rows(reading),
        "settings": setting_cells(reading),
        "conditions": conditions(reading),
        "distances": distances(reading),
        "run_up": reading.rows("run_up", [figure.name for figure in reading.figures("run_up")]),
        "run_up_table": run_up_table(reading),
        "one_engine_heading": ONE_ENGINE_HEADING,
        "margins": [*reading.rows("takeoff", MARGINS), *reading.rows("loading", ("takeoff_fuel",))],
        "climb_away": voiced(reading, "takeoff", CLIMB_AWAY),
        "one_engine": [without_heading(row) for row in reading.rows("engine_failure", ONE_ENGINE)],
        "seat": seat,
        "holder": printable(holder(reading, seat)),
    }


def band_decides(reading: Reading) -> bool:
    """Return whether the verdict's own reason is the uncovered band, which then need not be said twice."""
    decisive = deciding_reason(reading.plan)
    return decisive is not None and decisive.figure == "uncovered_band"


def holder(reading: Reading, seat: str) -> str:
    """Return the name of who sits in a seat: the crew's entry that names it, else by order."""
    crew = reading.plan.crew
    named = [name for title, name in crew if seat in title.lower()]
    at = 0 if seat == "front" else 1
    return named[0] if named else crew[at][1] if len(crew) > at else ""


def without_heading(row: Row) -> Row:
    """Return a row whose title does not repeat the heading that it stands under."""
    short = row["title"].removeprefix(f"{ONE_ENGINE_HEADING}: ")
    return row | {"title": short[:1].upper() + short[1:]}


def speed_rows(reading: Reading) -> list[Row]:
    """Return the speeds of the run in the order they are met; the refusal speed last, as a bound."""
    marker = reading.figure_text("takeoff", "line_marker")
    planned = reading.figure_text("takeoff", "line_speed")
    note = ", ".join(
        part for part in (f"at {marker}" if marker else "", f"planned {planned}" if planned else "") if part
    )
    met = sorted(SPEEDS, key=lambda speed: speed_met(reading, speed[0]))
    rows = [
        reading.row(
            "takeoff",
            name,
            title=title,
            note=note if name == "line_speed_minimum" else "",
            required=required,
            voice=VOICES.get(name, ""),
        )
        for name, title, required in met
    ]
    rows.append(reading.row("engine_failure", "refusal_speed", title="Refusal", required=True))
    return [one for one in rows if one is not None]


def speed_met(reading: Reading, name: str) -> float:
    """Return the speed that a row stands for in the run, for its place in the order."""
    place = [speed[0] for speed in SPEEDS].index(name)
    known = [reading.value("takeoff", speed[0]) for speed in SPEEDS[: place + 1]]
    # One that could not be computed stays behind the one it follows by custom.
    value = known[-1] if known[-1] is not None else max((v for v in known if v is not None), default=0.0)
    return value + 1e-3 * place


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
    found = [figure for section, name in DISTANCES if (figure := reading.figure(section, name)) is not None]
    return distance_bars(found, runway.length - runway.start_offset, reading)
