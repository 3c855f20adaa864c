"""The report as one HTML page that needs nothing else: no network, no other file."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path

from sortiewright import CAUTION, __version__
from sortiewright.recording.debrief_record import Debrief, FlightDebrief
from sortiewright.recording.findings import Finding
from sortiewright.recording.report_comparisons import comparisons, listed
from sortiewright.recording.report_markup import Markup, data_script, element
from sortiewright.recording.report_strips import strips_data
from sortiewright.recording.report_tables import (
    defects_table,
    held_list,
    jump,
    missing_list,
    moments_table,
    snapshot_table,
)
from sortiewright.recording.report_track import track_picture
from sortiewright.recording.report_words import (
    SEVERITY_WORDS,
    clock,
    finding_numbers,
    finding_text,
    headline,
)

PARTS = Path(__file__).parent / "report"
FONTS = Path(__file__).parents[1] / "assets" / "fonts"
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; font-src data:; img-src data:"
)
"""Lets a browser load nothing from anywhere (W3C Content Security Policy Level 3)."""
MARGIN = 8.0  # s shown before and after a finding
_SIGNS = {
    "high": "M5 1h6l4 4v6l-4 4H5l-4-4V5z",
    "medium": "M8 1.5 15.5 14.5H.5z",
    "low": "M8 2a6 6 0 1 0 0 12 6 6 0 0 0 0-12z",
}
"""Outlines in a square of 16: they tell severities apart without colour."""


def report_page(debrief: Debrief) -> str:
    """Return the page: findings first, worst first; then what went well, charts, and what was not judged."""
    title = f"Debrief: {debrief.plan.callsign if debrief.plan is not None else debrief.recording.name}"
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("title", title),
        Markup(f"<style>{_faces()}{(PARTS / 'report.css').read_text(encoding='utf-8')}</style>"),
    )
    body = element(
        "body",
        element("a", "To the findings", href="#findings", class_="skip"),
        _banner(debrief),
        element("main", list(_sections(debrief))),
        element(
            "footer",
            element("p", CAUTION),
            element("p", f"sortiewright {__version__}"),
        ),
        data_script("strips-data", strips_data(debrief)),
        Markup(f"<script>{(PARTS / 'report.js').read_text(encoding='utf-8')}</script>"),
    )
    return f"<!doctype html>\n{element('html', head, body, lang='en')}\n"


def _faces() -> str:
    """Return the typeface as part of the style; nothing where the package was built without fonts."""
    rules: list[str] = []
    for name, weight in (("Regular", 400), ("Bold", 700)):
        path = FONTS / f"B612-{name}.ttf"
        if path.is_file():
            data = base64.b64encode(path.read_bytes()).decode("ascii")
            rules.append(
                f'@font-face{{font-family:"B612";font-weight:{weight};'
                f'src:url("data:font/ttf;base64,{data}")format("truetype")}}'
            )
    return "".join(rules)


def _banner(debrief: Debrief) -> Markup:
    plan, pack, recording = debrief.plan, debrief.pack, debrief.recording
    facts: list[str] = []
    if plan is not None:
        facts += [
            f"{plan.callsign}: {plan.title}",
            f"{plan.aerodrome}, runway {plan.runway.designator}, {plan.time}",
        ]
        facts += [", ".join(f"{seat.lower()} {name}" for seat, name in plan.crew if name)]
    facts.append(f"Recording {recording.name}")
    if pack is not None:
        facts.append(f"Pack {pack.pack.name} {pack.pack.version} ({pack.digest[:8]})")
    return element(
        "header",
        element(
            "div",
            element("h1", "Debrief"),
            element("p", " · ".join(one for one in facts if one), class_="facts"),
        ),
        element(
            "div",
            element("button", "Night", id="scheme", type="button", aria_pressed="false"),
            element("button", "Print", id="print", type="button"),
            class_="buttons",
        ),
    )


def _sections(debrief: Debrief) -> Iterator[Markup]:
    yield _findings(debrief)
    yield _went_well(debrief)
    for at, one in enumerate(debrief.flights):
        if parts := comparisons(one, debrief.units):
            yield _section(f"plan-{at + 1}", f"Planned against flown{_of(debrief, at)}", parts)
    yield _strips()
    for at, one in enumerate(debrief.flights):
        yield from _runway_and_snapshots(debrief, one, at + 1, _of(debrief, at))
    yield _not_judged(debrief)
    yield _recording(debrief)


def _of(debrief: Debrief, at: int) -> str:
    return f", flight {at + 1}" if len(debrief.flights) > 1 else ""


def _section(identity: str, title: str, *children: object) -> Markup:
    return element(
        "section",
        element("h2", title, id=f"{identity}-title"),
        *children,
        id=identity,
        aria_labelledby=f"{identity}-title",
    )


def _findings(debrief: Debrief) -> Markup:
    found = [
        _finding(number, one, debrief, at) for number, (at, one) in enumerate(debrief.findings(), start=1)
    ]
    return _section(
        "findings",
        "What to do better",
        element("p", headline(debrief), class_="headline"),
        [element("p", note, class_="note") for note in debrief.notes],
        element("ol", found, class_="findings") if found else None,
    )


def _finding(number: int, one: Finding, debrief: Debrief, at: int) -> Markup:
    text = finding_text(one, debrief.rules, debrief.units)
    value, limit = finding_numbers(one, debrief.rules, debrief.units)
    numbers = [
        element("div", element("dt", name), element("dd", text))
        for name, text in (("Flown", value), ("Limit", limit), ("At", clock(one.peak_at)))
        if text
    ]
    return element(
        "li",
        element(
            "article",
            element(
                "h3",
                severity_sign(one.severity),
                element("span", str(number), class_="number"),
                element("span", one.title),
                element("span", f"{SEVERITY_WORDS[one.severity]}{_of(debrief, at)}", class_="severity"),
            ),
            element("p", one.advice, class_="advice"),
            element("dl", numbers, class_="values"),
            jump(
                min(one.begins, one.peak_at) - MARGIN,
                min(one.ends, one.peak_at + 60.0) + MARGIN,
                "Show in the charts",
                data_at=f"{one.peak_at:.7g}",
                aria_label=f"Show finding {number}, {one.title}, in the charts",
            ),
            element("p", text, f" Source: {one.source}." if one.source else None, class_="what"),
            class_=f"finding {one.severity}",
            id=f"finding-{number}",
        ),
    )


def severity_sign(severity: str) -> Markup:
    """Return the sign of a severity: octagon, triangle or ring."""
    return element(
        "svg", element("path", d=_SIGNS[severity]), viewBox="0 0 16 16", class_="sign", aria_hidden="true"
    )


def _went_well(debrief: Debrief) -> Markup:
    said = list(dict.fromkeys(text for one in debrief.flights for text in one.went_well))
    held = [
        element(
            "details",
            element("summary", f"All {one.count('held')} rules that were held{_of(debrief, at)}"),
            listed,
        )
        for at, one in enumerate(debrief.flights)
        if (listed := held_list(one)) is not None
    ]
    nothing = element("p", "No rule was judged, so none can be said to have been held.")
    return _section(
        "well",
        "What went well",
        element("ul", [element("li", text) for text in said], class_="well") if said else None,
        held or (None if said else nothing),
    )


def _strips() -> Markup:
    buttons = (
        ("whole", "Whole recording"),
        ("in", "Zoom in"),
        ("out", "Zoom out"),
        ("back", "Earlier"),
        ("on", "Later"),
        ("next", "Next finding"),
    )
    help_text = (
        "Drag across a chart to zoom; click for the values at a moment. With the charts in focus the wheel "
        "and the keys + and − zoom, arrow keys move the moment, with Shift the charts, N goes to the next "
        "finding, 0 shows all. Times are those of the recording's clock."
    )
    return _section(
        "strips",
        "The flight",
        element("p", help_text, class_="note", id="strips-help"),
        element(
            "div",
            [element("button", text, type="button", data_do=do) for do, text in buttons],
            class_="buttons",
        ),
        element(
            "div",
            id="charts",
            tabindex="0",
            role="group",
            aria_label="Strip charts over time",
            aria_describedby="strips-help",
        ),
        element("p", id="moment", aria_live="polite"),
        element(
            "noscript",
            element("p", "The charts need JavaScript. Everything else is on this page without it."),
        ),
    )


def _runway_and_snapshots(debrief: Debrief, one: FlightDebrief, number: int, of: str) -> Iterator[Markup]:
    picture = None if one.runway is None else track_picture(debrief.recording, one, one.runway, debrief.units)
    if picture is not None and one.runway is not None:
        yield _section(
            f"track-{number}", f"On the runway{of}", picture, element("p", one.runway.basis, class_="note")
        )
    snapshots = snapshot_table(one, f"Values noted of the flight{of}", debrief.units)
    yield _section(
        f"values-{number}",
        f"Snapshots{of}",
        snapshots or element("p", "Nothing was measured."),
        listed(one.notes),
        element("details", element("summary", "All phases and events"), moments_table(one)),
    )


def _not_judged(debrief: Debrief) -> Markup:
    lists = [
        (element("h3", f"Flight {at + 1}") if len(debrief.flights) > 1 else None, listed)
        for at, one in enumerate(debrief.flights)
        if (listed := missing_list(one)) is not None
    ]
    return _section(
        "missing",
        "Not judged or measured, and why",
        lists or element("p", "Everything that the pack looks for was judged and measured."),
    )


def _recording(debrief: Debrief) -> Markup:
    recording = debrief.recording
    span = float(recording.time[-1] - recording.time[0])
    derived = [element("li", f"{name}: {how}") for name, how in sorted(recording.derived.items())]
    begun = "" if recording.started is None else f", begun {recording.started.isoformat(' ', 'seconds')}"
    return _section(
        "recording",
        "The recording",
        element("p", f"{recording.name}: {recording.rows} samples over {clock(span)}{begun}."),
        defects_table(debrief) or element("p", "Nothing odd was found in its samples."),
        (element("h3", "Worked out, not recorded"), element("ul", derived)) if derived else None,
        (element("h3", "Columns not used"), element("p", ", ".join(recording.unmapped)))
        if recording.unmapped
        else None,
    )
