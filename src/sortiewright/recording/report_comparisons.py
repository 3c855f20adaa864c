"""The part of the page that holds each takeoff, rejected takeoff and landing against the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from sortiewright.recording.debrief_record import FlightDebrief
from sortiewright.recording.report_markup import Markup, element
from sortiewright.recording.report_pictures import (
    landing_picture_of,
    rejected_picture,
    speed_over_distance_picture,
)
from sortiewright.recording.report_tables import compared_table, split_table
from sortiewright.recording.report_words import clock
from sortiewright.sortie import System

if TYPE_CHECKING:
    from sortiewright.recording.comparison_landing import LandingComparison
    from sortiewright.recording.comparison_rejected import RejectedComparison
    from sortiewright.recording.comparison_takeoff import TakeoffComparison


def comparisons(one: FlightDebrief, units: System) -> list[Markup]:
    """Return pictures, tables and causes in the order of time, then what was not compared and why."""
    parts = listed(one.planned_with)
    found = [
        *((each.released_at, list(_takeoff(each, units))) for each in one.takeoffs),
        *((each.released_at, list(_rejected(each, units))) for each in one.rejected),
        *((each.touched_down_at, list(_landing(each, units))) for each in one.landings),
    ]
    for _, each in sorted(found, key=lambda pair: pair[0]):
        parts += each
    if one.not_compared:
        parts += [element("h3", "Not compared"), *listed(one.not_compared)]
    return parts


def listed(texts: Iterable[str]) -> list[Markup]:
    """Return texts as one list of notes; nothing where there is none."""
    items = [element("li", f"{text[:1].upper()}{text[1:]}") for text in texts]
    return [element("ul", items, class_="note")] if items else []


def _takeoff(takeoff: TakeoffComparison, units: System) -> Iterator[Markup]:
    when = f"Takeoff at {clock(takeoff.released_at)}"
    yield element("h3", when)
    yield from listed((*(each.text for each in takeoff.differences), *takeoff.remarks))
    yield speed_over_distance_picture(takeoff, units)
    yield compared_table(takeoff.compared, f"{when}, planned against flown", units)
    for split in takeoff.splits:
        yield split_table(split, units)


def _rejected(rejected: RejectedComparison, units: System) -> Iterator[Markup]:
    when = f"Rejected takeoff at {clock(rejected.closed_at)}"
    yield element("h3", when)
    yield from listed((*(each.text for each in rejected.differences), *rejected.remarks))
    yield rejected_picture(rejected, units)
    yield compared_table(rejected.compared, f"{when}, planned against flown", units)
    for split in rejected.splits:
        yield split_table(split, units)


def _landing(landing: LandingComparison, units: System) -> Iterator[Markup]:
    when = f"Landing at {clock(landing.touched_down_at)}"
    yield element("h3", when)
    yield from listed((*(each.text for each in landing.differences), *landing.remarks))
    if picture := landing_picture_of(landing, units):
        yield picture
    yield compared_table(landing.compared, f"{when}, planned ({landing.case}) against flown", units)
    if landing.brake_zone:
        yield element("p", f"Brakes: {landing.brake_zone}")
