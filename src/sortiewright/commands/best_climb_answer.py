"""The best climb as an answer: its bound, its optimum, and the schedule a pilot flies, step by step."""

from __future__ import annotations

import math
import time as clock
from typing import TYPE_CHECKING, Literal

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, Measure
from sortiewright.commands.output import System, joined

if TYPE_CHECKING:
    from sortiewright.pack import Pack
    from sortiewright.performance import FlightCases, FlightSetup, OptimalClimb, Segment


def best_climb_answer(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    power: str,
    *,
    aim: Literal["time", "fuel"],
    altitude: float,
    mach: float,
    to_altitude: float,
    to_mach: float,
    given: tuple[Line, ...],
    system: System,
) -> Answer:
    """Return the climb of least time or fuel, level to level; altitudes m.

    Raises ``NoOptimum`` where there is none, ``InputError`` without the optimiser's library.
    """
    from sortiewright.performance import flyable_schedule, optimised_climb

    best = optimised_climb(
        pack,
        setup,
        cases,
        power,
        altitude=altitude,
        mach=mach,
        to_altitude=to_altitude,
        to_mach=to_mach,
        objective=aim,
    )
    begin = clock.perf_counter()
    fly = flyable_schedule(
        pack,
        setup,
        cases,
        power,
        best,
        altitude=altitude,
        mach=mach,
        to_altitude=to_altitude,
        to_mach=to_mach,
        aim=aim,
    )
    seconds = clock.perf_counter() - begin
    steps = tuple(
        Line(f"step_{number}", f"Step {number}", _words(segment, system))
        for number, segment in enumerate(fly.segments, start=1)
    )
    found = bool(fly.segments)
    lines = (
        *_both("bound", "By energy height", best.energy.total_time[0], best.energy.total_fuel[0]),
        *_both("best", "Best", best.total_time, best.total_fuel),
        Line(
            "distance", "Distance, best", float(best.flown.air_distance[0, -1]), out.DISTANCE, "through air"
        ),
        *_both("flyable", "As flown below", fly.time if found else None, fly.fuel if found else None),
        *steps,
    )
    return Answer(f"Climb of least {aim}, {pack.title}", given, lines, _notes(best, seconds, found, system))


def _both(name: str, label: str, time: float | None, fuel: float | None) -> tuple[Line, Line]:
    return (
        Line(f"{name}_time", f"{label}: time", None if time is None else float(time), out.TIME),
        Line(f"{name}_fuel", f"{label}: fuel", None if fuel is None else float(fuel), out.MASS),
    )


def _notes(best: OptimalClimb, seconds: float, found: bool, system: System) -> tuple[str, ...]:
    missed = _number(abs(best.altitude_missed), out.HEIGHT, system)
    notes = (
        "By energy height, height and speed change into each other in no time; the best obeys the equations "
        "of motion, with load factors of 0 to 2.5.",
        f"Flown again on the pack's own tables, the best ends {missed} and "
        f"Mach {abs(best.mach_missed):.3f} off.",
        f"The best took {best.seconds:.1f} s to find, the steps {seconds:.1f} s.",
    )
    if not found:
        notes = ("No schedule of level, steady and straight parts was found that gets there.", *notes)
    return notes


def _words(segment: Segment, system: System) -> str:
    """Return what a pilot does."""
    from sortiewright.performance import Bend, Slant, SpeedChange

    if isinstance(segment, SpeedChange):
        return f"level to {_speed(segment.cas, segment.mach, system)}"
    if isinstance(segment, Bend):
        turn = "pull up" if segment.load_factor > 1.0 else "push over"
        return f"{turn} at {segment.load_factor:.1f} g to {_angle(segment.to_path_angle)}"
    to = "" if segment.to_altitude is None else f" to {_number(segment.to_altitude, out.HEIGHT, system)}"
    if isinstance(segment, Slant):
        return f"hold that path{to}"
    return f"climb at {_speed(segment.cas, segment.mach, system)}{to}"


def _speed(cas: float | None, mach: float | None, system: System) -> str:
    parts = [] if cas is None else [_number(cas, out.SPEED, system)]
    return ", then ".join(parts if mach is None else [*parts, f"Mach {mach:.2f}"])


def _angle(radians: float) -> str:
    degrees = round(math.degrees(radians))
    return "level" if degrees == 0 else f"{abs(degrees)}° {'up' if degrees > 0 else 'down'}"


def _number(value: float, measure: Measure, system: System) -> str:
    return joined(*Line("", "", value, measure).written(system))
