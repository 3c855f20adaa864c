"""The report's tables: planned against flown, causes, snapshots, rules not judged, the recording."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sortiewright.recording.debrief_record import Debrief, FlightDebrief
from sortiewright.recording.report_markup import Markup, element
from sortiewright.recording.report_words import (
    clock,
    difference_shown,
    event_title,
    not_judged,
    phase_title,
    value_shown,
)
from sortiewright.sortie import System

if TYPE_CHECKING:
    from sortiewright.recording.causes import Cause, Split
    from sortiewright.recording.comparison_values import Compared

SLIGHT = 6.0  # m, 20 ft: a cause whose effect and doubt are both less is not shown by itself
LEAST_SIGMA = 1.6  # m: it would round to nought
_QUANTITIES = {
    "ground_run": "Ground run",
    "distance_to_screen": "Distance to 50 ft",
    "run_to_levers_closed": "Brake release to levers closed",
    "stop_distance": "Levers closed to the stop",
}


def table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[Any]], *, style: str = "") -> Markup:
    """Return a table; the first cell of a row is its heading."""
    return element(
        "div",
        element(
            "table",
            element("caption", caption),
            element("thead", element("tr", [element("th", head, scope="col") for head in heads])),
            element(
                "tbody",
                [
                    element(
                        "tr",
                        element("th", row[0], scope="row"),
                        [element("td", cell) for cell in row[1:]],
                    )
                    for row in rows
                ],
            ),
            class_=style or None,
        ),
        class_="scroll",
    )


def jump(begins: float, ends: float, text: str, **attributes: str) -> Markup:
    """Return a link that shows a stretch of time in the strip charts."""
    return element("a", text, href="#strips", class_="jump", data_begins=begins, data_ends=ends, **attributes)


def compared_table(compared: Sequence[Compared], caption: str, units: System) -> Markup:
    """Return planned, flown and the difference of each value."""
    rows = [
        (
            (one.title, element("small", one.basis)) if one.basis else one.title,
            value_shown(one.planned, one.kind, units=units),
            value_shown(one.flown, one.kind, units=units),
            ""
            if one.difference is None
            else value_shown(one.difference, one.kind, difference=True, units=units),
        )
        for one in compared
        if one.flown is not None or one.planned is not None
    ]
    return table(caption, ("Value", "Planned", "Flown", "Flown less planned"), rows, style="numbers")


def split_table(split: Split, units: System) -> Markup:
    """Return what made a distance longer or shorter, each with a bar; the sum is the whole difference."""
    widest = max([abs(one.effect) for one in split.causes] + [abs(split.remainder), 1e-9])
    causes = sorted((one for one in split.causes if not _is_slight(one)), key=lambda one: -abs(one.effect))
    slight = [one for one in split.causes if _is_slight(one)]
    rows: list[tuple[Any, ...]] = [
        ((one.title, element("small", one.how)), _bar(one.effect, widest), _effect(one, units))
        for one in causes
    ]
    if slight:
        effect = sum(one.effect for one in slight)
        names = element("small", f"each less than {'20 ft' if units == 'trade' else '6 m'}")
        title = ", ".join(one.title if at == 0 else _lower(one.title) for at, one in enumerate(slight))
        rows.append(((title, names), _bar(effect, widest), _metres(effect, units)))
    rest = ("Left over: none of these explains it", element("small", split.remark) if split.remark else None)
    rows.append((rest, _bar(split.remainder, widest), _metres(split.remainder, units)))
    rows.append(("Together", "", element("strong", _metres(split.difference, units))))
    title = _QUANTITIES.get(split.quantity, split.quantity)
    return element(
        "div",
        table(
            f"{title}: what made the difference",
            ("Cause", "Shorter | longer", "Effect"),
            rows,
            style="causes",
        ),
        [element("p", f"{name.capitalize()}: {why}.", class_="note") for name, why in split.untold.items()],
    )


def _is_slight(cause: Cause) -> bool:
    return abs(cause.effect) < SLIGHT and cause.sigma < SLIGHT


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


def _effect(cause: Cause, units: System) -> str:
    if cause.sigma < LEAST_SIGMA:
        return _metres(cause.effect, units)
    return f"{_metres(cause.effect, units)} ± {value_shown(cause.sigma, 'runway_distance', units=units)}"


def _metres(value: float, units: System) -> str:
    return value_shown(value, "runway_distance", difference=True, units=units)


def _bar(effect: float, widest: float) -> Markup:
    width = 50.0 * abs(effect) / widest
    x = 50.0 if effect >= 0 else 50.0 - width
    return element(
        "svg",
        element("line", x1=50, x2=50, y1=0, y2=12, class_="axis-line"),
        element("rect", x=x, y=2, width=max(width, 0.4), height=8, class_="bar"),
        viewBox="0 0 100 12",
        preserveAspectRatio="none",
        class_="bar",
        aria_hidden="true",
    )


def snapshot_table(one: FlightDebrief, caption: str, units: System) -> Markup | None:
    """Return the values measured, planned beside flown; None where the pack measures nothing."""
    rows: list[tuple[Any, ...]] = [
        (
            (each.title, _moment(each.time)),
            value_shown(each.value, each.kind, units=units),
            "" if each.planned is None else value_shown(each.planned, each.kind, units=units),
            difference_shown(each, units),
        )
        for each in one.measured
        if each.value is not None
    ]
    heads = ("Value", "Flown", "Planned", "Flown less planned")
    if not any(row[2] for row in rows):  # no plan
        rows, heads = [row[:2] for row in rows], heads[:2]
    return table(caption, heads, rows, style="numbers snapshots") if rows else None


def _moment(time: float | None) -> Markup | None:
    """Return when a value was taken, a link beside its name: as a column it would leave a small screen."""
    if time is None:
        return None
    at = clock(time)
    return jump(time - 10.0, time + 10.0, at, aria_label=f"at {at}, show in the charts")


def missing_list(one: FlightDebrief) -> Markup | None:
    """Return the rules not judged and the values not measured, by the reason."""
    reasons = not_judged(one.judged)
    for each in one.measured:
        if each.value is None:
            reasons.setdefault(each.problem or "the reason is not told", []).append(each.title)
    if not reasons:
        return None
    return element(
        "dl",
        [
            (element("dt", f"{why[:1].upper()}{why[1:]}"), element("dd", "; ".join(dict.fromkeys(titles))))
            for why, titles in reasons.items()
        ],
    )


def held_list(one: FlightDebrief) -> Markup | None:
    """Return the titles of the rules that were held; None where none was."""
    titles = [each.title for each in one.judged if each.outcome == "held"]
    return element("ul", [element("li", title) for title in titles], class_="columns") if titles else None


def moments_table(one: FlightDebrief) -> Markup:
    """Return phases and events in the order of time, each a link into the charts."""
    flight = one.flight
    rows = [
        (phase.begins, 0, phase_title(phase.name), "phase", phase.begins, phase.ends)
        for phase in flight.phases
        if phase.name != "unknown"
    ]
    rows += [
        (event.time, 1, event_title(event.name), event.basis, event.time - 10.0, event.time + 10.0)
        for event in flight.events
    ]
    return table(
        "Phases and events",
        ("What", "At", "How told"),
        [
            (element("b", title) if kind == 0 else title, jump(begins, ends, clock(at)), how)
            for at, kind, title, how, begins, ends in sorted(rows)
        ],
    )


def defects_table(debrief: Debrief) -> Markup | None:
    """Return what is odd about the samples; None where nothing is."""
    defects = debrief.recording.defects
    if not defects:
        return None
    rows = [
        (
            one.kind.replace("_", " "),
            one.channel or "all channels",
            jump(one.begin - 2.0, one.end + 2.0, _span(one.begin, one.end)),
            str(one.count),
            one.text,
        )
        for one in defects
    ]
    return table("What is odd about the samples", ("What", "Channel", "When", "Times", "In words"), rows)


def _span(begin: float, end: float) -> str:
    return clock(begin) if begin == end else f"{clock(begin)} to {clock(end)}"
