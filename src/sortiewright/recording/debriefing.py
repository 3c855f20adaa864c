"""The debrief of a recording: flights found, rules judged, values measured, runs held against the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TypedDict, TypeVar

from sortiewright.pack import InputError, LoadedPack, OutsideTable, Problem
from sortiewright.recording.comparison_air import in_recorded_air
from sortiewright.recording.comparison_flown import count_takeoffs
from sortiewright.recording.comparison_landing import LandingComparison, compare_landing
from sortiewright.recording.comparison_rejected import RejectedComparison, compare_rejected
from sortiewright.recording.comparison_rejected_flown import rejected_releases
from sortiewright.recording.comparison_takeoff import TakeoffComparison, compare_takeoff
from sortiewright.recording.debrief_record import Debrief, FlightDebrief, worst_first
from sortiewright.recording.debrief_runway import Position, moved_frame, runway_line
from sortiewright.recording.flights import flights_of
from sortiewright.recording.judging import judge_on
from sortiewright.recording.judging_scope import stage_of
from sortiewright.recording.measuring import measure_on
from sortiewright.recording.moments import Flight
from sortiewright.recording.phase_limits import phase_limits_of
from sortiewright.recording.place import RunwayFrame
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_loading import has_rules, load_rules
from sortiewright.recording.rules import Rules
from sortiewright.sortie import LoadedSortie, Numbers, Plan, System, compute, plan

Step = Callable[[str], None]
NO_PACK = (
    "No rule was judged and nothing compared: give the sortie that was flown (--sortie), or its pack (--pack)"
)
NO_SORTIE = (
    "Nothing was held against a plan, and rules that need one were not judged: give the sortie (--sortie)"
)
OTHER_FLIGHT = (
    "This is not the flight of the sortie: rules that need its plan were not judged. "
    "Give the sortie that was flown"
)


@dataclass(frozen=True)
class _Means:
    """What flights are debriefed with."""

    rules: Rules | None
    sortie: LoadedSortie | None
    numbers: Numbers | None
    plan: Plan | None
    flown_pack: LoadedPack | None
    runway_start: Position | None
    anyway: bool
    units: System


def debrief(
    recording: Recording,
    sortie: LoadedSortie | None = None,
    *,
    pack: LoadedPack | None = None,
    runway_start: Position | None = None,
    anyway: bool = False,
    units: System = "trade",
    step: Step | None = None,
) -> Debrief:
    """Return what was found in every flight of a recording.

    Rules and limits are those of ``pack``, the one flown, or else of the sortie's. Without either only
    phases and events are told; without a sortie nothing is compared, and rules that need a plan are not
    evaluated. A takeoff or landing that is not the sortie's is not compared, and ``not_compared`` says why;
    ``anyway`` compares all the same. Where the air that was recorded is not the sortie's, the plan is made
    with it, and ``planned_with`` says so. ``runway_start`` is where the pavement begins; what the reports say
    is in ``units``; ``step`` is told what is under way.

    Raises ``InputError`` for faulty rules, and what ``plan`` raises for a day that cannot be read.
    """
    tell: Step = step or _silent
    chosen = pack or (None if sortie is None else sortie.pack)
    tell("planning")
    means = _Means(
        rules=load_rules(chosen) if chosen is not None and has_rules(chosen) else None,
        sortie=sortie,
        numbers=None if sortie is None else compute(sortie.sortie, sortie.pack.pack),
        plan=None if sortie is None else plan(sortie.sortie, sortie.pack),
        flown_pack=pack,
        runway_start=runway_start,
        anyway=anyway,
        units=units,
    )
    tell("finding phases")
    flights = flights_of(recording, None if chosen is None else phase_limits_of(chosen.pack))
    tell("judging and comparing")
    debriefed = tuple(_debriefed(recording, flight, means) for flight in flights)
    notes = tuple(_notes(chosen, means))
    return Debrief(recording, debriefed, means.plan, chosen, means.rules, notes, units)


def _silent(text: str) -> None:
    pass


def _notes(pack: LoadedPack | None, means: _Means) -> Iterator[str]:
    if pack is None:
        yield NO_PACK
        return
    if means.rules is None:
        yield f"Pack {pack.pack.name} has no rules: nothing was judged or measured"
    else:
        yield from means.rules.remarks
    if means.sortie is None:
        yield NO_SORTIE


def _debriefed(recording: Recording, flight: Flight, means: _Means) -> FlightDebrief:
    means, planned_with = _in_recorded_air(recording, flight, means)
    compared = _comparisons(recording, flight, means)
    notes, plan, numbers = flight.notes, means.plan, means.numbers
    if not compared.is_of_sortie:
        notes, plan, numbers, planned_with = (*notes, OTHER_FLIGHT), None, None, ()
    line = runway_line(recording, flight, numbers, means.runway_start)
    made = FlightDebrief(
        flight,
        takeoffs=compared.takeoffs,
        rejected=compared.rejected,
        landings=compared.landings,
        not_compared=compared.refused,
        planned_with=planned_with,
        runway=line,
        notes=notes,
    )
    if means.rules is None:
        return made
    along = line.along if line is not None and line.judges else None
    stage = stage_of(recording, flight, means.rules, plan, along)
    findings, judged = judge_on(stage)
    return replace(made, findings=worst_first(findings), judged=judged, measured=measure_on(stage))


def _in_recorded_air(recording: Recording, flight: Flight, means: _Means) -> tuple[_Means, tuple[str, ...]]:
    """Return the means with the plan in the air of its first takeoff and last landing, and that in words."""
    if means.sortie is None:
        return means, ()
    touchdowns = [event.time for event in flight.events if event.name == "touchdown"]
    released = flight.first("brake_release")
    air = in_recorded_air(
        recording,
        means.sortie,
        means.numbers,
        takeoff_at=None if released is None else released.time,
        landing_at=touchdowns[-1] if touchdowns else None,
        units=means.units,
    )
    if not air.said:
        return means, ()
    sortie = air.sortie
    made = plan(sortie.sortie, sortie.pack)
    return replace(means, sortie=sortie, numbers=air.numbers, plan=made), air.said


@dataclass(frozen=True)
class _Comparisons:
    takeoffs: tuple[TakeoffComparison, ...] = ()
    rejected: tuple[RejectedComparison, ...] = ()
    landings: tuple[LandingComparison, ...] = ()
    refused: tuple[str, ...] = ()
    is_of_sortie: bool = True
    """Whether pack and runway are those of the sortie, or it was said not to ask."""


def _comparisons(recording: Recording, flight: Flight, means: _Means) -> _Comparisons:
    """Return the takeoffs and landings that could be compared, and why the others could not."""
    if (sortie := means.sortie) is None:
        return _Comparisons()
    refused: list[Problem] = []
    common: _Common = {
        "recorded_pack": means.flown_pack,
        "anyway": means.anyway,
        "numbers": means.numbers,
        "units": means.units,
    }
    threshold = _threshold(means)

    def takeoff(number: int) -> TakeoffComparison:
        return compare_takeoff(recording, flight, sortie, number=number, **common)

    def rejection(number: int) -> RejectedComparison:
        return compare_rejected(recording, flight, sortie, number=number, **common)

    def landing(number: int) -> LandingComparison:
        return compare_landing(recording, flight, sortie, number=number, threshold=threshold, **common)

    touchdowns = sum(event.name == "touchdown" for event in flight.events)
    takeoffs = tuple(_each("Takeoff", count_takeoffs(flight), takeoff, refused))
    rejected = tuple(_each("Rejected takeoff", len(rejected_releases(flight)), rejection, refused))
    landings = tuple(_each("Landing", touchdowns, landing, refused))
    same_flight = not any(problem.key in ("pack", "runway") for problem in refused)
    said = tuple(f"{problem.read}: {problem.expected}" for problem in refused)
    return _Comparisons(takeoffs, rejected, landings, said, same_flight)


class _Common(TypedDict):
    recorded_pack: LoadedPack | None
    anyway: bool
    numbers: Numbers | None
    units: System


Compared = TypeVar("Compared")


def _each(
    what: str, count: int, compare: Callable[[int], Compared], refused: list[Problem]
) -> Iterator[Compared]:
    """Yield every comparison that can be made; of the others what stands against it, read as ``what``."""
    for number in range(count):
        try:
            yield compare(number)
        except InputError as error:
            refused += [replace(problem, read=_which(what, number, count)) for problem in error.problems]
        except OutsideTable as error:
            said = f"the plan leaves the pack's tables: {error}"
            refused.append(Problem("", None, "", _which(what, number, count), said))


def _which(what: str, number: int, count: int) -> str:
    return what if count == 1 else f"{what} {number + 1}"


def _threshold(means: _Means) -> RunwayFrame | None:
    """Return the threshold from which a touchdown is counted; None where its place was not given."""
    if means.numbers is None or means.runway_start is None:
        return None
    runway = means.numbers.landing_conditions.runway
    if runway != means.numbers.conditions.runway:
        return None
    return moved_frame(RunwayFrame(*means.runway_start, runway.true_heading_deg), runway.displaced_threshold)
