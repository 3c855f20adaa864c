"""Computations on the wind: along and across a runway, and along a course."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, print_answer
from sortiewright.commands.faults import UsageError
from sortiewright.commands.inputs import Course, RunwayHeading, Speed, Variation, WindText
from sortiewright.commands.output import FOR_PEOPLE, Output, joined

if TYPE_CHECKING:
    from sortiewright.air import Wind


def wind(
    runway: RunwayHeading,
    wind: WindText,
    /,
    *,
    variation: Variation | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Wind along and across a runway.

    Example: sortiewright calc wind 09 240/15G25

    Parameters
    ----------
    runway
        Runway heading in three digits (092), or its designator (09L: heading 090).
    wind
        240/15, 240/15G25, VRB/05, calm, or as in a weather report: 24015G25KT; knots, MPS or KMH.
    variation
        Magnetic variation (3E, 2W), where the wind is true and the runway heading magnetic.
    """
    from sortiewright.air import approach_gust_increment, runway_wind

    true_heading = (runway + (variation or 0.0)) % 360.0
    parts = runway_wind(wind, true_heading)
    headwind, crosswind = float(parts.headwind), float(parts.crosswind)
    share = wind.strongest / wind.speed if wind.speed else 1.0
    lines = [_along("headwind", "", headwind), _across("crosswind", "", crosswind, wind)]
    if wind.gust is not None:
        lines += [
            _along("headwind_in_gust", " in gusts", headwind * share),
            _across("crosswind_in_gust", " in gusts", crosswind * share, wind),
        ]
    lines += [
        Line(
            "headwind_for_distance",
            "For takeoff distance",
            float(parts.headwind_for_distance),
            out.SPEED,
            "headwind from the mean, tailwind (negative) with the gust",
        ),
        Line("tailwind_limit", "Against a tailwind limit", float(parts.tailwind_limit), out.SPEED),
        Line("crosswind_limit", "Against a crosswind limit", float(parts.crosswind_limit), out.SPEED),
        Line(
            "approach_increment",
            "Add on approach",
            approach_gust_increment(wind),
            out.SPEED,
            "half of the gust over the mean (FAA-H-8083-3)",
        ),
    ]
    reference = (
        "Runway and wind are in the same reference: a report's wind is true, a tower's is magnetic."
        if variation is None
        else f"The wind is true; the runway's true heading is {true_heading % 360.0:03.0f}."
    )
    notes = ["The wind is named by where it comes from.", reference]
    if wind.direction_from_deg is None:
        notes.append("Variable wind counts in full as tailwind and as crosswind, and not as headwind.")
    given = (
        Line("runway_heading", "runway heading", runway, out.COURSE),
        *_given_wind(wind),
        Line("variation", "variation", variation, out.DEGREES),
    )
    print_answer(Answer("Wind on the runway", given, tuple(lines), tuple(notes)), output)


def wind_triangle(
    course: Course,
    tas: Speed,
    wind: WindText,
    /,
    *,
    variation: Variation | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Heading that holds a course in a wind, and the ground speed along it.

    Example: sortiewright calc wind-triangle 090 120 045/40

    Parameters
    ----------
    course
        True course to hold (degrees).
    tas
        True airspeed (kt).
    wind
        True wind: 045/40.
    variation
        Magnetic variation (3E, 2W), to have the magnetic heading too.
    """
    from sortiewright.air import NoWindSolution, to_magnetic, wind_triangle

    if wind.direction_from_deg is None:
        raise UsageError("a variable wind has no direction: a course needs one")
    try:
        held = wind_triangle(course, tas, wind.direction_from_deg, wind.speed)
    except NoWindSolution:
        strength, speed = (
            joined(*Line("", "", one, out.SPEED).written(output.units)) for one in (wind.speed, tas)
        )
        raise UsageError(
            f"no heading holds course {course:03.0f}: at a true airspeed of {speed} the wind of {strength} "
            "carries the aircraft off it, or backwards"
        ) from None
    heading = float(held.true_heading_deg)
    correction = float(held.wind_correction_angle_deg)
    lines = [
        Line("true_heading", "True heading", heading, out.COURSE),
        Line(
            "wind_correction_angle", "Wind correction angle", correction, out.DEGREES, "positive to the right"
        ),
        Line("ground_speed", "Ground speed", float(held.ground_speed), out.SPEED),
    ]
    if variation is not None:
        magnetic = float(to_magnetic(heading, variation))
        lines.insert(1, Line("magnetic_heading", "Magnetic heading", magnetic, out.COURSE))
    given = (
        Line("course", "true course", course, out.COURSE),
        Line("tas", "TAS", tas, out.SPEED),
        *_given_wind(wind),
        Line("variation", "variation", variation, out.DEGREES),
    )
    note = "Course and wind are true; the wind is named by where it comes from."
    print_answer(Answer("Wind triangle", given, tuple(lines), (note,)), output)


def _given_wind(wind: Wind) -> tuple[Line, ...]:
    direction = "variable" if wind.direction_from_deg is None else wind.direction_from_deg
    return (
        Line("wind_from", "wind" if wind.direction_from_deg is None else "wind from", direction, out.COURSE),
        Line("wind_speed", "at", wind.speed, out.SPEED),
        Line("gust", "gusts", wind.gust, out.SPEED),
    )


def _along(name: str, when: str, headwind: float) -> Line:
    if headwind < 0.0:
        return Line(name, f"Tailwind{when}", headwind, out.SPEED, "negative headwind")
    return Line(name, f"Headwind{when}", headwind, out.SPEED)


def _across(name: str, when: str, crosswind: float, wind: Wind) -> Line:
    if wind.direction_from_deg is None:
        side = "from either side"
    elif abs(crosswind) < 1e-9:
        side = ""
    else:
        side = "from the right" if crosswind > 0.0 else "from the left (negative)"
    return Line(name, f"Crosswind{when}", crosswind, out.SPEED, side)
