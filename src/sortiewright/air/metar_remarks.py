"""What a reader must know about a weather report: lacking and unread groups, hints, remarks in words."""

import re
from collections.abc import Sequence
from typing import Any

from .metar_groups import ReportGroups
from .present_weather import begin_and_end
from .runway_remark import runway_condition_from_remark
from .weather import Remark

# Additive groups nobody needs for a takeoff: extremes, precipitation and snow sums, cloud types, sensors.
_NOT_NEEDED = re.compile(
    r"[67](\d{4}|////)|[12][01]\d{3}|4[01]\d{3}[01]\d{3}|4/\d{3}|933\d{3}|8/[\d/]{3}"
    r"|SLPNO|RVRNO|TSNO|PNO|FZRANO|PWINO|P\d{4}|I[136]\d{3}|/+"
)

_FORMS: dict[str, str] = {
    "wind": "Wind is written 22015KT, 22015G25KT, VRB03KT or 11008MPS.",
    "visibility": "Visibility is written 9999, 0350, CAVOK, 10SM or 1 1/2SM.",
    "sky": "Clouds are written FEW020, BKN008CB, VV001, NSC or CLR.",
    "temperature": "Temperature and dewpoint are written 18/16 or M02/M05.",
    "altimeter": "Altimeter settings are written Q1013 or A2992.",
}
_FIELD = {"sky": "ceiling", "altimeter": "qnh"}


def group_hint(group: str, lacking: Sequence[str] = ()) -> str:
    """Return how to write the group this one was probably meant to be."""
    if group.endswith(("KT", "KTS", "MPS", "KMH")):
        return _FORMS["wind"]
    if group.startswith(("FEW", "SCT", "BKN", "OVC", "VV", "SKC", "NSC")):
        return _FORMS["sky"]
    if group.endswith("SM") or (group.isdigit() and len(group) == 4):
        return _FORMS["visibility"]
    if group[:1] in ("A", "Q") and any(one.isdigit() for one in group):
        return _FORMS["altimeter"]
    if "/" in group and not group.startswith("R"):
        return _FORMS["temperature"]
    return " ".join(_FORMS[name] for name in lacking[:2])


def notes_on_report(report: ReportGroups, unread: Sequence[str], lacking: Sequence[str]) -> list[Remark]:
    """Return remarks on what the report lacks, marks as missing, or says in groups that were not read."""
    if "NIL" in report.modifiers and not report.body:
        return [Remark("missing", "report", "the station sent NIL: there is no report")]
    notes: list[Remark] = []
    if report.station is None:
        notes.append(Remark("missing", "station", "no station in the report"))
    if report.time is None:
        notes.append(Remark("missing", "time", "no time in the report: its age is unknown"))
    for name in lacking:
        notes.append(Remark("missing", _FIELD.get(name, name), f"no {name} group in the report"))
    for name in sorted(report.missing):
        field = _FIELD.get(name, name).replace(" ", "_")
        notes.append(Remark("missing", field, f"the station reports its {name} as missing"))
    if unread:
        notes.append(Remark("undecoded", "report", f"groups not read: {' '.join(unread)}"))
    if report.runway_states:
        groups = " ".join(report.runway_states)
        text = f"runway state groups not decoded: {groups}. State the runway condition by hand."
        notes.append(Remark("undecoded", "runway_condition", text))
    undecoded = _not_in_words(report)
    if undecoded:
        notes.append(Remark("undecoded", "report_remarks", f"remarks not decoded: {' '.join(undecoded)}"))
    if report.following_text:
        notes.append(Remark("note", "report", "more text follows the first report and was not read"))
    return notes


def report_remark_words(decoded: Any, report: ReportGroups) -> tuple[str, ...]:
    """Return the remarks section in words, as far as it is understood."""
    spoken = [begin_and_end(one) for one in report.other_remarks]
    runway = runway_condition_from_remark(" ".join(report.remark_groups))
    words = [one for one in str(decoded.remarks("\n")).split("\n") if one]
    return (*words, *(one for one in spoken if one), *([f"runway: {runway}"] if runway else []))


def _not_in_words(report: ReportGroups) -> list[str]:
    runway = runway_condition_from_remark(" ".join(report.remark_groups))
    of_runway = set(runway.text.split()) if runway else set[str]()
    return [
        one
        for one in report.other_remarks
        if begin_and_end(one) is None and one not in of_runway and not _NOT_NEEDED.fullmatch(one)
    ]
