"""The landing data card: approach by angle of attack and speed, then every case against the runway."""

from __future__ import annotations

import math
from typing import Any

from sortiewright.cards.reading import Reading, Row, bar_state, row
from sortiewright.cards.runway import landing_strip
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import Kind, LandingCase, show

# Shown elsewhere on the card; all other figures of the plan's landing follow as they come.
SHOWN_ABOVE = frozenset(
    {
        "approach_cas",
        "approach_angle_of_attack",
        "gust_increment",
        "touchdown_cas",
        "landing_mass",
        "landing_distance",
        "landing_distance_available",
    }
)


def landing_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the landing data card shows."""
    plan = reading.plan
    ends = [case.total + case.margin for case in plan.landings if math.isfinite(case.total)]
    available = ends[0] if ends else plan.runway.length - plan.runway.displaced_threshold
    longest = max([available, *(case.total for case in plan.landings if math.isfinite(case.total))])
    return {
        "approach": reading.row("landing", "approach_cas", title="Approach speed", required=True),
        "angle": reading.row(
            "landing", "approach_angle_of_attack", title="On-speed angle of attack", required=True
        ),
        "gust": reading.row("landing", "gust_increment"),
        "touchdown": reading.row("landing", "touchdown_cas", title="Touchdown", required=True),
        "mass": reading.row("landing", "landing_mass", title="Landing mass", required=True),
        "strip": landing_strip(reading, sheet),
        "available": available / longest,
        "available_text": reading.text(available, Kind.RUNWAY_DISTANCE, rounding="down"),
        "cases": [case_row(reading, case, available, longest) for case in ordered(plan.landings)],
        "technique": technique(reading),
    }


def technique(reading: Reading) -> list[Row]:
    """Return every figure of the landing that the card's head does not show."""
    names = [one.name for one in reading.figures("landing") if one.name not in SHOWN_ABOVE]
    rows = (reading.row("landing", name, both=True) for name in names)
    return [one for one in rows if one is not None]


def ordered(cases: tuple[LandingCase, ...]) -> list[LandingCase]:
    """Return the cases with today's own first, and without others that are the same as one of today's."""
    today = [case for case in cases if case.name.startswith("today")]
    same = {(case.chute, case.approach_cas, case.total) for case in today}
    others = [
        case
        for case in cases
        if case not in today and (case.chute, case.approach_cas, case.total) not in same
    ]
    return [*today, *others]


def case_row(reading: Reading, case: LandingCase, available: float, longest: float) -> Row:
    """Return one landing case: distance from the threshold to the stop, and the runway left after it."""
    finite = math.isfinite(case.total)
    left = "never stops" if not finite else left_text(reading, case.margin)
    # Its own speeds only where they differ from those in the card's head.
    approach = reading.text(case.approach_cas, Kind.CAS)
    differs = approach != reading.figure_text("landing", "approach_cas")
    speeds = f"approach {approach}, touchdown {reading.text(case.touchdown_cas, Kind.CAS)}" if differs else ""
    state = "missing" if case.problem and not finite else bar_state(case.total, available)
    return row(
        case.title,
        show(case.total, Kind.RUNWAY_DISTANCE, reading.system),
        note=case.problem or speeds,
        state=state,
    ) | {
        "reading": show(case.runway_condition_reading, Kind.NUMBER).number,
        "left": printable(left if state != "missing" else ""),
        "share": min(1.0, case.total / longest) if finite else 1.0,
        "air_share": min(1.0, case.air_distance / longest) if finite else 0.0,
        "today": case.name.startswith("today"),
    }


def left_text(reading: Reading, margin: float) -> str:
    """Return the runway left, or by how much it is too short."""
    if margin >= 0:
        return f"{reading.text(margin, Kind.RUNWAY_DISTANCE, rounding='down')} left"
    return f"{reading.text(-margin, Kind.RUNWAY_DISTANCE, rounding='up')} short"
