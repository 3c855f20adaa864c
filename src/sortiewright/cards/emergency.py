"""The card for an engine failure on takeoff: stop or go by speed, and what if neither."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from sortiewright.cards.reading import CLOSE, Reading, cable_name, uncovered_band
from sortiewright.cards.typeface import printable
from sortiewright.sortie import Kind, show

GO_FIGURES = (
    "accelerate_go_at_decision",
    "single_engine_gradient_gear_down",
    "single_engine_gradient_gear_up",
)
AUTHOR = "Memory items are the pack author's; the numbers are today's."


def emergency_data(reading: Reading) -> dict[str, Any]:
    """Return what the card shows: two lists of steps, the band between, brakes and cables."""
    decision = reading.figure("engine_failure", "decision_speed")
    known = decision is not None and (decision.value is not None or bool(decision.text))
    speed = reading.figure_text("engine_failure", "decision_speed") if known else "—"
    go = go_steps(reading)
    return {
        "decision": printable(speed),
        "go_from": printable(go_from(reading, speed)),
        "decision_problem": printable("" if known else problem_of(reading, "decision_speed")),
        "stop": stop_steps(reading),
        "stop_note": printable(stop_note(reading)),
        "go": go,
        "go_note": printable(go_note(reading, bool(go))),
        "uncovered": printable(uncovered_band(reading)),
        "status": status_rows(reading),
        "author": printable(AUTHOR),
    }


def go_from(reading: Reading, decision: str) -> str:
    """Return from which speed on to go: with an uncovered band not from the decision speed, but above it."""
    if not uncovered_band(reading):
        return f"At or above {decision}"
    if reading.value("engine_failure", "minimum_go_speed") is None:
        return "Once airborne"
    return f"At or above {reading.figure_text('engine_failure', 'minimum_go_speed')}"


def step(action: str, value: str, note: str = "") -> dict[str, str]:
    """Return one step: what, to which state or by which speed."""
    return {"action": printable(action), "value": printable(value), "note": printable(note)}


def stop_steps(reading: Reading) -> list[dict[str, str]]:
    """Return the steps of a rejected takeoff that this aircraft and this runway have."""
    braking = reading.figure_text("engine_failure", "maximum_braking_speed")
    chute = reading.figure_text("landing", "chute_maximum_cas")
    cables = cables_ahead(reading)
    steps = [
        step("Throttles", "IDLE"),
        step("Wheel brakes", "FULL", f"below {braking} GS" if braking else ""),
    ]
    if chute:
        steps.append(step("Drag chute", "DEPLOY", f"at {chute} or less"))
    if cables:
        limit = reading.figure_text("landing", "hook_limit")
        before = "before " + ", ".join(cable_text(reading, cable) for cable in cables)
        steps.append(step("Hook", "DOWN", f"{before}, {limit} GS at most" if limit else before))
    return steps


def cables_ahead(reading: Reading) -> list[tuple[str, float]]:
    """Return the cables that a reject can still reach: past the longest safe abort, or all if unknown."""
    runway = reading.plan.runway
    abort = reading.value("engine_failure", "longest_safe_abort_marker")
    reached = 0.0 if abort is None else runway.start_offset + abort
    return [cable for cable in runway.cables if cable[1] >= reached]


def cable_text(reading: Reading, cable: tuple[str, float]) -> str:
    """Return a cable by name and by the runway left at it."""
    left = reading.plan.runway.length - cable[1]
    return f"{cable_name(cable[0])} ({reading.text(left, Kind.RUNWAY_DISTANCE, rounding='nearest')} left)"


def stop_note(reading: Reading) -> str:
    """Return where a reject at the decision speed stops, and the delays that it is computed with."""
    runway = reading.plan.runway
    parts: list[str] = []
    stop = reading.value("engine_failure", "accelerate_stop_at_decision")
    if stop is not None:
        left = runway.length - runway.start_offset - stop
        if left >= -CLOSE:
            where = f"{reading.text(max(left, 0.0), Kind.RUNWAY_DISTANCE, rounding='down')} left"
            parts.append(f"From the decision speed it stops with {where}.")
        else:
            where = reading.text(-left, Kind.RUNWAY_DISTANCE, rounding="up")
            parts.append(f"From the decision speed it stops {where} past the end.")
    control = reading.figure_text("engine_failure", "minimum_control_ground_speed")
    if control:
        parts.append(f"Under {control} the rudder alone does not hold it straight.")
    timeline = cast("Sequence[tuple[str, float]]", reading.plan.extra.get("reject_timeline", ()))
    if timeline:
        timed = ", ".join(f"{title} {show(float(after), Kind.TIME).text}" for title, after in timeline)
        parts.append(f"Computed with: {timed}.")
    return " ".join(parts)


def go_steps(reading: Reading) -> list[dict[str, str]]:
    """Return the steps of a takeoff continued on one engine; none where the plan has no figures for it."""
    climb = reading.figure_text("engine_failure", "single_engine_climb_cas")
    go = reading.value("engine_failure", "accelerate_go_at_decision")
    if not climb and go is None:
        return []
    rotation = reading.figure_text("takeoff", "rotation_speed")
    steps = [step("Throttle, live engine", "MAXIMUM")]
    airborne = bool(uncovered_band(reading)) and reading.value("engine_failure", "minimum_go_speed") is None
    if rotation and not airborne:
        steps.append(step("Rotate", rotation))
    steps.append(step("Gear, climbing", "UP"))
    if climb:
        steps.append(step("Climb speed", climb))
    return steps


def go_note(reading: Reading, can_go: bool) -> str:
    """Return what a continued takeoff needs and climbs, or why there is none."""
    if not can_go:
        reason = problem_of(reading, "accelerate_go_at_decision") or problem_of(
            reading, "critical_field_length"
        )
        return f"No continued takeoff: {reason or 'the plan has no figures for it'}."
    parts: list[str] = []
    for name in GO_FIGURES:
        figure = reading.figure("engine_failure", name)
        if figure is not None and (text := reading.figure_text("engine_failure", name)):
            parts.append(f"{figure.title.removeprefix('One engine: ')} {text}")
    words = "; ".join(parts)
    return words[:1].upper() + words[1:]


def problem_of(reading: Reading, name: str) -> str:
    """Return why a figure has no value."""
    figure = reading.figure("engine_failure", name)
    return "" if figure is None else figure.problem.rstrip(".")


def status_rows(reading: Reading) -> list[dict[str, Any]]:
    """Return what is left to manage after the stop: brake heat and cables."""
    rows = (
        reading.row("engine_failure", "brake_energy_at_decision", both=True),
        reading.row("landing", "cable_engagement", both=True),
    )
    return [row for row in rows if row is not None]
